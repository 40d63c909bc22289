"""Jobs whose parts are cut into a block and sawn off it, in both units, and parts that are cut several times."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from made_by_hand import Files, Made, job_folder, small_shop, what_is_found
from purfle import job as flow
from purfle.errors import JobFileError
from purfle.model.job import JobResult
from purfle.sheets import chisel, cutting_cards, glue_up, offcuts, piece
from purfle.sheets.pattern_labels import NUMBER, label_drawings
from purfle.sheets.style import Style

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text())
SHOP = (
    small_shop(edges=18)
    + """[[saw]]
name = "fret saw"
groove = 0.35
[[offcut]]
name = "holly block"
wood = "holly"
outline = "140 x 70 mm"
thickness = 20
"""
)
JOB = """
[job]
name = "Plate"
units = "UNITS"
[board]
wood = "black walnut"
length = "160 mm"
width = "90 mm"
thickness = "19 mm"
[cutting]
RULE
[fit]
cutter = "1/8 in straight"
seam = "0.1 mm"
proud = "0.4 mm"
glue_room = "0.15 mm"
[[shape]]
kind = "oval"
length = "40 mm"
width = "25 mm"
wood = "holly"
depth = "3 mm"
from_left = "60 mm"
from_front = "45 mm"
"""
SAWN = 'holding = "sawn free"\ncopies = 3'
LEVELS = [3.75, 8.35, 12.95]
"""An insert is 3 - 0.15 + 0.4 = 3.25 thick. With 0.5 of planing: 3.75; each next one 0.35 + 0.5 + 3.25 + 0.5 deeper."""


def text_of(rule: str = SAWN, units: str = "mm") -> str:
    return JOB.replace("UNITS", units).replace("RULE", rule)


def made_of(folder: Path, rule: str = SAWN, shop: str = SHOP) -> Made:
    return flow.make(job_folder(folder, text_of(rule), shop))


@pytest.fixture(scope="module", params=["mm", "inch"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("sawn")
    return flow.make(job_folder(folder, text_of(units=request.param), SHOP))


def _labels(result: JobResult, style: Style) -> list[str]:
    """The large numbers on the labels."""
    drawn = [text for page in label_drawings(result, style, 200.0) for text in page.data()["texts"]]
    return [text["t"] for text in drawn if text["size"] == NUMBER]


def card_of(files: Files) -> dict[str, Any]:
    return json.loads(files["assembly.json"])


def block_of(card: dict[str, Any]) -> dict[str, Any]:
    return next(one for one in card["set_ups"] if one["stock"] == "holly block")


def test_three_slices_come_off_one_block_at_the_levels_of_the_closed_form(made: Made) -> None:
    """Levels, depth and thickness as worked out by hand; nothing goes through, and the dry fit passes."""
    result, files = made
    assert result.proof is not None
    assert result.proof.proven
    block = block_of(card_of(files))
    assert block["sawing"]["levels"] == pytest.approx(LEVELS)
    assert block["lines"][0]["depth"] == pytest.approx(12.95 + 0.35)
    assert (block["cut_through"], block["skin"]) == (0.0, 0.0)
    assert block["sawing"]["thickness"] == pytest.approx(3.25)
    assert max(block["programs"][0]["depths"]) == pytest.approx(13.3)
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    (entry,) = [one for one in report["cutting"]["set_ups"] if one["stock"] == "holly block"]
    assert entry["sawing"]["saw"] == "fret saw"
    assert not any(one.stage == "cutting" and "tape" in one.what for one in result.findings)


def test_sheets_say_where_to_saw_and_how_to_stay_safe(made: Made) -> None:
    """The card names the depth and the levels, sheet 4 the slices, sheet 6 each slice and the caution."""
    result, _ = made
    style = Style(result.job.unit, "a4")
    (card,) = [page for page in cutting_cards.data(result, style) if "holly block" in page["lies"]]
    assert all(style.depth(level) in str(card["facts"]) for level in [*LEVELS, 13.3])
    assert "deep and not through" in str(card["facts"])
    assert "off the clamps" in str(card["caution"])
    assert "3 of each, sawn off in slices" in str(offcuts.data(result, style))
    (page,) = chisel.data(result, style)
    assert page["title"] == "Saw free and plane"
    rows = page["table"]["rows"]
    assert [row[1]["big"] for row in rows] == [style.depth(level) for level in LEVELS]
    # the block's face is planed before each next slice, so that each comes off with one sawn face
    assert [row[2] for row in rows] == 3 * [style.depth(3.75)]
    assert all(row[3] == "its lower face" for row in rows)
    assert "tape that over before you saw on" in str(page["lead"])
    assert page["scale"].endswith("2.5 : 1")
    assert "Never hold small pieces by hand at a table saw" in str(page["caution"])
    # two more of each piece come out of the block, each with its label
    assert "holly block, and 2 spares" in str(piece.data(result, style))
    assert [str(label) for label in _labels(result, style)] == ["1", "1s", "1s"]
    # it stands proud by what was asked for, since it is planed to its thickness
    assert style.proud(0.4) in str(glue_up.data(result, style))


def test_as_many_slices_as_cutter_and_block_allow(tmp_path: Path) -> None:
    """Edges of 12 mm reach 8.7, not 13.3: two slices, and that is told. A block of 9 mm gives one."""
    result, files = made_of(tmp_path, shop=SHOP.replace("cutting_length = 18", "cutting_length = 12"))
    assert block_of(card_of(files))["sawing"]["levels"] == pytest.approx(LEVELS[:2])
    (found,) = [one for one in result.findings if "slices" in one.what]
    assert found.severity == "look"
    assert found.what == "2 of 3 slices come off this block: one more is cut 13.3 mm deep"
    assert found.mend == "take a longer cutter, or fewer copies"
    result, files = made_of(tmp_path, shop=SHOP.replace("thickness = 20", "thickness = 9"))
    assert block_of(card_of(files))["sawing"]["levels"] == pytest.approx(LEVELS[:1])
    assert [one.mend for one in result.findings if "slices" in one.what] == [
        "take a block 11.7 mm thick, or fewer copies"
    ]


def test_a_cutter_too_short_for_one_slice_is_told_as_that_alone(tmp_path: Path) -> None:
    """One slice takes 4.1 mm: with edges of 3 mm none comes off, and to let in less deep is no way out of it."""
    result, _ = made_of(tmp_path, shop=SHOP.replace("cutting_length = 18", "cutting_length = 3"))
    assert not any("slices" in one.what for one in result.findings)
    (stop,) = [one for one in result.findings if one.severity == "stop" and "the deepest pass needs" in one.what]
    assert stop.mend == "use a cutter with longer edges"


def test_an_offcut_too_thick_for_the_cutter_is_to_be_planed(tmp_path: Path) -> None:
    """A block of 20 mm on tape, edges of 12 mm: 0.5 mm of them goes into the sacrificial board."""
    result, _ = made_of(tmp_path, "", SHOP.replace("cutting_length = 18", "cutting_length = 12"))
    (stop,) = [one for one in result.findings if one.severity == "stop" and "the deepest pass needs" in one.what]
    assert stop.mend == "use a cutter with longer edges, or plane holly block to 11.7 mm at most"


def test_a_block_too_thin_is_not_used(tmp_path: Path) -> None:
    """3.25 of insert, 0.5 of planing, 0.35 of groove and 3 left below want 7.1 mm of wood."""
    result, _ = made_of(tmp_path, shop=SHOP.replace("thickness = 20", "thickness = 7"))
    assert len(result.on_offcuts.unplaced) == 1
    assert result.on_offcuts.unplaced[0].thickness == pytest.approx(7.1)
    assert any(one.severity == "stop" and "7.1 mm thick" in one.what for one in result.findings)


def test_without_a_saw_in_the_shop_a_usual_groove_counts(tmp_path: Path) -> None:
    """A millimetre: common practice, no source."""
    shop = SHOP.replace('[[saw]]\nname = "fret saw"\ngroove = 0.35\n', "")
    _, files = made_of(tmp_path, 'holding = "sawn free"', shop)
    sawing = block_of(card_of(files))["sawing"]
    assert (sawing["groove"], sawing["levels"]) == (1.0, [3.75])


def sawing_with(**changes: object) -> Callable[[Files], Files]:
    def damage(files: Files) -> Files:
        card = card_of(files)
        block_of(card)["sawing"].update(changes)
        return files | {"assembly.json": json.dumps(card).encode()}

    return damage


def deeper(files: Files) -> Files:
    return _by_depth(files, "Z-13.5")


def shallower(files: Files) -> Files:
    return _by_depth(files, "Z-13.1")


def _by_depth(files: Files, depth: str) -> Files:
    name = block_of(card_of(files))["programs"][0]["file"]
    return files | {name: files[name].replace(b"Z-13.3", depth.encode())}


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (sawing_with(levels=[3.75, 8.35, 12.85]), "slice 3 is 3.15 mm thick when planed, not 3.25 mm"),
        (sawing_with(levels=[3.65, 8.35, 12.95]), "slice 1 is 3.15 mm thick when planed"),
        (sawing_with(groove=0.5), "slice 2 is 3.10 mm thick when planed"),
        (sawing_with(thickness=3.0), "slice 1 is 3.25 mm thick when planed, not 3.00 mm"),
        (sawing_with(levels=[]), "the saw has no level"),
        (sawing_with(levels=[3.75]), "is cut 13.3 mm deep out of 4.1 mm of wood"),
        (deeper, "13.50 mm deep"),
        (shallower, "13.10 mm deep"),
    ],
)
def test_levels_and_depths_that_do_not_agree_are_caught(
    made: Made, damage: Callable[[Files], Files], said: str
) -> None:
    """A slice sawn too thin, a groove too wide, a cut that does not reach the saw or goes below it."""
    if made[0].job.unit != "mm":
        pytest.skip("the same in both units")
    stops, refused = what_is_found(damage(made[1]))
    assert any(said in what for what, _, _ in [*stops, *refused]), (stops, refused)


@pytest.mark.parametrize(
    ("rule", "where", "said"),
    [
        ('holding = "sawn free"\nsaw = "no such"', "cutting.saw", "the shop has no saw named no such"),
        ('planing = "1 mm"', "cutting.planing", "planing says nothing where parts are held by tape"),
        ("copies = 1.5", "cutting.copies", "copies has to be a whole number"),
    ],
)
def test_what_cannot_be_asked_for_is_refused(tmp_path: Path, rule: str, where: str, said: str) -> None:
    """A saw that is not in the shop, planing of what is not sawn, half a copy."""
    with pytest.raises(JobFileError) as refused:
        made_of(tmp_path, rule)
    (fault,) = refused.value.faults
    assert where in fault.where
    assert said in fault.what


def test_a_saw_that_the_shop_has_none_of_is_to_be_added(tmp_path: Path) -> None:
    """There is none to name instead."""
    shop = SHOP.replace('[[saw]]\nname = "fret saw"\ngroove = 0.35\n', "")
    with pytest.raises(JobFileError) as refused:
        made_of(tmp_path, 'holding = "sawn free"\nsaw = "band saw"', shop)
    assert 'add a [[saw]] to shop.toml with name = "band saw"' in refused.value.faults[0].mend


def test_the_sheet_says_that_a_groove_is_taken_where_the_shop_names_no_saw(tmp_path: Path) -> None:
    """The levels of all slices but the first hang on it."""
    shop = SHOP.replace('[[saw]]\nname = "fret saw"\ngroove = 0.35\n', "")
    result, _ = made_of(tmp_path, 'holding = "sawn free"', shop)
    style = Style("mm", "a4")
    said = f"no saw in your shop file: {style.width(1.0)} taken, measure yours"
    assert said in str(chisel.data(result, style))
    told = [one for one in result.findings if "the shop names no saw" in one.what]
    assert {(one.severity, one.where) for one in told} == {
        ("note", s.title) for s in result.cutting.set_ups if s.sawing
    }
    assert all("a groove of 1.0 mm is taken" in one.what for one in told)


def test_tapered_walls_are_not_sawn_free(tmp_path: Path) -> None:
    """Their inserts stay on plates until they are glued in."""
    text = text_of('holding = "sawn free"').replace('seam = "0.1 mm"', 'seam = "0.1 mm"\nwalls = "tapered"')
    with pytest.raises(JobFileError) as refused:
        flow.make(job_folder(tmp_path, text, SHOP))
    assert any("they are not sawn free" in fault.what for fault in refused.value.faults)


def test_copies_of_taped_parts_are_spares_where_there_is_room(tmp_path: Path) -> None:
    """Three copies of an oval of 40 x 25 mm: the piece and two spares; of ten, as many as find room, and told."""
    shop = SHOP.replace("thickness = 20", "thickness = 3.6")
    result, files = made_of(tmp_path, "copies = 3", shop)
    assert result.proof is not None
    assert result.proof.proven
    ids = [line["id"] for line in block_of(card_of(files))["lines"]]
    assert ids == ["piece-1", "piece-1-spare", "piece-1-spare-2"]
    result, _ = made_of(tmp_path, "copies = 10", shop)
    assert 3 <= len(result.on_offcuts.places) < 10
    (found,) = [one for one in result.findings if "copies" in one.what]
    many = len(result.on_offcuts.places)
    assert (found.severity, found.what) == ("look", f"no room on the rack for all 10 copies of: 1 oval ({many})")
