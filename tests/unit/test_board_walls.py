"""A wall between recesses stands if it is thick enough for its height and the way it runs to the grain.

The rule is common practice without a source: a quarter of the height along the grain, at least 1.5 mm; half of it
across the grain, at least 2 mm.
"""

import re
from dataclasses import replace

import pytest
from plain_fit import BOARD, at, magnet, plain_fit, plate, wish
from shapely import Polygon, box

from purfle.board import InlayWish, Spot, lay_out
from purfle.model.findings import Finding
from purfle.model.job import FittingRule
from purfle.model.tapered import TaperedRule
from purfle.wood import highest_wall, least_ridge, least_wall


def deep(name: str, place: tuple[float, float], size: tuple[float, float], depth: float) -> FittingRule:
    return replace(plate(name, place, size), depth=depth)


def walls(
    *rules: FittingRule, wishes: tuple[InlayWish, ...] = (), grain: float = 0.0, thickness: float = 40.0
) -> list[Finding]:
    """What is said of walls between recesses, on a board so thick that nothing else is said."""
    board = replace(BOARD, grain=grain, thickness=thickness)
    return [one for one in lay_out(board, wishes, rules, 2.0).findings if "stands between" in one.what]


def side_by_side(gap: float, depth: float, other: float | None = None) -> tuple[FittingRule, FittingRule]:
    """Two plates of 20 x 40 with an upright wall between them, its left face at x = 100."""
    left = deep("left", (90, 100), (20, 40), depth)
    return left, deep("right", (110 + gap, 100), (20, 40), depth if other is None else other)


@pytest.mark.parametrize(
    ("height", "along", "across"), [(0.0, 1.5, 2.0), (4.0, 1.5, 2.0), (8.0, 2.0, 4.0), (12.0, 3.0, 6.0)]
)
def test_the_least_thickness_grows_with_the_height_and_twice_as_fast_across_the_grain(height, along, across):  # type: ignore[no-untyped-def]
    assert least_wall(height) == least_wall(height, 180.0) == pytest.approx(along)
    assert least_wall(height, 90.0) == least_wall(height, -90.0) == pytest.approx(across)
    assert least_wall(height, 45.0) == pytest.approx((along + across) / 2)


def test_the_highest_wall_is_the_height_at_which_a_thickness_is_just_enough() -> None:
    for off_grain in (0.0, 30.0, 90.0):
        for thickness in (2.0, 3.0, 5.0):
            assert least_wall(highest_wall(thickness, off_grain), off_grain) == pytest.approx(thickness)
    assert highest_wall(1.4) == highest_wall(1.9, 90.0) == 0.0


def test_a_wall_across_the_grain_is_told_with_its_figures_its_place_and_three_ways_to_mend_it() -> None:
    (found,) = walls(*side_by_side(3.0, 8.0))
    assert found.severity == "look"
    assert found.what == (
        "only 3.0 mm of wood stands between left and right; a wall 8.0 mm high that runs across the grain breaks "
        "below 4.0 mm"
    )
    assert found.where.startswith("left and right, underside, ")
    assert found.mend == "move them apart by 1.0 mm, or cut one of them no deeper than 6.0 mm"
    assert found.place == pytest.approx((101.5, 100), abs=20)


def test_the_same_wall_stands_where_the_grain_runs_along_it() -> None:
    assert not walls(*side_by_side(3.0, 8.0), grain=90.0)
    (found,) = walls(*side_by_side(1.9, 8.0), grain=90.0)
    assert "runs along the grain breaks below 2.0 mm" in found.what
    (found,) = walls(*side_by_side(2.9, 8.0), grain=45.0)
    assert "runs 45° off the grain breaks below 3.0 mm" in found.what


def test_a_wall_is_as_high_as_the_shallower_recess_is_deep() -> None:
    assert not walls(*side_by_side(2.5, 12.0, 4.0))
    (found,) = walls(*side_by_side(2.5, 12.0, 6.0))
    assert "a wall 6.0 mm high" in found.what


def test_no_depth_mends_a_wall_thinner_than_the_least_of_all() -> None:
    (found,) = walls(*side_by_side(1.0, 2.0))
    assert found.mend == "move them apart by 1.0 mm"


def test_a_wall_between_the_recess_of_an_inlay_and_a_fitting_on_its_face_is_told_by_both_names() -> None:
    inlay = wish(box(0, 0, 40, 40), face="underside", spot=Spot(at(100), at(100)), depth=6.0)
    (found,) = walls(magnet(127, 100, depth=9.0), wishes=(inlay,))
    assert found.where.startswith("picture and magnet at 127, 100, underside, ")
    assert found.what.startswith("only 2.0 mm of wood stands between picture and magnet at 127, 100")


def test_two_recesses_of_one_inlay_may_be_let_run_together() -> None:
    fit = plain_fit(("one", "holly", box(0, 0, 20, 20)), ("two", "holly", box(21, 0, 41, 20)))
    inlay = InlayWish("picture", "picture", fit, "show", Spot(at(100), at(100)), 3.0, 0.5, 0.1)
    (found,) = walls(wishes=(inlay,))
    assert re.fullmatch(r"picture, show, \d+\.\d mm from B and \d+\.\d mm from A", found.where)
    assert found.mend == "move them apart by 1.0 mm, or let them run together"


def test_a_wall_between_two_arms_of_one_recess_is_seen_and_a_tip_of_ground_is_not() -> None:
    """A neck of 1 mm that holds a block of ground to the rest; and a wedge of ground that runs out to a point."""
    wedge = box(0, 0, 40, 40) - Polygon([(10, -1), (20, 30), (16, -1)])
    assert not walls(wishes=(wish(wedge, spot=Spot(at(100), at(100))),))
    neck = box(0, 0, 41, 40) - box(20, 10, 21, 41) - box(15, 4, 26, 10)
    (found,) = walls(wishes=(wish(neck, spot=Spot(at(100), at(100))),))
    assert "only 1.0 mm of wood stands between two sides of one recess of picture" in found.what


def test_an_island_of_wood_that_is_thin_all_over_is_told() -> None:
    ring = box(0, 0, 40, 40) - box(19, 10, 20.5, 30)
    (found,) = walls(wishes=(wish(ring, spot=Spot(at(100), at(100))),))
    assert "only 1.5 mm of wood stands between two sides of one recess of picture" in found.what


def test_a_ridge_between_tapered_walls_is_told_by_its_foot_and_needs_half_the_wood_at_the_face() -> None:
    """3 mm deep, a V of 60 degrees: 3.46 mm thicker at the foot. A wedge is weakest where it is twice its top."""
    taper = TaperedRule(half_angle=30.0, tip_radius=0.0, sink=2.5, glue_room=0.5, saw_room=1.0)

    def ridge(thick: float) -> list[Finding]:
        ring = box(0, 0, 50, 50) - box(10, 24, 40, 24 + thick)
        one = wish(ring, spot=Spot(at(100), at(100)))
        return walls(wishes=(replace(one, depth=3.0, fit=replace(one.fit, walls=taper)),))

    assert not ridge(0.8)
    (found,) = ridge(0.53)
    assert "only 0.5 mm of wood stands between two sides of one recess of picture, 4.0 mm at its foot" in found.what
    assert "breaks below 0.8 mm" in found.what
    assert found.mend == "draw the ground there wider by 0.2 mm, or leave it out of the drawing"


@pytest.mark.parametrize(("height", "slope"), [(3.0, 0.3), (3.0, 1.1547), (9.0, 0.5), (0.2, 1.0)])
@pytest.mark.parametrize("off_grain", [0.0, 90.0])
def test_a_ridge_is_nowhere_thinner_than_a_wall_from_there_up(height: float, slope: float, off_grain: float) -> None:
    """At the place of the greatest stress z / thickness squared, found by trying all."""
    top = least_ridge(height, off_grain, slope)
    places = [height * n / 20000 for n in range(20001)]
    worst = max(places, key=lambda z: z / (top + slope * z) ** 2)
    assert top + slope * worst == pytest.approx(least_wall(worst, off_grain), abs=2e-3)
    assert least_ridge(height, off_grain, 0.0) == least_wall(height, off_grain)


def test_a_deep_recess_needs_more_wood_to_the_end_of_a_board_than_to_its_side() -> None:
    """9 mm deep: 4.5 mm to the end, where the wall runs across the grain, and the 3 mm of custom to the side."""
    board = replace(BOARD, thickness=40.0)
    (found,) = lay_out(board, (), (magnet(9, 100, depth=9.0),), 2.0).findings[:1]
    assert found.what == (
        "magnet at 9, 100 leaves 4.0 mm to the edge, which may break out below 4.5 mm, as a wall 9.0 mm high across "
        "the grain"
    )
    assert found.mend == "move it inward by 0.5 mm, or cut it less deep"
    assert found.place == pytest.approx((4, 100), abs=0.3)
    assert not [one for one in lay_out(board, (), (magnet(100, 9, depth=9.0),), 2.0).findings if "edge" in one.what]
