"""A job whose last pass goes the other way round and is gone twice: made, told, proven; a damage in it is found."""

import json
import re
from pathlib import Path

import jsonschema
import pypdf
import pytest

from conftest import CLASP_JOB, ROOT, write_clasp
from program_reader import strokes
from purfle.cli.main import main
from purfle.proof import dry_fit
from purfle.tolerances import LAST_PASS_FIT

SPRUNG = CLASP_JOB + '\n[cutting]\nlast_pass = "conventional"\nspring_passes = 1\n'


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sprung")
    assert main(["make", str(write_clasp(folder / "job", SPRUNG)), "--out", str(folder / "made")]) == 0
    return folder / "made"


def proved(folder: Path) -> dict[str, bytes]:
    return {
        path.name: path.read_bytes() for path in folder.iterdir() if path.suffix in (".nc", ".svg", ".dxf", ".json")
    }


def test_the_report_keeps_to_its_schema_and_tells_what_was_asked(made: Path) -> None:
    report = json.loads((made / "report.json").read_text(encoding="utf-8"))
    schema = json.loads((ROOT / "docs" / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(report)
    assert report["proven"]
    assert (report["inputs"]["cutting"]["last_pass"], report["inputs"]["cutting"]["spring_passes"]) == (
        "conventional",
        1,
    )
    passes = [one for s in report["cutting"]["set_ups"] for p in s["programs"] for one in p["passes"]]
    lasts = [one for one in passes if one["kind"] == "last"]
    springs = [one for one in passes if one["kind"] == "spring"]
    assert len(lasts) == len(springs) > 5
    assert all(one["way_round"] == "conventional" for one in lasts)
    assert {one["fitted_within_mm"] for one in lasts + springs} == {LAST_PASS_FIT}
    assert [one["cutting_min"] for one in lasts] == [one["cutting_min"] for one in springs]


def test_the_program_goes_the_last_pass_twice(made: Path) -> None:
    program = next(made.glob("*-1-*.nc")).read_bytes()
    moves = strokes(program)
    last = [(one.start, one.end) for one in moves if "last pass" in one.of_pass and one.word != "G0"]
    spring = [(one.start, one.end) for one in moves if "spring pass" in one.of_pass and one.word != "G0"]
    assert len(last) > 10
    assert last == spring


def shifted(line: str, axis: str, off: float) -> str:
    return re.sub(rf"{axis}(-?[0-9.]+)", lambda found: f"{axis}{float(found[1]) + off:.4f}", line, count=1)


@pytest.mark.parametrize("name", ["recess", "parts"])
def test_a_spring_pass_that_leaves_the_last_one_is_found(made: Path, name: str) -> None:
    """One place of the spring pass 0.06 mm off to each side in turn: one of the four lies in the wood and is told."""
    files = proved(made)
    file = next(one for one in sorted(files) if one.endswith(".nc") and name in one)
    lines = files[file].decode("ascii").splitlines()
    begin = next(k for k, line in enumerate(lines) if "spring pass" in line)
    level = [k for k, line in enumerate(lines) if k > begin and re.match(r"G1 X[-0-9.]+ Y[-0-9.]+($| F)", line)]
    told = []
    for axis, off in (("X", 0.06), ("X", -0.06), ("Y", 0.06), ("Y", -0.06)):
        k = level[len(level) // 2]
        moved = shifted(lines[k], axis, off)
        damaged = "\n".join([*lines[:k], moved, *lines[k + 1 :], ""]).encode("ascii")
        told.append([one.what for one in dry_fit(files | {file: damaged}).findings if one.severity == "stop"])
    assert any(told), told


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ('last_pass = "upwards"', "last_pass"),
        ("spring_passes = 1.5", "whole number"),
        ("spring_passes = 7", "spring_passes"),
        ('way = "guided router"\nspring_passes = 1', "says nothing where no program is run"),
        ('way = "guided router"\nlast_pass = "climb"', "says nothing where no program is run"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], line: str, what: str
) -> None:
    text = CLASP_JOB + f"\n[cutting]\n{line}\n"
    assert main(["make", str(write_clasp(tmp_path / "job", text))]) == 2
    said = capsys.readouterr()
    assert what in said.err + said.out
    assert "job.toml" in said.err + said.out


def test_the_card_tells_the_spring_passes(made: Path) -> None:
    """In a row each, or in one row with the last pass where there are many."""
    (sheets,) = made.glob("*-bench-sheets.pdf")
    words = " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(sheets).pages)
    assert "spring pass, the same way" in words
    assert "last pass, to the line, 2 times" in words
    assert "in inside corners of the last pass" in words
