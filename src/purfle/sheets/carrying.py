"""Sheet 1, a further page: what the board carries, from the side, bent many times over; where it tips, from above."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from purfle.model.carrying import Carrying
from purfle.model.job import JobResult
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import Run, Text, bold, table
from purfle.sheets.parts import board_words, wood_name
from purfle.sheets.rooms import Place
from purfle.sheets.style import Style, unbroken
from purfle.sheets.warnings import boxes_height, warnings_of
from purfle.units import POUND

SIDE_HIGH, BENT_HIGH, THICK = 58.0, 12.0, 3.2
"""Height of the view from the side, how far the largest sag goes down in it, and the board's thickness, mm of paper."""
MARGIN, PLAN_HIGH, LEAST_PLAN, AROUND = 14.0, 96.0, 40.0, 104.0
"""Beside the board on paper; the most and the least height of the plan, and that of all texts and the table, mm."""
TRIANGLE = 3.6
LEAST_MM, LEAST_INCH = 0.03, 0.0254
"""The finest sag that is told, for makers in mm and in inches, in mm; `carrying.told` tells the same."""
BOARD, FOOT = "#ececec", "#555"


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page; none where the board stands on nothing that is known."""
    found = result.carrying
    if found is None:
        return []
    warnings = warnings_of(result, ("carrying",))
    room = style.down - SIDE_HIGH - AROUND - boxes_height(warnings, style.across)
    return [
        {
            "title": "What it carries",
            "sub": board_words(result, style),
            "lead": _lead(found, style),
            "side": draw_side(found, style).data(),
            "side_words": _side_words(found),
            "plan": draw_plan(result, found, style, room).data(),
            "plan_words": "From above. Thick: the line that it tips over first. Ring: where a hand tips it with least.",
            "table": figures_table(result, found, style),
            "note": _note(result, found),
            "warnings": warnings,
        }
    ]


def _lead(found: Carrying, style: Style) -> Text:
    runs: list[Run] = ["Goes down ", bold(_small(found.sag, style)), " at once, about "]
    runs += [bold(_small(found.after_years, style)), " after years. "]
    if not math.isfinite(found.tipping.weight):
        return [*runs, "Nobody can tip it by leaning on it: no edge lies beyond what holds it."]
    return [*runs, "Tips when ", bold(_weight(found.tipping.weight, style)), " lean on its worst place."]


def _small(mm: float, style: Style) -> str:
    """A sag: to a hundredth of a millimetre or a thousandth of an inch."""
    least = LEAST_MM if style.unit == "mm" else LEAST_INCH
    return f"{style.true(mm)} {style.word}" if mm >= least / 2 else f"less than {style.true(least)} {style.word}"


def _weight(kilograms: float, style: Style) -> str:
    """A weight in kilograms or pounds."""
    amount, unit = (kilograms, "kg") if style.unit == "mm" else (kilograms / POUND, "lb")
    return f"{amount:.{0 if amount >= 10.0 else 1}f} {unit}"


def draw_side(found: Carrying, style: Style) -> Drawing:
    """From the side: the board straight, and bent by what stays on it and by somebody leaning on it."""
    drawing = Drawing(style.across, SIDE_HIGH)
    low, high = found.stations[0], found.stations[-1]
    zoom = (style.across - 2 * MARGIN) / (high - low)
    top, most = 16.0, max(np.abs(found.leant).max(), found.sag)
    bent = BENT_HIGH / most if most > 0.0 else 0.0

    def at(x: float, down: float) -> Place:
        return MARGIN + (x - low) * zoom, top + down

    drawing.region(shapely.box(*at(low, 0.0), *at(high, THICK)), FINE, BOARD)
    for downs, width in ((found.at_once, FINE), (found.leant, HAIR)):
        line = [at(x, THICK / 2 + down * bent) for x, down in zip(found.stations, downs, strict=True)]
        if width == FINE:
            drawing.line(line, EDGE)
        else:
            drawing.line(line, FINE, HIDDEN)
    _hand(drawing, at(found.leaning_at, 0.0))
    words = f"{_weight(found.leaning, style)} leaning" + (", assumed" if found.leaning_is_assumed else "")
    at_left = found.leaning_at <= (low + high) / 2
    drawing.text(
        (at(found.leaning_at, 0.0)[0] + (3 if at_left else -3), 4.0), words, 11.0, anchor="l" if at_left else "r"
    )
    for support in found.supports:
        x, y = at(support, THICK)
        corners = [(x, y), (x - TRIANGLE, y + 1.6 * TRIANGLE), (x + TRIANGLE, y + 1.6 * TRIANGLE)]
        drawing.region(shapely.Polygon(corners), FINE, FOOT)
    _distances(drawing, found, style, at)
    return drawing


def _hand(drawing: Drawing, at: Place) -> None:
    """An arrow that presses on the board's end."""
    x, y = at
    drawing.line([(x, y - 10.0), (x, y - 0.6)], EDGE)
    drawing.region(shapely.Polygon([(x, y - 0.4), (x - 1.2, y - 3.2), (x + 1.2, y - 3.2)]), FINE, "#000")


def _distances(drawing: Drawing, found: Carrying, style: Style, at: Any) -> None:
    """How far in each outer support is, and how far apart they are, below the board."""
    low, high = found.stations[0], found.stations[-1]
    places = [low, *found.supports, high]
    y = SIDE_HIGH - 6.0
    for start, end in pairwise(places):
        (x0, _), (x1, _) = at(start, 0.0), at(end, 0.0)
        if x1 - x0 < 1.0:
            continue
        drawing.line([(x0, y), (x1, y)], HAIR)
        for x in (x0, x1):
            drawing.line([(x, y - 1.6), (x, y + 1.6)], FINE)
        drawing.text(((x0 + x1) / 2, y + 4.0), style.length(end - start), 12.0, "bold", white=True)


def _side_words(found: Carrying) -> str:
    most = max(np.abs(found.leant).max(), found.sag)
    zoom = BENT_HIGH / most if most > 0.0 else 1.0
    bent = f"bent {zoom:.0f} times over" if zoom > 1.5 else f"bent {zoom:.1f} times as much"
    return f"From the side, {bent}: thick, by what stays on it; dashed, leant on at its end, held down at its supports."


def draw_plan(result: JobResult, found: Carrying, style: Style, room: float) -> Drawing:
    """From above: the board, what it stands on, and where it tips."""
    board = result.layout.board
    x0, y0, x1, y1 = board.outline.bounds
    zoom = min((style.across - 2 * MARGIN) / (x1 - x0), (min(PLAN_HIGH, max(LEAST_PLAN, room)) - 16.0) / (y1 - y0))
    drawing = Drawing(style.across, (y1 - y0) * zoom + 16.0)
    left = (style.across - (x1 - x0) * zoom) / 2

    def at(place: Place) -> Place:
        return left + (place[0] - x0) * zoom, 8.0 + (y1 - place[1]) * zoom

    outline = [at((float(x), float(y))) for x, y in board.outline.exterior.coords]
    drawing.region(shapely.Polygon(outline), EDGE, "#fff")
    for foot in found.feet:
        drawing.region(shapely.Point(at(foot)).buffer(2.0), FINE, FOOT)
    if not found.feet:
        for line in found.supports:
            ends = ((line, y0), (line, y1)) if found.axis == "A" else ((x0, line), (x1, line))
            drawing.line([at(end) for end in ends], FINE, HIDDEN)
    if math.isfinite(found.tipping.weight):
        drawing.line([at(end) for end in found.tipping.line], 0.9)
        ring = at(found.tipping.place)
        drawing.region(shapely.Point(ring).buffer(2.4).difference(shapely.Point(ring).buffer(1.7)), HAIR, "#000")
        is_right = ring[0] > style.across / 2
        words = _weight(found.tipping.weight, style)
        drawing.text((ring[0] + (4 if is_right else -4), ring[1]), words, 12.0, "bold", anchor="l" if is_right else "r")
    return drawing


def figures_table(result: JobResult, found: Carrying, style: Style) -> dict[str, Any]:
    """The figures, a line each."""
    strong = "N/mm²" if style.unit == "mm" else "psi"
    stress = found.stress if style.unit == "mm" else found.stress * 145.0377
    rows: list[list[Any]] = [
        ["its own weight", _weight(found.weight, style), _wood_words(result, found)],
        [
            "goes down most at once",
            _small(found.sag, style),
            f"{style.length(found.sag_at)} {style.word} along {found.axis}",
        ],
        ["after years of the same load", _small(found.after_years, style), f"{found.creep:g} times as much"],
        [
            "the same without recesses",
            _small(found.solid, style),
            f"recesses take {found.stiffness_lost:.0%} of its stiffness",
        ],
        [
            "bent hardest while leant on",
            f"{stress:.1f} {strong}" if style.unit == "mm" else f"{stress:.0f} {strong}",
            f"{found.stress / found.strength:.1%} of what breaks it; recesses take {max(0.0, found.strength_lost):.0%}",
        ],
        [
            "two supports sag least",
            unbroken(f"{style.length(found.best)} {style.word}"),
            f"from either end, under an even load: {_small(found.best_sag, style)}",
        ],
    ]
    rows = [[name, {"big": figure}, words.replace("%", " %")] for name, figure, words in rows]
    return table((58, 46, 0), "lrl", ["what", "how much", "of what, or where"], rows)


def _wood_words(result: JobResult, found: Carrying) -> str:
    wood = wood_name(result, result.layout.board.wood)
    return wood if found.grain < 1.0 else f"{wood}, fibres at {found.grain:.0f}° to the span"


def _note(result: JobResult, found: Carrying) -> str:
    shape = "" if found.is_rectangle else " No rectangle: a beam of varying width is an approximation."
    return (
        "A straight beam of sound wood at 12 % moisture (Wood Handbook, ch. 5 and 9), inlays for empty recesses, with "
        f"its own weight and what the job says on it.{shape} Knots and slanting grain take half of its strength. What "
        "stands below is not counted against tipping. A caution, no licence to overload."
    )
