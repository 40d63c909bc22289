"""Where on an outline a cutter surely can rest, against both engines' grown outlines and shapes of known answers."""

import math

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from purfle.geometry.offsetting import growth_by_clipper, swift_offset
from purfle.geometry.reaching import closed_by_clipper, depth_beyond
from purfle.geometry.resting import Outline

RADIUS, DEPTH = 1.5, 0.001


def restless_places(region):
    outline = Outline.of(region, RADIUS / 4.0)
    return outline.places[outline.restless(region, RADIUS, DEPTH)]


def star(points, chance):
    turn = np.linspace(0.0, 2.0 * math.pi, points, endpoint=False)
    reach = chance.uniform(6.0, 14.0, points)
    return Polygon(np.column_stack((np.cos(turn), np.sin(turn))) * reach[:, None])


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("grown_by", [growth_by_clipper, swift_offset])
def test_every_place_that_a_grown_outline_leaves_out_of_reach_is_among_the_restless_ones(seed, grown_by):
    chance = np.random.default_rng(seed)
    region = star(int(chance.integers(5, 30)), chance).difference(Point(0, 0).buffer(chance.uniform(1.0, 4.0)))
    outline = Outline.of(region, RADIUS / 4.0)
    grown = grown_by(region, RADIUS).boundary
    missed = shapely.distance(grown, shapely.points(outline.places)) > RADIUS + DEPTH
    found = outline.restless(region, RADIUS, DEPTH)
    assert missed.any()
    assert set(np.flatnonzero(missed).tolist()) <= set(found.tolist())


def test_a_cutter_rests_everywhere_on_a_square_and_in_a_hole_wider_than_itself():
    assert len(restless_places(box(0, 0, 10, 10))) == 0
    assert len(restless_places(box(0, 0, 20, 20).difference(Point(10, 10).buffer(3.0, quad_segs=32)))) == 0


def test_a_cutter_rests_nowhere_in_a_slot_narrower_than_itself():
    found = restless_places(box(0, 0, 20, 20).difference(box(8.6, 5, 11.4, 15)))
    assert len(found) > 20
    assert (abs(found[:, 0] - 10.0) <= 1.41).all()
    assert set(found[:, 1].tolist()) >= {5.0, 15.0}


def test_what_the_second_engine_closes_of_a_corner_is_as_deep_as_plane_geometry_says():
    square_corner = box(0, 0, 20, 20).difference(box(10, 10, 21, 21))
    depths = [depth_beyond(part, closed, DEPTH) for part, closed in closed_by_clipper(square_corner, RADIUS, DEPTH)]
    deepest = RADIUS * (1.0 - math.cos(math.pi / 4.0))  # of the filling, beside either wall of the corner
    assert max(depths) == pytest.approx(deepest, abs=0.01)


def test_what_the_second_engine_closes_about_places_far_apart_is_as_deep_as_about_each_alone():
    slots = [box(5, 5, 7, 12), box(60, 5, 62.5, 9)]
    both = box(0, 0, 80, 20).difference(shapely.union_all(slots))
    found = sorted(depth_beyond(part, closed, DEPTH) for part, closed in closed_by_clipper(both, RADIUS, DEPTH))
    assert found == pytest.approx([1.0, 1.25], abs=0.02)
