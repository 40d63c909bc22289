"""A round board is a circle that touches its four lines; the stool that stands on three feet is one."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from purfle.board import lay_out
from purfle.errors import JobFileError
from purfle.files.job_toml import load_job
from purfle.model.board import Board

STOOL = Path(__file__).parents[2] / "examples" / "sundial-stool"
ROUND = """\
[job]
name = "Seat"
units = "mm"
[board]
wood = "white ash"
length = 300
width = 300
thickness = 20
outline = "circle"
[[shape]]
kind = "disc"
diameter = 40
wood = "wenge"
centred = true
depth = 3
[fit]
seam = 0.1
cutter = "1/8 in straight"
"""


def board_of(folder: Path, text: str) -> Board:
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return load_job(folder).board


def test_a_round_board_touches_all_four_lines_and_has_the_area_of_its_circle(tmp_path: Path) -> None:
    outline = board_of(tmp_path, ROUND).outline
    assert outline.bounds == (0.0, 0.0, 300.0, 300.0)
    assert outline.area == pytest.approx(math.pi * 150.0**2, rel=5e-4)


def test_a_round_board_that_is_not_as_wide_as_long_is_told_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(JobFileError) as refusal:
        board_of(tmp_path, ROUND.replace("width = 300", "width = 280"))
    (fault,) = refusal.value.faults
    assert fault.what == "A round board is as wide as it is long"
    assert fault.where == "job.toml, line 9, board.outline"
    assert "diameter" in fault.mend


def test_the_finding_of_a_round_board_says_from_where_to_measure(tmp_path: Path) -> None:
    layout = lay_out(board_of(tmp_path, ROUND), (), (), 4.0)
    (look,) = layout.findings
    assert "this board is round" in look.what
    assert "saw it round" in look.mend


def test_the_feet_of_the_stool_leave_cover_above_each_screw_and_are_told_apart_from_a_mirrored_set() -> None:
    job = load_job(STOOL)
    layout = lay_out(job.board, (), job.fittings, job.least_left)
    assert not [one for one in layout.findings if one.severity == "stop"]
    assert len(layout.fittings) == 4  # three plates and a ferrule
    assert [hole.kind for hole in layout.holes].count("screw") == 9
    assert min(hole.left for hole in layout.holes) == pytest.approx(25.4 * (1 - 5 / 8))
    # three on a circle are alike left and right; front and back tells how the board lies
    check = layout.check
    assert check is not None
    assert check.kind == "line_y"
    turned = tuple(replace(r, along_b=replace(r.along_b, datum="far_edge")) for r in job.fittings)
    wrong = lay_out(job.board, (), turned, job.least_left)
    feet = [fitting.centre[1] for fitting in wrong.fittings if fitting.face == "underside"]
    assert not [at for at in feet if abs(at - check.from_a) < 1.0]
