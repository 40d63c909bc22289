"""Openings of templates: what a bush has to follow so that its cutter leaves an outline; which of them are alike."""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.folds import unfolded
from purfle.geometry.offsetting import grow, shrink
from purfle.geometry.pose import Pose
from purfle.model.pieces import Region
from purfle.model.templates import Guide
from purfle.tolerances import ALIKE_OPENINGS, SAME_PLACE, SIDE_AS_CUT

_TURNS = 48
"""So many turns are tried at most to lay one opening on another."""
_TOLD_APART = 3.0
"""Turns nearer to each other than this, degrees, are tried as one."""
_ROUNDS = 5
"""Rounds of laying one outline on another; each makes what is left the square of what it was."""
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
    return unfolded(grow(room, guide.outside / 2.0))


def insert_opening(insert: Polygon, guide: Guide) -> Region:
    """The opening for an insert: the insert, the groove around it, and half the bush less half the cutter."""
    return unfolded(grow(insert, guide.across))


def laid_on(one: Polygon, other: Polygon) -> Pose | None:
    """The pose, turned but never mirrored, that lays one outline on another; None where they are not alike."""
    if abs(one.area - other.area) > ALIKE_OPENINGS * one.length:
        return None
    a, b = _middle(one), _middle(other)
    first, second = _farthest(one, a), _farthest(other, b)
    if abs(first[0] - second[0]) > 2.0 * ALIKE_OPENINGS:
        return None
    turns = np.degrees(second[1] - first[1][0]) % 360.0
    # what lies near to each other comes out as one
    for turn in [0.0, *sorted({round(turn / _TOLD_APART) * _TOLD_APART for turn in turns.tolist()})]:
        x, y = Pose(turn).point(*a)
        pose = _nearer(one, other, Pose(turn, b[0] - x, b[1] - y))
        if shapely.hausdorff_distance(pose.region(one).exterior, other.exterior) <= ALIKE_OPENINGS:
            return pose
    return None


def _nearer(one: Polygon, other: Polygon, pose: Pose) -> Pose:
    """The pose turned and moved a little, so that the corners of the one outline lie on the other as well as they can.

    Corners of two outlines stand at other places of one curve, so the farthest ones say a turn only roughly. By least
    squares: a small turn and shift move a corner p by the turn times p turned a quarter, and the shift; of that, what
    goes towards the nearest place of the other outline has to be its distance.
    """
    if shapely.hausdorff_distance(pose.region(one).exterior, other.exterior) <= ALIKE_OPENINGS:
        return pose
    ring, middle = other.exterior, np.array(_middle(other))
    for _ in range(_ROUNDS):
        corners = shapely.get_coordinates(pose.region(one).exterior)[:-1]
        nearest = shapely.line_interpolate_point(ring, shapely.line_locate_point(ring, shapely.points(corners)))
        off = shapely.get_coordinates(nearest) - corners
        away = np.hypot(*off.T)
        towards = off / np.maximum(away, SAME_PLACE)[:, None]
        turned = (corners - middle)[:, ::-1] * (-1.0, 1.0)
        rows = np.column_stack([(towards * turned).sum(axis=1), towards])
        (angle, x, y), *_ = np.linalg.lstsq(rows, away, rcond=None)
        turn = Pose(float(np.degrees(angle)))
        shift = middle + np.array((x, y)) - turn.point(*middle)
        pose = pose.then(replace(turn, x=float(shift[0]), y=float(shift[1])))
    return pose


def _middle(outline: Polygon) -> tuple[float, float]:
    middle = outline.centroid
    return float(middle.x), float(middle.y)


def _farthest(outline: Polygon, middle: tuple[float, float]) -> tuple[float, NDArray[np.float64]]:
    """How far the farthest corners are from the middle, and in which directions (radians)."""
    off = shapely.get_coordinates(outline.exterior)[:-1] - middle
    away = np.hypot(*off.T)
    far = np.flatnonzero(away >= away.max() - _FARTHEST)
    far = far[:: max(1, -(-len(far) // _TURNS))]
    return float(away.max()), np.arctan2(*off[far].T[::-1])
