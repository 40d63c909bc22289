"""Arcs of programs: there where the wall is round, within the tolerance that the report states, read from the text."""

import math
import re
from dataclasses import replace

import pytest
from shapely import Point, box

from cutting_bench import CUTTER, NO_PARTS, SHOP, inlay, job, layout
from program_reader import Stroke, strokes
from purfle import cutting
from purfle.files.rs274 import write_program
from purfle.model.cutting import CuttingRule
from purfle.tolerances import LAST_PASS_FIT

ROUNDED = box(28, 28, 72, 52).buffer(8, quad_segs=512)
"""60 x 40 with corners of radius 8: the last pass runs 6.5 mm from the box of 44 x 24 within it (closed form)."""
CORE = box(28, 28, 72, 52)
OF_THE_WAY = CUTTER.radius


def last_strokes(region: object, unit: str) -> tuple[list[Stroke], str]:
    changed = replace(job(), cutting=CuttingRule(unit=unit))  # type: ignore[arg-type]
    set_up = cutting.plan(changed, layout(inlay(region)), NO_PARTS, SHOP).set_ups[0]  # type: ignore[arg-type]
    text = write_program(changed, set_up, set_up.programs[0])
    found = [one for one in strokes(text.encode("ascii")) if "last pass" in one.of_pass and one.word != "G0"]
    return [one for one in found if one.end[2] == pytest.approx(one.start[2]) and one.end[2] < -2.9], text


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_a_rounded_rectangle_is_four_lines_and_its_corners_are_arcs_within_the_tolerance(unit: str) -> None:
    """Every place of every arc and line stands within 0.0005 of the closed form, and the rounding of decimals."""
    found, text = last_strokes(ROUNDED, unit)
    on_line = [
        one for one in found if CORE.distance(Point(one.start[:2])) > 6.4 and CORE.distance(Point(one.end[:2])) > 6.4
    ]
    arcs = [one for one in on_line if one.word in ("G2", "G3")]
    assert {one.word for one in arcs} == {"G3"}
    assert 4 <= len(arcs) <= 8
    assert len(on_line) <= 13
    rounding = {"mm": 1e-4, "inch": 25.4e-5}[unit]
    places = [place for one in on_line for place in one.points()]
    assert max(abs(CORE.distance(Point(place)) - (8 - OF_THE_WAY)) for place in places) <= LAST_PASS_FIT + rounding
    swept = sum(one_sweep(one) for one in arcs)
    assert swept == pytest.approx(math.tau, abs=0.15)
    decimals = {"mm": 4, "inch": 5}[unit]
    assert max(len(word) for word in re.findall(r"[XYZIJ]-?\d+\.(\d+)", text)) == decimals


def one_sweep(one: Stroke) -> float:
    assert one.centre is not None
    a, b = (math.atan2(place[1] - one.centre[1], place[0] - one.centre[0]) for place in (one.start, one.end))
    return (b - a) % math.tau


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_a_disc_is_gone_round_in_a_few_arcs(unit: str) -> None:
    found, _ = last_strokes(Point(60, 60).buffer(20, quad_segs=256), unit)
    words = [one.word for one in found if math.dist(one.start[:2], (60, 60)) > 18.4]
    assert words.count("G3") >= 3
    assert len(words) <= 10
