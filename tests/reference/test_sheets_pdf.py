"""The PDF of the bench sheets, read by two independent libraries: pypdf and pdfium."""

import io
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pypdf
import pypdfium2
import pytest

from purfle.model.board import Board
from purfle.model.findings import Finding
from purfle.model.job import JobResult, LengthUnit, Paper
from purfle.sheets import bench_sheets
from sample import bare_result, of_parts, tern_result

POINT = 25.4 / 72
COMBINATIONS: list[tuple[LengthUnit, Paper]] = [("mm", "a4"), ("inch", "letter"), ("inch-decimal", "a4")]


@cache
def pdf(unit: LengthUnit, paper: Paper) -> bytes:
    return bench_sheets(tern_result(unit, paper), unit, paper)


def text_of(data: bytes, page: int | None = None) -> str:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    chosen = pages if page is None else [pages[page]]
    return " ".join(" ".join(p.extract_text().replace("\u2009", " ") for p in chosen).split())


@pytest.mark.parametrize(("unit", "paper"), COMBINATIONS)
def test_every_page_has_the_papers_size(unit: LengthUnit, paper: Paper) -> None:
    """ISO 216 A4 is 210 x 297 mm, US letter 8.5 x 11 in; a quarter of a point is a tenth of a millimetre."""
    wanted = (210 / POINT, 297 / POINT) if paper == "a4" else (612.0, 792.0)
    for page in pypdf.PdfReader(io.BytesIO(pdf(unit, paper))).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(wanted, abs=0.25)


def test_the_same_job_gives_the_same_bytes() -> None:
    result = tern_result("mm", "a4")
    assert bench_sheets(result, "mm", "a4") == pdf("mm", "a4")
    assert b"CreationDate" not in pdf("mm", "a4")


@pytest.mark.parametrize(
    ("unit", "paper", "figures"),
    [
        ("mm", "a4", ["117.0", "210.0", "303.0", "74.0", "192.0", "117.06", "−0.06"]),
        ("inch", "letter", ["4 39/64", "8 17/64", "11 59/64", "2 29/32", "7 9/16", "4.609"]),
        ("inch-decimal", "a4", ["4.609", "8.266", "11.922", "2.906", "7.563"]),
    ],
)
def test_sheet_2_states_each_mark_in_the_makers_unit(unit: LengthUnit, paper: Paper, figures: list[str]) -> None:
    text = text_of(pdf(unit, paper), 1)
    for figure in figures:
        assert figure in text, figure


@pytest.mark.parametrize(
    ("unit", "paper", "check", "wrong"), [("mm", "a4", "382.0", "38.0"), ("inch", "letter", "15 3/64", "1 1/2")]
)
def test_the_underside_says_so_and_states_the_check_and_the_figure_of_a_board_end_for_end(
    unit: LengthUnit, paper: Paper, check: str, wrong: str
) -> None:
    text = text_of(pdf(unit, paper), 2)
    assert "Seen from below" in text
    assert f"check {check}" in text
    assert f"If it would fall {wrong} from there" in text


def test_every_piece_is_listed_with_its_wood_and_offcut() -> None:
    text = text_of(pdf("mm", "a4"), 0)
    for insert in tern_result("mm", "a4").layout.inlays[0].fit.inserts:
        assert re.search(rf"\b{insert.number} {insert.name} {insert.wood} ", text), insert.name
    assert "offcut 15, and a spare" in text


def test_every_page_names_job_and_change_and_counts_the_pages() -> None:
    for number, page in enumerate(pypdf.PdfReader(io.BytesIO(pdf("mm", "a4"))).pages, 1):
        text = " ".join(page.extract_text().split())
        assert "Tern lid, change 4f1c9a." in text
        assert f"page {number} of " in text


def rendered(data: bytes, page: int, dots: float, crop: tuple[float, float, float, float] = (0, 0, 0, 0)) -> np.ndarray:
    """A page in grey; crop in mm from left, bottom, right, top."""
    cut = tuple(c / POINT for c in crop)
    bitmap = pypdfium2.PdfDocument(data)[page].render(scale=dots / 72, crop=cut, grayscale=True)  # type: ignore[arg-type]
    return np.asarray(bitmap.to_numpy()).squeeze()


@pytest.mark.parametrize(("unit", "paper", "long"), [("mm", "a4", 50.0), ("inch", "letter", 50.8)])
def test_the_bar_to_check_the_print_has_its_length(unit: LengthUnit, paper: Paper, long: float) -> None:
    """Rasterised at 600 dots to the inch by pdfium: from the first to the last tick, within a tenth of a millimetre."""
    wide, high = (210.0, 297.0) if paper == "a4" else (215.9, 279.4)
    image = rendered(pdf(unit, paper), 1, 600.0, (wide - 75.0, 5.0, 11.0, high - 17.0)) < 128
    below_the_foots_rule = int(0.4 * image.shape[0])
    bar = below_the_foots_rule + int(np.argmax(image[below_the_foots_rule:].sum(axis=1)))
    above = image[bar - round(1.0 / 25.4 * 600)]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], above.astype(int), [0]])))
    middles = (edges[::2] + edges[1::2]) / 2
    assert len(middles) == 3, "the ends and the middle have long ticks"
    assert (middles[-1] - middles[0]) / 600 * 25.4 == pytest.approx(long, abs=0.1)


@pytest.mark.parametrize(("unit", "paper"), COMBINATIONS[:2])
def test_nothing_is_printed_outside_the_margins(unit: LengthUnit, paper: Paper) -> None:
    """Most printers cannot print the outer 5 mm; the sheets keep 11 mm at the sides, 5 mm at top and foot."""
    document = pypdfium2.PdfDocument(pdf(unit, paper))
    for number in range(len(document)):
        ink = rendered(pdf(unit, paper), number, 100.0) < 200
        per_mm = 100 / 25.4
        side, end = int(11.0 * per_mm), int(5.0 * per_mm)
        strips = {"left": ink[:, :side], "right": ink[:, -side:], "top": ink[:end], "foot": ink[-end:]}
        assert [name for name, strip in strips.items() if strip.any()] == [], f"page {number + 1}"


def test_what_the_maker_wrote_is_never_read_as_markup() -> None:
    result = tern_result("mm", "a4")
    name = 'Lid #1 *for* _Ann_ $x$ [a] <b> & "c" \\ @d'
    text = text_of(bench_sheets(replace(result, job=replace(result.job, name=name)), "mm", "a4"), 0)
    assert name in text


def test_a_board_with_nothing_let_in_has_only_the_piece_its_finish_and_safety() -> None:
    data = bench_sheets(of_parts(Board("white oak", 900.0, 350.0, 20.0), ()), "mm", "a4")
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    assert [any(title in page for title in ("The piece", "Levelling and finish", "Safety")) for page in pages] == [
        True
    ] * 3
    assert "no inlay" in pages[0]


def test_a_job_without_fittings_has_no_sheet_of_the_underside() -> None:
    text = text_of(bench_sheets(bare_result(120.0, 80.0), "mm", "a4"))
    assert "show face" in text
    assert "Seen from below" not in text


def test_what_no_offcut_has_room_for_is_to_be_bought() -> None:
    result = bare_result(2400.0, 900.0)
    assert result.on_offcuts.unplaced
    text = text_of(bench_sheets(result, "mm", "a4"))
    assert "To buy" in text
    assert "No room on any offcut" in text


def test_a_grave_finding_stands_in_a_box_on_the_sheet_it_belongs_to() -> None:
    result: JobResult = tern_result("mm", "a4")
    stop = Finding("stop", "the key meets a hinge", "underside, 382, 120", "move the key", "board")
    text = text_of(bench_sheets(replace(result, findings=(stop,)), "mm", "a4"), 1)
    assert "Stop The key meets a hinge (underside, 382, 120). Move the key." in text
