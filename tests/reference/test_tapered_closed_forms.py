"""Tapered walls against closed forms: axis, sections, corners, depth errors."""

import math

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from purfle.geometry.medial_axis import above, axis_around, below, cut_at, medial_axis
from purfle.model.tapered import TaperedRule
from purfle.tapered import (
    corner_interference,
    cusp,
    depth_errors,
    insert_curves,
    insert_section,
    recess_curves,
    recess_section,
    rounded,
    spacing_for,
    trails_over,
)
from tapered_sweep import furthest, star, swept

RULE = TaperedRule(half_angle=30.0, tip_radius=0.0, sink=2.5, glue_room=0.5, saw_room=1.0)
FLAT = 1.5875
FINE = 0.001


def disc(radius: float) -> Polygon:
    """A disc whose chords stand off it by less than 0.0004 mm at 20 mm."""
    return Point(0.0, 0.0).buffer(radius, quad_segs=256)


def cut(outline, rule=RULE):
    """Recess and insert, both as swept trails: sections at the finished face, the insert mirrored back."""
    recess, _ = trails_over(recess_curves(outline, rule, FLAT))
    mirrored = shapely.transform(outline, lambda xy: xy * [-1, 1])
    insert, _ = trails_over(insert_curves(mirrored, rule, FLAT, 6.0))
    return recess, insert


def test_the_axis_of_a_rectangle_is_its_spine_and_four_mitres() -> None:
    axis = medial_axis(box(0, 0, 40, 10), FINE, FINE)
    assert axis.length == pytest.approx(30.0 + 4 * 5 * math.sqrt(2), abs=1e-6)
    assert axis.places[axis.edges, 2].max() == pytest.approx(5.0)


def test_the_axis_of_a_ring_is_the_circle_between_its_edges() -> None:
    ring = disc(40.0).difference(disc(34.0))
    axis = medial_axis(ring, FINE, 0.004)
    assert axis.length == pytest.approx(2 * math.pi * 37.0, rel=1e-4)
    assert np.allclose(axis.places[axis.edges, 2], 3.0, atol=0.001)


def test_the_axis_beside_a_corner_is_a_parabola() -> None:
    """Outside a right angle's corner the axis of an L runs on the parabola of that corner and the far side."""
    shape = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
    axis = medial_axis(shape, FINE, FINE)
    used = axis.places[np.unique(axis.edges)]
    bend = used[(used[:, 0] > 6.0) & (used[:, 0] < 9.9) & (used[:, 1] < 6.0)]
    assert len(bend) > 5
    # as far from the corner (10, 10) as from the side y = 0
    assert np.allclose(np.hypot(bend[:, 0] - 10.0, bend[:, 1] - 10.0), bend[:, 1], atol=1e-4)
    assert np.allclose(bend[:, 1], bend[:, 2], atol=1e-4)


def test_a_disc_keeps_its_middle() -> None:
    axis = medial_axis(disc(1.5), FINE, 0.004)
    assert len(axis.edges) >= 1
    assert np.hypot(*axis.places[np.unique(axis.edges), :2].T).max() < 0.01


def test_the_axis_outside_is_that_of_the_notches_alone() -> None:
    """Outside a convex shape there is no axis; in a notch of a star it bisects the angle."""
    assert len(below(axis_around(box(0, 0, 30, 20), 5.0, FINE, FINE), 5.0).edges) == 0
    around = below(axis_around(star(), 5.0, FINE, FINE), 1.0)
    inner, tip = np.array([18 * math.sin(math.pi / 5), 18 * math.cos(math.pi / 5)]), np.array([0.0, 45.0])
    other = np.array([45 * math.sin(2 * math.pi / 5), 45 * math.cos(2 * math.pi / 5)])
    cosine = (tip - inner) @ (other - inner) / np.linalg.norm(tip - inner) / np.linalg.norm(other - inner)
    notch = math.acos(cosine)
    assert around.length == pytest.approx(5 * 1.0 / math.sin(notch / 2), rel=1e-4)


def test_parts_of_the_axis_below_and_above_a_distance_make_up_the_whole() -> None:
    axis = medial_axis(star(), FINE, FINE)
    assert below(axis, 2.0).length + above(axis, 2.0).length == pytest.approx(axis.length)
    assert cut_at(axis, [1.0, 2.0]).length == pytest.approx(axis.length)


def test_recess_and_insert_have_one_section_at_every_depth() -> None:
    for depth in (0.0, 0.8, 2.5):
        recess = recess_section(star(), RULE, depth)
        insert = insert_section(star(), RULE, RULE.sink - depth)
        assert recess.symmetric_difference(insert).area < 1e-9


@pytest.mark.parametrize("depth", [0.0, 1.0, 2.0])
def test_the_recess_of_a_disc_is_a_frustum(depth: float) -> None:
    recess, _ = cut(disc(10.0))
    radius = 10.0 - depth * RULE.slope
    section = swept(recess, RULE, depth)
    outside = shapely.Polygon(section.exterior)
    assert outside.area == pytest.approx(math.pi * radius**2, rel=2e-4)


def test_the_tip_of_a_star_is_reached_in_recess_and_insert() -> None:
    """A tip of 38 degrees is cut to its point, which a round cutter could not do."""
    recess, insert = cut(star())
    hole = swept(recess, RULE, 0.0).union(star().buffer(-2.0))
    assert furthest(star(), hole) < 0.005
    taken = shapely.transform(swept(insert, RULE, RULE.sink), lambda xy: xy * [-1, 1])
    left = star().buffer(4.0).difference(taken)
    part = max(shapely.get_parts(left), key=lambda one: one.intersection(star()).area)
    assert furthest(part, hole) < 0.005
    assert furthest(hole, part) < 0.02


@pytest.mark.parametrize("outline", [box(0, 0, 30, 20), star(), disc(20.0).difference(disc(8.0)), box(0, 0, 40, 2)])
def test_the_walls_of_recess_and_insert_meet_all_the_way_down(outline) -> None:
    recess, insert = cut(outline)
    for depth in (0.0, 1.2, 2.4):
        wanted = outline.buffer(-depth * RULE.slope, quad_segs=64)
        hole = swept(recess, RULE, depth).union(outline.buffer(-RULE.recess_depth * RULE.slope))
        taken = shapely.transform(swept(insert, RULE, RULE.sink - depth), lambda xy: xy * [-1, 1])
        assert furthest(hole, wanted) < 0.005, "the recess is gouged"
        assert furthest(wanted, hole) < 0.005, "wood is left in the recess"
        assert taken.intersection(wanted.buffer(-0.005)).area < 1e-6, "the insert is gouged"
        beside = wanted.buffer(0.3).difference(wanted.buffer(0.005))
        assert beside.difference(taken).area < 1e-4, "wood is left on the insert"


def test_a_blunt_tip_interferes_at_a_star_tip_by_the_closed_form() -> None:
    """0.2046 mm at 38.33 degrees and a tip of 0.1 mm: a disc in the corner stays that far from its point."""
    tip = 2.0 * math.degrees(math.atan2(18 * math.sin(math.pi / 5), 45 - 18 * math.cos(math.pi / 5)))
    assert corner_interference(0.1, tip) == pytest.approx(0.2046, abs=0.0001)
    opened = star().buffer(-0.1, quad_segs=256).buffer(0.1, quad_segs=256)
    assert furthest(star(), opened) == pytest.approx(0.2046, abs=0.0002)


def test_rounded_by_the_blunt_tip_both_sides_meet_at_the_face() -> None:
    rule = TaperedRule(half_angle=30.0, tip_radius=0.1, sink=2.5, glue_room=0.5, saw_room=1.0)
    outline = rounded(star(), rule.tip_radius)
    recess, insert = cut(outline, rule)
    hole = swept(recess, rule, 0.0).union(outline.buffer(-2.0))
    taken = shapely.transform(swept(insert, rule, rule.sink), lambda xy: xy * [-1, 1])
    left = outline.buffer(4.0).difference(taken)
    part = max(shapely.get_parts(left), key=lambda one: one.intersection(outline).area)
    assert furthest(part, hole) < 0.005
    assert furthest(hole, part) < 0.02
    sharp_recess, _ = cut(star(), rule)
    missed = furthest(star(), swept(sharp_recess, rule, 0.0).union(star().buffer(-2.0)))
    assert missed == pytest.approx(0.2046, abs=0.004), "without rounding the tip interferes by the closed form"


def test_necks_between_slots_narrower_than_the_tip_do_not_stay() -> None:
    """What rounding leaves can be cut by the tip on both sides."""
    comb = box(0, 0, 20, 5).difference(shapely.union_all([box(x, 2, x + 0.15, 5) for x in (5.0, 5.3, 5.6)]))
    result = rounded(comb, 0.1)
    assert furthest(result, result.buffer(-0.0999).buffer(0.0999)) < 0.01
    assert furthest(result.buffer(0.0999).buffer(-0.0999), result) < 0.01


def test_depth_errors_follow_from_two_cones() -> None:
    """Sinking s into a cone cut r too deep: s = c + r + i while glue room is left, and the seam opens by tau beyond."""
    fine = depth_errors(RULE, recess=0.2, insert=0.3)
    assert fine.sinks == pytest.approx(2.5 + 0.5)
    assert fine.room == pytest.approx(0.5 - 0.3)
    assert fine.grows == pytest.approx(0.2 * math.tan(math.radians(30)))
    assert fine.opens == 0.0
    deep = depth_errors(RULE, recess=0.0, insert=0.7)
    assert deep.opens == pytest.approx(0.2 * math.tan(math.radians(30)))
    assert deep.sinks == pytest.approx(RULE.recess_depth), "it stands on the bottom"
    assert depth_errors(RULE, recess=-0.1, insert=0.0).grows < 0.0


def test_cusps_between_two_ways_of_the_tip() -> None:
    """Two cones p apart meet p / (2 tau) above their tips."""
    assert cusp(1.0, RULE) == pytest.approx(1.0 / (2 * math.tan(math.radians(30))))
    blunt = TaperedRule(30.0, 0.1, 2.5, 0.5, 1.0)
    assert cusp(spacing_for(0.2, blunt), blunt) == pytest.approx(0.2)


def test_no_cusp_on_the_bottom_reaches_the_insert() -> None:
    """Flat clearing and tip together leave nothing above half the glue room."""
    curves = recess_curves(star(), RULE, FLAT)
    trails, _ = trails_over(curves)
    level = RULE.recess_depth - RULE.glue_room / 2 - 0.001
    left = curves.floor.difference(curves.cleared).difference(swept(trails, RULE, level))
    assert left.buffer(-0.003).is_empty
    assert not curves.floor.difference(curves.cleared).buffer(-0.05).is_empty, "the flat cutter alone leaves some"
