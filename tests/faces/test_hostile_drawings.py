"""Hostile drawings through whole commands: one clear refusal in seconds, within a gigabyte, and nothing written.

Each of them took from half a minute to hours, or gigabytes, in one call of a library. `bench/hostile.py` has more.
"""

import math
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from dxf_sample import dxf_bytes
from purfle.cli.main import main

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">'
MOST_SECONDS, MOST_MB = 10.0, 1000.0


def svg(body):
    return f"{PAGE}{body}</svg>".encode()


def joined(points):
    return " ".join(f"{x:.4f},{y:.4f}" for x, y in points)


def scattered(count, seed=3):
    chance = random.Random(seed)
    return [(chance.uniform(2, 78), chance.uniform(2, 78)) for _ in range(count)]


def star(rays):
    for k in range(2 * rays):
        reach, turn = 38.0 if k % 2 else 0.5, k / rays * math.pi
        yield 40 + reach * math.cos(turn), 40 + reach * math.sin(turn)


def comb(teeth):
    for k in range(teeth):
        x, width = 2 + 76.0 * k / teeth, 38.0 / teeth
        yield from ((x, 6), (x + width, 6), (x + width, 78), (x + 2 * width, 78))
    yield from ((78, 2), (2, 2))


def lines(_, model):
    for k in range(2000):
        model.add_line(*scattered(2, k))


def circles(count, radius):
    def draw(_, model):
        for place in scattered(count):
            model.add_circle(place, radius)

    return draw


def hatch(_, model):
    """Islands that each cross themselves no more often than one outline may."""
    hatched = model.add_hatch()
    for k in range(200):
        hatched.paths.add_polyline_path(scattered(100, k), is_closed=True)


HOSTILE = {
    "crossing.svg": (svg(f'<path fill-rule="evenodd" d="M{joined(scattered(3000))}Z"/>'), "lie side by side"),
    "stroked.svg": (
        svg(f'<path fill="none" stroke="#000" stroke-width=".05" d="M{joined(scattered(3000))}"/>'),
        "lie side by side",
    ),
    "star.svg": (svg(f'<polygon points="{joined(star(20_000))}"/>'), "lie side by side"),
    "comb.svg": (svg(f'<polygon points="{joined(comb(2000))}"/>'), "apart on average"),
    "arcs.svg": (svg('<path d="M0 0' + "a9e5 9e5 0 1 1 9 9" * 5_000 + 'z"/>'), "points"),
    "shapes.svg": (svg('<circle cx="40" cy="40" r="9"/>' * 3001), "more than 3000 shapes"),
    "lines.dxf": (dxf_bytes(lines), "More open lines meet"),
    "circles.dxf": (dxf_bytes(circles(400, 25)), "can be sorted out"),
    "hatch.dxf": (dxf_bytes(hatch), "The lines of 200 outlines cross"),
    "polyline.dxf": (
        dxf_bytes(lambda _, model: model.add_lwpolyline(scattered(3000), close=True)),
        "lie side by side",
    ),
}


@pytest.mark.skipif(not hasattr(os, "wait4"), reason="time and memory of one process, as Unix counts them")
@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_drawing_ends_in_one_clear_refusal_within_seconds_and_a_gigabyte(tmp_path: Path, name: str) -> None:
    """`purfle pieces`: status 2 with what, where and mend; no traceback, no file."""
    data, what = HOSTILE[name]
    (tmp_path / name).write_bytes(data)
    words = ["pieces", name, "--height", "80mm", "--cutter", "1/8in", "--seam", "0.1mm", "--geojson", "made.geojson"]
    with (tmp_path / "told.txt").open("wb") as told:
        run = subprocess.Popen([sys.executable, "-m", "purfle.cli", *words], cwd=tmp_path, stdout=told, stderr=told)
        _, status, used = os.wait4(run.pid, 0)
        run.returncode = os.waitstatus_to_exitcode(status)
    text = (tmp_path / "told.txt").read_text()
    assert run.returncode == 2, text
    first, where, mend = text.splitlines()
    assert what in first
    assert where.startswith("  where: ")
    assert mend.startswith("  mend:  ")
    assert not (tmp_path / "made.geojson").exists()
    assert used.ru_utime + used.ru_stime <= MOST_SECONDS
    assert used.ru_maxrss / (1024 if sys.platform == "linux" else 1 << 20) <= MOST_MB


def test_a_job_whose_drawing_turned_hostile_is_refused_and_its_earlier_result_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`purfle make`: status 2, the drawing named, and what was made before is untouched."""
    drawing = tmp_path / "leaf.svg"
    drawing.write_bytes(svg('<circle cx="40" cy="40" r="30"/>'))
    assert main(["new", str(tmp_path / "job"), str(drawing)]) == 0
    (tmp_path / "job/made").mkdir()
    (tmp_path / "job/made/report.json").write_text("as it was")
    (tmp_path / "job/leaf.svg").write_bytes(HOSTILE["star.svg"][0])
    capsys.readouterr()
    assert main(["make", str(tmp_path / "job")]) == 2
    told = capsys.readouterr().err
    assert "lie side by side" in told
    assert "where: leaf.svg, line 1, <polygon>" in told
    assert (tmp_path / "job/made/report.json").read_text() == "as it was"
    assert [file.name for file in (tmp_path / "job/made").iterdir()] == ["report.json"]
