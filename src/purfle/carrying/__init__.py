"""Carrying: a board on feet or on lines across it, as a beam of varying section; what tips it; where feet serve best.

Takes the layout and what the job says of supports and loads.
Promises:
- sag at once and after years, stress while leant on, what recesses take of both, the weight that tips the board;
- a board that is not a rectangle is a beam of varying width, which is said as an approximation;
- without supports in the job, the feet among the fittings are taken; with fewer than two lines of them nothing is.
Refuses: nothing. What cannot be reckoned (no stiffness published, supports that do not hold the board) is a finding.
It is a caution, and no licence to overload.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from purfle.carrying.sections import Sections, sections_of
from purfle.carrying.standing import Standing, standing_of, tipping_of
from purfle.carrying.told import findings_of
from purfle.model.board import Layout
from purfle.model.carrying import Carrying, CarryWish
from purfle.model.findings import Finding
from purfle.wood import find, practice
from purfle.wood.bending import Bent, bend

__all__ = ["carry"]

Reals = NDArray[np.float64]
GRAVITY = 9.80665
"""N for each kg. Source: CGPM 1901."""
ACROSS_STIFF, ACROSS_STRONG = 0.06, 0.07
"""Stiffness and bending strength across the fibres as shares of those along them, in the middle of the ranges 0.04 to
0.12 and 0.04 to 0.10. Source: Wood Handbook, FPL-GTR-190, ch. 5, table with Eq. (5-3), from memory."""
STRETCHES = 160
"""Stretches that a board is divided into; with twice as many sags change by less than 0.1 %."""
GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
BEST_WITHIN, BEST_FROM, BEST_TO = 0.0005, 0.02, 0.45
"""How near to the best place supports are sought, and between which shares of the length."""


@dataclass(frozen=True, slots=True)
class _Beam:
    """A board as a beam: ends, sections at the middle of its stretches, stiffness, and what lies on it all the time."""

    stations: Reals
    sections: Sections
    stiffness: float
    spread: Reals

    def bent(self, supports: tuple[float, ...], points: dict[float, float], solid: bool = False) -> Bent:
        """Bent under what lies on it all the time, and under loads (N) at places."""
        moment = self.sections.solid if solid else self.sections.moment
        loads = np.zeros(len(self.stations))
        for at, load in points.items():
            loads[self.nearest(at)] += load
        numbers = sorted({self.nearest(at) for at in supports})
        return bend(self.stations, self.stiffness * moment, self.spread, loads, numbers)

    def nearest(self, at: float) -> int:
        """The station nearest to a place."""
        return int(np.argmin(np.abs(self.stations - at)))


def carry(layout: Layout, wish: CarryWish | None) -> tuple[Carrying | None, tuple[Finding, ...]]:
    """How the board carries, and what is to be said of it; nothing where it stands on nothing that is known."""
    standing, faults = standing_of(layout, wish)
    if standing is None:
        return None, faults
    species, wish = find(layout.board.wood), wish or CarryWish()
    if species.stiffness is None or species.bending_strength is None or species.density is None:
        what = f"what the board carries is not reckoned: nobody has published how stiff {layout.board.wood} is"
        return None, (Finding("note", what, "board", "take a wood with figures, or test a strip of it", "carrying"),)
    weight = species.density.value * layout.board.outline.area * layout.board.thickness / 1e9
    grain = _angle(layout.board.grain, standing)
    stiff = _hankinson(species.stiffness.value * 1000.0, ACROSS_STIFF, grain)
    strong = _hankinson(species.bending_strength.value, ACROSS_STRONG, grain)
    beam = _beam(layout, standing, stiff, weight + wish.spread)
    found = _reckoned(beam, standing, wish, (weight, grain, strong))
    found = replace(found, tipping=tipping_of(layout.board, standing, found.weight))
    return found, findings_of(found, layout.board)


def _hankinson(along: float, share: float, degrees: float) -> float:
    """A figure at an angle to the fibres. Source: Hankinson, Wood Handbook, FPL-GTR-190, ch. 5, Eq. (5-3), n = 2."""
    turn = math.radians(degrees)
    return along * share / (math.sin(turn) ** 2 + share * math.cos(turn) ** 2)


def _angle(grain: float, standing: Standing) -> float:
    """Between fibres and span, 0 to 90 degrees."""
    apart = abs((grain - (0.0 if standing.axis == "A" else 90.0)) % 180.0)
    return min(apart, 180.0 - apart)


def _beam(layout: Layout, standing: Standing, stiff: float, weight: float) -> _Beam:
    low, high = standing.ends
    kept = np.array([*standing.lines, standing.middle])
    even = np.linspace(low, high, STRETCHES + 1)
    apart = (high - low) / STRETCHES / 4.0
    even = np.array([x for x in even if x in (low, high) or np.min(np.abs(kept - x)) > apart])
    stations = np.unique(np.concatenate([even, np.clip(kept, low, high)]))
    sections = sections_of(layout, standing.axis, (stations[1:] + stations[:-1]) / 2.0)
    spread = weight * GRAVITY * sections.width / float(sections.width @ np.diff(stations))
    return _Beam(stations, sections, stiff, spread)


def _reckoned(beam: _Beam, standing: Standing, wish: CarryWish, known: tuple[float, float, float]) -> Carrying:
    """The beam at once, leant on at the worse end, and without recesses. `known`: weight, grain angle, strength."""
    usual = practice("bench", "leaning on an edge").typical
    leaning = float(usual) if wish.leaning is None and isinstance(usual, float) else wish.leaning or 0.0
    stays = {standing.middle: wish.middle * GRAVITY}
    at_once, solid = (beam.bent(standing.lines, stays, solid) for solid in (False, True))
    ends = [beam.bent(standing.lines, _with(stays, end, leaning)) for end in standing.ends]
    which = int(np.max(np.abs(ends[1].down)) > np.max(np.abs(ends[0].down)))
    leant, end = ends[which], standing.ends[which]
    bare = beam.bent(standing.lines, _with(stays, end, leaning), solid=True)
    stresses, plain = _stress(beam, leant, False), _stress(beam, bare, True)
    most, worst = int(np.argmax(np.abs(at_once.down))), int(np.argmax(stresses))
    creep = practice("sag", "creep multiplier, dry indoor, several years").typical
    best, best_sag = _best(beam, standing)
    return Carrying(
        axis=standing.axis,
        supports=standing.lines,
        feet=standing.feet,
        weight=known[0],
        load=wish.spread + wish.middle,
        leaning=leaning,
        leaning_is_assumed=wish.leaning is None,
        leaning_at=end,
        stations=tuple(map(float, beam.stations)),
        at_once=tuple(map(float, at_once.down)),
        leant=tuple(map(float, leant.down)),
        creep=float(creep) if isinstance(creep, float) else 2.0,
        sag=float(np.abs(at_once.down).max()),
        sag_at=float(beam.stations[most]),
        solid=float(np.abs(solid.down).max()),
        stress=float(stresses.max()),
        stress_at=float(beam.stations[worst]),
        solid_stress=float(plain.max()),
        strength=known[2],
        stiffness=beam.stiffness,
        grain=known[1],
        best=best,
        best_sag=best_sag,
        tipping=standing.unknown_tipping,
        is_rectangle=standing.is_rectangle,
    )


def _with(stays: dict[float, float], end: float, leaning: float) -> dict[float, float]:
    return {**stays, end: stays.get(end, 0.0) + leaning * GRAVITY}


def _stress(beam: _Beam, bent: Bent, solid: bool) -> Reals:
    """Largest bending stress at each station, in either face, with the weaker section of the two beside it."""
    sections = beam.sections
    if solid:
        far = np.full(len(sections.width), float((sections.above + sections.below)[0]) / 2.0)
        weak = far / sections.solid
    else:
        weak = np.maximum(sections.above, sections.below) / sections.moment
    sides = np.maximum(np.concatenate([weak[:1], weak]), np.concatenate([weak, weak[-1:]]))
    return np.asarray(np.abs(bent.moment) * sides, float)


def _best(beam: _Beam, standing: Standing) -> tuple[float, float]:
    """How far in from both ends two supports sag least under what lies on it evenly, by golden section; that sag."""
    low, high = standing.ends
    long = high - low

    def sag(share: float) -> float:
        lines = (low + share * long, high - share * long)
        stations = np.unique(np.concatenate([beam.stations, lines]))
        at = np.searchsorted(beam.stations, (stations[1:] + stations[:-1]) / 2.0) - 1
        numbers = [int(np.argmin(np.abs(stations - one))) for one in lines]
        rigidity = beam.stiffness * beam.sections.moment[at]
        return float(np.abs(bend(stations, rigidity, beam.spread[at], np.zeros(len(stations)), numbers).down).max())

    from_here, to_there = BEST_FROM, BEST_TO
    while to_there - from_here > BEST_WITHIN:
        inner, outer = to_there - GOLDEN * (to_there - from_here), from_here + GOLDEN * (to_there - from_here)
        if sag(inner) <= sag(outer):
            to_there = outer
        else:
            from_here = inner
    share = (from_here + to_there) / 2.0
    return share * long, sag(share)
