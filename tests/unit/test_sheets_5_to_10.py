"""Cutting cards, chisel work, glue-up, finish, safety, patterns: what they say, and that patterns are at true size."""

import json
import re
from dataclasses import replace
from itertools import combinations
from typing import Any

import cv2
import numpy as np
import pypdfium2
import pytest
import shapely
from numpy.typing import NDArray

from purfle.cutting.checks import set_up_findings
from purfle.model.board import Board, Fitting
from purfle.model.findings import Finding
from purfle.model.job import JobResult, LengthUnit, Paper
from purfle.model.pieces import DrawnArea
from purfle.model.reckoning import FinishWish
from purfle.sheets import (
    book,
    chisel,
    cutting_cards,
    finish,
    glue_up,
    looks,
    offcuts,
    patterns,
    safety,
    show_face,
    underside,
)
from purfle.sheets.asked import smaller_words
from purfle.sheets.assembly_drawing import steps_of
from purfle.sheets.bench_drawing import BORDER
from purfle.sheets.chisel import remnants_of
from purfle.sheets.drawing import HAIR, HIDDEN, Drawing, dash_of
from purfle.sheets.features import drawn_size, long_and_short
from purfle.sheets.harm import dust_words, woods_of
from purfle.sheets.lettering import in_ranges
from purfle.sheets.levelling import stands_of
from purfle.sheets.parts import parts_of, planed_thickness, proud_as_cut, proud_if_planed, wood_and_offcut
from purfle.sheets.pattern_outlines import BREAK, Pattern, by_its_ends, patterns_of
from purfle.sheets.pattern_packing import packed
from purfle.sheets.pattern_tiles import BAND, OVERLAP, cross_name, grid_of, tile_drawings
from purfle.sheets.piece_lists import piece_lists
from purfle.sheets.programs import groups_of, lines_of
from purfle.sheets.rooms import AIR, MARK_POINTS, grown, mark_shape, text_box
from purfle.sheets.style import SIDE, TOP, Style
from purfle.wood import hazards_of
from purfle.wood.cautions import reaction_words, site_words
from sample import bare_result, inlay_of, of_parts, tern_result

MM = Style("mm", "a4")
INCH = Style("inch", "letter")
MODULES = (cutting_cards, chisel, glue_up, finish, safety, patterns)
DPI = 600


DRAWN: dict[tuple[str, int, Style], tuple[JobResult, list[dict[str, Any]]]] = {}
"""Pages drawn so far, by sheet, job and style; the job is held so that its id stays its own."""


def pages(module: Any, result: JobResult, style: Style = MM) -> list[dict[str, Any]]:
    """The pages of one sheet, drawn once."""
    key = (module.__name__, id(result), style)
    if key not in DRAWN:
        DRAWN[key] = (result, drawn(module, result, style))
    return DRAWN[key][1]


def drawn(module: Any, result: JobResult, style: Style = MM) -> list[dict[str, Any]]:
    """The pages of one sheet, as a list, drawn anew."""
    data = module.data(result, style)
    made = data if isinstance(data, list) else [data]
    if module in book.SPEAK_OF_THE_PROOF:
        return [module.with_proof(page, result.proof, style) for page in made]
    return made


def words(value: Any) -> str:
    """All words of a page in one text, runs joined as they are set."""
    if isinstance(value, str):
        return value
    if isinstance(value, dict):
        if set(value) <= {"b", "i", "big"}:
            return "".join(map(words, value.values()))
        return " ".join(words(v) for k, v in value.items() if k != "svg")
    if isinstance(value, list):
        is_runs = all(isinstance(v, str) or (isinstance(v, dict) and set(v) <= {"b", "i"}) for v in value)
        return ("" if is_runs else " ").join(map(words, value))
    return str(value)


def without_inlays() -> JobResult:
    """A board with two magnets and nothing else."""
    board = Board("white oak", 200.0, 120.0, 18.0)
    fittings = tuple(
        Fitting(n, "magnet", "magnet", "underside", shapely.Point(x, 20.0).buffer(5.0), (x, 20.0), (10.0, 10.0), 3.2)
        for n, x in ((1, 20.0), (2, 180.0))
    )
    return of_parts(board, (), fittings=fittings)


# --- cutting cards


def test_each_program_has_a_card_with_its_file_cutter_and_set_up() -> None:
    result = tern_result()
    cards = pages(cutting_cards, result)
    programs = [(s, p) for s in result.cutting.set_ups for p in s.programs]
    assert [card["file"] for card in cards] == [p.file for _, p in programs]
    for card, (set_up, program) in zip(cards, programs, strict=True):
        assert f"set-up {set_up.number} of {len(result.cutting.set_ups)}" in card["sub"]
        assert "Ø 3.175" in words(card["facts"])
        assert program.figures.chip_source in words(card["facts"])
        assert set_up.holding.rstrip(".") in words(card["facts"])


def test_a_card_lists_every_pass_with_depth_and_distance_of_the_cutters_middle() -> None:
    """Cutter middle to line is half the groove and the distance off the line."""
    result = tern_result()
    set_up = result.cutting.set_ups[0]
    [program] = set_up.programs
    [section] = cutting_cards.pass_table(result, set_up, program, MM)["sections"]
    assert section["title"] == ""
    assert [words(row[0]) for row in section["rows"]] == [str(p.number) for p in program.passes]
    assert [words(row[2]) for row in section["rows"]] == ["1.5", "3.0", "3.0"]
    assert [row[4] for row in section["rows"]] == ["1.69", "1.69", "1.59"]
    assert words(section["rows"][-1][1]) == "last pass, to the line"
    assert [row[5] for row in section["rows"]] == ["conventional", "conventional", "climb"]


def test_passes_of_several_depths_stand_in_groups_and_long_roughing_in_one_row() -> None:
    """Two groups of nine passes together: a head for each, roughing in one row with its count and step."""
    result = tern_result()
    set_up = result.cutting.set_ups[1]
    [program] = set_up.programs
    named = [replace(p, what=f"{p.what}: {name}") for name in ("hinges", "magnets") for p in program.passes]
    grouped = replace(program, passes=tuple(replace(p, number=n) for n, p in enumerate(named, 1)))
    sections = cutting_cards.pass_table(result, set_up, grouped, MM)["sections"]
    assert len(sections) == 2
    assert all("hinge" in words(s["title"]) for s in sections)
    first = [words(cell) for cell in sections[0]["rows"][0]]
    count = len(program.passes) - 1
    assert first[0] == f"1–{count}"
    assert f"{count} × " in first[1]
    assert [g.words for g in groups_of(set_up, grouped)] == ["hinges", "magnets"]


def test_a_program_is_known_by_the_lines_that_its_cutter_runs_along() -> None:
    result = tern_result()
    set_up = next(s for s in result.cutting.set_ups if len(s.lines) > 2)
    [program] = set_up.programs
    assert lines_of(set_up, program) == set_up.lines
    only = replace(program, passes=tuple(replace(p, trips=p.trips[:1]) for p in program.passes))
    assert lines_of(set_up, only) == set_up.lines[:1]


def test_the_card_says_proved_only_if_everything_was_proven() -> None:
    result = tern_result()
    assert result.proof is not None
    assert "read back and proved: seam 0.10" in words(pages(cutting_cards, result)[0]["proved"])
    stop = Finding("stop", "the seam is closed at the bill", "piece 13", "smaller cutter", "proof")
    failed = replace(result, proof=replace(result.proof, proven=False, findings=(stop,)))
    for bad, why in ((failed, "The seam is closed at the bill"), (replace(result, proof=None), "not read back")):
        for card in pages(cutting_cards, bad):
            assert words(card["proved"]) == "not proved"
            assert why in words(card["stop"])
            assert "o not cut" in words(card["stop"])


def test_the_caution_stands_on_every_card_in_the_makers_unit() -> None:
    assert all(
        "Run it in the air first: set the zero 20 mm above the wood for this run" in words(c["caution"])
        for c in pages(cutting_cards, tern_result())
    )
    inch = pages(cutting_cards, tern_result("inch", "letter"), INCH)
    assert all("set the zero 3/4 in above" in words(c["caution"]) for c in inch)
    assert "inside the pencil lines" in words(inch[0]["caution"])
    assert "Seen from below" in words(inch[1])


@pytest.mark.parametrize("style", [MM, INCH, Style("inch-decimal", "letter")])
def test_texts_of_the_cards_drawings_do_not_overlap(style: Style) -> None:
    """Texts with their own room, on both drawings of every card, and none off the paper."""
    for card in pages(cutting_cards, tern_result(style.unit, style.paper), style):
        for drawing in (card["bench"], card["section"]):
            boxes = [(t["t"], room_of(t)) for t in drawing["texts"]]
            for (one, a), (other, b) in combinations(boxes, 2):
                assert a.intersection(b).area < 0.3, (card["file"], one, other)
            paper = shapely.box(0, 0, drawing["width"], drawing["height"])
            assert [t for t, box in boxes if not paper.covers(box)] == []


def room_of(text: dict[str, Any]) -> shapely.Polygon:
    """What a text takes on the drawing, without the air around it."""
    box = text_box((0, 0), text["t"], text["size"], text["weight"], text.get("anchor", "c"))
    x0, y0, x1, y1 = grown(box, -AIR).bounds
    if text.get("turned"):
        x0, y0, x1, y1 = y0, x0, y1, x1
    return shapely.box(text["x"] + x0, text["y"] + y0, text["x"] + x1, text["y"] + y1)


# --- chisel, glue-up, finish, safety


def test_each_remnant_is_placed_by_the_sharp_corner_of_its_hinge() -> None:
    """The place is the corner of the wanted recess, measured from B and A on the show face's side."""
    result = tern_result()
    remnants = remnants_of(result)
    hinges = [f for f in result.layout.fittings if f.kind == "hinge"]
    corners = {(round(x, 2), round(-y, 2)) for f in hinges for x, y in f.wanted.exterior.coords}
    assert [r.number for r in remnants] == list(range(1, len(remnants) + 1))
    assert len(remnants) == 4
    assert all((round(r.at[0], 2), round(r.at[1], 2)) in corners for r in remnants)
    [page] = pages(chisel, result)
    assert {row[-2]["big"] for row in page["table"]["rows"]} == {"2.0"}
    assert {row[2]["big"] for row in page["table"]["rows"]} == {MM.rule(r.at[0]) for r in remnants}


def test_no_chisel_sheet_without_remnants() -> None:
    assert pages(chisel, bare_result(200.0, 120.0)) == []


def test_every_piece_goes_in_once_and_the_eye_after_the_cap_that_holds_it() -> None:
    steps = steps_of(tern_result())
    labels = [s.part.label for s in steps]
    assert sorted(labels) == sorted([*map(str, range(1, 15)), "k"])
    eye, cap = (next(s for s in steps if s.part.insert.name == name) for name in ("eye", "cap"))
    assert eye.host == cap.part.label
    assert labels.index(eye.part.label) == labels.index(cap.part.label) + 1
    areas = [s.part.insert.region.area for s in steps if not s.host and s.part.inlay.kind == "picture"]
    assert areas == sorted(areas, reverse=True)


def test_neighbours_are_mutual() -> None:
    steps = {s.part.label: s for s in steps_of(tern_result())}
    for label, step in steps.items():
        for other in step.against:
            assert other == "board" or label in steps[other].against


def test_the_glue_sheet_gives_times_seam_and_keys_and_says_what_is_from_memory() -> None:
    [page] = pages(glue_up, tern_result())
    said = words(page)
    assert "5 min" in said
    assert "all pressed within 12 min" in said
    assert "(from memory)" in said
    assert "60 min at 21 °C" in said
    assert "Oily: padauk" in said
    assert "common practice, no source" in said
    assert words(page["seams"]["rows"][0]).startswith("picture 0.10")
    assert "k: butterfly key, underside" in said
    inch = words(pages(glue_up, tern_result("inch", "letter"), INCH))
    assert "45 °F" in inch
    assert "°C" not in inch


def test_the_seam_read_back_is_left_out_where_nothing_was_read() -> None:
    [page] = pages(glue_up, replace(tern_result(), proof=None))
    assert all(row[3] == "–" for row in page["seams"]["rows"])


def test_many_pieces_have_a_drawing_as_wide_as_the_page_and_glue_in_goes() -> None:
    """Thirty pieces at 0.75 min each are two goes of 12 min, and their drawing has the page's width."""
    board = Board("white oak", 400.0, 300.0, 18.0)
    squares = [shapely.box(i % 6 * 20, i // 6 * 20, i % 6 * 20 + 20, i // 6 * 20 + 20) for i in range(30)]
    areas = [DrawnArea(f"square {i}", ("holly", "sapele")[i % 2], (200, 200, 200), s) for i, s in enumerate(squares)]
    result = of_parts(board, (inlay_of("picture", areas, board, "show"),))
    [page] = pages(glue_up, result)
    assert page["is_wide"]
    assert page["drawing"]["width"] == MM.across
    assert "30 pieces are more than 12 min allow: glue in 2 goes" in words(page["warnings"])
    assert len(page["table"]["rows"]) == 30


def test_a_wide_seam_asks_for_epoxy() -> None:
    result = tern_result()
    inlay = result.layout.inlays[0]
    wide = replace(inlay, fit=replace(inlay.fit, rule=replace(inlay.fit.rule, seam=0.4)))
    changed = replace(result, layout=replace(result.layout, inlays=(wide, *result.layout.inlays[1:])))
    [page] = pages(glue_up, changed)
    assert "Epoxy" in words(page["facts"])
    assert "Yellow PVA" not in words(page["facts"])


def test_one_coat_of_finish_is_the_boards_surface_by_the_spread() -> None:
    """420 x 260 x 19: 0.2184 + 0.0258 m2 over 12.3 m2 to the litre is 20 ml."""
    result = tern_result()
    area = 2 * (0.42 * 0.26 + 0.42 * 0.019 + 0.26 * 0.019)
    assert result.layout.board.surface == pytest.approx(area * 1e6)
    assert words(finish.finish_table(result, MM)["rows"][0][1]) == f"{area / 12.3 * 1000:.0f} ml"


def test_dark_dust_is_cautioned_only_beside_pale_woods() -> None:
    [page] = pages(finish, tern_result())
    [box] = page["warnings"]
    assert "padauk" in words(box["text"])
    assert "holly" in words(box["text"])
    assert page["grits"] == ["100", "120", "150", "180", "220"]
    assert pages(finish, without_inlays())[0]["warnings"] == []


def test_colours_come_from_the_table_and_gaps_say_so() -> None:
    rows = {words(row[0]): words(row) for row in looks.colour_table(tern_result())["rows"]}
    assert list(rows) == woods_of(tern_result())
    assert "brown to dark purplish brown" in rows["padauk"]
    assert "nothing published that we hold" in rows["sapele"]


def test_each_age_of_the_piece_is_shown_in_its_own_colours() -> None:
    """Three pictures, none like another; a job of many woods keeps them on its page as long as they are to be seen."""
    [page] = pages(looks, tern_result())
    assert [picture["words"] for picture in page["pictures"]] == ["freshly planed", "finished", "after years of light"]
    assert len({picture["drawing"]["svg"] for picture in page["pictures"]}) == 3


def test_the_finish_of_the_job_is_told_with_all_its_coats() -> None:
    """Two coats of hardwax oil over 0.2442 m2 at 24 m2 to the litre: 20 ml."""
    result = tern_result()
    assert pages(finish, result)[0]["chosen"] == ""
    oiled = replace(result, job=replace(result.job, finish=FinishWish("hardwax oil", 2)))
    said = words(pages(finish, oiled)[0]["chosen"])
    assert "2 coats of hardwax oil, 20 ml in all" in said
    assert "12 h (8 to 24)" in said
    bare = replace(result, job=replace(result.job, finish=FinishWish("none")))
    assert "no finish" in words(pages(finish, bare)[0]["chosen"])


def test_time_in_the_clamps_is_told_at_three_temperatures() -> None:
    """60 min at 21 degrees, doubled for each 8.3 colder: 99 min at 15, 150 at 10."""
    facts = {fact[0]: words(fact[1]) for fact in pages(glue_up, tern_result())[0]["facts"]}
    assert "60 min at 21 °C, 100 min at 15 °C, 150 min at 10 °C" in facts["clamps"]
    widest = max(part.across for part in parts_of(tern_result()))
    assert f"by {MM.seam(0.005 * widest)} mm on the widest part" in facts["glue"]


def test_safety_speaks_of_food_and_finish_where_the_job_does() -> None:
    result = tern_result()
    assert not {"food", "finish"} & {fact[0] for fact in pages(safety, result)[0]["facts"]}
    served = replace(result, job=replace(result.job, finish=FinishWish("shellac", 1, food=True)))
    facts = {fact[0]: words(fact[1]) for fact in pages(safety, served)[0]["facts"]}
    assert "FDA Food Code" in facts["food"]
    assert "padauk sensitise: keep food off" in facts["food"]
    assert "spirit burns" in facts["finish"]


def test_the_limit_of_dust_is_that_of_the_woods_of_the_job() -> None:
    """ACGIH: 1 mg/m3 and oak classed A1; 0.5 where western redcedar is in it. Source: OSHA wood dust pages."""
    rows = [[words(cell) for cell in row] for row in safety.limit_table(tern_result())["rows"]]
    assert ["ACGIH, most woods; for cancer it classes white oak A1", "1", "mg/m³"] in rows
    cedar = tern_result()
    cedar = replace(cedar, layout=replace(cedar.layout, board=replace(cedar.layout.board, wood="western redcedar")))
    rows = [[words(cell) for cell in row] for row in safety.limit_table(cedar)["rows"]]
    assert ["ACGIH, western redcedar", "0.5", "mg/m³"] in rows


def test_three_decibels_more_halve_the_time() -> None:
    assert safety.allowed_minutes(85.0) == pytest.approx(480.0)
    for level in (80.0, 91.5, 105.0):
        assert safety.allowed_minutes(level + 3.0) == pytest.approx(safety.allowed_minutes(level) / 2)


def test_safety_names_every_wood_of_the_job_and_its_chart() -> None:
    [page] = pages(safety, tern_result())
    said = words(page["woods"])
    assert all(wood in said for wood in woods_of(tern_result()))
    assert "does not mean harmless" in said
    assert "American Woodturner" in words(page["wood_sources"])
    assert "licensed practice" in page["lead"]
    assert "Never in a heap" in words(page["facts"])


def test_letters_of_the_chart_become_words() -> None:
    [oak] = hazards_of("white oak")
    assert reaction_words(oak) == "sensitises, suspected: linked with cancer of nose and throat"
    assert site_words(oak) == "eyes and skin"
    [walnut] = hazards_of("mahogany_true")
    assert reaction_words(walnut) == "sensitises, inflames the lungs"
    [cherry] = hazards_of("black cherry")
    assert reaction_words(cherry) == "affects breathing (wheezing, giddiness)"
    assert dust_words("black cherry") == "black cherry dust affects breathing"


def test_the_sheets_say_how_proud_pieces_stand_as_the_offcuts_are() -> None:
    """Proud as cut is the offcut's thickness and the glue room less the depth: the closed form, for every part."""
    result = tern_result()
    thickness = {o.name: o.thickness for o in result.on_offcuts.used}
    for part in parts_of(result):
        inlay = part.inlay
        stands = thickness[part.places[0].offcut] + inlay.glue_room - inlay.depth
        assert proud_as_cut(result, part) == pytest.approx(stands, abs=1e-9)
    assert "if planed to thickness" in words(pages(finish, result)[0]["proud"])
    texts = [text["t"] for page in pages(offcuts, result) if page["drawing"] for text in page["drawing"]["texts"]]
    assert "plane to" in " ".join(texts)


def test_no_insert_sinks_below_the_face_when_its_offcut_is_planed() -> None:
    """An offcut is planed for its thickest insert: a thin one out of the same wood stays proud by the difference."""
    result = tern_result()
    offcut = result.on_offcuts.used[0]
    first = next(i for i in result.layout.inlays if i.kind == "picture")
    shallow = replace(first, name="shallow", depth=first.depth - 1.0)
    places = tuple(replace(p, offcut=offcut.name) for p in result.on_offcuts.places)
    copies = tuple(replace(p, part=replace(p.part, inlay="shallow")) for p in places if p.part.inlay == first.name)
    both = replace(
        result,
        layout=replace(result.layout, inlays=(first, shallow)),
        on_offcuts=replace(result.on_offcuts, places=(*places, *copies)),
    )
    assert planed_thickness(both, replace(offcut, thickness=20.0)) == first.insert_thickness
    amounts = {p.inlay.name: proud_if_planed(both, p) for p in parts_of(both)}
    assert amounts[first.name] >= first.proud
    assert amounts["shallow"] == pytest.approx(amounts[first.name] + 1.0)


def test_sheet_8_draws_the_inserts_of_every_offcut_as_thick_as_they_are() -> None:
    """One section for each recess and offcut, its figure the thickness less what lies below the face."""
    result = tern_result()
    texts = [text["t"] for text in pages(finish, result)[0]["section"]["texts"]]
    for stand in stands_of(result):
        assert stand.now == pytest.approx(stand.thick - (stand.inlay.depth - stand.inlay.glue_room))
        assert MM.proud(stand.now) in texts
        assert stand.offcut in texts


def test_labels_that_follow_each_other_stand_as_a_range() -> None:
    assert in_ranges(["1", "2", "3", "5", "7", "8", "k"]) == "1–3, 5, 7, 8 and k"
    assert in_ranges(["4", "the board"]) == "4 and the board"


def test_a_picture_has_one_size_on_all_sheets() -> None:
    """The size on the cutting card is that of sheet 2."""
    result = tern_result()
    inlay = next(i for i in result.layout.inlays if i.kind == "picture")
    size = MM.size(*drawn_size(inlay))
    assert f"picture {size}," in " ".join(t["t"] for t in pages(cutting_cards, result)[0]["bench"]["texts"])
    assert size in words(pages(show_face, result)[0]["notes"]).replace("\N{NO-BREAK SPACE}", " ")


def test_the_words_of_the_zero_stand_beside_its_mark_off_the_stock() -> None:
    """'0, 0' begins within 4 mm of the ring's middle across, and keeps 2 mm off the corner of the stock."""
    for card in pages(cutting_cards, tern_result()):
        [zero] = [t for t in card["bench"]["texts"] if t["t"] == "0, 0"]
        x, high = BORDER, card["bench"]["height"]
        y = BORDER if card["lies"].endswith("underside up") else None
        assert 0.0 < zero["x"] - x < 4.0
        assert zero["y"] < BORDER - 2.0 if y else zero["y"] > high - BORDER - 2.0


# --- patterns


def rendered(result: JobResult, style: Style, monkeypatch: pytest.MonkeyPatch) -> list[NDArray[np.uint8]]:
    """The pattern pages of the PDF as grey pixels at 600 dpi, drawn by PDFium."""
    monkeypatch.setattr(book, "SHEETS", ((10, patterns),))
    pdf = pypdfium2.PdfDocument(book.bench_sheets(result, style.unit, style.paper))
    return [np.asarray(page.render(scale=DPI / 72, grayscale=True).to_numpy()).squeeze() for page in pdf]


@pytest.mark.parametrize(("unit", "paper", "long"), [("mm", "a4", 100.0), ("inch", "letter", 101.6)])
def test_the_bar_and_a_known_part_print_at_true_size(
    unit: LengthUnit, paper: Paper, long: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Measured on the page: the bar within 0.1 mm, a disc of 24 mm less its seam within 0.1 mm both ways."""
    result, style = bare_result(80.0, 60.0, paper, unit), Style(unit, paper)
    page = rendered(result, style, monkeypatch)[0]
    mm = DPI / 25.4
    row = page[round((TOP + style.down - 7.0 - 2.5) * mm)] < 128
    ticks = np.flatnonzero(row[: round((SIDE + 104.0) * mm)]) / mm
    left, right = ticks[ticks < SIDE + 50.0].mean(), ticks[ticks > SIDE + 50.0].mean()
    assert right - left == pytest.approx(long, abs=0.1)
    assert left == pytest.approx(SIDE + 1.0, abs=0.1)
    _, _, stats, _ = cv2.connectedComponentsWithStats((page < 200).astype(np.uint8))
    sizes = stats[:, 2:4] / mm - 0.18
    x0, y0, x1, y1 = result.layout.inlays[0].fit.inserts[0].region.bounds
    assert x1 - x0 == pytest.approx(23.9, abs=0.01)
    assert np.abs(sizes - (x1 - x0, y1 - y0)).max(axis=1).min() < 0.1


def test_every_recess_and_every_part_has_its_pattern_with_its_own_area() -> None:
    result = tern_result()
    made = patterns_of(result, MM, MM.across)
    recesses, parts = [p for p in made if not p.label], [p for p in made if p.label]
    layout = result.layout
    wanted = [i.fit.recess.area for i in layout.inlays] + [f.wanted.area for f in layout.fittings]
    assert sorted(p.region.area for p in recesses) == pytest.approx(sorted(wanted))
    inserts = [p.region.area for i in layout.inlays for p in i.fit.inserts]
    assert sorted(p.region.area for p in parts) == pytest.approx(sorted(inserts))
    assert all(p.grain in (0.0, 90.0) for p in parts)


def test_patterns_of_the_underside_are_mirrored_and_say_so() -> None:
    """Seen from below: the same outline turned over about edge A, and no other turn brings them together."""
    board = Board("white oak", 200.0, 120.0, 18.0)
    corner = shapely.Polygon([(0, 0), (40, 0), (40, 8), (8, 8), (8, 30), (0, 30)])
    area = DrawnArea("corner", "maple", (232, 204, 152), corner)
    both = [of_parts(board, (inlay_of("picture", [area], board, face),)) for face in ("show", "underside")]  # type: ignore[arg-type]
    show, below = (patterns_of(result, MM, MM.across)[0] for result in both)
    assert "underside, as seen from below" in below.note
    assert "below" not in show.note
    # what is seen on a face is what was drawn: the underside's board frame is the mirrored one
    assert below.region.symmetric_difference(show.region).area < 0.01 * show.region.area
    on_board = both[1].layout.inlays[0].recess
    lowest = shapely.transform(on_board, lambda xy: xy - np.array(on_board.bounds[:2]))
    assert below.region.symmetric_difference(lowest).area > 0.2 * show.region.area


def test_parts_fibres_lie_along_the_arrow() -> None:
    """A part's length along its grain is its pattern's length along the arrow."""
    result = tern_result()
    from purfle.sheets.parts import parts_of

    made = {p.label: p for p in patterns_of(result, MM, MM.across) if p.label}
    for part in parts_of(result):
        size = made[part.label].size if made[part.label].grain == 0.0 else made[part.label].size[::-1]
        assert size == pytest.approx((part.along, part.across), abs=1e-6)


def ring_pattern() -> Pattern:
    """A ring of 500 mm: larger than any page, empty in its middle."""
    middle = shapely.Point(250.0, 250.0)
    return Pattern("ring", "show face", middle.buffer(250.0, 64).difference(middle.buffer(150.0, 64)))


@pytest.mark.parametrize("room", [(186.0, 226.0), (191.9, 208.0)])
def test_tiles_laid_together_give_the_whole_outline(room: tuple[float, float]) -> None:
    """The lines read back from every page, put at the page's place in the grid, cover the outline, and nothing else."""
    pattern = ring_pattern()
    grid = grid_of(pattern, room)
    tiles = [(c, r) for r in range(grid.up) for c in range(grid.across)]
    full = [t for t in tiles if pattern.region.intersects(grid.tile(*t))]
    drawings = tile_drawings(pattern, room)
    assert len(drawings) == len(full) < len(tiles)
    assert shapely.union_all([grid.tile(*t) for t in tiles]).buffer(1e-6).covers(pattern.region)
    lines = []
    for (column, row), drawing in zip(full, drawings, strict=True):
        x0, _, _, y1 = grid.tile(column, row).bounds
        for line in hair_lines(drawing.parts):
            xy = shapely.get_coordinates(line)
            there = np.column_stack([xy[:, 0] - OVERLAP + x0, y1 - xy[:, 1] + BAND + OVERLAP])
            lines.append(shapely.LineString(there))
    joined = shapely.union_all(lines)
    assert pattern.region.boundary.difference(joined.buffer(0.01)).length == pytest.approx(0.0, abs=1e-6)
    assert joined.difference(pattern.region.boundary.buffer(0.01)).length == pytest.approx(0.0, abs=1e-6)


def hair_lines(parts: list[str]) -> list[shapely.LineString]:
    """The open hair lines of a drawing: the outline; crosses are heavier, the page grid is closed."""
    found = []
    for part in parts:
        path = re.match(r'<path d="(M[^Z"]*)" fill="none" stroke="#000" stroke-width="0.18"', part)
        if path:
            numbers = [float(n) for n in re.findall(r"-?[\d.]+", path[1])]
            found.append(shapely.LineString(np.reshape(numbers, (-1, 2))))
    return found


def test_crosses_of_neighbouring_pages_have_one_name_and_grid_and_tile_fit_the_page() -> None:
    room = (186.0, 226.0)
    pattern = ring_pattern()
    grid = grid_of(pattern, room)
    assert grid.wide + 2 * OVERLAP <= room[0]
    assert BAND + grid.high + 2 * OVERLAP <= room[1]
    first, second = tile_drawings(pattern, room)[:2]
    names = [{t["t"] for t in d.texts if re.fullmatch("[a-z]+[0-9]+", t["t"])} for d in (first, second)]
    assert names == [{"a1", "b1", "a2", "b2"}, {"b1", "c1", "b2", "c2"}]
    assert [cross_name(c, 0) for c in (0, 25, 26, 51, 52)] == ["a1", "z1", "aa1", "az1", "ba1"]


def test_a_last_page_with_one_small_pattern_goes_below_the_labels(monkeypatch: pytest.MonkeyPatch) -> None:
    """The eye alone would take a page; below the labels it has its bar and the room of the page."""
    full = tern_result()
    places = tuple(place for place in full.on_offcuts.places if not place.spare)
    result = replace(full, on_offcuts=replace(full.on_offcuts, places=places))
    eye = [p for p in patterns_of(result, MM, MM.across) if p.label == "4"]
    as_large_as_a_page = Pattern("recess", "", shapely.box(0, 0, MM.across - 11.0, MM.down - 52.0))
    monkeypatch.setattr(patterns, "patterns_of", lambda *_: [as_large_as_a_page, *eye])
    first, page = patterns.data(result, MM)
    assert first["title"] == "Patterns at true size"
    assert page["title"] == "Labels and patterns"
    texts = [t["t"] for t in page["drawing"]["texts"]]
    assert "eye" in texts
    assert any("by your rule" in t for t in texts)
    assert page["drawing"]["height"] <= MM.down - patterns.LEAD


def test_labels_name_every_piece_and_spare_with_job_and_change() -> None:
    result = tern_result()
    texts = [t["t"] for p in pages(patterns, result) if p["title"] == "Labels" for t in p["drawing"]["texts"]]
    wanted = result.on_offcuts.places
    assert sum(f"change {result.job.change}" in t for t in texts) == len(wanted)
    assert sum(t.endswith("s") and t[:-1].isdigit() for t in texts) == sum(p.spare for p in wanted)
    assert {str(n) for n in range(1, 15)} | {"k"} <= set(texts)


# --- all of them


@pytest.mark.parametrize("module", MODULES)
def test_the_same_job_gives_the_same_pages(module: Any) -> None:
    once, again = (json.dumps(made) for made in (pages(module, tern_result()), drawn(module, tern_result())))
    assert once == again


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_jobs_without_inlays_key_fittings_or_proof_are_set(paper: Paper, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is imitated or left half said: a sheet without a subject is left out, every other one is set."""
    only = tuple((number, module) for number, module in book.SHEETS if number >= 5)
    monkeypatch.setattr(book, "SHEETS", only)
    bare = bare_result(300.0, 200.0, paper)
    fitted = without_inlays()
    for result, numbers in ((replace(bare, proof=None), [5, 7, 8, 9, 10]), (fitted, [5, 8, 9, 10])):
        made = book.draft_of(result, "mm", paper).pages
        assert list(dict.fromkeys(page["number"] for _, page in made)) == numbers
        assert book.bench_sheets(result, "mm", paper).startswith(b"%PDF")


def test_each_card_takes_one_page_of_either_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book, "SHEETS", ((5, cutting_cards), (6, chisel), (7, glue_up), (8, finish), (9, safety)))
    for unit, paper in (("mm", "a4"), ("inch", "letter")):
        result = tern_result(unit, paper)  # type: ignore[arg-type]
        draft = book.draft_of(result, unit, paper)  # type: ignore[arg-type]
        pdf = pypdfium2.PdfDocument(book.sheets_of(draft, result.proof))
        assert len(pdf) == len(draft.pages)


# --- many pieces, one page


def test_many_pieces_stand_in_two_columns_each_once_under_its_wood() -> None:
    """With room for all, the lists are one page; with little they go on, and no piece is lost or told twice."""
    result = tern_result()
    parts = parts_of(result)
    for first, count in ((150.0, 1), (30.0, 2)):
        pages_ = piece_lists(result, parts, MM, first)
        assert len(pages_) >= count
        rows = [row for page in pages_ for column in page for row in column]
        assert [words(row["cells"][0]) for row in rows if "cells" in row] == [part.label for part in parts]
        assert all("head" in column[0] for page in pages_ for column in page)


def test_patterns_never_lie_on_each_other_and_stay_on_their_page() -> None:
    """Each takes the rectangle of its outline and words; recesses come before parts."""
    room = (186.0, 226.0)
    fitting = [p for p in patterns_of(tern_result(), MM, room[0]) if p.wide <= room[0] and p.high <= room[1]]
    made = packed(fitting, room)
    assert sum(len(page.placed) for page in made) == len(fitting) > 15
    for page in made:
        boxes = [shapely.box(x, y, x + p.wide, y + p.high) for p, (x, y) in page.placed]
        assert all(shapely.box(0, 0, *room).covers(box) for box in boxes)
        assert all(one.intersection(other).area < 1e-9 for one, other in combinations(boxes, 2))
        assert page.used == pytest.approx(max(box.bounds[3] for box in boxes))


def test_a_pattern_whose_offcut_is_named_like_its_wood_says_the_wood_once() -> None:
    result = tern_result()
    part = next(part for part in parts_of(result) if part.places)
    assert wood_and_offcut(part) == f"{part.wood}, {part.places[0].offcut}"
    alike = replace(part, places=tuple(replace(place, offcut=part.wood) for place in part.places))
    assert wood_and_offcut(alike) == part.wood


def test_a_card_has_the_findings_of_its_own_set_up_and_alike_ones_share_a_box() -> None:
    """Two findings that differ by their figure alone make one box; what names no set-up stands on the first card."""
    result = tern_result()
    first, second = (set_up.title for set_up in result.cutting.set_ups[:2])
    bends = [Finding("look", f"the tip may bend 0.0{n} mm", second, "go slower", "cutting") for n in (31, 49)]
    other = Finding("look", "the machine is small", "machine", "take a larger one", "cutting")
    told = replace(result, findings=(*bends, other, replace(bends[0], where=first)))
    cards = pages(cutting_cards, told)
    assert [words(box["text"]).partition(" (")[0] for box in cards[0]["warnings"]] == [
        "The machine is small",
        "The tip may bend 0.031 mm",
    ]
    [box] = cards[1]["warnings"]
    assert "1 more place" in words(box["text"])
    assert all(card["warnings"] == [] for card in cards[2:])


def test_what_is_said_of_a_cutter_stands_on_the_card_of_its_own_program() -> None:
    """Two programs of one set-up: only the thin cutter bends, so only its card says so."""
    result = tern_result()
    set_up = result.cutting.set_ups[0]
    [stout, *_] = set_up.programs
    thin = replace(
        stout,
        cutter=replace(stout.cutter, number=9, name="1/16 in straight"),
        figures=replace(stout.figures, deflection=0.05),
        file="thin.nc",
    )
    both = replace(set_up, programs=(stout, thin))
    bends = [f for f in set_up_findings(both, result.shop.machine, 0.1) if "may bend" in f.what and "1/16" in f.what]
    assert len(bends) == 1
    told = replace(result, cutting=replace(result.cutting, set_ups=(both,)), findings=tuple(bends))
    of_stout, of_thin = drawn(cutting_cards, told)
    assert of_stout["warnings"] == []
    assert "The tip of 1/16 in straight may bend" in words(of_thin["warnings"])


@pytest.mark.parametrize(("radius", "least", "most"), [(0.8, 0, 0), (3.0, 12, 12), (60.0, 100, 200)])
def test_a_small_dashed_ring_has_finer_dashes_and_the_smallest_is_solid(radius: float, least: int, most: int) -> None:
    """A dozen dashes at least, none so short that it is a dot."""
    ring = shapely.Point(100, 100).buffer(radius, 64).exterior
    dashes = dash_of(ring, HIDDEN)
    count = ring.length / sum(dashes) if dashes else 0
    assert least - 0.01 <= count <= most + 0.01
    drawing = Drawing(200, 200)
    drawing.region(shapely.Polygon(ring), HAIR, dash=HIDDEN)
    assert ("stroke-dasharray" in "".join(drawing.parts)) == bool(least)


@pytest.mark.parametrize(("bend", "is_long"), [(0.0, True), (2.0, False)])
@pytest.mark.parametrize("style", [MM, INCH])
def test_a_straight_strip_longer_than_the_page_is_drawn_by_its_ends(style: Style, bend: float, is_long: bool) -> None:
    """Mitred ends at true size and the length in words; a bent one is cut into pages as before."""
    board = Board("white oak", 300.0, 160.0, 18.0)
    x = np.linspace(5.0, 285.0, 57)
    y = 20.0 + bend * np.sin(np.pi * (x - 5.0) / 280.0)
    outline = [*zip(x, y, strict=True), *zip(x[::-1] - (x[::-1] - 145.0) / 100.0, y[::-1] + 1.6, strict=True)]
    area = DrawnArea("line", "holly", (240, 235, 220), shapely.Polygon(outline))
    result = of_parts(board, (inlay_of("picture", [area], board, "show"),))
    [whole] = [p for p in patterns_of(result, style, style.across) if p.label]
    ends = by_its_ends(whole, style)
    assert (ends is not None) == is_long
    tiled = sum(words(page["drawing"]).count("of this pattern") for page in drawn(patterns, result, style))
    # the recess has two pages as well, whatever its part has
    assert tiled == (2 if is_long else 4)
    if ends is not None:
        assert f"{style.true(max(whole.size))} long" in ends.note
        # what is left out is a plain strip of the width that the words give
        left_out = max(whole.size) - (ends.size[0] - BREAK)
        assert whole.region.area - ends.region.area == pytest.approx(left_out * 1.5, abs=0.1 * left_out)


def test_every_finding_of_a_kind_is_on_its_sheet_with_its_place_and_its_figures() -> None:
    """Many alike share one box; many kinds have a box each: the bench has no other list of them."""
    walls = [
        Finding("look", f"only 1.{n} mm of wood stands", f"design, show, {n} mm from B", "move them", "board")
        for n in range(9)
    ]
    kinds = [Finding("look", f"what is {name}", "design", "mend it", "board") for name in "abcdef"]
    told = replace(tern_result(), findings=(*walls, *kinds))
    [page] = drawn(show_face, told)
    boxes = [words(box["text"]) for box in page["warnings"]]
    assert len(boxes) == 1 + len(kinds)
    assert "Much the same: 1 mm from B (1.1 mm); 2 mm from B (1.2 mm);" in boxes[0]
    assert all(f"{n} mm from B" in boxes[0] for n in range(9))


def test_pieces_with_unlike_names_share_a_finding() -> None:
    """A name after its number counts no more than one in quotes."""
    found = [
        Finding("look", f"piece {n} letter {name} has a part 1.{n} mm wide", f"design, piece {n}", "turn it", "offcuts")
        for n, name in ((2, "a"), (4, "K, part 2"))
    ]
    [box] = drawn(offcuts, replace(tern_result(), findings=tuple(found)))[-1]["warnings"]
    assert words(box["text"]).endswith("Much the same: piece 4 (1.4 mm).")


def crowded_result(count: int) -> JobResult:
    """A board with so many thin strips and small squares of one wood, a few mm apart."""
    board = Board("white oak", 290.0, 150.0, 18.0)
    areas = []
    for number in range(count):
        row, column = divmod(number, 12)
        x, y, long = 10.0 + 9.0 * column, 10.0 + 7.0 * row, 3.0 if number % 3 else 1.5
        areas.append(DrawnArea(f"p{number}", "holly", (240, 235, 220), shapely.box(x, y, x + long, y + 2.0)))
    return of_parts(board, (inlay_of("picture", areas, board, "show"),))


@pytest.mark.parametrize("count", [16, 40])
@pytest.mark.parametrize("style", [MM, INCH])
def test_numbers_of_many_thin_pieces_never_lie_on_each_other_on_words_or_off_the_drawing(
    count: int, style: Style
) -> None:
    """Each piece has its number on sheet 4; where a cutting card has no room, it says that others stand there."""
    result = crowded_result(count)
    sheets = offcuts.data(result, style)
    numbers = [t["t"] for page in sheets if page["drawing"] for t in page["drawing"]["texts"]]
    missing = {part.label for part in parts_of(result)} - set(numbers)
    assert missing <= set(re.findall(r"\d+", words(sheets[-1]["notes"])))
    assert not missing or count > 20
    cards = [card for card in cutting_cards.data(result, style) if "parts" in card["file"]]
    for drawing in [page["drawing"] for page in sheets if page["drawing"]] + [card["bench"] for card in cards]:
        marks = [(t["t"], mark_or_text(t)) for t in drawing["texts"]]
        for (one, a), (other, b) in combinations(marks, 2):
            assert a.intersection(b).area < 0.1, (one, other)
        paper = shapely.box(0, 0, drawing["width"], drawing["height"])
        assert [label for label, shape in marks if not paper.covers(shape)] == []
    for card in cards:
        is_whole = {t["t"] for t in card["bench"]["texts"]} >= {part.label for part in parts_of(result)}
        assert ("sheet 4" in card["bench_words"][0]) != is_whole


def mark_or_text(text: dict[str, Any]) -> shapely.Polygon:
    """What a number with its ring takes, or a text."""
    is_mark = text["size"] == MARK_POINTS and text["weight"] == "bold" and text["t"].rstrip("s").isdigit()
    return mark_shape((text["x"], text["y"]), text["t"]) if is_mark else room_of(text)


def test_a_key_that_the_cutter_rounds_says_by_how_much_it_is_smaller_than_asked() -> None:
    result = tern_result()
    key = next(i for i in result.layout.inlays if i.kind == "key")
    long, wide = long_and_short(key)
    rules = [replace(rule, length=long, end_width=wide + 1.25) for rule in result.job.keys if rule.name == key.name]
    asked = replace(result, job=replace(result.job, keys=tuple(rules)))
    assert rules
    assert "it comes out 1.25 smaller" in words(smaller_words(asked, key, MM))
    as_is = replace(result, job=replace(result.job, keys=tuple(replace(r, end_width=wide) for r in rules)))
    assert smaller_words(as_is, key, MM) == []


def test_sheet_2_says_whose_ends_are_set_out_and_that_there_is_no_sheet_3() -> None:
    result = tern_result()
    [page] = pages(show_face, result)
    assert "Ends are those of the inserts: the recess reaches a seam, 0.10, further." in words(page["notes"])
    assert "no sheet 3" not in page["dashed"]
    shown = tuple(one for one in result.layout.inlays if one.face == "show")
    bare = replace(result, layout=replace(result.layout, fittings=(), inlays=shown))
    assert pages(show_face, bare)[0]["dashed"] == "nothing on the underside: there is no sheet 3"
    assert pages(underside, bare) == []
