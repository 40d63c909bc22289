"""Areas that touch, with tapered walls: none of one order touch, and what is seen in the end is what was drawn."""

import itertools

import pytest
import shapely
from shapely import Point, box

from purfle.errors import FitError
from purfle.fit.cells import cells_of
from purfle.fit.tapered_walls import GROUND_KEPT, in_orders, let_in_tapered, reaching_under
from purfle.model.pieces import DrawnArea, FitRule
from purfle.model.tapered import TaperedRule

WALLS = TaperedRule(half_angle=30.0, tip_radius=0.0, sink=2.5, glue_room=0.5, saw_room=1.0)
RULE = FitRule(cutter_radius=1.5875, seam=0.0)


def drawn(regions) -> list[DrawnArea]:
    """Areas, each of a wood of its own."""
    return [DrawnArea(f"area {n}", f"wood {n}", (0, 0, 0), region) for n, region in enumerate(regions)]


EYE = Point(20, 10).buffer(4)
DESIGNS = {
    "apart": [box(0, 0, 10, 10), box(12, 0, 20, 10)],
    "two": [box(0, 0, 30, 10), box(30, 0, 40, 10)],
    "eye": [box(0, 0, 40, 20).difference(EYE), EYE],
    "board of nine": [box(10 * x, 10 * y, 10 * x + 10, 10 * y + 10) for x in range(3) for y in range(3)],
    "thin stripe": [box(0, 0, 20, 20), box(20, 0, 20.6, 20), box(20.6, 0, 45, 20)],
}


@pytest.mark.parametrize(("name", "count"), [("apart", 1), ("two", 2), ("eye", 2), ("board of nine", 4)])
def test_as_few_orders_as_areas_that_meet_in_a_place(name: str, count: int) -> None:
    assert len(let_in_tapered(drawn(DESIGNS[name]), RULE, WALLS)) == count


@pytest.mark.parametrize("name", DESIGNS)
def test_what_is_seen_is_what_was_drawn(name: str) -> None:
    """Each insert less what is let in after it is its area."""
    fits = let_in_tapered(drawn(DESIGNS[name]), RULE, WALLS)
    numbers = [insert.number for fit in fits for insert in fit.inserts]
    assert numbers == list(range(1, len(DESIGNS[name]) + 1))
    assert [fit.order for fit in fits] == list(range(1, len(fits) + 1))
    for level, fit in enumerate(fits):
        later = shapely.union_all([one.recess for one in fits[level + 1 :]])
        for insert in fit.inserts:
            region = DESIGNS[name][int(insert.name.removeprefix("area "))]
            assert insert.region.difference(later).symmetric_difference(region).area < 0.01


@pytest.mark.parametrize("name", DESIGNS)
def test_those_of_one_order_keep_ground_between_them(name: str) -> None:
    for fit in let_in_tapered(drawn(DESIGNS[name]), RULE, WALLS):
        for one, other in itertools.combinations(fit.inserts, 2):
            assert one.region.distance(other.region) >= GROUND_KEPT - 0.001


def test_an_area_reaches_under_a_later_one_as_far_as_others_leave_room() -> None:
    """0.5 mm under a broad area; not at all under a stripe of 0.6 mm from both sides."""
    for name, lap in (("two", 0.5), ("thin stripe", 0.0)):
        orders = in_orders(sorted(cells_of(drawn(DESIGNS[name])), key=lambda one: one.region.bounds))
        regions = reaching_under(orders)
        left = min(regions[0], key=lambda one: one.bounds)
        assert left.bounds[2] == pytest.approx((30.0 if name == "two" else 20.0) + lap, abs=1e-3)


def test_more_than_one_order_is_told_with_how_to_avoid_it() -> None:
    (told,) = let_in_tapered(drawn(DESIGNS["two"]), RULE, WALLS)[0].pieces.findings
    assert told.severity == "look"
    assert "2 goes" in told.what
    assert "area 1" in told.what
    assert 'walls = "straight"' in told.mend
    assert let_in_tapered(drawn(DESIGNS["apart"]), RULE, WALLS)[0].pieces.findings == ()


def test_a_sliver_is_no_insert_and_is_told() -> None:
    """Drawings have slivers where two outlines all but meet: 0.1 mm wide goes, whichever tip; 0.3 mm stays."""
    regions = [box(0, 0, 30, 10), box(30, 0, 30.1, 10), box(40, 0, 40.3, 10)]
    (fit,) = let_in_tapered(drawn(regions), RULE, WALLS)
    assert [insert.name for insert in fit.inserts] == ["area 0", "area 2"]
    thin, told = fit.pieces.findings
    assert '"area 2" is only 0.26 mm thick' in thin.what
    assert told.what == '"area 1" loses 1.00 mm2 that is narrower than 0.2 mm; the ground stays'
    assert told.mend == "draw it wider there"
    with pytest.raises(FitError, match="No area is as wide") as caught:
        let_in_tapered(drawn(regions[1:2]), RULE, WALLS)
    assert "draw it larger" in caught.value.faults[0].mend
