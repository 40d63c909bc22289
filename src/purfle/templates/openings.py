"""Openings of templates: what a bush has to follow so that its cutter leaves an outline; which of them are alike."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.offsetting import grow, shrink
from purfle.geometry.pose import Pose
from purfle.model.pieces import Region
from purfle.model.templates import Guide
from purfle.tolerances import ALIKE_OPENINGS, SIDE_AS_CUT

_TURNS = 48
"""So many turns are tried at most to lay one opening on another."""
_FARTHEST = 0.01
"""Corners that are farthest from the middle within this, mm, may be laid on each other."""


def recess_opening(recess: Polygon, guide: Guide) -> Region:
    """The opening for a recess: where the cutter's middle may be within it, and a bush's radius about that.

    The recess has to be open for the cutter and its ground for the offset (`TemplateRule`): the bush then reaches all.
    """
    room = shrink(recess, guide.cutter.radius)
    if room.is_empty:
        # a recess exactly as wide as the cutter keeps a thread of room
        room = shrink(recess, guide.cutter.radius - SIDE_AS_CUT / 3.0)
    return grow(room, guide.outside / 2.0)


def insert_opening(insert: Polygon, guide: Guide) -> Region:
    """The opening for an insert: the insert, the groove around it, and half the bush less half the cutter."""
    return grow(insert, guide.across)


def laid_on(one: Polygon, other: Polygon) -> Pose | None:
    """The pose, turned but never mirrored, that lays one outline on another; None where they are not alike."""
    if abs(one.area - other.area) > ALIKE_OPENINGS * one.length:
        return None
    a, b = _middle(one), _middle(other)
    first, second = _farthest(one, a), _farthest(other, b)
    if abs(first[0][0] - second[0][0]) > 2.0 * ALIKE_OPENINGS:
        return None
    turns = [0.0, *(float(np.degrees(angle - first[1][0])) % 360.0 for angle in second[1])]
    for turn in turns:
        x, y = Pose(turn).point(*a)
        pose = Pose(turn, b[0] - x, b[1] - y)
        if shapely.hausdorff_distance(pose.region(one).exterior, other.exterior) <= ALIKE_OPENINGS:
            return pose
    return None


def _middle(outline: Polygon) -> tuple[float, float]:
    middle = outline.centroid
    return float(middle.x), float(middle.y)


def _farthest(outline: Polygon, middle: tuple[float, float]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far the farthest corners are from the middle, and in which directions (radians)."""
    off = shapely.get_coordinates(outline.exterior)[:-1] - middle
    away = np.hypot(*off.T)
    far = np.flatnonzero(away >= away.max() - _FARTHEST)
    far = far[:: max(1, -(-len(far) // _TURNS))]
    return away[far][:1], np.arctan2(*off[far].T[::-1])
