"""Drawn outlines around fills, dissolved: each neighbour takes the line up to its middle.

A line becomes part of the areas beside it along the bisector of their borders with it. Against bare ground the area
takes the whole line, since a design is drawn to the outside of its outline. The bisector comes from the Voronoi cells
of points set evenly along those borders (`shapely.voronoi_polygons`); afterwards everything is noded once, so that
areas tile as before.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.artwork.drawing import arcs_of
from purfle.geometry.offsetting import polygonal
from purfle.geometry.partition import tiled
from purfle.model.artwork import Area, Areas
from purfle.tolerances import GRID

Floats = NDArray[np.float64]
POINTS_A_WIDTH = 6.0
"""So many points stand along a border for each width of the line: the bisector then strays by a hundredth of it."""
SMOOTH_SHARE = 0.08
"""The bisector is smoothed by this share of the line's width."""
OFF_ROW = 1e-3
"""Each point stands this share of the width off its even row: of points in even rows GEOS loses Voronoi cells."""
MOST_POINTS = 20_000
"""More points than this along one line are set less close."""
LINE_RATIO = 1.8
"""A line is hardly anywhere wider than this many times its mean width: a disc twice, a junction of lines 1.5 times."""
WIDE_SHARE = 0.25
"""Where lines run into each other they may be wider, over this share of their size at most."""
LONG_FOR_ITS_WIDTH = 10.0
"""A line is at least this many times as long as wide."""


def mean_width(region: Polygon) -> float:
    """Width of a line, or mean width of any region: twice its size over its whole boundary."""
    return float(2.0 * region.area / max(region.length, region.area**0.5))


def is_line(area: Area) -> bool:
    """True if an area is a drawn line: long, and nowhere much wider than elsewhere."""
    width = mean_width(area.region)
    if area.region.length / 2.0 < LONG_FOR_ITS_WIDTH * width:
        return False
    reach = LINE_RATIO * width / 2.0
    wide = area.region.buffer(-reach, quad_segs=4).buffer(reach, quad_segs=4)
    return bool(wide.area < WIDE_SHARE * area.region.area)


def lines_inside(areas: Sequence[Area], ground: frozenset[int]) -> list[tuple[Area, Area]]:
    """Drawn lines that lie inside one area alone (a mouth, a whisker), each with that area."""
    tree = shapely.STRtree([area.region for area in areas])
    found = []
    for area in areas:
        long = area.region.length / 2.0 >= LONG_FOR_ITS_WIDTH * mean_width(area.region)
        if area.number in ground or not long:
            continue
        beside = [int(one) for one in tree.query(area.region, predicate="touches") if int(one) != area.number]
        if len(beside) == 1 and beside[0] not in ground and is_line(area):
            found.append((area, areas[beside[0]]))
    return found


def dissolved(areas: Areas, lines: Sequence[int]) -> Areas:
    """The areas without these lines, which their neighbours share; numbers close up, arcs and ground follow.

    A line that lies against the ground alone becomes ground.
    """
    gone = set(lines)
    regions: list[BaseGeometry] = [area.region for area in areas.areas]
    for number in sorted(gone):
        for taker, part in _shares(areas, number, gone).items():
            regions[taker] = shapely.union(regions[taker], part)
    kept = [area.number for area in areas.areas if area.number not in gone]
    frame = shapely.box(0.0, 0.0, areas.width, areas.height)
    first = tiled([polygonal(regions[number]) for number in kept], frame)
    whole = tiled([_largest(region) for region in first], frame)
    made = tuple(
        replace(areas.areas[number], number=place, region=_largest(region))
        for place, (number, region) in enumerate(zip(kept, whole, strict=True))
    )
    ground = frozenset(place for place, number in enumerate(kept) if number in areas.ground)
    return replace(areas, areas=made, arcs=arcs_of(made), ground=ground)


def _largest(region: BaseGeometry) -> Polygon:
    """The largest part; the others are slivers round a corner, which go to whatever lies beside them."""
    parts = [part for part in shapely.get_parts(region) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area)


def _shares(areas: Areas, number: int, gone: set[int]) -> dict[int, BaseGeometry]:
    """What of a line each neighbour takes."""
    line = areas.areas[number].region
    beside = [area for area in areas.areas if area.number not in gone and area.region.intersects(line)]
    borders = {area.number: line.boundary.intersection(area.region.boundary) for area in beside}
    borders = {taker: border for taker, border in borders.items() if border.length > 0.0}
    drawn = {taker: border for taker, border in borders.items() if taker not in areas.ground}
    takers = drawn or borders
    if len(takers) <= 1:
        return dict.fromkeys(takers, line)
    points, owners = _points_beside(takers, mean_width(line), line.length)
    cells = shapely.get_parts(shapely.voronoi_polygons(shapely.multipoints(points), extend_to=line, ordered=True))
    names = list(takers)
    sides = [
        polygonal(shapely.union_all([c for c, o in zip(cells, owners, strict=True) if o == name], grid_size=GRID))
        for name in names
    ]
    room = shapely.box(*shapely.bounds(line)).buffer(mean_width(line), join_style="mitre")
    smooth = shapely.coverage_simplify(list(tiled(sides, room)), SMOOTH_SHARE * mean_width(line))
    return {name: shapely.intersection(side, line) for name, side in zip(names, smooth, strict=True)}


def _points_beside(borders: dict[int, BaseGeometry], width: float, length: float) -> tuple[Floats, list[int]]:
    """Points (n, 2) set evenly along the borders, and whose border each stands on."""
    apart = max(width / POINTS_A_WIDTH, length / MOST_POINTS)
    points, owners = [], []
    for taker, border in borders.items():
        for part in shapely.get_parts(shapely.line_merge(border)):
            count = max(1, round(part.length / apart))
            found = shapely.line_interpolate_point(part, (np.arange(count) + 0.5) / count, normalized=True)
            points.append(shapely.get_coordinates(found))
            owners += [taker] * count
    number = np.arange(len(owners))
    off = np.column_stack([np.sin(37.0 * number), np.cos(53.0 * number)])
    return np.concatenate(points) + OFF_ROW * width * off, owners
