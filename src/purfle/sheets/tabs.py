"""Sheet 6, pages for offcuts whose parts stand on tabs: where each tab is, how it is cut, and what is pared away."""

import math
from dataclasses import dataclass
from typing import Any

import shapely

from purfle.model.cutting import SetUp
from purfle.model.job import JobResult
from purfle.model.offcuts import Tab
from purfle.sheets.drawing import EDGE, FINE, HAIR, Drawing
from purfle.sheets.labels import Numbered, number_pieces
from purfle.sheets.lettering import Run, Text, bold, capital, plural, table
from purfle.sheets.paper import Paper
from purfle.sheets.programs import places_of
from purfle.sheets.rooms import Place, strip, strips, text_box
from purfle.sheets.style import Style
from purfle.sheets.view import scale_words

SCALES = (0.5, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 50.0)
HIGH = 0.4
"""Share of the page's height that the drawing of the stock takes, at most."""
BORDER = 8.0
PIECE, REST, TAB = "#e2e2e2", "#f4f4f4", "#000"
SECTION_HIGH, SECTION_SIDE, SECTION_GROOVE = 22.0, 40.0, 24.0
"""Size of the section on paper: height of the wood, wood to each side, width of the groove; in mm."""
NUMBER = 10.5
REACHES, ASIDE = (5.0, 6.5, 9.0, 12.0, 16.0, 21.0), (0.0, 20.0, -20.0, 40.0, -40.0, 65.0, -65.0, 90.0, -90.0)
"""Size of a tab's number in points; how far from the foot of the tab it may stand, mm of paper; in which directions off
that of the tab, degrees."""
SEEN = 5.6
"""A tab is drawn at least so high in the section, mm of paper."""


PARED = "Its foot is pared flush with the wall above it."
STAYS = "Its foot may stay on the plate."


@dataclass(frozen=True, slots=True)
class NumberedTab:
    """A tab with its number on the sheet and the piece that it holds."""

    number: int
    label: str
    tab: Tab


def tabs_in(result: JobResult, set_up: SetUp) -> list[NumberedTab]:
    """The tabs of one set-up, numbered piece by piece."""
    labels = {line_id: label for line_id, (label, _) in places_of(result, set_up).items()}
    held = [(labels.get(line.id, line.id), tab) for line in set_up.lines for tab in line.tabs]
    return [NumberedTab(number, label, tab) for number, (label, tab) in enumerate(held, 1)]


def pages(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A page for each offcut with tabs."""
    held = [(set_up, tabs_in(result, set_up)) for set_up in result.cutting.set_ups]
    return [_page(result, set_up, tabs, style) for set_up, tabs in held if tabs]


def _page(result: JobResult, set_up: SetUp, tabs: list[NumberedTab], style: Style) -> dict[str, Any]:
    drawing, scale = _stock(result, set_up, tabs, style)
    section = _section(set_up, tabs[0].tab, style)
    hang = any(place.part.hangs is not None for _, place in places_of(result, set_up).values())
    return {
        "title": "Cut free and pare",
        "sub": set_up.stock,
        "lead": _lead(set_up, tabs, hang),
        "drawing": drawing.data(),
        "scale": scale_words(scale),
        "details": section.data(),
        "details_words": f"A tab from its side, not to scale. {STAYS if hang else PARED}",
        "table": tab_table(set_up, tabs, style),
    }


def _lead(set_up: SetUp, tabs: list[NumberedTab], hang: bool) -> Text:
    runs: list[Run] = [bold(f"{capital(set_up.stock)}. "), f"{plural(len(tabs), 'tab')} hold the pieces. With the "]
    runs += [
        "offcut still held down, ",
        bold("cut each tab with knife or chisel, a little off the wall"),
        ", in light ",
    ]
    runs += ["cuts across its grain; never break it off: fibres tear out of the wall. "]
    if hang:
        return [*runs, "What is left of its foot may stay: it stands on the plate, which is sawn off later (sheet 8)."]
    runs += ["Then hold the piece on a bench "]
    return [*runs, "hook and pare the foot, the chisel’s flat on the wall above it, the edge away from your hands."]


def _stock(result: JobResult, set_up: SetUp, tabs: list[NumberedTab], style: Style) -> tuple[Drawing, float]:
    """The stock with its pieces, their numbers in rings as on sheets 4 and 5; every tab in black with its number."""
    x0, y0, x1, y1 = set_up.outline.bounds
    wide, high = style.across - 2 * BORDER, HIGH * style.down - 2 * BORDER
    fitting = [s for s in SCALES if (x1 - x0) / s <= wide and (y1 - y0) / s <= high]
    scale = fitting[0] if fitting else max((x1 - x0) / wide, (y1 - y0) / high)
    paper = Paper(x0, y1, (style.across - (x1 - x0) / scale) / 2, BORDER, 1 / scale)
    drawing = Drawing(style.across, (y1 - y0) / scale + 2 * BORDER)
    outline = paper.region(set_up.outline)
    drawing.region(outline, EDGE)
    for line in set_up.lines:
        drawing.region(paper.region(line.region), FINE, PIECE)
    drawing.taken.append(strips(list(outline.exterior.coords), EDGE))
    bars = [paper.region(one.tab.bar) for one in tabs]
    for bar in bars:
        drawing.region(bar, 0.0, TAB)
    drawing.taken.append(shapely.union_all(bars))
    labels = {line_id: label for line_id, (label, _) in places_of(result, set_up).items()}
    pieces = [(labels[line.id], paper.region(line.region)) for line in set_up.lines if line.id in labels]
    number_pieces(drawing, [Numbered.of(label, shape) for label, shape in pieces])
    drawing.taken += [shape for _, shape in pieces]
    for one in tabs:
        _tab_number(drawing, paper.place(one.tab.place), one)
    return drawing, scale


def _tab_number(drawing: Drawing, foot: Place, one: NumberedTab) -> None:
    """The number of a tab outside its piece, as near as there is room; a line leads to it where that is not near."""
    options, label = [], str(one.number)
    for reach in REACHES:
        for aside in ASIDE:
            turn = math.radians(one.tab.outwards + aside)
            spot = (foot[0] + reach * math.cos(turn), foot[1] - reach * math.sin(turn))
            options.append(((spot, reach), text_box(spot, label, NUMBER, "bold")))
    spot, reach = drawing.best(options)
    if reach > REACHES[1]:
        drawing.line([foot, spot], HAIR)
        drawing.taken.append(strip(foot, spot, HAIR))
    drawing.text(spot, label, NUMBER, "bold", white=reach > REACHES[1])


def _section(set_up: SetUp, tab: Tab, style: Style) -> Drawing:
    """Piece, tab and the wood around, cut across the wall."""
    wide = 2 * SECTION_SIDE + SECTION_GROOVE
    left = (style.across - wide) / 2
    drawing = Drawing(style.across, SECTION_HIGH + 4.0)
    wall, far, low = left + SECTION_SIDE, left + SECTION_SIDE + SECTION_GROOVE, SECTION_HIGH + 2.0
    top = low - max(SEEN, SECTION_HIGH * tab.height / set_up.thickness)
    drawing.region(shapely.box(left, 2.0, wall, low), FINE, PIECE)
    drawing.region(shapely.box(far, 2.0, left + wide, low), FINE, REST)
    drawing.region(shapely.box(wall, top, far, low), FINE, PIECE)
    drawing.line([(wall, 2.0), (wall, low + 2.0)], EDGE)
    drawing.text((left + SECTION_SIDE / 2, (2.0 + low) / 2), "piece", 10.5)
    drawing.text((far + SECTION_SIDE / 2, (2.0 + low) / 2), "offcut", 10.5)
    drawing.line([(far + 3.0, top), (far + 3.0, low)], HAIR)
    drawing.head((far + 3.0, top), (0.0, -1.0))
    drawing.head((far + 3.0, low), (0.0, 1.0))
    drawing.text((far + 4.6, (top + low) / 2), style.depth(tab.height), 12.0, "bold", anchor="l", white=True)
    return drawing


def tab_table(set_up: SetUp, tabs: list[NumberedTab], style: Style) -> dict[str, Any]:
    """Each tab: its piece, the middle of its foot on the wall, the foot's length, its height, its least width."""
    head: list[Text] = ["", "piece", "foot from zero, along", "up", "foot along the wall", "height", "narrowest"]
    rows = []
    for one in tabs:
        x, y = one.tab.place
        places = [{"big": style.rule(x)}, {"big": style.rule(y)}]
        sizes = [style.true(one.tab.length), {"big": style.depth(one.tab.height)}, style.true(one.tab.width)]
        rows.append([[bold(str(one.number))], one.label, *places, *sizes])
    return table((10, 0, 38, 20, 36, 20, 24), "llrrrrr", head, rows)
