"""What a cutter with sloping edges takes away: each bit of its way the hull of two discs, at one depth.

A tip of radius b at depth D takes, at depth z, a disc of radius b + (D - z) tau. Along a straight bit both the place
and the depth change evenly, so what goes is the hull of the discs at its ends. A straight cutter is one with tau 0.
"""

import math
from dataclasses import dataclass
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
from purfle.proof.sweep import Unswept, Way, flatten, groove
from purfle.tolerances import GRID, JUST_BELOW

SECTIONS_KEPT = 64
"""So many sections are kept: those of a few programs at a few depths."""


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


@lru_cache(maxsize=SECTIONS_KEPT)
def cone_section(run: ConeRun, depth: float) -> BaseGeometry:
    """What a program takes away at a depth below the top. Raises: ProgramError where the engine loses a part of it.

    Kept, since each of many inserts asks for the same sections of one program.
    """
    bits = run.way.below(depth)
    radius = run.cone.tip + (-np.column_stack([bits.start[:, 2], bits.end[:, 2]]) - depth) * run.cone.slope
    level = np.abs(radius[:, 0] - radius[:, 1]) <= GRID
    shapes = [_hulls(bits, radius, ~level)]
    steps = np.round(radius[:, 0] / GRID).astype(np.int64)
    for step in np.unique(steps[level]).tolist():
        same = level & (steps == step)
        if step > 0:
            shapes.append(_groove(run, bits, same, step * GRID))
    return _joined(run, [one for one in shapes if not one.is_empty], bits, radius)


def _hulls(bits: Way, radius: NDArray[np.float64], chosen: NDArray[np.bool_]) -> BaseGeometry:
    """The hulls of the bits that go up or down."""
    if not chosen.any():
        return MultiPolygon()
    at = np.stack([bits.start[chosen, :2], bits.end[chosen, :2]], axis=1)
    sides = 4 * quadrant_segments(float(radius[chosen].max()))
    turn = np.linspace(0.0, 2.0 * math.pi, sides, endpoint=False)
    # half of the corners' error stands outside the true disc, half of it inside
    disc = np.column_stack([np.cos(turn), np.sin(turn)]) * (1.0 + 1.0 / math.cos(math.pi / sides)) / 2.0
    corners = at[:, :, None, :] + np.maximum(radius[chosen], 0.0)[:, :, None, None] * disc
    hulls = shapely.convex_hull(shapely.multipoints(corners.reshape(len(at), 2 * sides, 2)))
    joined: BaseGeometry = shapely.union_all(hulls[shapely.area(hulls) > 0.0])
    return joined


def _groove(run: ConeRun, bits: Way, same: NDArray[np.bool_], radius: float) -> BaseGeometry:
    """The groove of bits of one depth."""
    level = Way(bits.start[same], bits.end[same], bits.move[same], radius)
    try:
        return groove(level)
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
