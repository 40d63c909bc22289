"""Marks are where the maker measures; proof points stand clear; the check mark catches a board that lies wrong."""

from dataclasses import replace

import pytest
from plain_fit import BOARD, at, hinge, magnet, plain_fit, plate, wish
from shapely import Point, Polygon, box

from purfle.board import InlayWish, Spot, lay_out
from purfle.model.board import Layout, Mark
from purfle.model.findings import Face
from purfle.model.job import FittingRule


def marks(layout: Layout, face: Face) -> dict[str, tuple[float | None, float | None]]:
    return {mark.name: (mark.from_b, mark.from_a) for mark in layout.marks if mark.face == face}


def bird(face: Face = "show") -> InlayWish:
    """A body, a round eye in it, and a slender bill that stands clear of the picture's ends."""
    eye = Point(60, 60).buffer(2)
    body = Polygon([(0, 0), (100, 0), (100, 80), (0, 80)]).difference(eye)
    bill = Polygon([(30, 80), (60, 95), (30, 84)])
    top = box(0, 90, 4, 120)
    fit = plain_fit(("body", "holly", body), ("eye", "wenge", eye), ("bill", "padauk", bill), ("mast", "maple", top))
    return InlayWish("picture", "picture", fit, face, Spot(at(100), at(50), to_middle=False), 3, 0.5, 0.1)


def test_a_picture_is_set_out_by_its_ends_centre_line_foot_top_and_two_proof_points() -> None:
    layout = lay_out(BOARD, (bird(),), (), 4.0)
    assert [mark.number for mark in layout.marks] == [1, 2, 3, 4, 5, 6, 7]
    assert marks(layout, "show") == {
        "left end of the picture": (100, None),
        "centre line": (150, None),
        "right end of the picture": (200, None),
        "foot of the picture": (None, 50),
        "top of the picture": (None, 170),
        "proof: middle of eye": pytest.approx((160, 110)),
        "proof: point of bill": pytest.approx((160, 145)),
    }


def test_on_the_underside_the_foot_is_where_it_is_seen_from_below() -> None:
    """Seen from below edge A lies at the top, so the foot of the picture is its end furthest from A."""
    read = marks(lay_out(BOARD, (bird("underside"),), (), 4.0), "underside")
    assert read["foot of the picture"] == (None, 170)
    assert read["top of the picture"] == (None, 50)


def test_a_single_plain_piece_has_one_proof_point_its_middle() -> None:
    read = lay_out(BOARD, (wish(box(0, 0, 40, 40)),), (), 4.0).marks
    assert [mark.name for mark in read if mark.kind == "point"] == ["proof: middle of part"]


def test_fittings_are_marked_at_their_middles_or_sides_and_never_on_an_edge() -> None:
    layout = lay_out(BOARD, (), (hinge("left hinge", 70), hinge("right hinge", 350), magnet(20, 15)), 4.0)
    assert marks(layout, "underside") == {
        "left end of left hinge": (45, None),
        "right end of left hinge": (95, None),
        "inner side of left hinge, inner side of right hinge": (None, 246),
        "left end of right hinge": (325, None),
        "right end of right hinge": (375, None),
        "middle of magnet at 20, 15": (20, 15),
    }


def mirrored_place(mark: Mark) -> float:
    """Where the mark would fall if the board lay end for end: measured from the wrong end."""
    assert mark.from_b is not None
    return BOARD.length - mark.from_b


def underside(layout: Layout, x: float) -> bool:
    """True if a recess of the underside has its middle at x."""
    return any(abs(f.centre[0] - x) < 1.0 for f in layout.fittings if f.face == "underside")


def test_the_check_mark_catches_an_underside_that_was_set_out_mirrored() -> None:
    """All fittings are set out end for end, on purpose: then no recess lies at the check distance any more."""
    rules = (hinge("left hinge", 70), hinge("right hinge", 350), magnet(20, 15), magnet(400, 15), magnet(382, 120))
    layout = lay_out(BOARD, (), rules, 4.0)
    check = layout.check
    assert check is not None
    assert check.name == "check: middle of magnet at 382, 120"
    assert (check.kind, check.face, check.from_b, check.from_a) == ("line_x", "underside", 382, None)
    assert underside(layout, 382)
    wrong = tuple(replace(rule, along_a=replace(rule.along_a, datum="far_edge")) for rule in rules)
    mirrored = lay_out(BOARD, (), wrong, 4.0)
    assert not underside(mirrored, 382)
    assert underside(mirrored, mirrored_place(check))


def test_equal_recesses_that_swap_places_prove_nothing() -> None:
    """Left alone, the symmetrical pairs give no distance along A; the one along B tells front from back."""
    rules = (hinge("left hinge", 70), hinge("right hinge", 350), magnet(20, 15), magnet(400, 15))
    check = lay_out(BOARD, (), rules, 4.0).check
    assert check is not None
    assert (check.kind, check.from_b) == ("line_y", None)


def test_unlike_recesses_at_mirrored_places_are_told_apart() -> None:
    """A magnet where the mirrored plate would be is no plate."""
    rules = (magnet(40, 130), plate("plate", (380, 130), (10, 10)))
    check = lay_out(BOARD, (), rules, 4.0).check
    assert check is not None
    assert check.from_b in (40, 380)


def test_an_underside_alike_both_ways_has_no_check_and_says_so() -> None:
    rules = tuple(magnet(x, y) for x in (20, 400) for y in (15, 245))
    layout = lay_out(BOARD, (), rules, 4.0)
    assert layout.check is None
    (look,) = layout.findings
    assert look.severity == "look"
    assert "no distance proves how the board lies" in look.what
    assert look.where == "underside"
    assert "mark edges A and B" in look.mend


def test_a_bare_underside_needs_no_check() -> None:
    layout = lay_out(BOARD, (bird(),), (), 4.0)
    assert layout.check is None
    assert not layout.findings


def test_marks_at_one_place_become_one() -> None:
    rules: tuple[FittingRule, ...] = (plate("one", (100, 100), (20, 10)), plate("two", (200, 100), (30, 10)))
    lines = [mark for mark in lay_out(BOARD, (), rules, 4.0).marks if mark.kind == "line_y"]
    assert [(mark.name, mark.from_a) for mark in lines] == [
        ("side towards A of one, side towards A of two", 95),
        ("side away from A of one, side away from A of two", 105),
    ]
