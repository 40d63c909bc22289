"""Banding: a patterned strip of repeated blocks, straight or as a frame with mitred corners."""

import shapely
from shapely import Polygon

from purfle.artwork.stringing import SIDES, quarter_turn
from purfle.model.ready import Banding, Part, StraightTrack


def banding(form: Banding, woods: int) -> list[Part]:
    """The blocks of a banding, and the plain lines beside them; the same from either end of each side.

    Each side has an odd number of blocks, so that they mirror about its middle and both ends are of the first wood.
    """
    if isinstance(form.track, StraightTrack):
        strip = shapely.box(-form.track.length / 2.0, -form.width / 2.0, form.track.length / 2.0, form.width / 2.0)
        return _side(form, strip, woods)
    parts: list[Part] = []
    for number, side in enumerate(SIDES):
        along, across = form.track.length, form.track.width
        along, across = (along, across) if number % 2 == 0 else (across, along)
        outer, foot, width = along / 2.0, -across / 2.0, form.width
        corners = [(-outer, foot), (outer, foot), (outer - width, foot + width), (width - outer, foot + width)]
        for part in _side(form, Polygon(corners), woods):
            turned = shapely.transform(part.region, quarter_turn(number).points)
            parts.append(Part(f"{side} {part.name}", part.wood, turned))
    return parts


def blocks_along(length: float, block: float) -> int:
    """How many blocks of about a length fill a side: odd, at least one.

    >>> blocks_along(104.0, 10.0), blocks_along(4.0, 10.0)
    (11, 1)
    """
    return 2 * max(0, round((length / block - 1.0) / 2.0)) + 1


def _side(form: Banding, side: Polygon, woods: int) -> list[Part]:
    """One side, drawn along x: its blocks from left to right, then its lines."""
    left, low, right, high = side.bounds
    count, blocks = blocks_along(right - left, form.block), woods - int(form.line > 0.0)
    inner_low, inner_high = low + form.line, high - form.line
    ends = [left + (right - left) * number / count for number in range(count + 1)]
    parts = []
    for number in range(count):
        region = shapely.clip_by_rect(side, ends[number], inner_low, ends[number + 1], inner_high)
        if not region.is_empty:
            parts.append(Part(f"block {number + 1}", min(number, count - 1 - number) % blocks, region))
    if form.line > 0.0:
        lines = {"outer line": (low, inner_low), "inner line": (inner_high, high)}
        for name, (start, end) in lines.items():
            parts.append(Part(name, woods - 1, shapely.clip_by_rect(side, left, start, right, end)))
    return parts
