"""Tilings made exact, and distances measured, against closed forms."""

import math

import numpy as np
import pytest
import shapely
from shapely import MultiPoint, Point, Polygon, box

from purfle.geometry.measuring import depths_beside, gaps_between, inscribed_radius
from purfle.geometry.partition import border_length, in_parts, junctions_of, tiled, tiling_of

DOMAIN = box(0, 0, 20, 10)


def test_regions_that_gape_and_overlap_by_a_film_tile_exactly_afterwards():
    rough = [Polygon([(0, 0), (10.0001, 0), (9.9999, 10), (0, 10)]), box(10, 0, 20, 10)]
    made = tiled(rough, DOMAIN)
    tiling = tiling_of(made, DOMAIN)
    assert tiling.edges_shared
    assert tiling.area_apart < 1e-12
    assert abs(tiling.area_twice) < 1e-12
    assert made[0].area == pytest.approx(100, abs=0.002)


def test_a_face_that_nobody_claims_goes_to_the_longest_border():
    left, right = box(0, 0, 8, 10), box(10, 0, 20, 5)
    made = tiled([left, right], DOMAIN)
    assert made[0].area == pytest.approx(80)
    assert made[1].area == pytest.approx(120)


def test_an_overlap_shows_in_the_tiling():
    assert tiling_of([box(0, 0, 11, 10), box(10, 0, 20, 10)], DOMAIN).area_twice == pytest.approx(10)


def test_junctions_are_where_three_meet():
    three = tiled([box(0, 0, 10, 10), box(10, 0, 20, 5), box(10, 5, 20, 10)], DOMAIN)
    assert junctions_of(three) == ((10.0, 5.0),)


def test_a_border_is_as_long_as_two_regions_touch():
    assert border_length(box(0, 0, 10, 10), box(10, 4, 20, 20)) == pytest.approx(6, abs=0.5)
    assert border_length(box(0, 0, 10, 10), box(12, 4, 20, 20)) == 0


def test_the_depth_of_a_filled_hole_is_the_radius_of_its_disc():
    ring = Point(0, 0).buffer(5).difference(Point(0, 0).buffer(1, quad_segs=64))
    hole = Point(0, 0).buffer(1, quad_segs=64)
    assert depths_beside([hole], ring, 0.002)[0] == pytest.approx(1, abs=0.01)


def test_the_depth_of_a_fillet_is_how_far_its_corner_stands_off():
    fillet = Polygon([(0, 0), (1, 0), (0, 1)])
    body = box(-5, -5, 5, 5).difference(box(0, 0, 9, 9))
    assert depths_beside([fillet], body, 0.002)[0] == pytest.approx(math.sqrt(0.5) / math.sqrt(2), abs=0.06)


def test_the_inscribed_radius_of_a_square_is_half_its_side():
    assert inscribed_radius(box(0, 0, 3, 3), 0.001) == pytest.approx(1.5, abs=0.002)


def test_the_gap_round_a_disc_in_a_round_hole_is_the_difference_of_radii():
    disc = Point(0, 0).buffer(4.95, quad_segs=256)
    plate = box(-10, -10, 10, 10).difference(Point(0, 0).buffer(5.05, quad_segs=256))
    inner = shapely.LinearRing(plate.interiors[0])
    gaps = gaps_between([disc, plate], [disc.boundary, inner], (0.3, 0.01), MultiPoint())
    assert gaps.widths.min() == pytest.approx(0.1, abs=0.0005)
    assert gaps.widths.max() == pytest.approx(0.1, abs=0.0005)
    assert gaps.lengths.sum() == pytest.approx(2 * math.pi * 10, rel=1e-3)


def test_a_notch_in_one_side_is_found_at_its_full_width():
    upper = Polygon([(0, 0.1), (4.99, 0.1), (5, 0.2), (5.01, 0.1), (10, 0.1), (10, 5), (0, 5)])
    lower = box(0, -5, 10, 0)
    gaps = gaps_between([upper, lower], [upper.boundary, lower.boundary], (0.3, 0.001), MultiPoint([(5, 0.1)]))
    near = np.abs(gaps.places[:, 0] - 5) < 0.02
    assert gaps.widths[near & (gaps.places[:, 1] < 1) & (gaps.places[:, 1] > 0.05)].max() == pytest.approx(
        0.2, abs=0.01
    )


def test_parts_of_a_region_are_small_and_make_it_up():
    ring = Point(0, 0).buffer(10, quad_segs=900).difference(Point(1, 0).buffer(8, quad_segs=700))
    parts = in_parts(ring, 500)
    assert max(shapely.get_num_coordinates(part) for part in parts) <= 500
    assert sum(part.area for part in parts) == pytest.approx(ring.area, rel=1e-9)
    assert shapely.union_all(parts).symmetric_difference(ring).area < 1e-6
    assert in_parts(box(0, 0, 1, 1)) == [box(0, 0, 1, 1)]
    assert in_parts(Polygon()) == []
