"""Lines inside one area: listed, kept, dropped or made stringing, as the job file says."""

import math
from pathlib import Path

import pytest
import shapely
from shapely import Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from conftest import CLASP_JOB, write_clasp
from purfle import job as flow
from purfle.artwork import areas_of_drawing, edit_areas, strip_told
from purfle.artwork.points_drawing import points_of
from purfle.artwork.strips import strip_along
from purfle.cli import main as face
from purfle.errors import JobFileError
from purfle.files.job_areas import area_edits
from purfle.files.job_folder import read_job_folder
from purfle.files.toml_table import read_toml
from purfle.geometry.partition import tiling_of
from purfle.model.artwork import AreaEdits, Areas, Drawing, LineWish, PaintedShape, SymmetryWish
from purfle.model.pieces import FitRule

DARK, PALE, RED = (40, 30, 20), (240, 230, 210), (180, 40, 30)
FACE = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<circle id="face" cx="30" cy="30" r="28" fill="#f5efe1"/>
<path id="mouth" d="M16 36 Q30 48 44 36" fill="none" stroke="#3a2a20" stroke-width="2"/>
<path id="brow" d="M14 18 H26" fill="none" stroke="#3a2a20" stroke-width="0.9"/>
</svg>"""
JOB = CLASP_JOB.replace('"leaf" = "holly"\n"shade" = "wenge"\n"dot" = "padauk"\n', '"face" = "holly"\n').replace(
    "height = 40", "height = 56"
)


def _face() -> Areas:
    """A face of 40 x 40 mm with a mouth of 20 x 1 mm, a whisker of 20 x 1.5 mm in red, and a round eye."""
    shapes = (
        PaintedShape("face", PALE, shapely.box(0.0, 0.0, 40.0, 40.0)),
        PaintedShape("mouth", DARK, shapely.box(10.0, 10.0, 30.0, 11.0)),
        PaintedShape("whisker", RED, shapely.box(10.0, 20.0, 30.0, 21.5)),
        PaintedShape("eye", DARK, shapely.Point(20.0, 30.0).buffer(3.0)),
    )
    return areas_of_drawing(Drawing(40.0, 40.0, shapes, (), "face"))


def _edited(*lines: LineWish, symmetry: SymmetryWish | None = None) -> Areas:
    return edit_areas(_face(), 40.0, AreaEdits(lines=lines, symmetry=symmetry))


def _region(areas: Areas, name: str) -> Polygon:
    (found,) = [area.region for area in areas.areas if area.name == name]
    return found


def _names(areas: Areas) -> set[str]:
    return {area.name for area in areas.areas if area.number not in areas.ground}


@pytest.mark.parametrize(
    ("line", "width", "wanted"),
    [
        (shapely.box(0, 0, 12, 1), 0.8, shapely.box(0, 0.1, 12, 0.9)),
        (shapely.box(0, 0, 12, 1), 1.4, shapely.box(0, -0.2, 12, 1.2)),
        (
            shapely.LineString([(0, 0), (12, 0)]).buffer(0.5),
            0.6,
            shapely.LineString([(-0.2, 0), (12.2, 0)]).buffer(0.3),
        ),
        (
            shapely.Point(0, 0).buffer(10.5, quad_segs=64)
            - shapely.Point(0, 0).buffer(9.5, quad_segs=64)
            - shapely.box(-20, -20, 20, 0),
            0.5,
            shapely.Point(0, 0).buffer(10.25, quad_segs=64)
            - shapely.Point(0, 0).buffer(9.75, quad_segs=64)
            - shapely.box(-20, -20, 20, 0),
        ),
    ],
)
def test_a_strip_runs_along_the_middle_with_the_ends_of_the_line(
    line: BaseGeometry, width: float, wanted: BaseGeometry
) -> None:
    """Closed forms: a bar (square ends), a bar with round ends, half a ring."""
    assert isinstance(line, Polygon)
    strip = strip_along(line, width)
    assert strip.hausdorff_distance(wanted) < 0.03
    assert strip.area == pytest.approx(wanted.area, rel=0.01)


def test_a_line_that_forks_gives_a_strip_that_forks() -> None:
    """Three branches of 8 mm under 120 degrees: strips of 0.6 mm that meet in the middle (closed form, within 1 %)."""
    ends = [(8 * math.cos(turn), 8 * math.sin(turn)) for turn in (0.3, 0.3 + 2 * math.pi / 3, 0.3 - 2 * math.pi / 3)]
    arms = shapely.multilinestrings([[(0.0, 0.0), end] for end in ends])
    strip = strip_along(arms.buffer(0.5, cap_style="flat"), 0.6)
    assert isinstance(strip, Polygon)
    assert strip.symmetric_difference(arms.buffer(0.3, cap_style="flat")).area < 0.01 * strip.area


def test_dropped_lines_become_part_of_their_area() -> None:
    """Exactly: the face without its mouth and whisker is the whole square less the eye; all of it is told."""
    edited = _edited(LineWish(None, "drop"))
    assert _names(edited) == {"face", "eye"}
    hole = _region(_face(), "eye").area
    assert _region(edited, "face").area == pytest.approx(1600.0 - hole, abs=1e-6)
    assert dict(edited.gone) == {"mouth": "lines", "whisker": "lines"}
    assert sum(doubt.what.startswith("Dropped: the line at") for doubt in edited.doubts) == 2


def test_stringing_takes_the_place_of_a_line() -> None:
    """A strip of 0.6 mm along the mouth, the rest of it given to the face; areas tile as before."""
    edited = _edited(LineWish("mouth", "stringing", "holly", 0.6))
    left, low, _, _ = edited.design or (0.0, 0.0, 0.0, 0.0)
    wanted = shapely.box(10.0, 10.2, 30.0, 10.8)
    assert _region(edited, "mouth").hausdorff_distance(translate(wanted, left, low)) < 1e-3
    (mouth,) = [area for area in edited.areas if area.name == "mouth"]
    assert (mouth.wood, mouth.width) == ("holly", 0.6)
    tiling = tiling_of([area.region for area in edited.areas], shapely.box(0.0, 0.0, edited.width, edited.height))
    assert tiling.edges_shared
    assert tiling.area_apart < 1e-6
    assert any("0.6 mm wide, runs inside" in doubt.what for doubt in edited.doubts)
    told = [doubt.what for doubt in edited.doubts if "lies inside" in doubt.what]
    assert told == ['A line 1.4 mm wide lies inside "face"; it is a piece of its own.'], (
        "the whisker alone is asked for"
    )


def test_single_wishes_outrank_colours_and_colours_outrank_all() -> None:
    """The mouth by its name, the dark lines by their colour, all others by "all"; without a width, as wide as drawn."""
    edited = _edited(LineWish(None, "drop"), LineWish(RED, "keep"), LineWish((12.0, 10.5), "stringing", "holly"))
    assert _names(edited) == {"face", "eye", "mouth", "whisker"}
    (mouth,) = [area for area in edited.areas if area.name == "mouth"]
    assert mouth.width == pytest.approx(2 * 20.0 / 42.0)
    assert not [doubt for doubt in edited.doubts if "lies inside" in doubt.what], "what is kept by choice is not asked"


def test_later_edits_and_symmetry_work_on_the_strip() -> None:
    """Stringing keeps its wood when the design is made symmetrical."""
    edited = _edited(LineWish("mouth", "stringing", "holly", 0.6), symmetry=SymmetryWish(upright=True))
    (mouth,) = [area for area in edited.areas if area.name == "mouth"]
    assert mouth.wood == "holly"
    gone = _edited(LineWish("mouth", "stringing", "holly", 0.6), LineWish("whisker", "drop"))
    with pytest.raises(JobFileError) as refusal:
        edit_areas(_face(), 40.0, AreaEdits(lines=(LineWish("whisker", "drop"),), to_neighbour=("whisker",)))
    assert refusal.value.what == 'lines in [areas] took "whisker", so that no area is called so any more.'
    assert "whisker" not in _names(gone)


@pytest.mark.parametrize(
    ("lines", "what", "where", "mend"),
    [
        ((LineWish("eye", "drop"),), '"eye" is no line inside one area.', "[areas.lines]", '"20.0, 10.5 mm"'),
        ((LineWish((1.0, 1.0), "drop"),), "What lies at 1.0, 1.0 mm is no line", "[areas.lines]", "Lines inside"),
        ((LineWish(PALE, "drop"),), "#f0e6d2 is no line inside one area.", "[areas.lines]", "Lines inside"),
        (
            (LineWish("mouth", "drop"), LineWish((12.0, 10.5), "keep")),
            "Two things are said of the line at 20.0, 10.5 mm.",
            "[areas.lines]",
            "Keep one of them.",
        ),
        (
            (LineWish("mouth", "stringing", "holly", 22.0),),
            'Stringing 22.0 mm wide runs into the edge of "face".',
            "[areas.lines], the line at 20.0, 10.5 mm",
            "room for 19.0 mm",
        ),
        (
            (LineWish("mouth", "stringing", "holly", 12.0), LineWish("whisker", "stringing", "holly", 12.0)),
            "Stringing 12.0 mm wide runs into another line.",
            "[areas.lines], the line at 20.0, 20.8 mm",
            "1.4 mm wide as drawn",
        ),
    ],
)
def test_slips_are_told(lines: tuple[LineWish, ...], what: str, where: str, mend: str) -> None:
    with pytest.raises(JobFileError) as refusal:
        _edited(*lines)
    assert refusal.value.what.startswith(what)
    assert refusal.value.where == where
    assert mend in refusal.value.mend


def test_where_there_is_no_line_that_is_told() -> None:
    disc = PaintedShape("disc", RED, shapely.Point(20.0, 20.0).buffer(10.0))
    areas = areas_of_drawing(Drawing(40.0, 40.0, (disc,), (), "disc"))
    edited = edit_areas(areas, 20.0, AreaEdits(lines=(LineWish(None, "drop"),)))
    assert "No line lies inside one area alone." in [doubt.what for doubt in edited.doubts]


def test_the_table_is_read_in_both_units() -> None:
    text = b"""
[lines]
all = "keep"
"#281e14" = "drop"
"2, 1.5" = { stringing = "holly", width = "1/16 in" }
mouth = { stringing = "wenge" }
"""
    table = read_toml(text, "job.toml")
    table.source.unit = "inch"
    assert area_edits(table, drawn=True).lines == (
        LineWish(None, "keep"),
        LineWish(DARK, "drop"),
        LineWish((50.8, 38.1), "stringing", "holly", pytest.approx(1.5875)),
        LineWish("mouth", "stringing", "wenge"),
    )
    assert table.source.faults == []


@pytest.mark.parametrize(
    ("line", "what", "mend"),
    [
        ('all = "dropped"', 'all cannot be "dropped"', "Use drop (known are keep, drop, stringing)."),
        ('"2, 1" = "stringing"', "It is not said which wood", '"2, 1" = { stringing = "holly", width = "1 mm" }'),
        ('all = { stringing = "hollie" }', "'hollie' is no wood", "American holly"),
        ('all = { stringing = "holly", wide = 1 }', "wide is not known here", "width"),
        ('all = { width = "1 mm" }', "stringing is missing", "stringing ="),
        ('all = { stringing = "holly", width = 0 }', "width cannot be 0", "0"),
    ],
)
def test_slips_of_the_table_are_told_with_their_line(line: str, what: str, mend: str) -> None:
    table = read_toml(f"[lines]\n{line}\n".encode(), "job.toml")
    table.source.unit = "mm"
    area_edits(table, drawn=True)
    (fault,) = table.source.faults
    assert fault.what.startswith(what)
    assert "job.toml, line 2, lines." in fault.where
    assert mend in fault.mend


@pytest.mark.parametrize(
    ("width", "radius", "severity", "words"),
    [
        (1.0, 0.5, "note", "is cut 0.90 mm wide, its recess 1.10 mm wide."),
        (1.0, 1.5875, "look", "its cutter, 3.17 mm, goes into no recess that narrow"),
        (0.6, 0.25, "look", "a piece narrower than 0.80 mm breaks as it is cut"),
    ],
)
def test_true_widths_under_the_cutter_are_told(width: float, radius: float, severity: str, words: str) -> None:
    told = strip_told("mouth", width, FitRule(radius, 0.1))
    assert told.severity == severity
    assert words in told.what


def test_points_number_the_lines_and_the_area_that_each_lies_in() -> None:
    """In mm and in inches; what is no line has no such words."""
    points = {point.name: point for point in points_of(_face(), 1.0, inches=False)}
    number = points["face"].number
    assert points["whisker"].line == f"1.4 mm wide, inside {number}"
    assert points["eye"].line == points["face"].line == ""
    inches = {point.name: point for point in points_of(_face(), 1.0, inches=True)}
    assert inches["whisker"].line == f"0.055 in wide, inside {number}"


LINES = """
[areas.lines]
"mouth" = { stringing = "wenge", width = "2 mm" }
"brow" = "drop"
[cutters]
"mouth" = "1/16 in straight"
"""


def test_a_mouth_of_stringing_becomes_a_piece(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The strip is let into the face, of its own wood, as wide as asked; the brow is gone; points list both."""
    folder = write_clasp(tmp_path / "job", JOB + LINES, FACE)
    (folder / "clasp.svg").write_text(FACE, encoding="utf-8")
    fits, findings = flow.pieces_of(*read_job_folder(folder))
    pieces = {piece.name: piece for one in fits for piece in one.pieces.pieces}
    assert pieces["mouth"].wood == "wenge"
    assert "brow" not in pieces
    drawn = shapely.get_parts(pieces["mouth"].region)
    assert 2.0 * shapely.maximum_inscribed_circle(drawn[0]).length == pytest.approx(2.0, abs=0.02)
    assert [one.what for one in findings if "The strip" in one.what] == [
        'The strip "mouth" is cut 1.90 mm wide, its recess 2.10 mm wide.'
    ]
    assert face.main(["areas", str(folder), "--points", str(tmp_path / "points.svg")]) == 0
    told = capsys.readouterr().out
    assert "mm wide, inside" in told
    assert told.count("in [areas.lines]: ") == 2
    assert "a line inside one area" in (tmp_path / "points.svg").read_text(encoding="utf-8")


def test_another_wood_said_for_a_strip_is_told(tmp_path: Path) -> None:
    text = JOB.replace('"face" = "holly"\n', '"face" = "holly"\n"mouth" = "padauk"\n') + LINES
    _, findings = flow.pieces_of(*read_job_folder(write_clasp(tmp_path / "job", text, FACE)))
    (told,) = [one.what for one in findings if one.what.startswith("Two woods")]
    assert told == 'Two woods are said for "mouth": wenge in [areas.lines], padauk in [woods]. The first counts.'
