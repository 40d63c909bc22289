"""Pictures of bare wood for the page: the same figure that the picture of the finished piece has."""

import cv2
import numpy as np

from purfle.sheets.figure_of_wood import tone
from purfle.wood import find

DOTS = 3.0
"""Dots a mm."""
MOST = 1600
"""Dots along the longer side at most."""


LOOKS = ("fresh", "finished", "aged")
"""Freshly planed, finished, and after years of light."""


def wood_picture(wood: str, size: tuple[float, float], seed: str, which: str = "finished") -> bytes:
    """A JPEG of so many mm of a wood, its fibres along x; the same for the same words. Raises ShopFileError.

    `which`: one of `LOOKS`; any other word is "finished".
    """
    look = find(wood).look
    colour = {"fresh": look.fresh, "aged": look.aged}.get(which, look.finished)
    dots = min(DOTS, MOST / max(size))
    wide, high = (max(8, round(side * dots)) for side in size)
    along = ((np.arange(wide, dtype=np.float32) + 0.5) / np.float32(dots))[None, :]
    across = ((np.arange(high, dtype=np.float32) + 0.5) / np.float32(dots))[:, None]
    off = tone(along, across, look, seed) - np.float32(1.0)
    blue_green_red = [
        np.float32(level) * (off * np.float32(falls) + np.float32(1.0))
        for level, falls in zip(reversed(colour), (1.2, 1.0, 0.85), strict=True)
    ]
    picture = np.clip(cv2.merge(blue_green_red) + np.float32(0.5), 0, 255).astype(np.uint8)
    made, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 88])
    assert made
    return bytes(data.tobytes())
