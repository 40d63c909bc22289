"""Sheet 6: chisel and file work: every corner that the cutter leaves, numbered, enlarged, with its place and depth."""

from dataclasses import dataclass
from typing import Any

import shapely
from shapely import Polygon

from purfle.geometry.measuring import furthest_place
from purfle.geometry.pose import UNDERSIDE
from purfle.model.cutting import CutLine, SetUp
from purfle.model.findings import FACES, Face
from purfle.model.job import JobResult
from purfle.sheets import sawing_free, tabs
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.labels import datum_lines, datum_marks, pointed_mark
from purfle.sheets.lettering import Text, bold, capital, plural, table
from purfle.sheets.paper import Paper
from purfle.sheets.parts import board_words
from purfle.sheets.programs import names_of, places_of
from purfle.sheets.rooms import Place, strips
from purfle.sheets.style import Style
from purfle.sheets.view import View, scale_words

SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 50.0)
DETAIL, IN_A_ROW = 42.0, 4
"""Side of an enlarged detail on paper, and how many stand beside each other."""
MOST_DETAILS = 8
ENLARGED = (10.0, 8.0, 5.0, 4.0, 3.0, 2.0, 1.0)
"""mm of paper to one of wood."""
FILLED = 0.35
"""A corner takes at most this share of its detail."""
BORDER = 8.0
LEFT, RECESS = "#000", "#e2e2e2"


@dataclass(frozen=True, slots=True)
class Remnant:
    """One corner left standing. `shape` and `line` in the frame of its set-up, y up; `at`: the place to name."""

    number: int
    set_up: SetUp
    line: CutLine
    name: str
    shape: Polygon

    @property
    def face(self) -> Face:
        """The face of the board it is on."""
        return self.set_up.face

    @property
    def at(self) -> Place:
        """Its outermost corner, in the frame of the set-up: the point of it that lies furthest from the cut line."""
        return furthest_place(self.shape, self.line.region)


def remnants_of(result: JobResult) -> list[Remnant]:
    """Every remnant of the job, numbered in the order of its set-ups, from left to right on each line."""
    found: list[Remnant] = []
    for set_up in result.cutting.set_ups:
        names = names_of(result, set_up)
        if set_up.stock != "board":
            names = {line_id: f"piece {label}" for line_id, (label, _) in places_of(result, set_up).items()}
        for line in set_up.lines:
            for shape in sorted(line.remnants, key=lambda r: (r.centroid.x, r.centroid.y)):
                found.append(Remnant(len(found) + 1, set_up, line, names.get(line.id, line.id), shape))
    return found


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A page for each face or offcut with something to chisel or on tabs; none if the cutter does everything."""
    remnants = remnants_of(result)
    pages = []
    for face in FACES:
        some = [r for r in remnants if r.set_up.stock == "board" and r.face == face]
        if some:
            pages.append(_page(result, some, style))
    for stock in dict.fromkeys(r.set_up.stock for r in remnants if r.set_up.stock != "board"):
        pages.append(_page(result, [r for r in remnants if r.set_up.stock == stock], style))
    return pages + tabs.pages(result, style) + sawing_free.pages(result, style)


def _page(result: JobResult, remnants: list[Remnant], style: Style) -> dict[str, Any]:
    first = remnants[0]
    is_board = first.set_up.stock == "board"
    where = (
        ("show face" if first.face == "show" else "underside, as seen from below") if is_board else first.set_up.stock
    )
    drawing, scale = _stock(result, remnants, style)
    details, words = _details(remnants, style)
    return {
        "title": "Chisel and file",
        "sub": board_words(result, style) if is_board else first.set_up.stock,
        "lead": [bold(f"{capital(where)}. "), _lead(remnants)],
        "drawing": drawing.data(),
        "scale": scale_words(scale),
        "details": details.data(),
        "details_words": words,
        "table": remnant_table(remnants, style),
    }


def _lead(remnants: list[Remnant]) -> str:
    corners = plural(len(remnants), "corner")
    verb = "is" if len(remnants) == 1 else "are"
    of_inlays = any(remnant.line.id.startswith("recess") for remnant in remnants)
    how = "Lay each insert on its place, knife round its corners" if of_inlays else "Knife the lines"
    return f"{corners} {verb} left round by the cutter. {how}, then pare down to the lines, to the floor."


def _stock(result: JobResult, remnants: list[Remnant], style: Style) -> tuple[Drawing, float]:
    """The whole stock with its recesses and each remnant's number."""
    set_up = remnants[0].set_up
    x0, y0, x1, y1 = _bounds(result, set_up)
    wide, high = style.across - 2 * BORDER, 0.36 * style.down - 2 * BORDER
    fitting = [s for s in SCALES if (x1 - x0) / s <= wide and (y1 - y0) / s <= high]
    scale = fitting[0] if fitting else max((x1 - x0) / wide, (y1 - y0) / high)
    left = (style.across - (x1 - x0) / scale) / 2
    to_paper = Paper(x0, y1, left, BORDER, 1 / scale)
    drawing = Drawing(style.across, (y1 - y0) / scale + 2 * BORDER)
    outline = to_paper.region(set_up.outline)
    drawing.region(outline, EDGE)
    lines = dict.fromkeys(r.line.id for r in remnants)
    for line in set_up.lines:
        shape = to_paper.region(line.region).intersection(outline)
        drawing.region(shape, FINE if line.id in lines else HAIR, RECESS if line.id in lines else "none")
        drawing.taken.append(shape)
    for remnant in remnants:
        drawing.region(to_paper.region(remnant.shape), 0.0, LEFT)
    drawing.taken.append(strips(list(outline.exterior.coords), EDGE))
    for remnant in remnants:
        pointed_mark(drawing, to_paper.place(remnant.at), str(remnant.number))
    if set_up.stock == "board":
        _datum(drawing, result, set_up, (scale, left))
    return drawing, scale


def _bounds(result: JobResult, set_up: SetUp) -> tuple[float, float, float, float]:
    """What the drawing has to hold: the whole stock, and on the board also its datum lines."""
    if set_up.stock != "board":
        return tuple(set_up.outline.bounds)
    rectangle = result.layout.board.rectangle
    return tuple((UNDERSIDE.region(rectangle) if set_up.face == "underside" else rectangle).bounds)


def _datum(drawing: Drawing, result: JobResult, set_up: SetUp, place: Place) -> None:
    view = View(result.layout.board, set_up.face, place[0], place[1], BORDER)
    datum_lines(drawing, view)
    datum_marks(drawing, view)


def _details(remnants: list[Remnant], style: Style) -> tuple[Drawing, str]:
    """Corners enlarged: what is left in black, the recess in grey. All at one scale."""
    shown = remnants[:MOST_DETAILS]
    rows = -(-len(shown) // IN_A_ROW)
    gap = (style.across - IN_A_ROW * DETAIL) / (IN_A_ROW - 1)
    drawing = Drawing(style.across, rows * (DETAIL + 4.0))
    largest = max(max(r.shape.bounds[2] - r.shape.bounds[0], r.shape.bounds[3] - r.shape.bounds[1]) for r in shown)
    zoom = next((z for z in ENLARGED if largest * z <= FILLED * DETAIL), ENLARGED[-1])
    for number, remnant in enumerate(shown):
        row, column = divmod(number, IN_A_ROW)
        _detail(drawing, remnant, (column * (DETAIL + gap), row * (DETAIL + 4.0)), zoom)
    rest = f"; the first {len(shown)} of {len(remnants)}" if len(shown) < len(remnants) else ""
    return drawing, f"enlarged {zoom:g} : 1, black: to be taken away{rest}"


def _detail(drawing: Drawing, remnant: Remnant, at: Place, zoom: float) -> None:
    half = DETAIL / 2 / zoom
    x, y = remnant.shape.centroid.coords[0]
    paper = Paper(x - half, y + half, at[0], at[1], zoom)
    frame = shapely.box(at[0], at[1], at[0] + DETAIL, at[1] + DETAIL)
    drawing.region(paper.region(remnant.line.region).intersection(frame), 0.0, RECESS)
    stock = paper.region(remnant.set_up.outline)
    outline = paper.region(remnant.line.region.boundary).intersection(frame)
    for part in shapely.get_parts(shapely.line_merge(outline)):
        if isinstance(part, shapely.LineString):
            drawing.line(list(part.coords), FINE)
    edge = stock.boundary.intersection(frame)
    for part in shapely.get_parts(edge):
        if isinstance(part, shapely.LineString):
            drawing.line(list(part.coords), EDGE, HIDDEN)
    drawing.region(paper.region(remnant.shape).intersection(frame), HAIR, LEFT)
    drawing.region(frame, HAIR)
    drawing.mark((at[0] + 4.5, at[1] + 4.5), str(remnant.number))


def remnant_table(remnants: list[Remnant], style: Style) -> dict[str, Any]:
    """Each remnant: where its corner is, how deep, how much the cutter leaves along each side."""
    is_board = remnants[0].set_up.stock == "board"
    across: list[Text] = [["corner from ", bold("B")], ["from ", bold("A")]] if is_board else ["from zero, along", "up"]
    rows = []
    for r in remnants:
        x, y = UNDERSIDE.point(*r.at) if is_board and r.face == "underside" else r.at
        x0, y0, x1, y1 = r.shape.bounds
        size = style.true(max(x1 - x0, y1 - y0))
        depth = {"big": style.depth(r.line.depth)}
        rows.append([[bold(str(r.number))], r.name, {"big": style.rule(x)}, {"big": style.rule(y)}, depth, size])
    return table((10, 0, 32, 28, 24, 36), "llrrrr", ["", "recess", *across, "depth", "left along a side"], rows)
