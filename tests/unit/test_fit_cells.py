"""What a cell gains and loses is worked in late: asked at any time, it answers as the plain regions would."""

from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from purfle.fit.cells import Cell
from purfle.geometry.offsetting import Region
from purfle.geometry.partition import border_samples
from purfle.tolerances import TOUCHING

OFTEN = settings(max_examples=60, deadline=None, derandomize=True)
SAME = 0.01
"""Regions that differ by less area, mm2, are one: outlines of some 100 mm lie on a grid of a ten-thousandth."""

halves = st.integers(0, 60).map(lambda half: half / 2)
spans = st.integers(1, 24).map(lambda half: half / 2)
boxes = st.builds(lambda x, y, a, b: box(x, y, x + a, y + b), halves, halves, spans, spans)
discs = st.builds(lambda x, y, r: Point(x, y).buffer(r, quad_segs=8), halves, halves, spans)
changes = st.lists(st.tuples(st.booleans(), boxes | discs), min_size=1, max_size=8)
WHOLE = box(0, 0, 20, 20)


def cell(region: Region = WHOLE) -> Cell:
    return Cell("cap", "holly", (1, 2, 3), region, [], [])


def changed(of: Cell, steps: list[tuple[bool, Polygon]]) -> Region:
    """The same done to a cell and, by plain unions and differences, to its region."""
    plain: Region = of.region
    for gained, part in steps:
        if gained:
            of.gain(part)
            plain = shapely.union(plain, part)
        else:
            of.lose(part)
            plain = shapely.difference(plain, part)
    return plain


def apart(one: Region, other: Region) -> float:
    return float(shapely.symmetric_difference(one, other).area)


@OFTEN
@given(changes)
def test_gains_and_losses_come_to_the_plain_region(steps: list[tuple[bool, Polygon]]) -> None:
    """In the order in which they came: what was lost and gained again is there, and the other way round."""
    one = cell()
    plain = changed(one, steps)
    assert len(one.waiting) == len(steps)
    assert apart(one.region, plain) < SAME
    assert one.waiting == []
    assert apart(one.region, plain) < SAME


def test_asking_in_between_makes_no_difference() -> None:
    steps = [(True, box(10, 10, 30, 30)), (False, box(15, 0, 18, 40)), (True, box(0, 25, 40, 26)), (False, WHOLE)]
    often, once = cell(), cell()
    for step in steps:
        changed(often, [step])
    changed(once, steps)
    assert apart(often.region, once.region) < SAME


def test_no_more_than_some_changes_wait() -> None:
    """A hundred losses are worked in on the way, none of them twice and none of them not at all."""
    one = cell(box(0, 0, 200, 10))
    plain = changed(one, [(False, box(2 * n, 0, 2 * n + 1, 10)) for n in range(100)])
    assert len(one.waiting) < 100
    assert apart(one.region, plain) < SAME
    assert one.region.area == pytest.approx(1000.0)


@OFTEN
@given(changes, boxes | discs, st.sampled_from([0.0, 0.5, 4.0]))
def test_near_is_the_region_about_a_place(steps: list[tuple[bool, Polygon]], place: Polygon, reach: float) -> None:
    """Within the box of the place grown by the reach it is the whole region, and beyond it nothing."""
    one = cell()
    plain = changed(one, steps)
    left, low, right, high = place.bounds
    window = box(left - reach, low - reach, right + reach, high + reach)
    found = one.near(place, reach)
    assert apart(shapely.intersection(found, window), shapely.intersection(plain, window)) < SAME
    assert shapely.difference(found, window).area < SAME
    assert len(one.waiting) == len(steps), "looking changes nothing"


@OFTEN
@given(changes, boxes | discs)
def test_what_touches_a_place_is_never_overlooked(steps: list[tuple[bool, Polygon]], place: Polygon) -> None:
    """False only where the cell does not meet the place; what it lost lately may still be told."""
    one = cell()
    plain = changed(one, steps)
    if shapely.intersection(plain, place).area > SAME:
        assert one.touches(place)
    ever = [WHOLE, *(part for gained, part in steps if gained)]
    if not any(part.intersects(place) for part in ever):
        assert not one.touches(place)


@OFTEN
@given(changes)
def test_the_box_holds_everything_and_every_change_is_looked_at(steps: list[tuple[bool, Polygon]]) -> None:
    """No part of what changed lies outside the boxes that wait for the next sweep and the next trimming."""
    one = cell()
    plain = changed(one, steps)
    if not plain.is_empty:
        assert box(*one.bounds).buffer(SAME).covers(box(*plain.bounds))
    for waiting in (one.unswept, one.untrimmed):
        assert waiting is not None
        seen = shapely.union_all([box(*each) for each in waiting])
        assert shapely.symmetric_difference(plain, WHOLE).difference(seen.buffer(SAME)).area < SAME


def test_what_a_cell_takes_out_of_its_own_closing_needs_no_second_look() -> None:
    one = cell()
    one.gain(box(20, 5, 21, 15), closed=True)
    assert (one.unswept, one.untrimmed) == ([], [])
    assert one.region.area == pytest.approx(410.0)
    fresh = Cell("cap", "holly", (1, 2, 3), WHOLE)
    fresh.lose(box(0, 0, 1, 1))
    assert fresh.unswept is None, "all of it waits still"


def test_a_part_of_a_cell_is_like_it_in_all_but_the_region() -> None:
    """Name, wood, colour, being apart, its own cutter, and what waits, which from now on is each one's own."""
    one = Cell("cap", "holly", (1, 2, 3), WHOLE, [(0.0, 0.0, 1.0, 1.0)], None, (1.0, 1.0), "cap", cutter=0.79375)
    part = one.like(box(0, 0, 5, 5))
    said = [(each.name, each.wood, each.colour, each.apart, each.cutter, each.unswept) for each in (one, part)]
    assert said[0] == said[1]
    assert (part.joined, part.sturdy, part.waiting, part.untrimmed) == (None, None, [], None)
    part.lose(box(0, 0, 1, 1))
    assert one.unswept == [(0.0, 0.0, 1.0, 1.0)]
    assert one.region.equals(WHOLE)


def test_cells_are_ordered_by_what_they_are() -> None:
    """Neither the place in the list nor what was asked of them before counts."""
    cells = [cell(box(0, 0, n % 3 + 1, 4)) for n in range(6)]
    keys = sorted(each.key for each in cells)
    assert all(one <= other for one, other in pairwise(keys))
    assert sorted(each.key for each in reversed(cells)) == keys


@OFTEN
@given(changes, boxes | discs)
def test_what_lies_against_a_cell_is_told_as_of_its_plain_region(
    steps: list[tuple[bool, Polygon]], beside: Polygon
) -> None:
    """Places surely on the cell, and places surely off it, whatever it gained and lost lately around them."""
    one = cell()
    plain = changed(one, steps)
    places, _ = border_samples(beside)
    away = shapely.distance(plain, shapely.points(places))
    told = one.border_with(beside, places)
    assert told[away < TOUCHING / 2.0].all()
    assert not told[away > 2.0 * TOUCHING].any()
