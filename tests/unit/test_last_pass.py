"""The last pass: its way round, its feed in inside corners, and how often it is gone again."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LinearRing, LineString, Point, Polygon, box

from cutting_bench import (
    CUTTER,
    MACHINE,
    NO_PARTS,
    SHOP,
    deepest_inside,
    inlay,
    job,
    layout,
    passes_of,
    path_length,
    placed,
    places,
    swept,
)
from purfle import cutting
from purfle.cutting.corner_feeds import Easing, eased
from purfle.cutting.figures import figures_for
from purfle.cutting.times import trips_minutes
from purfle.files.rs274 import write_program
from purfle.model.cutting import CuttingPlan, CuttingRule, Straight, Trip, Turn
from purfle.tolerances import SIDE_AS_CUT

RADIUS, LEFT = CUTTER.radius, 0.1
EASING = Easing(RADIUS, LEFT, "climb")
STRAIGHT = math.sin(EASING.engaged)
SQUARE = box(20, 20, 60, 60).buffer(-1.51, quad_segs=64).buffer(1.51, quad_segs=64)


def plan_of(region: shapely.Geometry, **rule: object) -> CuttingPlan:
    changed = replace(job(), cutting=replace(CuttingRule(), **rule))  # type: ignore[arg-type]
    return cutting.plan(changed, layout(inlay(region)), NO_PARTS, SHOP)


def thickest(middle: tuple[float, float], way: tuple[float, float], wood: shapely.Geometry) -> float:
    """How thick the thickest chip is there, as a share of the bite: how far forward the rim stands in the wood.

    The cutter moves on as a whole, so a place of its rim takes the part of the bite that lies along the way.
    """
    turned = np.linspace(0.0, 2.0 * math.pi, 7201)
    rim = np.column_stack([np.cos(turned), np.sin(turned)])
    in_wood = shapely.contains_xy(wood, *(np.array(middle) + RADIUS * rim).T)
    forward = rim @ (np.array(way) / math.hypot(*way))
    return float(max(forward[in_wood], default=0.0))


# --- the feed in corners


def test_on_a_straight_wall_the_thickest_chip_is_the_sine_of_the_engagement() -> None:
    """A cutter in an allowance of 0.1 beside a wall: what stands on its rim, measured, is what the closed form says."""
    gone = LineString([(-50, 0), (0, 0)]).buffer(RADIUS, quad_segs=512)
    wood = box(-50, -RADIUS, 50, -RADIUS + LEFT).difference(gone)
    assert thickest((0.0, 0.0), (1.0, 0.0), wood) == pytest.approx(STRAIGHT, abs=0.005)
    assert pytest.approx(math.sqrt(2 * RADIUS * LEFT - LEFT**2) / RADIUS) == STRAIGHT


@pytest.mark.parametrize("path_radius", [0.2, 0.6, 1.5, 4.5, 20.0])
def test_in_an_inside_arc_neither_chip_nor_rim_exceed_those_on_the_straight(path_radius: float) -> None:
    """The chip measured on a round wall, and the rim's way along it: F (R + r) / R, down to where edges would rub."""
    wall = path_radius + RADIUS
    ring = Point(0, 0).buffer(wall, quad_segs=2048).difference(Point(0, 0).buffer(wall - LEFT, quad_segs=2048))
    behind = [(path_radius * math.cos(a), path_radius * math.sin(a)) for a in np.linspace(-2.5, 0.0, 2000)]
    wood = ring.difference(LineString(behind).buffer(RADIUS, quad_segs=512))
    share = EASING.in_arc(path_radius)
    assert share * thickest((path_radius, 0.0), (0.0, 1.0), wood) <= STRAIGHT + 0.005
    rim = share * wall / path_radius
    assert rim == pytest.approx(1.0) if path_radius / wall > STRAIGHT else share == pytest.approx(STRAIGHT)


@pytest.mark.parametrize("inside", [38.0, 60.0, 90.0, 120.0])
def test_before_an_inside_corner_the_chip_stays_as_thin_as_on_the_straight(inside: float) -> None:
    """Roughing has left its allowance; the chip is measured every 0.02 mm of the way to the corner.

    Where the rule says full feed, the chip is that of the straight; where it says less, feed and chip together are.
    """
    half = math.radians(inside) / 2.0
    along = np.array([math.cos(half), math.sin(half)])
    corner = Polygon([(0, 0), tuple(60 * along), (60 * along[0], -60 * along[1])])  # the middle's room
    walls = corner.buffer(RADIUS, quad_segs=512)
    wood = walls.difference(corner.buffer(-LEFT).buffer(RADIUS, quad_segs=512))
    turned = math.pi - math.radians(inside)
    share, before = EASING.in_corner(turned), EASING.before(turned)
    for left in np.arange(0.02, before + 1.0, 0.02):
        here = tuple(left * along)
        gone = LineString([tuple(20 * along), here]).buffer(RADIUS, quad_segs=512)
        chip = thickest(here, tuple(-along), wood.difference(gone))
        assert (share if left < before else 1.0) * chip <= STRAIGHT + 0.01, left
    assert share < 0.6


def test_the_last_pass_slows_down_before_each_corner_of_a_square_and_goes_the_same_way() -> None:
    """Four corners of 90 degrees: 0.1 + sqrt(2 r 0.1 - 0.01) before each the feed falls to sin t.

    So it does where the pass comes to the wall, 0.6 before it and the 0.6 to the first corner, and where it comes off.
    """
    last = passes_of(plan_of(SQUARE).set_ups[0], "last")[0]
    slow = [move for trip in last.trips for move in trip.moves if move.share < 0.99]
    assert min(move.share for move in slow) == pytest.approx(STRAIGHT, rel=1e-3)
    moves = [tuple(replace(move, share=1.0) for move in trip.moves) for trip in last.trips]
    plain = replace(last, trips=tuple(replace(t, moves=its) for t, its in zip(last.trips, moves, strict=True)))
    assert path_length([plain]) == pytest.approx(path_length([last]))
    assert swept([last], CUTTER).symmetric_difference(swept([plain], CUTTER)).area < 1e-6
    length = sum(
        math.dist(start[:2], (move.x, move.y))
        for trip in last.trips
        for start, move in zip([trip.start, *((m.x, m.y, m.z) for m in trip.moves)], trip.moves, strict=False)
        if move.share < 0.99
    )
    assert length == pytest.approx(0.6 + 0.6 + 4 * (LEFT + RADIUS * STRAIGHT), abs=0.06)
    assert last.minutes > trips_minutes(plain.trips, figures_for(CUTTER, MACHINE, 3.0, 1.5), MACHINE)


def test_moves_are_cut_where_the_feed_changes_and_end_where_they_ended() -> None:
    """A quarter of a large circle towards a corner: its slower end lies on the same circle."""
    moves = (Straight(0, 0, -3), Turn(10, 10, -3, 0, 10, True), Straight(-10, 10, -3))
    (trip,) = eased([Trip((-10, 0, 0.5), (Straight(-10, 0, -3), *moves))], EASING)
    turns = [move for move in trip.moves if isinstance(move, Turn)]
    assert [round(move.share, 4) for move in turns] == [round(10 / 11.5, 4), round(EASING.in_corner(math.pi / 2), 4)]
    assert all(math.dist((move.x, move.y), (0, 10)) == pytest.approx(10, abs=1e-9) for move in turns)
    assert (turns[-1].x, turns[-1].y) == (10, 10)
    before = math.radians(90) - math.atan2(turns[0].x, 10 - turns[0].y)
    assert 10 * before == pytest.approx(EASING.before(math.pi / 2), abs=1e-6)


def test_a_half_feed_takes_twice_as_long() -> None:
    """100 mm with so much acceleration that it does not count: length over share of the feed (closed form)."""
    figures, machine = figures_for(CUTTER, MACHINE, 3.0, 1.5), replace(MACHINE, acceleration=1e9)
    down = Straight(0, 0, -1e-9)
    trips = [Trip((0, 0, 0), (down, Straight(100, 0, -1e-9, share))) for share in (1.0, 0.5)]
    minutes = [trips_minutes((trip,), figures, machine) for trip in trips]
    assert minutes[1] - minutes[0] == pytest.approx(100 / figures.feed, rel=1e-3)


def test_no_feed_of_a_program_is_above_the_one_told() -> None:
    """In mm and inches: F words of the last pass lie between sin t of the feed and the feed."""
    for unit, size in (("mm", 1.0), ("inch", 25.4)):
        changed = replace(job(), cutting=CuttingRule(unit=unit))  # type: ignore[arg-type]
        set_up = cutting.plan(changed, layout(inlay(SQUARE)), NO_PARTS, SHOP).set_ups[0]
        program = set_up.programs[0]
        text = write_program(changed, set_up, program)
        last = text.split("last pass")[1]
        feeds = [float(word) * size for word in re.findall(r"(?m)^G[123] [^Z\n]* F([0-9.]+)$", last)]
        assert max(feeds) <= program.figures.feed + 1e-9
        assert min(feeds) == pytest.approx(STRAIGHT * program.figures.feed, rel=2e-3)


def test_where_nothing_is_left_nothing_is_slowed() -> None:
    last = passes_of(plan_of(SQUARE, allowance=0.0).set_ups[0], "last")[0]
    assert last.least_share == 1.0


# --- the way round


def test_a_conventional_last_pass_goes_the_other_way_and_slows_in_the_same_corners() -> None:
    """The maker's own choice: the same wood, the wall on the left, roughing as before."""
    climb, other = (plan_of(SQUARE, last_pass=word).set_ups[0] for word in ("climb", "conventional"))
    one, two = (passes_of(set_up, "last")[0] for set_up in (climb, other))
    assert (one.way_round, two.way_round) == ("climb", "conventional")
    assert LinearRing(places(one.trips[0])[2:-1, :2]).is_ccw
    assert not LinearRing(places(two.trips[0])[2:-1, :2]).is_ccw
    assert two.least_share == pytest.approx(one.least_share, rel=1e-6)
    gone = swept(list(other.programs[0].passes), CUTTER, 3.0)
    assert deepest_inside(SQUARE.difference(gone)) < SIDE_AS_CUT / 2
    assert deepest_inside(gone.difference(SQUARE)) < SIDE_AS_CUT / 2
    assert passes_of(climb, "roughing") == passes_of(other, "roughing")


def test_around_a_part_the_conventional_last_pass_goes_counter_clockwise() -> None:
    part = box(20, 20, 60, 50)
    for word, ccw in (("climb", False), ("conventional", True)):
        changed = replace(job(), cutting=CuttingRule(last_pass=word))  # type: ignore[arg-type]
        (set_up,) = cutting.plan(changed, layout(), placed(part), SHOP).set_ups
        last = passes_of(set_up, "last")[-1]
        way = places(last.trips[0])
        level = way[way[:, 2] < -last.depth + 1e-6]
        assert LinearRing(level[:-1, :2]).is_ccw is ccw
        assert last.way_round == word


# --- spring passes


def test_a_spring_pass_is_the_last_pass_again_with_its_time_and_no_other_figures() -> None:
    plain, sprung = (plan_of(SQUARE, spring_passes=count).set_ups[0].programs[0] for count in (0, 2))
    last, *springs = sprung.passes[-3:]
    assert [one.kind for one in sprung.passes[-3:]] == ["last", "spring", "spring"]
    assert [one.number for one in springs] == [last.number + 1, last.number + 2]
    assert all(one.trips == last.trips and one.minutes == last.minutes for one in springs)
    assert sprung.minutes == pytest.approx(plain.minutes + 2 * last.minutes)
    assert sprung.figures == plain.figures


def test_parts_are_gone_round_again_too() -> None:
    changed = replace(job(), cutting=CuttingRule(spring_passes=1))
    (set_up,) = cutting.plan(changed, layout(), placed(box(20, 20, 60, 50)), SHOP).set_ups
    last, spring = set_up.programs[0].passes[-2:]
    assert (last.kind, spring.kind) == ("last", "spring")
    assert spring.trips == last.trips
