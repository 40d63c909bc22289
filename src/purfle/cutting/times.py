"""How long the trips take: every move speeds up and slows down as the machine can, and corners cost time."""

import math

from purfle.model.cutting import CuttingFigures, Move, Straight, Trip, Turn
from purfle.model.shop import Machine
from purfle.tolerances import SAME_PLACE

Place = tuple[float, float, float]
CORNER_TIME = 0.01
"""At a corner a machine changes its speed and direction by as much as its acceleration gives in this time, s
(common practice, no source)."""


def trips_minutes(trips: tuple[Trip, ...], figures: CuttingFigures, machine: Machine) -> float:
    """Minutes that trips take one after the other, rapid moves between them included."""
    seconds = 0.0
    here: Place | None = None
    for trip in trips:
        seconds += _approach_seconds(here, trip.start, machine)
        seconds += _trip_seconds(trip, figures, machine)
        last = trip.moves[-1]
        here = (last.x, last.y, last.z)
    return seconds / 60.0


def length_of(move: Move, start: Place) -> float:
    """Length of a move that begins at `start`."""
    rise = move.z - start[2]
    if isinstance(move, Straight):
        return math.dist(start, (move.x, move.y, move.z))
    return math.hypot(_sweep(move, start) * math.dist(start[:2], (move.cx, move.cy)), rise)


def _sweep(turn: Turn, start: Place) -> float:
    """The angle that a turn goes through, radians, positive."""
    begin = math.atan2(start[1] - turn.cy, start[0] - turn.cx)
    end = math.atan2(turn.y - turn.cy, turn.x - turn.cx)
    return (end - begin) % math.tau if turn.ccw else (begin - end) % math.tau


def _approach_seconds(here: Place | None, start: Place, machine: Machine) -> float:
    """Up to the safe height, across, down to where the next trip begins, each from rest to rest."""
    if here is None:
        here = (start[0], start[1], machine.safe_height)
    rapid = machine.rapid_feed / 60.0
    ways = (machine.safe_height - here[2], math.dist(here[:2], start[:2]), machine.safe_height - start[2])
    return sum(_stretch_seconds(way, (0.0, rapid, 0.0), machine.acceleration) for way in ways)


def _trip_seconds(trip: Trip, figures: CuttingFigures, machine: Machine) -> float:
    lengths, speeds, corners = _courses(trip, figures, machine)
    # Forward, then backward: no corner is met faster than the move before it can reach or the move after can brake.
    for i, length in enumerate(lengths):
        reached = math.sqrt(corners[i] ** 2 + 2.0 * machine.acceleration * length)
        corners[i + 1] = min(corners[i + 1], reached)
    for i in range(len(lengths) - 1, -1, -1):
        braked = math.sqrt(corners[i + 1] ** 2 + 2.0 * machine.acceleration * lengths[i])
        corners[i] = min(corners[i], braked)
    return sum(
        _stretch_seconds(length, (corners[i], speeds[i], corners[i + 1]), machine.acceleration)
        for i, length in enumerate(lengths)
    )


def _courses(trip: Trip, figures: CuttingFigures, machine: Machine) -> tuple[list[float], list[float], list[float]]:
    """Of each move its length and its highest speed; of each corner, ends included, the highest speed through it."""
    lengths: list[float] = []
    speeds: list[float] = []
    corners = [0.0]
    here, ahead_before = trip.start, (0.0, 0.0, 0.0)
    for move in trip.moves:
        length = length_of(move, here)
        if length > SAME_PLACE:
            ahead, leaving = _directions(move, here)
            speed = _speed(move, here, figures, machine)
            turned = math.dist(ahead_before, ahead)
            if lengths:
                free = machine.acceleration * CORNER_TIME / turned if turned > SAME_PLACE else math.inf
                corners.append(min(free, speed, speeds[-1]))
            lengths.append(length)
            speeds.append(speed)
            ahead_before = leaving
        here = (move.x, move.y, move.z)
    return lengths, speeds, [*corners, 0.0]


def _speed(move: Move, start: Place, figures: CuttingFigures, machine: Machine) -> float:
    """The highest speed of a move in mm/s: its feed, and in a turn what the acceleration allows."""
    flat = math.dist(start[:2], (move.x, move.y))
    if isinstance(move, Straight):
        return (figures.plunge_feed if flat < SAME_PLACE else figures.feed) / 60.0
    radius = math.dist(start[:2], (move.cx, move.cy))
    return min(figures.feed / 60.0, math.sqrt(machine.acceleration * radius))


def _directions(move: Move, start: Place) -> tuple[Place, Place]:
    """The directions in which a move begins and ends."""
    if isinstance(move, Straight):
        length = math.dist(start, (move.x, move.y, move.z))
        one = ((move.x - start[0]) / length, (move.y - start[1]) / length, (move.z - start[2]) / length)
        return one, one
    side = 1.0 if move.ccw else -1.0
    radius = math.dist(start[:2], (move.cx, move.cy))
    begin = (-side * (start[1] - move.cy) / radius, side * (start[0] - move.cx) / radius, 0.0)
    end = (-side * (move.y - move.cy) / radius, side * (move.x - move.cx) / radius, 0.0)
    return begin, end


def _stretch_seconds(length: float, speeds: Place, acceleration: float) -> float:
    """Seconds for a length with a speed at its start, a highest speed and a speed at its end.

    Source: motion with constant acceleration (closed form).
    """
    if length <= SAME_PLACE:
        return 0.0
    begin, highest, end = speeds
    peak = min(highest, math.sqrt(acceleration * length + (begin**2 + end**2) / 2.0))
    peak = max(peak, begin, end)
    ramps = (2.0 * peak**2 - begin**2 - end**2) / (2.0 * acceleration)
    return (2.0 * peak - begin - end) / acceleration + max(0.0, length - ramps) / peak
