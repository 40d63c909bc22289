"""How long the trips take: every move speeds up and slows down as the machine can, and corners cost time."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from purfle.model.cutting import CuttingFigures, Move, Straight, Trip
from purfle.model.shop import Machine
from purfle.tolerances import SAME_PLACE

Place = tuple[float, float, float]
Reals = NDArray[np.float64]
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


def _approach_seconds(here: Place | None, start: Place, machine: Machine) -> float:
    """Up to the safe height, across, down to where the next trip begins, each from rest to rest."""
    if here is None:
        here = (start[0], start[1], machine.safe_height)
    rapid = machine.rapid_feed / 60.0
    ways = (machine.safe_height - here[2], math.dist(here[:2], start[:2]), machine.safe_height - start[2])
    moved = np.array([way for way in ways if way > SAME_PLACE])
    rest = np.zeros(len(moved))
    return float(_seconds(moved, (rest, np.full(len(moved), rapid), rest), machine.acceleration).sum())


def _trip_seconds(trip: Trip, figures: CuttingFigures, machine: Machine) -> float:
    courses = _courses(trip, figures, machine)
    if not len(courses.lengths):
        return 0.0
    # Forward, then backward: no corner is met faster than the move before it can reach or the move after can brake.
    # With constant acceleration a the square of a speed grows by 2 a s over a way s, so each is one running minimum.
    gained = 2.0 * machine.acceleration * np.concatenate([[0.0], np.cumsum(courses.lengths)])
    squares = np.minimum.accumulate(courses.corners**2 - gained) + gained
    squares = np.minimum.accumulate((squares + gained)[::-1])[::-1] - gained
    through = np.sqrt(np.maximum(squares, 0.0))
    return float(_seconds(courses.lengths, (through[:-1], courses.speeds, through[1:]), machine.acceleration).sum())


@dataclass(frozen=True, slots=True)
class _Courses:
    """Of each of n moves its length and its highest speed; of each corner, both ends included, the highest speed."""

    lengths: Reals
    speeds: Reals
    corners: Reals


def _courses(trip: Trip, figures: CuttingFigures, machine: Machine) -> _Courses:
    places = np.array([trip.start, *((move.x, move.y, move.z) for move in trip.moves)])
    turns = np.array([_circle(move) for move in trip.moves])
    start, end = places[:-1], places[1:]
    lengths, speeds = (
        np.sqrt(((end - start) ** 2).sum(axis=1)),
        figures.feed / 60.0 * np.array([move.share for move in trip.moves]),
    )
    straight_down = np.hypot(*(end - start)[:, :2].T) < SAME_PLACE
    ahead = (end - start) / np.maximum(lengths, SAME_PLACE)[:, None]
    leaving = ahead.copy()
    bent = turns[:, 2] != 0.0
    speeds[straight_down & ~bent] = figures.plunge_feed / 60.0
    centre, side = turns[bent, :2], turns[bent, 2:]
    near, far = start[bent, :2] - centre, end[bent, :2] - centre
    radius = np.hypot(*near.T)
    swept = (side[:, 0] * (np.arctan2(far[:, 1], far[:, 0]) - np.arctan2(near[:, 1], near[:, 0]))) % math.tau
    lengths[bent] = np.hypot(swept * radius, (end - start)[bent, 2])
    speeds[bent] = np.minimum(speeds[bent], np.sqrt(machine.acceleration * radius))
    for directions, arm in ((ahead, near), (leaving, far)):
        directions[bent, :2] = side * np.column_stack([-arm[:, 1], arm[:, 0]]) / radius[:, None]
        directions[bent, 2] = 0.0
    moved = lengths > SAME_PLACE
    lengths, speeds, ahead, leaving = lengths[moved], speeds[moved], ahead[moved], leaving[moved]
    turned = np.sqrt(((ahead[1:] - leaving[:-1]) ** 2).sum(axis=1))
    with np.errstate(divide="ignore"):
        free = np.where(turned > SAME_PLACE, machine.acceleration * CORNER_TIME / turned, math.inf)
    between = np.minimum(free, np.minimum(speeds[1:], speeds[:-1]))
    return _Courses(lengths, speeds, np.concatenate([[0.0], between, [0.0]]))


def _circle(move: Move) -> tuple[float, float, float]:
    """Centre and way round (1 or -1) of a turn; of a straight move all 0."""
    return (0.0, 0.0, 0.0) if isinstance(move, Straight) else (move.cx, move.cy, 1.0 if move.ccw else -1.0)


def _seconds(lengths: Reals, speeds: tuple[Reals, Reals, Reals], acceleration: float) -> Reals:
    """Seconds for lengths (above 0) with speeds at their starts, highest speeds and speeds at their ends.

    Source: motion with constant acceleration (closed form).
    """
    begin, highest, end = speeds
    peak = np.minimum(highest, np.sqrt(acceleration * lengths + (begin**2 + end**2) / 2.0))
    peak = np.maximum(peak, np.maximum(begin, end))
    ramps = (2.0 * peak**2 - begin**2 - end**2) / (2.0 * acceleration)
    seconds: Reals = (2.0 * peak - begin - end) / acceleration + np.maximum(0.0, lengths - ramps) / peak
    return seconds
