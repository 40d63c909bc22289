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
from purfle.model.cutting import CuttingPlan, CuttingRule, Pass
from purfle.model.findings import Finding
from purfle.model.offcuts import Tab
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
    assert "piece 2, part 2; piece 3, part 3" in found.what
    assert "part 1" not in found.what
    assert not on_tape(plan_of(rounded(20, 20, 60, 50)))


def test_a_spring_pass_round_small_free_parts_is_told() -> None:
    """It goes round them when they are free; round large parts, and round those that stand on tabs, it may go."""
    parts = (rounded(20, 20, 60, 50), rounded(100, 20, 105, 25))
    told = [one for one in plan_of(*parts, spring_passes=1).findings if "spring pass" in one.what]
    assert [(one.severity, one.where) for one in told] == [("look", "parts, offcut 1")]
    assert told[0].what.endswith(": piece 2, part 2")
    assert "spring_passes = 0" in told[0].mend
    assert not [one for one in plan_of(*parts).findings if "spring pass" in one.what]
    assert not [one for one in plan_of(parts[0], spring_passes=1).findings if "spring pass" in one.what]


# --- tabs


def bridges(part: Polygon, passes: list[Pass], depth: float, cutter: Cutter = CUTTER) -> shapely.Geometry:
    """What the cutter leaves at a depth between a part and the wood a cutter's width away from it."""
    groove = part.buffer(cutter.width - 0.02, quad_segs=64).difference(part.buffer(0.02, quad_segs=64))
    left = groove.difference(swept(passes, cutter, depth))
    return shapely.MultiPolygon([one for one in shapely.get_parts(left) if one.area > 0.05])


def held(plan: CuttingPlan) -> list[tuple[Tab, ...]]:
    return [line.tabs for line in plan.set_ups[0].lines]


def test_a_rectangle_stands_on_as_many_bridges_as_it_has_tabs() -> None:
    """Above the tabs the groove is whole; below, three bridges stand, each as wide and as long as it is said to be."""
    part = rounded(20, 20, 70, 50)
    plan = plan_of(part, holding="tabs")
    passes, (tabs,) = list(plan.set_ups[0].programs[0].passes), held(plan)
    assert len(tabs) == 3
    assert bridges(part, passes, 4.0 - 0.8 - 1e-3).is_empty
    stand = bridges(part, passes, 4.0 - 0.8 + 1e-3)
    assert len(stand.geoms) == 3
    for tab in tabs:
        bridge = min(stand.geoms, key=lambda one: one.distance(Point(tab.place)))
        turn = math.radians(tab.outwards)
        level = shapely.affinity.rotate(bridge, -tab.outwards, origin=tab.place)
        foot = level.intersection(box(tab.place[0], -99, tab.place[0] + 0.03, 199)).bounds
        waist = level.intersection(box(tab.place[0] + 1.49, -99, tab.place[0] + 1.51, 199)).bounds
        assert waist[3] - waist[1] == pytest.approx(tab.width, abs=0.01)
        assert tab.width == pytest.approx(3.0, abs=0.01)
        assert foot[3] - foot[1] == pytest.approx(tab.length, abs=0.7)  # it ends in a hair between circle and wall
        assert part.distance(Point(tab.place)) < 1e-6
        assert not part.contains(Point(tab.place[0] + 0.1 * math.cos(turn), tab.place[1] + 0.1 * math.sin(turn)))


def test_over_tabs_the_cutter_goes_level_and_down_on_ramps() -> None:
    """It is lifted straight up to the top of a tab, and goes down behind it no steeper than one in two."""
    (set_up,) = plan_of(rounded(20, 20, 70, 50), holding="tabs").set_ups
    (trip,) = passes_of(set_up, "last")[0].trips
    way, top = places(trip), -(4.0 - 0.8)
    lifts = [(a, b) for a, b in pairwise(way) if b[2] > a[2] + 1e-9]
    assert len(lifts) == 3
    assert all(math.dist(a[:2], b[:2]) < 1e-9 and b[2] == pytest.approx(top) for a, b in lifts)
    for a, b in pairwise(way):
        if b[2] < top - 1e-9 and b[2] < a[2] - 1e-12:
            assert a[2] - b[2] <= 0.5 * math.dist(a[:2], b[:2]) + 1e-9


def test_the_wall_above_and_between_tabs_is_the_line() -> None:
    """Tabs leave no mark on the wall above them, nor between them."""
    part = Point(60, 50).buffer(14, quad_segs=128)
    plan = plan_of(part, holding="tabs")
    passes = list(plan.set_ups[0].programs[0].passes)
    assert deepest_inside(swept(passes, CUTTER).intersection(part)) < SIDE_AS_CUT / 2
    near = part.buffer(1.0, quad_segs=64).difference(part)
    assert deepest_inside(near.difference(swept(passes, CUTTER, 3.19))) < SIDE_AS_CUT / 2


def test_high_tabs_under_a_small_cutter_are_cut_round_in_several_laps() -> None:
    """1.5 mm of wood and 0.3 below want five laps of a 0.8 mm cutter at half a diameter; all of them spare the tabs."""
    small = Cutter(2, "0.8 mm straight", 0.8, 2, 6.0, 18.0, 24000.0)
    part = rounded(20, 20, 60, 50)
    plan = plan_of(part, shop=Shop((small,), SHOP.machine, ()), holding="tabs", tab_height=1.5)
    passes = list(plan.set_ups[0].programs[0].passes)
    depths = [one.depth for one in passes if one.depth > 2.5 + 1e-9]
    assert depths == pytest.approx([2.86, 3.22, 3.58, 3.94, 4.3])
    assert [one.kind for one in passes][-2:] == ["roughing", "last"]
    assert len(bridges(part, passes, 2.51, small).geoms) == 3
    assert bridges(part, passes, 2.49, small).is_empty


def test_no_tab_stands_at_a_corner_or_on_a_tip() -> None:
    """Round a star with five points every foot, and a millimetre beyond, keeps clear of tips and of notches."""
    corners = [
        (60 + r * math.sin(k * math.pi / 5), 60 + r * math.cos(k * math.pi / 5)) for k, r in enumerate((38.0, 17.0) * 5)
    ]
    star = Polygon(corners).buffer(-1.6, quad_segs=64).buffer(3.2, quad_segs=64).buffer(-1.6, quad_segs=64)
    plan = cutting.plan(
        replace(job(), cutting=CuttingRule(holding="tabs", tabs=5)),
        layout(),
        replace(placed(star), used=(replace(placed(star).used[0], outline=box(0, 0, 120, 120)),)),
        SHOP,
    )
    (tabs,) = held(plan)
    assert len(tabs) == 5
    for tab in tabs:
        assert min(math.dist(tab.place, corner) for corner in corners) > tab.length / 2 + 1.0
    middle = [sum(tab.place[k] for tab in tabs) / 5 for k in (0, 1)]
    assert math.dist(middle, (60, 60)) < 4.0


def test_two_tabs_of_a_disc_stand_opposite_each_other() -> None:
    """Their middle is the disc's own, within the step of half a millimetre at which places are tried."""
    plan = plan_of(Point(60, 50).buffer(14, quad_segs=128), holding="tabs", tabs=2)
    ((one, other),) = held(plan)
    assert math.dist([(a + b) / 2 for a, b in zip(one.place, other.place, strict=True)], (60, 50)) < 0.5


def test_a_part_without_room_for_two_tabs_is_told_and_stays_on_tape() -> None:
    """A square of 5 mm has no straight run of a tab's length: it keeps the skin, and its too little tape is told."""
    plan = plan_of(rounded(20, 20, 70, 50), rounded(100, 20, 105, 25), holding="tabs")
    large, small = held(plan)
    assert (len(large), len(small)) == (3, 0)
    (note,) = [one for one in plan.findings if "no room for two tabs" in one.what]
    assert (note.severity, note.where) == ("note", "parts, offcut 1")
    assert note.what.endswith("holds: piece 2, part 2")  # as sheets number it
    assert "piece 2, part 2" in on_tape(plan)[0].what
    assert "part 1" not in on_tape(plan)[0].what
    words = [one.what for one in plan.set_ups[0].programs[0].passes]
    assert next(k for k, w in enumerate(words) if "outlines of" in w) > max(
        k for k, w in enumerate(words) if "on tabs" in w
    )


@pytest.mark.parametrize(("count", "height", "weak"), [(3, 0.8, False), (3, 0.1, True), (2, 0.8, True)])
def test_tabs_too_weak_for_the_force_of_the_cut_are_told(count: int, height: float, weak: bool) -> None:
    """The worst of n tabs evenly round a part bears 2 F / n: a third of what 4 N/mm2 over its cross section hold."""
    plan = plan_of(rounded(20, 20, 70, 50), holding="tabs", tabs=count, tab_height=height)
    force = plan.set_ups[0].programs[0].figures.force
    assert (3.0 * 2.0 * force / count > 4.0 * 3.0 * height) is weak
    told = [one for one in plan.findings if "are to bear" in one.what]
    assert [one.severity for one in told] == ["look"] * weak
    if told:
        assert f"{count} tabs of {3.0 * height:.1f} mm2 each are to bear {2.0 * force / count:.1f} N" in told[0].what
        assert told[0].what.endswith(": piece 1, part 1")


def test_tabs_lead_to_wood_that_stays() -> None:
    """Between two parts a groove and a hair apart nothing stays: both put their tabs on their other sides."""
    left, right = rounded(20, 20, 50, 60), rounded(53.5, 20, 83.5, 60)
    plan = plan_of(left, right, holding="tabs", tabs=4)
    stays = box(0, 0, 200, 100).difference(shapely.union_all([left, right]).buffer(3.0, quad_segs=64))
    for tabs in held(plan):
        assert tabs
        for tab in tabs:
            turn = math.radians(tab.outwards)
            assert stays.contains(Point(tab.place[0] + 4 * math.cos(turn), tab.place[1] + 4 * math.sin(turn)))


def test_tabs_are_no_higher_than_half_the_wood() -> None:
    """A tab of 3 mm in wood of 4 mm is 2 mm high, and that is told."""
    plan = plan_of(rounded(20, 20, 70, 50), holding="tabs", tab_height=3.0)
    assert {tab.height for tab in held(plan)[0]} == {2.0}
    assert any(
        one.what == "tabs are 2.00 mm high, not 3.00 mm: half the thickness of the wood" for one in plan.findings
    )
