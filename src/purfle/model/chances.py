"""What becomes of a fit when machine, cutter and wood are off by as much as they may be."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that widens or narrows a seam: its name, how far (standard deviation, mm), and where that is from.

    `is_assumed`: nobody has said or measured it; a usual figure stands in.
    """

    name: str
    spread: float
    source: str
    is_assumed: bool


@dataclass(frozen=True, slots=True)
class FitChance:
    """Of one inlay the chance (0 to 1) that all its parts go in by hand, and the seam that 95 of 100 stay below (mm).

    `goes_in`: the narrowest seam (mm) with which a part goes in by hand. `causes`: what was reckoned with.
    """

    inlay: str
    by_hand: float
    widest: float
    goes_in: float
    causes: tuple[Cause, ...]
