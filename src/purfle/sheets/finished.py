"""The finished piece: the show face with its inlays in their woods, in soft daylight from the upper left."""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Pose
from purfle.model.board import Board
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets.figure_of_wood import Field, tone
from purfle.sheets.parts import parts_of
from purfle.wood import look_of
from purfle.wood.looks import Age

Pixels = NDArray[np.float32]
DOTS = 1600
"""Width of the picture; smaller ones for the sheets are reduced from it."""
PRESSED = 4
"""How hard the PNG is pressed, 0 to 9: harder takes three times as long for a tenth less. Each pixel is told from the
one to its left: most grain runs across, so that this is smaller, and quicker, than to try all ways in every row."""
BENCH = (229, 230, 226)
"""What the board lies on."""
ROUND_IT = 0.035
"""Bench left around the board, as a share of its longer side."""
SHADOWS = ((0.002, 0.34), (0.007, 0.26))
"""How far the board's shadows fall, as a share of the picture's longer side, and how dark they are."""
EASED = 0.0018
"""Width of the board's eased edges, as a share of the picture's longer side."""
FINER = 4
"""An outline is drawn at so many times the picture's size, then reduced, so that its edges are smooth."""
_SHIFT = 4
"""Outlines are drawn to a sixteenth of a pixel."""
LIGHT_FROM = 125.0
"""Where the daylight comes from, degrees counter-clockwise from datum edge A."""


@dataclass(frozen=True, slots=True)
class Canvas:
    """A picture of one face of the board: `scale` pixels to a mm, the board's upper left corner at (left, top)."""

    scale: float
    left: float
    top: float
    board_high: float

    def ring(self, ring: NDArray[np.float64]) -> NDArray[np.int32]:
        """A ring of the board frame in sixteenths of a pixel."""
        x = self.left + ring[:, 0] * self.scale
        y = self.top + (self.board_high - ring[:, 1]) * self.scale
        return np.asarray(np.round(np.column_stack([x, y]) * 2**_SHIFT), np.int32)

    def mask(self, shape: BaseGeometry, size: tuple[int, int]) -> Field:
        """How much of each pixel a region covers, 0 to 1."""
        finer = Canvas(self.scale * FINER, self.left * FINER, self.top * FINER, self.board_high)
        image = np.zeros((size[0] * FINER, size[1] * FINER), np.uint8)
        rings = [finer.ring(shapely.get_coordinates(r)) for r in _rings_of(shape)]
        if image.size and rings:
            cv2.fillPoly(image, rings, 255, cv2.LINE_8, _SHIFT)
            reduced = cv2.resize(image, (size[1], size[0]), interpolation=cv2.INTER_AREA)
            return np.asarray(reduced, np.float32) / np.float32(255.0)
        return np.zeros(size, np.float32)


@dataclass(frozen=True, slots=True)
class Wood:
    """A region of one wood in the board frame, its fibres in degrees, a name that makes its figure differ, its age."""

    shape: BaseGeometry
    species: str
    grain: float
    name: str
    age: Age = "finished"


@dataclass(frozen=True, slots=True)
class Painted:
    """A face without its bench: its wood, how much of each pixel it covers, how bright the bench is in its shadow."""

    wood: Pixels
    cover: Field
    shadow: Field


def finished_picture_png(result: JobResult, width_px: int = DOTS) -> bytes:
    """The finished show face as a PNG of so many pixels across, on a plain bench."""
    how = [cv2.IMWRITE_PNG_COMPRESSION, PRESSED, cv2.IMWRITE_PNG_FILTER, cv2.IMWRITE_PNG_FILTER_SUB]
    made, data = cv2.imencode(".png", finished_pixels(result, width_px), how)
    assert made
    return bytes(data.tobytes())


def jpeg(pixels: NDArray[np.uint8]) -> bytes:
    """A picture as a JPEG, which a sheet carries at a fraction of a PNG's size."""
    made, data = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, 90])
    assert made
    return bytes(data.tobytes())


def reduced(pixels: NDArray[np.uint8], width_px: int) -> NDArray[np.uint8]:
    """The same picture with fewer pixels across."""
    high = round(pixels.shape[0] * width_px / pixels.shape[1])
    return np.asarray(cv2.resize(pixels, (width_px, high), interpolation=cv2.INTER_AREA), np.uint8)


def finished_pixels(
    result: JobResult,
    width_px: int = DOTS,
    face: Face = "show",
    bench: tuple[int, int, int] = BENCH,
    age: Age = "finished",
) -> NDArray[np.uint8]:
    """The face at an age on a bench of one colour, rows from the top, blue green red."""
    shown = _shown(result.layout.board, face)
    parts = tuple(
        Wood(shown.region(p.inlay.pose.region(p.insert.region)), p.insert.wood, shown.direction(p.grain), p.label, age)
        for p in parts_of(result)
        if p.inlay.face == face
    )
    if face == "show" and result.board_picture is not None:
        painted = _photographed(result.board_picture, result.layout.board, parts, width_px)
    else:
        bare = replace(_bare(result.layout.board, face), age=age)
        painted = _painted(bare, _size(result.layout.board), parts, width_px)
    lit = painted.shadow * (1.0 - painted.cover)
    picture: Pixels = np.asarray(cv2.merge([lit * np.float32(level) for level in bench]), np.float32)
    picture += painted.wood * _threefold(painted.cover)
    picture += np.float32(0.5)
    np.clip(picture, 0, 255, out=picture)
    return np.asarray(cv2.cvtColor(picture.astype(np.uint8), cv2.COLOR_RGB2BGR), np.uint8)


def prepare_board(board: Board) -> None:
    """Works out the figure of the bare board, its shadow and the daylight on it ahead of its picture."""
    (canvas, size), bare = _canvas(_size(board), DOTS), _bare(board, "show")
    assert isinstance(bare.shape, Polygon)
    _board_light(canvas, size, bare)
    _lying(canvas, size, bare.shape)
    _brightness(size)


def _shown(board: Board, face: Face) -> Pose:
    return Pose() if face == "show" else Pose(0.0, 0.0, board.width, mirrored=True)


def _bare(board: Board, face: Face) -> Wood:
    shown = _shown(board, face)
    shape = board.rectangle if board.shape is None else shown.region(board.shape)
    return Wood(shape, board.wood, shown.direction(board.grain), "board")


def _size(board: Board) -> tuple[float, float]:
    return board.length, board.width


def _canvas(board: tuple[float, float], width_px: int) -> tuple[Canvas, tuple[int, int]]:
    """Where a board of this size stands in a picture of so many pixels across; the size of the picture, rows first."""
    long, deep = board
    rim = ROUND_IT * max(long, deep)
    scale = width_px / (long + 2 * rim)
    return Canvas(scale, rim * scale, rim * scale, deep), (round((deep + 2 * rim) * scale), width_px)


@lru_cache(maxsize=6)
def _painted(board: Wood, extent: tuple[float, float], parts: tuple[Wood, ...], width_px: int) -> Painted:
    """A face with its parts laid into it; kept, since the picture and a sheet show the same."""
    assert isinstance(board.shape, Polygon)
    canvas, size = _canvas(extent, width_px)
    return _inlaid(_colours(board, _board_light(canvas, size, board)), canvas, board.shape, parts)


def _photographed(seen: NDArray[np.uint8], board: Board, parts: tuple[Wood, ...], width_px: int) -> Painted:
    """The same on the board as it was photographed, seen from straight above."""
    canvas, size = _canvas(_size(board), width_px)
    long, deep = _size(board)
    # the middle of the photograph's first pixel comes to lie where the board begins
    along, across = long * canvas.scale / seen.shape[1], deep * canvas.scale / seen.shape[0]
    way = np.array([[along, 0, canvas.left + (along - 1) / 2], [0, across, canvas.top + (across - 1) / 2]], np.float64)
    laid = cv2.warpAffine(seen, way, size[::-1], flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return _inlaid(np.asarray(laid, np.float32), canvas, board.outline, parts)


def _inlaid(picture: Pixels, canvas: Canvas, outline: Polygon, parts: tuple[Wood, ...]) -> Painted:
    """Lays the parts into the picture of a bare board."""
    cover, shadow = _lying(canvas, (picture.shape[0], picture.shape[1]), outline)
    _seams(picture, canvas, [part.shape for part in parts])
    for part in parts:
        _lay(picture, canvas, part)
    _edges(picture, canvas, outline)
    _daylight(picture)
    return Painted(picture, cover, shadow)


@lru_cache(maxsize=4)
def _lying(canvas: Canvas, size: tuple[int, int], outline: Polygon) -> tuple[Field, Field]:
    """How much of each pixel a board covers, and how bright the bench is in its shadow."""
    cover = canvas.mask(outline, size)
    return cover, _shadow(cover)


def _shadow(board: Field) -> Field:
    """How bright the bench is in the board's soft shadow, 1 where none falls."""
    bright = np.ones(board.shape, np.float32)
    for reach, strength in SHADOWS:
        off = reach * max(board.shape)
        moved = cv2.warpAffine(board, np.array([[1, 0, off * 0.8], [0, 1, off]], np.float32), board.shape[::-1])
        bright *= 1.0 - strength * cv2.GaussianBlur(moved, (0, 0), max(0.6, off * 0.8))
    return bright


def _lay(picture: Pixels, canvas: Canvas, part: Wood) -> None:
    """Lays a region of wood into the picture."""
    mask, (rows, columns) = _window(picture, canvas, part.shape)
    if mask.size == 0:
        return
    under = picture[rows, columns]
    under += (_colours(part, _light(canvas, part, (rows, columns))) - under) * _threefold(mask)


@lru_cache(maxsize=6)
def _board_light(canvas: Canvas, size: tuple[int, int], board: Wood) -> Field:
    return _light(canvas, board, (slice(0, size[0]), slice(0, size[1])))


def _light(canvas: Canvas, wood: Wood, window: tuple[slice, slice]) -> Field:
    """How light or dark a wood's surface is in a window of the picture, about 1."""
    rows, columns = window
    x = np.arange(columns.start, columns.stop, dtype=np.float32)[None, :] + np.float32(0.5)
    y = np.arange(rows.start, rows.stop, dtype=np.float32)[:, None] + np.float32(0.5)
    x, y = (x - canvas.left) / canvas.scale, canvas.board_high - (y - canvas.top) / canvas.scale
    cos, sin = Pose(wood.grain).matrix()[:, 0].tolist()
    along, across = _turned(x, y, cos, sin), _turned(y, x, cos, -sin)
    light = tone(along, across, look_of(wood.species), wood.name)
    # fibres that lie square to the light throw back more of it
    light *= 1.0 + 0.035 * math.cos(2 * math.radians(wood.grain - LIGHT_FROM - 90.0))
    return light


def _turned(one: Field, other: Field, cos: float, sin: float) -> Field:
    """The sum of two shares; a row or a column where the other share is none."""
    if sin == 0.0 or cos == 0.0:
        return np.asarray(one * cos if sin == 0.0 else other * sin, np.float32)
    return np.asarray(one * cos + other * sin, np.float32)


def _colours(wood: Wood, light: Field) -> Pixels:
    """A wood's colour at its age in light and dark; what lies deeper in the figure is a little warmer."""
    look, off = look_of(wood.species), light - np.float32(1.0)
    levels = {"fresh": look.fresh, "finished": look.finished, "aged": look.aged}[wood.age]
    channels = []
    for level, falls in zip(levels, (0.85, 1.0, 1.2), strict=True):  # blue falls faster than red
        channel = off * np.float32(falls)
        channel += np.float32(1.0)
        channel *= np.float32(level)
        channels.append(channel)
    return np.asarray(cv2.merge(channels), np.float32)


def _threefold(field: Field) -> Pixels:
    """The same number for red, green and blue: numpy multiplies that many times faster than one that is spread."""
    return np.asarray(cv2.merge([field, field, field]), np.float32)


def _window(picture: Pixels, canvas: Canvas, shape: BaseGeometry) -> tuple[Field, tuple[slice, slice]]:
    """The coverage of a region, cut to its bounds, and where that lies in the picture."""
    x0, y0, x1, y1 = shape.bounds
    high, wide = picture.shape[:2]
    left = max(0, math.floor(canvas.left + x0 * canvas.scale) - 2)
    right = min(wide, math.ceil(canvas.left + x1 * canvas.scale) + 2)
    top = max(0, math.floor(canvas.top + (canvas.board_high - y1) * canvas.scale) - 2)
    low = min(high, math.ceil(canvas.top + (canvas.board_high - y0) * canvas.scale) + 2)
    moved = Canvas(canvas.scale, canvas.left - left, canvas.top - top, canvas.board_high)
    return moved.mask(shape, (max(0, low - top), max(0, right - left))), (slice(top, low), slice(left, right))


def _seams(picture: Pixels, canvas: Canvas, shapes: list[BaseGeometry]) -> None:
    """The hairlines around the inserts: thin dark lines, drawn before the inserts are laid into them."""
    rings = [canvas.ring(shapely.get_coordinates(r)) for s in shapes for r in _rings_of(s)]
    line = np.zeros(picture.shape[:2], np.uint8)
    cv2.polylines(line, rings, True, 255, min(2, max(1, round(canvas.scale * 0.25))), cv2.LINE_AA, _SHIFT)
    picture *= _share(line, -0.5)


def _rings_of(shape: BaseGeometry) -> list[LinearRing]:
    polygons = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon)]
    return [ring for p in polygons for ring in (p.exterior, *p.interiors)]


def _share(line: NDArray[np.uint8], strength: float) -> Pixels:
    """A factor for each pixel: 1 where nothing is drawn, 1 + strength where a line is drawn in full."""
    return _threefold(np.asarray(1.0 + (strength / 255.0) * line.astype(np.float32), np.float32))


def _edges(picture: Pixels, canvas: Canvas, outline: Polygon) -> None:
    """The eased edges of the board: light on the sides towards the light, dark on the others."""
    wide = max(1, round(EASED * max(picture.shape)))
    ring = shapely.get_coordinates(shapely.orient_polygons(outline, exterior_cw=True).exterior)
    sides = [canvas.ring(side) for side in np.stack([ring[:-1], ring[1:]], axis=1)]
    # going round clockwise, the wood's outer side is on the left
    towards = np.radians(LIGHT_FROM)
    lit = np.diff(ring, axis=0) @ np.array([np.sin(towards), -np.cos(towards)]) > 0.0
    for towards_light, strength in ((True, 1.16), (False, 0.72)):
        line = np.zeros(picture.shape[:2], np.uint8)
        chosen = [side for side, is_lit in zip(sides, lit, strict=True) if is_lit == towards_light]
        cv2.polylines(line, chosen, False, 255, wide, cv2.LINE_AA, _SHIFT)
        picture *= _share(line, strength - 1.0)


def _daylight(picture: Pixels) -> None:
    """A window to the upper left: the board is brighter there, a little darker away from it."""
    bright = _brightness((picture.shape[0], picture.shape[1]))
    picture *= _threefold(0.93 + 0.1 * bright)
    picture += _threefold(3.0 * bright)


@lru_cache(maxsize=2)
def _brightness(size: tuple[int, int]) -> Field:
    """How bright the window makes each pixel, 0 to 1."""
    high, wide = size
    y, x = np.linspace(0, 1, high, dtype=np.float32)[:, None], np.linspace(0, 1, wide, dtype=np.float32)[None, :]
    return np.asarray(np.exp(-((x - 0.25) ** 2 / 0.35 + (y - 0.1) ** 2 / 0.45)), np.float32)
