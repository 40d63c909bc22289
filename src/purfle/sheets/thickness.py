"""The thickness left between both faces as a map: a page behind sheet 3, and a picture."""

import json
import math
from typing import Any

import shapely
import typst

from purfle.model.board import ThicknessLeft
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets.drawing import EDGE, HAIR, Drawing
from purfle.sheets.labels import datum_lines, datum_marks, largest_circle, pointed_mark
from purfle.sheets.lettering import Run, Text, bold, capital, height, listed, table, width
from purfle.sheets.parts import board_words
from purfle.sheets.rooms import Place, strips, text_box
from purfle.sheets.style import Style
from purfle.sheets.view import SCALES, View, scale_words

BORDER = 9.0
"""Paper round the board, in mm."""
ROOM = 0.52
"""Share of the page's height that the drawing takes at most."""
DARKEST, PALEST = 0x48, 0xFF
POINTS = 9.5
CLOSE = 14.0
"""Small parts of one level nearer than this, in mm of paper, share a letter."""
MOST_NAMES = 4
"""So many names are told in one row; the others by their number."""
PICTURE_PPI = 150.0


def is_worth_a_map(result: JobResult) -> bool:
    """True if something is cut from both faces, or drilled: one recess by itself needs no map."""
    layout = result.layout
    faces = {inlay.face for inlay in layout.inlays} | {fitting.face for fitting in layout.fittings}
    return result.job.trial is None and bool(layout.thickness) and (len(faces) > 1 or bool(layout.holes))


def pages(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The map as it lies on the underside, or none."""
    if not is_worth_a_map(result):
        return []
    style = _side_by_side(result, style)
    drawing, scale, rows = draw_map(result, "underside", style)
    return [
        {
            "set_by": "thickness",
            "title": "Thickness left",
            "sub": board_words(result, style),
            "lead": _lead(result, style),
            "drawing": drawing.data(),
            "scale": scale_words(scale),
            "table": level_table(result, rows, style),
        }
    ]


def _side_by_side(result: JobResult, style: Style) -> Style:
    """The style for its levels, which are read below each other."""
    return style.for_depths(*(left for left, _ in levels_of(result)))


def _lead(result: JobResult, style: Style) -> Text:
    least = result.layout.thickness[0]
    of = result.layout.board.thickness
    through = [hole.name for hole in result.layout.holes if hole.is_through]
    runs: list[Run] = [bold("Seen from below, A at the top. "), "The darker, the thinner. "]
    solid = next((one for one in result.layout.thickness if one.left > 0.0), least)
    runs += ["Least: ", bold(f"{style.depth(solid.left)} of {style.depth(of)} {style.word}"), f", {_what(solid)}, "]
    runs += [f"{style.rule(solid.place[0])} from ", bold("B"), f" and {style.rule(solid.place[1])} from ", bold("A")]
    runs += [f"; besides, {listed(through)} {'goes' if len(through) == 1 else 'go'} right through." if through else "."]
    return runs


def _what(part: ThicknessLeft) -> str:
    return listed(list(part.cut_by)) if part.cut_by else "the bare board"


def levels_of(result: JobResult) -> list[tuple[float, list[ThicknessLeft]]]:
    """The parts of the map by what is left, the thinnest first."""
    levels: dict[float, list[ThicknessLeft]] = {}
    for part in result.layout.thickness:
        levels.setdefault(part.left, []).append(part)
    return sorted(levels.items())


def shade(left: float, thickness: float) -> str:
    """The grey of a thickness: white where all of the board is left."""
    grey = round(DARKEST + (PALEST - DARKEST) * max(0.0, min(1.0, left / thickness)))
    return f"#{grey:02x}{grey:02x}{grey:02x}"


def draw_map(result: JobResult, face: Face, style: Style) -> tuple[Drawing, float, list[tuple[str, float]]]:
    """The map with a figure on each part that has room, a letter on the others; its scale, and letters by level."""
    board, levels = result.layout.board, levels_of(result)
    wide, high = style.across - 2 * BORDER, ROOM * style.down - 2 * BORDER
    scale = next((s for s in SCALES if board.length / s <= wide and board.width / s <= high), SCALES[-1])
    view = View(board, face, scale, (style.across - board.length / scale) / 2, BORDER)
    drawing = Drawing(style.across, view.high + 2 * BORDER)
    letters = [(_letter(number), left) for number, (left, _) in enumerate(levels)]
    for left, parts in reversed(levels):
        for part in parts:
            drawing.region(view.region(part.region), HAIR, shade(left, board.thickness))
    outline = view.region(board.outline)
    drawing.region(outline, EDGE)
    datum_lines(drawing, view)
    drawing.taken.append(strips(list(outline.exterior.coords), EDGE))
    for (letter, left), (_, parts) in zip(letters, levels, strict=True):
        lettered: list[Place] = []
        for part in parts:
            for shape in shapely.get_parts(view.region(part.region)):
                _figure(drawing, shape, (letter, style.depth(left)), lettered if part.cut_by else None)
    datum_marks(drawing, view)
    return drawing, scale, letters


def _letter(number: int) -> str:
    """a to z, then aa, ab: the name of a level.

    >>> _letter(0), _letter(25), _letter(26)
    ('a', 'z', 'aa')
    """
    first = "" if number < 26 else _letter(number // 26 - 1)
    return first + "abcdefghijklmnopqrstuvwxyz"[number % 26]


def _figure(drawing: Drawing, shape: Any, words: tuple[str, str], lettered: list[Place] | None) -> None:
    """The figure in a part, with its letter; a letter with a leader where it is too small for that.

    Of small parts of one level that lie close together one is `lettered`; the bare board (None) never is.
    """
    middle, radius = largest_circle(shape)
    letter, figure = words
    text = f"{letter}  {figure}"
    half = (width(text, POINTS, "bold") / 2 + 1.2, height(POINTS) / 2 + 1.0)
    if radius > half[1] and shape.covers(shapely.box(*_around(middle, half))):
        drawing.text(middle, text, POINTS, "bold", white=True)
        drawing.taken.append(text_box(middle, text, POINTS, "bold") if lettered is None else shape)
    elif lettered is not None:
        drawing.taken.append(shape)
        if any(math.dist(middle, other) < CLOSE for other in lettered):
            return
        lettered.append(middle)
        pointed_mark(drawing, middle, letter, short=0.8)


def _around(middle: tuple[float, float], half: tuple[float, float]) -> tuple[float, float, float, float]:
    return middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1]


def level_table(result: JobResult, letters: list[tuple[str, float]], style: Style) -> dict[str, Any]:
    """Each level: what is left, as a share of the board, and what is cut there."""
    of, levels = result.layout.board.thickness, dict(levels_of(result))
    rows = []
    for letter, left in letters:
        named = list(dict.fromkeys(_what(part) for part in levels[left]))
        more = len(named) - MOST_NAMES
        said = listed([*named[:MOST_NAMES], f"{more} more"]) if more > 0 else listed(named)
        rows.append([[bold(letter)], {"big": style.depth(left)}, f"{left / of:.0%}", capital(said)])
    return table((9, 24, 20, 0), "lrrl", ["", "left", "of the board", "cut there"], rows)


def thickness_pictures(result: JobResult) -> dict[str, bytes]:
    """The map as seen from the show face, SVG and PNG, by the ending of its name; none where there is none."""
    if not is_worth_a_map(result):
        return {}
    style = _side_by_side(result, Style(result.job.unit, result.job.paper))
    drawing, scale, letters = draw_map(result, "show", style)
    page = {
        "drawing": drawing.data(),
        "words": f"{result.job.name}: thickness left in {style.word}, the show face up, drawn {scale_words(scale)}",
        "table": level_table(result, letters, style),
    }
    from purfle.sheets.book import typst_sources

    sources: dict[str, Any] = dict(typst_sources())
    sources["page.json"] = json.dumps(page, ensure_ascii=False).encode()
    sources["main.typ"] = _PICTURE.replace("WIDE", f"{style.across + 2 * BORDER:.3f}").encode()
    compiler: Any = typst.compile
    svg = compiler(sources, ignore_system_fonts=True, format="svg")
    png = compiler(sources, ignore_system_fonts=True, format="png", ppi=PICTURE_PPI)
    return {".svg": bytes(svg), ".png": bytes(png)}


_PICTURE = """
#import "base.typ": *
#let d = json("page.json")
#set document(date: none)
#set page(width: WIDEmm, height: auto, margin: 9mm)
#set text(font: "Libertinus Serif", size: 11.5pt, lang: "en", number-type: "lining")
#text(size: 13pt, weight: "bold", d.words)
#drawing(d.drawing, alt: d.words)
#ruled(d.table)
"""
