"""The flat colours of a picture: how many there are, and which."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.colour import ciede2000, lab_of
from purfle.artwork.pixels import CELL_BITS, CLEAN, THREE, Floats32, Pixels

Floats = NDArray[np.float64]

MOST_COLOURS = 24
"""More flat colours than this are a photograph, or woods that no eye tells apart."""
ALPHA_IN_LAB = 0.4
"""Lab units for one level of alpha: half transparent differs from opaque as much as mid grey from white."""

TINTS_APART = 3.0
"""Where a picture has few exact colours, those that differ by more than this, in CIELAB, are two woods."""
FEW, FEW_HOLD, LOOKED_AT = 32, 0.98, 20_000
"""A picture has few colours if so many hold this share of its flat pixels; so many pixels are looked at."""

LEAST_VALLEY = 4.0
HUE_COUNTS = np.array([1.0, 0.5, 0.5, 1.0])
FEWEST_OF_TINT = 64.0
"""Two colours nearer than this, in CIELAB with hue counted by half, are one in a lossy picture, and a tint has a block
of pixels: the blocks of a compressed picture wander by as much, in hue twice as far."""
VALLEY_BINS = np.array([-0.25, 0.25, 0.4, 0.6, 0.75, 1.25])
"""From one peak (0) to the other (1): the peaks themselves, and the stretches of the valley between them."""
VALLEY_DEPTH = 0.25
"""A valley has less than this share of the density of the lower peak somewhere."""

MANY_ALIKE, SOME_OF_MANY = 4096, 16
"""Where so many pixels have nearly the same colour, every sixteenth pixel of the picture tells their mean."""


@dataclass(frozen=True, slots=True)
class Palette:
    """`colours` (k, c) in the channels of the picture, most frequent first; `sizes` (k,) in pixels."""

    colours: Floats
    sizes: Floats

    def nearest(self, pixels: Pixels) -> NDArray[np.int16]:
        """The number of the nearest colour at every pixel, to the step of a table (4 levels, with alpha 8)."""
        return np.take(self._tables(pixels)[0], pixels.cells)

    def nearest_and_off(self, pixels: Pixels) -> tuple[NDArray[np.int16], Floats32]:
        """As `nearest`, and how far from that colour, as weighed, the middle of the table's step is."""
        numbers, off = self._tables(pixels)
        return np.take(numbers, pixels.cells), np.take(off, pixels.cells)

    def _tables(self, pixels: Pixels) -> tuple[NDArray[np.int16], Floats32]:
        """For each step of the table of all colours the nearest colour, and how far its middle is from that."""
        bits = CELL_BITS[self.colours.shape[1]]
        # most cells of the table are empty: only those that some pixel lies in are looked up
        filled = np.flatnonzero(np.bincount(pixels.cells.ravel()))
        steps, rest = [], filled
        for bit in reversed(bits):
            steps.append((rest % 2**bit) * 2 ** (8 - bit) + 2 ** (7 - bit))
            rest = rest >> bit
        middles = pixels.weigh(np.stack(steps[::-1], axis=1))
        closest = np.full(len(filled), np.inf, np.float32)
        numbers = np.zeros(len(filled), np.int16)
        for number, colour in enumerate(pixels.weigh(self.colours)):
            away = float(colour @ colour) - 2.0 * (middles @ colour)
            nearer = away < closest
            numbers[nearer], closest[nearer] = number, away[nearer]
        table = np.zeros(2 ** sum(bits), np.int16)
        table[filled] = numbers
        off = np.zeros(len(table), np.float32)
        off[filled] = np.sqrt(np.maximum(closest + (middles * middles).sum(axis=1), 0.0))
        return table, off


def palette_of(pixels: Pixels, smallest_px: float) -> Palette:
    """The colours that have a flat part of their own; mixtures along borders are left out."""
    calm, fewest = _calm_colours(pixels), max(12.0, smallest_px)
    if pixels.noise < CLEAN and _are_few(calm):
        found = clusters(calm, fewest, TINTS_APART)
    else:
        found = parted_clusters(calm, fewest, 8.0 + 2.0 * min(pixels.noise, 2.0))
    return _with_core(found, pixels) if len(found.colours) > 1 else found


def _calm_colours(pixels: Pixels) -> Floats32:
    """Colours of flat pixels; in a noisy picture the means of 3 x 3 pixels that are flat themselves."""
    values = pixels.values.reshape(-1, pixels.values.shape[2])
    if pixels.noise < CLEAN:
        return np.take(values, np.flatnonzero(pixels.flat), axis=0)
    calm = cv2.blur(pixels.values, (3, 3))
    inner = cv2.erode(pixels.flat.astype(np.uint8), THREE) > 0
    # small areas have no such inner part: their own pixels stand in for it
    covered = cv2.dilate(inner.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    own = np.take(values, np.flatnonzero(pixels.flat & ~covered), axis=0)
    return np.concatenate([np.take(calm.reshape(values.shape), np.flatnonzero(inner), axis=0), own])


def _are_few(colours: Floats32) -> bool:
    """Whether a few exact colours make up the flat pixels: then nothing is shaded, and tints are meant."""
    if len(colours) == 0:
        return False
    some = np.rint(colours[:: max(1, len(colours) // LOOKED_AT)]).astype(np.int64)
    key = some @ (256 ** np.arange(some.shape[1]))
    sizes = np.sort(np.unique(key, return_counts=True)[1])[::-1]
    return bool(sizes[:FEW].sum() >= FEW_HOLD * len(some))


def _lab(colours: Floats) -> Floats:
    lab = lab_of(colours[:, :3])
    return lab if colours.shape[1] == 3 else np.concatenate([lab, ALPHA_IN_LAB * colours[:, 3:]], axis=1)


@dataclass(frozen=True, slots=True)
class _Cells:
    """The filled cells of a histogram: `sizes` (n,) in pixels, `means` (n, c), and these in Lab."""

    sizes: Floats
    means: Floats
    lab: Floats

    @classmethod
    def of(cls, colours: Floats32) -> "_Cells":
        """The cells that these colours fill."""
        sizes, means = _histogram(colours)
        return cls(sizes, means, _lab(means))


def clusters(colours: Floats32, fewest: float, reach: float) -> Palette:
    """Colours gathered around their most frequent ones, within `reach` in Lab, each with `fewest` pixels at least."""
    return _clusters_of(_Cells.of(colours), fewest, reach)


def _clusters_of(cells: "_Cells", fewest: float, reach: float) -> Palette:
    sizes, means, lab = cells.sizes, cells.means, cells.lab
    found: list[Floats] = []
    counts: list[float] = []
    while len(sizes) and len(found) < 4 * MOST_COLOURS:
        top = int(sizes.argmax())
        middle = lab[top]
        near = np.arange(len(sizes)) == top
        for _ in range(3):
            around = np.linalg.norm(lab - middle, axis=1) < reach
            if not around.any():
                break
            near = around
            middle = np.average(lab[near], axis=0, weights=sizes[near])
        near[top] = True
        count = float(sizes[near].sum())
        if count >= fewest:
            # nearer the most frequent colour than the mean: stray pixels are few
            found.append(np.average(means[near], axis=0, weights=sizes[near] ** 1.5))
            counts.append(count)
        sizes, means, lab = sizes[~near], means[~near], lab[~near]
    order = np.argsort(-np.array(counts), kind="stable")
    return Palette(np.array(found).reshape(-1, cells.means.shape[1])[order], np.array(counts)[order])


def parted_clusters(colours: Floats32, fewest: float, reach: float) -> Palette:
    """Clusters of this reach, but those apart that a valley parts: colours that few pixels have, between two peaks.

    Noise and shades leave no valley, two tints do.
    """
    cells = _Cells.of(colours)
    wide, peaks = _clusters_of(cells, fewest, reach), _clusters_of(cells, max(fewest, FEWEST_OF_TINT), TINTS_APART)
    some = _lab(colours[:: max(1, len(colours) // LOOKED_AT)].astype(np.float64))
    lab, around = _lab(peaks.colours), _lab(wide.colours)
    home = np.linalg.norm(lab[:, None] - around, axis=2).argmin(axis=1)
    kept, sizes = list(wide.colours), list(wide.sizes)
    for number in range(len(around)):
        mine = np.flatnonzero(home == number)
        groups = _without_valley(lab[mine], some)
        if len(groups) > 1:
            # the first of each group is its largest peak
            kept[number], sizes[number] = peaks.colours[mine[groups[0][0]]], peaks.sizes[mine[groups[0]]].sum()
            kept += [peaks.colours[mine[group[0]]] for group in groups[1:]]
            sizes += [peaks.sizes[mine[group]].sum() for group in groups[1:]]
    order = np.argsort(-np.array(sizes), kind="stable")
    return Palette(np.array(kept)[order], np.array(sizes)[order])


def _without_valley(peaks: Floats, some: Floats) -> list[list[int]]:
    """Peaks, largest first, gathered in groups that no valley parts. `some`: colours of pixels, in Lab."""
    groups: list[list[int]] = []
    for number, peak in enumerate(peaks):
        joined = next((group for group in groups if any(not _valley(peaks[one], peak, some) for one in group)), None)
        groups.append([number]) if joined is None else joined.append(number)
    return groups


def _valley(one: Floats, other: Floats, some: Floats) -> bool:
    """Whether few pixels have the colours between two peaks."""
    way = other - one
    apart = float(np.linalg.norm(way))
    if apart == 0.0 or float(np.linalg.norm(way * HUE_COUNTS[: len(way)])) < LEAST_VALLEY:
        return False
    offset = some - one
    share = offset @ way / apart**2
    beside = np.linalg.norm(offset - share[:, None] * way, axis=1)
    near = share[(beside < apart / 2) & (share > -0.25) & (share < 1.25)]
    count = np.histogram(near, VALLEY_BINS)[0]
    density = count / np.diff(VALLEY_BINS)
    return bool(density[1:-1].min() < VALLEY_DEPTH * min(density[0], density[-1]))


def _histogram(colours: Floats32) -> tuple[Floats, Floats]:
    """Counts and mean colours of the filled cells of a histogram of 32 steps a channel (8 for alpha)."""
    key = np.zeros(len(colours), np.int32)
    # all colours lie within 0 to 255
    levels = colours.astype(np.uint8)
    for channel, bits in enumerate((5, 5, 5, 3)[: colours.shape[1]]):
        key <<= bits
        key |= levels[:, channel] >> (8 - bits)
    counts = np.bincount(key)
    cells = np.flatnonzero(counts)
    # the mean of a cell that many pixels share is known from a few of them
    told_by_some = np.bincount(key[::SOME_OF_MANY], minlength=len(counts)) > 0
    few = np.take(~told_by_some | (counts < MANY_ALIKE), key)
    few[::SOME_OF_MANY] = True
    place = np.zeros(len(counts), np.int64)
    place[cells] = np.arange(len(cells))
    used = np.flatnonzero(few)
    mine, seen = np.take(place, np.take(key, used)), np.take(colours, used, axis=0)
    sizes = np.bincount(mine, minlength=len(cells))
    channels = [np.bincount(mine, seen[:, c], len(cells)) / sizes for c in range(colours.shape[1])]
    means = np.stack(channels, axis=1)
    return counts[cells].astype(np.float64), means


def _with_core(found: Palette, pixels: Pixels) -> Palette:
    """Without the colours that only the edges of others show: no solid core, or a mixture of two larger ones."""
    # fewer than 256 colours: bytes are quickest to compare
    nearest = found.nearest(pixels).astype(np.uint8)
    kept: list[int] = []
    for number in range(len(found.colours)):
        mine = ((nearest == number) & pixels.flat).view(np.uint8)
        count = cv2.countNonZero(mine)
        core = cv2.countNonZero(cv2.erode(mine, THREE, borderValue=1))
        if _is_own_colour(found.colours[number], found.colours[kept], (core, count), pixels.noise):
            kept.append(number)
    return Palette(found.colours[kept], found.sizes[kept])


def _is_own_colour(colour: Floats, larger: Floats, core_of: tuple[int, int], noise: float) -> bool:
    """`larger`: the larger colours that were kept. `core_of`: pixels inside, of how many pixels in all."""
    core, solid = core_of[0], core_of[0] / max(core_of[1], 1)
    mixed = is_mixture(colour, larger, 10.0 + 8.0 * noise)
    if noise < CLEAN:
        return not (mixed and solid < 0.12)
    nearest = float(np.linalg.norm(larger - colour, axis=1).min(initial=np.inf))
    return core >= 6 and not (solid < 0.25 and (mixed or nearest < 30.0 + 10.0 * noise))


def is_mixture(colour: Floats, others: Floats, within: float) -> bool:
    """True if the colour lies between two of the others, within a distance of their line."""
    for second in range(len(others)):
        for first in range(second):
            way = others[second] - others[first]
            length2 = float(way @ way)
            if length2 == 0.0:
                continue
            share = float((colour - others[first]) @ way) / length2
            if 0.08 < share < 0.92 and float(np.linalg.norm(colour - others[first] - share * way)) < within:
                return True
    return False


def merged_to(palette: Palette, count: int) -> Palette:
    """The palette with its most alike colours merged (the larger one stays) until `count` are left."""
    colours, sizes = palette.colours.copy(), palette.sizes.copy()
    while len(colours) > count:
        lab = lab_of(colours[:, :3])
        differences = ciede2000(lab[:, None, :], lab[None, :, :])
        if colours.shape[1] == 4:
            differences = differences + ALPHA_IN_LAB * np.abs(colours[:, None, 3] - colours[None, :, 3])
        differences[np.tril_indices(len(colours))] = np.inf
        # a few pixels matter less than many: a small colour goes before a large one that is as near
        larger, smaller = np.unravel_index(int(differences.argmin()), differences.shape)
        sizes[larger] += sizes[smaller]
        colours, sizes = np.delete(colours, smaller, axis=0), np.delete(sizes, smaller)
    return Palette(colours, sizes)
