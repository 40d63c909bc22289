"""Room on paper: the plain shapes that lines, marks and texts take, for keeping clear of each other.

These are for paper alone. Wood is offset through `geometry.offsetting`.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
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


def strip(start: Place, end: Place, half: float) -> Polygon:
    """The room of a straight line: `half` to either side, and past its ends."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    long = math.hypot(dx, dy)
    along = (dx / long * half, dy / long * half) if long else (half, 0.0)
    (x0, y0), (x1, y1), (ux, uy) = start, end, along
    corners = [(x0 - ux - uy, y0 - uy + ux), (x0 - ux + uy, y0 - uy - ux), (x1 + ux + uy, y1 + uy - ux)]
    return Polygon([*corners, (x1 + ux - uy, y1 + uy + ux)])


def strips(points: Sequence[Place], half: float) -> BaseGeometry:
    """The room of a line through some points."""
    return shapely.union_all([strip(a, b, half) for a, b in pairwise(points)])


def moved_to(room: BaseGeometry, places: Sequence[Place]) -> list[BaseGeometry]:
    """Copies of a room that stands about the origin, each moved to a place."""
    corners, owner = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(room)), return_index=True)
    if shapely.get_num_geometries(room) != 1 or owner.any():
        return [shapely.transform(room, lambda xy, to=place: xy + to) for place in places]
    return list(shapely.polygons(corners[None, :, :] + np.asarray(places)[:, None, :]))


def mark_shape(at: Place, label: str) -> Polygon:
    """The outline of a numbered mark: a ring, or a longer one where the label needs it."""
    half = max(0.0, width(label, MARK_POINTS, "bold") / 2 - MARK + 1.1)
    ends = []
    for side in (1, -1):
        for i in range(_ROUND + 1):
            angle = math.pi * (i / _ROUND - 0.5) + (0.0 if side == 1 else math.pi)
            ends.append((at[0] + side * half + MARK * math.cos(angle), at[1] + MARK * math.sin(angle)))
    return Polygon(ends)


def text_box(at: Place, text: str, points: float, weight: Weight = "regular", anchor: Anchor = "c") -> Polygon:
    """The room that a text takes, with a little air."""
    long, high = width(text, points, weight) + 2 * AIR, height(points) + 2 * AIR
    left = {"c": at[0] - long / 2, "l": at[0] - AIR, "r": at[0] + AIR - long}[anchor]
    return shapely.box(left, at[1] - high / 2, left + long, at[1] + high / 2)


def grown(box: Polygon, by: float) -> Polygon:
    """An upright box, larger by so much on every side."""
    x0, y0, x1, y1 = box.bounds
    return shapely.box(x0 - by, y0 - by, x1 + by, y1 + by)
