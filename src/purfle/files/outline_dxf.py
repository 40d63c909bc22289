"""Outlines of one set-up as DXF (R2000, mm), for whatever follows a drawing and reads no SVG.

Closed light polylines with bulges; the layer names the set-up, the extended data of each polyline the line.
Source: DXF reference, LWPOLYLINE group 42: bulge = tan(sweep / 4), positive counter-clockwise.
"""

import io
from collections.abc import Iterator
from contextlib import contextmanager

import ezdxf
from ezdxf.document import Drawing
from ezdxf.filemanagement import new as new_drawing
from shapely.geometry.base import BaseGeometry

from purfle.files.outline_rings import DECIMALS, OutlineSheet, rings_of, sheet_of
from purfle.geometry.arcs import ArcSegment, Segment
from purfle.model.cutting import SetUp

APP_ID = "PURFLE"
STOCK_LAYER = "STOCK"
_MILLIMETRES = 4
_STRING = 1000
_BULGE_DECIMALS = 9
"""A bulge is a share of the chord: so many decimals keep a chord of 2 m within a thousandth of what is allowed."""


def write_outline_dxf(job_name: str, set_up: SetUp) -> bytes:
    """The outline file of one set-up, finished lines in the set-up frame.

    The same set-up gives the same bytes: dates and identifiers are fixed. The job's name is a property of the
    drawing, `JOB`.
    """
    return write_sheet_dxf(job_name, sheet_of(set_up))


def write_sheet_dxf(job_name: str, sheet: OutlineSheet) -> bytes:
    """The same of whatever an outline file shows; its layer is called as the group of the SVG, in capitals."""
    layer = sheet.group.upper()
    with _fixed_dates():
        drawing: Drawing = new_drawing("R2000", units=_MILLIMETRES)
        drawing.appids.new(APP_ID)
        drawing.layers.add(layer, color=7)
        drawing.layers.add(STOCK_LAYER, color=8)
        drawing.header.custom_vars.append("JOB", job_name)
        _extents(drawing, sheet)
        stock, *lines = rings_of((sheet.stock, *(region for _, _, region in sheet.lines)))
        for ring in stock:
            _polyline(drawing, ring, STOCK_LAYER)
        for (line_id, _, _), rings in zip(sheet.lines, lines, strict=True):
            for ring in rings:
                _polyline(drawing, ring, layer, line_id)
        text = io.StringIO()
        drawing.write(text)
    return text.getvalue().encode(drawing.output_encoding, "dxfreplace")


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """Within: the library writes no clock time, no random identifier and no version of its own."""
    options = ezdxf.options  # type: ignore[attr-defined]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _extents(drawing: Drawing, sheet: OutlineSheet) -> None:
    """What a viewer shows at first: stock and lines."""
    shapes: list[BaseGeometry] = [sheet.stock, *(region for _, _, region in sheet.lines)]
    boxes = [shape.bounds for shape in shapes if not shape.is_empty]
    left, bottom = (round(min(box[i] for box in boxes), DECIMALS) for i in (0, 1))
    right, top = (round(max(box[i] for box in boxes), DECIMALS) for i in (2, 3))
    drawing.header["$EXTMIN"] = (left, bottom, 0.0)
    drawing.header["$EXTMAX"] = (right, top, 0.0)
    drawing.modelspace().reset_extents((left, bottom, 0.0), (right, top, 0.0))


def _polyline(drawing: Drawing, ring: tuple[Segment, ...], layer: str, line_id: str = "") -> None:
    corners = [
        (
            round(segment.start[0], DECIMALS) + 0.0,
            round(segment.start[1], DECIMALS) + 0.0,
            round(segment.bulge, _BULGE_DECIMALS) if isinstance(segment, ArcSegment) else 0.0,
        )
        for segment in ring
    ]
    if not corners:
        return
    polyline = drawing.modelspace().add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": layer})
    if line_id:
        polyline.set_xdata(APP_ID, [(_STRING, line_id)])
