"""Parts that a lossy picture shows by accident: too thin to prove their colour, and no brighter or darker than what is
around them.

Compression smears colour over two or three pixels. Along a border, and above all in the end of a wedge, the smear may
look like a third colour of the palette. A part that is nowhere three pixels wide has no pixel that is free of its
neighbours, so only its brightness, which is stored finely, can prove it.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.labels import WEDGE_PX, Labels, far_off, near_colours, nearest_mixture
from purfle.artwork.palette import Palette
from purfle.artwork.parts import parts_of
from purfle.artwork.pixels import CLEAN, THREE, Flags, Pixels

NEAR_PX = 4
"""Thicker parts within this of a pixel may explain it."""
PROVEN_SHARE = 0.25
"""So many of a part's pixels have to stand out: the others lie on its borders."""


def without_smears(pixels: Pixels, palette: Palette, labels: Labels) -> Labels:
    """The labels with thin parts that nothing proves given to the colours around them. Clean pictures stay."""
    if pixels.noise < CLEAN:
        return labels
    parts = parts_of(labels)
    cored = np.zeros(len(parts.owners), bool)
    cored[np.take(parts.parts, np.flatnonzero(_inner(labels)))] = True
    if cored.all():
        return labels
    thick = np.take(cored, parts.parts)
    thin = np.flatnonzero(~thick)
    near = near_colours(labels, thick, len(palette.colours), NEAR_PX, thin)
    part = parts.parts.ravel()[thin]
    count = np.bincount(part, minlength=len(cored)).clip(1)
    proven = np.bincount(part, _stands_out(pixels, palette, near, thin), len(cored)) >= PROVEN_SHARE * count
    colours = pixels.weigh(palette.colours)
    values = np.take(pixels.weighed.reshape(-1, colours.shape[1]), thin, axis=0)
    around = near_colours(labels, thick, len(palette.colours), WEDGE_PX, thin)
    mixed, left = nearest_mixture(values, colours, around)
    own = ((values - colours[labels.ravel()[thin]]) ** 2).sum(axis=1)
    # what stands out and yet is nearer to a mixture of the colours around it is no colour of its own
    proven &= np.bincount(part, own, len(cored)) <= np.bincount(part, left, len(cored))
    close = near.any(axis=0)
    mixed[close] = nearest_mixture(values[close], colours, near[:, close])[0]
    given = np.flatnonzero(~proven[part] & around.any(axis=0))
    changed = labels.copy()
    changed.ravel()[thin[given]] = mixed[given]
    return changed


def _inner(labels: Labels) -> Flags:
    """Pixels whose eight neighbours have the same label, and so belong to the same part."""
    # fewer than 256 colours: bytes are quickest to compare
    bytes_of = labels.astype(np.uint8)
    return np.asarray(cv2.dilate(bytes_of, THREE) == cv2.erode(bytes_of, THREE))


def _stands_out(pixels: Pixels, palette: Palette, near: Flags, places: NDArray[np.intp]) -> Flags:
    """Which pixels are brighter or darker than every thicker part near them; where none is near, they are."""
    bright, limit = pixels.weigh(palette.colours)[:, :1], far_off(pixels.noise) / 2.0
    low = np.where(near, bright, np.inf).min(axis=0)
    high = np.where(near, bright, -np.inf).max(axis=0)
    seen = np.take(pixels.weighed[..., 0], places)
    return np.asarray((seen < low - limit) | (seen > high + limit))
