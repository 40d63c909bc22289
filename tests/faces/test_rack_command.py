"""`purfle rack`: what stands on the rack, of a job or of a shop file, in both units and as JSON."""

import json
from pathlib import Path

import pytest

from purfle.cli.main import CANNOT_BE_USED, PROVEN, main
from purfle.shop import first_shop_text

TERN = Path(__file__).parents[2] / "examples" / "tern-lid"


@pytest.mark.parametrize("place", [TERN, TERN / "job.toml", TERN / "shop.toml"])
def test_the_rack_of_a_job_or_a_shop_file_is_told(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rack", str(place)]) == PROVEN
    first, *lines = capsys.readouterr().out.splitlines()
    assert first.startswith(f"{len(lines)} offcuts on the rack")
    assert "  offcut 12: maple, 238 mm x 94 mm, 3.8 mm thick; 1 defect; worth 6 EUR" in lines


def test_it_is_told_in_inches_and_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rack = '[[offcut]]\nname = "a"\nwood = "holly"\noutline = "8 x 4 in"\nthickness = "1/8 in"\ngrain = 30\n'
    text = first_shop_text().split("[[offcut]]")[0] + rack + 'stands = "shelf 2"\n'
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    assert main(["rack", str(tmp_path), "--units", "inch"]) == PROVEN
    said = capsys.readouterr().out.splitlines()
    assert said[1:] == ["  a: holly, 8 in x 4 in, 1/8 in thick; fibres at 30 degrees; stands: shelf 2"]


def test_as_json_it_has_outlines_and_defects_in_mm(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rack", str(TERN), "--json"]) == PROVEN
    told = json.loads(capsys.readouterr().out)
    maple = next(one for one in told["offcuts"] if one["name"] == "offcut 12")
    assert maple["outline_mm"][:2] == [[2.0, 8.0], [90.0, 0.0]]
    assert len(maple["defects_mm"]) == 1
    assert (maple["price"], maple["rings_deg"], told["currency"]) == (6.0, 0.0, "EUR")


def test_what_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rack", str(tmp_path / "nothing")]) == CANNOT_BE_USED
    said = capsys.readouterr().err
    assert "There is no job and no shop file here" in said
    assert "Name a job folder" in said
