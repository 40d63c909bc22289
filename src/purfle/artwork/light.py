"""Uneven light over a picture: found on the ground colour, and divided out where that clearly helps."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.pixels import Flags, Floats32
from purfle.tolerances import SOLVABLE

BLOCK_PX = 8
"""Side of the squares whose mean colour is one sample of the light."""
FEWEST_SAMPLES = 40
"""Fewer squares of ground than this do not tell light from drawing."""
MOST_SAMPLES = 4000
"""Six weights need no more squares than this; of more, evenly spread ones are taken."""
LEAST_SPAN = 1.012
"""Light that varies less than this is left alone: it cannot be told from the steps of 8-bit colour."""
LARGEST_SPAN = 2.5
"""Light that varies more than this is a drawn shade or a photograph, and is left to be refused."""
OUTLIER, LEAST_OUTLIER, OUTLIER_ROUNDS = 4.0, 0.008, 5
"""Samples further off than 4 x the median, and than 0.8 %, are another colour; five rounds settle which they are."""
LEAST_GAIN = 3.0
"""Evening out must leave the ground at most this many times calmer than before, else it does not clearly help."""

FINEST_LOOK_PX, COARSEST_LOOK_SIDE = 2, 300
"""Restlessness is looked for on every second pixel, on fewer in large pictures, 300 along the shorter side at least."""

Floats = NDArray[np.float64]


def even_out(values: Floats32, flat: Flags) -> tuple[Floats32, float]:
    """The picture as under even light, and how many times the light varied (1.0: left as it was).

    A quadratic surface is fitted to the logarithm of the ground colour, one for each channel, and divided out;
    the mean colour of the ground stays.
    """
    ground = _ground_parts(flat)
    samples, places = _samples(values[..., :3], ground)
    if len(samples) < FEWEST_SAMPLES:
        return values, 1.0
    height, width = ground.shape
    terms = _terms(places[:, 0] / width, places[:, 1] / height)
    wanted = np.log(np.maximum(samples, 1.0))
    weights, kept = _fitted(terms, wanted)
    wanted, explained = wanted[kept], (terms @ weights)[kept]
    low, high = (np.asarray(np.percentile(explained, share, axis=0), np.float64) for share in (1, 99))
    span = float(np.exp((high - low).max()))
    before, after = float(wanted.std(axis=0).max()), float((wanted - explained).std(axis=0).max())
    if not LEAST_SPAN <= span <= LARGEST_SPAN or after * LEAST_GAIN > before:
        return values, 1.0
    surface = _surface(weights, (height, width), low, high) - explained.mean(axis=0).astype(np.float32)
    evened = _divided(values, _at_every_pixel(np.exp(-surface), ground))
    every = max(FINEST_LOOK_PX, min(height, width) // COARSEST_LOOK_SIDE)
    others = _Parts.of((flat & ~ground)[::every, ::every])
    if others.restlessness(evened[::every, ::every]) > 1.1 * others.restlessness(values[::every, ::every]) + 0.3:
        return values, 1.0
    return evened, span


def _divided(values: Floats32, share: Floats32) -> Floats32:
    """Colours times `share` (h, w, 3), none brighter than white; alpha stays."""
    evened = np.empty_like(values)
    np.multiply(values[..., :3], share, out=evened[..., :3])
    np.minimum(evened[..., :3], np.float32(255.0), out=evened[..., :3])
    evened[..., 3:] = values[..., 3:]
    return evened


def _fitted(terms: Floats, wanted: Floats) -> tuple[Floats, Flags]:
    """Weights of the surface for each channel, and which samples it stands on.

    A few areas nearly as bright as the ground may be joined to it over a blurred border: samples that lie far off the
    surface, measured by the median of all, are left out and the surface is fitted again.
    """
    off = np.abs(wanted - np.median(wanted, axis=0)).max(axis=1)
    kept = np.ones(len(wanted), bool)
    for _ in range(OUTLIER_ROUNDS):
        kept = off <= max(OUTLIER * float(np.median(off)), LEAST_OUTLIER)
        mine = terms[kept].T
        # six terms of 0 to 1: the normal equations are well enough conditioned, and far quicker
        weights = np.linalg.solve(mine @ mine.T + SOLVABLE * np.eye(len(mine)), mine @ wanted[kept])
        off = np.abs(wanted - terms @ weights).max(axis=1)
    return np.asarray(weights, np.float64), np.asarray(kept)


def _at_every_pixel(coarse: Floats32, ground: Flags) -> Floats32:
    """A smooth surface given at the middles of squares, drawn out to the pixels of the picture."""
    height, width = ground.shape
    whole = cv2.resize(coarse, (coarse.shape[1] * BLOCK_PX, coarse.shape[0] * BLOCK_PX), interpolation=cv2.INTER_LINEAR)
    return np.asarray(whole[:height, :width], np.float32)


def _ground_parts(flat: Flags) -> Flags:
    """The connected flat part that takes up most of the picture's rim, whatever its colour does across the picture."""
    count, parts = cv2.connectedComponents(flat.astype(np.uint8), connectivity=4)
    rim = np.concatenate([parts[0], parts[-1], parts[:, 0], parts[:, -1]])
    share = np.bincount(rim, minlength=count)
    share[0] = 0
    largest = int(share.argmax())
    return np.asarray((parts == largest) & flat) if share[largest] > 0 else np.zeros_like(flat)


def _samples(colours: Floats32, ground: Flags) -> tuple[Floats, Floats]:
    """Mean colours of squares that lie wholly on the ground, and their middles (x, y) in px."""
    rows, columns = ground.shape[0] // BLOCK_PX, ground.shape[1] // BLOCK_PX
    if rows == 0 or columns == 0:
        return np.zeros((0, 3)), np.zeros((0, 2))
    inner = ground[: rows * BLOCK_PX, : columns * BLOCK_PX].reshape(rows, BLOCK_PX, columns, BLOCK_PX)
    whole = inner.mean(axis=(1, 3)) > 0.999
    # cv2's area resize is the plain mean of each square
    cropped = np.ascontiguousarray(colours[: rows * BLOCK_PX, : columns * BLOCK_PX])
    means = cv2.resize(cropped, (columns, rows), interpolation=cv2.INTER_AREA)
    row, column = np.nonzero(whole)
    pick = np.linspace(0, len(row) - 1, min(len(row), MOST_SAMPLES)).astype(np.int64)
    row, column = row[pick], column[pick]
    places = np.asarray((np.stack([column, row], axis=1) + 0.5) * BLOCK_PX, np.float64)
    return np.asarray(means[row, column], np.float64), places


def _terms(x: Floats, y: Floats) -> Floats:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _surface(weights: Floats, shape: tuple[int, int], low: Floats, high: Floats) -> Floats32:
    """The light at the middles of squares; held to what was seen on the ground, as a quadratic runs away beyond it."""
    height, width = shape
    x = ((np.arange(-(-width // BLOCK_PX)) + 0.5) * BLOCK_PX / width).astype(np.float32)[None, :]
    y = ((np.arange(-(-height // BLOCK_PX)) + 0.5) * BLOCK_PX / height).astype(np.float32)[:, None]
    room = 0.25 * (high - low)
    channels = []
    for channel in range(3):
        one, in_x, in_y, xx, xy, yy = (np.float32(weight) for weight in weights[:, channel])
        surface = (one + in_x * x + xx * x * x) + (in_y * y + yy * y * y) + (xy * x) * y
        channels.append(np.clip(surface, low[channel] - room[channel], high[channel] + room[channel]))
    return np.stack(channels, axis=-1).astype(np.float32)


@dataclass(frozen=True, slots=True)
class _Parts:
    """Flat parts: the part of each pixel, row by row, 0 for none, and `sizes` (n,) in pixels."""

    part: NDArray[np.int32]
    sizes: Floats

    @classmethod
    def of(cls, flat: Flags) -> "_Parts":
        _, parts, stats, _ = cv2.connectedComponentsWithStats(flat.astype(np.uint8), connectivity=4)
        return cls(np.asarray(parts, np.int32).ravel(), stats[:, cv2.CC_STAT_AREA].astype(np.float64))

    def restlessness(self, values: Floats32) -> float:
        """How much the colour wanders inside the parts: the size-weighted median of their spreads."""
        sizes, count = self.sizes, len(self.sizes)
        # a sum of three planes is far quicker than a mean over the last axis
        luma = ((values[..., 0] + values[..., 1] + values[..., 2]) / np.float32(3.0)).ravel().astype(np.float64)
        mean = np.bincount(self.part, luma, count) / sizes.clip(1)
        spread = np.sqrt((np.bincount(self.part, luma * luma, count) / sizes.clip(1) - mean * mean).clip(0.0))
        used = np.nonzero(sizes[1:] >= 50)[0] + 1
        if len(used) == 0:
            return 0.0
        order = used[np.argsort(spread[used], kind="stable")]
        return float(spread[order][np.searchsorted(np.cumsum(sizes[order]), sizes[order].sum() / 2)])
