"""Pins: two holes that a template shares with what lies below it, so that it can be lifted and laid back."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Polyline, Pose
from purfle.model.templates import TemplateRule

WALL = 3.0
"""Wood of the template between its opening and a pin, at least; of the offcut beside a pin, mm (common practice, no
source)."""
GROOVE_WALL = 1.0
"""Wood left beside a groove, mm (common practice, no source)."""
_PLACES = 72
"""So many places round an opening are looked at."""
_APART = 0.5
"""Pins nearer to each other than this share of the opening's length do not hold a template straight."""

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Below:
    """What a template lies on in one place: the pose to its frame, the wood, and what of it no pin may come into."""

    pose: Pose
    wood: Polygon
    kept: BaseGeometry


def room_for_groove(rule: TemplateRule) -> float:
    """What a part needs round it so that its groove stays in the offcut and off its neighbours, mm."""
    return rule.pair.insert.cutter.width + GROOVE_WALL


def room_for_pins(rule: TemplateRule) -> float:
    """The same with room for a pin beside the opening, mm."""
    return max(room_for_groove(rule), rule.pair.insert.across + rule.pin + 2.0 * WALL)


def pin_places(opening: Polygon, pin: float, below: Sequence[Below]) -> tuple[Place, ...]:
    """The middles of two pins beside an opening, as far from each other as can be, with wood below everywhere.

    In the frame of the template; none where there is no room for two.
    """
    line = opening.buffer(WALL + pin / 2.0).exterior
    spots = shapely.get_coordinates(shapely.line_interpolate_point(line, np.arange(_PLACES) / _PLACES, normalized=True))
    spots = np.round(spots, 3)
    free = spots[np.logical_and.reduce([_has_wood(spots, pin, one) for one in below])] if below else spots
    if len(free) < 2:
        return ()
    away = np.hypot(*(free[:, None, :] - free[None, :, :]).transpose(2, 0, 1))
    first, second = np.unravel_index(int(away.argmax()), away.shape)
    if away[first, second] < _APART * _length(opening):
        return ()
    return tuple(sorted((float(x), float(y)) for x, y in free[[first, second]]))


def pins_have_wood(pins: Sequence[Place], pin: float, below: Below) -> bool:
    """True if all of some pins have wood below them that no one needs."""
    return bool(len(pins)) and bool(_has_wood(np.array(pins), pin, below).all())


def _has_wood(spots: Polyline, pin: float, below: Below) -> NDArray[np.bool_]:
    discs = shapely.buffer(shapely.points(below.pose.points(spots)), pin / 2.0 + WALL / 2.0)
    shapely.prepare(below.wood)
    return np.asarray(shapely.covers(below.wood, discs) & ~shapely.intersects(below.kept, discs))


def _length(opening: Polygon) -> float:
    left, low, right, high = opening.bounds
    return float(max(right - left, high - low))
