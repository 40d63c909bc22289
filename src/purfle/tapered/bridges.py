"""Short straight ways over the level bottom that join separate nets of curves, so that the cutter is not lifted."""

import itertools

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.geometry.offsetting import Region, swift_offset
from purfle.tolerances import OVER_CONTOUR, SAME_PLACE

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def bridged(places: Floats, edges: Integers, bottom: Region, longest: float) -> tuple[Floats, Integers]:
    """The same curves with the shortest bridges no longer than `longest` between separate nets (Kruskal 1956).

    A bridge runs at the depth of its ends, within `bottom`, from a place of one net straight to an edge of another.
    """
    net = _nets(len(places), edges)
    if bottom.is_empty or len(np.unique(net[edges])) < 2:
        return places, edges
    full = float(places[:, 2].max())
    level = np.flatnonzero((places[edges, 2] >= full - SAME_PLACE).all(axis=1))
    lines = shapely.linestrings(places[edges[level]][:, :, :2])
    ends = np.unique(edges[level])
    found, line = shapely.STRtree(lines).query(shapely.points(places[ends, :2]), predicate="dwithin", distance=longest)
    apart = net[ends[found]] != net[edges[level[line], 0]]
    found, line = ends[found[apart]], line[apart]
    ways = shapely.shortest_line(shapely.points(places[found, :2]), lines[line])
    allowed = swift_offset(bottom, OVER_CONTOUR)
    shapely.prepare(allowed)
    lengths = np.round(shapely.length(ways) / SAME_PLACE)
    return _with_bridges(
        places,
        edges,
        [
            (int(found[n]), int(level[line[n]]), shapely.get_coordinates(ways[n])[-1])
            for n in _shortest(lengths, net, found, edges[level[line], 0], shapely.covers(allowed, ways))
        ],
    )


def _nets(count: int, edges: Integers) -> Integers:
    """The number of the net that each place belongs to."""
    leader = list(range(count))
    for first, second in edges.tolist():
        leader[_leader(leader, second)] = _leader(leader, first)
    return np.array([_leader(leader, place) for place in range(count)], np.int64)


def _leader(leader: list[int], member: int) -> int:
    while leader[member] != member:
        leader[member] = leader[leader[member]]
        member = leader[member]
    return member


def _shortest(lengths: Floats, net: Integers, first: Integers, second: Integers, free: NDArray[np.bool_]) -> list[int]:
    """Numbers of the bridges that are made."""
    leader = list(range(int(net.max()) + 1))
    made = []
    for number in np.lexsort((second, first, lengths)).tolist():
        here, there = (_leader(leader, int(net[place])) for place in (first[number], second[number]))
        if here != there and free[number]:
            leader[there] = here
            made.append(number)
    return made


def _with_bridges(places: Floats, edges: Integers, bridges: list[tuple[int, int, Floats]]) -> tuple[Floats, Integers]:
    """Each bridge as (place, edge, where it meets that): the edge is parted wherever a bridge meets it."""
    new_places, new_edges = list(places), edges.tolist()
    met: dict[int, list[int]] = {}
    for place, edge, (x, y) in bridges:
        new_places.append(np.array([x, y, places[place, 2]]))
        met.setdefault(edge, []).append(len(new_places) - 1)
        new_edges.append([place, len(new_places) - 1])
    for edge, stops in met.items():
        first, last = new_edges[edge]
        begin = places[first, :2]
        along = sorted(stops, key=lambda stop: float(np.hypot(*(new_places[stop][:2] - begin))))
        way = [first, *along, last]
        new_edges[edge] = way[:2]
        new_edges += [list(pair) for pair in itertools.pairwise(way[1:])]
    return np.array(new_places).reshape(-1, 3), np.array(new_edges, np.int64).reshape(-1, 2)
