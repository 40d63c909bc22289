"""The drilling list of a face, on a page of its own behind the setting-out: every hole with its drill and its place."""

from typing import Any

import shapely

from purfle.model.board import Hole
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets.drawing import EDGE, FINE, HAIR, Drawing
from purfle.sheets.features import laid_out
from purfle.sheets.labels import datum_lines, datum_marks, grain_arrow, pointed_mark
from purfle.sheets.lettering import Run, Text, bold, plural, table
from purfle.sheets.parts import board_words
from purfle.sheets.rooms import strips
from purfle.sheets.style import Style
from purfle.sheets.view import SCALES, View, scale_words

ROW, AROUND = 6.7, 52.0
"""Height of a row of the list; of all else on the page but the drawing. In mm."""
LEAST_DRAWING, LARGE_DRAWING, BORDER = 80.0, 150.0, 9.0
"""Height of the drawing at least, where the list goes on to a second page, and paper round the board in it, in mm."""
RECESS = "#e2e2e2"
LEAST_CIRCLE = 0.7
"""Radius of a drawn hole at least, in mm of paper."""


def pages(result: JobResult, face: Face, style: Style) -> list[dict[str, Any]]:
    """The page of a face; none where nothing is drilled from it."""
    holes = holes_of(result, face)
    if not holes:
        return []
    below = face == "underside"
    room = style.down - AROUND - ROW * (len(holes) + 1)
    drawing, scale = _face(result, face, style, room if room >= LEAST_DRAWING else LARGE_DRAWING)
    return [
        {
            "set_by": "drilling",
            "title": f"Drilling, {'underside' if below else 'show face'}",
            "sub": board_words(result, style),
            "lead": _lead(holes, below),
            "drawing": drawing.data(),
            "scale": scale_words(scale),
            "table": hole_table(holes, style),
            "notes": _notes(holes, style),
        }
    ]


def holes_of(result: JobResult, face: Face) -> list[Hole]:
    """The holes of a face in the order in which they are marked: row by row from A, each row from B on."""
    return [hole for hole in result.layout.holes if hole.face == face]


def _lead(holes: list[Hole], below: bool) -> Text:
    runs: list[Run] = [bold("Seen from below, A at the top. ")] if below else []
    runs += [f"{plural(len(holes), 'hole')} to drill by hand, square to the face. Strike a line at each distance from "]
    runs += [bold("A"), " with square and knife, then mark along it from ", bold("B"), ", and prick each middle."]
    return runs


def _notes(holes: list[Hole], style: Style) -> list[Text]:
    deep: list[Run] = ["Depths are told below the face, and from the floor of the recess where a hole stands in one. "]
    deep += ["Set a stop on the drill. "]
    if any(hole.is_through for hole in holes):
        deep += [
            "Holes right through are drilled, not cut by program: drill until the point shows, then from the other "
        ]
        deep += ["face, or clamp scrap wood behind."]
    read: list[Run] = [f"Read on a rule with {style.rule_words}. "]
    if any(hole.kind == "screw" for hole in holes):
        read += ["Pilot holes: nine tenths of the screw's root in hardwood (from memory), seven tenths in softwood "]
        read += ["(Wood Handbook, chapter 8); try one in scrap of the same wood."]
    return [deep, read]


def hole_table(holes: list[Hole], style: Style) -> dict[str, Any]:
    """Each hole: its drill, its depth, what is left beyond it, where its middle is on the rule, and by how much that
    errs. Depths are those of a stop set with a rule: to 0.1 mm or 1/64 in."""
    head: list[Text] = ["", "hole", "drill Ø", "deep", "in recess", "left", ["from ", bold("A")], ["from ", bold("B")]]
    head.append("the rule errs by")
    rows = []
    for hole in holes:
        errors = ", ".join(style.rule_error(at) for at in (hole.centre[1], hole.centre[0]))
        deep: Any = "through" if hole.is_through else {"big": style.length(hole.depth)}
        inner = style.length(hole.depth - hole.floor) if hole.floor and not hole.is_through else "–"
        left = "–" if hole.is_through else style.length(hole.left)
        places = [{"big": style.rule(hole.centre[1])}, {"big": style.rule(hole.centre[0])}]
        drill = {"big": style.length(hole.drill) if hole.kind == "screw" else style.drill(hole.drill)}
        rows.append([[bold(str(hole.number))], hole.name, drill, deep, inner, left, *places, errors])
    return table((8, 0, 15, 16, 16, 13, 21, 21, 27), "llrrrrrrr", head, rows)


def _face(result: JobResult, face: Face, style: Style, room: float) -> tuple[Drawing, float]:
    """The face with its recesses pale and every hole numbered."""
    board = result.layout.board
    wide, high = style.across - 2 * BORDER, room - 2 * BORDER
    scale = next((s for s in SCALES if board.length / s <= wide and board.width / s <= high), SCALES[-1])
    view = View(board, face, scale, (style.across - board.length / scale) / 2, BORDER)
    drawing = Drawing(style.across, view.high + 2 * BORDER)
    outline = view.region(board.outline)
    drawing.region(outline, EDGE)
    datum_lines(drawing, view)
    drawing.taken.append(strips(list(outline.exterior.coords), EDGE))
    for feature in laid_out(result.layout, face, style):
        drawing.region(view.region(feature.region), HAIR, RECESS)
    holes = holes_of(result, face)
    for hole in holes:
        draw_hole(drawing, view, hole)
    for hole in holes:
        pointed_mark(drawing, view.place(*hole.centre), str(hole.number), short=1.2)
    datum_marks(drawing, view)
    grain_arrow(drawing, view)
    return drawing, scale


def draw_hole(drawing: Drawing, view: View, hole: Hole) -> None:
    """A hole as a circle with its middle lines, and its place kept clear."""
    x, y = view.place(*hole.centre)
    radius = max(LEAST_CIRCLE, hole.drill / 2 / view.scale)
    drawing.circle((x, y), radius, FINE, "#fff")
    reach = radius + 1.0
    drawing.line([(x - reach, y), (x + reach, y)])
    drawing.line([(x, y - reach), (x, y + reach)])
    drawing.taken.append(shapely.Point(x, y).buffer(reach))
