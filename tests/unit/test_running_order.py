"""Both faces and two cutters: the board is turned over once; the large one clears what it can."""

from dataclasses import replace
from itertools import pairwise

import shapely
from shapely import Point, box

from cutting_bench import BOARD, CUTTER, SHOP, deepest_inside, inlay, job, layout, path_length, placed, swept
from purfle import cutting
from purfle.model.board import Fitting
from purfle.model.cutting import CuttingPlan, CuttingRule, SetUp
from purfle.model.shop import Cutter
from purfle.tolerances import SIDE_AS_CUT

LARGE = Cutter(2, "8 mm straight", 8.0, 2, 25.0, 30.0, 24000.0)
BOTH = replace(SHOP, cutters=(CUTTER, LARGE))
RECESS = (
    shapely.union_all([box(20, 20, 80, 60), box(80, 38, 110, 43)]).buffer(-1.6, 64).buffer(3.2, 64).buffer(-1.6, 64)
)
"""A field with an arm of 5 mm, which only the small cutter enters; its corners are as round as that."""
DEEP = Fitting(1, "round", "foot", "underside", Point(140, 40).buffer(12, 64), (140, 40), (24, 24), 18.0)
PLAIN = Fitting(2, "round", "magnet", "underside", Point(40, 120).buffer(3.5, 64), (40, 120), (7, 7), 3.0)


def plan_of(clearing: str = LARGE.name) -> CuttingPlan:
    board = replace(BOARD, thickness=30.0)
    changed = replace(job(), cutting=CuttingRule(clearing=clearing))
    part = box(20, 20, 60, 50).buffer(-1.6).buffer(1.6, 64)
    return cutting.plan(changed, layout(inlay(RECESS), fittings=(DEEP, PLAIN), board=board), placed(part), BOTH)


def the(plan: CuttingPlan, face: str) -> SetUp:
    (found,) = [one for one in plan.set_ups if one.stock == "board" and one.face == face]
    return found


def test_the_board_is_turned_over_once() -> None:
    """All of the show face in one set-up, then all of the underside in one, then the parts."""
    plan = plan_of()
    on_board = [one.face for one in plan.set_ups if one.stock == "board"]
    assert on_board == ["show", "underside"]
    assert sum(one != other for one, other in pairwise(on_board)) == 1
    assert [one.stock == "board" for one in plan.set_ups] == [True, True, False]
    assert {line.id for line in the(plan, "underside").lines} == {"round-1", "round-2"}


def test_each_cutter_is_put_in_once_a_set_up() -> None:
    """On the show face the large one first; on the underside each fitting by the one that it needs."""
    plan = plan_of()
    assert [one.cutter.number for one in the(plan, "show").programs] == [2, 1]
    assert sorted(one.cutter.number for one in the(plan, "underside").programs) == [1, 2]


def test_the_small_cutter_roughs_only_where_the_large_one_cannot_go() -> None:
    """What the large one reaches is worked out by shapely: the opening of the field by its radius and the allowance."""
    large, small = the(plan_of(), "show").programs
    assert all(one.kind == "roughing" for one in large.passes)
    reached = RECESS.buffer(-4.1, quad_segs=64).buffer(4.0, quad_segs=64)
    taken = swept(list(large.passes), LARGE, 3.0)
    assert deepest_inside(taken.symmetric_difference(reached)) <= 0.012
    roughing = [one for one in small.passes if one.kind == "roughing"]
    left = RECESS.difference(reached)
    beside = swept(roughing, CUTTER).difference(left.buffer(CUTTER.width))
    assert deepest_inside(beside) < SIDE_AS_CUT
    alone = [one for one in the(plan_of(""), "show").programs[0].passes if one.kind == "roughing"]
    assert path_length(roughing) < 0.4 * path_length(alone)


def test_both_together_cut_the_recess_whole_and_nothing_beside_it() -> None:
    large, small = the(plan_of(), "show").programs
    gone = swept(list(large.passes), LARGE, 3.0).union(swept(list(small.passes), CUTTER, 3.0))
    assert deepest_inside(RECESS.difference(gone)) < SIDE_AS_CUT / 2
    assert deepest_inside(gone.difference(RECESS)) < SIDE_AS_CUT / 2
