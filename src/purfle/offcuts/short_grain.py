"""Thin parts of a piece whose fibres run across them: they snap."""

import math

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.measuring import inscribed_centre, inscribed_radius
from purfle.geometry.offsetting import opening, slivers_between
from purfle.model.offcuts import ShortGrain, Wanted
from purfle.offcuts.parts import length_width_direction
from purfle.tolerances import CLOSED
from purfle.wood import practice

_FILM_SHARE = 0.44
"""More of its outline lies against the body where a sliver is a film, less where it is a tongue that is long."""
_STEP = 0.05
"""The outline of a sliver is looked at in steps of this many mm."""


def short_grain_of(part: Wanted, grain: float) -> tuple[ShortGrain, ...]:
    """The thin parts of a piece that lie across its fibres; `grain` is their direction in the artwork frame.

    Thin is below the typical width, across is beyond the typical angle, both from the practice table. Places are in
    the artwork frame.
    """
    thin = _figure("short grain: least width")
    across = _figure("short grain: slope")
    body = opening(part.region, thin / 2)
    found: list[ShortGrain] = []
    for sliver in longer(slivers_between(part.region, body), thin):
        length, _, direction = length_width_direction(sliver)
        angle = angle_between(direction, grain)
        if length <= thin or angle <= across or is_film(sliver, body):
            continue
        width = 2 * inscribed_radius(sliver, CLOSED)
        if width > CLOSED:
            found.append(ShortGrain(part.inlay, part.number, part.name, width, angle, _place(sliver)))
    return tuple(sorted(found, key=lambda one: (one.width, one.place)))


def is_film(sliver: Polygon, body: BaseGeometry) -> bool:
    """True for what the opening leaves along a sound edge or round a stout end: it lies against the body all along.

    A tongue hangs on by its root alone, a neck by two: that is the smaller part of its outline.
    """
    outline = shapely.points(shapely.get_coordinates(shapely.segmentize(sliver.exterior, _STEP)))
    return float(shapely.dwithin(outline, body, CLOSED).mean()) > _FILM_SHARE


def longer(slivers: list[Polygon], thin: float) -> list[Polygon]:
    """Slivers that may be longer than the limit; what is shorter is a corner, not a tongue that could snap."""
    bounds = shapely.bounds(slivers).reshape(-1, 4).tolist()
    return [one for one, (x0, y0, x1, y1) in zip(slivers, bounds, strict=True) if math.hypot(x1 - x0, y1 - y0) > thin]


def angle_between(one: float, other: float) -> float:
    """The angle between two directions of fibres, 0 to 90 degrees.

    >>> angle_between(170.0, 10.0), angle_between(0.0, 90.0)
    (20.0, 90.0)
    """
    turn = abs(one - other) % 180.0
    return min(turn, 180.0 - turn)


def _figure(item: str) -> float:
    typical = practice("fit", item).typical
    assert isinstance(typical, float)
    return typical


def _place(sliver: Polygon) -> tuple[float, float]:
    return inscribed_centre(sliver, CLOSED)
