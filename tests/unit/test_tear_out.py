"""Where fibres may break out: short ones at corners that the cutter's edge runs out of, edges of the board."""

from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from cutting_bench import BOARD, NO_PARTS, SHOP, inlay, job, layout, placed
from purfle import cutting
from purfle.cutting.tear_out import short_corners
from purfle.geometry.pose import Pose
from purfle.model.board import Fitting
from purfle.model.cutting import CuttingPlan
from purfle.model.findings import Finding
from purfle.model.pieces import Insert

UPRIGHT = Polygon([(50, 20), (55, 35), (50, 50), (45, 35)])
"""A lozenge: two tips of 37 degrees, one up, one down; its other corners are blunt."""


def torn(plan: CuttingPlan, words: str) -> list[Finding]:
    return [one for one in plan.findings if words in one.what]


def test_tips_across_the_grain_are_at_risk_and_tips_along_it_are_not() -> None:
    """1 mm before an upright tip the level fibres are 2 sin 18.4 = 0.63 mm long.

    Upright fibres meet all walls at 18 degrees: none lies across them.
    """
    assert sorted(short_corners(UPRIGHT, 0.0, is_part=True)) == [(50, 20), (50, 50)]
    assert short_corners(UPRIGHT, 90.0, is_part=True) == []


def test_square_corners_have_long_fibres() -> None:
    assert short_corners(box(10, 10, 50, 30), 0.0, is_part=True) == []
    assert short_corners(box(10, 10, 11.5, 30), 0.0, is_part=True) != []  # a strip of 1.5 mm across the grain


def test_only_the_wall_that_the_edge_runs_out_of_counts() -> None:
    """A tip whose one side lies at 70 degrees to the grain and whose other at 30: at risk one way, not in the mirror.

    The edge runs with the wood on its left, so counter-clockwise round a part.
    """
    tip = Polygon([(0, 0), (7.279, 20), (-27.36, 0)])  # its sides from the tip down: 70 and 30 degrees
    assert (7.279, 20) in short_corners(tip, 0.0, is_part=True)
    mirrored = affinity.scale(tip, -1, 1, origin=(0, 0))
    assert (-7.279, 20) not in short_corners(mirrored, 0.0, is_part=True)


def test_beside_a_recess_the_wood_is_what_stays() -> None:
    """An island in the shape of the lozenge has the same two tips; the recess around it has none of its own."""
    recess = box(20, 5, 80, 65).difference(UPRIGHT)
    assert sorted(short_corners(recess, 0.0, is_part=False)) == [(50, 20), (50, 50)]
    assert short_corners(box(20, 5, 80, 65), 0.0, is_part=False) == []


def test_parts_at_risk_are_told_with_their_place_and_how_to_mend() -> None:
    plan = cutting.plan(job(), layout(), placed(UPRIGHT, box(70, 20, 100, 50)), SHOP)
    (found,) = torn(plan, "short grain")
    assert found.severity == "look"
    assert "at 2 corners" in found.what
    assert "piece 1, part 1" in found.what
    assert "part 2" not in found.what
    assert "x 50.0 mm, y 50.0 mm" in found.where or "x 50.0 mm, y 20.0 mm" in found.where
    assert "glue" in found.mend
    offcut = placed(UPRIGHT)
    turned = replace(offcut, used=tuple(replace(one, grain=90.0) for one in offcut.used))
    assert torn(cutting.plan(job(), layout(), turned, SHOP), "short grain") == []


@pytest.mark.parametrize(
    ("face", "grain", "told"), [("underside", 0.0, True), ("underside", 90.0, False), ("show", 30.0, True)]
)
def test_an_open_edge_along_the_fibres_asks_for_a_strip(face: str, grain: float, told: bool) -> None:
    """A hinge that runs out over edge A, which lies along x: fibres along x break out there, those across it do not."""
    wanted = box(40, 0, 90, 14)
    fitting = Fitting(1, "hinge", "hinge", face, wanted, (65, 7), (50, 14), 2.0, True)  # type: ignore[arg-type]
    board = replace(BOARD, grain=grain)
    plan = cutting.plan(job(), layout(fittings=(fitting,), board=board), NO_PARTS, SHOP)
    found = torn(plan, "over an edge of the board")
    assert bool(found) is told
    if found:
        assert "hinge" in found[0].what
        assert "strip" in found[0].mend


def test_a_recess_within_the_board_runs_over_no_edge() -> None:
    plan = cutting.plan(job(), layout(inlay(box(40, 40, 90, 70).buffer(2))), NO_PARTS, SHOP)
    assert torn(plan, "over an edge") == []


def test_many_lines_are_counted_beyond_three() -> None:
    parts = [affinity.translate(UPRIGHT, 16 * k - 40) for k in range(6)]
    (found,) = torn(cutting.plan(job(), layout(), placed(*parts), SHOP), "short grain")
    assert "at 12 corners" in found.what
    assert found.what.endswith("and 3 more")


@pytest.mark.parametrize(("turned", "told"), [(0.0, True), (90.0, False)])
def test_a_recess_in_an_insert_is_looked_at_along_the_fibres_of_that_insert(turned: float, told: bool) -> None:
    """An island in the shape of the lozenge stands in a plate whose fibres run as it lay on its offcut."""
    plate = box(10, 0, 90, 70)
    first = inlay(plate)
    region = box(20, 5, 80, 65).difference(UPRIGHT)
    insert = Insert(2, "ring", "holly", (0, 0, 0), box(20, 5, 80, 65), hosts=(1,))
    spot = inlay(region, name="ring")
    spot = replace(spot, fit=replace(spot.fit, inserts=(insert,), order=2), into="picture")
    offcuts = placed(plate)
    offcuts = replace(offcuts, places=(replace(offcuts.places[0], pose=Pose(turned, 80.0 if turned else 0.0)),))
    plan = cutting.plan(job(), layout(first, spot), offcuts, SHOP)
    found = [one for one in torn(plan, "short grain") if "recess of ring" in one.what]
    assert bool(found) is told
    assert all("at 2 corners" in one.what and "recess for ring" in one.where for one in found)
