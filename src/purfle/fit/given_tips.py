"""Tips that come back as they were given.

A tip that its neighbour takes can lie in that neighbour's own way to a tip, or in what the giver's closing takes back:
then the same tip is there again a round later, and would be for good. It is left where it is: given away once more it
would only come back once more.
"""

import math
from dataclasses import dataclass, field

from shapely import Polygon

_SAME_PLACE, _SAME_SIZE = 0.01, 0.02
"""A tip is the same if its centre has moved no further than this, mm, and its area by no larger a share."""
_SQUARE = 1.0
"""Tips are kept by squares of this size, mm, so that few have to be looked at."""


@dataclass(frozen=True, slots=True)
class _Given:
    giver: tuple[str, str]
    place: tuple[float, float]
    area: float

    def is_again(self, other: "_Given") -> bool:
        """True if this is the other tip once more."""
        return (
            self.giver == other.giver
            and math.dist(self.place, other.place) <= _SAME_PLACE
            and abs(self.area - other.area) <= _SAME_SIZE * other.area
        )


@dataclass(slots=True)
class GivenTips:
    """The tips that cells of a partition gave away so far, by the squares that they lie in."""

    squares: dict[tuple[int, int], list[_Given]] = field(default_factory=dict)

    def is_back(self, giver: tuple[str, str], tip: Polygon) -> bool:
        """True if a cell of this name and wood has given this tip away before."""
        found = _given(giver, tip)
        column, row = _square_of(found)
        squares = [(column + x, row + y) for x in (-1, 0, 1) for y in (-1, 0, 1)]
        return any(found.is_again(one) for square in squares for one in self.squares.get(square, ()))

    def add(self, giver: tuple[str, str], tip: Polygon) -> None:
        """Note that a cell gives a tip away."""
        found = _given(giver, tip)
        self.squares.setdefault(_square_of(found), []).append(found)


def _given(giver: tuple[str, str], tip: Polygon) -> _Given:
    centre = tip.centroid
    return _Given(giver, (centre.x, centre.y), tip.area)


def _square_of(found: _Given) -> tuple[int, int]:
    x, y = found.place
    return math.floor(x / _SQUARE), math.floor(y / _SQUARE)
