"""`purfle wood`, `moisture`, `movement`: figures with where they come from, and one clear fault for what is absurd."""

import json
from pathlib import Path

import pytest

from purfle import wood
from purfle.cli import main as face

OWN = """
[[wood]]
name = "bog oak"
source = "my own shelf, measured 2026"
shrinkage_tangential = 9.0
shrinkage_radial = 5.0

[[wood]]
name = "American holly"
source = "a dealer's sheet"
change_tangential = 0.004
change_radial = 0.002
"""


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    try:
        status = face.main(list(words))
    except SystemExit as stop:
        status = int(stop.code or 0)
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.fixture
def shop(tmp_path: Path) -> str:
    from purfle.shop import first_shop_text

    file = tmp_path / "shop.toml"
    file.write_text(first_shop_text() + OWN, encoding="utf-8")
    return str(file)


@pytest.mark.parametrize("name", ["white oak", "Quercus alba", "oak_white"])
def test_every_figure_of_a_wood_is_told_with_its_source(capsys: pytest.CaptureFixture[str], name: str) -> None:
    status, out, err = told(capsys, "wood", *name.split())
    assert (status, err) == (0, "")
    assert out.startswith("white oak (Quercus alba)\n")
    (line,) = [line for line in out.splitlines() if "shrinkage, tangential" in line]
    assert "10.5 %" in line
    assert line.endswith("Table 4-3 shrinkage of domestic woods; confirmed]")


def test_a_trade_name_shows_what_is_meant_and_what_else_goes_by_it(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = told(capsys, "wood", "maple")
    assert status == 0
    assert out.startswith("sugar maple (hard maple) (Acer saccharum)\n")
    assert "silver maple" in out.splitlines()[1]


def test_a_name_of_several_woods_and_one_of_none_are_each_one_fault(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = told(capsys, "wood", "oak")
    assert (status, out) == (2, "")
    assert "'oak' is the name of 4 woods" in err
    assert "northern red oak, white oak, live oak, European oak" in err
    status, out, err = told(capsys, "movement", "padaukk", "--width", "40mm", "--from", "8", "--to", "10")
    assert (status, out) == (2, "")
    assert "'padaukk' is no wood that Purfle knows" in err
    assert "African padauk" in err


def test_json_says_units_in_its_keys(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = told(capsys, "wood", "holly", "--json")
    figures = json.loads(out)["figures"]
    assert figures["shrinkage_tangential_percent"]["value"] == 9.9
    assert figures["shrinkage_tangential_percent"]["source"] == "The Wood Database species pages"
    assert all(key.endswith(("_percent", "_per_m3", "_mpa", "_gpa", "_n")) for key in figures)
    _, out, _ = told(capsys, "moisture", "--temperature", "68F", "--humidity", "50 %", "--json")
    air = json.loads(out)
    assert air["temperature_c"] == pytest.approx(20.0)
    assert air["moisture_percent"] == pytest.approx(9.27, abs=0.01)
    words = ("--width", "300mm", "--from", "6", "--to", "10 %", "--json")
    _, out, _ = told(capsys, "movement", "white", "oak", *words)
    moved = json.loads(out)
    assert (moved["change_mm"], moved["change_in"]) == (pytest.approx(4.38), pytest.approx(4.38 / 25.4, abs=1e-6))
    assert (moved["by"]["equation"], moved["by"]["source_code"]) == ("13-2", "WH190-13-5")


def test_movement_takes_airs_and_climates_and_each_way_to_cut(capsys: pytest.CaptureFixture[str]) -> None:
    ends = ("--from", "20C 35%", "--to", "heated house, temperate: summer", "--width", "12 in", "--json")
    changes = {}
    for cut in ("flat", "30", "between", "quarter"):
        status, out, _ = told(capsys, "movement", "white oak", *ends, "--cut", cut)
        assert status == 0
        changes[cut] = json.loads(out)["change_in"]
    step = 12.0 * (12.0 - wood.moisture_content(20.0, 35.0))
    assert changes["flat"] == pytest.approx(step * 0.00365, abs=1e-6)
    assert changes["quarter"] == pytest.approx(step * 0.0018, abs=1e-6)
    assert changes["between"] == pytest.approx((changes["flat"] + changes["quarter"]) / 2.0, abs=1e-6)
    assert changes["30"] == pytest.approx(0.75 * changes["flat"] + 0.25 * changes["quarter"], abs=1e-6)
    status, out, _ = told(capsys, "movement", "white oak", *ends[:-1], "--along")
    assert "White oak along its fibres, 304.8 mm (12.000 in), grows by 0.08 mm (0.003 in)" in out


def test_a_wood_of_the_shop_file_is_found_and_its_figures_go_first(
    capsys: pytest.CaptureFixture[str], shop: str
) -> None:
    status, out, _ = told(capsys, "wood", "Bog-Oak", "--shop", shop)
    assert status == 0
    assert "[shop file: my own shelf, measured 2026; as the shop file says]" in out
    ends = ("--width", "100mm", "--from", "8", "--to", "12", "--json", "--shop", shop)
    _, out, _ = told(capsys, "movement", "bog oak", *ends)
    assert json.loads(out)["change_mm"] == pytest.approx(400 * 9.0 / (3000 - 20 * 9.0), abs=1e-5)
    _, out, _ = told(capsys, "movement", "holly", *ends)
    moved = json.loads(out)
    assert (moved["change_mm"], moved["by"]["status"]) == (pytest.approx(1.6), "as the shop file says")
    _, _, err = told(capsys, "wood", "bogoakk", "--shop", shop)
    assert "bog oak is in the shop file" in err


@pytest.mark.parametrize(
    "words, what",
    [
        (("moisture", "--temperature", "20C", "--humidity", "130 %"), "air cannot have 130 % of humidity"),
        (("moisture", "--temperature", "20", "--humidity", "50"), '"20" is not a temperature'),
        (("moisture", "--temperature", "400F", "--humidity", "50"), '"400F" is no temperature that furniture'),
        (("moisture",), "temperature and humidity of the air are not given"),
        (
            ("movement", "oak", "white", "--width", "9in", "--from", "8", "--to", "45"),
            "wood at 45 % of moisture is wet",
        ),
        (("movement", "holly", "--width", "9in", "--from=-3", "--to", "8"), "wood cannot have -3 % of moisture"),
        (("movement", "holly", "--width=-9in", "--from", "8", "--to", "9"), '"-9in" is less than nothing'),
        (("movement", "holly", "--width", "0mm", "--from", "8", "--to", "9"), "a width of nothing has no change"),
        (("movement", "holly", "--width", "9in", "--from", "8", "--to", "9", "--cut", "120"), '"120" is no way to cut'),
        (("movement", "holly", "--width", "9in", "--from", "8", "--to", "moon: winter"), 'there is no climate "moon"'),
        (("movement", "holly", "--width", "9in", "--from", "8", "--to", "dry"), '"dry" says nothing of the air'),
        (
            ("movement", "Macassar ebony", "--width", "9in", "--from", "8", "--to", "9"),
            "no figure of how Macassar ebony",
        ),
    ],
)
def test_what_is_absurd_is_one_fault(capsys: pytest.CaptureFixture[str], words: tuple[str, ...], what: str) -> None:
    status, out, err = told(capsys, *words)
    assert (status, out) == (2, "")
    assert err.startswith(what)
    assert err.count("where:") == err.count("mend:") == 1


def test_climates_are_told_with_their_source(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = told(capsys, "moisture", "--climates", "--json")
    climates = json.loads(out)["climates"]
    assert status == 0
    assert len(climates) >= 6
    for one in climates:
        assert one["source"] != one["source_code"], "a code without its publication"
        assert one["status"]
        assert all(2.0 <= one[season]["moisture_percent"] <= 20.0 for season in ("winter", "summer"))
