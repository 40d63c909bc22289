"""Wood left is plain arithmetic of thickness and depths; what is too little is told with its place."""

import math

import pytest
from plain_fit import BOARD, at, hinge, magnet, plate, wish
from shapely import box

from purfle.board import Spot, lay_out
from purfle.model.board import Layout
from purfle.model.findings import Finding

LEAST = 4.0


def told(layout: Layout, severity: str) -> list[Finding]:
    return [finding for finding in layout.findings if finding.severity == severity]


def test_wood_left_without_anything_below_is_thickness_less_depth() -> None:
    layout = lay_out(BOARD, (wish(depth=3.0),), (), LEAST)
    (left,) = layout.wood_left
    assert (left.name, left.left, left.against) == ("picture", 16.0, "the other face")
    assert not layout.findings


def test_wood_left_over_a_fitting_is_thickness_less_both_depths_where_they_overlap() -> None:
    layout = lay_out(BOARD, (wish(box(0, 0, 40, 40), depth=9.0),), (magnet(210, 130, depth=7.0),), LEAST)
    picture, below = layout.wood_left
    assert (picture.left, picture.against) == (3.0, "magnet at 210, 130")
    assert (below.left, below.against) == (3.0, "picture")
    assert picture.place == pytest.approx((210, 130), abs=0.5)
    (stop,) = told(layout, "stop")
    assert stop.what == "only 3.0 mm of wood is left between picture and magnet at 210, 130; 4.0 mm is asked for"
    assert stop.where == "picture (show) and magnet at 210, 130 (underside)"
    assert stop.mend == "move one of them, or cut less deep"
    assert stop.place == pytest.approx((210, 130), abs=0.5)


def test_just_enough_wood_left_is_no_finding() -> None:
    assert not told(lay_out(BOARD, (wish(depth=9.0),), (magnet(200, 115, depth=6.0),), LEAST), "stop")


def test_recesses_that_meet_inside_the_board_are_a_stop() -> None:
    layout = lay_out(BOARD, (wish(depth=10.0),), (magnet(200, 115, depth=10.0),), LEAST)
    assert "picture and magnet at 200, 115 meet inside the board" in [f.what for f in told(layout, "stop")]
    assert layout.wood_left[0].left == -1.0


def test_beside_each_other_the_straight_way_between_the_bottom_edges_counts() -> None:
    """A picture at 0..40 and a plate 3 mm beside it, 11 + 6 deep in 19: the way is the root of 3 and 2 squared."""
    board_wish = wish(box(0, 0, 40, 40), depth=11.0, spot=Spot(at(100), at(100)))
    rule = plate("plate", (133, 100), (20, 20))
    layout = lay_out(BOARD, (board_wish,), (rule_with_depth(rule, 6.0),), LEAST)
    assert layout.wood_left[0].left == pytest.approx(math.hypot(3, 2))
    assert layout.wood_left[0].place == pytest.approx((121.5, 100), abs=20)
    assert [f.what for f in told(layout, "stop")] == [
        "only 3.6 mm of wood is left between picture and plate; 4.0 mm is asked for"
    ]


def rule_with_depth(rule, depth):  # type: ignore[no-untyped-def]
    from dataclasses import replace

    return replace(rule, depth=depth)


def test_a_deep_recess_alone_can_leave_too_little() -> None:
    layout = lay_out(BOARD, (), (magnet(100, 100, depth=16.0),), LEAST)
    (stop,) = told(layout, "stop")
    assert stop.what == "only 3.0 mm of wood is left under magnet at 100, 100, and 4.0 mm is asked for"
    assert stop.place == pytest.approx((100, 100))


def test_fittings_of_one_face_that_overlap_are_a_stop_with_the_place() -> None:
    layout = lay_out(BOARD, (), (magnet(100, 100), magnet(108, 100)), LEAST)
    (stop,) = told(layout, "stop")
    assert stop.what == "magnet at 100, 100 and magnet at 108, 100 run into each other"
    assert stop.where == "magnet at 100, 100 and magnet at 108, 100, underside"
    assert stop.place == pytest.approx((104, 100), abs=0.1)


def test_a_thin_wall_between_two_recesses_of_one_face_is_a_look() -> None:
    layout = lay_out(BOARD, (), (magnet(100, 100), magnet(111, 100)), LEAST)
    (look,) = told(layout, "look")[:1]
    assert "only 1.0 mm of wood stands between" in look.what
    assert look.place == pytest.approx((105.5, 100), abs=0.3)


def test_too_near_an_edge_is_a_look_from_3_mm_down() -> None:
    """3 mm is the least of the practice table; a hinge may touch the edge that it runs out over."""
    near = lay_out(BOARD, (), (magnet(7.9, 100),), LEAST)
    (look,) = [f for f in told(near, "look") if "edge" in f.what]
    assert look.what == "magnet at 7.9, 100 leaves 2.9 mm to the edge, which may break out below 3.0 mm"
    assert look.place == pytest.approx((2.9, 100), abs=0.3)
    assert not [f for f in told(lay_out(BOARD, (), (magnet(8, 100),), LEAST), "look") if "edge" in f.what]
    assert not [f for f in told(lay_out(BOARD, (), (hinge("hinge", 70),), LEAST), "look") if "edge" in f.what]
    assert [f for f in told(lay_out(BOARD, (), (hinge("hinge", 27),), LEAST), "look") if "edge" in f.what]


def test_more_than_half_of_the_thickness_taken_is_a_look() -> None:
    layout = lay_out(BOARD, (wish(depth=9.6),), (), LEAST)
    (look,) = told(layout, "look")
    assert look.what == "picture takes 51% of the thickness; 50% is the most by custom"
    assert not lay_out(BOARD, (wish(depth=9.5),), (), LEAST).findings


def test_nearest_across_is_the_distance_in_plan_to_the_other_face() -> None:
    layout = lay_out(
        BOARD, (wish(box(0, 0, 40, 40), spot=Spot(at(100), at(100))),), (magnet(160, 100), hinge("hinge", 300)), LEAST
    )
    nearest = {name: (other, distance) for name, other, distance in layout.nearest}
    assert nearest["picture"][0] == "magnet at 160, 100"
    assert nearest["picture"][1] == pytest.approx(35.0)
    assert nearest["hinge"] == ("picture", pytest.approx(math.hypot(275 - 120, 246 - 120)))


def test_fittings_of_one_name_are_told_apart_by_number() -> None:
    from dataclasses import replace

    twins = tuple(replace(magnet(x, 100), name="magnet") for x in (100, 300))
    assert [one.name for one in lay_out(BOARD, (), twins, LEAST).wood_left] == ["magnet 1", "magnet 2"]
