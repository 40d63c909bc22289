"""Colours of areas too small to have flat pixels in a lossy picture: found where no known colour explains the pixels.

Compression leaves noise about every border, so that an area of a few pixels' width has no flat pixel, and the palette,
which is made from flat ones, does not know its colour. Its pixels then are no mixture of the known colours near them
either: where such pixels lie together in a patch, the middle of the patch shows the colour.
"""

from dataclasses import replace

import cv2
import numpy as np

from purfle.artwork.colour import lab_of
from purfle.artwork.labels import Labelled, far_off, near_colours
from purfle.artwork.palette import Palette, clusters
from purfle.artwork.pixels import CLEAN, Flags, Pixels

NEAR_PX = 4
"""Colours that are flat within this of a pixel may explain it."""
PATCH_PX = 5
"""A patch of unexplained pixels has to hold a square of this side: borders are unexplained for two or three pixels."""
FEWEST_MIDDLES = 6
"""A colour needs so many pixels in the middles of patches."""
LEAST_APART = 20.0
"""A colour nearer than this, in CIELAB, to a known one is the known one, smeared."""
REACH = 16.0
"""Pixels of one small area differ by this much in CIELAB in a lossy picture."""


def with_small_colours(pixels: Pixels, palette: Palette, labelled: Labelled) -> tuple[Pixels, Palette]:
    """Flat pixels and palette, with those of small areas that the palette does not explain.

    Unchanged in clean pictures, where such areas have flat pixels of their own. `labelled`: what the palette explains
    so far.
    """
    if pixels.noise < CLEAN:
        return pixels, palette
    left = _stand_out(pixels, palette, labelled)
    middles = cv2.erode(left.view(np.uint8), np.ones((PATCH_PX, PATCH_PX), np.uint8), borderValue=0) > 0
    if np.count_nonzero(middles) < FEWEST_MIDDLES:
        return pixels, palette
    found = clusters(pixels.values[middles], FEWEST_MIDDLES, REACH)
    known, lab = lab_of(palette.colours[:, :3]), lab_of(found.colours[:, :3])
    new = np.linalg.norm(lab[:, None] - known, axis=2).min(axis=1) > LEAST_APART
    if not new.any():
        return pixels, palette
    colours, sizes = found.colours[new], found.sizes[new]
    more = Palette(np.concatenate([palette.colours, colours]), np.concatenate([palette.sizes, sizes]))
    return replace(pixels, flat=np.asarray(pixels.flat | middles)), more


def _stand_out(pixels: Pixels, palette: Palette, labelled: Labelled) -> Flags:
    """Pixels that are brighter or darker than all known colours near them.

    Hue alone does not count: it is stored coarsely, and smeared over the borders of areas that are well known.
    """
    limit = far_off(pixels.noise)
    bright = pixels.weigh(palette.colours)[:, 0]
    sure = labelled.sure
    places = np.flatnonzero(labelled.unexplained)
    near = near_colours(labelled.labels, sure, len(bright), NEAR_PX, places)
    seen = np.take(pixels.weighed[..., 0], places)
    low = np.where(near, bright[:, None], np.inf).min(axis=0) - limit
    high = np.where(near, bright[:, None], -np.inf).max(axis=0) + limit
    colours = pixels.weigh(palette.colours)
    own = colours[labelled.labels.ravel()[places]]
    values = np.take(pixels.weighed.reshape(-1, colours.shape[1]), places, axis=0)
    far = ((values - own) ** 2).sum(axis=1) > limit * limit
    stands_out = np.zeros_like(sure)
    # deep inside an area that has no flat pixel at all, nothing is near
    stands_out.ravel()[places] = far & ((seen < low) | (seen > high))
    return stands_out
