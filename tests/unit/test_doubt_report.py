"""The doubt report: weak borders, borders invented in shading, areas too small; drawn with what to do about them."""

import io
import re
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from lxml import etree
from PIL import Image

from purfle import traced
from purfle.artwork import areas_of_picture, doubts_at_size
from purfle.artwork.doubt_drawing import MARKS, doubts_png, doubts_svg
from purfle.artwork.doubt_places import DoubtReport, doubt_report
from purfle.cli.main import main
from purfle.files.job_folder import read_job_folder
from purfle.model.artwork import Areas, Picture, TraceRule
from purfle.units import LengthUnit

EXAMPLE = Path(__file__).parents[2] / "examples" / "tern-lid"
UNITS: tuple[LengthUnit, LengthUnit] = ("mm", "inch")
PAPER, BLUE, GREEN = (245, 245, 240), (47, 102, 144), (79, 121, 66)


def picture_of(pixels: np.ndarray) -> Picture:
    return Picture(cv2.GaussianBlur(pixels.astype(np.uint8), (0, 0), 0.8), None, False, "test picture")


def plain() -> np.ndarray:
    """A blue square beside a green one, and a blue dot of 12 px."""
    pixels = np.full((240, 360, 3), PAPER, np.uint8)
    pixels[40:200, 40:120], pixels[40:200, 120:200] = BLUE, GREEN
    cv2.circle(pixels, (300, 60), 6, BLUE, -1)
    return pixels


def shaded() -> np.ndarray:
    """The same, the upper part of both squares running from red to yellow."""
    pixels = plain()
    share = np.linspace(0.0, 1.0, 160)[None, :, None]
    pixels[40:100, 40:200] = np.array([200, 60, 40]) * (1 - share) + np.array([240, 200, 80]) * share
    return pixels


def report_of(pixels: np.ndarray, mm_per_px: float | None = None) -> tuple[Picture, Areas, DoubtReport]:
    picture = picture_of(pixels)
    areas = areas_of_picture(picture, TraceRule())
    return picture, areas, doubt_report(picture, areas, mm_per_px)


def test_clean_flat_colours_have_no_doubtful_place() -> None:
    _, _, report = report_of(plain())
    assert report.places == ()
    assert [kind for kind, _ in report.sentences] == [None, None]
    assert report.sentences[-1][1] == "No doubtful place was found."


def test_borders_in_a_run_of_colour_are_told_as_invented_and_lie_there() -> None:
    """Every marked place stands inside the shaded square, upright as its steps are, and says what to do."""
    _, areas, report = report_of(shaded())
    invented = [place for place in report.places if place.kind == "shaded"]
    assert len(invented) >= 2
    square = shapely.box(36.0, 136.0, 204.0, 204.0)
    for place in invented:
        assert square.contains(shapely.LineString(place.line))
        assert np.ptp(place.line[:, 0]) < 0.2 * np.ptp(place.line[:, 1])
    kind, sentence = report.sentences[0]
    assert kind == "shaded"
    assert sentence.startswith(f"{len(invented)} places: shading, not flat colour")
    assert "choose the number of woods" in sentence
    assert areas.height == 240.0


def test_a_border_without_its_step_of_colour_is_told_as_weak() -> None:
    """Where the picture is one colour on both sides of a border, that stretch is marked and no other."""
    picture = picture_of(plain())
    areas = areas_of_picture(picture, TraceRule())
    faded = picture.pixels.copy()
    faded[100:140, 100:140] = faded[120, 100]
    report = doubt_report(Picture(faded, None, False, "faded"), areas, None)
    (weak,) = [place for place in report.places if place.kind == "weak"]
    assert weak.line[:, 1].min() > 240 - 140 - 4
    assert weak.line[:, 1].max() < 240 - 100 + 4
    assert np.abs(weak.line[:, 0] - 120.0).max() < 1.0
    assert report.sentences[0] == (
        "weak",
        "1 place: a weak border, less than half of the step in colour is there. "
        "Look whether it belongs there; if not, merge both areas.",
    )


def test_areas_too_small_for_a_piece_are_told_at_a_size_and_only_there() -> None:
    """The dot is 12 px wide: 1.2 mm at 0.1 mm a px, 0.6 mm at half of that, where 0.8 mm is the least."""
    for mm_per_px, count in ((0.1, 0), (0.05, 1)):
        _, _, report = report_of(plain(), mm_per_px)
        small = [place for place in report.places if place.kind == "small"]
        assert len(small) == count
    assert np.abs(small[0].line.mean(axis=0) - [300.5, 179.5]).max() < 1.5
    assert "1 area nowhere 0.8 mm wide at this size" in report.sentences[0][1]
    assert f"within {report_of(plain())[1].unit_error * 0.05:.3f} mm" in report.sentences[1][1]


def test_the_drawing_shows_the_picture_its_borders_and_the_marks() -> None:
    """The SVG is sound XML with one path for each line and one text for each row; the PNG has the marks' colour."""
    picture, areas, report = report_of(shaded(), 0.05)
    root = etree.fromstring(doubts_svg(picture, areas, report))
    space = "{http://www.w3.org/2000/svg}"
    strokes = [path.get("stroke") for path in root.iter(f"{space}path")]
    assert len(strokes) == 2 * len(areas.arcs) + len(report.places)
    assert strokes.count(MARKS["shaded"]) == sum(place.kind == "shaded" for place in report.places)
    assert " ".join("".join(t.itertext()) for t in root.iter(f"{space}text")) == " ".join(
        s for _, s in report.sentences
    )
    image = np.array(Image.open(io.BytesIO(doubts_png(picture, areas, report))).convert("RGB")).astype(int)
    wanted = [int(MARKS["shaded"][at : at + 2], 16) for at in (1, 3, 5)]
    assert int((np.abs(image - wanted).max(axis=2) < 12).sum()) > 200


def test_the_expected_error_is_told_in_mm_once_the_size_is_chosen() -> None:
    _, areas, _ = report_of(plain())
    told = [doubt.what for doubt in doubts_at_size(areas, 2.0)]
    assert f"Boundaries are expected to be right within {areas.unit_error * 2.0:.2f} mm on average." in told
    assert not any(" px on average" in what for what in told)
    assert len(told) == len(areas.doubts)


def test_the_command_writes_the_drawing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, drawn = tmp_path / "shaded.png", tmp_path / "doubts.svg"
    Image.fromarray(picture_of(shaded()).pixels).save(source)
    words = ["areas", str(source), "--geojson", str(tmp_path / "a.json"), "--doubts", str(drawn), "--height", "20mm"]
    assert main(words) == 0
    assert b"shading, not flat colour" in drawn.read_bytes()
    capsys.readouterr()


@pytest.mark.parametrize(
    ("words", "what", "where", "mend"),
    [
        (["a.png", "--doubts", "a.pdf"], '"a.pdf" is no picture that can be drawn', "--doubts", "Use .svg or .png."),
        (["a.svg", "--doubts", "d.svg"], "A drawing has no doubts and no sheet", "--doubts", "Leave --doubts out."),
        (["a.png", "--sheet", "a44"], 'No sheet is called "a44"', "--sheet", "a4"),
        (["a.png", "--height", "0mm"], "out of range", "--height", "Use more than 0 mm."),
    ],
)
def test_slips_are_told(words: list[str], what: str, where: str, mend: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["areas", *words, "--geojson", "-"]) == 2
    told = capsys.readouterr().err
    assert what in told
    assert f"where: {where}" in told
    assert mend in told


def test_an_inch_job_reads_inches_beside_its_picture(tmp_path: Path) -> None:
    """What `purfle make` draws for a maker who works in inches says nothing in mm."""
    Image.fromarray(plain()).save(tmp_path / "plain.png")
    rule = read_job_folder(EXAMPLE)[0].picture
    assert rule is not None
    rule = replace(rule, file=tmp_path / "plain.png", height=10.0)
    _, areas, _ = report_of(plain())
    drawn = [traced.doubts_drawn("doubts.svg", rule, areas, unit)["doubts.svg"] for unit in UNITS]
    in_mm, in_inches = (" ".join(" ".join(etree.fromstring(svg).itertext()).split()) for svg in drawn)
    assert "0.8 mm wide" in in_mm
    assert "0.031 in wide" in in_inches
    assert re.search(r"within 0\.\d+ mm on average", in_mm)
    assert re.search(r"within 0\.\d+ in on average", in_inches)
    assert not re.search(r"\d mm", in_inches)
