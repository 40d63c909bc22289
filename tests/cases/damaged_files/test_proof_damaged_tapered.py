"""Damaged programs of tapered walls are caught, and the place is named; sound ones raise no alarm."""

import re
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from purfle.geometry.pose import Pose
from tapered_bench import FLAT, PLACE, Bench, bench
from tapered_damage import Damage, all_deeper, deeper, dropped, mirrored, moved, other_cutters
from tapered_sweep import star

SHAPES = {"star": star(5, 12.0, 5.0), "ring": Point(0, 0).buffer(8, quad_segs=24).difference(Point(2, 0).buffer(3))}
KINDS = [("star", "narrow"), ("ring", "sharp")]


@pytest.fixture(scope="module", params=KINDS, ids="-".join)
def made(request) -> Bench:
    shape, cutter = request.param
    return bench(SHAPES[shape], cutter)


def stops(damage: Damage) -> list[str]:
    return [f"{one.what} | {one.where}" for one in damage.bench.fit().findings if one.severity == "stop"]


def caught_near(damage: Damage) -> None:
    """A finding names the program, and a place within the cutter's reach of the damage."""
    found = [text for text in stops(damage) if damage.file in text]
    assert found, damage.kind
    assert damage.place is not None
    places = [tuple(map(float, re.search(r"at (-?[0-9.]+), (-?[0-9.]+) mm$", text).groups())) for text in found]
    nearest = min(float(np.hypot(x - damage.place[0], y - damage.place[1])) for x, y in places)
    assert nearest < 3.0, (damage, found)


def test_sound_files_raise_no_alarm(made: Bench) -> None:
    fit = made.fit()
    assert [one for one in fit.findings if one.severity == "stop"] == []
    assert fit.seam <= 0.02
    assert fit.sinks == pytest.approx(made.rule.sink, abs=0.001)
    assert fit.room == pytest.approx(made.rule.glue_room, abs=0.001)


@pytest.mark.parametrize("side", ["recess", "insert"])
def test_an_end_point_moved_by_two_hundredths_is_caught(made: Bench, side: str) -> None:
    chance = np.random.default_rng(5)
    tried = [damage for _ in range(2) if (damage := moved(made, side, chance, 0.02))]
    assert tried
    for damage in tried:
        caught_near(damage)


@pytest.mark.parametrize("side", ["recess", "insert"])
def test_an_end_point_five_hundredths_too_deep_is_caught(made: Bench, side: str) -> None:
    chance = np.random.default_rng(6)
    tried = [damage for _ in range(2) if (damage := deeper(made, side, chance, 0.05))]
    assert tried
    for damage in tried:
        caught_near(damage)


@pytest.mark.parametrize("side", ["recess", "insert"])
def test_a_dropped_line_that_changes_wood_is_caught(made: Bench, side: str) -> None:
    chance = np.random.default_rng(7)
    tried = [damage for _ in range(4) if (damage := dropped(made, side, chance))]
    for damage in tried[:1]:
        assert any(damage.file in text for text in stops(damage)), damage.place


def _by_the_clearing_cutter(made: Bench, by: str) -> list[str]:
    """What is found where the clearing cutter of the ring's recess goes elsewhere."""
    file = f"recess-{FLAT.number}.nc"
    change = {"along x": lambda x: x + 0.3, "mirrored": lambda x: -x}[by]
    text = re.sub(r"X(-?[0-9.]+)", lambda m: f"X{change(float(m[1])):.4f}", made.files[file])
    if by == "mirrored":
        text = re.sub(r"I(-?[0-9.]+)", lambda m: f"I{-float(m[1]):.4f}", text)
        text = text.replace("G2 ", "G9 ").replace("G3 ", "G2 ").replace("G9 ", "G3 ")
    return stops(Damage(by, replace(made, files=made.files | {file: text}), file, None))


@pytest.mark.parametrize("by", ["along x", "mirrored"])
def test_the_clearing_cutter_is_named_for_what_it_does(by: str) -> None:
    """Wood taken from the bottom of the wall, or left on the bottom: never the V cutter's file."""
    found = _by_the_clearing_cutter(bench(SHAPES["ring"]), by)
    assert found
    assert all(f"recess-{FLAT.number}.nc" in text for text in found), found
    assert all(re.search(r"at -?[0-9.]+, -?[0-9.]+ mm$", text) for text in found), found


def test_a_whole_program_too_deep_is_caught(made: Bench) -> None:
    for side in ("recess", "insert"):
        assert stops(all_deeper(made, side, 0.05))


def test_a_mirrored_insert_is_caught(made: Bench) -> None:
    assert stops(mirrored(made))


def test_another_v_cutter_is_caught(made: Bench) -> None:
    for damage in other_cutters(made):
        assert stops(damage), damage.kind


def test_a_part_whose_place_on_the_card_is_wrong_is_caught(made: Bench) -> None:
    """A twentieth of a mm beside where it was cut."""
    wrong = replace(made, to_recess=made.to_recess.then(Pose(0.0, 0.05, 0.0)))
    found = [one.what for one in wrong.fit().findings if one.severity == "stop"]
    assert any("meets wood" in what for what in found)


def test_an_insert_that_is_not_turned_over_is_caught(made: Bench) -> None:
    """Put in as it lay in its stock, it is the mirror image of its recess."""
    place = made.to_recess
    straight = Pose(place.angle, place.x, place.y, mirrored=False)
    assert [one for one in replace(made, to_recess=straight).fit().findings if one.severity == "stop"]


def test_a_shape_that_is_all_ridge_is_proved_too() -> None:
    """A strip of 2 mm has no place for the full depth."""
    fit = bench(box(0, 0, 25, 2)).fit()
    assert [one for one in fit.findings if one.severity == "stop"] == []
    assert fit.ridges > 40.0
    assert PLACE.mirrored


@pytest.mark.parametrize(("width", "seats"), [(1.2, False), (4.0, True)])
def test_a_blunt_tip_in_a_narrow_place_keeps_the_insert_from_sinking(width: float, seats: bool) -> None:
    """The ridge of a stem ends tip radius / slope higher in the recess, 0.05 / tan 15 degrees = 0.187 mm."""
    fit = bench(box(0, 0, 25, width), "narrow").fit()
    found = [one for one in fit.findings if "does not sink in" in one.what]
    assert not [one for one in fit.findings if one.severity == "stop" and one not in found]
    if seats:
        assert not found
        return
    (told,) = found
    proud, seam = map(float, re.search(r"stands ([0-9.]+) mm proud and its seam ([0-9.]+) mm", told.what).groups())
    assert proud == pytest.approx(0.05 / np.tan(np.radians(15.0)), abs=0.02)
    assert seam == pytest.approx(0.05, abs=0.006)
    assert told.place is not None


def test_the_same_narrow_place_by_a_sharp_tip_is_sound() -> None:
    assert not [one for one in bench(box(0, 0, 25, 1.2)).fit().findings if one.severity == "stop"]
