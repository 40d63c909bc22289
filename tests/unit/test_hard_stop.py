"""The hard stop: everything between a drawing's first element and its seam counts, by a clock that tests lend it."""

import itertools
import subprocess
import sys

import pytest
from shapely import Point, box

from purfle import artwork
from purfle.cli import shapes
from purfle.cli.main import main
from purfle.errors import TooLongError
from purfle.files.svg_drawing import read_svg
from purfle.fit import let_in, make_pieces
from purfle.hard_stop import HardStop, busy
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(cutter_radius=1.5875, seam=0.1)
DISC = Point(10, 10).buffer(8)
AREAS = (
    DrawnArea("left", "holly", (1, 1, 1), DISC.intersection(box(0, 0, 10, 20))),
    DrawnArea("right", "wenge", (2, 2, 2), DISC.intersection(box(10, 0, 20, 20))),
)
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    b'<rect id="board" x="5" y="5" width="50" height="30" fill="#774411"/>'
    b'<circle id="sun" cx="30" cy="20" r="10" fill="#ffcc00"/></svg>'
)


class Ticks:
    """A clock on which a second passes each time that it is read."""

    def __init__(self):
        self.read = 0

    def __call__(self):
        self.read += 1
        return float(self.read)


def whole_way():
    """Everything that one drawing goes through."""
    areas = artwork.areas_of_drawing(read_svg(SVG, "sun.svg"))
    drawn = shapes.drawn_areas(areas, 40.0)
    return let_in(make_pieces(drawn, RULE), RULE)


def test_wherever_the_time_runs_out_the_refusal_says_what_where_and_how_to_mend():
    ticks = Ticks()
    with HardStop(1e9, ticks):
        whole_way()
    told = set()
    for most in range(1, ticks.read - 2):
        clock = Ticks()
        with pytest.raises(TooLongError) as refusal, HardStop(most, clock):
            whole_way()
        assert clock.read <= most + 3  # once at the beginning, once beyond the limit, once at the end
        assert f"more than {most} s" in refusal.value.what
        assert refusal.value.where
        assert "simplify" in refusal.value.mend
        assert "larger" in refusal.value.mend
        assert "another cutter" in refusal.value.mend
        told.add(refusal.value.what.split("stopped while ")[1])
    for doing in ("reading it", "finding what shows of a shape", "finding its areas", "finding their boundaries"):
        assert doing in told
    for doing in (
        "working out its pieces",
        "fitting its pieces together",
        "measuring its seam",
        "looking at the ground",
    ):
        assert doing in told


def test_a_drawing_in_time_comes_out_as_if_there_were_no_hard_stop():
    with HardStop(1e9, Ticks()):
        watched = make_pieces(AREAS, RULE)
    assert watched == make_pieces(AREAS, RULE)


def test_what_passes_outside_does_not_count_and_what_was_used_is_remembered():
    clock = Ticks()
    stop = HardStop(10.0, clock)
    with stop:
        busy("drawing", lambda: "here")
    clock.read += 1000
    busy("resting", lambda: "nowhere")
    with stop:
        busy("drawing", lambda: "here")
    assert stop.used == 4.0


def test_one_hard_stop_within_another_leaves_the_outer_one_in_force():
    with HardStop(3.5, itertools.count().__next__):
        with HardStop(1e9, Ticks()):
            busy("drawing", lambda: "inside")
        for _ in range(3):
            busy("drawing", lambda: "outside")
        with pytest.raises(TooLongError):
            busy("drawing", lambda: "outside")


def test_purfle_pieces_refuses_a_drawing_that_takes_too_long_and_leaves_what_was_there(tmp_path, monkeypatch, capsys):
    drawing, target = tmp_path / "sun.svg", tmp_path / "pieces.geojson"
    drawing.write_bytes(SVG)
    target.write_text("of yesterday")
    monkeypatch.setattr(shapes, "HardStop", lambda: HardStop(30.0, Ticks()))
    words = ["pieces", str(drawing), "--height", "40mm", "--cutter", "1/8in", "--seam", "0.1mm"]
    assert main([*words, "--geojson", str(target)]) == 2
    said = capsys.readouterr().err
    assert said.count("where:") == 1
    assert "the drawing keeps Purfle busy for more than 30 s" in said
    assert target.read_text() == "of yesterday"


UNSTOPPABLE = """
import time
import numpy as np, shapely
from purfle.cli.main import ended
from purfle.hard_stop import HardStop, at_worst, busy
lines = shapely.linestrings(np.random.default_rng(1).uniform(0.0, 80.0, (4000, 2, 2)))
at_worst(ended)
with HardStop(0.2, time.monotonic):
    busy("finding its areas", lambda: "leaf.svg, line 3")
    shapely.union_all(lines)
print("came to its end")
"""
WITHIN = """
import time
from purfle.cli.main import ended
from purfle.hard_stop import GRACE, HardStop, at_worst
at_worst(ended)
stop = HardStop(0.2, time.monotonic)
for _ in range(2):
    with stop:
        pass
time.sleep(0.3 + GRACE)
print("came to its end")
"""


def test_a_call_that_nothing_can_stop_ends_the_process_with_what_where_and_mend():
    """Noding four thousand lines across one another takes half a minute within one call."""
    done = subprocess.run([sys.executable, "-c", UNSTOPPABLE], capture_output=True, text=True)
    assert done.returncode == 2
    assert "more than 0.2 s: stopped while finding its areas" in done.stderr
    assert "where: leaf.svg, line 3" in done.stderr
    assert "mend:  simplify" in done.stderr
    assert done.stdout == ""


def test_what_a_hard_stop_was_left_in_time_does_not_end_the_process_later():
    done = subprocess.run([sys.executable, "-c", WITHIN], capture_output=True, text=True)
    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "came to its end", "")
