"""How parts are held while they are cut, and how they come free."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from shapely import Point, Polygon, box

from cutting_bench import CUTTER, SHOP, deepest_inside, job, layout, passes_of, placed, places, swept
from purfle import cutting
from purfle.cutting.holding import TAPE_HOLDS, least_on_tape
from purfle.model.cutting import CuttingPlan, CuttingRule
from purfle.model.findings import Finding
from purfle.model.shop import Cutter, Shop
from purfle.tolerances import SIDE_AS_CUT


def rounded(x0: float, y0: float, x1: float, y1: float, radius: float = 1.52) -> Polygon:
    return box(x0 + radius, y0 + radius, x1 - radius, y1 - radius).buffer(radius, quad_segs=64)


def plan_of(*parts: Polygon, thickness: float = 4.0, shop: Shop = SHOP, **rule: object) -> CuttingPlan:
    changed = replace(job(), cutting=replace(CuttingRule(), **rule))  # type: ignore[arg-type]
    if shop is not SHOP:
        changed = replace(changed, fit=replace(changed.fit, cutter=shop.cutters[0].name))
    return cutting.plan(changed, layout(), placed(*parts, thickness=thickness), shop)


def on_tape(plan: CuttingPlan) -> list[Finding]:
    return [one for one in plan.findings if "mm2 of tape" in one.what]


def grooved(part: Polygon) -> Polygon:
    """The groove round a part, less a hair on each side."""
    return part.buffer(CUTTER.width - 0.2, quad_segs=64).difference(part.buffer(0.2, quad_segs=64))


# --- tape and skin


def test_roughing_leaves_a_skin_that_the_last_pass_alone_cuts_through() -> None:
    """Of 4 mm of wood roughing takes 3.7; below that nothing is cut before the last pass, and all of it in it."""
    part = rounded(20, 20, 60, 50).difference(Point(40, 35).buffer(6, quad_segs=64))
    (set_up,) = plan_of(part).set_ups
    roughing, last = passes_of(set_up, "roughing"), passes_of(set_up, "last")
    assert max(one.depth for one in roughing) == pytest.approx(3.7)
    assert swept(roughing, CUTTER, 3.7 + 1e-5).is_empty
    assert deepest_inside(grooved(part).difference(swept(roughing, CUTTER, 3.7))) < SIDE_AS_CUT
    assert deepest_inside(grooved(part).difference(swept(last, CUTTER, 4.3))) < SIDE_AS_CUT
    assert set_up.programs[0].skin(set_up.thickness) == pytest.approx(0.3)
    first = set_up.programs[0].first_through(set_up.thickness)
    assert first is not None
    assert first.kind == "last"


def test_a_part_comes_free_in_one_trip_that_ends_where_it_closes() -> None:
    """The last trip round a part goes once down to full depth, never up again, and round a whole lap of it."""
    (set_up,) = plan_of(rounded(20, 20, 60, 50)).set_ups
    (trip,) = passes_of(set_up, "last")[0].trips
    way = places(trip)
    deep = [k for k, place in enumerate(way) if place[2] < -4.29]
    assert deep == list(range(deep[0], len(way)))
    # the first place at full depth is met again a lap later, before the cutter steps off the line
    lap = shapely.LineString(way[deep[0] : -1, :2])
    assert lap.length == pytest.approx(rounded(20, 20, 60, 50).buffer(1.5, quad_segs=64).length, abs=0.01)
    assert shapely.LinearRing(way[deep[0] : -1, :2]).is_ccw is False


def test_the_skin_is_entered_on_a_ramp_no_steeper_than_the_rule() -> None:
    """From 3.7 to 4.3 mm the way falls by tan 3 degrees at most; straight down is gone only where roughing was."""
    (set_up,) = plan_of(rounded(20, 20, 60, 50), rounded(80, 20, 90, 30)).set_ups
    for trip in passes_of(set_up, "last")[0].trips:
        for a, b in pairwise(places(trip)):
            if b[2] < -3.7 - 1e-9:
                assert a[2] - b[2] <= math.dist(a[:2], b[:2]) * math.tan(math.radians(3.0)) * 1.01


def test_the_skin_is_thinner_under_a_small_cutter() -> None:
    """0.8 mm at half a diameter a pass takes 0.4: 0.3 of that goes into the board, so 0.1 is left of the wood."""
    small = Cutter(2, "0.8 mm straight", 0.8, 2, 6.0, 18.0, 24000.0)
    shop = Shop((small,), SHOP.machine, ())
    (set_up,) = plan_of(rounded(20, 20, 40, 40), shop=shop, thickness=3.0).set_ups
    assert set_up.programs[0].skin(3.0) == pytest.approx(0.1)


def test_no_skin_is_left_where_none_is_asked_for() -> None:
    """With skin 0 roughing goes through, as deep as the last pass."""
    (set_up,) = plan_of(rounded(20, 20, 60, 50), skin=0.0).set_ups
    assert max(one.depth for one in passes_of(set_up, "roughing")) == pytest.approx(4.3)


def test_the_wall_shows_nothing_of_the_way_through_the_skin() -> None:
    """What is left of a part is the part, to a hundredth of a millimetre, at its top and at its underside."""
    part = rounded(20, 20, 60, 50)
    passes = list(plan_of(part).set_ups[0].programs[0].passes)
    for depth in (0.001, 4.0):
        cut = swept(passes, CUTTER, depth)
        assert deepest_inside(cut.intersection(part)) < SIDE_AS_CUT / 2
        assert deepest_inside(part.buffer(1.0, quad_segs=64).difference(part).difference(cut)) < SIDE_AS_CUT / 2


def test_parts_on_too_little_tape_are_named() -> None:
    """A part below three times the force of the last pass over what tape holds is told by name, a larger one not."""
    plan = plan_of(rounded(20, 20, 60, 50), rounded(80, 20, 86, 26), rounded(100, 20, 105, 25))
    force = plan.set_ups[0].programs[0].figures.force
    assert least_on_tape(force) == pytest.approx(3.0 * force / TAPE_HOLDS)
    (found,) = on_tape(plan)
    assert 36.0 < least_on_tape(force) < 1200.0
    assert found.severity == "look"
    assert found.where == "parts, offcut 1"
    assert "2 parts lie on less than" in found.what
    assert "part 2, piece-2; part 3, piece-3" in found.what
    assert "part 1" not in found.what
    assert not on_tape(plan_of(rounded(20, 20, 60, 50)))
