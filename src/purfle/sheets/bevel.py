"""Two sheets sawn together with a tilted saw, so that what comes out of the upper one fills the lower: its drawing."""

import shapely

from purfle.model.cutting import SetUp
from purfle.model.job import JobResult
from purfle.sheets.cutting_cards import wood_of
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.harm import dust_words
from purfle.sheets.lettering import Run, Text, bold
from purfle.sheets.piece import hours
from purfle.sheets.style import Style
from purfle.shop.sawing import sawing_angle

UPPER, LOWER = "#ededed", "#cfcfcf"
FIGURE, WORDS = 14.0, 10.0
_THICK, _WIDE = 15.0, 4.6
"""Height of a sheet on the drawing, width of the groove across it."""


def draw_bevel(set_up: SetUp, style: Style, wide: float) -> Drawing:
    """Both sheets with the tilted groove through them, its width, a sheet's thickness, the angle."""
    saw, thickness = set_up.cutters[0], set_up.thickness
    drawing = Drawing(wide, 2 * _THICK + 32.0)
    angle = sawing_angle(saw.width, thickness)
    top, lean = 14.0, _WIDE  # the groove leans by its own width over one sheet: that is what closes the seam
    middle, foot = top + _THICK, top + 2 * _THICK
    left, right, start = 2.0, wide - 14.0, 25.0
    for y, sign, fill in ((top, 0.0, UPPER), (middle, 1.0, LOWER)):
        x = start - sign * lean
        inner = [(left, y), (x, y), (x - lean, y + _THICK), (left, y + _THICK)]
        outer = [(x + _WIDE, y), (right, y), (right, y + _THICK), (x + _WIDE - lean, y + _THICK)]
        for part in (inner, outer):
            drawing.region(shapely.Polygon(part), FINE, fill)
    drawing.text((left + 8.5, top + _THICK / 2), "insert", WORDS, "italic", white=True)
    drawing.text((right - 9.0, middle + _THICK / 2), "ground", WORDS, "italic", white=True)
    drawing.line([(start - 2 * lean, foot + 5.0), (start - 2 * lean, top - 2.0)], HAIR, HIDDEN)
    drawing.line([(start - 2 * lean, foot), (start + 1.0, top - 3.0)], EDGE)
    words = f"{angle:.1f}°" if angle is not None else "too thin"
    drawing.text((start - 2 * lean + 2.0, top - 7.0), words, FIGURE, "bold", anchor="l")
    x = right + 5.0
    for y in (top, middle):
        drawing.line([(right, y), (x + 1.5, y)], HAIR)
    drawing.line([(x, top), (x, middle)])
    drawing.head((x, top), (0.0, -1.0))
    drawing.head((x, middle), (0.0, 1.0))
    drawing.text((x, (top + middle) / 2), style.depth(thickness), FIGURE, "bold", white=True, turned=True)
    y = foot + 9.0
    for edge in (start - 2 * lean, start - 2 * lean + _WIDE):
        drawing.line([(edge, foot), (edge, y + 1.5)], HAIR)
    drawing.text((start - 2 * lean + _WIDE + 3.0, y), f"groove {style.true(saw.width)}", WORDS, "bold", anchor="l")
    return drawing


def saw_facts(result: JobResult, set_up: SetUp, style: Style) -> list[list[Text]]:
    """Tool, angle or depth, holding and time, each with its word."""
    saw = set_up.cutters[0]
    dust = dust_words(wood_of(result, set_up))
    time: list[Run] = ["About ", bold(hours(set_up.cutting_minutes)), " by hand, setting up "]
    time += [bold(hours(set_up.set_up_minutes)), ". Eyes and lungs protected", f": {dust}." if dust else "."]
    holding: Text = f"{set_up.holding.rstrip('.')}."
    if set_up.stock == "board":
        knife: list[Run] = [
            "Knife along the pattern, better still round the ",
            bold("insert itself"),
            ", laid in place: ",
        ]
        knife.append("then what a file took of it is allowed for. Chop to depth, pare upright to the line.")
        return [["knife", knife], ["holding", holding], ["time", time]]
    runs: list[Run] = [
        f"{saw.name}, groove ",
        bold(style.true(saw.width)),
        f" {style.word}; upright for a solid board. ",
    ]
    return [["saw", runs], ["tilt", _tilt(set_up, style)], ["holding", holding], ["time", time]]


def _tilt(set_up: SetUp, style: Style) -> Text:
    """The angle at which two sheets are sawn together, with its closed form in figures."""
    saw, thickness = set_up.cutters[0], set_up.thickness
    angle = sawing_angle(saw.width, thickness)
    if angle is None:
        return "The groove is wider than the sheet is thick: no tilt closes it. Use a finer saw."
    shown = f"asin({style.true(saw.width)} / {style.true(thickness)}) = "
    runs: list[Run] = ["Sheets that become neighbours, sawn together, the insert’s on top: tilt by ", shown]
    return [*runs, bold(f"{angle:.1f}°"), ", the insert wider above; it drops by its thickness and closes the groove."]
