"""A face of the board drawn for setting out: recesses, datum edges, grain, distances, marks, labels."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from purfle.model.board import Inlay, Mark
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets import dimensions
from purfle.sheets.check_line import draw_check
from purfle.sheets.drawing import CENTRE, EDGE, FINE, HAIR, HEAVY, HIDDEN, PENCIL, Drawing
from purfle.sheets.drilling import draw_hole
from purfle.sheets.features import (
    OVER,
    Feature,
    distances_of,
    held_by,
    is_middle,
    laid_out,
    placing_marks,
    proof_marks,
)
from purfle.sheets.finished_lines import clipped, photograph
from purfle.sheets.labels import datum_lines, datum_marks, grain_arrow, label_recess, pointed_mark
from purfle.sheets.rooms import Place, mark_shape, strips
from purfle.sheets.style import Style
from purfle.sheets.tints import tints
from purfle.sheets.view import SCALES, View

MOST_SCALES = 6
"""So many scales are tried, from the largest at which the bare board goes into the room."""
PALED = 0.55
"""How much white is laid over a photographed board on a sheet."""
RECESS_TINT = "#d6d6d6"


@dataclass(frozen=True, slots=True)
class FaceDrawing:
    """A face drawn, and the view it was drawn in."""

    drawing: Drawing
    view: View


def draw_face(result: JobResult, face: Face, style: Style, room: float) -> FaceDrawing:
    """The largest drawing of a face, with its distances, that goes into the page's width and `room` of its height."""
    view, placed, size = _largest(result, face, style, room)
    drawing = Drawing(style.across, size)
    features = laid_out(result.layout, face, style)
    if face == "show" and result.board_picture is not None:
        _photograph(drawing, view, result.board_picture)
    _board(drawing, view)
    _other_face(drawing, result, view, style)
    _recesses(drawing, result, view, features)
    for hole in result.layout.holes:
        if hole.face == face:
            draw_hole(drawing, view, hole)
    dimensions.draw_distances(drawing, view, placed)
    if face == "show" or any(f.is_picture for f in features):
        _marks(drawing, result, view, style)
    for feature in features:
        if not feature.is_picture:
            label_recess(drawing, view, feature)
    draw_check(drawing, result.layout, view, style)
    datum_marks(drawing, view)
    grain_arrow(drawing, view)
    return FaceDrawing(drawing, view)


def outlines(inlay: Inlay, view: View) -> Iterator[tuple[str, BaseGeometry]]:
    """The wood and the region on paper of each insert of an inlay."""
    for insert in inlay.fit.inserts:
        yield insert.wood, view.region(inlay.pose.region(insert.region))


def _largest(result: JobResult, face: Face, style: Style, room: float) -> tuple[View, list[dimensions.Distance], float]:
    """The first scale at which board and distances go into the room, standing in the middle of the page's width.

    If there is none (more distances than a page holds), the one that is least too large.
    """
    tried: list[tuple[float, View, list[dimensions.Distance]]] = []
    for scale in SCALES:
        view = View(result.layout.board, face, scale)
        if view.wide > style.across or view.high > room:
            continue
        placed = dimensions.in_rows(view, distances_of(result.layout, view, style))
        x0, y0, x1, y1 = dimensions.bounds(view, placed)
        tried.append((max(0.0, x1 - x0 - style.across) + max(0.0, y1 - y0 - room), view, placed))
        if tried[-1][0] == 0.0 or len(tried) > MOST_SCALES:
            break
    _, view, placed = min(tried, key=lambda t: t[0])
    x0, y0, x1, y1 = dimensions.bounds(view, placed)
    left = (style.across - (x1 - x0)) / 2 - x0
    return replace(view, left=left, top=-y0), placed, y1 - y0


def _photograph(drawing: Drawing, view: View, seen: NDArray[np.uint8]) -> None:
    """The board as photographed, pale, so that the lines over it can be read and a dark wood saves ink."""
    paled = np.asarray(np.rint(seen * (1.0 - PALED) + 255.0 * PALED), np.uint8)
    (left, top), (right, low) = view.place(0, view.board.width), view.place(view.board.length, 0)
    shown = photograph(paled, (left, top, right - left, low - top))
    drawing.parts.append(shown if view.board.shape is None else clipped(shown, view.region(view.board.shape)))


def _board(drawing: Drawing, view: View) -> None:
    outline = view.region(view.board.outline)
    drawing.region(outline, EDGE)
    datum_lines(drawing, view)
    drawing.taken.append(strips(outline.exterior.coords, HEAVY / 2))


def _other_face(drawing: Drawing, result: JobResult, view: View, style: Style) -> None:
    """What lies on the other face, hidden: dashed."""
    other: Face = "underside" if view.face == "show" else "show"
    for feature in laid_out(result.layout, other, style):
        shape = view.region(feature.region)
        drawing.region(shape, HAIR, dash=HIDDEN)
        drawing.taken.append(shape.boundary)


def _recesses(drawing: Drawing, result: JobResult, view: View, features: list[Feature]) -> None:
    shades = tints([p.wood for i in result.layout.inlays for p in i.fit.inserts])
    for feature in features:
        shape = view.region(feature.region)
        drawing.taken.append(shape)
        if feature.is_picture and feature.inlay:
            for wood, piece in outlines(feature.inlay, view):
                drawing.region(piece, FINE, shades[wood])
            continue
        drawing.region(shape, FINE, RECESS_TINT)
        if feature.fitting and feature.fitting.is_round:
            _cross(drawing, shape)


def _cross(drawing: Drawing, shape: BaseGeometry) -> None:
    """The middle lines of a round recess."""
    x0, y0, x1, y1 = shape.bounds
    x, y, reach = (x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2 + 2.0
    drawing.line([(x - reach, y), (x + reach, y)])
    drawing.line([(x, y - reach), (x, y + reach)])


# --- marks: pencilled lines with their numbers, proof points with leaders


def _marks(drawing: Drawing, result: JobResult, view: View, style: Style) -> None:
    features = laid_out(result.layout, view.face, style)
    lines: list[tuple[Mark, LineString]] = []
    for mark in placing_marks(result.layout, view.face, style):
        holders = held_by(mark, features)
        if mark.kind == "point":
            continue
        lines.append((mark, _pencil_line(view, mark, holders)))
        if not holders or any(f.is_picture for f in holders):
            drawing.line(list(lines[-1][1].coords), HAIR, CENTRE if _is_centre_line(mark, holders) else PENCIL)
    for mark, line in lines:
        others = [other for m, other in lines if m is not mark and m.kind != mark.kind]
        spots = [(spot, mark_shape(spot, str(mark.number))) for spot in _along(line)]
        clear = [(spot, shape) for spot, shape in spots if not any(shape.intersects(o) for o in others)]
        drawing.mark(drawing.best(clear or spots), str(mark.number))
    drawing.taken += [strips(line.coords, HAIR) for _, line in lines]
    points = [m for m in placing_marks(result.layout, view.face, style) if m.kind == "point"]
    for mark in points + proof_marks(result.layout, view.face, style):
        pointed_mark(drawing, view.place(mark.from_b or 0.0, mark.from_a or 0.0), str(mark.number), short=1.2)


def _is_centre_line(mark: Mark, holders: list[Feature]) -> bool:
    return mark.kind == "line_x" and is_middle(mark.from_b or 0.0, 0, holders)


def _pencil_line(view: View, mark: Mark, holders: list[Feature]) -> LineString:
    """The line on paper: past the recess that it places, or right across the board."""
    board, over = view.board, OVER * view.scale
    is_x = mark.kind == "line_x"
    extent = board.width if is_x else board.length
    low, high = -over, extent + over
    if holders and not _is_centre_line(mark, holders):
        axis = 1 if is_x else 0
        low = max(low, min(f.region.bounds[axis] for f in holders) - over)
        high = min(high, max(f.region.bounds[axis + 2] for f in holders) + over)
    at = (mark.from_b if is_x else mark.from_a) or 0.0
    ends = [(at, high), (at, low)] if is_x else [(high, at), (low, at)]
    return LineString([view.place(*end) for end in ends])


def _along(line: LineString) -> list[Place]:
    """Places for a mark's number: just past the first end of its line, further along it, past its other end."""
    start, end = line.coords
    long = line.length
    unit = ((end[0] - start[0]) / long, (end[1] - start[1]) / long)
    steps = [-3.0, *(2.0 + 2.0 * i for i in range(int(long / 2.0))), long + 3.0, -9.0, long + 9.0]
    return [(start[0] + unit[0] * s, start[1] + unit[1] * s) for s in steps]
