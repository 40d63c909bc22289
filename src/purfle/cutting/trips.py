"""Walks and rings made into trips of the cutter: lines and turns at a depth, entered on a ramp along the path."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.cutting.rings import Ring
from purfle.cutting.walks import Walk
from purfle.geometry.arcs import ArcSegment, Segment, fit_all
from purfle.geometry.pose import Polyline
from purfle.model.cutting import Move, Straight, Trip, Turn
from purfle.tolerances import GRID, LAST_PASS_FIT, RAMP_SINKS, ROUGHING_FLAT, SAME_PLACE

ABOVE_WOOD = 0.5
"""A trip arrives this far above the wood and goes on at plunging feed (common practice, no source)."""
SHORTEST_RAMP_RING = 0.05
"""On a ring shorter than this the cutter goes straight down at plunging feed: a ramp would only spin on the spot."""
LONGEST_RAMP_RINGS = 12.0
"""A ramp goes at most this often around its ring, steeper if need be."""
STEEPEST_RAMP = 0.5
"""Drop over length of a ramp at most, on a short ring going around more often; the proof takes 1 in 1 for a plunge."""
FLAT_SHARE = 0.01
"""A ramp on a short ring stands off it by this share of its length at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Roughing:
    """A walk to be roughed; its moves may stand off it by `tolerance`."""

    walk: Walk
    tolerance: float


@dataclass(frozen=True, slots=True, eq=False)
class Finishing:
    """A walk on the line. Roughing has `cleared` where its trip may go down, and `left` so much beside it, mm."""

    walk: Walk
    cleared: BaseGeometry
    left: float


@dataclass(frozen=True, slots=True, eq=False)
class _Ramp:
    """Places of a way down, and which share of the drop is done at each."""

    points: Polyline
    shares: NDArray[np.float64]

    def between(self, above: float, level: float) -> tuple[Straight, ...]:
        """The moves from one level down to the next."""
        rows = zip(self.points.tolist(), self.shares.tolist(), strict=True)
        return tuple(Straight(x, y, 0.0 - (above + (level - above) * share)) for (x, y), share in rows)


def all_trips(
    rough: list[Roughing], last: list[Finishing], depths: tuple[list[float], float], ways_in: tuple[float, float]
) -> tuple[list[list[Trip]], list[Trip]]:
    """For each roughing walk its trips, one a level; for each walk on the line its one trip.

    `depths`: the levels of roughing, positive, shallowest first, and the full depth. `ways_in`: the angle of ramps, and
    how far off the line a trip on it begins at most.
    """
    levels, depth = depths
    lines = [(one.walk.line, one.tolerance) for one in rough] + [(one.walk.line, LAST_PASS_FIT) for one in last]
    paths = [as_moves(segments) for segments in fit_all(lines)]
    roughing = [_roughing_trips(one.walk, path, levels, ways_in[0]) for one, path in zip(rough, paths, strict=False)]
    to_line = zip(last, paths[len(rough) :], strict=True)
    return roughing, [_last_trip(one, at_depth(path, depth), depth, ways_in[1]) for one, path in to_line]


def _roughing_trips(walk: Walk, path: tuple[Move, ...], levels: list[float], ramp_angle: float) -> list[Trip]:
    """One trip for each level: down a ramp on the walk's first ring from the level above, then the whole walk."""
    trips: list[Trip] = []
    above, drop, ramp = 0.0, math.nan, None
    for level in levels:
        if ramp is None or not math.isclose(level - above, drop, abs_tol=SAME_PLACE):
            drop = level - above
            ramp = _ramp(walk.entry, drop, ramp_angle)
        down = ramp.between(above, level)
        trips.append(Trip((down[0].x, down[0].y, ABOVE_WOOD), (*down, *at_depth(path, level))))
        above = level
    return trips


def _last_trip(one: Finishing, path: tuple[Move, ...], depth: float, longest: float) -> Trip:
    """One trip at full depth: down where roughing has cleared, onto the line, the whole walk, off the line.

    What is cleared is no further off the walk's start than `longest`, else the trip goes down on the line itself: a
    longer way could lead through a wall.
    """
    line = one.walk.line
    x, y = line[0].tolist()
    way = shapely.shortest_line(shapely.Point(x, y), one.cleared)
    if not GRID < way.length <= longest + GRID:
        return Trip((x, y, ABOVE_WOOD), (Straight(x, y, -depth), *path))
    down_x, down_y = shapely.get_coordinates(way)[-1].tolist()
    down = Straight(down_x, down_y, -depth)
    comes_back = math.dist(line[-1], (x, y)) <= GRID
    off = (down,) if comes_back else ()  # from the end of a walk over several rings it is lifted where it stands
    return Trip((down_x, down_y, ABOVE_WOOD), (down, Straight(x, y, -depth), *path, *off))


def as_moves(segments: tuple[Segment, ...]) -> tuple[Move, ...]:
    """The segments as moves at depth 0."""
    moves: list[Move] = []
    for segment in segments:
        x, y = segment.end
        if isinstance(segment, ArcSegment):
            moves.append(Turn(x, y, 0.0, *segment.centre, segment.ccw))
        else:
            moves.append(Straight(x, y, 0.0))
    return tuple(moves)


def sinking(points: Polyline, above: float, depth: float) -> tuple[Straight, ...]:
    """Straight moves along places, sinking evenly from one depth to another; places too near to sink are left out."""
    kept = _apart(points, RAMP_SINKS * shapely.LineString(points).length / (depth - above))
    gone = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(kept, axis=0).T))))
    return _Ramp(kept, gone / gone[-1]).between(above, depth)


def at_depth(moves: tuple[Move, ...], depth: float) -> tuple[Move, ...]:
    """The same moves at a depth below the face."""
    return tuple(
        Straight(move.x, move.y, -depth)
        if isinstance(move, Straight)
        else Turn(move.x, move.y, -depth, move.cx, move.cy, move.ccw)
        for move in moves
    )


def _ramp(ring: Ring, drop: float, angle: float) -> _Ramp:
    """The way down the ring from one level to the next, ending at the ring's first point."""
    if ring.length < SHORTEST_RAMP_RING:
        return _Ramp(ring.points[[0, 0]], np.array([0.0, 1.0]))
    longest = max(LONGEST_RAMP_RINGS * ring.length, drop / STEEPEST_RAMP)
    length = min(drop / math.tan(math.radians(angle)), longest)
    flat = min(ROUGHING_FLAT, FLAT_SHARE * ring.length)
    if length > ring.length:  # each lap is the one before it, lower
        ring = Ring.of(_plain(ring.points, flat))
        points = ring.stretch(-length, 0.0)
    else:
        points = _plain(ring.stretch(-length, 0.0), flat)
    points = _apart(points, RAMP_SINKS * length / drop)
    gone = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    return _Ramp(points, gone / gone[-1])


def _plain(points: Polyline, flat: float) -> Polyline:
    """The polyline with fewer corners, none of those left out further off it than `flat`."""
    return np.asarray(shapely.get_coordinates(shapely.simplify(shapely.LineString(points), flat)), np.float64)


def _apart(points: Polyline, step: float) -> Polyline:
    """The points without those nearer than `step` to the one before them; both ends stay."""
    kept = [points[0]]
    for point in points[1:-1]:
        if math.dist(point, kept[-1]) > step:
            kept.append(point)
    if len(kept) > 1 and math.dist(kept[-1], points[-1]) <= step:
        kept.pop()
    return np.array([*kept, points[-1]])
