"""Every program of the demo, of the star tray and of a job with tapered walls, read by a parser that is not ours.

Source: gcodeparser, a general-purpose parser of the package index; it knows words, not machines: where the cutter
stands follows here from the words alone. Arc rule and length of a line: Kramer, Proctor, Messina, The NIST RS274/NGC
Interpreter, version 3 (NISTIR 6556, 2000); from memory: 0.002 mm or 0.0002 in between both radii, 256 characters.
"""

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from gcodeparser import parse_gcode_lines
from numpy.typing import NDArray

from conftest import Made, made_once
from purfle import job as flow
from purfle.files import rs274
from purfle.model.cutting import Program, SetUp
from purfle.proof.program import read_program

ROOT = Path(__file__).parents[2]
RADII = {20: 0.0002, 21: 0.002}
LAST_DECIMAL = {20: 1e-5, 21: 1e-4}
LONGEST_LINE = 256
Place = tuple[float, float, float]
OTHERS = [("G", 17), ("G", 20), ("G", 21), ("G", 90), ("G", 94), ("M", 2), ("M", 3), ("M", 5)]
TAPERED = """
[job]
name = "Door"
units = "mm"
[board]
wood = "black walnut"
length = "100 mm"
width = "70 mm"
thickness = "18 mm"
[fit]
walls = "tapered"
cutter = "1/8 in straight"
v_cutter = "60 degree V"
[[shape]]
kind = "star"
points = 6
diameter = "44 mm"
wood = "holly"
depth = "3 mm"
centred = true
"""
V_CUTTER = """
[[cutter]]
number = 4
name = "60 degree V"
angle = 60
diameter = "1/2 in"
flutes = 2
cutting_length = 10
stick_out = 20
max_speed = 24000
"""


def _tapered(folder: Path) -> Made:
    folder.mkdir(exist_ok=True)
    from purfle.shop import first_shop_text

    shop = first_shop_text().replace("thickness = 3.6\nprice = 18", "thickness = 9\nprice = 18")
    (folder / "shop.toml").write_text(shop + V_CUTTER, encoding="utf-8")
    (folder / "job.toml").write_text(TAPERED, encoding="utf-8")
    return flow.make(folder)


@pytest.fixture(scope="module", params=["tern lid", "star tray", "tapered"])
def made(request: pytest.FixtureRequest, shared_folder: Path, tern_lid: Made) -> Made:
    """A made job of each kind."""
    made = _made(request.param, shared_folder, tern_lid)
    assert made[0].proof is not None
    assert made[0].proof.proven
    return made


def _made(kind: str, shared_folder: Path, tern_lid: Made) -> Made:
    if kind == "tern lid":
        return tern_lid
    if kind == "star tray":
        return made_once(shared_folder, "star-tray", lambda: flow.make(ROOT / "examples" / "star-tray"))  # type: ignore[no-any-return]
    return _tapered(shared_folder / "tapered by another")


def places(text: str) -> tuple[int, NDArray[np.float64], list[str]]:
    """The unit word, where every move ends (in the program's own unit), and what is wrong with its arcs."""
    unit, at, ends, wrong = 0, {"X": math.nan, "Y": math.nan, "Z": math.nan}, [], []
    # it takes words inside parentheses for words: those comments go first, as RS274/NGC has them, from ( to )
    for line in parse_gcode_lines(re.sub(r"\([^()\n]*\)", "", text)):
        letter, number = line.command
        if letter == "G" and number in RADII:
            unit = number
        if letter != "G" or number not in (0, 1, 2, 3):
            assert letter == "T" or line.command in OTHERS, line.command
            continue
        start = at["X"], at["Y"]
        at |= {key: value for key, value in line.params.items() if key in at}
        ends.append((at["X"], at["Y"], at["Z"]))
        if number in (2, 3):
            centre = start[0] + line.params["I"], start[1] + line.params["J"]
            apart = abs(math.dist(start, centre) - math.dist((at["X"], at["Y"]), centre))
            wrong += [f"{line.params}: {apart:.6f}"] if apart > RADII[unit] else []
    return unit, np.array(ends), wrong


def programs_of(made: Made, unit: str) -> list[tuple[SetUp, Program, str]]:
    """Every program of a job in a unit: as emitted, or as the same plan is written in the other one."""
    result, files = made
    told = replace(result.job, cutting=replace(result.job.cutting, unit=unit))  # type: ignore[arg-type]
    found = []
    for set_up in result.cutting.set_ups:
        for one in set_up.programs:
            emitted = unit == result.job.cutting.unit
            text = files[one.file].decode("ascii") if emitted else rs274.write_program(told, set_up, one)
            found.append((set_up, one, text))
    return found


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_another_parser_comes_to_the_same_places(made: Made, unit: str) -> None:
    """Every end point is that of the proof's reader; every planned end of a move is there, within a last decimal."""
    for _, program, text in programs_of(made, unit):
        word, ends, wrong = places(text)
        assert wrong == []
        size = 1.0 if word == 21 else 25.4
        ours = read_program(program.file, text.encode("ascii"))
        assert np.allclose(ends[1:] * size, ours.end[1:], atol=1e-9, equal_nan=True), program.file
        moves = [move for one in program.passes for trip in one.trips for move in trip.moves]
        planned = [(move.x / size, move.y / size, move.z / size) for move in moves]
        assert is_on_the_way(planned, ends.tolist(), LAST_DECIMAL[word]), program.file


def is_on_the_way(planned: list[Place], ends: list[Place], apart: float) -> bool:
    """Each planned place is come to, in its order; between lie ways up and across, and arcs in short moves."""
    at = 0
    for place in planned:
        while not math.dist(place, ends[at]) <= apart:
            at += 1
            if at == len(ends):
                return False
    return True


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_no_line_is_long_and_no_comment_hides_another(made: Made, unit: str) -> None:
    """256 characters at most; a semicolon begins a comment for some readers, wherever it stands: there is none."""
    for _, program, text in programs_of(made, unit):
        lines = text.split("\n")
        assert max(len(line) for line in lines) <= LONGEST_LINE, program.file
        assert ";" not in text
        for line in lines:
            assert line.count("(") == line.count(")") == int(line.startswith("(")), line


def test_a_name_with_semicolons_and_parentheses_harms_no_program(made: Made) -> None:
    """What the maker calls a job stands in a comment, on as many lines as it takes, and cannot leave it."""
    result, _ = made
    name = "a (b); G1 X900\n%;) " + "long " * 80
    set_up = result.cutting.set_ups[0]
    (text, plain) = (
        rs274.write_program(replace(result.job, name=one), set_up, set_up.programs[0]) for one in (name, "plain")
    )
    assert np.array_equal(places(text)[1], places(plain)[1], equal_nan=True)
    assert max(len(line) for line in text.split("\n")) <= LONGEST_LINE
    assert ";" not in text
