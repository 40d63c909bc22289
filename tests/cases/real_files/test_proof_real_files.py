"""The dry fit on files that the writers wrote: a small badge with all kinds of set-up, made whole, then damaged.

The badge is our own: a disc of holly with a band of wenge across it and a dot of padauk. Below it a key, a hinge, a
magnet.
"""

import json
import random
import re
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from purfle import board, cutting, job, traced
from purfle.errors import Fault, ProgramError
from purfle.files.job_toml import load_job, shop_file
from purfle.fitted import fit_all
from purfle.model.findings import Finding
from purfle.model.proof import Proof
from purfle.proof import dry_fit
from purfle.proof.outlines_svg import read_svg
from purfle.proof.program import read_program
from purfle.proof.sweep import flatten, groove
from purfle.shop import load_shop

Files = dict[str, bytes]
TERN = Path(__file__).parents[3] / "examples" / "tern-lid"
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<rect width="60" height="40" fill="#d9c49a"/>
<path d="M10 20 A20 20 0 1 1 50 20 A20 20 0 1 1 10 20 Z" fill="#f2ead8"/>
<path d="M11 15 C20 25 40 8 49 15 L49.5 22 C40 16 20 33 10.5 22 Z" fill="#41312a"/>
<circle cx="30" cy="31" r="4" fill="#b33d25"/>
</svg>"""
JOB = """
[job]
name = "Badge"
units = "mm"
[board]
wood = "white oak"
length = 200
width = 120
thickness = 19
least_left = 6
[picture]
file = "badge.svg"
height = 40
centred = true
from_front = 40
depth = 3
face = "FACE"
[woods]
"30, 35" = "holly"
"30, 22" = "wenge"
"30, 9" = "padauk"
[fit]
seam = "0.1 mm"
cutter = "1/8 in straight"
[cutting]
programs = "UNIT"
[offcuts]
margin = 6
between = 5
[[fitting]]
kind = "hinge"
name = "hinge"
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
name = "magnet"
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


@cache
def made(folder: Path, unit: str, face: str) -> Files:
    """The files for the machine, made by the stages without the bench sheets."""
    (folder / "badge.svg").write_text(DRAWING)
    (folder / "job.toml").write_text(JOB.replace("UNIT", unit).replace("FACE", face))
    shutil.copy(TERN / "shop.toml", folder / "shop.toml")
    asked = load_job(folder)
    shop = load_shop(shop_file(asked.folder))
    areas = traced.areas_of(asked)
    drawn, _ = job.woods_of(asked, shop, areas, 1.0)
    layout = board.lay_out(
        asked.board, board.wishes_of(asked, fit_all(asked, shop, drawn)), asked.fittings, asked.least_left
    )
    on_offcuts = job.place_on_offcuts(asked, shop, layout)
    return job.machine_files(asked, shop, layout, on_offcuts, cutting.plan(asked, layout, on_offcuts, shop))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("badge")


@pytest.fixture(scope="module")
def files(folder: Path) -> Files:
    return made(folder, "mm", "show")


def stops(proof: Proof) -> list[Finding]:
    return [finding for finding in proof.findings if finding.severity == "stop"]


def caught(files: Files) -> list[Finding] | list[Fault]:
    """What stops, or why the files are refused; each with what, where and mend."""
    try:
        found: list[Finding] | list[Fault] = stops(dry_fit(files))
    except ProgramError as error:
        found = list(error.faults)
    assert all(one.what and one.where and one.mend for one in found)
    return found


def programs(files: Files) -> list[str]:
    return sorted(name for name in files if name.endswith(".nc"))


@pytest.mark.parametrize("unit, face", [("mm", "show"), ("inch", "show"), ("mm", "underside")])
def test_what_the_writers_wrote_is_proven_without_a_stop(folder: Path, unit: str, face: str) -> None:
    proof = dry_fit(made(folder, unit, face))
    assert stops(proof) == []
    assert proof.proven
    assert {seam.inlay for seam in proof.seams} == {"picture", "padauk piece 1", "butterfly key"}
    assert len(proof.seams) == 9
    for seam in proof.seams:
        assert 0.08 <= seam.narrowest <= seam.widest <= 0.22
        assert seam.share_within > 0.95
        assert seam.interference_area == 0
    assert all(program.uncut_area < 0.01 and program.gouged_area < 0.01 for program in proof.programs)


def walls(files: Files, name: str) -> shapely.Geometry:
    """The walls that the program `name` is to cut, from the SVG of its set-up."""
    card = json.loads(files["assembly.json"])
    set_up = next(s for s in card["set_ups"] if any(p["file"] == name for p in s["programs"]))
    return shapely.boundary(
        shapely.union_all(list(read_svg(set_up["svg"], files[set_up["svg"]], set_up["number"]).lines.values()))
    )


def wall_moves(files: Files, name: str) -> list[tuple[int, np.ndarray]]:
    """Lines of the program that end on the wall at full depth, with the direction from there to the wall."""
    reading = read_program(name, files[name])
    wall = walls(files, name)
    card = json.loads(files["assembly.json"])
    number = reading.cutter
    radius = next(c["diameter"] for c in card["cutters"] if c["number"] == number) / 2
    deep = np.isclose(reading.end[:, 2], reading.end[:, 2].min(), atol=1e-3)
    found = []
    for index in np.flatnonzero(deep & (reading.kind > 0)):
        place = shapely.Point(reading.end[index, :2])
        if abs(wall.distance(place) - radius) < 0.005:
            nearest = np.array(shapely.shortest_line(place, wall).coords)
            found.append((int(reading.line[index]) - 1, (nearest[1] - nearest[0]) / radius))
    return found


@pytest.mark.parametrize("seed", range(10))
def test_an_end_point_moved_towards_the_wall_by_three_hundredths_is_caught(files: Files, seed: int) -> None:
    chance = random.Random(seed)
    name = chance.choice(programs(files))
    index, towards = chance.choice(wall_moves(files, name))
    lines = files[name].decode().splitlines()
    for axis, by in zip("XY", towards * 0.03, strict=True):
        if axis in lines[index]:
            lines[index] = re.sub(
                rf"{axis}(-?[\d.]+)", lambda m, b=by, a=axis: f"{a}{float(m[1]) + b:.4f}", lines[index]
            )
        else:
            last = next(found for line in lines[index::-1] if (found := re.search(rf"{axis}(-?[\d.]+)", line)))
            lines[index] += f" {axis}{float(last[1]) + by:.4f}"
    found = caught({**files, name: "\n".join(lines).encode()})
    assert any(name in one.where for one in found), found


@pytest.mark.parametrize("seed", range(8))
def test_a_line_dropped_from_the_wall_is_caught_where_it_changes_wood(files: Files, seed: int) -> None:
    chance = random.Random(seed)
    name = chance.choice(programs(files))
    index, _ = chance.choice(wall_moves(files, name))
    lines = files[name].decode().splitlines()
    cutter = json.loads(files["assembly.json"])["cutters"][0]["diameter"] / 2
    before = flatten(read_program(name, files[name]), cutter)
    del lines[index]
    damaged = {**files, name: "\n".join(lines).encode()}
    found = caught(damaged)
    if not found:
        after = flatten(read_program(name, damaged[name]), cutter)
        depth = -float(np.nanmin(before.end[:, 2])) - 0.05
        changed = groove(before.below(depth)).symmetric_difference(groove(after.below(depth)))
        assert changed.buffer(-0.01).is_empty, "what changes a wall by 0.02 mm must be caught"


def test_every_pass_of_every_program_a_tenth_deeper_is_caught(files: Files) -> None:
    for name in programs(files):
        text = files[name].decode()
        for depth in sorted(set(re.findall(r"Z-(\d+\.\d+)", text)), key=float)[-1:]:
            damaged = text.replace(f"Z-{depth}", f"Z-{float(depth) + 0.1:.4f}")
            found = caught({**files, name: damaged.encode()})
            assert any(name in one.where and "deep" in one.what for one in found), (name, depth)


def test_a_mirrored_file_is_caught_and_named(files: Files) -> None:
    """x mirrored in one SVG about the middle of what it holds."""
    name = next(n for n in sorted(files) if n.endswith(".svg") and "-2-" in n)
    text = files[name].decode()

    def mirrored(command: re.Match[str]) -> str:
        letter, body = command[1], command[2]
        numbers = [float(value) for value in re.findall(r"-?[\d.]+", body)]
        for start in range(0, len(numbers), 7 if letter == "A" else 2):
            numbers[start + (5 if letter == "A" else 0)] = 200 - numbers[start + (5 if letter == "A" else 0)]
            if letter == "A":
                numbers[start + 4] = 1 - numbers[start + 4]
        return letter + " ".join(f"{value:g}" if value in (0, 1) else f"{value:.5f}" for value in numbers)

    damaged = re.sub(r' d="([^"]*)"', lambda m: f' d="{re.sub(r"([MLA])([^MLAZ]*)", mirrored, m[1])}"', text)
    found = caught({**files, name: damaged.encode()})
    assert any(name in one.where and "not the one of the DXF file and of the program" in one.what for one in found)
    assert not any(".nc" in one.where for one in found)


def test_a_swapped_cutter_is_caught_in_every_program(files: Files) -> None:
    card = json.loads(files["assembly.json"])
    other = dict(card["cutters"][0], number=9, name="other", diameter=card["cutters"][0]["diameter"] + 0.1)
    card["cutters"].append(other)
    for name in programs(files):
        text = re.sub(r"^T\d+$", "T9", files[name].decode(), flags=re.MULTILINE)
        found = caught({**files, "assembly.json": json.dumps(card).encode(), name: text.encode()})
        assert any("asks for cutter 9 (other)" in one.what and name in one.where for one in found)
        assert any("its header says a cutter of" in one.what and name in one.where for one in found)
        assert any("off its outline" in one.what and name in one.where for one in found)


def test_a_wrong_units_word_is_caught_in_every_program(files: Files) -> None:
    for name in programs(files):
        found = caught({**files, name: files[name].replace(b"G21", b"G20")})
        assert any(name in one.where and "units word" in one.what for one in found), name


def test_any_part_a_tenth_out_of_place_is_caught_by_its_name(files: Files) -> None:
    for inlay in range(2):
        card = json.loads(files["assembly.json"])
        part = card["inlays"][inlay]["parts"][0]
        part["to_board"]["x"] += 0.1
        found = caught({**files, "assembly.json": json.dumps(card).encode()})
        label = f"part {part['number']} ({part['name']})"
        assert any(label in one.what or label in one.where for one in found), found


def test_the_order_of_the_files_changes_nothing(files: Files) -> None:
    assert dry_fit(files) == dry_fit(dict(sorted(files.items(), reverse=True)))
