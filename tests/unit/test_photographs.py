"""Photographs of drawings on paper: corners found, perspective and light removed, the size taken from the sheet."""

import io
import math
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

from paper_photograph import Scene, photographed
from purfle.artwork import areas_of_picture, design_size
from purfle.artwork.photograph import rectified, shape_seen, straightened
from purfle.errors import JobFileError, PictureError
from purfle.files.job_toml import load_job
from purfle.files.picture import read_picture_bytes
from purfle.job import BOARD_PX, board_picture_of
from purfle.model.artwork import Photograph, Picture, TraceRule
from purfle.traced import areas_of, scale_of

RED, BLUE, YELLOW = (194, 59, 34), (47, 102, 144), (230, 181, 53)
CARD = (148.0, 105.0)
"""A card, mm: width and height as it lies."""
DISC, EYE, SQUARE = ((52.0, 55.0), 34.0), ((58.0, 48.0), 9.0), (98.0, 30.0, 134.0, 66.0)
"""Middle and radius of two discs, and the sides of a square, mm from the upper left corner of the card."""
SCENE = Scene(tilt=28, turn=25, size=(1100, 850), seed=4, finer=1, crease=6)


def printed(px_per_mm: float = 12.0) -> np.ndarray:
    """A blue disc with a yellow eye, and a red square, on white paper."""
    image = Image.new("RGB", tuple(round(side * px_per_mm) for side in CARD), (255, 255, 255))
    pen = ImageDraw.Draw(image)
    for ((x, y), radius), colour in ((DISC, BLUE), (EYE, YELLOW)):
        box = (x - radius, y - radius, x + radius, y + radius)
        pen.ellipse([side * px_per_mm for side in box], fill=colour)
    pen.rectangle([side * px_per_mm for side in SQUARE], fill=RED)
    return np.array(image)


@pytest.fixture(scope="module")
def photograph() -> tuple[bytes, np.ndarray]:
    """The card photographed at an angle in uneven light, with a shadow and a crease; and its true corners."""
    return photographed(printed(), CARD, SCENE)


def picture_of(photograph: tuple[bytes, np.ndarray]) -> Picture:
    return read_picture_bytes(photograph[0], "card.jpg")


def test_a_photographed_drawing_has_the_areas_that_were_drawn(photograph: tuple[bytes, np.ndarray]) -> None:
    """Closed forms: two discs and a square at their true places within half a millimetre, and no area more."""
    picture = picture_of(photograph)
    flat = rectified(picture, Photograph(CARD))
    assert np.abs(flat.corners - photograph[1]).max() < 0.5
    areas = areas_of_picture(flat.picture, TraceRule(smallest_px=30.0))
    assert flat.px_per_mm is not None
    drawn = [a.region for a in areas.areas if a.number not in areas.ground]
    assert len(areas.areas) == 4
    assert len(drawn) == 3
    (x, y), radius = DISC
    disc = shapely.Point(x, CARD[1] - y).buffer(radius, quad_segs=64)
    square = shapely.box(SQUARE[0], CARD[1] - SQUARE[3], SQUARE[2], CARD[1] - SQUARE[1])
    for wanted in (disc, square):
        regions = [shapely.transform(region, lambda p: p / flat.px_per_mm) for region in drawn]
        nearest = min(regions, key=lambda region: region.centroid.distance(wanted.centroid))
        edge = shapely.points(shapely.get_coordinates(shapely.segmentize(nearest.exterior, 1.0)))
        assert float(shapely.distance(edge, wanted.exterior).mean()) * flat.px_per_mm < 1.0
    assert any("Light varies" in finding.what for finding in flat.findings)


def test_paper_becomes_one_white_however_it_was_lit(photograph: tuple[bytes, np.ndarray]) -> None:
    """Away from the drawing nothing but white is left: no shadow, no crease, no rim of the table."""
    pixels = rectified(picture_of(photograph), Photograph(CARD)).picture.pixels
    high = round(pixels.shape[0] * 0.12)
    assert int(pixels[:high].min()) >= 240
    assert int(pixels[:, : high // 2].min()) >= 240


def test_corners_that_are_given_are_used_and_turn_the_drawing(photograph: tuple[bytes, np.ndarray]) -> None:
    """Beginning with the upper right corner turns the drawing by a quarter, as if that were its upper left one."""
    corners = [tuple(corner) for corner in photograph[1].tolist()]
    turned = (*corners[1:], corners[0])
    flat = straightened(picture_of(photograph), Photograph((CARD[1], CARD[0]), corners=turned))
    upright = straightened(picture_of(photograph), Photograph(CARD, corners=tuple(corners)))
    again = np.rot90(upright.picture.pixels)
    assert flat.picture.pixels.shape == again.shape
    assert np.abs(flat.picture.pixels.astype(int) - again).mean() < 2.0


def test_the_way_a_named_sheet_lies_and_its_shape_follow_from_its_corners(photograph: tuple[bytes, np.ndarray]) -> None:
    """Zhang and He's formula against the shape that was photographed; a sheet of another shape is a finding."""
    assert shape_seen(photograph[1], SCENE.size) == pytest.approx(CARD[0] / CARD[1], rel=0.01)
    picture = picture_of(photograph)
    upright = Photograph((CARD[1], CARD[0]), either_way=True)
    assert straightened(picture, upright).findings == ()
    (odd,) = straightened(picture, Photograph((100.0, 200.0), sheet_name="the card")).findings
    assert (odd.severity, odd.where) == ("look", "photograph")
    assert "1.41 times as wide as high; the card is 0.50 times" in odd.what
    assert "which way it lies" in odd.mend


def test_the_size_may_come_from_a_known_distance_alone(photograph: tuple[bytes, np.ndarray]) -> None:
    """A diagonal of the card gives the same scale as the card's sides; one that disagrees is told and followed."""
    picture, corners = picture_of(photograph), photograph[1].tolist()
    diagonal = (tuple(corners[0]), tuple(corners[2]), math.hypot(*CARD))
    flat = straightened(picture, Photograph(known=diagonal))
    assert flat.picture.pixels.shape[1] / flat.px_per_mm == pytest.approx(CARD[0], rel=0.01)
    both = straightened(picture, Photograph(CARD, known=(*diagonal[:2], 1.1 * diagonal[2])))
    assert [finding.what for finding in both.findings] == [
        "The known distance and what the job says disagree by 9 %; the known distance is followed."
    ]


def test_a_photograph_without_a_sheet_is_refused_with_what_to_give() -> None:
    """A table and no sheet: what, where, and an example of how corners are given."""
    noise = np.random.default_rng(1).normal(90.0, 6.0, (300, 400, 3))
    plain = Picture(cv2.GaussianBlur(noise, (0, 0), 3).astype(np.uint8), None, True, "table.jpg")
    with pytest.raises(PictureError) as refusal:
        rectified(plain, Photograph())
    assert refusal.value.what == "The four corners of the sheet cannot be found in this photograph."
    assert refusal.value.where == "table.jpg"
    assert 'corners = ["120, 80"' in refusal.value.mend


@pytest.mark.parametrize(
    ("corners", "what"),
    [
        (((0, 0), (0, 90), (90, 90), (90, 0)), "The four corners do not go round the sheet clockwise."),
        (((0, 0), (500, 0), (90, 90), (0, 90)), "A corner of the sheet lies outside the picture."),
        (((0, 0), (90, 0), (30, 20), (0, 90)), "The four corners do not go round the sheet clockwise."),
    ],
)
def test_corners_that_cannot_be_are_refused(corners: tuple, what: str) -> None:
    with pytest.raises(PictureError) as refusal:
        straightened(
            Picture(np.full((100, 100, 3), 200, np.uint8), None, False, "card.png"), Photograph(None, False, corners)
        )
    assert refusal.value.what == what
    assert refusal.value.where == "card.png, corners"
    assert "upper left corner" in refusal.value.mend


JOB = """[job]
name = "Card"
units = "mm"
[board]
wood = "black walnut"
length = 300
width = 200
thickness = 19
[picture]
file = "card.jpg"
centred = true
depth = 3
[picture.photograph]
sheet = ["148 mm", "105 mm"]
[fit]
seam = 0.1
cutter = "1/8 in straight"
"""


def job_in(folder: Path, text: str, data: bytes = b"not looked at") -> Path:
    (folder / "card.jpg").write_bytes(data)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder


def test_a_job_takes_its_size_from_the_sheet(tmp_path: Path, photograph: tuple[bytes, np.ndarray]) -> None:
    """Without a height, the design is as large as it is drawn on the card: from the disc's foot to its top."""
    job = load_job(job_in(tmp_path, JOB, photograph[0]))
    assert job.picture is not None
    areas = areas_of(job)
    high = scale_of(job.picture, areas) * design_size(areas)[1]
    assert high == pytest.approx(2 * DISC[1], abs=0.4)
    taller = load_job(job_in(tmp_path, JOB.replace("depth = 3", "depth = 3\nheight = 40"), photograph[0]))
    assert taller.picture is not None
    assert scale_of(taller.picture, areas) * design_size(areas)[1] == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("said", "what", "mend"),
    [
        ('sheet = "a6"', 'sheet cannot be "a6"', "a5"),
        ('sheet = ["0 mm", "20 mm"]', "sheet has to have a width and a height", "200 mm"),
        (
            'sheet = "a4"\ncorners = ["1, 2", "3, 4"]',
            "corners has to be four places in the picture, in px",
            "clockwise",
        ),
        ('corners = ["1, 2", "3, 4", "5, 5", "1, 2"]\nsheet = "a4"', "Two of the corners are one", "four places"),
        ('known_distance = ["1, 2", "3, 4"]', "known_distance has to be two places", '"150 mm"'),
        ('known_distance = ["1, 2", "3, 4", "-5 mm"]', "known_distance has to be more than nothing", "Measure"),
        ("", "height is missing in [picture]", "height"),
        ('sheet = "a4"\ncorner = []', "corner is not known here", "corners"),
    ],
)
def test_slips_in_the_photograph_table_are_told(tmp_path: Path, said: str, what: str, mend: str) -> None:
    with pytest.raises(JobFileError) as refusal:
        load_job(job_in(tmp_path, JOB.replace('sheet = ["148 mm", "105 mm"]', said)))
    fault = refusal.value.faults[0]
    assert fault.what.startswith(what)
    assert fault.where.startswith("job.toml, line ")
    assert mend in fault.mend


def test_a_blue_sheet_keeps_its_colour() -> None:
    """Coloured paper is ground like any other: evened out, not made white."""
    jpeg, _ = photographed(np.where(printed() == 255, np.array([113, 147, 158], np.uint8), printed()), CARD, SCENE)
    image = rectified(read_picture_bytes(jpeg, "blue.jpg"), Photograph(CARD)).picture.pixels
    corner = image[20:60, 20:60].reshape(-1, 3)
    assert int(np.ptp(corner, axis=0).max()) <= 12
    assert corner[:, 2].mean() > corner[:, 0].mean() + 12


def test_photographs_are_jpegs_of_the_size_asked_for(photograph: tuple[bytes, np.ndarray]) -> None:
    """The means of these tests are what they say: the sheet covers a good part of the picture, seen at an angle."""
    assert Image.open(io.BytesIO(photograph[0])).size == SCENE.size
    area = shapely.Polygon(photograph[1]).area
    assert area > 0.2 * SCENE.size[0] * SCENE.size[1]


BOARD_JOB = JOB.replace("thickness = 19", 'thickness = 19\n[board.photograph]\nfile = "plank.jpg"\n{said}')


def plank() -> tuple[bytes, np.ndarray]:
    """A board of 300 x 200 mm with a red knot of 10 mm radius, 60 mm from B and 50 mm from A; and its true corners."""
    image = np.full((600, 900, 3), (190, 150, 100), np.uint8)
    cv2.circle(image, (180, 450), 30, (150, 40, 30), -1)
    return photographed(
        image, (300.0, 200.0), Scene(size=(800, 600), finer=1, seed=7, crease=0.0, table=(0.02, 0.02, 0.02))
    )


@pytest.mark.parametrize("by_rectangle", [False, True])
def test_a_photographed_board_lies_as_the_board_does(tmp_path: Path, by_rectangle: bool) -> None:
    """A knot comes out where it was measured from both datum edges, by the board's corners and by a rectangle on it."""
    jpeg, corners = plank()
    said = ""
    if by_rectangle:
        # the front left quarter, whose corners follow from the board's by the same homography
        flat = np.array([[0, 200], [300, 200], [300, 0], [0, 0]], np.float32)
        seen = cv2.getPerspectiveTransform(flat, corners.astype(np.float32))
        quarter = np.array([[[30, 110], [160, 110], [160, 20], [30, 20]]], np.float64)
        places = [f"{x:.1f}, {y:.1f}" for x, y in cv2.perspectiveTransform(quarter, seen)[0]]
        said = f'corners = {places}\nrectangle = ["130 mm", "90 mm"]\nfrom_left = 30\nfrom_front = 20\n'
    (tmp_path / "plank.jpg").write_bytes(jpeg)
    job = load_job(job_in(tmp_path, BOARD_JOB.format(said=said)))
    pixels = board_picture_of(job.board)
    assert pixels is not None
    assert pixels.shape == (BOARD_PX * 200 // 300, BOARD_PX, 3)
    scale = BOARD_PX / 300.0
    red = (pixels[..., 0].astype(int) > 1.8 * pixels[..., 1]) & (pixels[..., 0] > 40)
    row, column = np.nonzero(red)
    middle = (float(np.median(column)) / scale, 200.0 - float(np.median(row)) / scale)
    assert middle == pytest.approx((60.0, 50.0), abs=0.6)
    assert red.sum() / scale**2 == pytest.approx(math.pi * 100.0, rel=0.12)


@pytest.mark.parametrize(
    ("said", "what", "mend"),
    [
        (
            'rectangle = ["290 mm", "90 mm"]\nfrom_left = 30\nfrom_front = 20',
            "The rectangle does not lie on the board",
            "along A",
        ),
        ("corner = 3", "corner is not known here", "corners"),
        ('corners = ["1, 2"]', "corners has to be four places in the picture, in px", "clockwise"),
    ],
)
def test_slips_in_the_board_photograph_are_told(tmp_path: Path, said: str, what: str, mend: str) -> None:
    (tmp_path / "plank.jpg").write_bytes(b"not looked at")
    with pytest.raises(JobFileError) as refusal:
        load_job(job_in(tmp_path, BOARD_JOB.format(said=said)))
    (fault,) = refusal.value.faults
    assert fault.what == what
    assert "board.photograph" in fault.where
    assert mend in fault.mend


def test_a_photograph_of_the_board_has_to_be_there(tmp_path: Path) -> None:
    with pytest.raises(JobFileError) as refusal:
        load_job(job_in(tmp_path, BOARD_JOB.format(said="")))
    (fault,) = refusal.value.faults
    assert fault.what == 'There is no file "plank.jpg" in the job folder'
    assert fault.mend == "Copy the photograph into the job folder."
