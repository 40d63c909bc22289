"""The picture of the finished piece: colours at their places, grain along each piece's real direction."""

import io
from dataclasses import replace

import cv2
import numpy as np
import pytest
import resvg_py
from lxml import etree
from PIL import Image

from purfle.sheets import finished_picture, finished_picture_png
from purfle.sheets.finished import ROUND_IT
from purfle.sheets.parts import parts_of
from purfle.wood import look_of
from sample import bare_result, tern_result


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), float)


def colour_at(image: np.ndarray, x: float, y: float, scale: float, rim: float, high: float) -> np.ndarray:
    """Mean colour of a square of about 1 mm at a place of the board."""
    column, row, half = (rim + x) * scale, (rim + high - y) * scale, max(1, round(scale / 2))
    return image[int(row) - half : int(row) + half, int(column) - half : int(column) + half].reshape(-1, 3).mean(axis=0)


def test_each_piece_shows_the_colour_of_its_wood_at_its_place() -> None:
    """Inside each piece the picture has its wood's colour, give or take light and figure."""
    result = tern_result()
    board = result.layout.board
    rim, image = ROUND_IT * board.length, pixels(finished_picture_png(result, 1000))
    scale = 1000 / (board.length + 2 * rim)
    for part in (p for p in parts_of(result) if p.inlay.face == "show"):
        place = part.inlay.pose.region(part.insert.region.representative_point())
        seen = colour_at(image, place.x, place.y, scale, rim, board.width)
        assert seen == pytest.approx(look_of(part.insert.wood).finished, abs=30.0), part.insert.name


def test_the_picture_is_the_same_every_time() -> None:
    result = tern_result()
    assert finished_picture_png(result, 300) == finished_picture_png(result, 300)
    assert finished_picture(result) == finished_picture(result)


@pytest.mark.parametrize("grain", [0.0, 30.0, 90.0, 150.0])
def test_grain_runs_along_its_direction(grain: float) -> None:
    """The structure tensor of the bare board's picture points square to the grain (within 5 degrees)."""
    result = bare_result(200.0, 200.0)
    board = replace(result.layout.board, wood="sapele", grain=grain)
    image = pixels(finished_picture_png(replace(result, layout=replace(result.layout, board=board, inlays=())), 700))
    grey = cv2.GaussianBlur(image[60:-60, 60:-60].mean(axis=2), (0, 0), 2.5)
    down, right = np.gradient(grey)
    across = 0.5 * np.degrees(np.arctan2(2 * (right * -down).sum(), (right**2 - down**2).sum()))
    off = (across + 90.0 - grain + 90.0) % 180.0 - 90.0
    assert abs(off) < 5.0


def test_the_drawing_of_the_piece_is_at_true_size_and_has_every_piece() -> None:
    """Parsed by lxml, drawn by resvg: board size in mm, one group a piece, holly where the body is."""
    result = tern_result()
    drawing = etree.fromstring(finished_picture(result))
    assert (drawing.get("width"), drawing.get("height")) == ("420mm", "260mm")
    names = [g.get("id") for g in drawing.iter("{http://www.w3.org/2000/svg}g")]
    assert names == ["board", *(f"piece-{n}" for n in range(1, 15))]
    image = pixels(bytes(resvg_py.svg_to_bytes(svg_string=finished_picture(result).decode(), dpi=50.8)))
    body = parts_of(result)[0]
    place = body.inlay.pose.region(body.insert.region.representative_point())
    seen = colour_at(image, place.x, place.y, 2.0, 0.0, 260.0)
    assert seen == pytest.approx(look_of("holly").finished, abs=12.0)


def test_labels_and_spares_of_parts() -> None:
    parts = parts_of(tern_result())
    assert [p.label for p in parts] == [str(n) for n in range(1, 15)] + ["k"]
    assert [p.label for p in parts if len(p.places) > 1] == ["4", "11", "13", "14"]
    assert all(p.along > p.across for p in parts if p.insert.name not in ("eye", "cap"))
