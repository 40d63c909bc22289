"""A sheet sawn upright beside the line, as its card's passes have it: its drawing; and what else the card says."""

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

PART, WASTE, FILED = "#ededed", "#fafafa", "#cfcfcf"
FIGURE, WORDS = 14.0, 10.0
_THICK, _LEFT, _WIDE = 24.0, 6.0, 7.0
"""Height of the sheet on the drawing, width of what is left for the file, and of the groove."""


def draw_sawn(set_up: SetUp, style: Style, wide: float) -> Drawing:
    """The piece, what the saw leaves for the file beside its line, the groove, the waste; thickness and groove."""
    saw, thickness = set_up.cutters[0], set_up.thickness
    left = max((step.off_line for step in set_up.steps), default=0.0)
    drawing = Drawing(wide, _THICK + 37.0)
    top, line, right = 12.0, 17.0, wide - 8.0
    foot, sawn = top + _THICK, line + (_LEFT if left else 0.0)
    drawing.region(shapely.box(0.5, top, line, foot), FINE, PART)
    if left:
        drawing.region(shapely.box(line, top, sawn, foot), FINE, FILED)
    drawing.region(shapely.box(sawn + _WIDE, top, right, foot), FINE, WASTE)
    middle = sawn + _WIDE / 2.0
    drawing.line([(middle, top - 3.0), (middle, foot + 3.0)], HAIR, HIDDEN)
    drawing.line([(line, top - 3.0), (line, foot)], EDGE)
    drawing.text((line, top - 6.0), "line", WORDS, "italic")
    drawing.text((middle + 1.0, top - 6.0), "dashes", WORDS, "italic", anchor="l")
    drawing.text((line / 2.0, top + _THICK / 2.0), "piece", WORDS, "italic")
    drawing.text(((sawn + _WIDE + right) / 2.0, top + _THICK / 2.0), "waste", WORDS, "italic", turned=True)
    x = right + 4.5
    for y in (top, foot):
        drawing.line([(right, y), (x + 1.5, y)], HAIR)
    drawing.line([(x, top), (x, foot)])
    drawing.head((x, top), (0.0, -1.0))
    drawing.head((x, foot), (0.0, 1.0))
    drawing.text((x, (top + foot) / 2.0), style.depth(thickness), FIGURE, "bold", white=True, turned=True)
    widths = [(sawn, sawn + _WIDE, f"groove {style.true(saw.width)}"), (line, sawn, f"file {style.true(left)}")]
    for row, (near, far, words) in enumerate(widths if left else widths[:1]):
        y = foot + 7.0 + 8.0 * row
        for edge in (near, far):
            drawing.line([(edge, foot), (edge, y + 1.5)], HAIR)
        drawing.line([(near, y), (far, y)])
        drawing.text((sawn + _WIDE + 2.0, y), words, WORDS, "bold", anchor="l", white=True)
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
        f" {style.word}. Upright, its middle on the dashes of sheet 10.",
    ]
    return [["saw", runs], ["or tilted", _tilt(set_up, style)], ["holding", holding], ["time", time]]


def _tilt(set_up: SetUp, style: Style) -> Text:
    """The angle at which two sheets are sawn together, with its closed form in figures."""
    saw, thickness = set_up.cutters[0], set_up.thickness
    angle = sawing_angle(saw.width, thickness)
    if angle is None:
        return "The groove is wider than the sheet is thick: no tilt closes it. Use a finer saw."
    shown = f"asin({style.true(saw.width)} / {style.true(thickness)}) = "
    runs: list[Run] = [
        "Another way, without these passes: both sheets in one go, the insert’s on top: tilt by ",
        shown,
    ]
    return [*runs, bold(f"{angle:.1f}°"), ", the insert wider above; it drops by its thickness and closes the groove."]
