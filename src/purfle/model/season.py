"""The seasons of a piece: the air that it stands in, and what its wood and its seams do in it."""

from dataclasses import dataclass
from typing import Literal

SeasonName = Literal["winter", "summer"]
SEASONS: tuple[SeasonName, SeasonName] = ("winter", "summer")
RingsName = Literal["flat", "between", "quarter"]
FLAT, QUARTER = 0.0, 90.0
"""Ring angles in degrees: the growth rings lie along the face, or stand at right angles to it."""
RINGS: dict[str, float] = {"flat": FLAT, "between": 45.0, "quarter": QUARTER}
"""How a board is cut, in words, and the angle of its growth rings to its face in degrees."""


@dataclass(frozen=True, slots=True)
class Air:
    """Steady air, and the moisture (%) that wood settles at in it.

    `temperature` in degrees Celsius and relative `humidity` in %; None where the moisture itself is known.
    """

    moisture: float
    temperature: float | None = None
    humidity: float | None = None


@dataclass(frozen=True, slots=True)
class Climate:
    """The air of one place in winter and in summer. `source`: code of the publication; `status`: how sure that is."""

    name: str
    winter: Air
    summer: Air
    source: str
    status: str
    note: str = ""

    def air(self, season: SeasonName) -> Air:
        """The air of one season."""
        return self.winter if season == "winter" else self.summer


@dataclass(frozen=True, slots=True)
class SeasonWish:
    """Where a piece is made and where it will stand. `made`: the season in which it is fitted, None for either.

    `board_moisture`, `parts_moisture`: as measured when they are fitted, in %; None for that of the shop's air.
    """

    shop: Climate
    place: Climate
    made: SeasonName | None = None
    board_moisture: float | None = None
    parts_moisture: float | None = None


@dataclass(frozen=True, slots=True)
class Growth:
    """How much wood grows between two moistures: `share` of its width, + wider.

    `equation` of the Wood Handbook's ch. 13 that gave it, "along" for growth along the fibres; `figure`: the
    coefficient of change (Eq. 13-2) or the shrinkage in % (Eq. 13-3) it was reckoned with; its `source` and `status`.
    """

    share: float
    equation: Literal["13-2", "13-3", "along"]
    figure: float
    source: str
    status: str
