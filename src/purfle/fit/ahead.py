"""Looking at cells before their turn comes: another process may begin with them meanwhile."""

from collections.abc import Callable, Sequence
from typing import Any, Generic, TypeVar

import shapely

from purfle.fit.cells import Cell
from purfle.mate import Answer, Mate

R = TypeVar("R")
_WORTH_SENDING = 100
"""A cell with fewer vertices is looked at sooner than it is sent."""


class Ahead(Generic[R]):
    """What one work finds on each of several cells, which change while they are gone through.

    The cells are handed out from the last to the first, and this process goes through them from the first on. `words`
    gives what the work has to know of a cell. What has changed when its turn comes is looked at anew, so that it makes
    no difference whether, and how far, another process was ahead.
    """

    def __init__(
        self, mate: Mate, cells: Sequence[Cell], words: Callable[[Cell], tuple[Any, ...]], work: Callable[..., R]
    ) -> None:
        self.words = words
        self.work = work
        self.asked: dict[Cell, tuple[tuple[Any, ...], Answer[R]]] = {}
        for cell in reversed(cells[1:]) if mate.is_there else ():
            if shapely.get_num_coordinates(cell.region) >= _WORTH_SENDING:
                known = words(cell)
                self.asked[cell] = known, mate.share(work, *known)

    def of(self, cell: Cell) -> R:
        """What the work finds on a cell as it is now."""
        known = self.words(cell)
        if cell not in self.asked:
            return self.work(*known)
        sent, answer = self.asked.pop(cell)
        if sent == known:
            return answer()
        answer.drop()
        return self.work(*known)

    def __enter__(self) -> "Ahead[R]":
        return self

    def __exit__(self, *_: object) -> None:
        """Have nothing done any more that was not asked after."""
        for _, answer in self.asked.values():
            answer.drop()
