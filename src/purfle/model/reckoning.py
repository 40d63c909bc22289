"""What a job takes in time and money, and what shop and job say of prices."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

FinishKind = Literal["varnish", "buffed varnish", "hardwax oil", "shellac", "none"]
"""A finish; "none": the piece leaves the shop bare."""
BenchWork = Literal[
    "setting out",
    "planing offcuts",
    "paring corners",
    "cutting off tabs",
    "sawing off",
    "dry fit",
    "glueing",
    "levelling",
    "sanding",
    "finishing",
    "drilling",
    "hardware",
]
"""What is done at the bench, in its order."""
WorkKind = Literal["setting up", "cutting", "bench"]
CostKind = Literal["time", "wood", "wear", "glue", "finish", "hardware"]
Measure = Literal["mm3", "g", "ml", "min", "whole"]
"""What an amount is counted in; "whole": taken as one."""


@dataclass(frozen=True, slots=True)
class Range:
    """A figure that nobody knows beforehand: the low, the typical and the high one."""

    low: float
    typical: float
    high: float

    @classmethod
    def known(cls, figure: float) -> "Range":
        """A figure that is known."""
        return cls(figure, figure, figure)

    @classmethod
    def total(cls, some: Iterable["Range"]) -> "Range":
        """The sum of several: the low ones, the typical ones, the high ones."""
        rows = [(one.low, one.typical, one.high) for one in some]
        return cls(*(math.fsum(row[place] for row in rows) for place in range(3)))

    def times(self, count: float) -> "Range":
        """So many of it."""
        return Range(self.low * count, self.typical * count, self.high * count)


@dataclass(frozen=True, slots=True)
class FinishWish:
    """The finish that the job gets: kind and coats, no kind where it does not say. `food`: food lies on the piece."""

    kind: FinishKind | None = None
    coats: int = 0
    food: bool = False


@dataclass(frozen=True, slots=True)
class QuoteWish:
    """What the job says for its quote: the customer, the maker's own price, what all its hardware costs.

    None or empty where it does not say; then a line is left to write in, or the price is the one that was reckoned.
    """

    customer: str = ""
    price: float | None = None
    hardware: float | None = None


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work: minutes with a range, how many of what it was reckoned from, where the figures come from.

    `again`: minutes that it takes once more, for a second piece made in the same go. `stock`: of a set-up.
    """

    kind: WorkKind
    name: str
    minutes: Range
    again: Range
    reckoned_from: str
    source: str
    stock: str = ""


@dataclass(frozen=True, slots=True)
class Waiting:
    """Time in which nobody works: glue or finish gets hard. Hours with a range, and where they come from."""

    name: str
    hours: Range
    source: str


@dataclass(frozen=True, slots=True)
class Cost:
    """One line of the costs. `amount` in `measure`; `each`: the price of one of it, None where nobody has said.

    `cost` is rounded to the coin, None where the price is missing; then `missing` says which key to add. `again`: what
    it costs for a second piece.
    """

    kind: CostKind
    name: str
    amount: float
    measure: Measure
    each: float | None
    cost: float | None
    again: float | None
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Reckoning:
    """Time and money of one job. `costs` in `currency`; `mark_up` is a share, None where the shop says none.

    `missing`: the keys to add before the price is whole. `price`: costs with mark-up, or the maker's own; None as long
    as a key is missing and the maker names none. `second`: costs with mark-up of one more in the same go. `own_price`:
    the maker named it. `days`: working days until it is ready, waiting included.
    """

    currency: str
    work: tuple[Work, ...]
    waiting: tuple[Waiting, ...]
    costs: tuple[Cost, ...]
    mark_up: float | None
    missing: tuple[str, ...]
    price: float | None
    second: float | None
    own_price: bool
    days: int

    @property
    def minutes(self) -> Range:
        """All work together."""
        return Range.total(one.minutes for one in self.work)

    @property
    def minutes_again(self) -> Range:
        """All work of a second one."""
        return Range.total(one.again for one in self.work)

    @property
    def waiting_hours(self) -> Range:
        """All waiting together."""
        return Range.total(one.hours for one in self.waiting)

    @property
    def known_cost(self) -> float:
        """The sum of the lines whose price is known."""
        return math.fsum(one.cost for one in self.costs if one.cost is not None)

    @property
    def known_again(self) -> float:
        """The same for a second one."""
        return math.fsum(one.again for one in self.costs if one.again is not None)
