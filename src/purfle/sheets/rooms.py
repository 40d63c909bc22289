"""Room on paper: the plain shapes that lines, marks and texts take, for keeping clear of each other.

These are for paper alone. Wood is offset through `geometry.offsetting`.
"""

import math
from collections.abc import Callable, Sequence
from functools import cache
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.sheets.lettering import Weight, height, width

Place = tuple[float, float]
Anchor = Literal["c", "l", "r"]

MARK = 2.7
"""Half the height of a numbered mark."""
MARK_POINTS = 11.0
AIR = 0.9
"""Room kept around a text."""
_ROUND = 24
"""Corners of half a round end."""
FINEST = 0.01
"""Outlines are drawn to this many mm: a fraction of what any printer shows."""


def laid_on_paper(shape: BaseGeometry, places: Callable[[NDArray[np.float64]], NDArray[np.float64]]) -> BaseGeometry:
    """A shape as it is drawn: moved by a function from places to places on the paper, in as few corners as show."""
    return in_fewer_corners(shapely.transform(shape, places), FINEST)


def in_fewer_corners(shape: BaseGeometry, tolerance: float) -> BaseGeometry:
    """A shape whose outline stands off what it was by the tolerance at most; each of its rings is there still.

    Corners are left out without a look at other rings, which is many times quicker; only where that breaks the shape
    is it done with such a look.
    """
    plain = shapely.simplify(shape, tolerance, preserve_topology=False)
    is_whole = shapely.is_valid(plain) and _rings(plain) == _rings(shape)
    return plain if is_whole else shapely.simplify(shape, tolerance)


def _rings(shape: BaseGeometry) -> int:
    """How many outlines and holes a shape has."""
    return len(shapely.get_rings(shapely.get_parts(shape)))


def strip(start: Place, end: Place, half: float) -> Polygon:
    """The room of a straight line: `half` to either side, and past its ends."""
    room: Polygon = strips_each([start], [end], half)[0]
    return room


def strips_each(starts: Sequence[Place], ends: Sequence[Place], half: float) -> NDArray[np.object_]:
    """The rooms of many straight lines, as `strip` gives them."""
    here, there = np.asarray(starts, np.float64), np.asarray(ends, np.float64)
    way = there - here
    long = np.hypot(way[:, 0], way[:, 1])[:, None]
    along = np.divide(way * half, long, out=np.tile([half, 0.0], (len(way), 1)), where=long > 0)
    aside = np.column_stack([-along[:, 1], along[:, 0]])
    corners = [here - along + aside, here - along - aside, there + along - aside, there + along + aside]
    return np.asarray(shapely.polygons(np.stack(corners, axis=1)), object)


def strips(points: Sequence[Place], half: float) -> BaseGeometry:
    """The room of a line through some points."""
    return shapely.union_all(strips_each(points[:-1], points[1:], half))


def lengths_inside(start: Place, ends: Sequence[Place], regions: Sequence[BaseGeometry]) -> NDArray[np.float64]:
    """How much of each straight line from one point to another lies inside some regions, all regions added up.

    A ring counts what of a line lies before each of its crossings, and takes away again what lies before it comes out.
    """
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(list(regions))))
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    follows = ring[1:] == ring[:-1]
    here, there = (corners[:-1][follows] - start, corners[1:][follows] - start)
    way = np.asarray(ends, np.float64)[:, None, :] - start
    side, other = (way[..., 0] * to[:, 1] - way[..., 1] * to[:, 0] for to in (here, there))
    crossing = (side > 0.0).astype(float) - (other > 0.0)
    apart = np.where(crossing == 0.0, 1.0, side - other)
    along = here + (there - here) * (side / apart)[..., None]
    length = np.linalg.norm(way, axis=2)
    share = np.clip((along * way).sum(axis=2) / length**2, 0.0, 1.0)
    return np.asarray(np.abs((crossing * share).sum(axis=1)) * length[:, 0], np.float64)


def moved_to(room: BaseGeometry, places: Sequence[Place]) -> list[BaseGeometry]:
    """Copies of a room that stands about the origin, each moved to a place."""
    corners, owner = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(room)), return_index=True)
    if shapely.get_num_geometries(room) != 1 or owner.any():
        return [shapely.transform(room, lambda xy, to=place: xy + to) for place in places]
    return list(shapely.polygons(corners[None, :, :] + np.asarray(places, np.float64).reshape(-1, 1, 2)))


def mark_shape(at: Place, label: str) -> Polygon:
    """The outline of a numbered mark: a ring, or a longer one where the label needs it."""
    return Polygon(_mark_corners(label) + at)


@cache
def _mark_corners(label: str) -> NDArray[np.float64]:
    """The outline of a numbered mark about the origin."""
    half = max(0.0, width(label, MARK_POINTS, "bold") / 2 - MARK + 1.1)
    ends = []
    for side in (1, -1):
        for i in range(_ROUND + 1):
            angle = math.pi * (i / _ROUND - 0.5) + (0.0 if side == 1 else math.pi)
            ends.append((side * half + MARK * math.cos(angle), MARK * math.sin(angle)))
    return np.array(ends)


def text_box(at: Place, text: str, points: float, weight: Weight = "regular", anchor: Anchor = "c") -> Polygon:
    """The room that a text takes, with a little air."""
    long, high = width(text, points, weight) + 2 * AIR, height(points) + 2 * AIR
    left = {"c": at[0] - long / 2, "l": at[0] - AIR, "r": at[0] + AIR - long}[anchor]
    return shapely.box(left, at[1] - high / 2, left + long, at[1] + high / 2)


def grown(box: Polygon, by: float) -> Polygon:
    """An upright box, larger by so much on every side."""
    x0, y0, x1, y1 = box.bounds
    return shapely.box(x0 - by, y0 - by, x1 + by, y1 + by)
