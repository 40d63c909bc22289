"""Offsetting against closed forms, against the other engine, and against engines that lie."""

import math

import pytest
import shapely
from shapely import Point, Polygon, box

from purfle.errors import PurfleError
from purfle.geometry import offsetting
from purfle.geometry.offsetting import closing, closing_by_clipper, grow, intersection, opening, shrink, union_of

SQUARE = box(0, 0, 20, 20)


def test_a_grown_square_has_the_area_of_its_closed_form():
    assert grow(SQUARE, 2).area == pytest.approx(400 + 4 * 20 * 2 + math.pi * 4, rel=1e-4)


def test_a_shrunk_square_is_a_smaller_square():
    assert shrink(SQUARE, 2).symmetric_difference(box(2, 2, 18, 18)).area < 1e-9


def test_shrinking_below_the_width_leaves_nothing():
    assert shrink(box(0, 0, 20, 3), 1.6).is_empty


@pytest.mark.parametrize("close", [closing, closing_by_clipper])
def test_the_corner_of_a_square_hole_keeps_a_rest_of_root_two_less_one_radii(close):
    radius = 1.5
    plate = Polygon(SQUARE.exterior, [box(5, 5, 15, 15).exterior])
    beyond = close(plate, radius).difference(plate)
    deepest = Point(5, 5).distance(Polygon(close(plate, radius).interiors[0]))
    assert deepest == pytest.approx((math.sqrt(2) - 1) * radius, abs=0.001)
    assert beyond.area == pytest.approx((4 - math.pi) * radius**2, abs=0.01)


@pytest.mark.parametrize("close", [closing, closing_by_clipper])
@pytest.mark.parametrize(("width", "stays"), [(2.9, False), (3.1, True)])
def test_a_slot_stays_open_only_if_the_cutter_passes(close, width, stays):
    slotted = SQUARE.difference(box(8, 5, 8 + width, 25))
    assert close(slotted, 1.5).contains(Point(8 + width / 2, 12)) is not stays


@pytest.mark.parametrize(("radius", "stays"), [(1.45, False), (1.55, True)])
def test_a_round_hole_stays_only_if_the_cutter_goes_in(radius, stays):
    plate = SQUARE.difference(Point(10, 10).buffer(radius, quad_segs=64))
    assert bool(len(shapely.get_parts(closing(plate, 1.5))[0].interiors)) is stays


def test_opening_rounds_a_corner_and_nothing_else():
    assert SQUARE.difference(opening(SQUARE, 1.5)).area == pytest.approx((4 - math.pi) * 1.5**2, abs=0.01)


def lie(monkeypatch, wrong):
    """Let the first engine give `wrong(region, distance)`; count how often the second is asked."""
    asked = []
    second = offsetting._by_clipper
    monkeypatch.setattr(offsetting, "_by_geos", wrong)
    monkeypatch.setattr(offsetting, "_by_clipper", lambda *a: asked.append(a) or second(*a))
    return asked


def test_an_empty_result_of_the_first_engine_is_caught(monkeypatch):
    asked = lie(monkeypatch, lambda region, distance: Polygon())
    assert grow(SQUARE, 2).area == pytest.approx(560 + math.pi * 4, rel=1e-4)
    assert shrink(SQUARE, 2).area == pytest.approx(256, rel=1e-4)
    assert len(asked) == 2


def test_an_inset_that_keeps_what_it_must_remove_is_caught(monkeypatch):
    two = union_of([SQUARE, box(30, 0, 40, 2.5)])
    lie(monkeypatch, lambda region, distance: union_of([box(2, 2, 18, 18), box(30, 0, 40, 2.5)]))
    assert shrink(two, 2).symmetric_difference(box(2, 2, 18, 18)).area < 0.01


def test_a_lost_part_is_caught(monkeypatch):
    two = union_of([SQUARE, box(30, 0, 50, 20)])
    lie(monkeypatch, lambda region, distance: box(2, 2, 18, 18))
    assert shrink(two, 2).area == pytest.approx(512, rel=1e-4)


def test_a_filled_hole_is_caught(monkeypatch):
    plate = SQUARE.difference(box(6, 6, 14, 14))
    lie(monkeypatch, lambda region, distance: SQUARE.buffer(distance, quad_segs=32))
    assert not grow(plate, 1).contains(Point(10, 10))


def test_two_engines_that_disagree_are_refused_with_what_where_and_mend(monkeypatch):
    monkeypatch.setattr(offsetting, "_by_geos", lambda region, distance: Polygon())
    monkeypatch.setattr(offsetting, "_by_clipper", lambda region, distance: box(0, 0, 5, 5))
    with pytest.raises(PurfleError) as caught:
        grow(SQUARE, 2)
    assert "cannot be offset by 2.0000 mm" in caught.value.what
    assert "x 0.0 to 20.0 mm" in caught.value.where
    assert "simplify" in caught.value.mend


@pytest.mark.parametrize("distance", [-1.0, math.nan, math.inf])
def test_a_distance_that_is_none_is_a_programmers_fault(distance):
    with pytest.raises(ValueError, match="finite distance"):
        grow(SQUARE, distance)


def test_overlays_give_regions_even_where_only_edges_touch():
    assert intersection(SQUARE, box(20, 0, 30, 20)).is_empty
    assert isinstance(intersection(SQUARE, box(20, 0, 30, 20)), Polygon)
