"""Which straight bits lie near a place, and how near: what the proof measures grooves and seams with."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree


@dataclass(frozen=True, slots=True)
class Pairs:
    """Places and bits that may be near each other, by index; sorted by place, and complete up to the reach."""

    place: NDArray[np.int64]
    bit: NDArray[np.int64]

    def only(self, wanted: NDArray[np.bool_]) -> "Pairs":
        """Some of the pairs."""
        return Pairs(self.place[wanted], self.bit[wanted])


def pairs_within(places: NDArray[np.float64], bits: NDArray[np.float64], reach: float) -> Pairs:
    """Every place (n, 2) with every bit (m, 2, 2) within `reach` of it, and some that are a little further off."""
    tree = STRtree(shapely.linestrings(bits))
    # a tree looks at bounds alone, and a diagonal has those of its square
    place, bit = tree.query(shapely.linestrings(np.stack([places - reach, places + reach], axis=1)))
    return Pairs(place, bit)


def nearest(
    places: NDArray[np.float64], bits: NDArray[np.float64], pairs: Pairs
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """For each place the distance to the nearest bit that it is paired with, and which: infinite and -1 without one."""
    away, which = np.full(len(places), np.inf), np.full(len(places), -1)
    if not len(pairs.place):
        return away, which
    squared = _squared(places, bits, pairs)
    first = np.flatnonzero(np.concatenate([[True], pairs.place[1:] != pairs.place[:-1]]))
    least = np.minimum.reduceat(squared, first)
    away[pairs.place[first]] = np.sqrt(least)
    at_least = np.flatnonzero(squared == np.repeat(least, np.diff([*first, len(squared)])))
    # written from the last to the first, so that of equals the first remains
    which[pairs.place[at_least[::-1]]] = pairs.bit[at_least[::-1]]
    return away, which


def _squared(places: NDArray[np.float64], bits: NDArray[np.float64], pairs: Pairs) -> NDArray[np.float64]:
    """Squared distance of every pair: to the foot on the bit, or to the end beyond which it would lie."""
    along = bits[:, 1] - bits[:, 0]
    length2 = np.maximum((along**2).sum(axis=1), np.finfo(float).tiny)[pairs.bit]
    ax, ay = along[pairs.bit, 0], along[pairs.bit, 1]
    x = places[pairs.place, 0] - bits[pairs.bit, 0, 0]
    y = places[pairs.place, 1] - bits[pairs.bit, 0, 1]
    share = np.clip((x * ax + y * ay) / length2, 0.0, 1.0)
    squared: NDArray[np.float64] = (x - share * ax) ** 2 + (y - share * ay) ** 2
    return squared
