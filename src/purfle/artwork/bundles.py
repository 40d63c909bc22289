"""Many stretches of points side by side, worked on all at once.

A *bundle* holds stretches of unlike length end to end in one array. One step over the bundle stands for one step over
each stretch: thousands of small fits cost a few dozen calls.
"""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Value = TypeVar("Value", bound=np.generic)


@dataclass(frozen=True, slots=True)
class Bundle:
    """`points` (n, 2) of all stretches, end to end; `count` (m,): how many each has, one at least.

    `first`, `last` (m,): the indices of each stretch's first and last point.
    """

    points: Floats
    count: Ints
    first: Ints
    last: Ints

    @classmethod
    def of(cls, points: Floats, count: Ints) -> "Bundle":
        """The bundle of these points, `count` (m,) of them in each stretch."""
        beyond = np.cumsum(count)
        return cls(points, count, beyond - count, beyond - 1)

    def spread(self, values: NDArray[Value]) -> NDArray[Value]:
        """A value of each stretch (m, ...) for each of its points (n, ...)."""
        return np.repeat(values, self.count, axis=0)

    def sums(self, values: Floats) -> Floats:
        """The sum over each stretch (m, ...) of a value of each point (n, ...)."""
        return np.asarray(np.add.reduceat(values, self.first, axis=0))

    def largest(self, values: Floats) -> Floats:
        """The largest of each stretch (m,) of a value of each point (n,)."""
        return np.asarray(np.maximum.reduceat(values, self.first))

    def place_of_largest(self, values: Floats) -> Ints:
        """(m,): the index of the first point of each stretch whose value (n,) is the stretch's largest."""
        hits = np.flatnonzero(values == self.spread(self.largest(values)))[::-1]
        found = np.zeros(len(self.count), np.int64)
        # written from the last to the first, so that the first one stays
        found[self.stretch_of()[hits]] = hits
        return found

    def stretch_of(self) -> Ints:
        """(n,): the number of the stretch of each point."""
        return np.repeat(np.arange(len(self.count)), self.count)

    def never_falling(self, values: Floats) -> Floats:
        """Values (n,) of 0 to 1, each raised to the largest before it in its own stretch."""
        step = 2.0 * self.stretch_of()
        return np.asarray(np.maximum.accumulate(values + step) - step, np.float64)

    def travelled(self) -> Floats:
        """(n,): the distance travelled along its stretch at each point."""
        steps = np.zeros(len(self.points))
        way = np.diff(self.points, axis=0)
        steps[1:] = np.hypot(way[:, 0], way[:, 1])
        steps[self.first] = 0.0
        whole = np.cumsum(steps)
        return np.asarray(whole - self.spread(whole[self.first]))

    def only(self, wanted: Flags) -> tuple["Bundle", Flags]:
        """The stretches that are flagged (m,), and the flags (n,) of their points."""
        kept = self.spread(wanted)
        return Bundle.of(self.points[kept], self.count[wanted]), kept
