"""Boards whose edges are not all straight: measured, or followed in a photograph, from the job file to the sheets."""

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import shapely
from test_ready_job import SHOP

import board_photograph as plank
from purfle import job as flow
from purfle.artwork.board_edge import edge_seen
from purfle.errors import JobFileError, PictureError, PlacingError
from purfle.files.job_toml import load_job
from purfle.files.picture import read_picture_bytes
from purfle.model.artwork import Photograph, Picture
from purfle.model.board import Board, BoardPhotograph

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text())
JOB = """
[job]
name = "Plank"
units = "mm"
[board]
wood = "black walnut"
length = 110
width = 70
thickness = 12
outline = OUTLINE
[fit]
seam = 0.1
cutter = "1/16 in straight"
[[shape]]
kind = "oval"
length = 40
width = 26
wood = "padauk"
depth = 2
PLACE
"""
MEASURED = "[[0, 8], [40, 0], [110, 0], [110, 66], [70, 70], [20, 61]]"


def wanted(folder: Path, outline: str = MEASURED, place: str = "centred = true", more: str = "") -> Path:
    """The folder of a job with this outline."""
    (folder / "shop.toml").write_text(SHOP)
    (folder / "job.toml").write_text(JOB.replace("OUTLINE", outline).replace("PLACE", place) + more)
    return folder


def faults(folder: Path) -> list[tuple[str, str]]:
    """What is wrong with the job file, and where."""
    with pytest.raises(JobFileError) as caught:
        load_job(folder)
    return [(fault.what, fault.where) for fault in caught.value.faults]


@pytest.fixture(scope="module")
def photograph() -> tuple[bytes, tuple[tuple[float, float], ...]]:
    """The plank on its cloth, photographed at an angle."""
    return plank.photograph()


def board_of(corners: tuple[tuple[float, float], ...] | None) -> Board:
    """The plank with the rectangle that was measured on it."""
    left, front, long, wide = plank.RECTANGLE
    seen = BoardPhotograph(Path("plank.jpg"), Photograph((long, wide), corners=corners), (left, front))
    return Board("oak", plank.LENGTH, plank.WIDTH, 19.0, photograph=seen, edges_seen=True)


def test_the_edge_is_followed_in_a_photograph_to_a_few_tenths(photograph: tuple) -> None:
    """Against the outline that was photographed; a knot, a shadow, bark and pale figure do not lead it astray."""
    data, corners = photograph
    picture = read_picture_bytes(data, "plank.jpg")
    seen = edge_seen(picture, board_of(corners))
    true = plank.outline().exterior
    places = shapely.points(shapely.get_coordinates(shapely.segmentize(seen.outline.exterior, 1.0)))
    off = shapely.distance(places, true)
    assert off.mean() < 0.5
    assert np.percentile(off, 95) < 1.2
    assert shapely.hausdorff_distance(true, seen.outline.exterior, 0.1) < 3.0
    assert seen.findings == ()
    assert edge_seen(picture, board_of(corners)).outline.equals(seen.outline)


def test_a_board_that_is_longer_than_stated_is_told(photograph: tuple) -> None:
    """Where the photograph and the tape disagree, the maker hears on which side and by how much."""
    data, corners = photograph
    board = Board("oak", 400.0, plank.WIDTH, 19.0, photograph=board_of(corners).photograph, edges_seen=True)
    (finding,) = edge_seen(read_picture_bytes(data, "plank.jpg"), board).findings
    assert finding.severity == "look"
    assert "beyond where the job has its edge at the right" in finding.what


def test_without_table_around_it_no_edge_is_guessed(photograph: tuple) -> None:
    """A photograph that shows wood alone is refused with what to do."""
    wood = np.ascontiguousarray(plank.on_cloth()[300:700, 300:1200])
    high, wide = wood.shape[:2]
    board = Board(
        "oak",
        300.0,
        150.0,
        19.0,
        photograph=BoardPhotograph(
            Path("wood.png"), Photograph((300.0, 150.0), corners=((0, 0), (wide, 0), (wide, high), (0, high)))
        ),
        edges_seen=True,
    )
    with pytest.raises(PictureError, match="no table around the board"):
        edge_seen(Picture(wood, None, False, "wood.png"), board)


def test_a_measured_outline_goes_through_to_sheets_and_report(tmp_path: Path) -> None:
    """The job is proven, its report has the outline, its picture ends at it, and A and B are told to be lines."""
    result, files = flow.make(wanted(tmp_path))
    assert result.proof is not None
    assert result.proof.proven
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    board = report["inputs"]["board"]
    assert board["outline_from"] == "job"
    assert shapely.Polygon(board["outline_mm"]).area == pytest.approx(result.layout.board.outline.area)
    assert result.layout.board.outline.area < 0.97 * 110 * 70
    assert any("A and B are the lines that touch it" in one.what for one in result.findings)
    set_up = next(one for one in result.cutting.set_ups if one.stock == "board")
    assert set_up.outline.equals(result.layout.board.outline)


def test_the_photographed_edge_goes_through_the_whole_job(tmp_path: Path, photograph: tuple) -> None:
    """The picture of the finished piece is the photograph, ended at the edge."""
    data, corners = photograph
    (tmp_path / "plank.jpg").write_bytes(data)
    left, front, long, wide = plank.RECTANGLE
    more = f"""
[board.photograph]
file = "plank.jpg"
rectangle = [{long}, {wide}]
from_left = {left}
from_front = {front}
corners = {json.dumps([f"{x:.0f}, {y:.0f}" for x, y in corners])}
"""
    text = JOB.replace("OUTLINE", '"photograph"').replace("PLACE", "centred = true")
    text = text.replace("length = 110\nwidth = 70", f"length = {plank.LENGTH}\nwidth = {plank.WIDTH}")
    (tmp_path / "shop.toml").write_text(SHOP)
    (tmp_path / "job.toml").write_text(text + more)
    result, files = flow.make(tmp_path)
    assert result.proof is not None
    assert result.proof.proven
    assert json.loads(files["report.json"])["inputs"]["board"]["outline_from"] == "photograph"
    assert b'<clipPath id="clip-edge">' in files["plank-finished.svg"]


def test_an_inlay_over_a_live_edge_is_refused_with_its_place(tmp_path: Path) -> None:
    """Inside the rectangle is not enough: it is the wood that counts."""
    place = 'from_left = "1 mm"\nfrom_front = "40 mm"'
    with pytest.raises(PlacingError) as caught:
        flow.make(wanted(tmp_path, place=place))
    (fault,) = caught.value.faults
    assert fault.what.endswith("does not lie on the board")
    assert "mm over the edge of the board, at" in fault.where


def test_near_a_live_edge_the_wood_that_is_left_is_measured_to_it(tmp_path: Path) -> None:
    """The upper left end of the oval lies near the slanting edge, far from every side of the rectangle."""
    result, _ = flow.make(wanted(tmp_path, place='from_left = "37 mm"\nfrom_front = "46 mm"'))
    (near,) = [one for one in result.findings if "to the edge" in one.what]
    recess = result.layout.inlays[0].recess
    away = recess.distance(result.layout.board.outline.exterior)
    assert away < 3.0
    assert f"leaves {away:.1f} mm to the edge" in near.what


HINGE = """
[[fitting]]
kind = "hinge"
face = "underside"
length = "20 mm"
width = "8 mm"
depth = "2 mm"
from_left = "LEFT mm"
from_front = 0
open_edge = true
"""


def test_a_hinge_wants_a_straight_stretch(tmp_path: Path) -> None:
    """On the straight part of A it is let in; where the board slants away, it is refused."""
    result, _ = flow.make(wanted(tmp_path, more=HINGE.replace("LEFT", "75")))
    assert result.proof is not None
    assert result.proof.proven
    with pytest.raises(PlacingError, match="not straight there"):
        flow.make(wanted(tmp_path, more=HINGE.replace("LEFT", "22")))


def test_wrong_outlines_are_told_with_their_line(tmp_path: Path) -> None:
    """One fault each, at the line of the key."""
    line = "job.toml, line 10, board.outline"
    assert faults(wanted(tmp_path, "[[0, 0], [110, 70], [110, 0], [0, 70]]")) == [
        ("The outline crosses itself, or encloses nothing", line)
    ]
    assert faults(wanted(tmp_path, "[[0, 0], [114.5, 0], [110, 70]]")) == [
        ("The outline goes 4.5 mm beyond the length and width of the board", line)
    ]
    assert faults(wanted(tmp_path, "[[0, 0], [110, 0]]"))[0][1] == line
    assert faults(wanted(tmp_path, "[[0, 0], [110, 0], [1, 2, 3]]"))[0][0] == "outline has to be two lengths"
    assert faults(wanted(tmp_path, '"photograph"')) == [
        ("There is no photograph of the board to follow its edge in", line)
    ]
    (tmp_path / "plank.jpg").write_bytes(b"")
    more = '[board.photograph]\nfile = "plank.jpg"\n'
    assert faults(wanted(tmp_path, '"photograph"', more=more)) == [
        ("A board whose edges are not straight has no corners to be measured by", line)
    ]


def test_an_outline_may_be_measured_in_inches(tmp_path: Path) -> None:
    """Places take a length with a unit, as everywhere."""
    outline = '[["0 in", "1/4 in"], ["4 in", "0"], ["4 in", "2 3/4 in"]]'
    shape = load_job(wanted(tmp_path, outline)).board.shape
    assert shape is not None
    assert shape.bounds == pytest.approx((0.0, 0.0, 101.6, 69.85))
