"""Jobs that cannot be made, or should not be cut, and unusual ones that can: by the command, from end to end.

Each bad one is told as what, where and mend, without a traceback, and leaves earlier results as they were.
"""

import hashlib
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pypdf
import pytest
import shapely.affinity
from PIL import Image, ImageDraw
from shapely.geometry.base import BaseGeometry

from conftest import CLASP_JOB, Made, write_clasp
from outline_reader import put_together
from purfle.cli.main import main

TOLD = re.compile(r"^(?:STOP: |look: |note: )?(\S.*)\n  where: (\S.*)\n  mend:  (\S.*)$", re.MULTILINE)
Change = Callable[[str], str]

PICTURE_JOB = (
    CLASP_JOB.split("[woods]")[0].replace("clasp.svg", "picture.png") + "[fit]\n" + CLASP_JOB.split("[fit]\n")[1]
)


@dataclass(frozen=True)
class Said:
    """One run of the command."""

    status: int
    out: str
    err: str

    @property
    def told(self) -> list[tuple[str, str, str]]:
        return TOLD.findall(self.err if self.status == 2 else self.out)


def command(*words: object) -> Said:
    """The command, in this process and alone. A bug of ours would give status 3."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err), patch("os.cpu_count", lambda: 1):
        status = main([str(word) for word in words])
    assert status in (0, 1, 2), err.getvalue()
    assert "Traceback" not in err.getvalue()
    return Said(status, out.getvalue(), err.getvalue())


def by_process(*words: object) -> Said:
    """The same in a process of its own, as a maker types it."""
    call = [sys.executable, "-m", "purfle.cli", *map(str, words)]
    done = subprocess.run(call, capture_output=True, text=True, encoding="utf-8", env={**os.environ, "PYTHONUTF8": "1"})
    return Said(done.returncode, done.stdout, done.stderr)


def sums(folder: Path) -> dict[str, str]:
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.iterdir()}


def with_earlier_results(folder: Path) -> dict[str, str]:
    """Results of an earlier day in the output folder, with the list that says they are ours."""
    (folder / "made").mkdir()
    (folder / "made" / "report.json").write_text("{}")
    (folder / "made" / "note of mine.txt").write_text("mine")
    digest = hashlib.sha256(b"{}").hexdigest()
    (folder / "made" / ".purfle-files").write_text(json.dumps({"report.json": digest}))
    return sums(folder / "made")


def refused(folder: Path, what: str, where: str, mend: str, run: Callable[..., Said] = command) -> Said:
    """The job is refused with 2, one clear message, and nothing written."""
    before = with_earlier_results(folder)
    there = {p.name for p in folder.parent.iterdir()}
    said = run("make", folder)
    assert (said.status, said.out) == (2, ""), said
    told = said.told
    assert len(told) == 1, said.err
    for pattern, text in zip((what, where, mend), told[0], strict=True):
        assert re.search(pattern, text), (pattern, text)
    assert sums(folder / "made") == before, "earlier results are as they were"
    assert {p.name for p in folder.parent.iterdir()} == there
    return said


def stopped(folder: Path, what: str, where: str, mend: str) -> Said:
    """The job is made, but a finding says stop: 1, and the report says so."""
    said = command("make", folder)
    assert said.status == 1, said
    assert "NOT PROVEN. Do not cut: a finding says stop." in said.out
    stops = TOLD.findall("".join(re.findall(r"^STOP: .*\n.*\n.*\n", said.out, re.MULTILINE)))
    assert any(all(re.search(p, t) for p, t in zip((what, where, mend), one, strict=True)) for one in stops), said.out
    assert json.loads((folder / "made" / "report.json").read_text(encoding="utf-8"))["proven"] is False
    return said


def proven(folder: Path) -> dict[str, bytes]:
    """The job is made and proven; its files."""
    said = command("make", folder)
    assert (said.status, said.err) == (0, ""), said
    assert "Proven: every part, read back from the files, goes together." in said.out
    return {p.name: p.read_bytes() for p in (folder / "made").iterdir()}


def picture_job(folder: Path, picture: Image.Image | bytes, text: str = PICTURE_JOB) -> Path:
    write_clasp(folder, text)
    if isinstance(picture, bytes):
        (folder / "picture.png").write_bytes(picture)
    else:
        picture.save(folder / "picture.png")
    return folder


def noise() -> Image.Image:
    return Image.fromarray(np.random.default_rng(7).integers(0, 256, (300, 400, 3), np.uint8))


def painted(width: int, height: int, *boxes: tuple[float, float, float, float]) -> Image.Image:
    """Dark discs (or ovals) on white, painted four times too large and reduced."""
    large = Image.new("RGB", (4 * width, 4 * height), (250, 250, 248))
    for box in boxes:
        ImageDraw.Draw(large).ellipse([4 * v for v in box], fill=(65, 49, 42))
    return large.resize((width, height), Image.Resampling.BOX)


# --- pictures that cannot be used


def test_a_missing_picture(tmp_path: Path) -> None:
    folder = write_clasp(tmp_path / "job", CLASP_JOB.replace("clasp.svg", "clsap.svg"))
    refused(folder, 'no file "clsap.svg" in the job folder', r"job\.toml, line 12", r"clasp\.svg", by_process)


def test_a_broken_and_a_truncated_picture(tmp_path: Path) -> None:
    refused(picture_job(tmp_path / "broken", b"\x89PNG\r\n\x1a\nno more than that"), "picture", "picture.png", r"\w")
    noise().save(tmp_path / "whole.png")
    half = (tmp_path / "whole.png").read_bytes()[:60_000]
    refused(picture_job(tmp_path / "truncated", half), "picture", "picture.png", r"\w")


def test_a_flat_colour_and_noise_are_photographs_of_nothing(tmp_path: Path) -> None:
    flat = Image.new("RGB", (300, 200), (200, 180, 150))
    refused(picture_job(tmp_path / "flat", flat), "one colour", "picture.png", r"\w")
    refused(picture_job(tmp_path / "noise", noise()), r"\w", "picture.png", r"\w", by_process)


def test_a_picture_of_which_nothing_can_be_cut(tmp_path: Path) -> None:
    """A dot of 1.5 mm, for a cutter of 3.2 mm: said with the size of cutter."""
    folder = picture_job(
        tmp_path / "dot", painted(400, 400, (50, 50, 350, 350)), PICTURE_JOB.replace("height = 40", "height = 1.5")
    )
    said = refused(folder, r"cut", r"\w", r"smaller cutter|larger")
    assert re.search(r"3\.1[78]|1\.[56]|1/8", said.err), said.err


def test_one_area_too_small_for_the_cutter_is_listed_and_the_rest_made(tmp_path: Path) -> None:
    picture = painted(600, 400, (50, 50, 350, 350), (480, 190, 496, 206))
    folder = picture_job(tmp_path / "job", picture, PICTURE_JOB.replace("height = 40", "height = 25"))
    files = proven(folder)
    report = json.loads(files["report.json"])
    inlay = report["inlays"][0]
    assert len(inlay["inserts"]) == 1
    told = [lost["why"] for lost in inlay["fit"]["lost"]] + [f["what"] for f in report["findings"]]
    assert any("cutter" in why or "small" in why for why in told), told


# --- boards and fittings


def test_a_recess_deeper_than_the_board(tmp_path: Path) -> None:
    folder = write_clasp(tmp_path / "picture", CLASP_JOB.replace("depth = 3\n", "depth = 20\n"))
    refused(folder, "depth goes through the board", r"job\.toml, line \d+", "less than 19 mm")
    folder = write_clasp(tmp_path / "key", CLASP_JOB.replace("depth = 6\n", 'depth = "19 mm"\n'))
    refused(folder, "depth goes through the board", r"job\.toml, line \d+", "less than 19 mm")


def test_a_fitting_under_the_inlay_with_too_little_wood_between(tmp_path: Path) -> None:
    text = CLASP_JOB.replace("from_front = 15\n", "from_front = 60\n").replace(
        "from_left = 20\nfrom_front = 60", "from_left = 100\nfrom_front = 60"
    )
    deep = text.replace("depth = 3.2", "depth = 13")
    stopped(
        write_clasp(tmp_path / "near", deep),
        r"3\.0 mm of wood is left between picture and magnet",
        "show.*underside",
        "move|less deep",
    )
    through = text.replace("depth = 3.2", "depth = 17")
    stopped(
        write_clasp(tmp_path / "through", through),
        "picture and magnet.* meet inside the board",
        "show.*underside",
        "move|less deep",
    )


def test_no_offcut_is_large_enough(tmp_path: Path) -> None:
    """What to buy is said, with its size."""
    text = CLASP_JOB.replace("height = 40", "height = 110").replace("from_front = 40", "from_front = 5")
    text = text.split("[[fitting]]")[0]
    said = stopped(write_clasp(tmp_path / "job", text), "no .* on the rack has room", "rack", "buy")
    report = json.loads((tmp_path / "job" / "made" / "report.json").read_text(encoding="utf-8"))
    assert report["offcuts"]["unplaced"]
    assert any(re.search(r"\d+ x \d+ x [\d.]+ mm", line) for line in report["offcuts"]["to_buy"]), said.out


# --- folders


def test_a_file_in_the_way_and_a_missing_folder_above(tmp_path: Path) -> None:
    folder = write_clasp(tmp_path / "job")
    (tmp_path / "taken").write_text("mine")
    for out, what, mend in (
        (tmp_path / "taken", "This is a file, not a folder", "--out"),
        (tmp_path / "gone" / "deep", "The folder above it is not there", "Make the folder"),
    ):
        said = command("make", folder, "--out", out)
        assert (said.status, said.out) == (2, "")
        ((told, where, how),) = said.told
        assert told == what
        assert str(out) in where
        assert mend in how
    assert (tmp_path / "taken").read_text() == "mine"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job", "taken"]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="rights do not bind this user")
def test_a_folder_that_may_not_be_written(tmp_path: Path) -> None:
    folder = write_clasp(tmp_path / "job")
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    said = command("make", folder, "--out", closed / "made")
    ((what, where, mend),) = said.told
    assert said.status == 2
    assert "may not be written" in what
    assert "closed" in where
    assert "another folder" in mend


# --- slips in job.toml


@pytest.mark.parametrize(
    "change, what, line, mend",
    [
        (("thickness = 19", "thicknes = 19"), "thicknes is not known", 9, "Use thickness"),
        (('units = "mm"\n', ""), "units is missing", 2, '"mm" or "inch"'),
        (("length = 200", 'length = "wide"'), "wide.* is not a length", 7, "unit"),
        (("length = 200", "length = [200]"), "length cannot be", 7, "length in quotes"),
        (('face = "underside"', 'face = "bottom"'), 'face cannot be "bottom"', 26, "show or underside"),
    ],
)
def test_a_slip_in_the_job_file(tmp_path: Path, change: tuple[str, str], what: str, line: int, mend: str) -> None:
    text = CLASP_JOB.replace(*change, 1)
    assert text != CLASP_JOB
    folder = write_clasp(tmp_path / "job", text)
    before = with_earlier_results(folder)
    said = command("make", folder)
    assert (said.status, said.out) == (2, "")
    found = [one for one in said.told if re.search(what, one[0])]
    assert found, said.err
    assert any(re.search(rf"job\.toml, line {line}\b", where) for _, where, _ in found), said.err
    assert any(re.search(mend, how) for _, _, how in found), said.err
    assert sums(folder / "made") == before


# --- unusual jobs that can be made

IN_INCHES = {
    "length": "8",
    "width": "4 3/4",
    "thickness": "3/4",
    "least_left": "1/4",
    "height": "1 9/16",
    "from_front": "1 1/2",
    "depth": "1/8",
}


def test_a_folder_with_spaces_umlauts_quotes_and_a_bird(tmp_path: Path) -> None:
    files = proven(
        write_clasp(tmp_path / 'Möwe\'s "Kästchen" 🐦 & Co', CLASP_JOB.replace('"Clasp"', "'Möwe \"1\" 🐦'"))
    )
    assert json.loads(files["report.json"])["job"] == 'Möwe "1" 🐦'
    assert all(name.isascii() for name in files)


def turned_over(region: BaseGeometry, x: float, y: float) -> BaseGeometry:
    """Mirrored about the middle of the design: left to right (x -1), or from its foot to its head (y -1)."""
    return shapely.affinity.scale(region, x, y, origin=(100.0, 60.0))


@pytest.mark.parametrize("line, over", [('face = "underside"', (1, -1)), ("mirrored = true", (-1, 1))])
def test_an_inlay_on_the_underside_and_a_mirrored_one(
    tmp_path: Path, clasp: Made, line: str, over: tuple[int, int]
) -> None:
    """The same recess and parts the other way round; seen through the board, what lies below is upside down."""
    bare = CLASP_JOB.split("[[fitting]]")[0]
    files = proven(write_clasp(tmp_path / "job", bare.replace("depth = 3\n", f"depth = 3\n{line}\n")))
    recess, parts = put_together(files)["picture"]
    as_drawn, as_drawn_parts = put_together(clasp[1])["picture"]
    assert parts.keys() == as_drawn_parts.keys()
    for one, other in [(recess, as_drawn), *((parts[n], as_drawn_parts[n]) for n in parts)]:
        assert one.symmetric_difference(turned_over(other, *over)).buffer(-0.003).is_empty


def test_a_maker_in_inches_reads_inches_from_every_stage(tmp_path: Path) -> None:
    """Findings of the board, the offcuts, the cuts and the proof, the seam, and what `prove` tells afterwards."""
    text = re.sub(r"(?m)^(\w+) = ([\d.]+)$", r'\1 = "\2 mm"', CLASP_JOB).replace('units = "mm"', 'units = "inch"')
    text = text.replace('angle = "90 mm"', "angle = 90")
    under = text.replace('depth = "3.2 mm"', 'depth = "13 mm"').replace('from_front = "15 mm"', 'from_front = "60 mm"')
    under = under.replace('from_left = "20 mm"\nfrom_front', 'from_left = "100 mm"\nfrom_front')
    folder = write_clasp(tmp_path / "job", under)
    said, again = command("make", folder), command("prove", folder / "made")
    assert said.status == again.status == 1
    assert "only 0.118 in of wood is left" in said.out
    assert "0.004 in drawn" in said.out
    assert "0.004 in drawn" in again.out
    for words in (said.out, again.out):
        assert not re.search(r"\d mm\b", words), words
    thick = text.replace('depth = "3 mm"', 'depth = "20 mm"')
    refused(write_clasp(tmp_path / "thick", thick), "depth goes through the board", "job.toml", "less than 3/4 in")


def test_inches_and_letter_without_fittings_or_key(tmp_path: Path) -> None:
    """Programs in inches, sheets on letter paper, and no sheet of an underside on which nothing is done."""
    text = CLASP_JOB.split("[[fitting]]")[0].replace('units = "mm"', 'units = "inch"\npaper = "letter"')
    for key, inches in IN_INCHES.items():
        text, times = re.subn(rf"(?m)^{key} = [\d.]+$", f'{key} = "{inches} in"', text)
        assert times == 1, key
    files = proven(write_clasp(tmp_path / "job", text))
    programs = [d for n, d in files.items() if n.endswith(".nc")]
    assert all(re.search(rb"\bG20\b", program) for program in programs)
    # the board, three offcuts, and the board again for the dot that is let into a glued insert
    assert len([n for n in files if n.endswith(".dxf")]) == 1 + 3 + 1
    (sheets,) = (n for n in files if n.endswith("-bench-sheets.pdf"))
    pages = pypdf.PdfReader(tmp_path / "job" / "made" / sheets).pages
    assert {(float(p.mediabox.width), float(p.mediabox.height)) for p in pages} == {(612.0, 792.0)}


def test_a_board_in_portrait_and_a_huge_one(tmp_path: Path) -> None:
    """A picture on a board that is narrower than long along A; then on one that no small machine can hold."""
    bare = CLASP_JOB.split("[[fitting]]")[0]
    portrait = bare.replace("length = 200", "length = 90").replace("width = 120", "width = 260")
    assert json.loads(proven(write_clasp(tmp_path / "portrait", portrait))["report.json"])["proven"]
    huge = bare.replace("length = 200", "length = 3000").replace("width = 120", "width = 1200")
    said = command("make", write_clasp(tmp_path / "huge", huge))
    # what is cut lies within the machine's travel; only the board hangs over
    assert said.status in (0, 1), said
    assert (said.status == 0) == ("Proven:" in said.out)


def test_two_keys_of_one_name_are_two_keys(tmp_path: Path) -> None:
    """Of different sizes: each is cut as it was asked for, and told apart by its name."""
    head, key = CLASP_JOB.split("[[fitting]]")[0], CLASP_JOB.split("[[butterfly_key]]")[1]
    second = key.replace("length = 36", "length = 30").replace("from_left = 165", "from_left = 35")
    files = proven(write_clasp(tmp_path / "job", f"{head}[[butterfly_key]]{key}[[butterfly_key]]{second}"))
    keys = [i for i in json.loads(files["report.json"])["inlays"] if i["kind"] == "key"]
    assert len({key["name"] for key in keys}) == 2
    lengths = [max(key["inserts"][0]["width_mm"], key["inserts"][0]["height_mm"]) for key in keys]
    assert lengths[0] == pytest.approx(lengths[1] + 6.0, abs=0.02)
