"""What each cutter makes of designs whose answers are closed forms, and which set is taken."""

import contextlib
import json
import math
import time
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from cutting_bench import CUTTER, MACHINE, swept
from purfle.cutter_choice import (
    WORTH_A_LARGER_CUTTER,
    CutterQuestion,
    choose_cutters,
    recommended,
    reworded,
    sets_of,
    try_cutter,
)
from purfle.cutting.passes import Work, clearing_passes, recess_passes
from purfle.files.cutters_json import cutters_bytes
from purfle.fit import let_in_order
from purfle.fit.departures import fidelity_of
from purfle.mate import Mate
from purfle.model.cutter_choice import Clearing, CutterTrial, Fidelity
from purfle.model.cutting import CuttingRule
from purfle.model.pieces import DrawnArea, FitRule
from purfle.model.shop import Cutter
from purfle.units import retold

SEAM = 0.1
SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "cutters.schema.json").read_text(encoding="utf-8"))
INCHES = {"1/4 in": 6.35, "1/8 in": 3.175, "2 mm": 2.0, "1/16 in": 1.5875}
SHOP = tuple(
    replace(CUTTER, number=number, name=name, diameter=across)
    for number, (name, across) in enumerate(INCHES.items(), 1)
)


def area(name: str, region: Polygon, wood: str = "holly") -> DrawnArea:
    return DrawnArea(name, wood, (120, 80, 40), region)


def question(*areas: DrawnArea) -> CutterQuestion:
    return CutterQuestion(areas, FitRule(1.0, SEAM), (3.0, 1.8), 3.6, (), CuttingRule(), MACHINE)


def made_by(cutter: Cutter, *areas: DrawnArea) -> Fidelity:
    rule = FitRule(cutter.radius, SEAM)
    return fidelity_of(areas, let_in_order(areas, rule))


SQUARE = area("tile", box(0, 0, 30, 30))


@pytest.mark.parametrize("cutter", SHOP, ids=INCHES)
def test_a_square_loses_what_a_disc_leaves_of_its_corners(cutter: Cutter) -> None:
    """Of each corner (1 - pi/4) r^2, root two less one r deep (closed form); r is the cutter's less half the seam."""
    made, r = made_by(cutter, SQUARE), cutter.radius - SEAM / 2
    assert made.changed_area == pytest.approx(4 * (1 - math.pi / 4) * r**2, rel=0.02)
    assert made.changed_share == pytest.approx(made.changed_area / 900, rel=1e-6)
    assert made.largest_move == pytest.approx((math.sqrt(2) - 1) * r, abs=0.1)
    assert (
        math.dist(made.moved_at, min(((0, 0), (0, 30), (30, 0), (30, 30)), key=lambda c: math.dist(c, made.moved_at)))
        < 0.3
    )
    assert 0.0 < made.usual_move < made.largest_move
    assert made.inside_radius == pytest.approx(cutter.radius, abs=0.01)
    assert made.lost == ()
    seen = (math.sqrt(2) - 1) * r >= 0.5
    assert len(made.corners) == (4 if seen else 0)
    assert all(one.depth == pytest.approx((math.sqrt(2) - 1) * r, abs=0.01) for one in made.corners)
    assert made.pieces == 1


@pytest.mark.parametrize("cutter", SHOP, ids=INCHES)
def test_corners_that_are_rounder_than_the_cutter_change_nothing(cutter: Cutter) -> None:
    """The tightest inside corner of the recess is then the drawn one, plus half the seam, whatever the cutter."""
    made = made_by(cutter, area("tile", box(5, 5, 25, 25).buffer(5, quad_segs=64)))
    assert made.departures == ()
    assert made.changed_share < 0.0005
    assert made.largest_move < 0.01
    assert made.inside_radius == pytest.approx(5.05, abs=0.2)


@pytest.mark.parametrize(
    ("wide", "kept"), [(2.3, ("2 mm", "1/16 in")), (1.7, ("1/16 in",)), (3.4, ("1/8 in", "2 mm", "1/16 in"))]
)
def test_a_slot_is_lost_to_every_cutter_wider_than_it(wide: float, kept: tuple[str, ...]) -> None:
    """And to no other; what is lost is the slot: its area less the mouth that the cutter rounds."""
    slot = box(14, 10, 14 + wide, 41)
    comb = area("comb", box(0, 0, 30, 40).difference(slot))
    for cutter in SHOP:
        gone = [one for one in made_by(cutter, comb).lost if one.region.intersects(slot)]
        assert bool(gone) == (cutter.name not in kept), cutter.name
        for one in gone:
            assert (one.kind, one.name, one.instead) == ("detail", "ground", "holly")
            assert one.region.area == pytest.approx(wide * 30, abs=2.0 * cutter.radius**2)
            assert slot.buffer(0.01).covers(Point(one.place))


def test_an_area_that_no_cutter_can_make_room_for_is_gone_whole() -> None:
    """A dot narrower than the cutter in the ground cannot be let in; it stands under its name, with its place."""
    dot = area("dot", Point(50, 10).buffer(1.3), "wenge")
    made = made_by(SHOP[0], area("tile", box(0, 0, 30, 30)), dot)
    (gone,) = made.lost
    assert (gone.kind, gone.name, gone.wood, gone.instead) == ("area", "dot", "wenge", "ground")
    assert gone.region.area == pytest.approx(dot.region.area, rel=1e-3)
    assert math.dist(gone.place, (50, 10)) < 1.3
    assert [one.kind for one in made_by(SHOP[3], area("tile", box(0, 0, 30, 30)), dot).lost] == []


@settings(max_examples=6, deadline=None, derandomize=True)
@given(st.integers(0, 10_000))
def test_a_smaller_cutter_never_changes_more_of_a_shape(seed: int) -> None:
    """The closing by a smaller disc lies within that by a larger one, so less of the ground is filled (morphology)."""
    random = np.random.default_rng(seed)
    turns = np.sort(random.uniform(0, 2 * math.pi, 9))
    reach = random.uniform(9, 26, 9)
    shape = Polygon(np.column_stack([40 + reach * np.cos(turns), 40 + reach * np.sin(turns)]))
    changed = [made_by(cutter, area("shape", shape)).changed_area for cutter in SHOP]
    assert all(smaller <= larger + 0.05 for larger, smaller in pairwise(changed))


def test_a_cutter_that_cannot_make_it_gives_its_reason_and_stops_no_other() -> None:
    small = question(area("dot", Point(0, 0).buffer(2.5)))
    choice = choose_cutters(small, (SHOP[3], SHOP[0]))
    refused, good = choice.trials
    assert (refused.cutter.name, refused.fidelity, refused.is_usable) == ("1/4 in", None, False)
    (fault,) = refused.refused
    assert fault.what == 'nothing is left to let in of "dot": it is too small or too narrow for the cutter'
    assert fault.where == "5.0 x 5.0 mm in all"
    assert fault.mend == "draw them larger, or use a cutter narrower than 6.35 mm, for single areas in [cutters]"
    assert good.is_usable
    assert choice.recommended is not None
    assert choice.recommended.finishing.name == "1/16 in"
    in_inches = reworded(choice, lambda text: retold(text, "inch"))
    assert in_inches.trials[0].refused[0].where == "0.197 x 0.197 in in all"


def test_a_cutter_that_the_machine_turns_too_fast_is_refused_and_clears_for_no_other() -> None:
    wide = question(area("dot", Point(0, 0).buffer(20.0)))
    fast = replace(wide, machine=replace(wide.machine, slowest_speed=10_000.0, name="fast one"))
    choice = choose_cutters(fast, (SHOP[3], replace(SHOP[0], max_speed=9000.0)))
    refused, good = choice.trials
    assert [fault.what for fault in refused.refused] == [
        f"{SHOP[0].name} is marked 9000 rpm; fast one turns no slower than 10000 rpm"
    ]
    assert good.clearings == ()
    assert choose_cutters(wide, (SHOP[3], SHOP[0])).trials[1].clearings


def test_where_no_cutter_makes_it_nothing_is_recommended() -> None:
    choice = choose_cutters(question(area("dot", Point(0, 0).buffer(2.5))), SHOP[:1])
    assert (choice.recommended, choice.sets) == (None, ())
    assert choice.why == "No cutter in the shop makes this design."
    jsonschema.validate(json.loads(cutters_bytes(choice, "dot", "", "mm")), SCHEMA)


def test_what_cutters_gives_an_area_stays_in_every_row() -> None:
    """A slip too narrow for the row's cutter is made by its own: the row is made, takes longer, and says so."""
    slip = replace(area("slip", box(40, 0, 42.4, 20)), cutter_radius=SHOP[3].radius)
    alone = try_cutter(replace(question(slip), own=(SHOP[3],)), SHOP[0])
    assert not alone.refused  # the slip is all there is, and the row's cutter has nothing to do
    both = replace(question(SQUARE, slip), own=(SHOP[3],))
    choice = choose_cutters(both, (SHOP[0], SHOP[3]))
    large, small = choice.trials
    plain = try_cutter(question(SQUARE), SHOP[0])
    assert large.fidelity is not None
    assert {piece.name for fit in large.fits for piece in fit.pieces.pieces} == {"tile", "slip"}
    assert large.minutes == pytest.approx(plain.minutes + alone.minutes + 3.0, abs=0.1)  # and one change of cutter
    assert small.minutes is not None
    assert choice.kept == (
        'In every row "slip" keeps the cutter that [cutters] gives it; the cutter of the row finishes all the others.'
    )
    short = try_cutter(replace(both, own=(replace(SHOP[3], cutting_length=2.5),)), SHOP[0])
    assert short.too_short == "too short: 1/16 in reaches 2.5 mm, the recess is 3.0 mm deep"
    jsonschema.validate(json.loads(cutters_bytes(choice, "slip", "", "mm")), SCHEMA)


def test_a_cutter_that_is_too_short_is_told_and_not_taken() -> None:
    short = replace(SHOP[3], cutting_length=2.5)
    through = replace(SHOP[2], cutting_length=3.7)
    choice = choose_cutters(question(SQUARE), (SHOP[1], short, through))
    by_name = {trial.cutter.name: trial for trial in choice.trials}
    assert by_name["1/16 in"].too_short == "too short: it reaches 2.5 mm, the recess is 3.0 mm deep"
    assert by_name["2 mm"].too_short == "too short: it reaches 3.7 mm, inserts are cut 3.9 mm deep"
    assert by_name["1/16 in"].fidelity is not None
    assert {one.finishing.name for one in choice.sets} == {"1/8 in"}


def trial(number: int, minutes: float, share: float, *clearings: tuple[int, float]) -> CutterTrial:
    made = Fidelity((), 1, share * 100, share, 0.0, (0.0, 0.0), 0.0, None)
    before = tuple(Clearing(SHOP[one], both) for one, both in clearings)
    return CutterTrial(SHOP[number], (), made, minutes, clearings=before)


def test_the_rule_takes_the_largest_that_is_true_enough_and_what_clears_fastest_before_it() -> None:
    """True enough: within half a percent of the truest. A clearing cutter that saves nothing is left in its drawer."""
    trials = [
        trial(0, 5, 0.08),
        trial(1, 20, 0.0139, (0, 15)),
        trial(2, 40, 0.0049, (1, 33), (0, 30)),
        trial(3, 90, 0.0001, (2, 80), (1, 60), (0, 55)),
    ]
    taken = recommended(sets_of(trials))
    assert taken is not None
    assert taken.clearing is not None
    assert (taken.finishing.name, taken.clearing.name, taken.minutes) == ("2 mm", "1/4 in", 30)
    at_the_limit = [trial(1, 20, 0.01 + WORTH_A_LARGER_CUTTER, (0, 21)), trial(3, 90, 0.01)]
    taken = recommended(sets_of(at_the_limit))
    assert taken is not None
    assert (taken.finishing.name, taken.clearing) == ("1/8 in", None)


def test_sets_that_another_one_beats_in_time_and_truth_are_not_worth_it() -> None:
    sets = sets_of([trial(0, 5, 0.08), trial(1, 20, 0.014, (0, 15)), trial(3, 12, 0.02)])
    assert [(one.finishing.name, one.minutes, one.is_worth_it) for one in sets] == [
        ("1/4 in", 5, True),
        ("1/16 in", 12, True),
        ("1/8 in", 15, True),
        ("1/8 in", 20, False),
    ]


def test_workers_or_none_the_same_bytes() -> None:
    """And the order in which the shop names its cutters makes no difference."""
    asked = question(SQUARE, area("dot", Point(50, 10).buffer(4), "wenge"))
    alone = choose_cutters(asked, SHOP[:3])
    told: list[str] = []
    with Mate("purfle.cutter_choice", hands=2) as mate:
        together = choose_cutters(asked, SHOP[2::-1], told.append, mate)
    assert cutters_bytes(together, "tile", "", "mm") == cutters_bytes(alone, "tile", "", "mm")
    jsonschema.validate(json.loads(cutters_bytes(alone, "tile", "", "mm")), SCHEMA)
    assert told[0] == "trying 1/4 in, 1 of 3 cutters"


class Stopped(Exception):
    """The maker's stop."""


def stopped_in_the_middle() -> list[Any]:
    """Two workers are asked for what takes longer than anyone waits; then the work is stopped. The workers."""
    workers: list[Any] = []
    with contextlib.suppress(Stopped), Mate(hands=2) as mate:
        mate.ask(time.sleep, 100.0)
        mate.ask(time.sleep, 100.0)
        workers = mate.workers
        raise Stopped
    return workers


def test_work_that_is_stopped_ends_its_workers_at_once() -> None:
    """A maker who stops it does not wait for what nobody needs any more."""
    for worker in stopped_in_the_middle():
        worker.join(20.0)
        assert not worker.is_alive()


def test_time_falls_by_what_a_larger_cutter_clears_and_its_change_is_counted() -> None:
    """On a wide floor a cutter four times as wide clears far faster; on a narrow one the change costs more."""
    wide = try_cutter(question(area("tile", box(0, 0, 90, 90))), SHOP[3], SHOP[:1])
    assert wide.minutes is not None
    (before,) = wide.clearings
    assert before.minutes < 0.75 * wide.minutes
    narrow = try_cutter(question(area("tile", box(0, 0, 20, 8))), SHOP[3], SHOP[:1])
    assert narrow.minutes is not None
    assert all(one.minutes > narrow.minutes for one in narrow.clearings)


@pytest.mark.parametrize("arm", [3.3, 4.2, 6.3])
def test_what_a_larger_cutter_leaves_the_smaller_one_takes_and_no_more(arm: float) -> None:
    """Both sweeps together reach everything a cutter can but the allowance at the walls; neither leaves the recess."""
    recess = shapely.union_all([box(0, 0, 40, 30), box(38, 12, 75, 12 + arm)]).buffer(-1.5).buffer(1.5, quad_segs=32)
    wide = replace(CUTTER, diameter=8.0)
    large = Work(wide, CuttingRule(), 2.0, "")
    small = Work(CUTTER, CuttingRule(), 2.0, "")
    first, cleared = clearing_passes([recess], "", large)
    then = recess_passes([recess], "", small, cleared)
    by_large = swept(first, wide, 2.0)
    by_small = swept([one for one in then if one.kind == "roughing"], CUTTER, 2.0)
    both = by_large.union(by_small)
    assert recess.buffer(-0.09).covers(both)
    assert recess.buffer(-0.15).difference(both).buffer(-0.01).area < 0.01
    alone = swept([one for one in recess_passes([recess], "", small) if one.kind == "roughing"], CUTTER, 2.0)
    assert by_small.area < 0.55 * alone.area
