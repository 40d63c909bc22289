"""Sheet 10 of a job cut with templates: their openings and pins at true size, with middle lines, to be sawn."""

from typing import Any

import shapely

from purfle.model.job import JobResult
from purfle.model.templates import Template
from purfle.sheets.cutting_cards import plain_size
from purfle.sheets.drawing import Drawing
from purfle.sheets.pattern_outlines import Pattern
from purfle.sheets.pattern_packing import packed
from purfle.sheets.pattern_tiles import tile_drawings
from purfle.sheets.patterns import BAR_STRIP, LEAD, ON_SEVERAL, SUB, draw_page, with_bar
from purfle.sheets.style import Style

ON_ONE_PAGE = "Measure the bar first. Grey: what is cut out of the template. The ticks are middle lines."
PAPER = 8.0
"""Paper round an opening on which its middle lines run on, mm."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The pages; none where a job has no templates."""
    room = style.down - LEAD
    patterns = [_pattern(one, style) for one in result.cutting.templates]
    fits = [p for p in patterns if p.wide <= style.across and p.high <= room - BAR_STRIP]
    pages = []
    for page in packed(fits, (style.across, room - BAR_STRIP)) if fits else []:
        drawing = Drawing(style.across, room)
        draw_page(drawing, page, 0.0)
        pages.append((ON_ONE_PAGE, drawing))
    for pattern in patterns:
        if pattern not in fits:
            pages += [(ON_SEVERAL, tile) for tile in tile_drawings(pattern, (style.across, room - BAR_STRIP))]
    title = {"title": "Templates at true size", "sub": SUB}
    return [title | {"lead": lead, "drawing": with_bar(drawing, style, room).data()} for lead, drawing in pages]


def _pattern(one: Template, style: Style) -> Pattern:
    """The opening and the holes of a template, and where its middle lines cross."""
    holes = [shapely.Point(pin).buffer(one.pin / 2.0) for pin in one.pins]
    region = shapely.union_all([one.opening, *holes])
    x0, y0, _, _ = region.bounds
    moved = shapely.transform(region, lambda xy: xy - (x0, y0))
    left, low, right, high = one.outline.bounds
    wood = style.size(right - left, high - low, one.thickness)
    pins = f", pins Ø\N{NO-BREAK SPACE}{plain_size(one.pin, style)}" if one.pins else ""
    return Pattern(
        f"T{one.number}, {one.name}", f"this face up; of wood {wood} {style.word}{pins}", moved, middle=(-x0, -y0)
    )
