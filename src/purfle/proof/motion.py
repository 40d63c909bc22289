"""How the cutter moves: what it does outside the wood, how it enters it, and what cutter and machine can do."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.model.findings import Finding
from purfle.proof.card import Card, ProgramOnCard, SetUpOnCard
from purfle.proof.found import stop
from purfle.proof.nearness import Pairs, nearest
from purfle.proof.plain_moves import RAPID
from purfle.proof.program import Reading
from purfle.proof.sweep import Way
from purfle.tolerances import CLEAR_OF_WOOD, DEPTH_AS_CUT, DEPTH_LISTED, GRID, JUST_BELOW, SAME_PLACE
from purfle.units import in_mm

_MEND = "write the files again from the job; do not cut with this one"
_MM_IN_INCH = 25.4
_SAME_FACTOR = 0.01
"""So near to the factor between inches and mm, a depth tells of a wrong units word."""
_QUARTER = 16
"""Chords in a quarter of a groove: it comes out narrower by a tenth of the room that a plunge is given, never wider."""
_NEAREST = -0.3
"""In radii of the cutter, from its side: grooves whose middle comes so much nearer than that are tried first."""
_ROUNDED = 6
"""Decimals of a mm after which two bits are one: passes repeat each other."""
_MOST = 5
"""Of one kind of fault, so many are listed: they have one cause, and one mending."""


@dataclass(frozen=True, slots=True)
class Run:
    """One program as it is run: what was read, its way, what the card says, and the ways run before it."""

    reading: Reading
    way: Way
    entry: ProgramOnCard
    set_up: SetUpOnCard
    before: tuple[Way, ...]


def check_motion(run: Run, card: Card) -> list[Finding]:
    """Everything that a program's moves do wrong, wherever its outlines are."""
    return _units(run) or [*_reach(run, card), *_depths(run), *_rapids(run, card), *_entries(run)]


def check_v_motion(run: Run, card: Card) -> list[Finding]:
    """The same of a V cutter, whose depth follows the walls and whose tip may go straight down."""
    return [*_reach(run, card), *_rapids(run, card)]


def _line(run: Run, move: int) -> str:
    return f"{run.reading.file}, line {run.reading.line[move]}"


def _reach(run: Run, card: Card) -> list[Finding]:
    """Travel, cutting length, feed and speed; the floor of the stock."""
    reading, cutter, machine = run.reading, card.cutters[run.reading.cutter], card.machine
    found: list[Finding] = []
    if not len(reading.end):
        return [stop("the program moves nothing", reading.file, _MEND)]
    # an axis that the program never names does not travel
    known = np.where(np.isnan(reading.end).all(axis=0), 0.0, reading.end)
    size = np.nanmax(known, axis=0) - np.nanmin(known, axis=0)
    for axis, needed, has in zip("XYZ", size, machine.travel, strict=True):
        if needed > has:
            what = f"the program needs {needed:.1f} mm of travel in {axis}, the machine has {in_mm(has)}"
            mend = "turn or divide the work, or correct the travel in the shop file, and write the files again"
            found.append(stop(what, reading.file, mend))
    lowest = int(np.nanargmin(reading.end[:, 2]))
    if reading.deepest > cutter.cutting_length + DEPTH_LISTED:
        what = f"cuts {reading.deepest:.2f} mm deep with a cutter whose edges are {cutter.cutting_length:.2f} mm long"
        found.append(stop(what, _line(run, lowest), "take a longer cutter and write the files again"))
    floor = run.set_up.thickness + run.set_up.cut_through
    if reading.deepest > floor + DEPTH_LISTED:
        what = f"cuts {reading.deepest:.2f} mm deep; the stock and what lies below it allow {floor:.2f} mm"
        found.append(stop(what, _line(run, lowest), _MEND))
    for what, value, limit in (
        ("feed of {:.0f} mm/min", reading.top_feed, machine.max_feed),
        ("speed of {:.0f} rpm", reading.top_speed, machine.speed),
    ):
        if value > limit * (1 + JUST_BELOW):
            asked = what.format(value)
            found.append(stop(f"asks for a {asked}, the machine goes to {limit:.0f}", reading.file, _MEND))
    if reading.top_speed > cutter.max_speed * (1 + JUST_BELOW):
        what = f"asks for a speed of {reading.top_speed:.0f} rpm, {cutter.name} is marked {cutter.max_speed:.0f}"
        found.append(stop(what, reading.file, "never run it; write the files again"))
    return found


def _units(run: Run) -> list[Finding]:
    """A program that goes 25.4 times too deep, or too shallow by as much, has the wrong units word: no more to say."""
    ratio = run.reading.deepest / max(run.entry.depths, default=math.inf)
    for factor, says, figures in ((_MM_IN_INCH, "inches", "mm"), (1 / _MM_IN_INCH, "mm", "inches")):
        if abs(ratio / factor - 1) < _SAME_FACTOR:
            what = f"its units word says {says}, but its figures are in {figures}; all is {factor:.4g} times its size"
            return [stop(what, f"{run.reading.file}, {'G20' if run.reading.inch else 'G21'}", _MEND)]
    return []


def _depths(run: Run) -> list[Finding]:
    """The depths at which the program cuts level must be the depths on the card."""
    reading = run.reading
    level = np.abs(reading.end[:, 2] - reading.start[:, 2]) <= GRID
    sideways = np.hypot(*(reading.end - reading.start)[:, :2].T) > SAME_PLACE
    cutting = np.flatnonzero(level & sideways & (reading.kind != RAPID) & (reading.end[:, 2] < -JUST_BELOW))
    depth = -reading.end[cutting, 2]
    listed = np.array(run.entry.depths)
    off = np.abs(depth[:, None] - listed).min(axis=1, initial=math.inf) > DEPTH_LISTED
    plan = ", ".join(f"{value:.2f}" for value in listed)
    found = []
    # one finding for each wrong depth, at the first move that shows it
    for wrong in sorted({round(float(value), 3) for value in depth[off]}):
        first = cutting[int(np.flatnonzero(np.abs(depth - wrong) < DEPTH_LISTED)[0])]
        what = f"a pass cuts {wrong:.2f} mm deep; the passes on the card go to {plan} mm"
        found.append(stop(what, _line(run, int(first)), _MEND))
    for value in listed:
        if not (np.abs(depth - value) <= DEPTH_LISTED).any():
            what = f"no pass cuts {value:.2f} mm deep, though the card lists it"
            found.append(stop(what, reading.file, _MEND))
    return found


def _rapids(run: Run, card: Card) -> list[Finding]:
    """Sideways moves at full speed belong at the safe height or above."""
    reading = run.reading
    way = reading.end[:, :2] - reading.start[:, :2]
    sideways = ~(np.hypot(*way.T) <= SAME_PLACE)
    low = np.fmin(reading.start[:, 2], reading.end[:, 2]) < card.machine.safe_height - DEPTH_LISTED
    wrong = np.flatnonzero((reading.kind == RAPID) & sideways & low)
    if not len(wrong):
        return []
    height = min(reading.start[wrong[0], 2], reading.end[wrong[0], 2])
    what = (
        f"moves sideways at full speed at height {height:.2f} mm, below the safe height of "
        f"{card.machine.safe_height:.2f} mm ({len(wrong)} such moves)"
    )
    return [stop(what, _line(run, int(wrong[0])), _MEND)]


def _entries(run: Run) -> list[Finding]:
    """Straight down only where the wood is gone already."""
    reading = run.reading
    down = reading.start[:, 2] - reading.end[:, 2]
    along = np.hypot(*(reading.end - reading.start)[:, :2].T)
    rapid = reading.kind == RAPID
    # a slope steeper than 1 in 1 is a plunge, whatever it is called
    steep = (down > along) & (reading.end[:, 2] < np.where(rapid, -JUST_BELOW, -DEPTH_AS_CUT))
    traces = [_Trace(way, _boxes(way)) for way in (*run.before, run.way)]
    found = []
    for move in np.flatnonzero(steep):
        deep = -float(reading.end[move, 2]) - (JUST_BELOW if rapid[move] else DEPTH_AS_CUT)
        x, y = reading.end[move, :2]
        if not _gone(traces, int(move), (float(x), float(y), deep)):
            how = "goes down at full speed" if rapid[move] else "plunges straight"
            what = f"{how} into solid wood, {-reading.end[move, 2]:.2f} mm deep at {x:.2f}, {y:.2f} mm"
            found.append(stop(what, _line(run, int(move)), _MEND))
        if len(found) >= _MOST:
            break
    return found


def _boxes(way: Way) -> NDArray[np.float64]:
    low, high = np.minimum(way.start, way.end), np.maximum(way.start, way.end)
    return np.stack([low[:, 0], low[:, 1], high[:, 0], high[:, 1], low[:, 2]])


@dataclass(frozen=True, slots=True)
class _Trace:
    """A way, and for each of its bits left, low, right, high and deepest."""

    way: Way
    boxes: NDArray[np.float64]

    def near(self, place: tuple[float, float, float], reach: float, before: float) -> Way:
        """What moves before that one cut at least as deep as the place (x, y, depth), about within reach of it."""
        x, y, depth = place
        left, low, right, high, deep = self.boxes
        near = np.flatnonzero((left <= x + reach) & (right >= x - reach))
        near = near[(low[near] <= y + reach) & (high[near] >= y - reach) & (deep[near] <= -depth)]
        near = near[self.way.move[near] < before]
        return Way(self.way.start[near], self.way.end[near], self.way.move[near], self.way.radius).below(depth)


def _gone(traces: list[_Trace], move: int, place: tuple[float, float, float]) -> bool:
    """True where everything that the cutter meets there (x, y, depth) was cut before that move of the last trace."""
    own = traces[-1]
    cutter = own.way.radius - CLEAR_OF_WOOD
    at = np.array([place[:2]])
    befores = [move if trace is own else math.inf for trace in traces]
    # the usual case: the cutter goes down where a cutter as wide has been before
    for trace, before in zip(traces, befores, strict=True):
        room = trace.way.radius - cutter
        bits = trace.near(place, room, before).level
        if nearest(at, bits, Pairs(np.zeros(len(bits), np.int64), np.arange(len(bits))))[0][0] <= room:
            return True
    disc = shapely.Point(place[:2]).buffer(cutter, quad_segs=8)
    # the nearest grooves nearly always do, and are few
    return any(_cleared(traces, befores, place, share * cutter).covers(disc) for share in (_NEAREST, 1.0))


def _cleared(
    traces: list[_Trace], befores: list[float], place: tuple[float, float, float], reach: float
) -> shapely.Geometry:
    """What was cut there so far by grooves that come within reach of the place."""
    grooves: list[shapely.Geometry] = []
    for trace, before in zip(traces, befores, strict=True):
        radius = trace.way.radius
        bits = np.unique(trace.near(place, radius + reach, before).level.round(_ROUNDED), axis=0)
        grooves += shapely.buffer(shapely.linestrings(bits), radius, quad_segs=_QUARTER).tolist()
    return shapely.union_all(grooves)
