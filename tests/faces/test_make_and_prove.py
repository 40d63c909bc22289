"""`purfle make` and `purfle prove` from end to end, on a drawing of three woods."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from conftest import Made
from purfle.cli.main import main
from purfle.cli.make import _over
from purfle.model.pieces import OrderChoice

Capture = pytest.CaptureFixture[str]
ACORN = Path(__file__).parents[1] / "data" / "acorn.svg"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new job in a folder with a space and an umlaut, made once; its folder."""
    folder = tmp_path_factory.mktemp("faces") / "Eichel klein, größer"
    assert main(["new", str(folder), str(ACORN)]) == 0
    assert main(["make", str(folder)]) == 0
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """Every file but those that tell of clocks and lists."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != "timings.json"}


def test_a_first_job_is_proven_and_every_kind_of_file_is_there(made: Path) -> None:
    names = {path.suffix for path in (made / "made").iterdir()}
    assert {".nc", ".svg", ".dxf", ".pdf", ".json", ".png"} <= names
    report = json.loads((made / "made" / "report.json").read_text(encoding="utf-8"))
    assert report["proof"]["proven"] is True


def test_a_first_job_takes_the_woods_that_its_colours_stand_for(made: Path) -> None:
    card = json.loads((made / "made" / "assembly.json").read_text(encoding="utf-8"))
    parts = {part["name"]: part["wood"] for inlay in card["inlays"] for part in inlay["parts"]}
    assert {name: wood.split("_")[0] for name, wood in parts.items()} == {
        "light side": "maple",
        "shaded side": "sapele",
        "cup": "wenge",
    }


def test_the_dry_fit_needs_the_files_alone(made: Path, capsys: Capture) -> None:
    assert main(["prove", str(made / "made")]) == 0
    told = capsys.readouterr()
    assert "Proven: every part, read back from the files, goes together." in told.out
    assert told.err == ""


def test_made_again_the_files_are_the_same_to_the_byte(made: Path, tmp_path: Path, capsys: Capture) -> None:
    assert main(["make", str(made), "--out", str(tmp_path / "again")]) == 0
    said = capsys.readouterr().out
    again = contents(tmp_path / "again")
    assert f"Bench sheets: {tmp_path / 'again'}" in said
    first = contents(made / "made")
    listing = {".purfle-files"}
    assert {name for name in first if first[name] != again.get(name)} <= listing
    assert first.keys() == again.keys()


def test_a_file_that_was_tampered_with_is_not_proven(made: Path, tmp_path: Path, capsys: Capture) -> None:
    """One part shifted by 0.05 mm in its program: 1, said in words, with the place."""
    for name, data in contents(made / "made").items():
        (tmp_path / name).write_bytes(data)
    program = next(path for path in sorted(tmp_path.glob("*.nc")) if "parts" in path.name)
    lines = program.read_text(encoding="ascii").splitlines()
    moved = [shifted(line) for line in lines]
    assert moved != lines
    program.write_text("\n".join(moved) + "\n", encoding="ascii")
    assert main(["prove", str(tmp_path)]) == 1
    told = capsys.readouterr().out
    assert "NOT PROVEN. Do not cut" in told
    assert "STOP: " in told
    assert "  where: " in told
    assert "  mend:  " in told


def shifted(line: str) -> str:
    """A line of a program with every X moved by 0.05 mm."""
    if line.startswith("("):
        return line
    return " ".join(f"X{float(word[1:]) + 0.05:.4f}" if word.startswith("X") else word for word in line.split())


@pytest.mark.parametrize("what", ["nothing", "no card", "a file"])
def test_what_holds_no_job_is_refused(made: Path, tmp_path: Path, capsys: Capture, what: str) -> None:
    place = tmp_path / "place"
    if what == "a file":
        place.write_text("x")
    if what == "no card":
        place.mkdir()
        (place / "a.nc").write_text("G21\n")
    assert main(["prove", str(place)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    first, second, third = told.err.splitlines()[:3]
    assert first
    assert second.startswith("  where: ")
    assert third.startswith("  mend:  ")


def test_a_place_that_cannot_be_written_is_refused_before_anything_changes(
    made: Path, tmp_path: Path, capsys: Capture
) -> None:
    (tmp_path / "taken").write_text("mine")
    assert main(["make", str(made), "--out", str(tmp_path / "taken")]) == 2
    assert capsys.readouterr().err.startswith("This is a file, not a folder\n")
    assert (tmp_path / "taken").read_text() == "mine"


def test_what_is_let_in_over_names_its_host_and_no_key(clasp: Made) -> None:
    """Keys are numbered on their own: the leaf is piece 1, and so is the key."""
    (told,) = list(_over(clasp[0]))
    inserts = [insert for inlay in clasp[0].layout.inlays if inlay.kind == "picture" for insert in inlay.fit.inserts]
    (over,) = [insert for insert in inserts if insert.hosts]
    hosts = " and ".join(f"{one.name} ({one.number})" for one in inserts if one.number in over.hosts)
    assert told.startswith(f"Let in over: {over.name} ({over.number}) into {hosts}, ")


def test_what_lies_beside_where_it_might_lie_over_says_why(clasp: Made) -> None:
    """By the rule alone: what the job asks for needs no reason."""
    result = clasp[0]
    first = result.layout.inlays[0]
    lost = 'its outline meets "leaf" alone, but a recess of its own would lose 1.5 % of it'
    choices = (
        OrderChoice("dot", "beside", "rule", lost, (0.0, 0.0)),
        OrderChoice("eye", "beside", "job", "the job says so", (0.0, 0.0)),
    )
    inlays = (replace(first, fit=replace(first.fit, choices=choices)), *result.layout.inlays[1:])
    told = list(_over(replace(result, layout=replace(result.layout, inlays=inlays))))
    assert [one for one in told if "beside" in one] == [f"Let in beside: dot; {lost}."]
