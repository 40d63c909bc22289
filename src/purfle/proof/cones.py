"""What a cutter with sloping edges takes away: each bit of its way the hull of two discs, at one depth.

A tip of radius b at depth D takes, at depth z, a disc of radius b + (D - z) tau. Along a straight bit both the place
and the depth change evenly, so what goes is the hull of the discs at its ends. A straight cutter is one with tau 0.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.errors import ProgramError
from purfle.proof.program import Reading
from purfle.proof.regions import quadrant_segments
from purfle.proof.shelf import MEND
from purfle.proof.sweep import NOTHING_DONE, Unswept, Way, first_of, flatten, groove, once
from purfle.tolerances import GRID, JUST_BELOW

SECTIONS_KEPT = 64
"""So many sections are kept: those of a few programs at a few depths."""
_SAME_DEPTH = 9
"""Decimals of a mm after which two depths are one."""


@dataclass(frozen=True, slots=True)
class Cone:
    """A cutter as it cuts: radius of its tip, how far it widens for each mm above it, how deep its edges go."""

    tip: float
    slope: float
    length: float


@dataclass(frozen=True, slots=True, eq=False)
class ConeRun:
    """One program as read, flattened, with its cutter."""

    reading: Reading
    cone: Cone
    way: Way

    @classmethod
    def of(cls, reading: Reading, cone: Cone) -> "ConeRun":
        """The run of a program with a cutter."""
        return cls(reading, cone, flatten(reading, cone.tip))


def cone_section(run: ConeRun, depth: float) -> BaseGeometry:
    """What a program takes away at a depth below the top. Raises: ProgramError where the engine loses a part of it.

    Kept, since each of many inserts asks for the same sections of one program.
    """
    return _section(run, round(depth, _SAME_DEPTH))


@lru_cache(maxsize=SECTIONS_KEPT)
def _section(run: ConeRun, depth: float) -> BaseGeometry:
    bits = run.way.below(depth)
    radius = run.cone.tip + (-np.column_stack([bits.start[:, 2], bits.end[:, 2]]) - depth) * run.cone.slope
    shapes = _straight(run, depth) if run.cone.slope == 0.0 else _sloping(run, bits, radius)
    return _joined(run, [one for one in shapes if not one.is_empty], bits, radius)


def _sloping(run: ConeRun, bits: Way, radius: NDArray[np.float64]) -> list[BaseGeometry]:
    """What a cutter with sloping edges takes: the grooves of what runs level, depth by depth, and hulls of the rest."""
    level = np.abs(radius[:, 0] - radius[:, 1]) <= GRID
    shapes = [_hulls(bits, radius, ~level)]
    steps = np.round(radius[:, 0] / GRID).astype(np.int64)
    for step in np.unique(steps[level]).tolist():
        if step > 0:
            same = replace(bits.only(level & (steps == step)), radius=step * GRID)
            shapes.append(_groove(run, once(same, NOTHING_DONE)[0]))
    return shapes


def _straight(run: ConeRun, depth: float) -> list[BaseGeometry]:
    """What a straight cutter takes: as wide at every depth, so what deeper passes take is worked out once.

    Passes are told by the depths at which they run level; what lies between two of them is a few ramps.
    """
    passes = _passes(run)
    number = int(np.count_nonzero(passes >= depth))
    taken, done = _down_to(run, number)
    return [taken, _groove(run, _above(run, depth, passes, number, done)[0])]


def _passes(run: ConeRun) -> NDArray[np.float64]:
    """The depths at which a program runs level, deepest first."""
    level = np.abs(run.way.start[:, 2] - run.way.end[:, 2]) <= GRID
    steps = np.unique(np.floor(-run.way.end[level, 2] / GRID).astype(np.int64))[::-1]
    return steps[steps > 0] * GRID


@lru_cache(maxsize=SECTIONS_KEPT)
def _down_to(run: ConeRun, number: int) -> tuple[BaseGeometry, NDArray[np.int64]]:
    """What a straight cutter takes at the depth of a pass, that pass and all deeper ones, so many of them together.

    Besides the region its bits, so that none is taken twice.
    """
    if number == 0:
        return MultiPolygon(), NOTHING_DONE
    passes = _passes(run)
    deeper, done = _down_to(run, number - 1)
    fresh, done = _above(run, float(passes[number - 1]), passes, number - 1, done)
    more = _groove(run, fresh)
    return deeper if more.is_empty else shapely.union(deeper, more), done


def _above(
    run: ConeRun, depth: float, passes: NDArray[np.float64], number: int, done: NDArray[np.int64]
) -> tuple[Way, NDArray[np.int64]]:
    """What goes down to a depth, but not with all its length to that of a deeper pass, nor was done in deeper ones."""
    way = run.way
    if number:
        way = way.only(~(np.maximum(way.start[:, 2], way.end[:, 2]) <= -passes[number - 1]))
    return once(way.below(depth), done)


def _hulls(bits: Way, radius: NDArray[np.float64], chosen: NDArray[np.bool_]) -> BaseGeometry:
    """The hulls of the bits that go up or down, each once: most go down and up again the same way."""
    chosen = chosen & (radius > 0.0).any(axis=1)
    ends = [np.column_stack([at[chosen, :2], radius[chosen, side]]) for side, at in enumerate((bits.start, bits.end))]
    ends = [end[first_of(*ends)] for end in ends]
    if not len(ends[0]):
        return MultiPolygon()
    at = np.stack(ends, axis=1)
    sides = 4 * quadrant_segments(float(at[:, :, 2].max()))
    turn = np.linspace(0.0, 2.0 * math.pi, sides, endpoint=False)
    # half of the corners' error stands outside the true disc, half of it inside
    disc = np.column_stack([np.cos(turn), np.sin(turn)]) * (1.0 + 1.0 / math.cos(math.pi / sides)) / 2.0
    corners = at[:, :, None, :2] + np.maximum(at[:, :, 2:], 0.0)[:, :, None] * disc
    hulls = shapely.convex_hull(shapely.linestrings(corners.reshape(len(at), 2 * sides, 2)))
    joined: BaseGeometry = shapely.union_all(hulls)
    return joined


def _groove(run: ConeRun, way: Way) -> BaseGeometry:
    """The groove of bits that are as wide all along."""
    try:
        return groove(way)
    except Unswept as lost:
        raise _lost(run, lost.move) from lost


def _joined(run: ConeRun, shapes: list[BaseGeometry], bits: Way, radius: NDArray[np.float64]) -> BaseGeometry:
    """All of it together; every place of the way with some width must lie in it."""
    region: BaseGeometry = shapely.union_all(shapes) if shapes else MultiPolygon()
    shapely.prepare(region)
    wide = radius[:, 1] > JUST_BELOW
    held = shapely.contains_xy(region, bits.end[wide, 0], bits.end[wide, 1])
    if not held.all():
        raise _lost(run, int(bits.move[wide][~held][0]))
    return region


def _lost(run: ConeRun, move: int) -> ProgramError:
    x, y = run.reading.end[move, :2]
    where = f"{run.reading.file}, line {run.reading.line[move]}, at {x:.2f}, {y:.2f} mm on the machine"
    return ProgramError("what the cutter takes away here cannot be worked out", where, MEND)


def nearest_wall(runs: tuple[ConeRun, ...], place: tuple[float, float], depth: float) -> str:
    """File and line of the move whose cut ends nearest to a place at a depth."""
    best, words = math.inf, ", ".join(run.reading.file for run in runs)
    point = np.array(place)
    for run in runs:
        bits = run.way.below(depth)
        if not len(bits.start):
            continue
        along = bits.end[:, :2] - bits.start[:, :2]
        length = np.maximum((along**2).sum(axis=1), GRID**2)
        share = np.clip(((point - bits.start[:, :2]) * along).sum(axis=1) / length, 0.0, 1.0)
        here = bits.start + share[:, None] * (bits.end - bits.start)
        radius = run.cone.tip + (-here[:, 2] - depth) * run.cone.slope
        off = np.abs(np.hypot(*(here[:, :2] - point).T) - radius)
        nearest = int(np.argmin(off))
        if off[nearest] < best:
            best = float(off[nearest])
            words = f"{run.reading.file}, line {run.reading.line[bits.move[nearest]]}"
    return words
