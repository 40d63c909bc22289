"""The stock as it lies on the machine, drawn for a cutting card: zero, datum edges, the lines that are cut, holding."""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from purfle.geometry.offsetting import Region
from purfle.geometry.pose import UNDERSIDE
from purfle.model.board import Board
from purfle.model.cutting import CutLine, Program, SetUp
from purfle.model.job import JobResult
from purfle.model.templates import Guiding, Template
from purfle.sheets.drawing import ALIKE, CENTRE, EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.features import features_of, over_features
from purfle.sheets.labels import Numbered, datum_lines, datum_marks, label_recess, number_clearly
from purfle.sheets.lettering import width
from purfle.sheets.programs import lines_of, places_of
from purfle.sheets.rooms import in_fewer_corners, mark_shape, strips, text_box
from purfle.sheets.style import Style
from purfle.sheets.view import View

SCALES = (0.5, 1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.5, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0)
"""mm of wood to one mm of paper."""
CUT, LIES_UNDER, TAB = "#cfcfcf", "#efefef", "#000"
BORDER = 6.0
ZERO_STRIP = 2.0
"""More paper on the side of the zero mark, for its words."""
"""Paper kept round the stock for the zero mark and what holds it."""
OUT = 6.0
"""How far the middle lines of a template run past its opening, mm of wood."""
NUT = 20.0
"""Room that the nut and the dust hood of a spindle take round a line, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class BenchDrawing:
    """The drawing, its scale, and if every piece has its number in it."""

    drawing: Drawing
    scale: float
    is_numbered: bool = True


def draw_bench(
    result: JobResult, set_up: SetUp, program: Program, style: Style, room: tuple[float, float]
) -> BenchDrawing:
    """The stock with the lines of one program, as large as the room (width, height in mm of paper) lets it be."""
    return draw_lines(result, set_up, lines_of(set_up, program), style, room)


def draw_lines(
    result: JobResult, set_up: SetUp, lines: tuple[CutLine, ...], style: Style, room: tuple[float, float]
) -> BenchDrawing:
    """The same with these lines; without a machine no nut wants room."""
    view = _view(result, set_up, room)
    drawing = Drawing(room[0], view.high + 2 * BORDER + ZERO_STRIP * (set_up.stock != "board"))
    _stock(drawing, result, set_up, view)
    if set_up.order > 1:
        _glued_in(drawing, result, set_up, view)
    laid = {line.id: _on_paper(view, set_up, line) for line in set_up.lines}
    cut = {line.id for line in lines}
    for line in set_up.lines:
        shape, is_cut = laid[line.id], line.id in cut
        drawing.region(shape, FINE if is_cut else HAIR, CUT if is_cut else "none", dash=() if is_cut else HIDDEN)
        drawing.taken.append(in_fewer_corners(shape, ALIKE))
        for tab in line.tabs:
            drawing.region(view.region(tab.bar), 0.0, TAB)
    _zero(drawing, view)
    if set_up.stock == "board":
        if set_up.programs:
            _room_for_nut(drawing, [laid[line.id] for line in lines], view)
        datum_marks(drawing, view)
        _label_recesses(drawing, result, view, lines, style)
        return BenchDrawing(drawing, view.scale)
    named = places_of(result, set_up)
    pieces = [Numbered.of(named[x.id][0], laid[x.id]) for x in lines if x.id in named]
    left = number_clearly(drawing, pieces, (0.0, 0.0, drawing.width, drawing.height))
    return BenchDrawing(drawing, view.scale, not left)


def draw_by_hand(result: JobResult, set_up: SetUp, labels: Sequence[str], room: tuple[float, float]) -> BenchDrawing:
    """The stock with all lines that are cut by hand: the openings of their templates, middle lines and pins.

    `labels`: what is written in each place, in the order of the guides; where they would lie on each other, some are
    left out.
    """
    view = _view(result, set_up, room)
    drawing = Drawing(room[0], view.high + 2 * BORDER + ZERO_STRIP * (set_up.stock != "board"))
    _stock(drawing, result, set_up, view)
    if set_up.order > 1:
        _glued_in(drawing, result, set_up, view)
    for line in set_up.lines:
        drawing.region(_on_paper(view, set_up, line), FINE, CUT)
    templates = {template.number: template for template in result.cutting.templates}
    for guide in set_up.guides:
        _opening(drawing, view, (templates[guide.template], guide), set_up)
    left = 0
    for guide, label in zip(set_up.guides, labels, strict=True):
        to_board = guide.pose.then(UNDERSIDE) if view.face == "underside" else guide.pose
        at = view.place(*to_board.point(0.0, 0.0))
        shape = mark_shape(at, label)
        if drawing.is_free(shape):
            drawing.mark(at, label)
            drawing.taken.append(shape)
        else:
            left += 1
    if set_up.stock == "board":
        datum_marks(drawing, view)
    return BenchDrawing(drawing, view.scale, left == 0)


def _opening(drawing: Drawing, view: View, guided: tuple[Template, Guiding], set_up: SetUp) -> None:
    """An opening where it lies, its middle lines, and its pins where they are used."""
    template, guide = guided
    to_board = guide.pose.then(UNDERSIDE) if view.face == "underside" else guide.pose

    def laid(region: BaseGeometry) -> BaseGeometry:
        return view.region(to_board.region(region))

    drawing.region(laid(template.opening), HAIR, dash=HIDDEN)
    left, low, right, high = template.opening.bounds
    outline = _outline(view, set_up)
    for start, end in (((left - OUT, 0.0), (right + OUT, 0.0)), ((0.0, low - OUT), (0.0, high + OUT))):
        line = laid(shapely.LineString([start, end])).intersection(outline)
        for part in shapely.get_parts(line):
            drawing.line(list(part.coords), HAIR, CENTRE)
    for pin in template.pins if guide.pinned else ():
        drawing.region(laid(shapely.Point(pin).buffer(template.pin / 2.0)), HAIR, "#000")


def _view(result: JobResult, set_up: SetUp, room: tuple[float, float]) -> View:
    """The face of the stock on the paper; an offcut is seen as a board of the size of its bounds."""
    x0, y0, x1, y1 = set_up.outline.bounds
    is_board = set_up.stock == "board"
    board = result.layout.board if is_board else Board("", x1 - x0, y1 - y0, set_up.thickness)
    wide, high = room[0] - 2 * BORDER, room[1] - 2 * BORDER - ZERO_STRIP
    fitting = [s for s in SCALES if board.length / s <= wide and board.width / s <= high]
    scale = fitting[0] if fitting else max(board.length / wide, board.width / high)
    return View(board, set_up.face if is_board else "show", scale, BORDER, BORDER)


def _on_paper(view: View, set_up: SetUp, line: CutLine) -> BaseGeometry:
    """A line of the set-up on the paper, no further than the stock goes."""
    region: Region = line.region
    shape = view.region(UNDERSIDE.region(region) if view.face == "underside" else region)
    return shape.intersection(_outline(view, set_up)) if line.kind == "recess" else shape


def _outline(view: View, set_up: SetUp) -> BaseGeometry:
    outline = set_up.outline
    return view.region(UNDERSIDE.region(outline) if view.face == "underside" else outline)


def _stock(drawing: Drawing, result: JobResult, set_up: SetUp, view: View) -> None:
    outline = _outline(view, set_up)
    if set_up.stock == "board":
        drawing.region(outline, EDGE)
        datum_lines(drawing, view)
    else:
        x0, y0, x1, y1 = outline.bounds
        drawing.region(shapely.box(x0 - 4, y0 - 4, x1 + 4, y1 + 5.5 + ZERO_STRIP), HAIR, LIES_UNDER)
        drawing.region(outline, EDGE, "#fff")
        offcut = next((o for o in result.on_offcuts.used if o.name == set_up.stock), None)
        if offcut is not None:
            drawing.region(view.region(offcut.defects), HAIR, "#5a5a5a")
    drawing.taken.append(strips(list(shapely.get_parts(outline.boundary)[0].coords), EDGE))


def _glued_in(drawing: Drawing, result: JobResult, set_up: SetUp, view: View) -> None:
    """The inserts of earlier orders that lie in this face by now."""
    for inlay in result.layout.inlays:
        if inlay.face == set_up.face and inlay.order < set_up.order:
            for insert in inlay.fit.inserts:
                shape = view.region(inlay.pose.region(insert.region))
                drawing.region(shape, HAIR)
                drawing.taken.append(shape)


def _zero(drawing: Drawing, view: View) -> None:
    """The zero of the program: a ring with a dot at the corner, and its words beside it, off the stock."""
    x, y = view.place(0.0, 0.0)
    outwards = 1.0 if view.face == "show" else -1.0
    spot, words = (x + 3.4, y + outwards * 4.0), "0, 0"
    drawing.circle((x, y), 2.1, EDGE, "#fff")
    drawing.circle((x, y), 0.55, 0.0, "#000")
    drawing.text(spot, words, 13.0, "bold", anchor="l")
    after = spot[0] + width(words, 13.0, "bold") + 1.6
    drawing.text((after, spot[1]), "top of the wood", 9.5, "italic", anchor="l")
    drawing.taken.append(shapely.box(x - 2.4, y - 2.4, x + 2.4, y + 2.4))
    drawing.taken.append(text_box(spot, f"{words} top of the wood", 12.0, "bold", "l"))


def _room_for_nut(drawing: Drawing, shapes: list[BaseGeometry], view: View) -> None:
    """Round the lines, what clamps must keep clear of."""
    if not shapes:
        return
    by = NUT / view.scale
    boxes = []
    for shape in shapes:
        x0, y0, x1, y1 = shape.bounds
        boxes.append(shapely.box(x0 - by, y0 - by, x1 + by, y1 + by))
    board = view.region(view.board.outline)
    room = shapely.union_all(boxes).intersection(board)
    drawing.region(room, HAIR, dash=HIDDEN)
    drawing.taken.append(room.boundary.buffer(0.4))


def _label_recesses(drawing: Drawing, result: JobResult, view: View, lines: tuple[CutLine, ...], style: Style) -> None:
    ids = {line.id for line in lines}
    layout = result.layout
    for feature in (*features_of(layout, view.face, style), *over_features(layout, view.face, style)):
        if feature.inlay:
            line_id = f"recess-{layout.inlays.index(feature.inlay) + 1}"
        else:
            line_id = feature.fitting.id if feature.fitting else ""
        if line_id in ids:
            label_recess(drawing, view, feature)
