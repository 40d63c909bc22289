"""Reads a drawing of any kind that is understood, finely enough for the size at which it will be made."""

import re
from collections.abc import Callable
from functools import partial
from pathlib import Path

from purfle.errors import DrawingError
from purfle.model.artwork import Drawing, DrawingUnit
from purfle.tolerances import SAME_SHARE

_SIZED = re.compile(rb"<svg\b[^>]*\sheight\s*=\s*[\"'][^\"']*(?:mm|cm|in|pt|pc|q)\s*[\"']", re.IGNORECASE)
"""The height of an SVG in a unit of length; px and bare numbers are whatever a screen makes of them."""


def says_its_size(data: bytes, name: str) -> bool:
    """True for a drawing that says how large it is in the hand: a DXF, and an SVG whose height has a unit of length.

    >>> says_its_size(b'<svg width="4cm" height="3cm">', "a.svg"), says_its_size(b'<svg height="300">', "a.svg")
    (True, False)
    """
    return name.lower().endswith(".dxf") or _SIZED.search(data) is not None


def read_drawing(
    data: bytes,
    name: str,
    unit: DrawingUnit | None = None,
    folder: Path | None = None,
    height: float | None = None,
) -> Drawing:
    """The painted shapes of an SVG or DXF at the size at which they will be made, curves flattened at that size.

    `unit`: what one unit of a DXF is, where it does not say so. Fonts of its texts may lie in `folder`. `height`: mm,
    of all that is painted; None: as the drawing says. How high that is shows only once it is read: then it is read
    twice, and comes as high as asked for within the chords of the first reading.

    Raises: DrawingError, with what, where and mend.
    """
    read = _opened(data, name, unit, folder)
    drawing = read(1.0)
    enlarged = 1.0 if height is None else height / drawing.design_size[1]
    return drawing if abs(enlarged - 1.0) < SAME_SHARE else read(enlarged)


def _opened(data: bytes, name: str, unit: DrawingUnit | None, folder: Path | None) -> Callable[[float], Drawing]:
    """What reads the drawing at true size times a factor."""
    if name.lower().endswith(".dxf"):
        from purfle.files.dxf_drawing import opened

        return opened(data, name, unit)
    if unit is not None:
        mend = "Leave the drawing unit out: an SVG says its own size."
        raise DrawingError("A unit is given for a drawing that is no DXF", name, mend)
    from purfle.files.svg_drawing import read_svg

    return partial(read_svg, data, name, folder)
