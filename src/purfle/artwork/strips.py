"""A strip of even width along the middle of a drawn line, as stringing is let in; its ends as they are drawn.

The middle is the medial axis of the line, without the twigs that run into its corners, each end drawn out straight to
the outline. A line that forks gives a strip that forks.
"""

from collections import Counter

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.artwork.outlines import mean_width
from purfle.geometry.offsetting import polygonal
from purfle.tolerances import GRID, QUADRANT_SEGMENTS

Floats = NDArray[np.float64]
FLAT_SHARE = 0.005
"""The middle is true to this share of the line's width."""
FACET_SHARE = 0.002
"""Vertices that stand off the strip's sides by less than this share of its width are left out."""
TWIG_SHARE = 0.3
"""What sticks out of the line's discs by less than this share of its width is a corner of its outline, no branch: a
square end sticks out by (sqrt(2) - 1) / 2 = 0.21 of it."""
SQUARE_END = 0.89
"""Of the square on half an end, a square end fills all, a round one pi / 4: this is half-way between."""


def middle_of(line: Polygon) -> list[Floats]:
    """The middle of a drawn line from end to end, in one way (n, 2) or, where it forks, several that meet."""
    return [_drawn_out(way, line, free) for way, free in _ways(line)]


def strip_along(line: Polygon, width: float) -> BaseGeometry:
    """What a strip of this width along the middle of a drawn line covers: square at its ends where the line is square
    there, else round; it ends where the line ends. Where the line forks its branches meet in a disc.
    """
    parts: list[BaseGeometry] = []
    for way, free in _ways(line):
        drawn = _drawn_out(way, line, free)
        for end in (free[1], free[0]):
            drawn, cap = _ended(drawn, line, end, width)
            parts += cap
            drawn = drawn[::-1]
        parts.append(_ribbon(drawn, width))
    return polygonal(shapely.simplify(shapely.union_all(parts, grid_size=GRID), FACET_SHARE * width))


def _ended(way: Floats, line: Polygon, free: bool, width: float) -> tuple[Floats, list[BaseGeometry]]:
    """A way as its strip has to end there, and the disc that rounds off that end or joins the branches at a fork."""
    if not free:
        return way, [_disc(way[-1], width)]
    short = _shortened(way, width / 2.0)
    if not _is_square(way, line):
        return short, [_disc(short[-1], width)]
    # a square end is straight as far as half the width: a bend within it would stick out of the end
    return np.vstack([short, way[-1:]]), []


def room_along(line: Polygon, within: Polygon) -> float:
    """The widest strip along a line that stays within a region (in the unit of both)."""
    edge = within.boundary
    return 2.0 * min(float(LineString(way).distance(edge)) for way in middle_of(line))


def _ways(line: Polygon) -> list[tuple[Floats, tuple[bool, bool]]]:
    """The medial axis as ways between ends and forks, and which ends of each are free."""
    from purfle.geometry.medial_axis import medial_axis  # few drawings have lines that become stringing

    width = mean_width(line)
    axis = medial_axis(line, FLAT_SHARE * width, TWIG_SHARE * width)
    edges = shapely.linestrings(axis.places[axis.edges][:, :, :2])
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(edges)))
    ways = [shapely.get_coordinates(shapely.simplify(way, FLAT_SHARE * width)) for way in merged]
    met = Counter(tuple(way[place].tolist()) for way in ways for place in (0, -1))
    return [(way, (met[tuple(way[0].tolist())] == 1, met[tuple(way[-1].tolist())] == 1)) for way in ways]


def _drawn_out(way: Floats, line: Polygon, free: tuple[bool, bool]) -> Floats:
    """A way with its free ends drawn out straight to the outline of the line."""
    for _ in range(2):
        way, free = way[::-1], (free[1], free[0])
        if free[1]:
            way = _to_outline(way, line)
    return way


def _to_outline(way: Floats, line: Polygon) -> Floats:
    """The same way with its last place moved on to the outline, in the direction of its last stretch."""
    end = way[-1]
    reach = float(line.exterior.distance(shapely.Point(end)))
    if reach <= GRID:
        return way
    onward = _direction(way, reach)
    ray = LineString([end, end + 8.0 * reach * onward])
    met = shapely.get_coordinates(shapely.intersection(ray, line.exterior))
    if len(met) == 0:
        return way
    off = np.hypot(*(met - end).T)
    return np.vstack([way, met[int(off.argmin())]])


def _direction(way: Floats, reach: float) -> Floats:
    """The direction in which a way ends, over its last `reach`, as a unit vector."""
    string = LineString(way)
    back = shapely.get_coordinates(string.interpolate(max(string.length - reach, 0.0)))[0]
    along = way[-1] - back
    unit: Floats = along / max(float(np.hypot(*along)), GRID)
    return unit


def _is_square(way: Floats, line: Polygon) -> bool:
    """True if the line ends square where the way ends."""
    half = mean_width(line) / 2.0
    along = _direction(way, half)
    across = np.array([-along[1], along[0]]) * 2.0 * half
    end, back = way[-1], way[-1] - half * along
    corners = [end + across, end - across, back - across, back + across]
    filled = shapely.intersection(line, Polygon(corners)).area
    return bool(filled > SQUARE_END * 2.0 * half**2)


def _shortened(way: Floats, by: float) -> Floats:
    """The way without its last stretch of this length; half of it at least is left."""
    string = LineString(way)
    left = max(string.length - by, string.length / 2.0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    end = shapely.get_coordinates(string.interpolate(left))
    return np.vstack([way[along < left - GRID], end])


def _disc(place: Floats, width: float) -> BaseGeometry:
    return shapely.Point(place).buffer(width / 2.0, quad_segs=QUADRANT_SEGMENTS)


def _ribbon(way: Floats, width: float) -> BaseGeometry:
    """What a way covers at this width, cut off square at its ends; stretch by stretch, so that no offset can fail."""
    turns = [_disc(place, width) for place in way[1:-1]]
    along = np.diff(way, axis=0)
    across = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None] * width / 2.0
    first, last = way[:-1], way[1:]
    quads = np.stack([first + across, last + across, last - across, first - across], axis=1)
    return shapely.union_all([*shapely.polygons(quads), *turns])
