"""Parts of a lossy picture whose middle is plainly of another colour than the one that they were given.

A small area has few flat pixels, or none, and where it differs from its neighbours in hue alone its smeared pixels are
nearest to some colour of the palette by their brightness. Its middle, which no border reaches, still shows its colour.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.colour import lab_of
from purfle.artwork.labels import Labels
from purfle.artwork.palette import MOST_COLOURS, Floats, Palette
from purfle.artwork.parts import Parts, parts_of
from purfle.artwork.pixels import CLEAN, Pixels

MIDDLE_PX = 5
"""A pixel lies in the middle of a part if the square of this side about it belongs to the part."""
FEWEST_MIDDLES = 4
"""So few such pixels show a colour: each is of the same area, and their mean is what counts."""
SMALL_PX = 2000
"""A part of more pixels has flat ones enough to have put its colour into the palette."""
APART = 12.0
"""A middle further than this, in CIELAB, from the part's colour is of another one (JPEG q75 and q50 of the set
`colour`: parts of the right colour up to 10.6, of a wrong one 35 and more)."""


def with_own_colours(
    pixels: Pixels, palette: Palette, labels: Labels, known_alone: bool = False
) -> tuple[Palette, Labels]:
    """Palette and labels with such parts given to the colour that their middle has: a known one, or a new one.

    Clean pictures stay as they are. `known_alone`: no colour is added, since the maker said how many there are.
    """
    if pixels.noise < CLEAN:
        return palette, labels
    parts = parts_of(labels)
    if (parts.sizes >= SMALL_PX).all():
        return palette, labels
    wrong, middles = _wrong_parts(pixels, palette, labels, parts)
    if len(wrong) == 0:
        return palette, labels
    colours = palette.colours
    given = parts.owners.astype(np.int64)
    for part, middle in zip(wrong.tolist(), middles, strict=True):
        away = np.linalg.norm(lab_of(colours[:, :3]) - lab_of(middle[:3]), axis=1)
        if away.min() < APART:
            given[part] = int(away.argmin())
        elif not known_alone and len(colours) < MOST_COLOURS:
            given[part] = len(colours)
            colours = np.concatenate([colours, middle[None]])
    more = np.bincount(given[wrong], minlength=len(colours))[len(palette.colours) :]
    sizes = np.concatenate([palette.sizes, more.astype(np.float64)])
    return Palette(colours, sizes), np.take(given.astype(labels.dtype), parts.parts)


def _wrong_parts(pixels: Pixels, palette: Palette, labels: Labels, parts: Parts) -> tuple[NDArray[np.int64], Floats]:
    """The parts whose middle is of another colour, the one with the largest middle first, and the means of these."""
    # fewer than 256 colours: bytes are quickest to compare
    bytes_of, square = labels.astype(np.uint8), np.ones((MIDDLE_PX, MIDDLE_PX), np.uint8)
    middles = cv2.dilate(bytes_of, square) == cv2.erode(bytes_of, square)
    middles &= np.take(parts.sizes < SMALL_PX, parts.parts)
    inner = np.flatnonzero(middles)
    part = np.take(parts.parts, inner)
    count = np.bincount(part, minlength=len(parts.owners))
    values = np.take(pixels.values.reshape(-1, pixels.values.shape[2]), inner, axis=0)
    sums = [np.bincount(part, values[:, channel], len(count)) for channel in range(values.shape[1])]
    means = np.stack(sums, axis=1) / count.clip(1)[:, None]
    off = np.linalg.norm(lab_of(means[:, :3]) - lab_of(palette.colours[parts.owners][:, :3]), axis=1)
    wrong = np.flatnonzero((off > APART) & (count >= FEWEST_MIDDLES))
    wrong = wrong[np.argsort(-count[wrong], kind="stable")]
    return wrong, means[wrong]
