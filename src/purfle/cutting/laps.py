"""Laps: once round a part in the wood that roughing has left under it, down on a ramp, up and over the tabs.

without tabs   down where roughing has cleared, a ramp along the line, once round at full depth
with tabs      from the end of each tab a ramp forwards, back under it, then forwards to the next tab; straight up
               there, over it, and so on: the ends of a tab stand upright, and nothing is plunged into
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from purfle.cutting.rings import Ring
from purfle.cutting.trips import (
    ABOVE_WOOD,
    LONGEST_RAMP_RINGS,
    SHORTEST_RAMP_RING,
    STEEPEST_RAMP,
    as_moves,
    at_depth,
    sinking,
)
from purfle.geometry.arcs import Segment, fit_all
from purfle.geometry.pose import Polyline
from purfle.model.cutting import Move, Straight, Trip
from purfle.tolerances import GRID, SAME_PLACE

RAMP_SHARE = 0.9
"""A ramp between two tabs takes this share of what lies between them at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Lap:
    """Once round a ring, its moves within `tolerance` of it. Roughing has `cleared` the wood beside it down to a floor.

    `tabs`: where along the ring each begins and ends, in running order, none beyond the next one's beginning.
    """

    ring: Ring
    cleared: BaseGeometry
    tolerance: float
    tabs: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Descent:
    """From the `floor` of roughing to the `depth` of a lap, on ramps of `angle` degrees.

    A lap begins no further off the line than `longest`, else on the line itself.
    """

    floor: float
    depth: float
    angle: float
    longest: float

    @property
    def drop(self) -> float:
        """How far it goes down."""
        return self.depth - self.floor

    def ramp(self, room: float) -> float:
        """The length of a ramp where there is so much room; never steeper than the steepest."""
        wished = self.drop / math.tan(math.radians(self.angle))
        return max(min(wished, room), self.drop / STEEPEST_RAMP)


@dataclass(frozen=True, slots=True, eq=False)
class _Stretch:
    """A bit of a lap: level at a depth, or sinking from one depth to another."""

    points: Polyline
    above: float
    depth: float


def least_between(drop: float) -> float:
    """How much line must lie between two tabs, so that a ramp finds room."""
    return drop / STEEPEST_RAMP / RAMP_SHARE


def lap_trips(laps: Sequence[Lap], down: Descent) -> list[Trip]:
    """One trip for each lap."""
    stretches = [list(_with_tabs(lap, down) if lap.tabs else _without(lap, down)) for lap in laps]
    level = [
        (one.points, lap.tolerance)
        for lap, of_lap in zip(laps, stretches, strict=True)
        for one in of_lap
        if one.above == one.depth
    ]
    fitted = iter(fit_all(level))
    return [_trip(lap, of_lap, down, fitted) for lap, of_lap in zip(laps, stretches, strict=True)]


def _without(lap: Lap, down: Descent) -> Iterator[_Stretch]:
    """Down along the line from the place that lies nearest to what is cleared, then once round."""
    ring = lap.ring
    begin = ring.place_of(*shapely.get_coordinates(shapely.shortest_line(ring.line, lap.cleared))[0].tolist())
    end = begin
    if down.drop > SAME_PLACE and ring.length >= SHORTEST_RAMP_RING:
        end += down.ramp(LONGEST_RAMP_RINGS * ring.length)
        yield _Stretch(ring.stretch(begin, end), down.floor, down.depth)
    yield _Stretch(ring.stretch(end, end + ring.length), down.depth, down.depth)


def _with_tabs(lap: Lap, down: Descent) -> Iterator[_Stretch]:
    """From the end of the first tab round to the same place, over all tabs."""
    ring, tabs = lap.ring, lap.tabs
    for number, (_, begin) in enumerate(tabs):
        next_begin, next_end = tabs[(number + 1) % len(tabs)]
        long = (next_begin - begin) % ring.length
        over = (next_end - next_begin) % ring.length
        ramp = down.ramp(RAMP_SHARE * long)
        yield _Stretch(ring.stretch(begin, begin + ramp), down.floor, down.depth)
        yield _Stretch(ring.stretch(begin, begin + ramp)[::-1], down.depth, down.depth)
        yield _Stretch(ring.stretch(begin, begin + long), down.depth, down.depth)
        yield _Stretch(ring.stretch(begin + long, begin + long + over), down.floor, down.floor)


def _trip(lap: Lap, stretches: list[_Stretch], down: Descent, fitted: Iterator[tuple[Segment, ...]]) -> Trip:
    """Down where roughing has cleared, onto the line, all stretches; off the line again where they end beside it."""
    x, y = (float(way) for way in stretches[0].points[0])
    foot = stretches[0].above
    beside = _beside(lap, (x, y), down.longest)
    moves: list[Move] = [Straight(*beside, -foot)] if beside else []
    moves.append(Straight(x, y, -foot))
    depth = foot
    for one in stretches:
        start = one.points[0].tolist()
        if one.above < depth - SAME_PLACE:  # at a tab: straight up, where nothing stands
            moves.append(Straight(start[0], start[1], -one.above))
        moves += sinking(one.points, one.above, one.depth) if one.above != one.depth else ()
        moves += at_depth(as_moves(next(fitted)), one.depth) if one.above == one.depth else ()
        depth = one.depth
    end = stretches[-1].points[-1]
    off = None if lap.tabs else _beside(lap, (float(end[0]), float(end[1])), down.longest)
    moves += [Straight(*off, -depth)] if off else []
    begin = beside or (x, y)
    return Trip((*begin, ABOVE_WOOD), tuple(moves))


def _beside(lap: Lap, place: tuple[float, float], longest: float) -> tuple[float, float] | None:
    """The nearest place that roughing has cleared; None on the line itself, or where that is too far to be sure."""
    way = shapely.shortest_line(shapely.Point(place), lap.cleared)
    if not GRID < way.length <= longest + GRID:
        return None
    x, y = shapely.get_coordinates(way)[-1].tolist()
    return x, y


def on_ring(ring: Ring, places: Sequence[tuple[float, float]], long: float) -> tuple[tuple[float, float], ...]:
    """Where along a ring tabs at these places begin and end, each so long, in running order."""
    middles = sorted(ring.place_of(*place) for place in places)
    return tuple(
        ((at - long / 2.0) % ring.length, (at + long / 2.0) % ring.length) for at in np.asarray(middles).tolist()
    )
