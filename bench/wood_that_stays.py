"""Whether a damage changes wood that stays, by a reckoning of its own that shares no code with writers or proof.

Programs are read by the interpreter of the tests, outlines by their reader. What a cutter takes away at a depth is the
union of discs and boxes along its moves, as shapely makes them. Wood that stays is the board; of an offcut its parts
and the plates that inserts hang on, and a hair of what touches them. The rest of an offcut is waste.

A change counts that moves a wall by `WALL`, or a floor by `FLOOR`.
"""

import json
import math
import re
import sys
from itertools import pairwise
from pathlib import Path

import shapely
from shapely.geometry.base import BaseGeometry

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from outline_reader import FLAT, placed, put_together, svg_lines
from program_reader import Stroke, strokes

WALL, FLOOR = 0.02, 0.05
"""A change of wood (mm) that has to be noticed: at a wall, and in depth."""
TOUCHES = 0.05
"""What stands so near to a part (mm) touches it."""
_DISC = 32
"""Segments of a quarter of a circle."""
Files = dict[str, bytes]


def program_changes(files: Files, changed: bytes, name: str, card: dict) -> bool:
    """Whether another text of a program changes wood that stays."""
    set_up = next(s for s in card["set_ups"] if any(p["file"] == name for p in s["programs"]))
    cutter = _cutter(card, next(p["cutter"] for p in set_up["programs"] if p["file"] == name))
    both = strokes(files[name]), strokes(changed)
    before, after = (_near(moves, both, cutter["diameter"]) for moves in both)
    others = [
        (_near(strokes(files[p["file"]]), both, 2 * cutter["diameter"]), _cutter(card, p["cutter"]))
        for p in set_up["programs"]
        if p["file"] != name
    ]
    stays = staying(set_up, files)
    floors = {round(-m.end[2], 4) for m in (*before, *after) if m.word != "G0" and m.end[2] < 0}
    ground = set_up["thickness"] if set_up["stock"] != "board" else math.inf
    levels = sorted({0.01, *(f - 0.9 * FLOOR for f in _few(floors)), *(f + 0.9 * FLOOR for f in _few(floors))})
    for depth in (level for level in levels if 0 < level < ground):
        cuts = [section(moves, cutter, depth) for moves in (before, after)]
        off = shapely.symmetric_difference(*cuts).intersection(stays)
        if not off.buffer(-WALL / 2).is_empty:
            off = off.difference(shapely.union_all([section(moves, one, depth) for moves, one in others]))
        if not off.buffer(-WALL / 2).is_empty:
            return True
    return False


def _cutter(card: dict, number: int) -> dict:
    return next(c for c in card["cutters"] if c["number"] == number)


def _near(moves: list[Stroke], both: tuple[list[Stroke], list[Stroke]], reach: float) -> list[Stroke]:
    """The moves that come near one that only one of both programs has: elsewhere both do the same."""
    told = [{(m.word, m.start, m.end, m.centre) for m in one} for one in both]
    alone = told[0] ^ told[1]
    boxes = [_box(m).buffer(reach) for one in both for m in one if (m.word, m.start, m.end, m.centre) in alone]
    tree = shapely.STRtree(boxes)
    return [m for m in moves if len(tree.query(_box(m)))]


def _box(move: Stroke) -> shapely.Polygon:
    """What a move comes into, seen from above; nothing of one that begins nowhere."""
    if math.isnan(sum(move.start)):
        return shapely.Polygon()
    return shapely.box(*shapely.MultiPoint(move.points()).bounds)


def _few(floors: set[float], most: int = 12) -> list[float]:
    """Some of the depths, evenly, the least and the most among them: a V cutter has hundreds."""
    every = sorted(floors)
    step = max(1, math.ceil(len(every) / most))
    return sorted({*every[::step], *every[-1:]})


def staying(set_up: dict, files: Files) -> BaseGeometry:
    """The wood of a set-up that is no waste, seen from above."""
    if set_up["stock"] == "board":
        return shapely.Polygon(set_up["outline"])
    lines = svg_lines(files[set_up["svg"]])
    return shapely.union_all(list(lines.values())).buffer(TOUCHES)


def section(moves: list[Stroke], cutter: dict, depth: float) -> BaseGeometry:
    """What moves take away at a depth below the top."""
    v = cutter["v"]
    tip = v["tip_radius"] if v else cutter["diameter"] / 2
    slope = math.tan(math.radians(v["half_angle"])) if v else 0.0
    taken = []
    for move in moves:
        if not min(move.start[2], move.end[2]) < -depth or math.isnan(sum(move.start)):
            continue
        if not slope and max(move.start[2], move.end[2]) <= -depth:
            taken.append(shapely.LineString(move.points()).buffer(tip, quad_segs=_DISC))
            continue
        places = [(*at, z) for at, z in zip(move.points(), _heights(move), strict=True)]
        for one, other in pairwise(places):
            taken.append(_bit(one, other, (tip, slope), depth))
    return shapely.union_all(taken)


def _heights(move: Stroke) -> list[float]:
    count = len(move.points()) - 1
    return [move.start[2] + (move.end[2] - move.start[2]) * i / count for i in range(count + 1)]


def _bit(one: tuple, other: tuple, cone: tuple[float, float], depth: float) -> BaseGeometry:
    """A straight bit of the way: the hull of the discs at its two ends, cut off where it rises above the depth."""
    tip, slope = cone
    ends = []
    for end, far in ((one, other), (other, one)):
        x, y, z = end
        if z > -depth:
            if far[2] > -depth:
                return shapely.Polygon()
            share = (z + depth) / (z - far[2])
            x, y, z = (a + share * (b - a) for a, b in zip(end, far, strict=True))
        ends.append(shapely.Point(x, y).buffer(max(tip + (-z - depth) * slope, 0.0), quad_segs=_DISC))
    return shapely.union_all(ends).convex_hull


def card_changes(before: Files, after: Files) -> bool:
    """Whether another card puts wood into other places: parts that are alike may take each other's place."""
    guides = [_openings(files) for files in (before, after)]
    if any(_off(a, b) > 0 for a, b in zip(*guides, strict=True)):
        return True
    one, other = put_together(before), put_together(after)
    for inlay, (recess, parts) in one.items():
        if recess.symmetric_difference(other[inlay][0]).area > 0:
            return True
        off = [
            min((_off(part, found) for found in other[inlay][1].values()), default=math.inf) for part in parts.values()
        ]
        if max(off, default=0.0) > 0:
            return True
    return False


def _openings(files: Files) -> list[BaseGeometry]:
    """The opening of every template where it lies, set-up by set-up."""
    card = json.loads(files["assembly.json"])
    svg = {one["number"]: one["svg"] for one in card["templates"]}
    guides = [guide for set_up in card["set_ups"] for guide in set_up["guides"]]
    return [placed(svg_lines(files[svg[one["template"]]])["opening"], one["to_set_up"]) for one in guides]


def _off(one: BaseGeometry, other: BaseGeometry) -> float:
    return shapely.symmetric_difference(one, other).buffer(-WALL / 2).area


def outline_changes(before: bytes, after: bytes, name: str) -> bool:
    """Whether an outline file shows a line, or an opening of a template, `WALL` or more off."""
    read = svg_lines if name.endswith(".svg") else dxf_lines
    one, other = read(before), read(after)
    if one.keys() != other.keys():
        return True
    off = [shapely.symmetric_difference(one[line], other[line]) for line in one]
    return any(not region.buffer(-WALL / 2).is_empty for region in off)


def dxf_lines(data: bytes) -> dict[str, BaseGeometry]:
    """The region of each line of a DXF file, even-odd; the stock, which has no name, is not among them."""
    pairs = re.findall(r"[ \t]*(-?\d+)[ \t]*\r?\n(.*?)\r?\n", data.decode() + "\n")
    found: dict[str, BaseGeometry] = {}
    for at, (code, value) in enumerate(pairs):
        if (code, value.strip()) != ("0", "LWPOLYLINE"):
            continue
        end = next(i for i in range(at + 1, len(pairs)) if pairs[i][0] == "0")
        its = pairs[at + 1 : end]
        name = next((v.strip() for c, v in its if c == "1000"), "")
        if name:
            found[name] = found.get(name, shapely.Polygon()).symmetric_difference(_polyline(its))
    return found


def _polyline(pairs: list[tuple[str, str]]) -> shapely.Polygon:
    """A closed polyline with bulges: the tangent of a quarter of the angle that each bit turns by."""
    corners: list[list[float]] = []
    for code, value in pairs:
        if code == "10":
            corners.append([float(value), 0.0, 0.0])
        elif code == "20":
            corners[-1][1] = float(value)
        elif code == "42":
            corners[-1][2] = float(value)
    ring: list[tuple[float, float]] = []
    for (x, y, bulge), (x1, y1, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        ring.append((x, y))
        if bulge:
            ring += _bulged((x, y), (x1, y1), bulge)
    return shapely.Polygon(ring).buffer(0)


def _bulged(start: tuple[float, float], end: tuple[float, float], bulge: float) -> list[tuple[float, float]]:
    turn = 4 * math.atan(bulge)
    one, other = complex(*start), complex(*end)
    centre = (one + other) / 2 + (other - one) * 1j * (1 - bulge * bulge) / (4 * bulge)
    radius = abs(one - centre)
    steps = max(1, math.ceil(abs(turn) / (2 * math.acos(max(0.0, 1 - FLAT / radius)))))
    spin = [(one - centre) * complex(math.cos(turn * i / steps), math.sin(turn * i / steps)) for i in range(1, steps)]
    return [((centre + one).real, (centre + one).imag) for one in spin]
