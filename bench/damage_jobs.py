"""Folders to damage: small jobs of every way of cutting and of both unit systems, made here, and the examples.

folders() -> for each its name and the files that the dry fit reads
"""

import contextlib
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from purfle import job

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
from made_by_hand import small_shop

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = ("star-tray", "tern-lid", "rosette-table", "sundial-stool")
Files = dict[str, bytes]

OTHER_TOOLS = """\
[[cutter]]
number = 2
name = "1/4 in straight"
diameter = "1/4 in"
flutes = 2
cutting_length = 18
stick_out = 25
max_speed = 24000
[[cutter]]
number = 3
name = "60 degree V"
diameter = 12.7
angle = 60
flutes = 2
cutting_length = 10
stick_out = 20
max_speed = 24000
[[saw]]
name = "fret saw"
groove = "0.35 mm"
[[guide_bush]]
name = "5/16 in"
outside = "5/16 in"
inside = "1/4 in"
length = 5
collar = "9/16 in"
"""
OFFCUT = """
[[offcut]]
name = "{name}"
wood = "{wood}"
outline = "{size}"
thickness = {thickness}
"""
JOB = """
[job]
name = "{name}"
units = "{units}"
[board]
wood = "black walnut"
length = "160 mm"
width = "90 mm"
thickness = "19 mm"
"""
STRAIGHT = """
[fit]
cutter = "1/8 in straight"
proud = "0.4 mm"
glue_room = "0.15 mm"
"""
TAPERED = """
[fit]
walls = "tapered"
cutter = "1/8 in straight"
v_cutter = "60 degree V"
glue_room = "0.5 mm"
"""
SHAPE = """
[[shape]]
{size}
wood = "{wood}"
depth = "3 mm"
from_left = "{x} mm"
from_front = "45 mm"
"""
MAGNET = """
[[fitting]]
kind = "magnet"
face = "underside"
diameter = "10 mm"
depth = "3.2 mm"
from_left = "20 mm"
from_front = "15 mm"
"""
HINGE = """
[[fitting]]
kind = "hinge"
face = "underside"
length = "30 mm"
width = "12 mm"
depth = "2 mm"
measured_to = "end"
from_left = "95 mm"
from_back = "0 mm"
open_edge = true
[fitting.screws]
shank = "3 mm"
length = "10 mm"
count = 2
spacing = "18 mm"
"""
FITTINGS = MAGNET + HINGE
SEAM = 'seam = "0.1 mm"'
SQUARE = 'kind = "rectangle"\nlength = "30 mm"\nwidth = "30 mm"'
DISC = 'kind = "disc"\ndiameter = "{} mm"'
DIAMOND = 'kind = "diamond"\nlength = "40 mm"\nwidth = "24 mm"'
OVAL = 'kind = "oval"\nlength = "50 mm"\nwidth = "34 mm"'
STAR = 'kind = "star"\npoints = 5\ndiameter = "42 mm"\nwaist = "24 mm"'


def _shape(size: str, wood: str, x: float) -> str:
    return SHAPE.format(size=size, wood=wood, x=x)


def _racks(thickness: float) -> str:
    return "".join(
        OFFCUT.format(name=wood, wood=wood, size="150 x 80 mm", thickness=thickness) for wood in ("holly", "padauk")
    )


def _job(name: str, units: str, cutting: str, fit: str, rest: str) -> str:
    return JOB.format(name=name, units=units) + (f"[cutting]\n{cutting}\n" if cutting else "") + fit + rest


def _jobs() -> dict[str, tuple[str, str]]:
    """Of each small job its job file and its shop file."""
    thin, thick, block = _racks(3.6), _racks(9.0), _racks(20.0)
    seam, sawn = STRAIGHT + SEAM, STRAIGHT.replace('cutter = "1/8 in straight"', 'saw = "fret saw"') + SEAM
    two = _shape(OVAL, "holly", 45) + _shape(DISC.format(14), "padauk", 110)
    over = _shape(DISC.format(14), "padauk", 45)
    halves = _shape(SQUARE, "holly", 45) + _shape(SQUARE, "padauk", 75)
    both = _shape(SQUARE, "holly", 45) + _shape(DIAMOND, "padauk", 80)
    apart = _shape(OVAL, "holly", 50) + _shape(DISC.format(30), "padauk", 110)
    star = _shape(STAR, "holly", 45) + _shape(DISC.format(20), "padauk", 110)
    touching = _shape(OVAL, "holly", 60) + _shape(DIAMOND, "padauk", 80)
    router, knife, templates = (f'way = "{way}"' for way in ("guided router", "knife and saw", "templates"))
    told = [
        ("tabs-mm", 'holding = "tabs"', seam, two + FITTINGS, thin),
        ("sawn-free-inch", 'holding = "sawn free"\ncopies = 2', seam, _shape(STAR, "holly", 60), block),
        ("chiselled-inch", "", seam + '\ncorners = "chisel"', halves + over + FITTINGS, thin),
        ("templates-inch", templates, STRAIGHT, apart + FITTINGS, thin),
        ("guided-router-mm", router, seam, halves + over + FITTINGS, thin),
        ("guided-router-inch", router, seam, two, thin),
        ("knife-and-saw-mm", knife, sawn, both + MAGNET, thin),
        ("knife-and-saw-inch", knife, sawn, apart, thin),
        ("tapered-star-mm", "", TAPERED, star, thick),
        ("tapered-touching-inch", "", TAPERED, touching + FITTINGS, thick),
    ]
    return {
        name: (
            _job(name, name.rpartition("-")[2], cutting, fit, shapes),
            small_shop("none" if "way" in cutting else "small machine", edges=18, stick_out=25) + OTHER_TOOLS + rack,
        )
        for name, cutting, fit, shapes, rack in told
    }


class _Enough(Exception):
    """The files for the dry fit are there; sheets and pictures are not wanted."""

    def __init__(self, files: Files) -> None:
        super().__init__()
        self.files = files


@contextlib.contextmanager
def _stopped_at_the_proof() -> Iterator[None]:
    def enough(files: Files, *_: object) -> None:
        raise _Enough(dict(files))

    before = job.proved
    job.proved = enough
    try:
        yield
    finally:
        job.proved = before


def made(folder: Path) -> Files:
    """The files of a job that the dry fit reads."""
    with _stopped_at_the_proof():
        try:
            job.make(folder)
        except _Enough as enough:
            return enough.files
    raise AssertionError(f"{folder.name} was not proved")


def folders(only: str = "") -> Iterator[tuple[str, Files]]:
    """The name and the files of every folder with a word in its name."""
    with tempfile.TemporaryDirectory() as room:
        for name, (text, shop) in _jobs().items():
            if only in name:
                folder = Path(room) / name
                folder.mkdir()
                (folder / "job.toml").write_text(text, encoding="utf-8")
                (folder / "shop.toml").write_text(shop, encoding="utf-8")
                yield name, made(folder)
    for name in EXAMPLES:
        if only in name:
            yield name, made(ROOT / "examples" / name)
