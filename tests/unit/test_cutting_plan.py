"""The cutting plan on shapes whose answer is known in closed form."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box

from cutting_bench import (
    BOARD,
    CUTTER,
    MACHINE,
    NO_PARTS,
    SHOP,
    deepest_inside,
    inlay,
    job,
    layout,
    passes_of,
    placed,
    places,
    swept,
)
from purfle import cutting
from purfle.cutting.figures import deepest_bite
from purfle.cutting.rings import Ring
from purfle.cutting.times import trips_minutes
from purfle.cutting.trips import Roughing, all_trips
from purfle.cutting.walks import Walk
from purfle.errors import FitError, JobFileError
from purfle.model.board import Fitting
from purfle.model.cutting import CuttingPlan, Pass, Straight, Trip
from purfle.model.shop import Cutter
from purfle.shop.chip_loads import chip_load
from purfle.tolerances import ARC_FIT, ROUGHING_FLAT, SIDE_AS_CUT
from purfle.units import retold


def rounded(x0: float, y0: float, x1: float, y1: float, radius: float = 1.52) -> Polygon:
    return box(x0 + radius, y0 + radius, x1 - radius, y1 - radius).buffer(radius, quad_segs=64)


def recess_plan(region: Polygon | MultiPolygon, depth: float = 3.0) -> CuttingPlan:
    return cutting.plan(job(), layout(inlay(region, depth)), NO_PARTS, SHOP)


def hinge(wanted: Polygon, open_edge: bool = False, depth: float = 2.0) -> Fitting:
    x0, y0, x1, y1 = wanted.bounds
    centre, size = ((x0 + x1) / 2, (y0 + y1) / 2), (x1 - x0, y1 - y0)
    return Fitting(1, "hinge", "hinge", "underside", wanted, centre, size, depth, open_edge)


def is_whole_and_clean(plan: CuttingPlan, region: Polygon | MultiPolygon, depth: float = 3.0) -> bool:
    passes = list(plan.set_ups[0].programs[0].passes)
    uncut = deepest_inside(region.difference(swept(passes, CUTTER, depth)))
    gouged = deepest_inside(swept(passes, CUTTER).difference(region))
    return uncut < SIDE_AS_CUT / 2 and gouged < SIDE_AS_CUT / 2


# --- recesses


def test_a_disc_is_cleared_to_its_wall_in_two_levels_and_a_last_pass() -> None:
    """A 3 mm deep disc with a 3 mm cutter at half a diameter a pass: 1.5 and 3.0 mm, then the line."""
    region = Point(60, 60).buffer(20, quad_segs=64)
    plan = recess_plan(region)
    passes = plan.set_ups[0].programs[0].passes
    assert [(one.kind, one.depth, one.off_line) for one in passes] == [
        ("roughing", 1.5, 0.1),
        ("roughing", 3.0, 0.1),
        ("last", 3.0, 0.0),
    ]
    assert is_whole_and_clean(plan, region)


def test_the_last_pass_around_a_disc_is_a_circle_of_turns_on_the_line() -> None:
    """Every place of the last pass, way in and out aside, stands 20 - 1.5 mm from the middle."""
    trip = passes_of(recess_plan(Point(60, 60).buffer(20, quad_segs=256)).set_ups[0], "last")[0].trips[0]
    radii = [math.dist(place[:2], (60, 60)) for place in places(trip)[2:-1]]
    assert max(abs(radius - 18.5) for radius in radii) < 0.001
    assert len(trip.moves) < 12


def test_the_last_pass_climbs_and_roughing_does_not() -> None:
    """With a cutter that turns clockwise, climb is counter-clockwise inside a recess."""
    set_up = recess_plan(Point(60, 60).buffer(6, quad_segs=64)).set_ups[0]
    last = places(passes_of(set_up, "last")[0].trips[0])[2:-1]
    rough = places(passes_of(set_up, "roughing")[0].trips[0])
    assert shapely.LinearRing(last[:, :2]).is_ccw
    ring = rough[[abs(math.dist(place[:2], (60, 60)) - 4.4) < 0.02 for place in rough]]
    assert not shapely.LinearRing(ring[:, :2]).is_ccw


def test_an_island_stays_standing() -> None:
    """A ring-shaped recess is cut whole; its island is not touched."""
    region = Point(60, 60).buffer(25, quad_segs=64).difference(Point(63, 60).buffer(8, quad_segs=64))
    assert is_whole_and_clean(recess_plan(region), region)


def test_two_separate_recesses_are_entered_once_each() -> None:
    """A recess in two parts has two trips in every pass and is cut whole."""
    region = MultiPolygon([rounded(20, 20, 50, 40), rounded(60, 20, 64, 60)])
    plan = recess_plan(region)
    assert {len(one.trips) for one in plan.set_ups[0].programs[0].passes} == {2}
    assert is_whole_and_clean(plan, region)


def test_a_neck_narrower_than_cutter_and_allowance_is_roughed_too() -> None:
    """Two rooms joined by a neck 0.05 mm wider than the cutter: one trip, and the last pass meets no solid wood."""
    region = shapely.union_all([box(20, 20, 40, 40), box(60, 20, 80, 40), box(39, 28, 61, 31.05)])
    region = region.buffer(-1.51, quad_segs=64).buffer(1.51, quad_segs=64)
    plan = recess_plan(region)
    roughing = passes_of(plan.set_ups[0], "roughing")
    assert {len(one.trips) for one in roughing} == {1}
    assert deepest_inside(region.difference(swept(roughing, CUTTER, 3.0))) <= 0.1
    assert is_whole_and_clean(plan, region)


def test_a_round_recess_of_just_the_cutter_is_bored() -> None:
    """A magnet's recess of the cutter's own diameter is cut by going straight down in its middle."""
    magnet = Fitting(1, "magnet", "magnet", "underside", Point(30, 30).buffer(1.5, 64), (30, 30), (3, 3), 3.2)
    plan = cutting.plan(job(), layout(fittings=(magnet,)), NO_PARTS, SHOP)
    wood = shapely.affinity.scale(magnet.wanted, 1, -1, origin=(0, 0))
    assert is_whole_and_clean(plan, wood, 3.2)


def test_ramps_are_no_steeper_than_the_rule() -> None:
    """Going down in solid wood, the path falls by at most tan 3 degrees."""
    for one in passes_of(recess_plan(rounded(20, 20, 60, 50)).set_ups[0], "roughing"):
        way = places(one.trips[0])
        fall, run = -(way[1:, 2] - way[:-1, 2]), [math.dist(a[:2], b[:2]) for a, b in pairwise(way)]
        slopes = [f / r for f, r in zip(fall, run, strict=True) if r > 0 and f > 0]
        assert max(slopes) <= math.tan(math.radians(3.0)) * 1.01


def test_a_recess_narrower_than_the_cutter_is_refused() -> None:
    """Nothing is planned for a slot of 2.8 mm with a 3 mm cutter: what, where and how to mend it are told."""
    with pytest.raises(FitError) as refused:
        recess_plan(box(40, 40, 80, 42.8))
    assert refused.value.what == "the recess of picture is narrower than the cutter"
    assert "x 60.0 mm, y 41.4 mm" in refused.value.where
    assert refused.value.mend == "choose a smaller cutter, or make the recess wider"


def test_corners_that_the_cutter_cannot_reach_stop_an_inlay() -> None:
    """A recess with four sharp corners is planned, with one finding that says stop and where."""
    plan = recess_plan(box(20, 20, 60, 50))
    (finding,) = plan.findings
    assert finding.severity == "stop"
    assert finding.what.startswith("the cutter cannot reach 4 corners of the recess of picture")
    assert finding.mend == "choose a smaller cutter for the fit"
    assert finding.place is not None
    assert box(20, 20, 60, 50).contains(Point(finding.place))


# --- fittings


def test_a_hinge_recess_keeps_round_corners_and_lists_them_for_the_chisel() -> None:
    """A square corner less a round one of radius r leaves r2 (1 - pi/4) of wood, four times."""
    plan = cutting.plan(job(), layout(fittings=(hinge(box(40, 60, 90, 74)),)), NO_PARTS, SHOP)
    line, wanted = plan.set_ups[0].lines[0], box(40, -74, 90, -60)
    assert line.id == "hinge-1"
    assert len(line.remnants) == 4
    for corner in line.remnants:
        assert corner.area == pytest.approx(1.5**2 * (1 - math.pi / 4), abs=0.001)
        # the cutter touches both sides a radius away from the corner, and is nearest to it r (root 2 - 1) away
        x0, y0, x1, y1 = corner.bounds
        assert (x1 - x0, y1 - y0) == pytest.approx((1.5, 1.5), abs=0.005)
        point = min(box(*wanted.bounds).exterior.coords, key=lambda at: Point(at).distance(corner))
        arc = [at for at in corner.exterior.coords if min(abs(at[0] - point[0]), abs(at[1] - point[1])) > 0.01]
        assert min(math.dist(at, point) for at in arc) == pytest.approx(1.5 * (math.sqrt(2) - 1), abs=0.002)
    assert [finding.severity for finding in plan.findings] == ["note"]


def test_a_hinge_at_an_open_edge_has_two_square_corners_there() -> None:
    """The line runs on over the edge by a diameter, and only the two inner corners are left to the chisel."""
    wanted = box(40, 136, 90, 150)
    plan = cutting.plan(job(), layout(fittings=(hinge(wanted, open_edge=True),)), NO_PARTS, SHOP)
    set_up = plan.set_ups[0]
    assert len(set_up.lines[0].remnants) == 2
    assert set_up.lines[0].region.bounds[1] == pytest.approx(-153.0, abs=0.01)
    passes = list(set_up.programs[0].passes)
    edge = box(40, -150, 90, -140)
    assert deepest_inside(edge.difference(swept(passes, CUTTER, 2.0))) < SIDE_AS_CUT / 2


def test_the_underside_is_planned_in_its_own_frame() -> None:
    """A place y mm above edge A on the board lies at -y with the underside up."""
    plan = cutting.plan(job(), layout(fittings=(hinge(box(40, 60, 90, 74)),)), NO_PARTS, SHOP)
    set_up = plan.set_ups[0]
    assert set_up.face == "underside"
    assert set_up.outline.bounds == (0.0, -150.0, 200.0, 0.0)
    assert set_up.lines[0].region.bounds == pytest.approx((40.0, -74.0, 90.0, -60.0), abs=0.001)


def test_a_larger_cutter_takes_a_fitting_that_the_finishing_one_is_too_short_for() -> None:
    """A round recess 18 mm deep goes to the 8 mm cutter, in a program of its own; a square one stays."""
    large = Cutter(2, "8 mm straight", 8.0, 2, 25.0, 30.0, 24000.0)
    shop = replace(SHOP, cutters=(CUTTER, large))
    board = replace(BOARD, thickness=30.0)
    deep = Fitting(1, "round", "foot", "underside", Point(40, 40).buffer(12, 64), (40, 40), (24, 24), 18.0)
    flat = replace(hinge(box(80, 60, 130, 74)), number=2)
    plan = cutting.plan(job(slug="lid"), layout(fittings=(deep, flat), board=board), NO_PARTS, shop)
    (set_up,) = plan.set_ups
    assert [(one.file, one.cutter.number) for one in set_up.programs] == [
        ("lid-1-fittings-underside-cutter-1.nc", 1),
        ("lid-1-fittings-underside-cutter-2.nc", 2),
    ]
    wood = shapely.affinity.scale(deep.wanted, 1, -1, origin=(0, 0))
    passes = list(set_up.programs[1].passes)
    assert deepest_inside(wood.difference(swept(passes, large, 18.0))) < SIDE_AS_CUT / 2
    assert deepest_inside(swept(passes, large).difference(wood)) < SIDE_AS_CUT / 2
    assert not [finding for finding in plan.findings if finding.severity == "stop"]


def test_a_larger_cutter_is_not_changed_to_for_a_small_saving() -> None:
    """A magnet of 10 mm that a minute clears stays with the finishing cutter."""
    shop = replace(SHOP, cutters=(CUTTER, Cutter(2, "6 mm straight", 6.0, 2, 22.0, 26.0, 24000.0)))
    magnet = Fitting(1, "magnet", "magnet", "underside", Point(30, 30).buffer(5, 64), (30, 30), (10, 10), 3.2)
    plan = cutting.plan(job(), layout(fittings=(magnet,)), NO_PARTS, shop)
    assert [one.cutter.number for one in plan.set_ups[0].programs] == [1]


# --- parts


def test_a_part_with_a_hole_is_cut_through_hole_first() -> None:
    """Holes come before outlines, everything goes 0.3 mm into the sacrificial board, the part is not touched."""
    part = rounded(20, 20, 60, 50).difference(Point(40, 35).buffer(4, quad_segs=64))
    plan = cutting.plan(job(), layout(), placed(part), SHOP)
    (set_up,) = plan.set_ups
    passes = list(set_up.programs[0].passes)
    words = [one.what for one in passes]
    assert max(i for i, w in enumerate(words) if "holes" in w) < min(i for i, w in enumerate(words) if "outlines" in w)
    assert max(one.depth for one in passes) == pytest.approx(4.3)
    kept = swept(passes, CUTTER)
    assert deepest_inside(kept.intersection(part)) < SIDE_AS_CUT / 2
    bare = part.buffer(2.9, quad_segs=64).difference(part)
    assert deepest_inside(bare.difference(swept(passes, CUTTER, 4.3))) < SIDE_AS_CUT / 2


def test_small_parts_come_first() -> None:
    """In every pass over outlines the smaller part is cut before the larger one."""
    large, small = rounded(20, 20, 60, 50), rounded(80, 20, 90, 30)
    plan = cutting.plan(job(), layout(), placed(large, small), SHOP)
    for one in plan.set_ups[0].programs[0].passes:
        assert one.trips[0].start[0] > 70 > one.trips[1].start[0]


def test_parts_that_lie_too_near_stop_the_job() -> None:
    """Two parts 2 mm apart cannot be cut out with a 3 mm cutter."""
    plan = cutting.plan(job(), layout(), placed(rounded(20, 20, 60, 50), rounded(62, 20, 90, 50)), SHOP)
    stops = [finding for finding in plan.findings if finding.severity == "stop"]
    assert [finding.what for finding in stops] == [
        "the path around piece 1, part 1 cuts into piece 2, part 2: 2.00 mm apart"
    ]
    assert stops[0].mend == "place the parts at least a cutter's width apart"


def test_a_spare_has_an_id_of_its_own() -> None:
    """No two lines of a set-up share an id, spares of one part included."""
    on_offcuts = placed(rounded(20, 20, 30, 30), rounded(50, 20, 60, 30), rounded(80, 20, 90, 30))
    first = on_offcuts.places[0]
    spares = tuple(replace(place, part=replace(place.part, number=1), spare=True) for place in on_offcuts.places[1:])
    assert cutting.part_ids(layout(), (first, *spares)) == ("piece-1", "piece-1-spare", "piece-1-spare-2")


# --- the plan as a whole


def test_set_ups_come_in_order_and_empty_ones_are_left_out() -> None:
    """Show face, underside, offcuts; titles, slugs and files are plain; nothing to cut gives no set-up at all."""
    board = layout(inlay(rounded(20, 20, 60, 50)), fittings=(hinge(rounded(100, 60, 150, 74)),))
    plan = cutting.plan(job(slug="tern-lid"), board, placed(rounded(20, 20, 60, 50)), SHOP)
    assert [set_up.slug for set_up in plan.set_ups] == [
        "1-recess-show-face",
        "2-fitting-underside",
        "3-parts-offcut-1",
    ]
    assert plan.set_ups[0].programs[0].file == "tern-lid-1-recess-show-face.nc"
    assert cutting.plan(job(), layout(), NO_PARTS, SHOP).set_ups == ()


def test_the_same_input_gives_the_same_plan() -> None:
    """Two runs give equal plans, to the last bit."""
    region = Point(60, 60).buffer(25).difference(Point(63, 60).buffer(8))
    assert recess_plan(region) == recess_plan(region)


def test_a_cutter_that_the_shop_does_not_have_is_refused() -> None:
    """The fault names the key and the cutters that there are."""
    with pytest.raises(JobFileError) as refused:
        cutting.plan(replace(job(), fit=replace(job().fit, cutter="no such")), layout(), NO_PARTS, SHOP)
    assert refused.value.what == "the shop has no cutter named no such"
    assert refused.value.where == "fit.cutter"
    assert "3 mm straight" in refused.value.mend


# --- what machine and cutter cannot do


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"cutting_length": 2.0}, "3 mm straight cuts 2.0 mm deep, the deepest pass needs 3.0 mm"),
        ({"stick_out": 2.5}, "3 mm straight sticks out 2.5 mm: the collet would rub on the wood"),
        ({"cutting_length": 2.778125}, "3 mm straight cuts 2.7781 mm deep, the deepest pass needs 3.0 mm"),
    ],
)
def test_a_cutter_too_short_stops_the_job(changes: dict[str, float], said: str) -> None:
    """Edges or stick-out shorter than the deepest pass are told with the figures."""
    shop = replace(SHOP, cutters=(replace(CUTTER, **changes),))
    plan = cutting.plan(job(), layout(inlay(rounded(20, 20, 60, 50))), NO_PARTS, shop)
    assert [(finding.severity, finding.what) for finding in plan.findings] == [("stop", said)]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"travel": (30.0, 400.0, 90.0)}, "the path needs 37 mm along x, bench router travels 30.0 mm"),
        ({"travel": (600.0, 400.0, 8.0)}, "the cutter moves 9.0 mm up and down, bench router travels 8.0 mm"),
        ({"safe_height": 1.0}, "the safe height is 1.0 mm: rapid moves would touch the wood or what holds it"),
    ],
)
def test_a_machine_that_cannot_reach_stops_the_job(changes: dict[str, object], said: str) -> None:
    """Travel and safe height are checked with the figures told."""
    shop = replace(SHOP, machine=replace(MACHINE, **changes))  # type: ignore[arg-type]
    plan = cutting.plan(job(), layout(inlay(rounded(20, 20, 60, 50))), NO_PARTS, shop)
    assert [(finding.severity, finding.what) for finding in plan.findings] == [("stop", said)]


def test_what_a_maker_stated_in_inches_comes_back_as_stated() -> None:
    """Edges of 3/8 in are 0.375 in long; rounded to 9.5 mm on the way they would be 0.374."""
    deep = inlay(rounded(20, 20, 60, 50), depth=12.0)
    cutter = replace(CUTTER, cutting_length=9.525, stick_out=30.0)
    plan = cutting.plan(job(), layout(deep), NO_PARTS, replace(SHOP, cutters=(cutter,)))
    told = [retold(finding.what, "inch", [CUTTER.name]) for finding in plan.findings]
    assert "3 mm straight cuts 0.375 in deep, the deepest pass needs 0.472 in" in told


def test_a_rule_beyond_its_range_is_told() -> None:
    """Passes deeper than a diameter and step-overs beyond half of one are told, and the region is still cut whole."""
    region = rounded(20, 20, 60, 50)
    rule = replace(job().cutting, depth_per_pass=1.2, step_over=0.7)
    plan = cutting.plan(job(cutting=rule), layout(inlay(region)), NO_PARTS, SHOP)
    assert [finding.severity for finding in plan.findings] == ["look", "look"]
    assert is_whole_and_clean(plan, region)


# --- figures and times


def test_feed_is_speed_times_edges_times_chip_load() -> None:
    """18000 rpm, 2 edges and 0.1 mm give 3600 mm/min (published example); here with the table's chip load."""
    figures = cutting.figures_for(replace(CUTTER, diameter=3.175), MACHINE, 1.5, 1.5)
    assert figures.speed == 18000.0
    assert figures.feed == pytest.approx(18000 * 2 * 0.0508 / 2)
    slow = cutting.figures_for(replace(CUTTER, diameter=12.7), replace(MACHINE, max_feed=1000.0), 1.5, 1.5)
    assert slow.feed == 1000.0
    assert slow.chip_load == pytest.approx(1000 / 36000)
    assert "largest feed" in slow.chip_source


def test_speed_stays_within_what_is_marked_on_the_cutter() -> None:
    """The lower of the cutter's and the machine's speed is used."""
    assert cutting.figures_for(replace(CUTTER, max_speed=12000.0), MACHINE, 1.5, 1.5).speed == 12000.0


def test_a_cutter_is_never_turned_faster_than_is_marked_on_it() -> None:
    """A machine that cannot turn slowly enough is refused, and no such cutter is taken for a fitting by itself."""
    fast = replace(MACHINE, slowest_speed=10_000.0)
    slow = replace(CUTTER, max_speed=8000.0)
    with pytest.raises(FitError) as refused:
        cutting.figures_for(slow, fast, 1.5, 1.5)
    assert refused.value.what == "3 mm straight is marked 8000 rpm; bench router turns no slower than 10000 rpm"
    assert refused.value.where == "3 mm straight"
    assert "slowest_speed" in refused.value.mend
    assert cutting.figures_for(replace(CUTTER, speed=9000.0), fast, 1.5, 1.5).speed == 10_000.0
    assert cutting.figures_for(replace(CUTTER, speed=12000.0), fast, 1.5, 1.5).speed == 12_000.0
    wide = replace(CUTTER, number=2, name="wide", diameter=8.0, flutes=4)
    deep = hinge(box(40, 40, 120, 120).buffer(-8).buffer(8), depth=14.0)
    for limit, names in ((24_000.0, {"wide"}), (8000.0, {"3 mm straight"})):
        shop = replace(SHOP, cutters=(CUTTER, replace(wide, max_speed=limit, cutting_length=20.0)), machine=fast)
        plan = cutting.plan(job(), layout(fittings=(deep,)), NO_PARTS, shop)
        assert {program.cutter.name for program in plan.set_ups[0].programs} == names


def test_a_chip_load_of_the_shop_wins_and_deep_passes_take_less_of_the_table() -> None:
    """The cutter maker's figure as it stands; else 3/4 of the chart's at two diameters, half at three."""
    own = cutting.figures_for(replace(CUTTER, diameter=3.175, chip_load=0.04), MACHINE, 1.5, 1.5)
    assert (own.chip_load, own.chip_source) == (pytest.approx(0.04), "as the shop says of this cutter")
    shallow, deep = (cutting.figures_for(replace(CUTTER, diameter=3.0), MACHINE, 6.0, bite) for bite in (3.0, 6.0))
    assert deep.chip_load == pytest.approx(0.75 * shallow.chip_load)
    assert "for passes so deep" in deep.chip_source
    assert "so deep" not in shallow.chip_source


def test_force_and_power_are_counted_as_stated() -> None:
    """40 N for each mm2 of chip, 40 J for each 1000 mm3 of wood; a groove 3 mm wide and 1.5 deep."""
    figures = cutting.figures_for(CUTTER, MACHINE, 3.0, 1.5)
    assert figures.force == pytest.approx(40.0 * 3.0 * figures.chip_load)
    assert figures.power == pytest.approx(40.0 * (3.0 * 1.5 * figures.feed) / 1000.0 / 60.0)
    assert figures.rim_speed == pytest.approx(math.pi * 0.003 * figures.speed / 60.0)


@pytest.mark.parametrize(
    ("machine", "cutter", "said"),
    [
        ({"power": 1.0}, {}, "in the wood, bench router has 1 W"),
        (
            {},
            {"diameter": 63.5, "max_speed": 18_000.0},
            "the rim of 3 mm straight runs at 60 m/s; a table of router speeds has 53",
        ),
    ],
)
def test_a_spindle_too_weak_and_a_rim_too_fast_are_told(machine: dict, cutter: dict, said: str) -> None:
    shop = replace(SHOP, machine=replace(MACHINE, **machine), cutters=(replace(CUTTER, path_width=3.0, **cutter),))
    plan = cutting.plan(job(), layout(inlay(rounded(20, 20, 60, 50))), NO_PARTS, shop)
    (found,) = [one for one in plan.findings if said in one.what]
    assert (found.severity, found.where) == ("look", plan.set_ups[0].title)
    assert found.mend


def test_the_deepest_bite_counts_within_each_group_of_passes() -> None:
    """Roughing to 1, 2 and 3 takes 1 mm at once; a group that begins at 1.4 takes 1.4; the last pass is no bite."""
    ways: list[tuple[str, float]] = [("roughing", 1.0), ("roughing", 2.0), ("roughing", 3.0), ("last", 3.0)]
    passes = [Pass(0, kind, "", depth, 0.0, "climb", (), 0.0) for kind, depth in ways]  # type: ignore[arg-type]
    assert deepest_bite(passes) == 1.0
    assert deepest_bite([*passes, Pass(0, "roughing", "", 1.4, 0.0, "climb", (), 0.0)]) == 1.4
    assert deepest_bite([Pass(0, "last", "", 0.7, 0.0, "climb", (), 0.0)]) == 0.7


@pytest.mark.parametrize(
    ("force", "length", "diameter", "bent"),
    [(10.0, 12.0, 3.175, 0.001925), (50.0, 25.0, 6.0, 0.006822), (12.0, 15.0, 0.8 * 3.175, 0.011012)],
)
def test_bending_follows_the_cantilever(force: float, length: float, diameter: float, bent: float) -> None:
    """F l^3 / (3 E I), E = 600 GPa: closed form, worked by hand."""
    assert cutting.deflection(force, length, diameter) == pytest.approx(bent, rel=1e-3)


def test_chip_loads_grow_with_the_cutter_and_name_their_source() -> None:
    """Half the chart's low figure at its rows, from memory below them."""
    assert chip_load(3.175, "hardwood")[0] == pytest.approx(0.0254)
    assert chip_load(12.7, "softwood")[0] == pytest.approx(0.2413)
    loads = [chip_load(diameter, "hardwood")[0] for diameter in (0.5, 0.8, 1.6, 3.175, 6, 12.7, 20)]
    assert loads == sorted(loads)
    assert "chart" in chip_load(3.175, "hardwood")[1]
    assert chip_load(1.5, "hardwood")[1].startswith("from memory")


def test_a_straight_move_takes_as_long_as_constant_acceleration_says() -> None:
    """From rest to rest over 100 mm at v: 100/v + v/a, ways down and rapid moves added the same way."""
    figures = cutting.figures_for(CUTTER, MACHINE, 1.5, 1.5)
    trip = Trip((0.0, 0.0, 6.0), (Straight(100.0, 0.0, 6.0),))
    v = figures.feed / 60
    assert trips_minutes((trip,), figures, MACHINE) == pytest.approx((100 / v + v / 300.0) / 60)


def test_a_corner_costs_time() -> None:
    """The same length takes longer with a square corner in it."""
    figures = cutting.figures_for(CUTTER, MACHINE, 1.5, 1.5)
    straight = Trip((0.0, 0.0, 6.0), (Straight(50.0, 0.0, 6.0), Straight(100.0, 0.0, 6.0)))
    corner = Trip((0.0, 0.0, 6.0), (Straight(50.0, 0.0, 6.0), Straight(50.0, 50.0, 6.0)))
    assert trips_minutes((corner,), figures, MACHINE) > trips_minutes((straight,), figures, MACHINE)


def test_every_program_of_the_board_stays_on_it() -> None:
    """Nothing is cut outside the board but over an open edge."""
    plan = recess_plan(rounded(20, 20, 60, 50))
    assert BOARD.outline.contains(swept(list(plan.set_ups[0].programs[0].passes), CUTTER))


def test_every_move_of_a_ramp_on_a_thin_crowded_ring_sinks_in_the_program() -> None:
    """A level move would be taken for a pass at a depth that nobody planned: rounded to 0.0001 mm, each is deeper."""
    tip = [(2.1935 + 0.0001 * math.cos(turn), 0.0001 * math.sin(turn)) for turn in (-1.5, -0.9, -0.3, 0.3, 0.9, 1.5)]
    ring = Ring.of(np.array([(0.0, 0.0), (1.1, -0.17), *tip, (1.1, 0.13), (0.0, 0.0)]))
    [[trip, *_]], _ = all_trips([Roughing(Walk(ring.points, ring), ARC_FIT)], [], ([1.5], 1.5), (3.0, 0.0))
    depths = [round(move.z, 4) for move in trip.moves]
    down = depths[: depths.index(-1.5) + 1]
    assert len(down) > 20
    assert all(deeper < higher for higher, deeper in pairwise(down))


def test_a_ramp_that_goes_around_turns_at_the_same_corners_on_every_lap() -> None:
    """On a ring of 200 corners 0.5 mm round the way down needs no more of them on its last laps than on its first."""
    turns = np.linspace(0.0, math.tau, 201)
    ring = Ring.of(0.5 * np.column_stack([np.cos(turns), np.sin(turns)]))
    [[trip, *_]], _ = all_trips([Roughing(Walk(ring.points, ring), ROUGHING_FLAT)], [], ([0.9], 0.9), (3.0, 0.0))
    down = [(move.x, move.y) for move in trip.moves if move.z > -0.9]
    laps = 0.9 / math.tan(math.radians(3.0)) / ring.length
    assert laps > 5
    assert len(down) < 35 * laps
    assert len(set(down)) < 35 + 1
    off = shapely.distance(shapely.points(down), ring.line)
    middles = shapely.points((np.array(down[1:]) + np.array(down[:-1])) / 2)
    assert max(off.max(), shapely.distance(middles, ring.line).max()) <= ROUGHING_FLAT + 1e-9
