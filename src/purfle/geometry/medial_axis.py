"""The medial axis of a region: all places that are equally far from two or more places of its boundary.

Each place of the axis carries its distance d to the boundary. A V cutter whose tip runs along the axis at depth d / tau
touches both walls at once, so the axis is its path (see `purfle.tapered`).

The axis is taken from the Voronoi diagram of the boundary's segments (Boost.Polygon, by way of pyvoronoi, on a grid of
10 nm). Between a corner and a segment it is a parabola, which is cut into chords.
"""

import heapq
import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from pyvoronoi import Pyvoronoi

from purfle.geometry.offsetting import Region, free_of_grid, polygons
from purfle.tolerances import AXIS_UNIT

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
_POINT_CELL_END = 2
"""How Boost.Polygon marks the cell of a segment's second end; that of its first end is marked 1."""
_DUST = 2.0 * AXIS_UNIT
"""An edge of the axis that is nowhere further than this from the boundary is rounding."""


_NO_LENGTH = 4.0 * AXIS_UNIT
"""Where many edges meet in one place the diagram has several, with edges no longer than this between them."""


@dataclass(frozen=True, slots=True, eq=False)
class MedialAxis:
    """Places (n, 3) as x, y and the distance to the boundary; edges (m, 2) as numbers of two places each.

    Along an edge the distance changes evenly, within the tolerance that the axis was made with.
    """

    places: Floats
    edges: Integers

    @property
    def length(self) -> float:
        """Of all edges together."""
        ends = self.places[self.edges]
        return float(np.hypot(*(ends[:, 1, :2] - ends[:, 0, :2]).T).sum())


@dataclass(frozen=True, slots=True, eq=False)
class _Sites:
    """The segments that the diagram is made of: first ends, second ends, and which of them count as boundary."""

    first: Floats
    second: Floats
    counted: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Diagram:
    """The finite edges of the diagram that bound two cells: both ends, and of either cell its segment and kind.

    `kind`: 0 the segment itself, 1 its first end, 2 its second end.
    """

    vertices: Floats
    ends: Integers
    site: Integers
    kind: Integers


def medial_axis(region: Region, flat: float, prune: float) -> MedialAxis:
    """The axis within a region. Chords stand off parabolas by at most `flat`; what changes the region that discs on the
    axis cover by less than `prune` is left out.

    Valid: region valid and no larger than 20 m; flat > 0, prune >= 0.
    """
    return _axis(region, _sites(region), flat, prune)


def axis_around(region: Region, reach: float, flat: float, prune: float) -> MedialAxis:
    """The axis of what lies outside a region, as far as it is nearer than `reach` to it; in its holes all of it.

    Further out places of the axis may be missing.
    """
    left, low, right, high = region.bounds
    room = 3.0 * reach + 1.0
    frame = shapely.box(left - room, low - room, right + room, high + room)
    outside = shapely.difference(frame, region)
    sites = _sites(region, turned=True)
    around = _sites(frame)
    # the frame only closes the diagram: places nearer to it than to the region are left out with it
    every = _Sites(
        np.vstack([sites.first, around.first]),
        np.vstack([sites.second, around.second]),
        np.concatenate([sites.counted, np.zeros(len(around.counted), np.bool_)]),
    )
    return _axis(outside, every, flat, prune)


def below(axis: MedialAxis, distance: float) -> MedialAxis:
    """The parts of the axis no further than `distance` from the boundary, edges cut where they pass it."""
    axis = cut_at(axis, [distance])
    return MedialAxis(axis.places, axis.edges[axis.places[axis.edges, 2].max(axis=1, initial=0.0) <= distance])


def above(axis: MedialAxis, distance: float) -> MedialAxis:
    """The parts of the axis at least `distance` from the boundary, edges cut where they pass it."""
    axis = cut_at(axis, [distance])
    return MedialAxis(axis.places, axis.edges[axis.places[axis.edges, 2].min(axis=1, initial=math.inf) >= distance])


def cut_at(axis: MedialAxis, distances: list[float]) -> MedialAxis:
    """The same axis with a place exactly at each of the distances, wherever it passes one."""
    places, edges = axis.places, axis.edges
    for distance in distances:
        off = places[edges, 2] - distance
        passed = np.flatnonzero((off.min(axis=1, initial=0.0) < 0.0) & (off.max(axis=1, initial=0.0) > 0.0))
        share = (off[passed, 0] / (off[passed, 0] - off[passed, 1]))[:, None]
        first, last = places[edges[passed, 0]], places[edges[passed, 1]]
        new = first + share * (last - first)
        new[:, 2] = distance
        numbers = np.arange(len(places), len(places) + len(new))
        beyond = np.column_stack([numbers, edges[passed, 1]])
        edges = edges.copy()
        edges[passed, 1] = numbers
        places, edges = np.vstack([places, new]), np.vstack([edges, beyond])
    return MedialAxis(places, edges)


def _sites(region: Region, turned: bool = False) -> _Sites:
    """The boundary on the grid of the diagram, the region on the left; on the right if turned."""
    first, second = [], []
    # segments that cross on the diagram's grid would leave holes in it, and nothing would be said
    snapped = shapely.set_precision(free_of_grid(region), AXIS_UNIT)
    for ring in shapely.get_rings(list(polygons(shapely.orient_polygons(snapped)))):
        corners = shapely.get_coordinates(ring)
        kept = np.any(corners[1:] != corners[:-1], axis=1)
        first.append((corners[1:] if turned else corners[:-1])[kept])
        second.append((corners[:-1] if turned else corners[1:])[kept])
    starts = np.vstack(first)
    return _Sites(starts, np.vstack(second), np.ones(len(starts), np.bool_))


def _axis(inside: Region, sites: _Sites, flat: float, prune: float) -> MedialAxis:
    diagram = _diagram(sites)
    own = sites.counted[diagram.site].all(axis=1)
    shapely.prepare(inside)
    middle = diagram.vertices[diagram.ends].mean(axis=1)
    own &= shapely.contains_xy(inside, middle)
    diagram = _Diagram(diagram.vertices, diagram.ends[own], diagram.site[own], diagram.kind[own])
    places, edges = _chords(diagram, sites, flat)
    distance = _distances(places, sites)
    kept = distance[edges].max(axis=1, initial=0.0) > _DUST
    joined = _joined(np.column_stack([places, distance]), edges[kept])
    return pruned(joined, prune) if prune > 0.0 else joined


def _diagram(sites: _Sites) -> _Diagram:
    """The diagram of all segments, about their middle so that the integers stay small."""
    middle = np.round((sites.first.min(axis=0) + sites.first.max(axis=0)) / 2.0)
    engine = Pyvoronoi(1)  # whole units, for it cuts off what is behind the point
    segments = np.stack([sites.first - middle, sites.second - middle], axis=1)
    for ends in np.round(segments / AXIS_UNIT).astype(np.int64).tolist():
        engine.AddSegment(ends)
    engine.Construct()
    vertices = np.array([(v.X, v.Y) for v in engine.GetVertices()], np.float64).reshape(-1, 2)
    vertices = vertices * AXIS_UNIT + middle
    edges = np.array([(e.start, e.end, e.cell, e.twin, e.is_primary) for e in engine.GetEdges()], np.int64)
    cells = np.array([(c.site, c.source_category, c.contains_point) for c in engine.GetCells()], np.int64)
    once = (edges[:, :2] >= 0).all(axis=1) & (edges[:, 4] == 1) & (np.arange(len(edges)) < edges[:, 3])
    pair = np.column_stack([edges[once, 2], edges[edges[once, 3], 2]])
    kind = np.where(cells[:, 2] == 0, 0, np.where(cells[:, 1] == _POINT_CELL_END, 2, 1))
    return _Diagram(vertices, edges[once, :2], cells[pair, 0], kind[pair])


def _chords(diagram: _Diagram, sites: _Sites, flat: float) -> tuple[Floats, Integers]:
    """Places and edges of the axis, curved edges and those with two corners cut into chords."""
    added: list[Floats] = []
    edges: list[tuple[int, int]] = []
    count = len(diagram.vertices)
    corners = np.where((diagram.kind == 2)[:, :, None], sites.second[diagram.site], sites.first[diagram.site])
    for number, (start, end) in enumerate(diagram.ends.tolist()):
        ends = diagram.vertices[[start, end]]
        kinds = diagram.kind[number]
        between = np.empty((0, 2))
        if (kinds > 0).all():
            between = _along_straight(ends, corners[number, 0], flat)
        elif (kinds > 0).any():
            line = diagram.site[number, int(np.argmin(kinds))]
            corner = corners[number, int(np.argmax(kinds))]
            between = _along_parabola(ends, corner, (sites.first[line], sites.second[line]), flat)
        chain = [start, *range(count, count + len(between)), end]
        edges += itertools.pairwise(chain)
        added.append(between)
        count += len(between)
    return np.vstack([diagram.vertices, *added]), np.array(edges, np.int64).reshape(-1, 2)


def _along_straight(ends: Floats, corner: Floats, flat: float) -> Floats:
    """Places on the way between two corners: straight, but the distance to them changes as a hyperbola."""
    along = ends[1] - ends[0]
    length = math.hypot(*along)
    if length <= _DUST:
        return np.empty((0, 2))
    off = abs(float(along[0] * (corner - ends[0])[1] - along[1] * (corner - ends[0])[0])) / length
    count = max(1, math.ceil(length / math.sqrt(8.0 * max(off, flat) * flat)))
    between: Floats = ends[0] + np.linspace(0.0, 1.0, count + 1)[1:-1, None] * along
    return between


def _along_parabola(ends: Floats, focus: Floats, line: tuple[Floats, Floats], flat: float) -> Floats:
    """Places on the parabola of a corner and a line. With h from one to the other, y = x^2 / 2h + h / 2 above the line;
    a chord over a width w stands off it by w^2 / 8h.
    """
    unit = (line[1] - line[0]) / math.hypot(*(line[1] - line[0]))
    normal = np.array([-unit[1], unit[0]])
    height = float((focus - line[0]) @ normal)
    if abs(height) <= _DUST:
        return np.empty((0, 2))
    first, last = (ends - focus) @ unit
    count = max(1, math.ceil(abs(last - first) / math.sqrt(8.0 * abs(height) * flat)))
    x = np.linspace(first, last, count + 1)[1:-1]
    foot = focus - height * normal
    between: Floats = foot + x[:, None] * unit + (x**2 / (2.0 * height) + height / 2.0)[:, None] * normal
    return between


def _distances(places: Floats, sites: _Sites) -> Floats:
    """How far each place is from the boundary."""
    counted = np.stack([sites.first, sites.second], axis=1)[sites.counted]
    tree = shapely.STRtree(shapely.linestrings(counted))
    found, away = tree.query_nearest(shapely.points(places), return_distance=True, all_matches=False)
    distance = np.zeros(len(places))
    distance[found[0]] = away
    return distance


def _joined(places: Floats, edges: Integers) -> MedialAxis:
    """The axis with the ends of edges that have no length joined: a net without rounds gets none by that."""
    leader = list(range(len(places)))

    def of(place: int) -> int:
        while leader[place] != place:
            leader[place] = leader[leader[place]]
            place = leader[place]
        return place

    length = np.hypot(*(places[edges[:, 1], :2] - places[edges[:, 0], :2]).T)
    for first, second in edges[length <= _NO_LENGTH].tolist():
        leader[of(second)] = of(first)
    pairs = np.array([of(place) for place in edges.ravel().tolist()], np.int64).reshape(-1, 2)
    pairs = np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)
    return MedialAxis(places, pairs.reshape(-1, 2))


def pruned(axis: MedialAxis, thickness: float) -> MedialAxis:
    """Leaf edges are dropped while the disc at the far end of all that hangs there sticks out by less than `thickness`.

    A leaf with radius r at its tip, a way s long, sticks out of the disc of radius R at the way's other end by
    r + s - R (erosion thickness). Source: Liu, Chambers, Letscher, Ju, Extended grassfire transform on medial axes
    (2011), from memory.
    """
    links: dict[int, dict[int, float]] = {}
    for a, b in axis.edges.tolist():
        length = math.dist(axis.places[a, :2], axis.places[b, :2])
        links.setdefault(a, {})[b] = length
        links.setdefault(b, {})[a] = length
    radius = axis.places[:, 2]
    out = {place: float(radius[place]) for place in links}
    waiting: list[tuple[float, int]] = []

    def consider(leaf: int) -> None:
        onward, length = next(iter(links[leaf].items()))
        heapq.heappush(waiting, (out[leaf] + length - float(radius[onward]), leaf))

    for place in sorted(links):
        if len(links[place]) == 1:
            consider(place)
    while waiting:
        sticks_out, leaf = heapq.heappop(waiting)
        if sticks_out >= thickness:
            break
        if len(links[leaf]) != 1:
            continue
        onward, length = next(iter(links[leaf].items()))
        if len(links[onward]) == 1:
            continue  # the last edge of a tree stays: a disc keeps its middle
        out[onward] = max(out[onward], out[leaf] + length)
        links[leaf] = {}
        del links[onward][leaf]
        if len(links[onward]) == 1:
            consider(onward)
    left = [(a, b) for a in sorted(links) for b in sorted(links[a]) if a < b]
    return MedialAxis(axis.places, np.array(left, np.int64).reshape(-1, 2))
