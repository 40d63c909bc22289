"""Reads a drawing of any kind that is understood, finely enough for the size at which it will be made."""

from pathlib import Path

from purfle.errors import DrawingError
from purfle.model.artwork import Drawing, DrawingUnit


def read_drawing(data: bytes, name: str, unit: DrawingUnit | None = None, folder: Path | None = None) -> Drawing:
    """The painted shapes of an SVG or DXF at true size. `unit`: what one unit of a DXF is, where it does not say so.

    Fonts of its texts may lie in `folder`.

    Raises: DrawingError, with what, where and mend.
    """
    if name.lower().endswith(".dxf"):
        from purfle.files.dxf_drawing import read_dxf

        return read_dxf(data, name, unit)
    if unit is not None:
        mend = "Leave the drawing unit out: an SVG says its own size."
        raise DrawingError("A unit is given for a drawing that is no DXF", name, mend)
    from purfle.files.svg_drawing import read_svg

    return read_svg(data, name, folder)
