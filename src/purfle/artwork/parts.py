"""The connected parts of a label image, found by its runs: stretches of one label along a row.

A picture has a few thousand runs for millions of pixels, so the pixels are looked at once and no more.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.labels import Ints, Labels

ROUNDS_TO_JOIN = 4
"""Specks that touch only each other are joined first and then measured again, so often."""


@dataclass(frozen=True, slots=True)
class Parts:
    """Connected parts of one label (by edges, not corners): `parts` (h, w) from 0, `owners` (n,): each one's label.

    `sizes` (n,) of them in pixels.
    """

    parts: NDArray[np.int32]
    owners: NDArray[np.int16]
    sizes: Ints

    @property
    def labels(self) -> Labels:
        """(h, w): the label of each pixel."""
        return np.take(self.owners, self.parts)


@dataclass(frozen=True, slots=True)
class _Borders:
    """Borders of parts or runs: the two numbers on either side, and how many pixel edges long each is."""

    one: Ints
    other: Ints
    length: Ints

    def only(self, wanted: NDArray[np.bool_]) -> "_Borders":
        return _Borders(self.one[wanted], self.other[wanted], self.length[wanted])

    def renumbered(self, number: Ints) -> "_Borders":
        """The borders that are left between numbers that still differ; several of one pair stay several."""
        one, other = number[self.one], number[self.other]
        return _Borders(one, other, self.length).only(one != other)


@dataclass(frozen=True, slots=True)
class _Runs:
    """Stretches of one label along a row, row by row: `start` counts pixels from the first; `size` in pixels."""

    start: Ints
    size: Ints
    label: NDArray[np.int16]
    width: int

    @classmethod
    def of(cls, labels: Labels) -> "_Runs":
        changes = np.ones(labels.shape, bool)
        np.not_equal(labels[:, 1:], labels[:, :-1], out=changes[:, 1:])
        start = np.flatnonzero(changes)
        return cls(start, np.diff(start, append=labels.size), np.take(labels, start), labels.shape[1])

    def borders(self) -> _Borders:
        """Where runs lie side by side: one after the other in a row, and one below the other."""
        number = np.arange(1, len(self.start))
        beside = number[self.start[1:] % self.width != 0]
        # from each place where a run starts, above or below, to the next, the same two runs face each other
        end = int(self.start[-1] + self.size[-1])
        places = np.unique(np.concatenate([self.start, self.start + self.width]))
        places = places[(places >= self.width) & (places < end)]
        below = np.searchsorted(self.start, places, side="right") - 1
        above = np.searchsorted(self.start, places - self.width, side="right") - 1
        one, other = np.concatenate([beside - 1, above]), np.concatenate([beside, below])
        length = np.concatenate([np.ones(len(beside), np.int64), np.diff(places, append=end)])
        return _Borders(one, other, length)


def parts_of(labels: Labels) -> Parts:
    """The connected parts of one label, numbered in reading order of their first pixels."""
    runs = _Runs.of(labels)
    number, first, _ = _joined(len(runs.start), runs.borders(), runs.label)
    return _drawn(runs, number, runs.label[first], labels.shape)


def _drawn(runs: _Runs, part_of: Ints, owners: NDArray[np.int16], shape: tuple[int, ...]) -> Parts:
    sizes = np.bincount(part_of, runs.size, len(owners)).astype(np.int64)
    return Parts(np.repeat(part_of.astype(np.int32), runs.size).reshape(shape), owners, sizes)


def without_specks(labels: Labels, smallest_px: float) -> tuple[Parts, int]:
    """Parts of fewer pixels than `smallest_px` joined to the neighbour with the longest border, and how many they were.

    Parts of less than half the size are the picture's grain and are not counted.
    """
    joined = 0
    runs = _Runs.of(labels)
    part_of, first, borders = _joined(len(runs.start), runs.borders(), runs.label)
    owners, sizes = runs.label[first], np.bincount(part_of, runs.size)
    for _ in range(ROUNDS_TO_JOIN):
        small = sizes < smallest_px
        if not small.any() or small.all():
            break
        joined += int((small & (2 * sizes >= smallest_px)).sum())
        owners = _renamed(owners, sizes, small, borders)
        # parts that now have one label and lie side by side are one part: no need to look at the pixels again
        number, first, borders = _joined(len(owners), borders, owners)
        owners, sizes, part_of = owners[first], np.bincount(number, sizes), number[part_of]
    return _drawn(runs, part_of, owners, labels.shape), joined


def _renamed(
    owners: NDArray[np.int16], sizes: NDArray[Any], small: NDArray[np.bool_], borders: _Borders
) -> NDArray[np.int16]:
    """The labels of all parts, small ones with that of the neighbour with the longest border."""
    speck, other = np.concatenate([borders.one, borders.other]), np.concatenate([borders.other, borders.one])
    length = np.concatenate([borders.length, borders.length])
    mine = small[speck]
    pairs, place = np.unique(speck[mine] * len(owners) + other[mine], return_inverse=True)
    border = np.bincount(place, length[mine])
    speck, other = pairs // len(owners), pairs % len(owners)
    # the last one written is the neighbour with the longest border, the larger one of equals
    order = np.lexsort((sizes[other], border))
    renamed = owners.copy()
    renamed[speck[order]] = owners[other[order]]
    return renamed


def _joined(count: int, borders: _Borders, label: NDArray[np.int16]) -> tuple[Ints, Ints, _Borders]:
    """Neighbours of one label as one: the new number of each, the first of each new one, the borders left between them.

    Each takes the lowest number among its neighbours until none changes; numbers lead on to lower ones meanwhile.
    """
    same = label[borders.one] == label[borders.other]
    one, other = borders.one[same], borders.other[same]
    lowest = np.arange(count)
    while True:
        low, high = lowest[one], lowest[other]
        differ = np.flatnonzero(low != high)
        if len(differ) == 0:
            break
        one, other, low, high = one[differ], other[differ], low[differ], high[differ]
        np.minimum.at(lowest, np.maximum(low, high), np.minimum(low, high))
        while (lowest[lowest] != lowest).any():
            lowest = lowest[lowest]
    first, number = np.unique(lowest, return_inverse=True)
    return number, first, borders.only(~same).renumbered(number)
