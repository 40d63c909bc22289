"""The seasons of a piece: the air that it stands in, and what its wood and its seams do in it."""

from dataclasses import dataclass
from typing import Literal

from purfle.model.findings import Finding

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


@dataclass(frozen=True, slots=True)
class Fitted:
    """What the wood has when a piece is fitted: moisture (%) of the board and of the parts.

    `when`: the season of the shop, "measured" where both were measured.
    """

    when: Literal["winter", "summer", "measured"]
    board: float
    parts: float


@dataclass(frozen=True, slots=True)
class SeamAtWorst:
    """A seam at its narrowest or widest of the year: its `width` in mm, below 0 where it presses; `place` on the board.

    `season` in which it is so; `against`: the number of the piece across it, 0 for its ground.
    """

    width: float
    place: tuple[float, float]
    season: SeasonName
    against: int


@dataclass(frozen=True, slots=True)
class InsertSeasons:
    """What the seasons do to one insert and its seams, as if nothing held the wood.

    `off_grain`: angle between its fibres and those of its ground, 0 to 90 degrees; `rings`: of its offcut, None where
    nothing says. `along`, `across`: its size along its fibres and across them, mm; `grows_along`, `grows_across`: how
    much that changes since it was fitted, least and most, mm. `opens_beyond`, `pushes_beyond`: the size (mm) beyond
    which an insert of this wood, laid so, opens its seam or closes it; None where no size does.
    `turned`, `quarter`: narrowest and widest seam with its fibres along those of its ground, or cut from quarter-sawn
    wood; None where that is so already, or nothing needs mending.
    """

    inlay: str
    number: int
    name: str
    wood: str
    off_grain: float
    rings: float | None
    along: float
    across: float
    grows_along: tuple[float, float]
    grows_across: tuple[float, float]
    narrowest: SeamAtWorst
    widest: SeamAtWorst
    opens_beyond: float | None
    pushes_beyond: float | None
    turned: tuple[float, float] | None = None
    quarter: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Seasons:
    """What the seasons do to a job. `fitted`: each state it may be fitted in; `opens_at`: the seam (mm) that is open.

    `board_rings`: None where nothing says how the board was cut. `board_along`, `board_across`: size of the board along
    its fibres and across them, and how much that changes since it was fitted, least and most, mm. `unknown`: woods
    without a figure, whose inserts are left out.
    """

    wish: SeasonWish
    fitted: tuple[Fitted, ...]
    opens_at: float
    board_rings: float | None
    board_along: tuple[float, float, float]
    board_across: tuple[float, float, float]
    inserts: tuple[InsertSeasons, ...]
    unknown: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
