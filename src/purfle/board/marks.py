"""What the maker pencils on the board: lines, points, and two points that prove the picture stands right."""

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from purfle.board.placing import in_board, inserts_bounds
from purfle.geometry.pose import Polyline
from purfle.model.board import Board, Fitting, Inlay, Mark
from purfle.model.findings import FACES, Face
from purfle.model.pieces import Insert
from purfle.tolerances import SAME_PLACE, SEEN_ON_A_RULE

Place = tuple[float, float]
SLENDER = 2.0
"""A piece this many times as long as wide has a point to measure to."""
COMPACT = 0.5
"""A piece that fills this share of the circle around it has a middle to measure to."""


@dataclass(frozen=True, slots=True)
class Proof:
    """A place in the picture that is easy to find and to measure to."""

    name: str
    place: Place


def marks_of(board: Board, inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...]) -> tuple[Mark, ...]:
    """All marks, numbered through on each face: the picture first, then keys, then fittings. None stands twice."""
    # what is let into an insert needs no mark: the machine finds it from the same corner
    inlays = in_board(inlays)
    wanted = [mark for inlay in inlays if inlay.kind == "picture" for mark in _picture_marks(inlay)]
    wanted += [_middle_mark(inlay) for inlay in inlays if inlay.kind == "key"]
    wanted += [mark for fitting in fittings for mark in _fitting_marks(fitting)]
    numbered: list[Mark] = []
    for face in FACES:
        single = _without_doubles([mark for mark in wanted if mark.face == face and not _on_edge(mark, board)])
        numbered += [replace(mark, number=number) for number, mark in enumerate(single, 1)]
    return tuple(numbered)


def _picture_marks(inlay: Inlay) -> list[Mark]:
    """Ends, centre line, foot and top of the picture, then its proof points."""
    left, low, right, high = inserts_bounds(inlay.fit, inlay.pose)
    foot, top = (low, high) if inlay.face == "show" else (high, low)  # seen from below, edge A lies at the top
    lines = [
        _line_x(f"left end of the {inlay.name}", inlay.face, left),
        _line_x("centre line", inlay.face, (left + right) / 2),
        _line_x(f"right end of the {inlay.name}", inlay.face, right),
        _line_y(f"foot of the {inlay.name}", inlay.face, foot),
        _line_y(f"top of the {inlay.name}", inlay.face, top),
    ]
    points = [Mark(0, f"proof: {p.name}", inlay.face, "point", *p.place) for p in _proof_points(inlay)]
    return lines + points


def _proof_points(inlay: Inlay) -> list[Proof]:
    """The middle of the smallest compact insert, and the point of a slender one that stands clear of all other marks.

    Where the picture has neither, the middles of the inserts serve that lie furthest apart.
    """
    inserts = [replace(one, region=inlay.pose.region(one.region)) for one in inlay.fit.inserts]
    first = _smallest_compact(inserts)
    tips = [tip for one in inserts if (tip := _tip(one))]
    chosen = [first] if first else []
    lines = inserts_bounds(inlay.fit, inlay.pose)
    clear = [(_room_around(tip.place, lines, chosen), tip) for tip in tips]
    clear = [(room, tip) for room, tip in clear if room > SEEN_ON_A_RULE]
    if clear:
        chosen.append(max(clear, key=lambda it: it[0])[1])
    spare = [_middle_of(one) for one in inserts]
    while len(chosen) < 2 and (left := [it for it in spare if _room_between(it, chosen) > SEEN_ON_A_RULE]):
        chosen.append(max(left, key=lambda it: _room_between(it, chosen)))
    return chosen


def _smallest_compact(inserts: list[Insert]) -> Proof | None:
    compact = [one for one in inserts if one.region.area > COMPACT * _circle_area(one.region)]
    return _middle_of(min(compact, key=lambda one: one.region.area)) if compact else None


def _circle_area(region: Polygon) -> float:
    return math.pi * float(shapely.minimum_bounding_radius(region)) ** 2


def _middle_of(insert: Insert) -> Proof:
    """The middle of the widest place of a piece: it lies inside whatever its shape."""
    start, _ = shapely.get_coordinates(shapely.maximum_inscribed_circle(insert.region))
    centre = insert.region.centroid
    place = (centre.x, centre.y) if insert.region.area > COMPACT * _circle_area(insert.region) else tuple(start)
    return Proof(f"middle of {_named(insert)}", (float(place[0]), float(place[1])))


def _tip(insert: Insert) -> Proof | None:
    """The far point of a slender piece: the corner furthest from its middle. None if it is not slender."""
    long, short = sides_of(insert.region)
    if long < SLENDER * short:
        return None
    corners: Polyline = shapely.get_coordinates(insert.region.exterior)
    centre = np.array([insert.region.centroid.x, insert.region.centroid.y])
    far = corners[int(np.argmax(np.hypot(*(corners - centre).T)))]
    return Proof(f"point of {_named(insert)}", (float(far[0]), float(far[1])))


def sides_of(region: Polygon) -> tuple[float, float]:
    """The long and the short side of the smallest rectangle around a region.

    >>> from shapely import box
    >>> sides_of(box(0, 0, 3, 5))
    (5.0, 3.0)
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    if len(corners) < 4:
        return float(region.length) / 2, 0.0
    sides = sorted(float(np.hypot(*(corners[i + 1] - corners[i]))) for i in (0, 1))
    return sides[1], sides[0]


def _named(insert: Insert) -> str:
    return insert.name or f"piece {insert.number}"


def _room_around(place: Place, lines: tuple[float, float, float, float], chosen: list[Proof]) -> float:
    """How far a place keeps off the picture's lines and off the points chosen before."""
    left, low, right, high = lines
    x, y = place
    ways = [x - left, right - x, abs(x - (left + right) / 2), y - low, high - y]
    return min([*ways, *(math.dist(place, other.place) for other in chosen)])


def _room_between(proof: Proof, chosen: list[Proof]) -> float:
    return min((math.dist(proof.place, other.place) for other in chosen), default=math.inf)


def _middle_mark(inlay: Inlay) -> Mark:
    left, low, right, high = inserts_bounds(inlay.fit, inlay.pose)
    return Mark(0, f"middle of {inlay.name}", inlay.face, "point", (left + right) / 2, (low + high) / 2)


def _fitting_marks(fitting: Fitting) -> list[Mark]:
    """A round recess has a middle to prick; of a rectangular one its sides are lines."""
    if fitting.is_round:
        return [Mark(0, f"middle of {fitting.name}", fitting.face, "point", *fitting.centre)]
    (x, y), (length, width) = fitting.centre, fitting.size
    towards, away = ("inner side", "inner side") if fitting.open_edge else ("side towards A", "side away from A")
    return [
        _line_x(f"left end of {fitting.name}", fitting.face, x - length / 2),
        _line_x(f"right end of {fitting.name}", fitting.face, x + length / 2),
        _line_y(f"{towards} of {fitting.name}", fitting.face, y - width / 2),
        _line_y(f"{away} of {fitting.name}", fitting.face, y + width / 2),
    ]


def _on_edge(mark: Mark, board: Board) -> bool:
    """True for a line on an edge of the board: the edge itself is the line."""
    at, extent = (mark.from_b, board.length) if mark.kind == "line_x" else (mark.from_a, board.width)
    return mark.kind != "point" and at is not None and (at <= SAME_PLACE or at >= extent - SAME_PLACE)


def _without_doubles(marks: list[Mark]) -> list[Mark]:
    """Marks at one and the same place become one, with the names of all."""
    single: list[Mark] = []
    for mark in marks:
        twin = next((n for n, other in enumerate(single) if _same_place(mark, other)), None)
        if twin is None:
            single.append(mark)
        elif mark.name not in single[twin].name.split(", "):
            single[twin] = replace(single[twin], name=f"{single[twin].name}, {mark.name}")
    return single


def _same_place(one: Mark, other: Mark) -> bool:
    if one.kind != other.kind:
        return False
    pairs = ((one.from_b, other.from_b), (one.from_a, other.from_a))
    return all(
        (a is None and b is None) or (a is not None and b is not None and abs(a - b) <= SAME_PLACE) for a, b in pairs
    )


def _line_x(name: str, face: Face, at: float) -> Mark:
    return Mark(0, name, face, "line_x", at, None)


def _line_y(name: str, face: Face, at: float) -> Mark:
    return Mark(0, name, face, "line_y", None, at)
