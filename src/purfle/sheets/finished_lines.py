"""The finished piece in lines: an SVG at true size, woods in their colours, their figure along each piece's grain."""

import base64

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Pose
from purfle.model.job import JobResult
from purfle.sheets.drawing import region_path
from purfle.sheets.figure_of_wood import RING_WIDE
from purfle.sheets.parts import parts_of
from purfle.wood import look_of

Line = NDArray[np.float64]
RISE = 0.09
"""How much the heart of the tree comes up on the way along a board."""


def finished_picture(result: JobResult) -> bytes:
    """The finished show face as an SVG at true size, to be looked at; cut files are made elsewhere."""
    board = result.layout.board
    flip = Pose(0.0, 0.0, board.width, mirrored=True)
    bodies = [_wood(flip.region(board.outline), board.wood, -board.grain, "board")]
    if result.board_picture is not None:
        seen = photograph(result.board_picture, (0.0, 0.0, board.length, board.width))
        bodies = [seen if board.shape is None else clipped(seen, flip.region(board.shape))]
    for part in (p for p in parts_of(result) if p.inlay.face == "show"):
        shape = flip.region(part.inlay.pose.region(part.insert.region))
        bodies.append(_wood(shape, part.insert.wood, -part.grain, f"piece-{part.label}"))
    size = f'width="{board.length:g}mm" height="{board.width:g}mm" viewBox="0 0 {board.length:g} {board.width:g}"'
    title = result.job.name.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n<title>{title}</title>\n'
    return (head + "\n".join(bodies) + "\n</svg>\n").encode()


def photograph(seen: NDArray[np.uint8], place: tuple[float, float, float, float]) -> str:
    """A photograph (rows from the top) in a drawing: left, top, width, height."""
    made, data = cv2.imencode(".jpg", np.ascontiguousarray(seen[:, :, ::-1]), [cv2.IMWRITE_JPEG_QUALITY, 88])
    assert made
    left, top, wide, high = (f"{value:.3f}" for value in place)
    size = f'x="{left}" y="{top}" width="{wide}" height="{high}" preserveAspectRatio="none"'
    return f'<image {size} href="data:image/jpeg;base64,{base64.b64encode(data.tobytes()).decode()}"/>'


def clipped(body: str, outline: BaseGeometry) -> str:
    """A part of a drawing that ends at the outline of the board."""
    clip = f'<clipPath id="clip-edge"><path d="{region_path(outline)}" clip-rule="evenodd"/></clipPath>'
    return f'{clip}<g clip-path="url(#clip-edge)">{body}</g>'


def _wood(shape: BaseGeometry, wood: str, grain: float, name: str) -> str:
    """A region in its wood's colour, with the lines of its figure clipped to it and a hairline around it."""
    look = look_of(wood)
    colour = "#{:02x}{:02x}{:02x}".format(*look.finished)
    dark = "#{:02x}{:02x}{:02x}".format(*(round(c * 0.55) for c in look.finished))
    path, turned = region_path(shape), Pose(-grain)
    x0, y0, x1, y1 = shapely.transform(shape, turned.points).bounds
    apart = 1.6 - 0.9 * min(1.0, look.contrast)
    lines = _arches(x0, y0, x1, y1) if look.grain == "rings" else _waves(x0, y0, x1, y1, apart)
    figure = "".join(_path(turned.inverse().points(line)) for line in lines)
    return (
        f'<g id="{name}"><clipPath id="clip-{name}"><path d="{path}" clip-rule="evenodd"/></clipPath>'
        f'<path d="{path}" fill="{colour}" fill-rule="evenodd" stroke="{dark}" stroke-width="0.1"/>'
        f'<path clip-path="url(#clip-{name})" d="{figure}" fill="none" stroke="{dark}" '
        f'stroke-opacity="{0.1 + 0.6 * look.contrast:.2f}" stroke-width="0.25"/></g>'
    )


def _path(line: Line) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in line)


def _waves(x0: float, y0: float, x1: float, y1: float, apart: float) -> list[Line]:
    """Lines that run nearly straight along the grain."""
    along = np.arange(x0 - 4.0, x1 + 8.0, 8.0)
    lines = []
    for number, y in enumerate(np.arange(y0, y1 + apart, apart)):
        wave = 0.35 * np.sin(along / 23.0 + y / 7.0) + 0.25 * np.sin(along / 9.0 + number * 1.9)
        lines.append(np.column_stack([along, y + wave]))
    return lines


def _arches(x0: float, y0: float, x1: float, y1: float) -> list[Line]:
    """The growth rings of a flat-sawn board as they meet its surface, the heart below its middle.

    A tree is nearly a cone: the heart comes up by `RISE` along the board, so a ring of radius r meets the surface,
    v to the side of the heart, where the heart lies sqrt(r^2 - v^2) deep.
    """
    heart, half = (y0 + y1) / 2 + 0.08 * (y1 - y0), (y1 - y0) * 0.6
    shallow = 8.0
    deep = shallow + RISE * (x1 - x0)
    lines = []
    for ring in np.arange(shallow, float(np.hypot(deep, half)) + RING_WIDE, RING_WIDE):
        aside = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 61)) * min(ring, half)
        along = x1 - (np.sqrt(np.maximum(0.0, ring**2 - aside**2)) - shallow) / RISE
        wander = 2.2 * np.sin(along / 61.0) + 0.8 * np.sin(along / 19.0 + 1.0)
        lines.append(np.column_stack([np.clip(along, x0 - 50.0, x1 + 50.0), heart + aside + wander]))
    return lines
