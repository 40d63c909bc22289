"""DXF files made with ezdxf for the tests of the reader."""

import io
from collections.abc import Callable

import ezdxf
from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace

Draw = Callable[[Drawing, Modelspace], object]


def dxf_bytes(draw: Draw, units: int = 4, version: str = "R2010", binary: bool = False) -> bytes:
    """What `draw` puts into the model space of a new drawing; 4 is mm, 0 no unit."""
    document = ezdxf.new(version)
    document.units = units
    draw(document, document.modelspace())
    if binary:
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode(document.output_encoding, "surrogateescape")
