"""How a drawing is turned, told by what turns and mirrors with it, so that it can be turned back to its own direction.

The main direction is that of the straight edges: all edges longer than a chord, those of one direction (and across it)
together, each counted by the square of its length. A drawing of nothing but curves has the directions that its moments
tell, as a rule those of its axes. That leaves four quarter turns, each mirrored or not. Among them the one counts in
which the drawing is broadest, then that in which it leans to the right, then up: moments about the centre of gravity of
its outlines say so. Where a drawing looks the same several ways they leave more than one, and the way is taken that
turns it least.
Source: moments of plane curves (closed form).
"""

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from purfle.geometry.pose import Polyline

Moments = list[complex]

_STRAIGHT = 2.0
"""Edges longer than this, mm, have a direction; chords of curves are shorter."""
_ONE_WAY = 3e-4
"""Directions of edges that differ by less than this, radians, are one: an end that lies 0.0003 mm off, each mm."""
_AS_GOOD = 1e-5
"""Sums that differ by a smaller share of the greatest possible one say nothing."""
_NO_TURN = 1e-8
"""Turned by a smaller angle, radians, a drawing a metre wide moves by 0.00001 mm at most."""
_QUARTER = math.pi / 2.0
_MOST = 8
_TOLD: list[Callable[[Moments], float]] = [
    lambda moments: moments[2].real,
    lambda moments: moments[1].real,
    lambda moments: moments[1].imag,
    *(lambda moments, m=m: moments[m].imag for m in (2, 3, 4, 5, 6, 7, 8)),
    *(lambda moments, m=m: moments[m].real for m in (3, 4, 5, 6, 7, 8)),
]
"""What a drawing in its own direction has most of, one after the other: breadth, a lean to the right, and up; then what
tells an S from its mirror image, and a drawing from itself a part of a turn on."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Turn by `angle` (radians, counter-clockwise), then mirror in the x axis if `mirrored`.

    >>> Turn(math.pi / 2.0, False).points(np.array([[2.0, 0.0]])).tolist()
    [[0.0, 2.0]]
    """

    angle: float = 0.0
    mirrored: bool = False

    @property
    def is_none(self) -> bool:
        """True if places stay where they are."""
        return not self.mirrored and self.quarters == 0

    @property
    def quarters(self) -> int | None:
        """Of so many quarter turns (0 to 3) the angle consists; None if it is no number of them."""
        number = round(self.angle / _QUARTER)
        return number % 4 if abs(self.angle - number * _QUARTER) <= _NO_TURN else None

    def points(self, xy: Polyline) -> Polyline:
        """Places turned, and mirrored; by quarter turns to the last digit."""
        cos, sin = self._cos_sin()
        x, y = np.asarray(xy, np.float64).T
        flip = -1.0 if self.mirrored else 1.0
        return np.column_stack((cos * x - sin * y, flip * (sin * x + cos * y))) + 0.0

    def back(self, xy: Polyline) -> Polyline:
        """The places that were turned and mirrored, as they were."""
        cos, sin = self._cos_sin()
        x, y = np.asarray(xy, np.float64).T
        flip = -1.0 if self.mirrored else 1.0
        return np.column_stack((cos * x + sin * flip * y, cos * flip * y - sin * x)) + 0.0

    def _cos_sin(self) -> tuple[float, float]:
        if self.quarters is None:
            return math.cos(self.angle), math.sin(self.angle)
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[self.quarters]


def own_turn(regions: Sequence[Polygon | MultiPolygon]) -> Turn:
    """The turn that brings regions to their own direction: turned or mirrored before, they come out the same."""
    starts, ends = _edges(regions)
    along = ends - starts
    lengths = np.hypot(along[:, 0], along[:, 1])
    if not lengths.sum() > 0.0:
        return Turn()
    moments = _moments((starts + ends) / 2.0, lengths)
    angles = _main_directions(along, lengths) or _own_directions(moments)
    ways = [Turn(k * _QUARTER - one, mirrored) for one in angles for k in range(4) for mirrored in (False, True)]
    for told in _TOLD:
        seen = [told(_turned(moments, way)) for way in ways]
        ways = [way for way, one in zip(ways, seen, strict=True) if one >= max(seen) - _AS_GOOD]
    return min(ways, key=lambda way: (way.mirrored, round(abs(_smallest(way.angle)), 9), way.angle))


def _edges(regions: Sequence[Polygon | MultiPolygon]) -> tuple[Polyline, Polyline]:
    rings = shapely.get_rings(shapely.get_parts(np.array(regions, object)))
    places, ring = shapely.get_coordinates(rings, return_index=True)
    first = np.flatnonzero(ring[:-1] == ring[1:])
    return places[first], places[first + 1]


def _moments(places: Polyline, lengths: NDArray[np.float64]) -> Moments:
    """Sums of r^3 e^(i m t) over outlines for each m, about their centre of gravity, as shares of that of r^3."""
    x, y = (places - np.average(places, axis=0, weights=lengths)).T
    radius = np.hypot(x, y)
    weight = lengths * radius**3
    turn = (x + 1j * y) / np.maximum(radius, np.finfo(np.float64).tiny)
    most = max(float(weight.sum()), np.finfo(np.float64).tiny)
    return [complex((weight * turn**m).sum()) / most for m in range(_MOST + 1)]


def _turned(moments: Moments, way: Turn) -> Moments:
    """The moments of what was turned and mirrored."""
    turned = [one * cmath.exp(1j * m * way.angle) for m, one in enumerate(moments)]
    return [one.conjugate() for one in turned] if way.mirrored else turned


def _main_directions(along: Polyline, lengths: NDArray[np.float64]) -> list[float]:
    """The directions of straight edges that count most, from 0 to a quarter turn; none without such edges."""
    straight = lengths > _STRAIGHT
    if not straight.any():
        return []
    angles = np.arctan2(along[straight, 1], along[straight, 0]) % _QUARTER
    lengths = lengths[straight]
    order = np.argsort(angles, kind="stable")
    angles, lengths = angles[order], lengths[order]
    group = np.cumsum(np.diff(angles, prepend=angles[0]) > _ONE_WAY)
    if angles[0] + _QUARTER - angles[-1] <= _ONE_WAY:
        group[group == group[-1]] = 0
    counts = np.bincount(group, lengths * lengths)
    best = np.flatnonzero(counts >= counts.max() * (1.0 - _AS_GOOD))
    return [float(angles[its][np.argmax(lengths[its])]) for its in (np.flatnonzero(group == one) for one in best)]


def _own_directions(moments: Moments) -> list[float]:
    """The directions that the phase of the first clear moment tells, from 0 to a quarter turn."""
    for m in (2, 1, *range(3, _MOST + 1)):
        if abs(moments[m]) > _AS_GOOD:
            return [(cmath.phase(moments[m]) + k * 2.0 * math.pi) / m % _QUARTER for k in range(m)]
    return [0.0]


def _smallest(angle: float) -> float:
    """The same direction, from half a turn back to half a turn on."""
    return (angle + math.pi) % (2.0 * math.pi) - math.pi
