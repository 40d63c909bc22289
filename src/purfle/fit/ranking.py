"""Orders that do not hang on the last digits: what differs by a hair counts as one, and another rule decides.

What is symmetrical in a drawing, or drawn twice, differs by grid steps once it is worked on. Each order here compares
sizes with a margin, then what is the same however the grid lies: woods, names, and places in the drawing's own
direction.
"""

from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeVar

from purfle.geometry.offsetting import Region


class Ranked(Protocol):
    """What has a size, and a key to be ordered by where size must not leave the order open."""

    @property
    def region(self) -> Region:
        """What it covers."""
        ...

    @property
    def key(self) -> tuple[float, str, str, tuple[float, ...], bytes]:
        """Its size, wood, name and place."""
        ...


T = TypeVar("T")
C = TypeVar("C", bound=Ranked)
_ONE_LENGTH, _ONE_SIZE = 0.05, 0.005
"""Borders, and sizes of cells, that differ by a smaller share are one."""
_ONE_DEPTH = 0.05
"""The same of depths."""


def by_size(items: Sequence[T], size: Callable[[T], float], rest: Callable[[T], Any], share: float) -> list[T]:
    """From the smallest to the largest; what differs from the one before by no more than a share in another order.

    >>> by_size([3.0, 1.01, 1.0], lambda x: x, lambda x: -x, 0.02)
    [1.01, 1.0, 3.0]
    """
    classes: list[list[T]] = []
    last = 0.0
    for item in sorted(items, key=size):
        if classes and size(item) <= last * (1.0 + share):
            classes[-1].append(item)
        else:
            classes.append([item])
        last = size(item)
    return [one for alike in classes for one in (sorted(alike, key=rest) if alike[1:] else alike)]


def small_first(cells: Sequence[C]) -> list[C]:
    """Cells from the smallest to the largest, those of one size by wood, name and place."""
    return by_size(cells, lambda cell: cell.region.area, lambda cell: cell.key[1:], _ONE_SIZE)


def deepest_first(parts: Sequence[tuple[float, Any]]) -> list[tuple[float, Any]]:
    """Depths with their regions, the deepest first, those of one depth by place."""
    return by_size(parts, lambda one: one[0], lambda one: [-edge for edge in one[1].bounds], _ONE_DEPTH)[::-1]


def longest_first(beside: Sequence[tuple[float, C]]) -> list[tuple[float, C]]:
    """Cells with the lengths of their borders, longest first; of borders as long, that of the larger cell first."""
    waiting, in_order = list(beside), []
    while waiting:
        in_order.append(foremost(waiting))
        waiting.remove(in_order[-1])
    return in_order


def foremost(beside: Sequence[tuple[float, C]]) -> tuple[float, C]:
    """The cell with the longest border; where several are as long the larger one, then by wood, name and place."""
    longest = max(length for length, _ in beside)
    long = [one for one in beside if one[0] >= longest * (1.0 - _ONE_LENGTH)]
    if len(long) == 1:
        return long[0]
    largest = max(cell.region.area for _, cell in long)
    large = [one for one in long if one[1].region.area >= largest * (1.0 - _ONE_SIZE)]
    return large[0] if len(large) == 1 else min(large, key=lambda one: one[1].key[1:])
