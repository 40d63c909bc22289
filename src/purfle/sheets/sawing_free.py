"""Sheet 6, pages for blocks that parts are sawn off: where the saw goes, what is planed, how it is done safely."""

from typing import Any

import shapely

from purfle.model.cutting import SetUp
from purfle.model.job import JobResult
from purfle.model.offcuts import Sawing
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import Run, Text, bold, capital, italic, listed, plural, table
from purfle.sheets.programs import places_of
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.view import scale_words

HIGH, SIDE, PIECE, GROOVE = 64.0, 26.0, 64.0, 8.0
"""Size of the section on paper: height of the block at most; width of the wood beside, a piece, its groove; mm."""
SCALES = (0.125, 0.2, 0.25, 0.4, 0.5, 1.0, 2.0, 2.5, 5.0)
"""mm of wood to one mm of paper, from enlarged to small."""
WOOD, SAWN, BLOCK = "#e2e2e2", "#000", "#f4f4f4"


def pages(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A page for each block."""
    return [_page(result, set_up, set_up.sawing, style) for set_up in result.cutting.set_ups if set_up.sawing]


def _page(result: JobResult, set_up: SetUp, sawing: Sawing, style: Style) -> dict[str, Any]:
    style = style.for_depths(*sawing.levels, sawing.depth)
    section, scale = _section(set_up, sawing, style)
    details = Drawing(style.across, 1.0)
    return {
        "title": "Saw free and plane",
        "sub": set_up.stock,
        "lead": _lead(result, set_up, sawing, style),
        "drawing": section.data(),
        "scale": scale,
        "details": details.data(),
        "details_words": "",
        "caution": _safety(),
        "table": level_table(sawing, style),
    }


def _lead(result: JobResult, set_up: SetUp, sawing: Sawing, style: Style) -> Text:
    labels = [label for label, _ in places_of(result, set_up).values()]
    stand = f"Piece {labels[0]} stands" if len(labels) == 1 else f"Pieces {listed(labels)} stand"
    groove = style.width(sawing.groove)
    saw = f"{sawing.saw}, groove {groove}" if sawing.saw else f"no saw in your shop file: {groove} taken, measure yours"
    runs: list[Run] = [bold(f"{capital(set_up.stock)}. "), f"{stand} in the block, cut "]
    runs += [bold(style.depth(sawing.depth)), " deep. Mark every level first, all round, with a gauge from the face. "]
    runs += ["Tape over the face, so that nothing drops; then saw the whole block along a level, the groove below the "]
    runs += ["mark (", saw, "). "]
    if sawing.copies > 1:
        if sawing.planing > 0.0:
            runs += ["After each slice plane ", bold(style.depth(sawing.planing)), " off the block’s sawn face: it is "]
            runs += ["the upper face of the next slice, and bare; tape that over before you saw on. "]
        else:
            runs += ["The block’s face is bare after each slice: tape it over before you saw on. "]
        runs += [f"{plural(sawing.copies, 'slice')} give "]
        runs += ["as many of each piece: one to let in, the others to spare. "]
    runs += ["Plane the sawn face of each slice to ", bold(style.depth(sawing.thickness))]
    return [*runs, ", the piece held by a shooting board or a carrier."]


def _safety() -> Text:
    runs: list[Run] = [bold("Never hold small pieces by hand at a table saw, planer or thicknesser. ")]
    runs += ["By hand: the block in a vice, a fine-toothed saw along the mark. At a band saw: the block on its edge "]
    runs += ["against a high fence, fixed to a carrier at least a hand long, a push stick for the end ("]
    return [*runs, italic("common practice, no source"), ")."]


def _section(set_up: SetUp, sawing: Sawing, style: Style) -> tuple[Drawing, str]:
    """The block cut across a piece: its grooves, the levels of the saw with their depths, what is left below."""
    zoom = next((1.0 / scale for scale in SCALES if set_up.thickness / scale <= HIGH), HIGH / set_up.thickness)
    wide = 2 * SIDE + PIECE + 2 * GROOVE
    left = (style.across - wide) / 2
    drawing = Drawing(style.across, set_up.thickness * zoom + 8.0)
    top, floor, low = 4.0, 4.0 + sawing.depth * zoom, 4.0 + set_up.thickness * zoom
    block = shapely.box(left, top, left + wide, low)
    piece = left + SIDE + GROOVE
    for x in (left + SIDE, piece + PIECE):
        block = block.difference(shapely.box(x, top - 1.0, x + GROOVE, floor))
    drawing.region(block, EDGE, BLOCK)
    drawing.region(shapely.box(piece, top, piece + PIECE, floor), FINE, WOOD)
    for number, level in enumerate(sawing.levels, 1):
        at, end = top + level * zoom, top + (level + sawing.groove) * zoom
        drawing.region(shapely.box(left - 6.0, at, left + wide + 6.0, end), HAIR, SAWN if end - at > 0.4 else "none")
        drawing.line([(left - 14.0, at), (left + wide + 14.0, at)], HAIR, HIDDEN)
        drawing.text((left + wide + 15.0, at), style.depth(level), 13.0, "bold", anchor="l", white=True)
        middle = at - (sawing.thickness / 2 + sawing.planing) * zoom
        drawing.mark((piece + PIECE / 2, middle), str(number))
    drawing.text(
        (left + wide / 2, (floor + low) / 2), f"{style.depth(set_up.thickness - sawing.depth)} left below", 10.5
    )
    return drawing, f"a piece in its block, {scale_words(1.0 / zoom)}"


def level_table(sawing: Sawing, style: Style) -> dict[str, Any]:
    """Each slice: where the saw goes, how thick it comes off the planed face, and what it is planed to."""
    head: list[Text] = ["slice", "saw this far below the face", "comes off", "planed on", "to"]
    rows: list[list[Any]] = []
    for number, level in enumerate(sawing.levels):
        above = sawing.levels[number - 1] + sawing.groove + sawing.planing if number else 0.0
        faces = "its lower face" if sawing.planing > 0.0 else NONE
        to = {"big": style.depth(sawing.thickness)}
        rows.append([[bold(str(number + 1))], {"big": style.depth(level)}, style.depth(level - above), faces, to])
    return table((16, 56, 30, 0, 24), "lrrlr", head, rows)
