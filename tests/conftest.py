"""Puts this folder on the path, so that tests can share what they are made from; makes the costly jobs once for all.

Tests may run in several processes: whichever asks first makes a job, the others wait for it and read it.
"""

import pickle
import shutil
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from purfle import job
from purfle.model.job import JobResult

Made = tuple[JobResult, dict[str, bytes]]
ROOT = Path(__file__).parents[1]
TERN_LID = ROOT / "examples" / "tern-lid"
LONGEST_WAIT = 300.0
"""Seconds; the lid takes ten on a quiet machine."""

CLASP_DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="leaf" d="M4 8 C14 0 24 2 29 8 L29 32 C20 38 10 36 4 32 Z" fill="#f2ead8"/>
<path id="shade" d="M29 8 C40 0 50 4 56 12 L50 34 C42 38 34 36 29 32 Z" fill="#41312a"/>
<circle id="dot" cx="17" cy="20" r="5" fill="#b33d25"/>
</svg>
"""
"""Our own: two leaves side by side, and a dot in one of them."""

CLASP_JOB = """
[job]
name = "Clasp"
units = "mm"
[board]
wood = "white oak"
length = 200
width = 120
thickness = 19
least_left = 6
[picture]
file = "clasp.svg"
height = 40
centred = true
from_front = 40
depth = 3
[woods]
"leaf" = "holly"
"shade" = "wenge"
"dot" = "padauk"
[fit]
seam = "0.1 mm"
cutter = "1/8 in straight"
[[fitting]]
kind = "hinge"
face = "underside"
length = 50
width = 14
depth = 2
measured_to = "end"
from_left = 20
from_back = 0
open_edge = true
[[fitting]]
kind = "magnet"
face = "underside"
diameter = 10
depth = 3.2
from_left = 20
from_front = 15
[[butterfly_key]]
wood = "sapele"
face = "underside"
length = 36
end_width = 18
waist_width = 7
depth = 6
from_left = 165
from_front = 60
angle = 90
"""


def write_clasp(folder: Path, text: str = CLASP_JOB, drawing: str = CLASP_DRAWING) -> Path:
    """The folder of a small job with every kind of set-up, in the shop of the Tern lid."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "clasp.svg").write_text(drawing, encoding="utf-8")
    (folder / "job.toml").write_text(text, encoding="utf-8")
    shutil.copy(TERN_LID / "shop.toml", folder / "shop.toml")
    return folder


def made_once(folder: Path, name: str, make: Callable[[], Any]) -> Any:
    """What `make` gives, made by whichever process of this run asks first. Who makes the folder `name` has won."""
    kept, failed = folder / f"{name}.pickle", folder / f"{name}.failed"
    try:
        (folder / f"{name}.lock").mkdir()
    except FileExistsError:
        patience = time.monotonic() + LONGEST_WAIT
        while not kept.exists():
            assert not failed.exists(), f"another process could not make it:\n{failed.read_text(encoding='utf-8')}"
            assert time.monotonic() < patience, f"another process has not made {name} in {LONGEST_WAIT:.0f} s"
            time.sleep(0.1)
        return pickle.loads(kept.read_bytes())
    try:
        made = make()
    except BaseException:
        failed.write_text(traceback.format_exc(), encoding="utf-8")
        raise
    unfinished = kept.with_suffix(".unfinished")
    unfinished.write_bytes(pickle.dumps(made))
    unfinished.rename(kept)
    return made


SMALL_SHOP = """
units = "mm"
[machine]
name = "small machine"
travel = [600, 400, 80]
speed = 24000
max_feed = 2500
rapid_feed = 5000
acceleration = 250
safe_height = 5
[[cutter]]
number = 1
name = "1/16 in straight"
diameter = "1/16 in"
flutes = 2
cutting_length = 6
stick_out = 12
max_speed = 30000
"""
"""A shop of one small machine and one small cutter; offcuts are added to it."""


@pytest.fixture(scope="session")
def shared_folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """One folder for all processes of this run."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if hasattr(request.config, "workerinput") else own


@pytest.fixture(scope="session")
def tern_lid(shared_folder: Path) -> Made:
    """The demo, made once a run: every noun on the way, and every file by name. Not to be changed by a test."""
    made: Made = made_once(shared_folder, "tern-lid", lambda: job.make(TERN_LID))
    return made


@pytest.fixture(scope="session")
def clasp(shared_folder: Path) -> Made:
    """A small job with every kind of set-up, made once a run. Not to be changed by a test."""
    folder = shared_folder / "clasp job"
    made: Made = made_once(shared_folder, "clasp", lambda: job.make(write_clasp(folder)))
    return made
