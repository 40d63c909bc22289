"""Nothing on a drawing lies over another thing: distances, marks, labels."""

from itertools import combinations
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from purfle.model.board import Board
from purfle.sheets import dimensions, labels
from purfle.sheets.dimensions import Distance
from purfle.sheets.face import draw_face
from purfle.sheets.rooms import AIR, grown, text_box
from purfle.sheets.style import Style
from purfle.sheets.view import View
from sample import bare_result, tern_result

VIEW = View(Board("white oak", 420.0, 260.0, 19.0), "show", 2.5)
places = st.lists(st.integers(2, 80), min_size=1, max_size=7, unique=True)


def wishes(across: list[int], along: list[int]) -> list[Distance]:
    """Distances at places 2 mm of paper apart or more, on two sides that share a corner."""
    return [Distance("a", 2.0 * x, -10.0, f"{5 * x}.0") for x in across] + [
        Distance("left", 1.2 * y, -10.0, f"{3 * y}.0") for y in along
    ]


@given(places, places)
@settings(deadline=None, derandomize=True, max_examples=40)
def test_no_figure_lies_over_a_figure_or_an_extension_line(across: list[int], along: list[int]) -> None:
    """Each figure is clear of all others and of every extension line but its own."""
    placed = dimensions.in_rows(VIEW, wishes(across, along))
    boxes = [dimensions._figure_box(VIEW, d) for d in placed]
    lines = [dimensions._extension(VIEW, d) for d in placed]
    for one, other in combinations(boxes, 2):
        assert not one.intersects(other)
    for i, box in enumerate(boxes):
        assert not any(box.intersects(line) for j, line in enumerate(lines) if j != i)


@given(places)
@settings(deadline=None, derandomize=True, max_examples=30)
def test_every_distance_is_shown_once_at_its_place(across: list[int]) -> None:
    placed = dimensions.in_rows(VIEW, wishes(across, []))
    assert sorted(d.along for d in placed) == sorted(2.0 * x for x in across)


def room_of(text: dict[str, Any]) -> Polygon:
    """What a text takes on the drawing, without the air around it."""
    box = text_box((0, 0), text["t"], text["size"], text["weight"], text.get("anchor", "c"))
    x0, y0, x1, y1 = grown(box, -AIR).bounds
    if text.get("turned"):
        x0, y0, x1, y1 = y0, x0, y1, x1
    return shapely.box(text["x"] + x0, text["y"] + y0, text["x"] + x1, text["y"] + y1)


@pytest.mark.parametrize("style", [Style("mm", "a4"), Style("inch", "letter"), Style("inch-decimal", "a4")])
@pytest.mark.parametrize("face", ["show", "underside"])
def test_texts_of_a_face_do_not_overlap(style: Style, face: str) -> None:
    result = tern_result(style.unit, style.paper)
    drawing = draw_face(result, face, style, 150.0).drawing  # type: ignore[arg-type]
    boxes = [(text["t"], room_of(text)) for text in drawing.texts]
    for (one, a), (other, b) in combinations(boxes, 2):
        assert a.intersection(b).area < 0.1, (one, other)
    paper = shapely.box(0, 0, drawing.width, drawing.height)
    assert [words for words, box in boxes if not paper.covers(box)] == []


@pytest.mark.parametrize(("length", "width"), [(30.0, 20.0), (80.0, 300.0), (2400.0, 700.0), (300.0, 300.0)])
def test_a_face_goes_into_its_room_at_the_largest_scale(length: float, width: float) -> None:
    """Small and large boards, lying and standing: the drawing fits, and the next larger scale would not."""
    style, result = Style("mm", "a4"), bare_result(length, width)
    drawn = draw_face(result, "show", style, 150.0)
    assert drawn.drawing.width == style.across
    assert drawn.drawing.height <= 150.0
    assert max(drawn.view.wide / style.across, drawn.view.high / 150.0) > 0.3


@given(st.floats(0, 420), st.floats(0, 260))
@settings(deadline=None, derandomize=True, max_examples=50)
def test_the_underside_lies_as_the_board_turned_over_about_a(x: float, y: float) -> None:
    """B stays on the left, A goes from below to above: a place keeps its distances from both edges."""
    show, below = VIEW, View(VIEW.board, "underside", VIEW.scale)
    corner = {view.face: view.place(0, 0) for view in (show, below)}
    right, up = show.place(x, y)[0] - corner["show"][0], corner["show"][1] - show.place(x, y)[1]
    assert (right * 2.5, up * 2.5) == pytest.approx((x, y), abs=1e-9)
    right, down = below.place(x, y)[0] - corner["underside"][0], below.place(x, y)[1] - corner["underside"][1]
    assert (right * 2.5, down * 2.5) == pytest.approx((x, y), abs=1e-9)


def test_recesses_of_the_underside_stand_on_the_paper_where_they_are_seen_from_below() -> None:
    """Magnets near A stand above the hinges at the back edge; the key lies to the right, as on the show face."""
    drawing = draw_face(tern_result(), "underside", Style("mm", "a4"), 150.0).drawing
    at = {text["t"]: (text["x"], text["y"]) for text in drawing.texts}
    assert at["400.0"][1] < at["magnet Ø 10, 3.2 deep"][1] < at["hinge, 2.0 deep"][1] < at["325.0"][1]
    key = next(place for words, place in at.items() if words.startswith("butterfly key"))
    assert at["left datum edge"][0] < drawing.width / 2 < key[0]


spots = st.tuples(st.integers(0, 40), st.integers(0, 40))


@given(st.lists(st.tuples(spots, spots), min_size=2, max_size=8, unique_by=(lambda p: p[0], lambda p: p[1])))
@settings(deadline=None, derandomize=True, max_examples=60)
def test_no_two_leaders_cross_when_their_spots_are_swapped(pairs: list[tuple[Any, Any]]) -> None:
    """Checked with shapely's own predicate; the spots stay the same as a set."""
    points, ends = [p for p, _ in pairs], [s for _, s in pairs]
    labels._uncross(points, ends)
    assert sorted(ends) == sorted(s for _, s in pairs)
    leaders = [shapely.LineString(ends_of) for ends_of in zip(points, ends, strict=True)]
    assert not any(one.crosses(other) and _inner(one, other) for one, other in combinations(leaders, 2))


def _inner(one: shapely.LineString, other: shapely.LineString) -> bool:
    """True if they meet in a point that is an end of neither."""
    meeting = one.intersection(other)
    ends = [shapely.Point(c) for line in (one, other) for c in line.coords]
    return all(meeting.distance(end) > 1e-6 for end in ends)
