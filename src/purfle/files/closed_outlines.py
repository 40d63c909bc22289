"""Open lines of a drawing -> closed outlines, with every gap that was closed and every line that closes nothing.

Lines that divide an outline make two outlines of it. Nested outlines: the outermost is wood, the next one in it a
hole, the next wood again (even-odd).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from purfle.geometry.crowding import edges_of, is_crowded
from purfle.model.pieces import Region
from purfle.tolerances import CHAIN_GAP, GRID, TOUCHING

Line = NDArray[np.float64]
"""(n, 2), mm."""
MOST_LINES = 10_000
"""Open lines that meet in threes, or not at all: noding takes a second for them."""
MOST_OVER = 400_000
"""Pairs of outlines that lie over each other, each counted from both: more would take minutes."""
MOST_COMPARED = 6_000_000
"""Corners of outlines that cross or touch others, counted once each: five seconds of overlays."""
LOOKED_AT_ONCE = 64


@dataclass(frozen=True, slots=True)
class Closed:
    """Outlines of one layer: which of the closed lines were divided, gaps as (place, mm), open lines by their ends.

    `tails`: ends that stand over by no more than a gap and were cut off, as (place, mm).
    """

    outlines: tuple[Polygon, ...]
    divided: frozenset[int]
    gaps: tuple[tuple[Point, float], ...]
    left_open: tuple[tuple[Point, Point], ...]
    tails: tuple[tuple[Point, float], ...] = ()


def closed_by(lines: Sequence[Line], whole: Sequence[Line]) -> Closed | None:
    """The outlines that open lines make with each other and with the closed lines that they divide.

    None if they are more than can be sorted out in time.
    """
    drawn = chained(lines)
    if not drawn:
        return Closed((), frozenset(), (), ())
    if len(drawn) > MOST_LINES:
        return None
    rings = [LineString(np.vstack([ring, ring[:1]])) for ring in whole]
    if is_crowded(edges_of(*shapely.get_coordinates([*drawn, *rings], return_index=True))):
        return None
    bridges = bridges_of(drawn, rings)
    reached = shapely.STRtree(rings).query([*drawn, *bridges], predicate="dwithin", distance=GRID)[1] if rings else []
    divided = frozenset(int(k) for k in reached)
    network = shapely.union_all([*drawn, *bridges, *(rings[k] for k in sorted(divided))], grid_size=GRID)
    faces, cuts, dangles, _ = shapely.polygonize_full(list(shapely.get_parts(network)))
    every = [Polygon(face.exterior) for face in shapely.get_parts(faces)]
    middles = shapely.line_interpolate_point(np.array(bridges, object), 0.5, normalized=True)
    # two ends that stand over make a crumb with the bridge between them
    small = [face for face in every if face.area <= CHAIN_GAP**2 / 2]
    crumbs = [small[k] for k in sorted(set(_beside(middles, small)[0]))]
    loose = [*shapely.get_parts(cuts), *shapely.get_parts(dangles)]
    left_open, tails = open_ends(loose)
    tails += tuple((crumb.centroid, crumb.length / 2) for crumb in crumbs)
    needless = set(_beside(middles, [*loose, *crumbs])[1])
    gaps = tuple((middles[k], bridge.length) for k, bridge in enumerate(bridges) if k not in needless)
    outlines = tuple(face for face in every if face not in crumbs)
    return Closed(outlines, divided, gaps, left_open, tails)


def _beside(points: NDArray[np.object_], lines: Sequence[LineString | Polygon]) -> tuple[list[int], list[int]]:
    """Which lines lie at which of the points: the numbers of both, pair by pair."""
    if not lines or not len(points):
        return [], []
    at, on = shapely.STRtree(lines).query(points, predicate="dwithin", distance=GRID)
    return on.tolist(), at.tolist()


def chained(lines: Sequence[Line]) -> list[LineString]:
    """Lines whose ends meet within the grid, joined to chains wherever exactly two meet."""
    long = [line for line in lines if len(line) > 1 and np.ptp(line, axis=0).max() > GRID]
    if not long:
        return []
    ends = np.array([line[k] for line in long for k in (0, -1)])
    points = shapely.points(ends)
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=GRID)
    first = np.arange(len(ends))
    np.minimum.at(first, one, other)
    places = ends[first[first]]
    drawn = [np.vstack([places[2 * k], line[1:-1], places[2 * k + 1]]) for k, line in enumerate(long)]
    joined = shapely.line_merge(shapely.multilinestrings(list(map(shapely.linestrings, drawn))))
    return [line for line in shapely.get_parts(joined) if line.length > 0]


def bridges_of(lines: Sequence[LineString], rings: Sequence[LineString]) -> list[LineString]:
    """Short lines from each free end to the nearest free end, else to the nearest line, within CHAIN_GAP."""
    ends = shapely.points(np.array([line.coords[k] for line in lines for k in (0, -1)]))
    tree = shapely.STRtree(ends)
    one, other = tree.query(ends, predicate="dwithin", distance=GRID)
    met = np.bincount(one[one != other], minlength=len(ends)) > 0
    free = [k for k in range(len(ends)) if not met[k]]
    bridges, left = [], set(free)
    for _, a, b in pairs_of(ends, free, lines):
        if a in left and b in left:
            left -= {a, b}
            bridges.append(LineString([ends[a], ends[b]]))
    bridges += bridges_to_lines(ends, sorted(left), [*lines, *rings])
    return [bridge for bridge in bridges if bridge.length > 0]


def pairs_of(ends: NDArray[np.object_], free: list[int], lines: Sequence[LineString]) -> list[tuple[float, int, int]]:
    """Free ends within reach of each other, nearest first; a short line is not closed upon itself."""
    tree = shapely.STRtree(ends[free])
    one, other = tree.query(ends[free], predicate="dwithin", distance=CHAIN_GAP)
    found = []
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        first, second = free[a], free[b]
        own = first // 2 == second // 2 and lines[first // 2].length < 4 * CHAIN_GAP
        if first < second and not own:
            found.append((float(ends[first].distance(ends[second])), first, second))
    return sorted(found)


def bridges_to_lines(ends: NDArray[np.object_], free: list[int], everything: Sequence[LineString]) -> list[LineString]:
    """From each free end to the nearest other line within reach; none where there is none."""
    points = ends[free]
    mine, theirs = shapely.STRtree(everything).query(points, predicate="dwithin", distance=CHAIN_GAP)
    nearest: dict[int, tuple[float, int]] = {}
    for k, line in zip(mine.tolist(), theirs.tolist(), strict=True):
        if free[k] // 2 != line:
            found = (float(points[k].distance(everything[line])), line)
            nearest[k] = min(nearest.get(k, found), found)
    return [shapely.shortest_line(points[k], everything[line]) for k, (_, line) in sorted(nearest.items())]


def open_ends(
    lines: Sequence[LineString],
) -> tuple[tuple[tuple[Point, Point], ...], tuple[tuple[Point, float], ...]]:
    """Both ends of every line that closes nothing; and tails no longer than a gap, which were only drawn too far."""
    if not lines:
        return (), ()
    joined = list(shapely.get_parts(shapely.line_merge(shapely.multilinestrings(list(lines)))))
    long = [line for line in joined if line.length > CHAIN_GAP]
    tails = [line for line in joined if line.length <= CHAIN_GAP]
    return (
        tuple((Point(line.coords[0]), Point(line.coords[-1])) for line in long),
        tuple((shapely.line_interpolate_point(line, 0.5, normalized=True), float(line.length)) for line in tails),
    )


@dataclass(frozen=True, slots=True)
class Nested:
    """What nested outlines enclose: regions by the number of their outline; outlines drawn twice, or crossing."""

    regions: dict[int, Region]
    twice: tuple[int, ...]
    crossing: tuple[tuple[int, int], ...]


def nested(outlines: Sequence[Region]) -> Nested | None:
    """Regions of nested outlines by even-odd; None if more lie over each other than can be sorted out in time."""
    pairs = pairs_over(outlines)
    if pairs is None:
        return None
    twice: set[int] = set()
    crossing: list[tuple[int, int]] = []
    holders: dict[int, set[int]] = {k: set() for k in range(len(outlines))}
    areas, lengths = shapely.area(outlines).tolist(), shapely.length(outlines).tolist()
    for a, b, is_inside in pairs:
        if a in twice or b in twice:
            continue
        if is_inside:
            kind = "same" if areas[a] - areas[b] <= TOUCHING * lengths[b] else "within"
        else:
            kind = how_they_lie(outlines[a], outlines[b])
        if kind == "same":
            twice.add(b)
        elif kind == "within":
            holders[b].add(a)
        elif kind == "crossing":
            crossing.append((a, b))
    kept = [k for k in range(len(outlines)) if k not in twice]
    depth = {k: len(holders[k] - twice) for k in kept}
    regions = {}
    within: dict[int, list[int]] = {k: [] for k in kept}
    for h in kept:
        for k in holders[h] - twice:
            if depth[h] == depth[k] + 1:
                within[k].append(h)
    for k in (k for k in kept if depth[k] % 2 == 0):
        holes = [outlines[h] for h in within[k]]
        regions[k] = shapely.difference(outlines[k], shapely.union_all(holes)) if holes else outlines[k]
    return Nested(regions, tuple(sorted(twice)), tuple(crossing))


def pairs_over(outlines: Sequence[Region]) -> list[tuple[int, int, bool]] | None:
    """The pairs of outlines that meet, the larger first, and whether the smaller lies inside it clear of its line.

    None if they are more than can be looked at in time.
    """
    every = np.array(outlines, object)
    tree, found, left = shapely.STRtree(every), [], MOST_OVER
    for first in range(0, len(every), LOOKED_AT_ONCE):
        looked = np.arange(first, min(first + LOOKED_AT_ONCE, len(every)))
        one, other = tree.query(every[looked], predicate="intersects")
        left -= len(one)
        if left < 0:
            return None
        found.append((looked[one], other))
    one, other = (np.concatenate(numbers) for numbers in zip(*found, strict=True))
    areas, sizes = shapely.area(every), shapely.get_num_coordinates(every)
    kept = (areas[one] > areas[other]) | ((areas[one] == areas[other]) & (one < other))
    one, other = one[kept], other[kept]
    shapely.prepare(every)
    inside = shapely.contains_properly(every[one], every[other])
    if (sizes[one] + sizes[other])[~inside].sum() > MOST_COMPARED:
        return None
    return sorted(zip(one.tolist(), other.tolist(), inside.tolist(), strict=True))


def how_they_lie(large: Region, small: Region) -> str:
    """Whether the smaller region lies "within" the larger, is the "same", is "crossing" it, or "apart" from it."""
    film = TOUCHING * small.length
    if shapely.area(shapely.symmetric_difference(large, small)) <= film:
        return "same"
    shared = shapely.area(shapely.intersection(large, small))
    if shared >= small.area - film:
        return "within"
    return "crossing" if shared > film else "apart"
