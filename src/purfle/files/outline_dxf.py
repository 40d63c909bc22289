"""Outlines of one set-up as DXF (R2000, mm), for whatever follows a drawing and reads no SVG.

Closed light polylines with bulges; the layer names the set-up, the extended data of each polyline the line.
Source: DXF reference, LWPOLYLINE: groups 10, 20 and 42, bulge = tan(sweep / 4), positive counter-clockwise.

What stands around the outlines is the same in every file: `builders/dxf_frame.py` has written it.
"""

import re
from functools import cache
from importlib import resources

from shapely.geometry.base import BaseGeometry

from purfle.files.outline_rings import DECIMALS, rings_of
from purfle.geometry.arcs import ArcSegment, Segment
from purfle.model.cutting import SetUp

APP_ID = "PURFLE"
STOCK_LAYER = "STOCK"
_FRAME = "outline_frame.dxf"
_MODEL_SPACE = "17"
"""The handle of the block that every outline belongs to, in the frame."""
_BULGE_DECIMALS = 9
"""A bulge is a share of the chord: so many decimals keep a chord of 2 m within a thousandth of what is allowed."""


def write_outline_dxf(set_up: SetUp) -> bytes:
    """The outline file of one set-up, finished lines in the set-up frame.

    The same set-up gives the same bytes: no date and no identifier in it changes.
    """
    layer = f"SET-UP-{set_up.number}"
    stock, *lines = rings_of((set_up.outline, *(line.region for line in set_up.lines)))
    rings = [(ring, STOCK_LAYER, "") for ring in stock]
    rings += [(ring, layer, line.id) for line, its in zip(set_up.lines, lines, strict=True) for ring in its]
    rings = [one for one in rings if one[0]]
    first, frame = _frame()
    outlines = "".join(_polyline(*one, handle) for handle, one in enumerate(rings, first))
    after = first + len(rings)
    words = _extents(set_up) | {"layer": layer, "outlines": outlines}
    words |= {word: f"{after + number:X}" for number, word in enumerate(_handles(frame))}
    return re.sub(r"<([^>]+)>", lambda word: words[word[1]], frame).encode("ascii")


@cache
def _frame() -> tuple[int, str]:
    """The handle of the first outline, and the file with words in angle brackets where something is put in."""
    text = resources.files("purfle.files").joinpath(_FRAME).read_text(encoding="ascii")
    first, _, frame = text.partition("\n")
    return int(first, 16), frame


def _handles(frame: str) -> list[str]:
    """The handles that follow on those of the outlines, in their order."""
    return [*sorted(set(re.findall(r"<(handle \d)>", frame))), "next handle"]


def _extents(set_up: SetUp) -> dict[str, str]:
    """What a viewer shows at first: stock and lines."""
    shapes: list[BaseGeometry] = [set_up.outline, *(line.region for line in set_up.lines)]
    boxes = [shape.bounds for shape in shapes if not shape.is_empty]
    low = [round(min(box[i] for box in boxes), DECIMALS) for i in (0, 1)]
    high = [round(max(box[i] for box in boxes), DECIMALS) for i in (2, 3)]
    return {name: str(value) for name, value in zip(("left", "bottom", "right", "top"), (*low, *high), strict=True)}


def _polyline(ring: tuple[Segment, ...], layer: str, line_id: str, handle: int) -> str:
    """One closed light polyline; its line's name as extended data."""
    rows = [(0, "LWPOLYLINE"), (5, f"{handle:X}"), (330, _MODEL_SPACE), (100, "AcDbEntity"), (8, layer)]
    rows += [(100, "AcDbPolyline"), (90, str(len(ring))), (70, "1")]
    for segment in ring:
        rows += [(10, _number(segment.start[0])), (20, _number(segment.start[1]))]
        bulge = round(segment.bulge, _BULGE_DECIMALS) if isinstance(segment, ArcSegment) else 0.0
        rows += [(42, str(bulge))] if bulge else []
    rows += [(1001, APP_ID), (1000, line_id)] if line_id else []
    return "".join(f"{group:3d}\n{value}\n" for group, value in rows)


def _number(value: float) -> str:
    return str(round(value, DECIMALS) + 0.0)
