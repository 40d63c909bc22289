"""Names, numbers and arrows put where they are clear of everything drawn before."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from purfle.sheets.drawing import ALIKE, CENTRE, EDGE, FINE, HAIR, HEAVY, Drawing
from purfle.sheets.features import Feature
from purfle.sheets.lettering import height, width
from purfle.sheets.rooms import (
    MARK,
    Anchor,
    Place,
    in_fewer_corners,
    lengths_inside,
    mark_shape,
    moved_to,
    strip,
    strips,
    strips_each,
    text_box,
)
from purfle.sheets.view import View
from purfle.tolerances import SEEN_ON_A_RULE

LABEL, NOTE = 10.5, 9.5
_DIRECTIONS = tuple(i * 15.0 for i in range(24))
_REACHES = (5.5, 7.5, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0, 50.0)
"""How far from its point a mark or label may stand."""
NEAR, FAR = 14.0, 25.0
"""Further off only if there is no room so near; from the end of a strip."""


Label = tuple[Place, Anchor, list[Place]]
"""Where a label stands, which of its sides lies there, and its leader."""
_MARK_AIR = 1.2
"""A mark keeps the room of one so many times as large."""
_PLAIN, _PLAIN_INSIDE = (11.0, 9.5), 0.93
"""Sizes of a number without a ring, in points; so much of it at least lies inside its piece."""
_STRIP, _AT_END = 16.0, 0.03
"""A piece so many times as long as its largest circle is a strip; its ends are marked that share of it inwards."""
Zone = tuple[float, float, float, float]
"""A part of the paper: left, upper, right and lower side."""
LARGE = 200.0
"""A region of so many mm2 on paper may be crossed by a leader."""


@dataclass(frozen=True, slots=True)
class Numbered:
    """A piece as it lies on paper with its number; middle and radius of the largest circle inside it."""

    label: str
    shape: BaseGeometry
    middle: Place
    inscribed: float

    @classmethod
    def of(cls, label: str, shape: BaseGeometry) -> "Numbered":
        """A piece whose largest circle is not known yet."""
        return cls(label, shape, *largest_circle(shape))


def pointed_mark(drawing: Drawing, at: Place, label: str, short: float = 0.0) -> None:
    """A numbered mark beside a point, with a leader that ends on it with a dot, or `short` of it."""
    _draw_pointed(drawing, at, (_free_spot(drawing, at, label, short), label), short)


def _free_spot(drawing: Drawing, at: Place, label: str, short: float = 0.0) -> Place:
    """The best place for a mark beside a point; mark and leader claim theirs."""
    reaches = [reach for reach in _REACHES if reach > MARK + 3.0 * short]
    if (spot := _clear_spot(drawing, at, label, [reach for reach in reaches if reach <= NEAR])) is not None:
        return _claimed(drawing, at, label, [spot])
    clear, crossing = _cheapest_first(drawing, at, _around(at, reaches))
    return _claimed(drawing, at, label, clear + crossing)


def _point_and_spot(drawing: Drawing, points: list[Place], label: str) -> tuple[Place, Place]:
    """Which of some points of a piece its mark points to, and where that stands: the first with clear room near it."""
    if len(points) > 1:
        for point in points:
            reaches = [reach for reach in _REACHES if reach <= (NEAR if point is points[0] else FAR)]
            if (spot := _clear_spot(drawing, point, label, reaches)) is not None:
                return point, _claimed(drawing, point, label, [spot])
    return points[0], _free_spot(drawing, points[0], label)


def _clear_spot(drawing: Drawing, at: Place, label: str, reaches: list[float]) -> Place | None:
    """The nearest free place for a mark whose leader crosses nothing, if it can be with air round the mark."""
    clear, _ = _cheapest_first(drawing, at, _around(at, reaches))
    room = mark_shape((0.0, 0.0), label)
    for shape in (shapely.transform(room, lambda xy: xy * _MARK_AIR), room):
        number = drawing.first_free(np.array(moved_to(shape, clear), dtype=object))
        if number is not None:
            return clear[number]
    return None


def _claimed(drawing: Drawing, at: Place, label: str, spots: list[Place]) -> Place:
    """The best of some spots; the mark there and its leader claim their place."""
    spot = drawing.best(zip(spots, moved_to(mark_shape((0.0, 0.0), label), spots), strict=True))
    drawing.taken.append(strip(at, spot, HAIR))
    return spot


def _around(at: Place, reaches: list[float]) -> list[Place]:
    """Spots round a point, the nearest first."""
    turns = [(math.cos(a), math.sin(a)) for a in map(math.radians, _DIRECTIONS)]
    return [(at[0] + reach * dx, at[1] + reach * dy) for reach in reaches for dx, dy in turns]


def _draw_pointed(drawing: Drawing, at: Place, mark: tuple[Place, str], short: float = 0.0) -> None:
    spot, label = mark
    share = short / math.dist(at, spot)
    drawing.line([(at[0] + share * (spot[0] - at[0]), at[1] + share * (spot[1] - at[1])), spot])
    if not short:
        drawing.circle(at, 0.45, 0.0, "#000")
    drawing.mark(spot, label)


def _cheapest_first(drawing: Drawing, at: Place, spots: list[Place]) -> tuple[list[Place], list[Place]]:
    """Spots for a mark, those first whose leader is short and crosses little.

    Those whose leader would cross a line or a figure come apart. What holds the point itself may be crossed.
    """
    leaders = shapely.linestrings([[at, spot] for spot in spots])
    taken = np.array(drawing.taken, dtype=object)
    taken = taken[shapely.distance(taken, Point(at)) < _REACHES[-1]] if len(taken) else taken
    costs, is_clear = shapely.length(leaders), np.ones(len(spots), bool)
    if len(taken):
        number, obstacle = shapely.STRtree(taken).query(leaders, predicate="intersects")
        # rounded, so that of spots that are alike the first one is taken
        costs += np.round(1.5 * lengths_inside(at, spots, shapely.simplify(taken, ALIKE)), 6)
        is_bar = (shapely.area(taken) < LARGE) & ~shapely.intersects(taken, Point(at))
        is_clear[number[is_bar[obstacle]]] = False
    order = np.argsort(costs, kind="stable")
    return [spots[i] for i in order if is_clear[i]], [spots[i] for i in order if not is_clear[i]]


def label_recess(drawing: Drawing, view: View, feature: Feature) -> None:
    """The name and depth of a recess, beside it or with a leader; on the board if there is room."""
    shape, board = view.region(feature.region), view.region(view.board.outline)
    beside = _label_options(shape, feature.label)
    on_board = [option for option in beside if board.covers(option[1])]
    free = drawing.first_free(np.array([room for _, room in on_board], dtype=object))
    if free is not None:  # nearly always: then none with a leader is asked for
        options = [on_board[free]]
    else:
        options = [*beside, *_label_options_with_leader(shape, feature.label)]
        is_on_board = shapely.covers(board, [room for _, room in options])
        options = [options[number] for number in np.argsort(~is_on_board, kind="stable")]
    at, anchor, leader = drawing.best(options)
    if leader:
        drawing.line(leader, HAIR)
        drawing.taken.append(strips(leader, HAIR))
    drawing.text(at, feature.label, LABEL, anchor=anchor, white=True)


def _label_options(shape: BaseGeometry, label: str) -> list[tuple[Label, BaseGeometry]]:
    """Above, below, right and left of a recess."""
    x0, y0, x1, y1 = shape.bounds
    x, y, up = (x0 + x1) / 2, (y0 + y1) / 2, height(LABEL) / 2
    long = width(label, LABEL)
    sides: list[tuple[Place, Anchor]] = [
        ((x, y0 - up - 1.8), "c"),
        ((x, y1 + up + 1.8), "c"),
        ((x1 + 3.2, y), "l"),
        ((x0 - 3.2, y), "r"),
        ((x1 - long, y0 - up - 1.8), "l"),
        ((x0, y0 - up - 1.8), "l"),
        ((x1 - long, y1 + up + 1.8), "l"),
        ((x0, y1 + up + 1.8), "l"),
    ]
    return [((spot, side, []), text_box(spot, label, LABEL, anchor=side)) for spot, side in sides]


def _label_options_with_leader(shape: BaseGeometry, label: str) -> list[tuple[Label, BaseGeometry]]:
    """Near ones first, in every direction from the middle of the recess; the leader starts at its edge."""
    x0, y0, x1, y1 = shape.bounds
    ways = [(math.cos(angle), math.sin(angle)) for angle in map(math.radians, _DIRECTIONS)]
    far = shapely.points([((x0 + x1) / 2 + dx * 200, (y0 + y1) / 2 + dy * 200) for dx, dy in ways])
    edges = shapely.get_coordinates(shapely.shortest_line(shape, far))[::2].tolist()
    labels: list[Label] = []
    starts: list[Place] = []
    spots: list[Place] = []
    for reach in _REACHES:
        for (dx, dy), (x, y) in zip(ways, edges, strict=True):
            starts.append((x + dx, y + dy))
            spots.append((x + dx * reach, y + dy * reach))
            side: Anchor = "l" if dx > 0.1 else "r" if dx < -0.1 else "c"
            labels.append(((spots[-1][0] + dx, spots[-1][1] + dy * 2), side, [(x, y), spots[-1]]))
    boxes = [text_box(at, label, LABEL, anchor=side) for at, side, _ in labels]
    rooms = shapely.union(boxes, strips_each(starts, spots, HAIR))
    return list(zip(labels, rooms, strict=True))


def datum_lines(drawing: Drawing, view: View) -> None:
    """Datum edges A and B, heavy; on a board whose edges are not all straight, as lines, heavy where they touch it."""
    corner, right, back = view.place(0, 0), view.place(view.board.length, 0), view.place(0, view.board.width)
    if view.board.shape is None:
        drawing.line([back, corner, right], HEAVY)
        return
    drawing.line([back, corner, right], FINE, CENTRE)
    beside = LineString([back, corner, right]).buffer(SEEN_ON_A_RULE / view.scale, cap_style="flat")
    touching = shapely.line_merge(shapely.intersection(view.region(view.board.shape).exterior, beside))
    for stretch in shapely.get_parts(touching):
        if stretch.length > SEEN_ON_A_RULE:
            drawing.line(list(stretch.coords), HEAVY)


def datum_marks(drawing: Drawing, view: View) -> None:
    """The joiner's V on datum edges A and B, pointing into the wood, each with its name.

    Where the wood along the edge is taken, the name stands outside of it; the V may then cross what lies there.
    """
    up = -1.0 if view.face == "show" else 1.0
    what = "edge" if view.board.shape is None else "line"
    words = (("A", f"front datum {what}"), ("B", f"left datum {what}"))
    for (letter, name), is_a in zip(words, (True, False), strict=True):
        letters, names = width(letter + " ", 11.5, "bold"), width(name, NOTE, "italic")
        long = (view.wide if is_a else view.high) - 6.0
        shares = _A_SHARES if is_a else _B_SHARES
        spots = [_datum_spot(view, is_a, 3.0 + long * share) for share in shares]
        options = []
        for extra, is_in in ((letters + names, True), (letters, True), (letters + names, False), (letters, False)):
            for spot in spots:
                room = _datum_room(spot, is_a, up, extra) if is_in else _outside_room(spot, is_a, up, extra)
                options.append(((spot, extra > letters, is_in), room))
        (x, y), has_name, is_in = drawing.best(options)
        _draw_v(drawing, (x, y), is_a, up)
        start = (x + 3.2, y + up * 3.0) if is_a else (x + 5.2, y)
        if not is_in:
            start = (x - 1.2, y - up * 3.6) if is_a else (x - 2.0 - letters - names * has_name, y)
        drawing.text(start, letter, 11.5, "bold", anchor="l")
        if has_name:
            drawing.text((start[0] + letters, start[1]), name, NOTE, "italic", anchor="l")


_A_SHARES = (0.86, 0.94, 0.78, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1)
_B_SHARES = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2)
"""Where on its edge a datum mark may stand, the best place first."""


def _datum_spot(view: View, is_a: bool, along: float) -> Place:
    return view.beside("a" if is_a else "left", along, 0.0)


def _datum_room(spot: Place, is_a: bool, up: float, long: float) -> BaseGeometry:
    x, y = spot
    if is_a:
        low, high = sorted((y + up * 0.8, y + up * 5.2))
        return shapely.box(x - 2.4, low, x + 4.0 + long, high)
    return shapely.box(x + 0.8, y - 2.6, x + 6.0 + long, y + 2.6)


def _outside_room(spot: Place, is_a: bool, up: float, long: float) -> BaseGeometry:
    x, y = spot
    if is_a:
        low, high = sorted((y - up * 1.2, y - up * 5.6))
        return shapely.box(x - 2.0, low, x + long, high)
    return shapely.box(x - 2.4 - long, y - 2.0, x - 1.2, y + 2.0)


def _draw_v(drawing: Drawing, at: Place, is_a: bool, up: float) -> None:
    x, y = at
    if is_a:
        drawing.line([(x - 2.2, y), (x, y + up * 4), (x + 2.2, y)], EDGE)
    else:
        drawing.line([(x, y - 2.2), (x + 4, y), (x, y + 2.2)], EDGE)


def grain_arrow(drawing: Drawing, view: View) -> None:
    """The grain of the board as a long arrow with its word, where there is room."""
    angle = view.board.grain if view.face == "show" else -view.board.grain
    outline = view.region(view.board.outline)
    x0, y0, x1, y1 = outline.bounds
    grid = [(column / 12, row / 16) for row in range(1, 16) for column in range(1, 12)]
    for long in (30.0, 22.0, 15.0):
        for right, up in grid:
            middle = (x0 + (x1 - x0) * right, y1 - (y1 - y0) * up)
            room = arrow_room(middle, long, angle)
            is_on_it = view.board.shape is None or outline.covers(room)
            if is_on_it and drawing.is_free(room):
                drawing.taken.append(room)
                return draw_arrow(drawing, middle, long, angle)


def arrow_room(middle: Place, long: float, angle: float) -> BaseGeometry:
    """What a grain arrow takes, its word included."""
    turn = math.radians(angle)
    dx, dy = math.cos(turn) * long / 2, -math.sin(turn) * long / 2
    arrow = strip((middle[0] - dx, middle[1] - dy), (middle[0] + dx, middle[1] + dy), 2.0)
    return shapely.union_all([arrow, text_box(_word_at(middle, angle), "grain", NOTE, "italic")])


def draw_arrow(drawing: Drawing, middle: Place, long: float, angle: float) -> None:
    """A grain arrow with its word beside it."""
    drawing.arrows(middle, long, angle)
    drawing.text(_word_at(middle, angle), "grain", NOTE, "italic")


def _word_at(middle: Place, angle: float) -> Place:
    """Beside the middle of the arrow, square to it; further off the steeper the arrow is."""
    turn = math.radians((angle + 90.0) % 180.0 - 90.0)
    off = 2.3 + 3.2 * abs(math.sin(turn))
    return middle[0] - math.sin(turn) * off, middle[1] - math.cos(turn) * off


def number_goes_inside(label: str, inscribed: float) -> bool:
    """True if a mark goes into a piece whose largest circle has this radius on paper."""
    return inscribed > max(MARK, float(mark_shape((0, 0), label).bounds[2])) + 0.2


def number_pieces(drawing: Drawing, pieces: list[Numbered], dark: Collection[str] = ()) -> None:
    """The numbers of pieces: inside those where they fit, in a ring if that fits too, else beside with a leader.

    `dark`: numbers of pieces drawn so dark that a number on them needs its ring.
    """
    outside, _ = _numbered_inside(drawing, pieces, dark)
    found = [_point_and_spot(drawing, points, label) for label, points in outside]
    _draw_all_pointed(drawing, [label for label, _ in outside], found)


def number_clearly(
    drawing: Drawing, pieces: list[Numbered], zone: Zone, rows: Sequence[Place] | None = None
) -> list[str]:
    """The same, but no number outside of a zone, over another, or over what claimed its place.

    With `rows`, places kept for them (there may be none), numbers that no clear leader reaches stand where theirs
    crosses other pieces, or else at one of those. Those for which no place is left are not drawn, and returned.
    """
    outside, marks = _numbered_inside(drawing, pieces, ())
    found: dict[str, tuple[Place, Place]] = {}
    further = () if rows is None else ((True, _REACHES, ()), (True, (), rows))
    ways: list[tuple[bool, Sequence[float], Sequence[Place]]] = [(False, _REACHES, ()), *further]
    for may_cross, reaches, kept in ways:
        for label, points in (one for one in outside if one[0] not in found):
            options = [(point, spot) for point in points for spot in [*_around(point, list(reaches)), *kept]]
            if way := _clear_way(drawing, label, options, marks, (zone, may_cross)):
                found[label] = way
                marks.append(mark_shape(way[1], label))
                drawing.taken += [marks[-1], strip(*way, HAIR)]
    labels = [label for label, _ in outside if label in found]
    _draw_all_pointed(drawing, labels, [found[label] for label in labels])
    return [label for label, _ in outside if label not in found]


def _clear_way(
    drawing: Drawing,
    label: str,
    options: list[tuple[Place, Place]],
    marks: list[BaseGeometry],
    where: tuple[Zone, bool],
) -> tuple[Place, Place] | None:
    """The shortest way from a point of a piece to a free spot in a zone that crosses no number; None if none is clear.

    `where`: the zone, and if the leader may cross other pieces and leaders.
    """
    (x0, y0, x1, y1), may_cross = where
    half, up = (side + FINE for side in mark_shape((0.0, 0.0), label).bounds[2:])
    options = [o for o in options if x0 + half <= o[1][0] <= x1 - half and y0 + up <= o[1][1] <= y1 - up]
    if not options:
        return None
    leaders = shapely.linestrings(options)
    bars = marks if may_cross else drawing.taken
    is_clear = np.ones(len(options), bool)
    if bars:
        number, bar = shapely.STRtree(bars).query(leaders, predicate="intersects")
        starts = shapely.points([options[n][0] for n in number])
        is_own = shapely.intersects(starts, np.array(bars, dtype=object)[bar])
        is_clear[number[~is_own]] = False
    order = [n for n in np.argsort(np.round(shapely.length(leaders), 6), kind="stable") if is_clear[n]]
    free = drawing.first_free(np.array(moved_to(mark_shape((0.0, 0.0), label), [options[n][1] for n in order]), object))
    return None if free is None else options[order[free]]


def _numbered_inside(
    drawing: Drawing, pieces: list[Numbered], dark: Collection[str]
) -> tuple[list[tuple[str, list[Place]]], list[BaseGeometry]]:
    """Draws the numbers that go inside; the others with the points that they may point to, and what numbers take."""
    outside, marks = [], []
    for piece in pieces:
        label, shape, middle = piece.label, piece.shape, piece.middle
        if number_goes_inside(label, piece.inscribed):
            drawing.mark(middle, label)
            marks.append(mark_shape(middle, label))
        elif label not in dark and (plain := _plain_size(shape, middle, label)):
            drawing.text(middle, label, plain, "bold")
            marks.append(text_box(middle, label, plain, "bold"))
        else:
            outside.append((label, [middle, *_ends(shape, piece.inscribed)]))
        # as good as the outline itself on paper, and much cheaper to keep clear of
        drawing.taken.append(in_fewer_corners(shape, ALIKE))
    return outside, marks


def _draw_all_pointed(drawing: Drawing, labels: list[str], found: list[tuple[Place, Place]]) -> None:
    points, spots = [point for point, _ in found], [spot for _, spot in found]
    _uncross(points, spots, labels)
    for label, point, spot in zip(labels, points, spots, strict=True):
        _draw_pointed(drawing, point, (spot, label))


def largest_circle(shape: BaseGeometry) -> tuple[Place, float]:
    """Middle and radius of the largest circle inside a piece."""
    room = shapely.maximum_inscribed_circle(shape)
    return (float(room.coords[0][0]), float(room.coords[0][1])), float(room.length)


def number_goes_in(piece: Numbered) -> bool:
    """True if a number goes into a piece as it lies on paper, with its ring or without."""
    return number_goes_inside(piece.label, piece.inscribed) or bool(_plain_size(piece.shape, piece.middle, piece.label))


def number_has_room(label: str, inscribed: float) -> bool:
    """True if a number may go into a piece whose largest circle has this radius on paper: `number_goes_in` is sure."""
    return number_goes_inside(label, inscribed) or 2.0 * inscribed > height(_PLAIN[-1]) + 0.3


def _plain_size(shape: BaseGeometry, middle: Place, label: str) -> float:
    """The size at which a number goes into a piece without its ring; 0 if none does."""
    return next((points for points in _PLAIN if _is_plain_inside(shape, middle, label, points)), 0.0)


def _is_plain_inside(shape: BaseGeometry, middle: Place, label: str, points: float) -> bool:
    """True if nearly all of a number without a ring lies inside a piece."""
    half, up = width(label, points, "bold") / 2 + 0.2, height(points) / 2 + 0.15
    room = shapely.box(middle[0] - half, middle[1] - up, middle[0] + half, middle[1] + up)
    return bool(shape.intersection(room).area >= _PLAIN_INSIDE * room.area)


def _ends(shape: BaseGeometry, inscribed: float) -> list[Place]:
    """Points near both ends of a strip, which a mark beside it may point to as well; none on a stout piece."""
    x0, y0, x1, y1 = shape.bounds
    if max(x1 - x0, y1 - y0) < _STRIP * inscribed:
        return []
    is_level = x1 - x0 >= y1 - y0
    points: list[Place] = []
    for share in (_AT_END, 1.0 - _AT_END):
        x, y = x0 + (x1 - x0) * share, y0 + (y1 - y0) * share
        across = shapely.LineString([(x, y0), (x, y1)] if is_level else [(x0, y), (x1, y)])
        inside = [part for part in shapely.get_parts(shape.intersection(across)) if part.length]
        if inside:
            middle = max(inside, key=lambda part: float(part.length)).centroid
            points.append((float(middle.x), float(middle.y)))
    return points


def _uncross(points: list[Place], spots: list[Place], labels: Sequence[str] = ()) -> None:
    """Swaps the spots of two points whose leaders cross: each swap makes the leaders shorter, so this ends.

    Two numbers of which one is wider keep their spots, since that one could come to lie on its neighbour; and so do
    two whose leaders would then run through another number.
    """
    rooms = [mark_shape((0.0, 0.0), label) for label in labels]
    wide = [float(room.bounds[2]) for room in rooms] or [0.0] * len(points)
    pairs = [(i, j) for i, j in combinations(range(len(points)), 2) if abs(wide[i] - wide[j]) < ALIKE]

    def may_swap(i: int, j: int) -> bool:
        if not _cross((points[i], spots[i]), (points[j], spots[j])):
            return False
        leaders = shapely.multilinestrings([[points[i], spots[j]], [points[j], spots[i]]])
        others = [k for k in range(len(rooms)) if k not in (i, j)]
        return not any(leaders.intersects(shapely.transform(rooms[k], lambda xy, k=k: xy + spots[k])) for k in others)

    while pair := next((pair for pair in pairs if may_swap(*pair)), None):
        i, j = pair
        spots[i], spots[j] = spots[j], spots[i]


def _cross(one: tuple[Place, Place], other: tuple[Place, Place]) -> bool:
    """True if two stretches cross between their ends."""
    (a, b), (c, d) = one, other
    return _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0


def _turn(a: Place, b: Place, c: Place) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
