"""The outline of an offcut and its defects, as a maker writes them: a size, a list of points, or a round place."""

import math
import re

import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import translate

from purfle.shop.entries import NOTHING, Entry

SMALLEST = 1.0
"""In mm2: an outline with less area is a slip."""
ROUND_SIDES = 48
"""Sides of the polygon that stands around a round defect."""
MOST_POINTS = 20_000
"""An outline with more points is not drawn by hand."""


def read_outline(entry: Entry) -> tuple[Polygon, MultiPolygon]:
    """Outline and defects, moved so that the lower left corner of the outline's bounds is at (0, 0)."""
    outline = _region(entry, "outline", entry.get("outline", needed=True))
    defects = [_defect(entry, value) for value in _list(entry, "defects")]
    if outline is None:
        return box(0, 0, 1, 1), MultiPolygon()
    kept: list[Polygon] = []
    for number, defect in enumerate(defects, 1):
        if defect is None:
            continue
        if not defect.intersects(outline):
            entry.fault("defects", f"defect {number} lies outside the outline", "give its place in the outline's frame")
        kept.append(defect)
    left, low, _, _ = outline.bounds
    together = shapely.union_all(kept) if kept else MultiPolygon()
    parts = [part for part in shapely.get_parts(together) if isinstance(part, Polygon)]
    return translate(outline, -left, -low), translate(MultiPolygon(parts), -left, -low)


def _list(entry: Entry, key: str) -> list[object]:
    value = entry.get(key, needed=False)
    if value is NOTHING:
        return []
    if not isinstance(value, list):
        entry.fault(key, f"'{key}' is not a list", f"write {key} = [ ... ]")
        return []
    return value


def _defect(entry: Entry, value: object) -> Polygon | None:
    """A list of points, or { middle = [x, y], across = "16 mm" } for a round one."""
    if not isinstance(value, dict):
        return _region(entry, "defects", value)
    round_one = Entry(value, entry.place, entry.notes, path=entry.path)
    middle = round_one.point(round_one.get("middle", needed=True), "middle")
    radius = round_one.length("across", (0.1, 1000.0)) / 2
    round_one.unknown_keys()
    if middle is None:
        return None
    around = radius / math.cos(math.pi / ROUND_SIDES)  # its sides touch the knot from outside
    turns = [2 * math.pi * side / ROUND_SIDES for side in range(ROUND_SIDES)]
    return Polygon([(middle[0] + around * math.cos(t), middle[1] + around * math.sin(t)) for t in turns])


def _region(entry: Entry, key: str, value: object) -> Polygon | None:
    if value is NOTHING:
        return None
    corners = _size(entry, key, value) if isinstance(value, str) else _points(entry, key, value)
    if corners is None:
        return None
    region = Polygon(corners)
    if not region.is_valid:
        why = shapely.is_valid_reason(region)
        entry.fault(key, f"the {key} crosses itself ({why})", "write its points in order around it")
        return None
    if region.area < SMALLEST:
        entry.fault(key, f"the {key} encloses no wood", "check its points and their unit")
        return None
    return region


def _size(entry: Entry, key: str, text: str) -> list[tuple[float, float]] | None:
    """Corners of "length x width"; a unit written once, at the end, holds for both."""
    parts = re.split(r"\s*[x×]\s*|\s+by\s+", text.strip().casefold())
    if len(parts) != 2:
        entry.fault(key, f"'{text[:40]}' is not a size", 'write "length x width", such as "210 x 100 mm", or points')
        return None
    if re.fullmatch(r"[\d\s./,-]+", parts[0]):
        unit = re.search(r"[a-z\"'″]+\.?$", parts[1])
        parts[0] += f" {unit[0]}" if unit else ""
    length, width = (entry.as_mm(part, key) for part in parts)
    if length is None or width is None:
        return None
    if length <= 0 or width <= 0:
        entry.fault(key, f"the {key} encloses no wood", "give a length and a width above 0")
        return None
    return [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]


def _points(entry: Entry, key: str, value: object) -> list[tuple[float, float]] | None:
    if not isinstance(value, list) or not 3 <= len(value) <= MOST_POINTS:
        entry.fault(key, f"the {key} is not a list of three points or more", "write [[0, 0], [210, 0], ...] or a size")
        return None
    points = [entry.point(one, key) for one in value]
    return None if None in points else [point for point in points if point is not None]
