"""The fit trial from the command line: made, proven, told of, and used by the next job."""

import json
import os
import re
from pathlib import Path

import jsonschema
import pytest

from purfle import job as flow
from purfle.cli import main as face
from purfle.files.folder import write_all
from purfle.files.job_folder import read_job_folder
from purfle.sheets import fit_trial
from purfle.sheets.style import Style
from purfle.shop import first_shop_text

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A trial of the 1/8 in cutter, made and proven."""
    folder = tmp_path_factory.mktemp("shop") / "trial"
    assert face.main(["fit-trial", str(folder)]) == 0
    _, files = flow.make(folder)
    write_all(folder / "made", files)
    return folder


def test_every_plug_is_proven_with_its_own_seam(trial: Path) -> None:
    """Read back from programs, SVG and DXF: 0.02 to 0.14, each within 0.005, by code that shares nothing."""
    report = json.loads((trial / "made" / "report.json").read_text(encoding="utf-8"))
    jsonschema.validate(report, SCHEMA)
    assert report["proven"]
    seams = [seam for seam in report["proof"]["seams"] if seam["from"] == "programs"]
    assert [seam["inlay"] for seam in seams] == [f"plug {n}" for n in range(1, 8)]
    for number, seam in enumerate(seams, 1):
        assert seam["drawn_mm"] == pytest.approx(0.02 * number)
        assert seam["narrowest_mm"] == pytest.approx(0.02 * number, abs=0.005)
        assert seam["widest_mm"] == pytest.approx(0.02 * number, abs=0.005)
    assert report["fit_trial"]["drawn_for_mm"] == 3.175
    assert report["fit_trial"]["plugs"][3] == {"number": 4, "seam_mm": 0.08, "plug_mm": 19.92, "recess_mm": 20.08}
    widths = [inlay["inserts"][0]["width_mm"] for inlay in report["inlays"]]
    assert widths == pytest.approx([plug["plug_mm"] for plug in report["fit_trial"]["plugs"]], abs=1e-3)


def test_what_was_found_is_in_the_shop_and_the_next_fit_uses_it(
    trial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """0.03 wider by a plug and a recess; the shop file changes there alone; told again, the outcome is the same."""
    before = (trial / "shop.toml").read_text(encoding="utf-8")
    assert before == first_shop_text()
    words = ["fit-trial", str(trial), "--plug", "4 = 19.89 mm", "--recess", "4=20.11mm"]
    assert face.main(words) == 0
    told = capsys.readouterr().out
    assert "1/8 in straight cuts a groove 3.205 mm wide, 0.030 mm wider than the trial was drawn for" in told
    after = (trial / "shop.toml").read_text(encoding="utf-8")
    added = [line for line in after.split("\n") if line not in before.split("\n")]
    assert added[0] == 'path_width = "3.205 mm"'
    assert re.fullmatch(r"fit_trial = \d{4}-\d{2}-\d{2}", added[2])
    assert [line for line in after.split("\n") if line not in added] == before.split("\n")
    job, shop = read_job_folder(trial)
    cutter = next(one for one in shop.cutters if one.name == job.fit.cutter)
    assert cutter.radius == pytest.approx(3.205 / 2)
    assert flow.fit_rule(job, shop).cutter_radius == pytest.approx(3.205 / 2)
    result, files = flow.make(trial)
    assert result.proof
    assert result.proof.proven
    assert json.loads(files["report.json"])["fit_trial"]["drawn_for_mm"] == 3.205
    assert face.main(words) == 0
    assert (trial / "shop.toml").read_text(encoding="utf-8") == after


def test_a_shop_file_that_cannot_be_written_stays_as_it_was(
    trial: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = (trial / "shop.toml").read_bytes()
    monkeypatch.setattr(os, "replace", full)
    assert face.main(["fit-trial", str(trial), "--went-in", "5"]) == 2
    assert (trial / "shop.toml").read_bytes() == before
    assert "No space left on device" in capsys.readouterr().err
    assert [one.name for one in trial.iterdir() if one.name.startswith(".")] == []


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["--went-in", "x"], "'x' is no number of a plug"),
        (["--went-in", "1"], "even plug 1 went in"),
        (["--went-in", "3", "--cutter", "a"], "--cutter is for a new trial, and here one is told of"),
        (["--plug", "19.9 mm"], "'19.9 mm' does not say which plug measures what"),
        (["--plug", "4 = 19.9"], '"19.9" has no unit'),
        (["--plug", "4 = 20.8mm"], "a groove 2.30 mm wide cannot be that of 1/8 in straight"),
        (["--went-in", "3", "--change", "123456"], "of change 123456, the files here of change"),
        (["--change", "123456"], "--change is for telling how a trial went"),
        ([], "There is something here already"),
        (["--went-in", "3", "--made", "nowhere"], "There are no files of a trial here"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(
    trial: Path, words: list[str], what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (trial / "shop.toml").read_bytes()
    assert face.main(["fit-trial", str(trial), *words]) == 2
    told = capsys.readouterr().err
    assert what in told
    assert "where:" in told
    assert "mend:" in told
    assert (trial / "shop.toml").read_bytes() == before


def test_files_that_are_none_of_a_trial_or_not_proven_are_refused(
    trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = json.loads((trial / "made" / "report.json").read_text(encoding="utf-8"))
    for change, what in (
        ({"proven": False}, "were not proven"),
        ({"fit_trial": None}, "not the report of a fit trial"),
    ):
        (tmp_path / "report.json").write_text(json.dumps(report | change), encoding="utf-8")
        assert face.main(["fit-trial", str(trial), "--went-in", "3", "--made", str(tmp_path)]) == 2
        assert what in capsys.readouterr().err


def test_a_trial_in_inches_is_told_in_inches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "trial"
    assert face.main(["fit-trial", str(folder), "--units", "inch", "--wood", "padauk", "--ground", "maple"]) == 0
    result, files = flow.make(folder)
    assert result.proof
    assert result.proof.proven
    write_all(folder / "made", files)
    capsys.readouterr()
    assert face.main(["fit-trial", str(folder), "--plug", "4 = 0.745 in", "--recess", "4 = 0.755 in"]) == 0
    told = capsys.readouterr().out
    assert "cuts a groove 0.1260 in wide, 0.0010 in wider than the trial was drawn for" in told
    assert 'path_width = "0.12600 in"' in (folder / "shop.toml").read_text(encoding="utf-8")


def test_plugs_told_of_once_do_not_correct_a_second_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Plug 4 went in: 3.135. Made anew for 3.135, the plugs of before must not give 3.095; plugs cut from it may."""
    folder = tmp_path / "trial"
    assert face.main(["fit-trial", str(folder)]) == 0

    def made() -> str:
        _, files = flow.make(folder)
        write_all(folder / "made", files)
        return str(json.loads(files["report.json"])["change"])

    def width() -> str:
        return re.findall(r'path_width = "(.*)"', (folder / "shop.toml").read_text(encoding="utf-8"))[0]

    first, tell = made(), ["fit-trial", str(folder), "--went-in", "4"]
    for words in (tell, tell, [*tell, "--change", first]):
        assert face.main(words) == 0
        assert width() == "3.135 mm"
    second = made()
    assert second != first
    for words, what in (
        (tell, "which plugs did you cut?"),
        ([*tell, "--change", first], f"of change {first}, the files here of change {second}"),
    ):
        capsys.readouterr()
        assert face.main(words) == 2
        assert what in capsys.readouterr().err
        assert width() == "3.135 mm"
    for _ in range(2):
        assert face.main([*tell, "--change", second.upper()]) == 0
        assert width() == "3.095 mm"
    sheet = fit_trial.data(flow.make(folder)[0], Style("mm", "a4"))[0]
    assert "taken as 3.095 mm" in sheet["sub"]
    third = json.loads(flow.make(folder)[1]["report.json"])["change"]
    assert f"change {third}" in str(sheet["facts"])
