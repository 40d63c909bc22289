"""Programs keep the published rules of RS274/NGC, say what the maker must know, and cut where the plan says."""

import math
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from purfle.files.rs274 import write_program
from purfle.geometry.arcs import ArcSegment, LineSegment, fit_arcs
from purfle.model.cutting import Move, Pass, Program, SetUp, Straight, Trip, Turn
from purfle.model.job import Job
from purfle.proof.program import read_program
from sample import tern_result

RESULT = tern_result()
SET_UP = RESULT.cutting.set_ups[0]
UNITS = ("mm", "inch")
MM = {"mm": 1.0, "inch": 25.4}
RADII = {"mm": 0.002, "inch": 0.0002}
"""Source: NISTIR 6556, section 3.5.3.2: how far the two radii of an arc may differ."""
ROUNDING = {"mm": 1e-4, "inch": 25.4e-5}
WORD = re.compile(r"([A-Z])(-?[0-9.]+)")


def job_in(unit: str, name: str = "Tern lid") -> Job:
    return replace(RESULT.job, name=name, cutting=replace(RESULT.job.cutting, unit=unit))  # type: ignore[arg-type]


def program_of(*trips: Trip) -> Program:
    plain = SET_UP.programs[0]
    return replace(plain, passes=(Pass(1, "last", "last pass, to the line", 3.0, 0.0, "climb", trips, 1.0),))


def words_of(text: str) -> list[dict[str, float]]:
    """The words of each line that has any, comments taken off: no parsing of Purfle's."""
    bare = [re.sub(r"\(.*?\)", "", line) for line in text.splitlines()]
    return [{letter: float(value) for letter, value in WORD.findall(line)} for line in bare if line.strip()]


def run(text: str) -> tuple[list[tuple[float, float, float]], list[tuple[float, float, float]]]:
    """Every place that the program reaches in its unit, arcs in fine steps; and (radius, radius, sweep) of its arcs."""
    at, places, arcs = [math.nan, math.nan, math.nan], [], []
    for words in words_of(text):
        end = [words.get(axis, old) for axis, old in zip("XYZ", at, strict=True)]
        if words.get("G") in (2.0, 3.0):
            cx, cy = at[0] + words["I"], at[1] + words["J"]
            begin, finish = math.atan2(at[1] - cy, at[0] - cx), math.atan2(end[1] - cy, end[0] - cx)
            way = 1 if words["G"] == 3 else -1
            sweep = (way * (finish - begin)) % math.tau
            near, far = math.dist(at[:2], (cx, cy)), math.dist(end[:2], (cx, cy))
            arcs.append((near, far, sweep))
            for part in np.linspace(0, 1, 60)[1:-1]:
                angle, radius = begin + way * sweep * part, near + (far - near) * part
                z = at[2] + (end[2] - at[2]) * part
                places.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle), z))
        if any(axis in words for axis in "XYZ"):
            places.append((end[0], end[1], end[2]))
        at = end
    return places, arcs


@pytest.mark.parametrize("unit", UNITS)
def test_every_line_keeps_to_the_plain_words_and_the_length_of_the_standard(unit: str) -> None:
    allowed = {"G": {0, 1, 2, 3, 17, 20, 21, 90, 94}, "M": {2, 3, 5}}
    for set_up in RESULT.cutting.set_ups:
        text = write_program(job_in(unit), set_up, set_up.programs[0])
        assert text.isascii()
        assert all(len(line) <= 255 for line in text.splitlines())
        assert all(line.count("(") == line.count(")") <= 1 for line in text.splitlines())
        for words in words_of(text):
            assert set(words) <= set("GMTXYZIJFS")
            assert all(words[letter] in allowed[letter] for letter in "GM" if letter in words)
        assert words_of(text)[-1] == {"M": 2.0}
        assert text.endswith("M5\nM2\n")


@pytest.mark.parametrize("unit", UNITS)
def test_the_header_says_what_lies_on_the_machine_and_to_run_it_in_the_air(unit: str) -> None:
    head = write_program(job_in(unit), SET_UP, SET_UP.programs[0]).split("G17")[0]
    for word in ("Tern lid", "change 4f1c9a", "Set-up 1", "Stock: board", "show face up", "T1", "datum corner"):
        assert word in head
    assert {"mm": "Safe height: 6.0 mm", "inch": "Safe height: 0.236 in"}[unit] in head
    assert "CAUTION: run this program in the air first" in head
    assert head.count("(") == len(head.splitlines())


def test_any_name_becomes_a_sound_comment() -> None:
    name = "Möwe (gross)\n100% ß 🐦 M30 ) ( " + "x" * 400
    text = write_program(job_in("mm", name), SET_UP, SET_UP.programs[0])
    assert text.isascii()
    assert "Mowe [gross] 100% ss ? M30 ] [" in text
    assert all(len(line) <= 255 and line.count("(") <= 1 for line in text.splitlines())
    assert read_program("x", text.encode()).cutter == 1


@pytest.mark.parametrize("unit", UNITS)
def test_sideways_at_full_speed_only_at_a_safe_height_that_is_never_rounded_down(unit: str) -> None:
    for asked in (5.0, 6.0, 7.00001, 12.7):
        set_up = replace(SET_UP, safe_height=asked)
        height = -1.0
        for words in words_of(write_program(job_in(unit), set_up, set_up.programs[0])):
            if words.get("G") == 0 and ("X" in words or "Y" in words):
                assert height * MM[unit] >= asked - 1e-9
            height = words.get("Z", height)
        assert height * MM[unit] >= asked - 1e-9, "lifted at the end"


@pytest.mark.parametrize("unit", UNITS)
def test_the_feed_stands_only_where_it_changes_and_never_above_what_is_planned(unit: str) -> None:
    text = write_program(job_in(unit), SET_UP, SET_UP.programs[0])
    figures = SET_UP.programs[0].figures
    feeds = [words["F"] * MM[unit] for words in words_of(text) if "F" in words]
    assert all(feed <= figures.feed + 1e-9 for feed in feeds)
    assert {round(feed / 5) for feed in feeds} == {round(figures.feed / 5), round(figures.plunge_feed / 5)}
    down = [words for words in words_of(text) if words.get("G") == 1 and "X" not in words and "Y" not in words]
    assert down
    assert all(words["F"] * MM[unit] <= figures.plunge_feed + 1e-9 for words in down if "F" in words)


def a_turn(at: tuple[float, float, float], radius: float, begin: float, sweep: float, drop: float) -> Turn:
    cx, cy = at[0] - radius * math.cos(begin), at[1] - radius * math.sin(begin)
    x, y = cx + radius * math.cos(begin + sweep), cy + radius * math.sin(begin + sweep)
    return Turn(x, y, at[2] - drop, cx, cy, sweep > 0)


@pytest.mark.parametrize("unit", UNITS)
@settings(deadline=None, derandomize=True, max_examples=40)
@given(seed=st.integers(0, 10_000))
def test_no_arc_breaks_the_published_rule_and_none_runs_the_wrong_way(unit: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    start = (float(rng.uniform(-300, 300)), float(rng.uniform(-300, 300)), 0.5)
    at, moves, length = start, [], 0.0
    for _ in range(40):
        radius = float(10 ** rng.uniform(-3, 3.3))
        sweep = float(rng.uniform(-0.75, 0.75) * math.pi * 10 ** rng.uniform(-4, 0))
        moves.append(a_turn(at, radius, float(rng.uniform(0, math.tau)), sweep, 0.01))
        length += radius * abs(sweep)
        at = (moves[-1].x, moves[-1].y, moves[-1].z)
    text = write_program(job_in(unit), SET_UP, program_of(Trip(start, tuple(moves))))
    places, arcs = run(text)
    assert all(abs(near - far) <= RADII[unit] for near, far, _ in arcs)
    assert all(0 < sweep < math.pi for *_, sweep in arcs)
    cut = [place for place in places if place[2] * MM[unit] < 0.51]
    flat = sum(math.dist(a[:2], b[:2]) for a, b in pairwise(cut)) * MM[unit]
    assert flat == pytest.approx(length, rel=0.002, abs=0.05)
    assert math.dist([v * MM[unit] for v in cut[-1]], at) <= 2 * ROUNDING[unit]
    assert read_program("x", text.encode()).kind.shape[0] > 0


@pytest.mark.parametrize("unit", UNITS)
def test_the_path_written_stands_within_rounding_of_the_path_planned(unit: str) -> None:
    line = np.array(shapely.box(10, 10, 60, 40).buffer(4.3, quad_segs=32).exterior.coords)
    moves: list[Move] = []
    for segment in fit_arcs(line, 0.002):
        if isinstance(segment, ArcSegment):
            moves.append(Turn(*segment.end, -3.0, *segment.centre, segment.ccw))
        else:
            assert isinstance(segment, LineSegment)
            moves.append(Straight(*segment.end, -3.0))
    start = (float(line[0, 0]), float(line[0, 1]), 0.5)
    text = write_program(job_in(unit), SET_UP, program_of(Trip(start, (Straight(*start[:2], -3.0), *moves))))
    places, arcs = run(text)
    cut = np.array([place[:2] for place in places if place[2] < 0]) * MM[unit]
    assert len(arcs) >= 4
    assert shapely.hausdorff_distance(shapely.LineString(cut), shapely.LineString(line)) < 0.002 + 3 * ROUNDING[unit]


def test_an_arc_too_small_to_write_becomes_a_straight_move_and_never_a_full_circle() -> None:
    start = (10.0, 10.0, 0.5)
    tiny = a_turn((10.0, 10.0, -1.0), 0.001, 0.3, 1.0, 0.0)
    flat = a_turn((tiny.x, tiny.y, -1.0), 1500.0, 0.3, 1e-7, 0.0)
    trip = Trip(start, (Straight(10.0, 10.0, -1.0), tiny, flat, Straight(12.0, 10.0, -1.0)))
    words = words_of(write_program(job_in("mm"), SET_UP, program_of(trip)))
    assert not [one for one in words if one.get("G") in (2.0, 3.0)]


def test_a_trip_that_begins_in_the_wood_goes_down_at_plunging_feed() -> None:
    trip = Trip((10.0, 10.0, -1.0), (Straight(12.0, 10.0, -1.0),))
    text = write_program(job_in("mm"), SET_UP, program_of(trip))
    assert "G0 X10.0 Y10.0\nG0 Z0.5\nG1 Z-1.0 F300.0\nG1 X12.0 F900.0\nG0 Z6.0\n" in text


def test_the_same_plan_gives_the_same_text() -> None:
    again: SetUp = tern_result().cutting.set_ups[0]
    assert write_program(job_in("mm"), SET_UP, SET_UP.programs[0]) == write_program(
        job_in("mm"), again, again.programs[0]
    )
