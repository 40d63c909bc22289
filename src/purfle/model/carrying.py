"""What a board on feet or supports carries: what the job says of it, and what was reckoned."""

from dataclasses import dataclass
from typing import Literal

Axis = Literal["A", "B"]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class CarryWish:
    """What the board stands on and carries. `supports`: lines across it, by their distances along `along` from its
    datum edge, mm; or `feet`, places in the board frame; none of both: the feet among its fittings.

    Loads in kg, beside its own weight: `spread` over all of it, in the `middle`, `leaning` on an edge; None where the
    job does not say.
    """

    supports: tuple[float, ...] = ()
    feet: tuple[Place, ...] = ()
    along: Axis | None = None
    spread: float = 0.0
    middle: float = 0.0
    leaning: float | None = None


@dataclass(frozen=True, slots=True)
class Tipping:
    """Where the board tips when leant on: `place` of the hand, the weight (kg) from which on it does, along which line.

    `weight` is infinite where no place of the board lies beyond its supports.
    """

    place: Place
    weight: float
    line: tuple[Place, Place]


@dataclass(frozen=True, slots=True)
class Carrying:
    """How a board carries, as a beam of varying section on lines across it. Lengths mm, weights kg, stress MPa.

    `load`: what stays on it besides its own `weight`. `stations` along the axis from its datum edge with the way down
    at each: `at_once` under all that stays on it, `leant` with somebody leaning on the end `leaning_at` besides.
    `creep`: years of load make this many times of it.
    `sag`: the most at once, and where; `solid`: the same without recesses. `stress`: the most while leant on, at
    `stress_at`, of `strength`; `solid_stress` without recesses. `best`: how far in from both ends two supports sag
    least under what lies evenly on it, and that sag at once. `grain`: angle between fibres and span, degrees.
    """

    axis: Axis
    supports: tuple[float, ...]
    feet: tuple[Place, ...]
    weight: float
    load: float
    leaning: float
    leaning_is_assumed: bool
    leaning_at: float
    stations: tuple[float, ...]
    at_once: tuple[float, ...]
    leant: tuple[float, ...]
    creep: float
    sag: float
    sag_at: float
    solid: float
    stress: float
    stress_at: float
    solid_stress: float
    strength: float
    stiffness: float
    grain: float
    best: float
    best_sag: float
    tipping: Tipping
    is_rectangle: bool

    @property
    def after_years(self) -> float:
        """The most after years."""
        return self.sag * self.creep

    @property
    def stiffness_lost(self) -> float:
        """Share of the stiffness that the recesses take."""
        return 1.0 - self.solid / self.sag if self.sag > 0.0 else 0.0

    @property
    def strength_lost(self) -> float:
        """Share of the strength that the recesses take."""
        return 1.0 - self.solid_stress / self.stress if self.stress > 0.0 else 0.0
