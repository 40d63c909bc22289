"""A job whose parts stand on tabs, from the job file to the dry fit, in both units, and what its proof catches."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from made_by_hand import Files, Made, job_folder, small_shop, what_is_found
from purfle import job as flow
from purfle.errors import JobFileError
from purfle.sheets import chisel, cutting_cards, offcuts
from purfle.sheets.style import Style

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text())
SHOP = (
    small_shop()
    + """[[offcut]]
name = "holly"
wood = "holly"
outline = "140 x 70 mm"
thickness = 3.6
[[offcut]]
name = "padauk"
wood = "padauk"
outline = "120 x 60 mm"
thickness = 3.6
"""
)
JOB = """
[job]
name = "Plate and dot"
units = "UNITS"
[board]
wood = "black walnut"
length = "160 mm"
width = "90 mm"
thickness = "19 mm"
[cutting]
holding = "tabs"
RULE
[fit]
cutter = "1/8 in straight"
seam = "0.1 mm"
proud = "0.4 mm"
glue_room = "0.15 mm"
[[shape]]
kind = "oval"
length = "60 mm"
width = "40 mm"
wood = "holly"
depth = "3 mm"
from_left = "60 mm"
from_front = "45 mm"
[[shape]]
kind = "disc"
diameter = "7 mm"
wood = "padauk"
depth = "3 mm"
from_left = "125 mm"
from_front = "45 mm"
"""


def text_of(rule: str = "", units: str = "mm") -> str:
    return JOB.replace("UNITS", units).replace("RULE", rule)


@pytest.fixture(scope="module", params=["mm", "inch"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("tabs")
    return flow.make(job_folder(folder, text_of(units=request.param), SHOP))


def in_mm(made: Made) -> None:
    if made[0].job.unit != "mm":
        pytest.skip("the same in both units")


def card_of(files: Files) -> dict[str, Any]:
    return json.loads(files["assembly.json"])


def with_card(files: Files, change: Callable[[dict[str, Any]], object]) -> Files:
    card = card_of(files)
    change(card)
    return files | {"assembly.json": json.dumps(card).encode()}


def holly(card: dict[str, Any]) -> dict[str, Any]:
    return next(one for one in card["set_ups"] if one["stock"] == "holly")


def tabs(card: dict[str, Any]) -> list[dict[str, float]]:
    return holly(card)["lines"][0]["tabs"]


def test_it_is_proven_and_every_file_says_what_holds_the_parts(made: Made) -> None:
    """The oval stands on three tabs; the disc of 7 mm has no room for two, stays on tape, and its card says so."""
    result, files = made
    assert result.proof is not None
    assert result.proof.proven
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    assert report["inputs"]["cutting"]["holding"] == "tabs"
    assert [one["tabs"] for one in report["cutting"]["set_ups"]] == [0, 3, 0]
    card = card_of(files)
    assert [tab["height"] for tab in tabs(card)] == [0.8, 0.8, 0.8]
    assert [one["skin"] for one in card["set_ups"]] == [0.0, 0.8, 0.3]
    programs = {
        one["stock"]: files[one["programs"][0]["file"]].decode().replace(")\n(", " ") for one in card["set_ups"]
    }
    assert "tabs hold then" in programs["holly"]
    assert "tape alone holds then" in programs["padauk"]


def test_sheets_show_the_tabs_and_how_they_are_cut(made: Made) -> None:
    """Cards say what holds, sheet 4 what the bars are, sheet 6 every tab with its place, foot and height."""
    result, _ = made
    style = Style(result.job.unit, "a4")
    cards = {page["lies"]: str(page) for page in cutting_cards.data(result, style)}
    assert "which hold the pieces until they are cut by hand" in cards["On the bench: holly"]
    assert "Clamps or tape along the edges" in cards["On the bench: holly"]
    assert "black: tabs" in cards["On the bench: holly"]
    assert "from there on tape alone holds" in cards["On the bench: padauk"]
    assert "black bars: tabs" in str(offcuts.data(result, style))
    (page,) = chisel.data(result, style)
    assert (page["title"], page["sub"]) == ("Cut free and pare", "holly")
    rows = page["table"]["rows"]
    assert len(rows) == 3
    # pieces have their numbers in rings, as on sheets 4 and 5; those of tabs stand outside of the pieces, without
    words = [text["t"] for text in page["drawing"]["texts"]]
    assert sorted(words) == sorted([*{str(row[1]) for row in rows}, "1", "2", "3"])
    placed = next(place for place in result.on_offcuts.places if place.offcut == "holly")
    for row, tab in zip(rows, placed.tabs, strict=True):
        assert row[2]["big"] == style.rule(tab.place[0])
        assert row[5]["big"] == style.depth(0.8)


def lowered(files: Files) -> Files:
    """The cutter goes through the first tab instead of over it: every place level with its top is sunk to the depth."""
    name = holly(card_of(files))["programs"][0]["file"]
    head, last = files[name].decode().split("(Pass 3:")
    return files | {name: f"{head}(Pass 3:{last.replace('Z-2.8', 'Z-3.9')}".encode()}


DAMAGES: list[tuple[str, Callable[[Files], Files], str]] = [
    ("a tab left off the card", lambda f: with_card(f, lambda c: tabs(c).pop()), "is not free"),
    ("a tab cut through", lowered, "no tab 3.00 mm wide and 0.80 mm high stands here: the part comes loose"),
    ("a tab a millimetre aside", lambda f: with_card(f, lambda c: moved(tabs(c)[0], 1.0)), "tab"),
    ("a tab said to be wider", lambda f: with_card(f, lambda c: tabs(c)[1].update(width=3.2)), "no tab 3.20 mm wide"),
    ("a foot said to be shorter", lambda f: with_card(f, lambda c: tabs(c)[1].update(length=5.0)), "off its outline"),
    ("a tab said to be higher", lambda f: with_card(f, lambda c: tabs(c)[2].update(height=1.2)), "1.20 mm high"),
    ("all tabs said to be lower", lambda f: with_card(f, lambda c: all_low(c)), "is not free"),
    ("one tab said to be lower", lambda f: with_card(f, lambda c: tabs(c)[2].update(height=0.5)), "higher than 0.50"),
    ("a tab off the wall", lambda f: with_card(f, lambda c: moved(tabs(c)[0], 9.0)), "off the wall"),
]


def moved(tab: dict[str, float], by: float) -> None:
    tab["x"] += by
    tab["y"] += by


def all_low(card: dict[str, Any]) -> None:
    for tab in tabs(card):
        tab["height"] = 0.5


@pytest.mark.parametrize(("damage", "said"), [one[1:] for one in DAMAGES], ids=[one[0] for one in DAMAGES])
def test_what_is_not_as_the_card_says_is_caught(made: Made, damage: Callable[[Files], Files], said: str) -> None:
    """Tabs cut through, left out, moved, or of another size than listed do not pass, and the place is named."""
    in_mm(made)
    stops, refused = what_is_found(damage(made[1]))
    assert not refused
    assert any(said in what for what, _, _ in stops), stops
    assert any("holly" in where and "piece-1" in where for _, where, _ in stops)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda c: tabs(c)[0].update(height=3.6), "is no lower than the stock"),
        (lambda c: tabs(c)[0].update(length=2.0), "narrowest at its middle"),
        (lambda c: tabs(c)[0].pop("outwards"), "outwards"),
        (lambda c: c["set_ups"][0]["lines"][0].update(tabs=tabs(c)), "a recess has no tabs"),
    ],
)
def test_a_card_that_cannot_be_is_refused(made: Made, change: Callable[[dict[str, Any]], object], said: str) -> None:
    """Tabs as high as the wood, broader above than at their foot, without a direction, or in a recess."""
    in_mm(made)
    _, refused = what_is_found(with_card(made[1], change))
    assert any(said in what for what, _, _ in refused), refused


@pytest.mark.parametrize(
    ("rule", "line", "said"),
    [
        ("tabs = 2.5", "tabs", "tabs has to be a whole number"),
        ("tabs = 1", "tabs", "tabs cannot be 1"),
        ('tab_height = "30 mm"', "tab_height", "tab_height"),
        ("skin = 5", "skin", "skin"),
    ],
)
def test_what_cannot_be_asked_for_is_refused(tmp_path: Path, rule: str, line: str, said: str) -> None:
    """Half a tab, one tab alone, tabs and skins as thick as boards: with the line of the job file."""
    with pytest.raises(JobFileError) as refused:
        flow.make(job_folder(tmp_path, text_of(rule), SHOP))
    (fault,) = refused.value.faults
    assert said in fault.what
    assert re.search(rf"line \d+, cutting.{line}", fault.where)


def test_tabs_are_asked_for_in_one_place(tmp_path: Path) -> None:
    """A size of tabs says nothing where parts lie on tape, nor any of it where no program is run."""
    for text, mend in (
        (text_of("tab_width = 4").replace('holding = "tabs"', 'holding = "tape"'), 'Add holding = "tabs"'),
        (text_of('way = "guided router"'), "Take holding out."),
    ):
        with pytest.raises(JobFileError) as refused:
            flow.make(job_folder(tmp_path, text, SHOP))
        assert mend in refused.value.faults[0].mend


def roughed_through(files: Files) -> Files:
    """Roughing round the disc goes as deep as its last pass; what that pass says of its own way stays."""
    name = next(one for one in card_of(files)["set_ups"] if one["stock"] == "padauk")["programs"][0]["file"]
    head, tail = files[name].decode().split("(Pass 4:")
    return files | {name: f"{head.replace('Z-3.3', 'Z-3.9')}(Pass 4:{tail}".encode()}


def thicker_skin(files: Files) -> Files:
    return with_card(files, lambda c: c["set_ups"][2].update(skin=0.8))


@pytest.mark.parametrize("damage", [roughed_through, thicker_skin])
def test_roughing_that_goes_through_the_skin_is_caught(made: Made, damage: Callable[[Files], Files]) -> None:
    """No wood of the part changes by it, but it would lie loose before its last pass: that is told, with the line."""
    in_mm(made)
    stops, refused = what_is_found(damage(made[1]))
    assert not refused
    assert any("below its skin" in what and "padauk" in where for what, where, _ in stops), stops


def test_parts_on_tabs_are_laid_out_so_that_their_tabs_lead_somewhere(tmp_path: Path) -> None:
    """Two strips on one offcut lie two grooves and 2 mm apart, not the usual 5 mm, and each has its tabs."""
    strip = '\n[[shape]]\nkind = "rectangle"\nlength = "60 mm"\nwidth = "6 mm"\nwood = "holly"\ndepth = "3 mm"\n'
    strips = "".join(f'{strip}from_left = "60 mm"\nfrom_front = "{y} mm"\n' for y in (30, 60))
    text = text_of()
    text = text[: text.index("[[shape]]")] + strips
    result, _ = flow.make(job_folder(tmp_path, text, SHOP))
    one, other = result.on_offcuts.places
    assert one.region.distance(other.region) >= 2 * 25.4 / 8 + 2.0 - 0.01
    assert len(one.tabs) == len(other.tabs) == 3
    assert result.proof is not None
    assert result.proof.proven


def test_the_card_tells_which_of_several_spares_tape_alone_holds(tmp_path: Path) -> None:
    """Where none of a piece's spares stands on tabs its number says enough; where some do, their places tell them."""
    result, _ = flow.make(job_folder(tmp_path, text_of("copies = 3"), SHOP.replace("140 x 70", "280 x 120")))
    style = Style("mm", "a4")
    set_up = next(one for one in result.cutting.set_ups if one.stock == "holly")
    bare = replace(set_up, lines=tuple(replace(line, tabs=()) for line in set_up.lines))
    names = cutting_cards.on_tape_alone(result, bare, style)
    assert names == ["1", "1s"]
    first, *spares = set_up.lines
    some = replace(set_up, lines=(first, replace(spares[0], tabs=()), *spares[1:]))
    (name,) = cutting_cards.on_tape_alone(result, some, style)
    assert re.fullmatch(r"1s \(at [\d.]+, [\d.]+\)", name)
