"""What a board stands on is read strictly, what tips it is found, and what is said of it bears figures and advice."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
import shapely

from purfle.carrying import carry
from purfle.carrying.told import nearer_to_the_edge
from purfle.files.job_carrying import carrying_of
from purfle.files.report import report_bytes
from purfle.files.toml_table import read_toml
from purfle.model.board import Fitting, Layout
from purfle.model.carrying import CarryWish
from purfle.sheets import carrying
from purfle.sheets.style import Style
from sample import bare_result

TABLE = bare_result(1000.0, 600.0)
BARE = replace(TABLE.layout, inlays=())
SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text(encoding="utf-8"))


def read(text: str) -> tuple[CarryWish | None, list[str]]:
    top = read_toml(f'[job]\nunits = "mm"\n[carrying]\n{text}'.encode(), "job.toml")
    top.source.unit = "mm"
    return carrying_of(top), [f"{one.what} | {one.mend}" for one in top.source.faults]


def test_weights_and_places_are_read_in_any_unit() -> None:
    wish, faults = read('supports = ["330 mm", "3 in"]\nspread = "44 lb"\nmiddle = 5\nleaning = "60,5 kg"')
    assert faults == []
    assert wish is not None
    assert wish.supports == pytest.approx((76.2, 330.0))
    assert (wish.spread, wish.middle, wish.leaning) == (pytest.approx(44 * 0.45359237), 5.0, 60.5)
    feet, faults = read('feet = [["60 mm", 60], [360, 60], [210, 200]]')
    assert feet is not None
    assert feet.feet == ((60.0, 60.0), (360.0, 60.0), (210.0, 200.0))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('supports = ["90 mm"]', "supports has to be a list of distances | Write two or more"),
        ("feet = [[60, 60], [360, 60]]", "feet has to be a list of places | Write three or more"),
        ('supports = [1, 2]\nleaning = "heavy"', 'leaning cannot be "heavy" | Write a weight'),
        ("supports = [1, 2]\nspread = -5", 'spread cannot be "-5" | Write a weight'),
        ("supports = [1, 2]\nfeet = [[1, 1], [2, 2], [3, 1]]", "supports and feet both say | Keep one"),
        ('supports = [1, 2]\nalong = "C"', 'along cannot be "C" | Use A or B'),
        ("suports = [1, 2]", "suports is not known here | Use supports"),
    ],
)
def test_what_cannot_be_is_told_with_what_to_write(text: str, what: str) -> None:
    _, faults = read(text)
    (fault,) = faults
    assert all(part in fault for part in what.split(" | "))


@pytest.mark.parametrize(
    ("wish", "what"),
    [
        (CarryWish(), "it is not said what the board stands on"),
        (CarryWish(supports=(100.0, 1200.0)), "a support at 1200.0 mm lies beyond the board"),
        (CarryWish(feet=((1.0, 1.0), (999.0, 1.0), (500.0, 700.0))), "a foot at 500.0 mm and 700.0 mm lies beyond"),
        (CarryWish(feet=((1.0, 1.0), (500.0, 1.0), (999.0, 1.0))), "lies on one line"),
        (CarryWish(supports=(10.0, 400.0)), "the board falls over by itself"),
    ],
)
def test_what_holds_no_board_is_a_finding(wish: CarryWish, what: str) -> None:
    found, (finding,) = carry(BARE, wish)
    assert found is None
    assert what in finding.what
    assert (finding.severity, finding.stage) == ("look", "carrying")
    assert finding.mend


def test_without_a_word_and_without_foot_plates_nothing_is_said() -> None:
    assert carry(BARE, None) == (None, ())


def with_plates(layout: Layout) -> Layout:
    places = ((80.0, 80.0), (920.0, 80.0), (920.0, 520.0), (80.0, 520.0))
    plates = tuple(
        Fitting(n, "foot plate", f"foot {n}", "underside", shapely.Point(at).buffer(25.0), at, (50.0, 50.0), 3.0)
        for n, at in enumerate(places, 1)
    )
    return replace(layout, fittings=plates)


def test_foot_plates_among_the_fittings_are_what_it_stands_on() -> None:
    found, findings = carry(with_plates(BARE), None)
    assert found is not None
    assert (found.axis, found.supports) == ("A", (80.0, 920.0))
    assert found.leaning_is_assumed
    assert any("tips when" in one.what for one in findings)


def test_the_least_weight_that_tips_is_that_of_moments_about_the_nearest_line() -> None:
    """A table of weight W on lines 100 mm in from its ends, leant on at an end: P 100 = W 400, by hand."""
    found, findings = carry(BARE, CarryWish(supports=(100.0, 900.0), leaning=10.0))
    assert found is not None
    assert found.tipping.weight == pytest.approx(found.weight * 4.0)
    assert found.tipping.place[0] in (0.0, 1000.0)
    (tips,) = [one for one in findings if "tips" in one.what]
    assert (tips.severity, tips.mend[:7]) == ("note", "nothing")
    _, findings = carry(BARE, CarryWish(supports=(100.0, 900.0), leaning=100.0))
    (tips,) = [one for one in findings if "tips" in one.what]
    assert tips.severity == "look"
    assert "100 kg (220 lb)" in tips.what


def test_a_sag_that_is_seen_says_how_thick_the_board_has_to_be() -> None:
    """The board of that thickness, under the same load, is within what is seen."""
    shelf = bare_result(1800.0, 300.0)
    bare = replace(shelf.layout, inlays=())
    wish = CarryWish(supports=(0.0, 1800.0), spread=60.0)
    _, findings = carry(bare, wish)
    (sag,) = [one for one in findings if "will be seen" in one.what]
    thick = float(sag.mend.split()[2])
    found, findings = carry(replace(bare, board=replace(bare.board, thickness=thick)), wish)
    assert found is not None
    assert found.after_years == pytest.approx(1800.0 / 300.0, rel=0.005)


def test_deep_recesses_in_the_middle_are_told_with_what_they_take() -> None:
    (inlay,) = TABLE.layout.inlays
    deep = replace(TABLE.layout, inlays=(replace(inlay, depth=16.0),))
    found, findings = carry(deep, CarryWish(supports=(0.0, 1000.0), middle=40.0))
    assert found is not None
    (lost,) = [one for one in findings if "recesses take" in one.what]
    assert f"{found.strength_lost:.0%}".replace("%", " %") in lost.what
    assert found.solid < found.sag


def test_a_wood_without_figures_is_said_and_not_guessed() -> None:
    unknown = replace(BARE, board=replace(BARE.board, wood="apple"))
    found, (finding,) = carry(unknown, CarryWish(supports=(100.0, 900.0)))
    assert found is None
    assert "apple" in finding.what


@pytest.mark.parametrize(("unit", "paper"), [("mm", "a4"), ("inch", "letter")])
def test_the_page_and_the_report_hold_the_figures(unit: str, paper: str) -> None:
    found, findings = carry(with_plates(TABLE.layout), CarryWish(leaning=30.0))
    result = replace(TABLE, carrying=found, findings=findings)
    (page,) = carrying.data(result, Style(unit, paper))  # type: ignore[arg-type]
    assert found is not None
    words = "30 kg" if unit == "mm" else "66 lb"
    assert words in str(page["side"])
    assert len(page["table"]["rows"]) == 6
    entry = json.loads(report_bytes(result, {}))
    jsonschema.Draft202012Validator(SCHEMA).validate(entry)
    assert entry["carrying"]["tips_at_kg"] == pytest.approx(found.tipping.weight, abs=1e-6)
    assert carrying.data(TABLE, Style("mm", "a4")) == []


@pytest.mark.parametrize("leaning", [30.0, 100.0])
def test_supports_as_much_nearer_to_the_edge_as_is_told_do_not_tip(leaning: float) -> None:
    """Law: moved out by what is told, both supports hold just what leans on the board."""
    found, findings = carry(BARE, CarryWish(supports=(300.0, 700.0), leaning=leaning))
    assert found is not None
    (tips,) = [one for one in findings if "tips" in one.what]
    nearer = nearer_to_the_edge(found)
    assert f"{nearer:.0f} mm nearer to that edge" in tips.mend
    moved, _ = carry(BARE, CarryWish(supports=(300.0 - nearer, 700.0 + nearer), leaning=leaning))
    assert moved is not None
    assert moved.tipping.weight == pytest.approx(leaning, rel=1e-6)
