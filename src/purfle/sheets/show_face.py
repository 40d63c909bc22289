"""Sheet 2: the show face set out, every mark as a distance from two datum edges."""

import re
from typing import Any

from purfle.model.board import Inlay, Mark
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets import drilling
from purfle.sheets.asked import all_smaller_words
from purfle.sheets.face import FaceDrawing, draw_face
from purfle.sheets.features import (
    features_of,
    finished_size,
    laid_out,
    later_orders,
    placing_marks,
    proof_marks,
)
from purfle.sheets.lettering import Run, Text, bold, capital, listed, number_word, plain, table, with_article, wrapped
from purfle.sheets.parts import board_words, host_labels
from purfle.sheets.style import Style, unbroken
from purfle.sheets.view import scale_words
from purfle.sheets.warnings import boxes_height, warnings_of

ROW, CAPTION, APART = 6.7, 6.0, 3.0
"""Height of a row of the table and of the line below the drawing; least paper above drawing and notes. In mm."""
LEAD, LEAD_LINE, NOTE, NOTE_LINE, GUTTER = 13.0, 6.3, 11.5, 5.5, 8.0
"""Points and height of a line of the first words and of the notes; paper between the two columns of notes."""
MARK_ROOM = 38.0
"""Width of a mark's name in the table, in mm."""
LEAST_DRAWING, CROWDED_DRAWING = 100.0, 70.0
"""Height of the drawing at least, in mm; and where it shares its page with findings."""
NONE = "–"
OTHER_FACE = "the other face"
"""What `WoodLeft.against` says where nothing lies opposite."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page, or none if nothing is let into the show face."""
    drilled = drilling.pages(result, "show", style)
    if not features_of(result.layout, "show", style):
        return drilled
    marks = marks_in_order(result, "show", style)
    lead, warnings = _lead(result, style), warnings_of(result, ("board",), lambda one: one.face != "underside")
    notes: list[Text] = [
        sizes(result, "show", style),
        [*wood_left(result, "show", style), *all_smaller_words(result, "show", style)],
    ]
    around = LEAD_LINE * len(wrapped(plain(lead), LEAD, style.across)) + CAPTION + 2 * APART
    around += _table_height(marks) + _notes_height(notes, style)
    drawn = _drawn(result, style, style.down - around, boxes_height(warnings, style.across))
    return [
        {
            "title": "Setting out, show face",
            "sub": board_words(result, style),
            "lead": lead,
            "drawing": drawn.drawing.data(),
            "dashed": other_face_words(result, "show", style),
            "scale": scale_words(drawn.view.scale),
            "table": mark_table(marks, style),
            "notes": notes,
            "warnings": warnings,
        },
        *drilled,
    ]


def _drawn(result: JobResult, style: Style, room: float, boxes: float) -> FaceDrawing:
    """The face as large as it can be above boxes; if they leave it too little, they go on to a page of their own."""
    if room - boxes >= CROWDED_DRAWING:
        drawn = draw_face(result, "show", style, room - boxes)
        if drawn.drawing.height <= room - boxes:
            return drawn
    return draw_face(result, "show", style, max(LEAST_DRAWING, room))


def _table_height(marks: list[Mark]) -> float:
    """Height of the table of marks with its head."""
    return ROW + sum(ROW + NOTE_LINE * (len(wrapped(mark.name, NOTE, MARK_ROOM)) - 1) for mark in marks)


def _notes_height(notes: list[Text], style: Style) -> float:
    """Height of notes that stand in columns side by side."""
    room = (style.across - GUTTER * (len(notes) - 1)) / len(notes)
    return NOTE_LINE * max(len(wrapped(plain(note), NOTE, room, "bold")) for note in notes)


def marks_in_order(result: JobResult, face: Face, style: Style) -> list[Mark]:
    """The marks of a face, those that place something before those that prove it."""
    return placing_marks(result.layout, face, style) + proof_marks(result.layout, face, style)


def mark_table(marks: list[Mark], style: Style) -> dict[str, Any]:
    """Each mark: true distances, what the rule shows, and the error that rounding makes."""
    head: list[Text] = [
        "",
        "mark",
        ["from ", bold("B"), ", true"],
        "on the rule",
        ["from ", bold("A"), ", true"],
        "on the rule",
        "the rule errs by",
    ]
    rows = []
    for mark in marks:
        # a number stays with its word where the name takes two lines
        cells: list[Any] = [[bold(str(mark.number))], re.sub(r" (\d+)$", "\N{NO-BREAK SPACE}\\1", mark.name)]
        for distance in (mark.from_b, mark.from_a):
            cells += [NONE, NONE] if distance is None else [style.true(distance), {"big": style.rule(distance)}]
        errors = [style.rule_error(d) for d in (mark.from_b, mark.from_a) if d is not None]
        rows.append([*cells, ", ".join(errors)])
    return table((9, 0, 23, 24, 23, 24, 30), "llrrrrr", head, rows)


def other_face_words(result: JobResult, face: Face, style: Style) -> str:
    """What the dashed lines are."""
    other: Face = "underside" if face == "show" else "show"
    names = list(dict.fromkeys(f.name for f in features_of(result.layout, other, style)))
    where = "on the underside" if face == "show" else "on the show face"
    if not names:
        return "nothing on the underside: there is no sheet 3" if face == "show" else ""
    return f"dashed: {listed(names)}, {where}"


def sizes(result: JobResult, face: Face, style: Style) -> Text:
    """Size and depth of each inlay of a face, and what a rule's rounding does."""
    runs: list[Run] = []
    for inlay in result.layout.inlays:
        if inlay.face == face:
            size, depth = bold(unbroken(style.size(*finished_size(inlay)))), bold(style.depth(inlay.depth))
            runs += [f"{capital(inlay.name)}, ", *_first_of(result, inlay, style), size, ", recess ", depth]
            runs.append(f" deep, {_depth_words(inlay, style)}. ")
    is_picture = any(i.face == face and i.kind == "picture" for i in result.layout.inlays)
    whole = "picture" if result.job.picture else "design"
    moved = f"An error shifts the whole {whole} by that much; it opens no seam." if is_picture else ""
    return [*runs, *_ends(result, face, style), f"Read on a rule with {style.rule_words}. ", moved]


def _ends(result: JobResult, face: Face, style: Style) -> list[Run]:
    """Which line it is that is set out: that of the inserts, not of the recesses around them."""
    pictures = [one for one in result.layout.inlays if one.face == face and one.kind == "picture" and not one.into]
    seams = {one.fit.rule.seam for one in pictures if one.fit.walls is None}
    if len(seams) != 1:
        return []
    return [f"Ends are those of the inserts: the recess reaches a seam, {style.seam(*seams)}, further. "]


def _first_of(result: JobResult, inlay: Inlay, style: Style) -> list[Run]:
    """The size of a whole picture that is let in one order after the other, before that of its first recess."""
    if not later_orders(result.layout, inlay):
        return []
    whole = next(f.inlay for f in laid_out(result.layout, inlay.face, style) if f.inlay and f.name == inlay.name)
    return [bold(unbroken(style.size(*finished_size(whole)))), " in all; what is let in first: "]


def _depth_words(inlay: Inlay, style: Style) -> str:
    """Into what it is cut, and that it has one depth, but for what is too narrow for a V cutter to reach it."""
    walls = inlay.fit.walls
    if walls is not None:
        full = 2.0 * (walls.recess_depth * walls.slope + walls.tip_radius)
        less = f"less where it is narrower than {style.length(full)} and in corners"
        return "likewise; cut when all before it is level" if inlay.into else less
    if inlay.into:
        return f"cut into {listed([f'piece {host}' for host in host_labels([inlay])])} when that is level"
    return "one depth throughout"


def wood_left(result: JobResult, face: Face, style: Style) -> list[Run]:
    """Wood left at each recess of a face, and the nearest recess of the other face."""
    layout = result.layout
    names = [f.name for f in features_of(layout, face, style)]
    lefts: dict[str, list[str]] = {}
    for left in layout.wood_left:
        if name := _named(left.name, names):
            against = "" if left.against == OTHER_FACE else f" against the {left.against}"
            known = lefts.setdefault(style.depth(left.left), [])
            known += [name + against] if name + against not in known else []
    runs: list[Run] = ["Wood left below: " if face == "show" else "Wood left above: "] if lefts else []
    for number, (figure, whose) in enumerate(lefts.items(), 1):
        runs += [f"{listed(whose)} ", bold(figure), ". " if number == len(lefts) else ", "]
    nearest = [(d, name, other) for name, other, d in layout.nearest if _named(name, names)]
    for distance, name, other in sorted(nearest)[:1]:
        runs += [
            f"Nearest recess of the other face: {other}, ",
            bold(style.length(distance)),
            f" from {name} as seen from above. ",
        ]
    return runs


def _named(label: str, names: list[str]) -> str:
    """The recess that a label names: by its name, or by its name and number where a name occurs twice."""
    return next((name for name in (label, label.rpartition(" ")[0]) if name in names), "")


def _lead(result: JobResult, style: Style) -> Text:
    lines = sum(m.kind != "point" for m in placing_marks(result.layout, "show", style))
    proofs = [with_article(m.name.removeprefix("proof: ")) for m in proof_marks(result.layout, "show", style)]
    prove = f", then prove them with {listed(proofs)}" if proofs else ""
    pencil = f" Pencil the {number_word(lines)} lines{prove}." if lines > 1 else ""
    straight = result.layout.board.shape is None
    from_where = "Hook the rule on a datum edge" if straight else "Measure from a straight edge clamped along A or B"
    return f"{from_where} for every mark.{pencil}"
