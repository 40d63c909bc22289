"""Sheet 8, a further page: how the piece looks freshly planed, finished, and after years of light."""

from typing import Any

from purfle.model.job import JobResult
from purfle.sheets.finished import finished_pixels, reduced
from purfle.sheets.harm import woods_of
from purfle.sheets.lettering import Text, bold, table
from purfle.sheets.parts import board_words
from purfle.sheets.piece import DOTS, WHITE, as_drawing
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.trade import NO_SOURCE, sources_note
from purfle.wood import colour_change_of
from purfle.wood.looks import AGES

MOST_HIGH, ROW, AROUND = 52.0, 8.6, 76.0
"""Height of a picture at most; of a row of the table, of which some take two lines; of all else on the page, in mm."""
LIGHT = (
    "Sunlight does in weeks what a room does in years; a film slows it, and stops nothing. Turn the piece now and "
    "then, and leave nothing lying on it in its first months: what is covered stays as it was"
)
WORDS = {"fresh": "freshly planed", "finished": "finished", "aged": "after years of light"}
LEAST_HIGH = 24.0
"""Height of a picture at least; many woods then go on over the page."""
FINER = 2
"""A picture is painted with so many times its dots, then reduced."""


def data(result: JobResult, style: Style) -> dict[str, Any] | list[dict[str, Any]]:
    """The page; none of a bare board, which has nothing that could look different from it."""
    if not result.layout.inlays:
        return []
    return {
        "title": "How it looks",
        "sub": board_words(result, style),
        "pictures": _pictures(result, style),
        "note": _note(result),
        "colours": colour_table(result),
        "colour_sources": _colour_sources(result),
        "light": f"{LIGHT} ({NO_SOURCE}).",
    }


def _pictures(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The face with the inlay at each age."""
    board, inlays = result.layout.board, result.layout.inlays
    is_below = bool(inlays) and all(inlay.face == "underside" for inlay in inlays)
    room = (style.down - AROUND - ROW * len(woods_of(result))) / len(AGES)
    high = min(MOST_HIGH, max(LEAST_HIGH, room))
    wide = min(style.across, high * board.length / board.width)
    pictures = []
    for age in AGES:
        dots = round(wide * DOTS)
        pixels = finished_pixels(result, dots * FINER, "underside" if is_below else "show", WHITE, age)
        pictures.append({"drawing": as_drawing(reduced(pixels, dots), wide), "words": WORDS[age]})
    return pictures


def _note(result: JobResult) -> str:
    words = "Colours by our own estimate of each wood, not measured; no two boards age alike."
    return words + (" The board as it was photographed." if result.board_picture is not None else "")


def colour_table(result: JobResult) -> dict[str, Any]:
    """Each wood of the job: fresh, aged, and what drives the change."""
    rows: list[list[Any]] = []
    for wood in woods_of(result):
        change = colour_change_of(wood)
        if change is None:
            rows.append([[bold(wood)], NONE, "nothing published that we hold", NONE])
        else:
            rows.append([[bold(wood)], change.fresh, change.aged, change.drive])
    return table((30, 54, 0, 30), "llll", ["wood", "fresh", "with the years", "by"], rows)


def _colour_sources(result: JobResult) -> Text:
    changes = [colour_change_of(wood) for wood in woods_of(result)]
    return sources_note((c.source, c.status) for c in changes if c)
