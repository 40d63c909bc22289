"""The room of the cutter's middle: where it may be while the cutter stays inside what is to be cut away."""

import math
from functools import lru_cache

import shapely
from shapely import Polygon

from purfle.geometry.offsetting import (
    Region,
    difference,
    grow,
    intersection,
    opening,
    polygons,
    shrink,
    slivers_between,
    union_of,
)
from purfle.tolerances import CLOSING_KEPT, SIDE_AS_CUT

_NECK_KEPT = 3.0
"""A neck counts if it leads further than this many allowances away from the room that keeps the allowance."""
_MOUTH = 1.5
"""A neck is lengthened by this many allowances, so that it overlaps the room that keeps the allowance."""


def room_for(region: Region, radius: float) -> Region:
    """Where the cutter's middle may be while it stays inside the region; empty where that is too narrow.

    A part of the region that is exactly as wide as the cutter keeps a thread of room a third of SIDE_AS_CUT thick.
    """
    return union_of([_room_of_part(part, radius) for part in polygons(region)])


def too_narrow(region: Region, radius: float) -> list[Polygon]:
    """The connected parts of the region that the cutter cannot enter at all."""
    return [part for part in polygons(region) if _room_of_part(part, radius).is_empty]


def not_reached(region: Region, room: Region, radius: float) -> list[Polygon]:
    """What of the region stays standing in corners, as far as it is deeper than SIDE_AS_CUT."""
    reached = grow(room, radius)
    if within(region, reached, SIDE_AS_CUT / 2.0):
        return []
    # a hair more is reached, and films are no wood: both would join corners to one another along the walls
    left = difference(region, grow(room, radius + CLOSING_KEPT))
    if shrink(left, SIDE_AS_CUT / 2.0).is_empty:
        return []
    left = opening(left, CLOSING_KEPT)
    deep = opening(left, SIDE_AS_CUT / 2.0)
    found = [part for part in polygons(left) if part.intersects(deep)]
    return [_whole(part, difference(region, reached), radius) for part in found]


def _whole(part: Polygon, left: Region, radius: float) -> Polygon:
    """A corner that was found with that hair, as it stands without it.

    It ends where the gap between a tangent and its circle is three hairs wide: one is the hair itself, and less than
    two more went as a film. By Pythagoras that is the root of six hairs times the radius too early on each side.
    """
    more = math.sqrt(2.0 * radius * 3.0 * CLOSING_KEPT + (3.0 * CLOSING_KEPT) ** 2)
    x0, y0, x1, y1 = part.bounds
    here = intersection(left, shapely.box(x0 - more, y0 - more, x1 + more, y1 + more))
    wholes = [one for one in polygons(here) if one.intersects(part)]
    return max(wholes, key=lambda one: one.area, default=part)


def within(region: Region, other: Region, off: float) -> bool:
    """True if no place of the region lies further than `off` outside the other one, which takes no overlay to see.

    Nothing of the region that lies outside is then as thick as to hold a disc of that radius.
    """
    if other.is_empty:
        return False
    room = grow(other, off)
    shapely.prepare(room)
    return bool(shapely.covers(room, region))


def roughing_room(room: Region, allowance: float) -> Region:
    """The room less the allowance; in necks too narrow for it the room itself, so that nothing falls apart."""
    if allowance <= 0.0:
        return room
    return union_of([_roughing_part(part, allowance) for part in polygons(room)])


@lru_cache(maxsize=64)
def _room_of_part(part: Polygon, radius: float) -> Region:
    """The room of one part; the last ones are remembered, since lines, choices and passes all ask for them."""
    room = shrink(part, radius)
    return room if not room.is_empty else shrink(part, max(0.0, radius - SIDE_AS_CUT / 3.0))


def rest_room(room: Region, cleared: Region, radius: float) -> Region:
    """Where in the room of a cutter its middle has to go, if all of the room's reach but what is `cleared` is to go.

    What would be thinner than SIDE_AS_CUT is left to the last pass.
    """
    left = difference(grow(room, radius), cleared)
    deep = opening(left, SIDE_AS_CUT / 2.0)
    parts = [part for part in polygons(left) if part.intersects(deep)] if not deep.is_empty else []
    return intersection(room, grow(union_of(parts), radius)) if parts else Polygon()


def _roughing_part(part: Polygon, allowance: float) -> Region:
    inner = shrink(part, allowance)
    if inner.is_empty:
        return part
    is_one = len(list(polygons(inner))) == 1
    if is_one and within(part, inner, _NECK_KEPT * allowance):
        return inner
    outside = slivers_between(part, grow(inner, allowance))
    far = difference(part, grow(inner, _NECK_KEPT * allowance))
    necks = [neck for neck in outside if neck.intersects(far) or _joins(neck, inner, allowance)]
    if not necks:
        return inner
    mouths = intersection(grow(union_of(necks), _MOUTH * allowance), part)
    return union_of([inner, mouths])


def _joins(neck: Polygon, inner: Region, allowance: float) -> bool:
    """True if the neck lies between two parts of the inner room; a mere corner does not."""
    near = shapely.dwithin(list(polygons(inner)), neck, 1.05 * allowance)
    return int(near.sum()) > 1
