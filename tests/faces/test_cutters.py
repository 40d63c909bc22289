"""Which cutter to use, asked on the command line: of a job in inches, of a drawing, and beside a job that is made."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import cv2
import jsonschema
import numpy as np
import pytest
from lxml import etree

from purfle import job as flow
from purfle import proof
from purfle.cli import main as face
from purfle.errors import JobFileError
from purfle.model.job import JobResult

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "cutters.schema.json").read_text(encoding="utf-8"))
CUTTER = """
[[cutter]]
number = {number}
name = "{name}"
diameter = "{name}"
flutes = 2
cutting_length = "{long}"
stick_out = "3/4 in"
max_speed = 24000
"""
SHOP = """
units = "inch"
[machine]
name = "small machine"
travel = [24, 16, 3]
speed = 24000
max_feed = 100
rapid_feed = 200
acceleration = 10
safe_height = "0.2 in"
[[offcut]]
name = "holly"
wood = "holly"
outline = "6 x 3 in"
thickness = "5/32 in"
""" + "".join(
    CUTTER.format(number=number, name=name, long=long)
    for number, (name, long) in enumerate([("1/4 in", "1 in"), ("1/8 in", "1/2 in"), ("1/32 in", "3/32 in")], 1)
)
JOB = """
[job]
name = "Small lid"
units = "inch"
paper = "letter"
[board]
wood = "black walnut"
length = 6
width = 4
thickness = "1/2 in"
[fit]
seam = "0.004 in"
cutter = "1/8 in"
[[shape]]
kind = "rectangle"
name = "tile"
length = "1 1/2 in"
width = 1
wood = "holly"
depth = "1/8 in"
centred = true
"""


@pytest.fixture
def small_lid(tmp_path: Path) -> Path:
    """A job folder: one rectangle of holly, three cutters of which one is too short."""
    folder = tmp_path / "small lid"
    folder.mkdir()
    (folder / "job.toml").write_text(JOB)
    (folder / "shop.toml").write_text(SHOP)
    return folder


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Exit status, stdout and stderr of one command."""
    status = face.main(list(words))
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_a_job_in_inches_is_told_in_inches(capsys: pytest.CaptureFixture[str], tmp_path: Path, small_lid: Path) -> None:
    """The table, the file for programs and the page to pin up say the same; nothing is written into the job folder."""
    out = tmp_path / "which"
    before = sorted(small_lid.iterdir())
    status, said, err = told(capsys, "pieces", str(small_lid), "--cutters", str(out))
    assert (status, err) == (0, "")
    assert said.startswith("Cutters for Small lid, recess 1/8 in deep:")
    assert " mm" not in said
    row = next(line for line in said.splitlines() if line.startswith("  1/8 in (this job)"))
    assert "none" in row
    assert "r 1/16 in" in row
    assert "too short: it reaches 0.094 in, the recess is 0.125 in deep" in said
    assert sorted(small_lid.iterdir()) == before
    assert sorted(path.name for path in out.iterdir()) == ["cutters.json", "cutters.png", "cutters.svg"]
    card = json.loads((out / "cutters.json").read_text(encoding="utf-8"))
    jsonschema.validate(card, SCHEMA)
    assert (card["job"], card["unit"], card["chosen"]) == ("Small lid", "inch", "1/8 in")
    assert [one["name"] for one in card["cutters"]] == ["1/4 in", "1/8 in", "1/32 in"]
    assert f"Recommended: {card['recommended']['finishing']}" in said
    page = etree.fromstring((out / "cutters.svg").read_bytes())
    assert [float(page.get(side).removesuffix("pt")) for side in ("width", "height")] == pytest.approx(
        [612, 792], abs=0.1
    )
    picture = cv2.imread(str(out / "cutters.png"))
    assert picture.shape[:2] == (2200, 1700)
    red = np.all(np.abs(picture.astype(int) - (0x0F, 0x21, 0xC4)) < 40, axis=2)
    assert red[:1200].sum() > 50  # BGR: corners that are gone, in the drawings above the curve
    assert red[1500:].sum() == 0


def test_a_drawing_alone_is_tried_with_the_first_shop(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """In mm, at the height asked for; a slot narrower than the larger cutters is lost to them and named."""
    drawing = tmp_path / "comb.svg"
    shape = '<path fill="#b33d25" d="M0 0H60V40H31V12H28.5V40H0Z"/>'
    drawing.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">{shape}</svg>'
    )
    out = tmp_path / "which"
    words = ["pieces", str(drawing), "--height", "40mm", "--cutters", str(out), "--depth", "2mm"]
    status, said, _ = told(capsys, *words)
    assert status == 0
    card = json.loads((out / "cutters.json").read_text(encoding="utf-8"))
    jsonschema.validate(card, SCHEMA)
    lost = {one["name"]: [gone["name"] for gone in one["made"]["lost"]] for one in card["cutters"]}
    assert lost == {"1/4 in straight": ["ground"], "1/8 in straight": ["ground"], "1/16 in straight": []}
    assert card["recommended"]["finishing"] == "1/16 in straight"
    assert card["recess_depth_mm"] == 2.0
    assert "recess 2.0 mm deep" in said


def test_beside_a_job_the_table_is_listed_in_its_report(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, small_lid: Path
) -> None:
    """The three files go with the others; the report lists them; the dry fit does not stumble over them."""
    out = tmp_path / "made"
    status, said, _ = told(capsys, "make", str(small_lid), "--out", str(out), "--cutters")
    assert status == 0, said
    assert said.index("Cutters for Small lid") < said.index("Proven:")
    report = json.loads((out / "report.json").read_text(encoding="utf-8"))
    assert {"cutters.json", "cutters.png", "cutters.svg"} <= {one["name"] for one in report["files"]}
    status, said, _ = told(capsys, "prove", str(out))
    assert (status, "Proven:" in said) == (0, True)


def cleared(folder: Path, finishing: str = "1/8 in") -> tuple[JobResult, dict[str, bytes]]:
    """The small lid, its recess cleared with the 1/4 in cutter first."""
    text = JOB.replace('cutter = "1/8 in"', f'cutter = "{finishing}"')
    (folder / "job.toml").write_text(text + '[cutting]\nclearing = "1/4 in"\n')
    return flow.make(folder)


def test_a_larger_cutter_clears_first_and_the_job_is_proven(small_lid: Path) -> None:
    """Two programs for the recess, the clearing one first and off the line; one for the parts, as without it."""
    result, files = cleared(small_lid)
    assert result.proof is not None
    assert result.proof.proven, [finding.what for finding in result.proof.findings]
    recess = result.cutting.set_ups[0]
    assert [(one.cutter.name, {p.kind for p in one.passes}) for one in recess.programs] == [
        ("1/4 in", {"roughing"}),
        ("1/8 in", {"roughing", "last"}),
    ]
    assert all(one.off_line == result.job.cutting.allowance for one in recess.programs[0].passes)
    (parts,) = (set_up for set_up in result.cutting.set_ups if set_up.stock != "board")
    assert [one.cutter.name for one in parts.programs] == ["1/8 in"]
    assert json.loads(files["report.json"])["inputs"]["cutting"]["clearing"] == "1/4 in"
    assert recess.set_up_minutes == pytest.approx(10.0 + 3.0)


def stops_after(small_lid: Path, change: Callable[[str], str]) -> list[str]:
    """What the dry fit says when the clearing program was tampered with."""
    result, files = cleared(small_lid)
    first = result.cutting.set_ups[0].programs[0].file
    before = files[first].decode("ascii")
    files[first] = change(before).encode("ascii")
    assert change(before) != before
    found = proof.dry_fit(files)
    assert not found.proven
    return [one.what for one in found.findings if one.severity == "stop"]


def test_a_clearing_program_that_cuts_nothing_is_caught(small_lid: Path) -> None:
    """The finishing cutter would go down where the floor still stands, and would leave it standing."""
    said = stops_after(small_lid, lambda text: re.sub(r"(?m)^G[123] .*\n", "", text))
    assert any(what.startswith("plunges straight into solid wood") for what in said)
    assert any("left uncut" in what and what.startswith("the wall of 'recess-1'") for what in said)


def test_another_cutter_in_the_clearing_program_is_caught(small_lid: Path) -> None:
    """The card knows which cutter clears; what the smaller one would leave standing is measured too."""
    said = stops_after(small_lid, lambda text: text.replace("T1", "T2"))
    assert "asks for cutter 2 (1/8 in); the card says cutter 1" in said
    assert any("left uncut" in what for what in said)


def test_a_clearing_cutter_that_is_no_wider_than_the_finishing_one_is_refused(small_lid: Path) -> None:
    with pytest.raises(JobFileError) as refusal:
        cleared(small_lid, finishing="1/4 in")
    assert refusal.value.what == "1/4 in is no wider than 1/4 in, which finishes: it cannot clear before that"
    assert refusal.value.where == "cutting.clearing"
    assert refusal.value.mend == "name a wider cutter, or take the line out"


@pytest.mark.parametrize(
    ("words", "what", "mend"),
    [
        (["a.svg", "--height", "9mm"], "Nothing says where the pieces go", "Add --geojson FILE, or --cutters DIR."),
        (["a.svg", "--geojson", "x"], "Nothing says how high the design is", "--height 118mm"),
        (
            ["a.svg", "--height", "9mm", "--geojson", "x", "--cutters", "y"],
            "--geojson and --cutters stand",
            "one cutter",
        ),
        ([".", "--height", "9mm", "--cutters", "y"], "The job says --height itself", "Leave --height out"),
        (
            [".", "--seam", "1mm", "--cutter", "9mm", "--geojson", "x"],
            "The job says --cutter and --seam itself",
            "Leave --cutter and --seam out, or change the job file.",
        ),
    ],
)
def test_what_cannot_be_said_together_is_told(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    words: list[str],
    what: str,
    mend: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, err = told(capsys, "pieces", *words)
    first, second, third = err.splitlines()
    assert (status, out) == (2, "")
    assert first.startswith(what)
    assert second == "  where: the words after purfle pieces"
    assert mend in third
    assert list(tmp_path.iterdir()) == []
