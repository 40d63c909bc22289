"""Trails over curves: every curve once, little twice, one entry into solid wood for each net."""

import itertools
import math

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from purfle.model.tapered import TaperedRule
from purfle.tapered import Curves, insert_curves, plate_of, plate_reach, recess_curves, trails_over
from tapered_sweep import star, swept

RULE = TaperedRule(half_angle=30.0, tip_radius=0.0, sink=2.5, glue_room=0.5, saw_room=1.0)
FLAT = 1.5875
RING = Point(0, 0).buffer(30).difference(Point(0, 0).buffer(24))
SHAPES = {"star": star(), "square": box(0, 0, 30, 30), "strip": box(0, 0, 40, 2), "ring": RING}
SHAPES["two"] = shapely.union_all([box(0, 0, 9, 9), box(30, 0, 41, 7)])
SHAPES["comb"] = shapely.union_all([box(0, 0, 60, 4), *(box(x, 3, x + 2.5, 20) for x in range(2, 56, 6))])


def both(outline):
    return [recess_curves(outline, RULE, FLAT), insert_curves(outline, RULE, FLAT, 6.0)]


def edges_of(ways) -> set[tuple]:
    found = set()
    for way in ways:
        places = [tuple(place) for place in np.round(way, 6).tolist()]
        found |= {tuple(sorted(pair)) for pair in itertools.pairwise(places)}
    return found


@pytest.mark.parametrize("name", SHAPES)
def test_every_curve_is_on_a_trail(name: str) -> None:
    for curves in both(SHAPES[name]):
        trails, _ = trails_over(curves)
        wanted = edges_of(curves.places[edge] for edge in curves.edges)
        assert wanted <= edges_of(trail.places for trail in trails)


@pytest.mark.parametrize("name", SHAPES)
def test_no_more_than_a_tenth_is_run_twice(name: str) -> None:
    for curves in both(SHAPES[name]):
        trails, figures = trails_over(curves)
        assert sum(trail.length for trail in trails) == pytest.approx(figures.once + figures.retraced, abs=1e-6)
        assert figures.retraced <= 0.1 * figures.once


@pytest.mark.parametrize("name", SHAPES)
def test_solid_wood_is_entered_once_for_each_net(name: str) -> None:
    """A trail that does not plunge begins at the face, or where an earlier one has been."""
    for curves in both(SHAPES[name]):
        trails, figures = trails_over(curves)
        assert figures.plunges <= figures.nets
        been: set[tuple] = set()
        for trail in trails:
            places = [tuple(place) for place in np.round(trail.places, 6).tolist()]
            assert trail.plunges or places[0][2] == 0.0 or places[0] in been
            been |= set(places)


def test_nested_rings_are_one_net_by_bridges_that_stay_on_the_bottom() -> None:
    """A ring with a bottom too narrow for the flat cutter is cleared in one trail."""
    curves = recess_curves(RING, RULE, FLAT)
    trails, figures = trails_over(curves)
    assert figures.nets == 1
    assert len(trails) == 1
    level = trails[0].places[trails[0].places[:, 2] > RULE.recess_depth - 1e-6]
    assert curves.bottom.buffer(0.002).covers(shapely.LineString(level[:, :2]))


def test_two_parts_are_two_nets() -> None:
    _, figures = trails_over(recess_curves(SHAPES["two"], RULE, FLAT))
    assert figures.nets == 2


def test_straight_ways_over_the_bottom_stay_where_the_tip_may_go() -> None:
    for name in ("star", "comb"):
        curves = recess_curves(SHAPES[name], RULE, FLAT)
        for trail in trails_over(curves)[0]:
            for a, b in itertools.pairwise(trail.places):
                if min(a[2], b[2]) < curves.full_depth - 1e-6:
                    continue
                line = shapely.LineString([a[:2], b[:2]])
                assert line.length < 1e-9 or curves.bottom.buffer(0.003).covers(line)


@pytest.mark.parametrize("points, inner", [(4, 4.0), (6, 7.0), (9, 9.0)])
def test_around_an_insert_nothing_is_cut_beside_its_plate(points: int, inner: float) -> None:
    """In a notch of straight sides the axis runs far out; the cutter goes no further than wood is left."""
    around = plate_reach(RULE, FLAT)
    outline = star(points, 14.0, inner)
    plate = plate_of(outline, around)
    trails, _ = trails_over(insert_curves(outline, RULE, FLAT, around))
    assert swept(trails, RULE, 0.0).difference(plate.buffer(0.003)).area < 1e-3


def test_a_tree_whose_branches_are_long_is_lifted_between_them() -> None:
    """Three branches of 40 mm: to run one twice costs more than a lift."""
    tips = [(40 * math.cos(turn), 40 * math.sin(turn), 0.0) for turn in (0.0, 2.1, 4.2)]
    curves = Curves(
        np.array([(0.0, 0.0, 1.0), *tips]),
        np.array([[0, 1], [0, 2], [0, 3]]),
        2.0,
        Polygon(),
        Polygon(),
        Polygon(),
        Polygon(),
    )
    trails, figures = trails_over(curves)
    assert len(trails) == 2
    assert figures.retraced == 0.0
    assert figures.plunges == 0, "both begin at the face"


def test_the_same_outline_gives_the_same_trails() -> None:
    first, second = (trails_over(recess_curves(star(), RULE, FLAT))[0] for _ in range(2))
    assert [one.places.tobytes() for one in first] == [one.places.tobytes() for one in second]


def test_an_empty_outline_has_no_curves() -> None:
    """A part thinner than a blunt tip is gone once it is rounded."""
    for curves in both(Polygon()):
        trails, figures = trails_over(curves)
        assert trails == ()
        assert (figures.once, figures.plunges, figures.nets) == (0, 0, 0)


def test_curves_lie_where_the_outline_does_and_turn_with_it() -> None:
    """Far from the origin the same curves come out, moved."""
    near, far = (trails_over(recess_curves(shape, RULE, FLAT))[1] for shape in (star(), _moved(star(), 1500.0, 900.0)))
    assert far.once == pytest.approx(near.once, abs=0.01)
    assert far.plunges == near.plunges


def _moved(shape, x: float, y: float):
    return shapely.transform(shape, lambda xy: xy + np.array([x, y]))


def test_an_outline_of_hardly_any_area_has_hardly_any_curves() -> None:
    trails, figures = trails_over(recess_curves(box(0, 0, 0.01, 0.01), RULE, FLAT))
    assert sum(trail.length for trail in trails) < 0.1
    assert figures.plunges <= 1
