"""What a picture's pixels are worth: its noise, and which of them lie in flat colour."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.model.artwork import Picture

Floats32 = NDArray[np.float32]
Flags = NDArray[np.bool_]

CLEAN = 0.08
"""Noise in grey levels below which a picture is taken as drawn by a computer and stored without loss."""
UNSEEN_NOISE = 0.3
"""What a lossy picture is taken to have where its brightness shows none: its colours differ in hue alone, and the noise
is in the hue (JPEG q75 of the set `colour`: 0.29 and more)."""
LUMA = np.array([[0.299, 0.587, 0.114], [-0.1687, -0.3313, 0.5], [0.5, -0.4187, -0.0813]], np.float32)
"""Luma and the two chroma channels. Source: ITU-T T.871 (JFIF)."""
CHROMA_WEIGHT = 0.35
"""Lossy pictures store colour at half the resolution of brightness, so colour counts for less at a border."""
HUE_SHOWS = 0.25
"""So much of a border shows in hue, of what shows in brightness: half, for hue is stored at half the resolution, and
half of that for its coarser steps, twice as large and more (ITU-T T.81, tables K.1 and K.2, from memory)."""
CELL_BITS = {3: (6, 6, 6), 4: (5, 5, 5, 3)}
"""Bits of each channel that number the cells of a table of all colours: steps of 4 levels, with alpha of 8."""
SOBEL_GAIN = 0.125
"""The 3 x 3 Sobel sum of a slope of one level a pixel is 8."""
THREE = np.ones((3, 3), np.uint8)


@dataclass(frozen=True, slots=True)
class Pixels:
    """A picture made ready for tracing.

    `values` (h, w, 3), or (h, w, 4) with alpha last, 0 to 255, laid over white. `weighed`: the same in the space in
    which mixtures are measured. `noise` in grey levels. `flat`: True where the neighbours have the same colour.
    `cells`: the cell of each pixel in a table of all colours, see `CELL_BITS`.
    """

    values: Floats32
    weighed: Floats32
    weights: Floats32
    noise: float
    flat: Flags
    cells: NDArray[np.int32]

    def weigh(self, colours: NDArray[np.generic]) -> Floats32:
        """Colours (k, c) in the space of `weighed`."""
        return np.asarray(np.asarray(colours, np.float32) @ self.weights.T, np.float32)


def places_of(flags: Flags) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Row and column of each pixel that is flagged, row by row: ten times as quick as asking numpy for both at once."""
    row, column = np.divmod(np.flatnonzero(flags), max(flags.shape[1], 1))
    return row, column


def values_of(picture: Picture) -> Floats32:
    """The picture over white as floats; where it has alpha, alpha is the fourth channel."""
    values = picture.pixels.astype(np.float32)
    if picture.alpha is None:
        return values
    share = picture.alpha.astype(np.float32)[..., None] / 255.0
    return np.concatenate([values * share + 255.0 * (1.0 - share), 255.0 * share], axis=2)


def flat_parts(values: Floats32, lossy: bool = False) -> tuple[float, Flags]:
    """The noise of the values in grey levels, and where they lie in flat colour."""
    noise = noise_of(values[..., :3])
    if lossy and noise < CLEAN:
        noise = UNSEEN_NOISE
    return noise, _flat_parts(values, noise)


def pixels_of(values: Floats32, noise: float, flat: Flags, lossy: bool) -> Pixels:
    """The values made ready, their noise and flat parts being known."""
    clean = noise < CLEAN and not lossy
    weights = np.eye(values.shape[2], dtype=np.float32)
    if not clean:
        weights[:3, :3] = LUMA * np.array([[1.0], [CHROMA_WEIGHT], [CHROMA_WEIGHT]], np.float32)
    weighed = values if clean else np.asarray(cv2.transform(values, weights), np.float32)
    return Pixels(values, weighed, weights, noise, flat, _cells_of(values))


def half_a_step(pixels: Pixels) -> float:
    """How far, as weighed, a pixel may lie from the middle of its cell at most, with room for rounding."""
    half = np.array([2.0 ** (7 - bits) for bits in CELL_BITS[pixels.values.shape[2]]])
    return float(np.linalg.norm(np.abs(pixels.weights) @ half)) + 0.1


def contrast_of(pixels: Pixels, colours: Floats32) -> NDArray[np.float64]:
    """(k, k): how far apart colours, as weighed, are in levels, for measuring where their border runs.

    In a lossy picture what differs in hue counts by `HUE_SHOWS` of that.
    """
    apart = np.abs(colours[:, None] - colours[None]).astype(np.float64)
    if pixels.weighed is not pixels.values:
        apart[..., 1:3] *= HUE_SHOWS
    return np.asarray(np.linalg.norm(apart, axis=2), np.float64)


def _cells_of(values: Floats32) -> NDArray[np.int32]:
    cells = np.zeros(values.shape[:2], np.int32)
    # the cell is that of the value rounded down
    for plane, bits in zip(cv2.split(values.astype(np.uint8)), CELL_BITS[values.shape[2]], strict=True):
        cells <<= bits
        cells |= (np.asarray(plane, np.uint8) >> (8 - bits)).astype(np.int32)
    return cells


def noise_of(values: Floats32) -> float:
    """The noise of flat colour near strong borders, in grey levels: there it is worst in a lossy picture, and matters.

    The root mean square of the Laplacian over pixels 2 to 7 px from a border, its top 5 % left out.
    """
    grey = cv2.cvtColor(np.ascontiguousarray(values), cv2.COLOR_RGB2GRAY)
    kernel = np.array([[0, 1, 0], [1, -4, 1], [0, 1, 0]], np.float32) / np.float32(np.sqrt(20.0))
    bend = np.abs(cv2.filter2D(grey, -1, kernel))
    spread = cv2.dilate(grey, THREE) - cv2.erode(grey, THREE)
    calm = spread < 40.0
    border = (~calm).astype(np.uint8)
    near = cv2.dilate(border, np.ones((15, 15), np.uint8)) > 0
    band = near & (cv2.dilate(border, np.ones((5, 5), np.uint8)) == 0)
    sample = bend[band] if int(band.sum()) > 50 else bend[calm]
    if sample.size == 0:
        return 0.0
    kept = np.partition(sample, int(sample.size * 0.95) - 1 if sample.size > 20 else sample.size - 1)
    kept = kept[: max(int(sample.size * 0.95), 1)]
    return float(np.sqrt(np.mean(kept.astype(np.float64) ** 2)))


def _flat_parts(values: Floats32, noise: float) -> Flags:
    """True where neither the 3 x 3 range nor the slope exceeds what the noise explains.

    The slope averages six pixels, so it sees pale borders that hide in the range of a noisy picture.
    """
    planes = cv2.split(cv2.convertScaleAbs(values))
    spread = _largest([cv2.subtract(cv2.dilate(plane, THREE), cv2.erode(plane, THREE)) for plane in planes])
    flat = np.asarray(spread <= 8.0 + 10.0 * noise)
    if noise < CLEAN:
        return flat
    steep = (4.0 + 2.5 * noise) / SOBEL_GAIN
    slopes = [cv2.Sobel(plane, cv2.CV_16S, *way) for plane in planes for way in ((1, 0), (0, 1))]
    flat &= _largest([np.abs(slope) for slope in slopes]) <= steep
    return flat


def _largest(planes: Sequence[NDArray[Any]]) -> NDArray[Any]:
    first, *rest = planes
    for plane in rest:
        first = np.asarray(cv2.max(first, plane), first.dtype)
    return first
