"""Outlines of one set-up as SVG at true size, for whatever follows a drawing.

One group for the set-up turns y up; below it one group for each kind of work and one for the stock; names carry the
meaning, colours none. Source: SVG 1.1 (W3C), chapters 7 and 8.
"""

import math
from collections.abc import Iterable
from html import escape

from purfle.files.outline_rings import OutlineSheet, Rings, rings_of, sheet_of, written
from purfle.geometry.arcs import ArcSegment, Segment
from purfle.model.cutting import SetUp

MARGIN = 5.0
"""Paper around the stock and the lines."""
_GROUPS = {"recess": "recess", "part": "parts"}
_RADIUS_DECIMALS = 7
"""A radius keeps two decimals more than a place: on a flat arc it moves the rise by less than it is rounded."""


def write_outline_svg(job_name: str, set_up: SetUp) -> bytes:
    """The outline file of one set-up, finished lines in the set-up frame, 1 unit = 1 mm.

    Arcs stay arcs; a line with several rings is one path, filled by the even-odd rule.
    """
    return write_sheet_svg(job_name, sheet_of(set_up))


def write_sheet_svg(job_name: str, sheet: OutlineSheet) -> bytes:
    """The same of whatever an outline file shows."""
    left, low, right, high = _bounds(sheet)
    width, height = written(right - left), written(high - low)
    title = f"{job_name}, {sheet.title}"
    stock, *lines = rings_of((sheet.stock, *(region for _, _, region in sheet.lines)))
    drawn = list(zip(sheet.lines, lines, strict=True))
    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">',
        f"<title>{escape(_printable(title), quote=False)}</title>",
        f'<g id="{sheet.group}" transform="matrix(1 0 0 -1 {written(-left)} {written(high)})"'
        ' fill-rule="evenodd" stroke="#000000" stroke-width="0.1">',
        *_group("stock", "none", [("stock-outline", stock)]),
    ]
    for kind, name in _GROUPS.items():
        of_kind = [(line_id, rings) for (line_id, its, _), rings in drawn if its == kind]
        rows += _group(name, "#d9d9d9", of_kind) if of_kind else []
    return "\n".join([*rows, "</g>", "</svg>", ""]).encode()


def _bounds(sheet: OutlineSheet) -> tuple[float, float, float, float]:
    """Paper that holds stock and lines, in their frame, on whole mm so that its size is exact."""
    boxes = [sheet.stock.bounds, *(region.bounds for _, _, region in sheet.lines)]
    left, low = (min(box[i] for box in boxes) - MARGIN for i in (0, 1))
    right, high = (max(box[i] for box in boxes) + MARGIN for i in (2, 3))
    return left // 1, low // 1, -(-right // 1), -(-high // 1)


def _group(name: str, fill: str, lines: Iterable[tuple[str, Rings]]) -> list[str]:
    paths = [f'<path id="{escape(line_id)}" d="{_path(rings)}"/>' for line_id, rings in lines]
    return [f'<g id="{name}" fill="{fill}">', *paths, "</g>"]


def _path(rings: Rings) -> str:
    return " ".join(_ring(ring) for ring in rings if ring)


def _ring(ring: tuple[Segment, ...]) -> str:
    """One closed ring; a straight way back to its start is left to Z."""
    commands = [f"M{_place(ring[0].start)}"]
    for segment in ring:
        if isinstance(segment, ArcSegment):
            radius = f"{segment.radius:.{_RADIUS_DECIMALS}f}"
            large = int(abs(segment.sweep) > math.pi)
            commands.append(f"A{radius} {radius} 0 {large} {int(segment.ccw)} {_place(segment.end)}")
        elif segment is not ring[-1]:
            commands.append(f"L{_place(segment.end)}")
    return " ".join([*commands, "Z"])


def _place(point: tuple[float, float]) -> str:
    return f"{written(point[0])} {written(point[1])}"


def _printable(text: str) -> str:
    """A text without the signs that XML forbids."""
    return "".join(sign if sign.isprintable() else " " for sign in text)
