"""How two colours mix along their border, in a picture that was rendered from outlines.

A renderer lays one shape over the other. Where two shapes only abut, a border pixel that is covered to t by the upper
one and to 1 - t by the lower one lets the colour below both shine through:

    value = t A + (1 - t) B + t (1 - t) (G - X)         X: the one of A, B that was laid first, G: what lies below

The mixture then runs on a parabola, not on the line from B to A, and measuring on the line would move the border by
up to half a pixel. Which borders are of this kind is found from the pixels themselves. In a sharp picture the share of
each pixel is then read off the parabola. In a lossy or blurred one single pixels no longer lie on it, but their sum
across the border is kept: the border is moved back by the mean of the bow.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.labels import Labels
from purfle.artwork.pixels import Floats32, places_of
from purfle.tolerances import SAME_COLOUR

Ints = NDArray[np.int64]

SHARES = np.linspace(-0.35, 1.35, 69, dtype=np.float32)
"""Shares for which the value is tabled. Beyond [0, 1] the way goes straight on: noise goes both ways and cancels."""
BOW_SUM = 0.19
"""The mean of the sum of t (1 - t) along a row across a border: 1/6 for an upright one, 7/30 at 45 degrees."""
FEWEST_PIXELS = 24
MOST_PIXELS = 400
"""Pixels of one border that are looked at: enough to be sure, few enough to be quick."""
CLEARLY_BETTER = 0.8
"""A parabola is taken only if it leaves less than this share of the squared distance that the line leaves; straight
mixtures in lossy pictures left 0.88 and more of it, bent ones 0.31 to 0.77 (own measurements, bench/tracing.py)."""
RARELY_BELOW = 1.15
"""Any colour but the most frequent one must fit better by this factor to be taken as the one that shines through."""
LEAST_OFF = 2.0
"""Root mean square distance from the line, in levels, below which the line is right: rounding alone gives 0.5."""
LIKELY_BELOW = 5
"""So many of the most frequent colours are tried as the one that shines through."""


@dataclass(frozen=True, slots=True)
class Mixing:
    """`colours` (k, c) as weighed. Bent pairs have their smaller number first.

    `bent`: the values at `SHARES` of the first colour, where pixels are read one by one. `moved` (k, k): how far the
    border of two colours is to be moved back towards the first, in px, where only their sum is read.
    """

    colours: Floats32
    moved: Floats32
    bent: dict[tuple[int, int], Floats32] = field(default_factory=dict)

    def shares(self, values: Floats32, first: Labels, second: Labels) -> Floats32:
        """The share of the first colour in each value (n, c), held to the range of `SHARES`."""
        way = self.colours[first] - self.colours[second]
        length2 = np.maximum((way * way).sum(axis=1), np.float32(SAME_COLOUR))
        found = ((values - self.colours[second]) * way).sum(axis=1) / length2
        found = np.clip(found, SHARES[0], SHARES[-1])
        for (one, other), curve in self.bent.items():
            for mine, turned in (
                ((first == one) & (second == other), False),
                ((first == other) & (second == one), True),
            ):
                place = np.nonzero(mine)[0]
                if len(place):
                    share = SHARES[_nearest(values[place], curve)[0]]
                    found[place] = 1.0 - share if turned else share
        return np.asarray(found, np.float32)


def _nearest(values: Floats32, curve: Floats32) -> tuple[NDArray[np.intp], Floats32]:
    """For each value the nearest place of a tabled curve, and the squared distance from it."""
    away = (curve * curve).sum(axis=1) - 2.0 * (values @ curve.T)
    nearest = away.argmin(axis=1)
    rest = away[np.arange(len(values)), nearest] + (values * values).sum(axis=1)
    return nearest, np.asarray(np.maximum(rest, 0.0), np.float32)


def mixing_of(labels: Labels, weighed: Floats32, colours: Floats32, sharp: bool) -> Mixing:
    """Which pairs of colours mix along a parabola in this picture; `sharp`: pixels may be read one by one."""
    values, first, second = _border_values(labels, weighed)
    pair = first.astype(np.int64) * len(colours) + second
    bent: dict[tuple[int, int], Floats32] = {}
    moved = np.zeros((len(colours), len(colours)), np.float32)
    for key in np.unique(pair).tolist():
        mine = np.nonzero(pair == key)[0]
        if len(mine) >= FEWEST_PIXELS:
            pick = mine[np.linspace(0, len(mine) - 1, min(len(mine), MOST_PIXELS)).astype(np.int64)]
            one, other = key // len(colours), key % len(colours)
            curve = _curve(values[pick], colours, one, other)
            if curve is not None and sharp:
                bent[(one, other)] = curve
            elif curve is not None:
                moved[one, other] = _mean_bow(curve, colours[one], colours[other])
                moved[other, one] = -moved[one, other]
    return Mixing(colours, moved, bent)


def _mean_bow(curve: Floats32, one: Floats32, other: Floats32) -> float:
    """By how much the summed share along a row exceeds the true one, averaged over all positions of a border."""
    way = one - other
    middle = len(SHARES) // 2
    bow_at_half = float((curve[middle] - (one + other) / 2.0) @ way / (way @ way))
    return BOW_SUM * bow_at_half / 0.25


def _border_values(labels: Labels, weighed: Floats32) -> tuple[Floats32, Ints, Ints]:
    """Values of the pixels beside every border whose sides are two pixels wide, and their labels in order."""
    values: list[Floats32] = []
    pairs: list[tuple[Ints, Ints]] = []
    for turned, sideways in ((labels, weighed), (labels.T, weighed.transpose(1, 0, 2))):
        before, left, right, after = turned[:, :-3], turned[:, 1:-2], turned[:, 2:-1], turned[:, 3:]
        row, column = places_of((left != right) & (before == left) & (right == after))
        one, other = turned[row, column + 1].astype(np.int64), turned[row, column + 2].astype(np.int64)
        for step in (1, 2):
            values.append(sideways[row, column + step])
            pairs.append((np.minimum(one, other), np.maximum(one, other)))
    first, second = (np.concatenate([pair[side] for pair in pairs]) for side in (0, 1))
    return np.concatenate(values), first, second


def _curve(values: Floats32, colours: Floats32, one: int, other: int) -> Floats32 | None:
    """The parabola on which these values lie, or None if the line explains them as well."""
    inside = np.clip(SHARES, 0.0, 1.0)
    line = SHARES[:, None] * colours[one] + (1.0 - SHARES[:, None]) * colours[other]
    best = float(_nearest(values, line)[1].mean())
    limit = CLEARLY_BETTER * best
    if best < LEAST_OFF**2:
        return None
    found: Floats32 | None = None
    for below in range(min(len(colours), LIKELY_BELOW)):
        if below in (one, other):
            continue
        for laid_first in (one, other):
            bow = (inside * (1.0 - inside))[:, None] * (colours[below] - colours[laid_first])
            curve = np.asarray(line + bow, np.float32)
            rest = float(_nearest(values, curve)[1].mean()) * (RARELY_BELOW if below else 1.0)
            if rest < limit:
                limit, found = rest, curve
    return found
