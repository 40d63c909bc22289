"""Sheet 10: patterns at true size, large ones on several pages to be joined, and labels for the pieces."""

from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.model.job import JobResult
from purfle.sheets.drawing import FINE, HAIR, Drawing
from purfle.sheets.labels import arrow_room, draw_arrow, number_goes_inside
from purfle.sheets.pattern_labels import COLUMNS, label_drawings
from purfle.sheets.pattern_labels import LEAD as LABELS
from purfle.sheets.pattern_outlines import NOTE, NOTE_LINE, REACH, TITLE, Pattern, by_its_ends, patterns_of
from purfle.sheets.pattern_packing import PatternPage, packed
from purfle.sheets.pattern_tiles import SAWN, tile_drawings
from purfle.sheets.rooms import Place, laid_on_paper, mark_shape, moved_to
from purfle.sheets.style import Style

LEAD = 13.0
"""Height of the words above the drawing."""
BAR_STRIP = 12.0
"""Height of the bar below the patterns."""
CROSS = 2.2
"""Half the length of a line that marks the middle of a hole, in mm."""
RECESS = "#ececec"
ARROWS = (30.0, 20.0, 13.0)
SUB = "print at 100 %, not fitted to the page"
ON_ONE_PAGE = "Measure the bar first. The thin line is the cut edge, recesses are grey, arrows lie along the grain."
BELOW = "Below: the last patterns."
UNDER_LABELS = 8.0
"""Paper between the last labels and patterns below them."""
ON_SEVERAL = "Measure the bar first. Lay crosses of the same name on each other and tape the pages together."


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The pages with patterns, then those with labels; none if nothing is let in."""
    room = style.down - LEAD

    def goes_on_a_page(pattern: Pattern) -> bool:
        return pattern.wide <= style.across and pattern.high <= room - BAR_STRIP

    whole = patterns_of(result, style, style.across)
    patterns = [p if goes_on_a_page(p) else by_its_ends(p, style) or p for p in whole]
    fits = [p for p in patterns if goes_on_a_page(p)]
    shared = packed(fits, (style.across, room - BAR_STRIP))
    labels, below = _labels(result, style, shared, room)
    lead = f"{ON_ONE_PAGE}{_saw_words(patterns, style)}"
    drawings = [(lead, _drawn(page, style.across, room)) for page in shared if page is not below]
    for pattern in patterns:
        if pattern not in fits:
            words = f"{ON_SEVERAL}{_saw_words([pattern], style)}"
            drawings += [(words, tile) for tile in tile_drawings(pattern, (style.across, room - BAR_STRIP))]
    pages = [_page(lead, with_bar(drawing, style, room)) for lead, drawing in drawings]
    pages += [{"title": "Labels", "sub": "for the pieces", "lead": LABELS, "drawing": d.data()} for d in labels]
    if below:
        draw_page(labels[-1], below, labels[-1].height + UNDER_LABELS)
        last = with_bar(labels[-1], style, room).data()
        pages[-1] = {"title": "Labels and patterns", "sub": SUB, "lead": f"{LABELS} {BELOW}", "drawing": last}
    return pages


def _saw_words(patterns: list[Pattern], style: Style) -> str:
    """Where the saw runs, with the figure that stands on its card; nothing where no saw is used."""
    off = max((pattern.saw_line for pattern in patterns), default=0.0)
    if not off:
        return ""
    where = f"{style.true(off)} {style.word} off the line"
    return f" Saw with the middle of the groove on the dashes, {where}; file to the line."


def _labels(
    result: JobResult, style: Style, pages: list[PatternPage], room: float
) -> tuple[list[Drawing], PatternPage | None]:
    """The labels; and the last of several pages of patterns, if all of it finds room below them."""
    for columns in COLUMNS if len(pages) > 1 else ():
        labels = label_drawings(result, style, room, columns)
        if labels and labels[-1].height + UNDER_LABELS + pages[-1].used + BAR_STRIP <= room:
            return labels, pages[-1]
    return label_drawings(result, style, room), None


def _page(lead: str, drawing: Drawing) -> dict[str, Any]:
    return {"title": "Patterns at true size", "sub": SUB, "lead": lead, "drawing": drawing.data()}


def with_bar(drawing: Drawing, style: Style, room: float) -> Drawing:
    """The drawing as high as the page, with a bar at its foot to measure the print."""
    drawing.height = room
    is_mm = style.unit == "mm"
    long, parts = (100.0, 20) if is_mm else (101.6, 16)
    y = room - 7.0
    drawing.line([(1.0, y), (1.0 + long, y)], FINE)
    for i in range(parts + 1):
        tall = 3.0 if i in (0, parts) else 2.0 if i % (parts // 4) == 0 else 1.0
        x = 1.0 + long * i / parts
        drawing.line([(x, y - tall), (x, y)], HAIR)
    words = f"{'100 mm' if is_mm else '4 in'} by your rule, or print again"
    drawing.text((1.0 + long + 4.0, y - 1.2), words, 11.5, "bold", anchor="l")
    return drawing


# --- patterns that share a page


def _drawn(page: PatternPage, across: float, room: float) -> Drawing:
    drawing = Drawing(across, room)
    draw_page(drawing, page, 0.0)
    return drawing


def draw_page(drawing: Drawing, page: PatternPage, top: float) -> None:
    """Draws the patterns of a page, from a height on."""
    for pattern, (x, below) in page.placed:
        y = below + top
        pattern_words(drawing, pattern, (x, y))
        shape = _on_paper(pattern, (x + pattern.reach, y + pattern.head + pattern.reach))
        if pattern.label:
            drawing.region(shape, HAIR)
            saw_line(drawing, pattern, shape)
            _break(drawing, shape)
            _number_and_grain(drawing, pattern, shape)
        else:
            drawing.region(shape, HAIR, RECESS)
            _middle_lines(drawing, shape, pattern)
            _holes(drawing, shape, pattern)


def saw_line(drawing: Drawing, pattern: Pattern, shape: BaseGeometry) -> None:
    """Dashed, where the middle of the blade runs round a part: what is left beside its outline is for the file."""
    if pattern.saw_line:
        drawing.region(shape.buffer(pattern.saw_line), HAIR, dash=SAWN)


def _break(drawing: Drawing, shape: BaseGeometry) -> None:
    """Between the two ends of a long strip a dashed line says that they are one piece."""
    parts = sorted(shapely.get_parts(shape), key=lambda part: part.bounds[0])
    for left, right in pairwise(parts):
        y = (left.bounds[1] + left.bounds[3]) / 2
        drawing.line([(left.bounds[2], y), (right.bounds[0], y)], HAIR, (1.2, 0.8))


def pattern_words(drawing: Drawing, pattern: Pattern, at: Place) -> None:
    """Number, name and what else is to be known, above a pattern."""
    x, y = at
    if pattern.label:
        drawing.mark((x + 3.4, y + 4.6), pattern.label)
    drawing.text((x + pattern.indent, y + 2.6), pattern.title, TITLE, "bold", anchor="l")
    for number, line in enumerate(pattern.note_lines):
        drawing.text((x + pattern.indent, y + 7.2 + NOTE_LINE * number), line, NOTE, "italic", anchor="l")


def _on_paper(pattern: Pattern, at: Place) -> BaseGeometry:
    """The outline on the page, upper left corner of its bounds at a place."""
    high = pattern.size[1]

    def places(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([at[0] + xy[:, 0], at[1] + high - xy[:, 1]])

    return laid_on_paper(pattern.region, places)


def _middle_lines(drawing: Drawing, shape: BaseGeometry, pattern: Pattern) -> None:
    """Short ends of the two middle lines of a recess or template, to lay it on pencilled lines."""
    x0, y0, x1, y1 = shape.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    if pattern.middle is not None:
        x, y = x0 + pattern.middle[0], y1 - pattern.middle[1]
    drawing.line([(x, y0 - REACH), (x, y0)])
    drawing.line([(x, y1), (x, y1 + REACH)])
    drawing.line([(x0 - REACH, y), (x0, y)])
    drawing.line([(x1, y), (x1 + REACH, y)])


def _holes(drawing: Drawing, shape: BaseGeometry, pattern: Pattern) -> None:
    """The middle of every hole as a cross to prick through the paper, in the circle of its drill."""
    left, _, _, low = shape.bounds
    for (x, y), across in pattern.holes:
        at = (left + x, low - y)
        drawing.circle(at, across / 2.0, HAIR, "#fff")
        for reach in ((CROSS, 0.0), (0.0, CROSS)):
            ends = [(at[0] + way * reach[0], at[1] + way * reach[1]) for way in (-1.0, 1.0)]
            drawing.line(ends)


def _number_and_grain(drawing: Drawing, pattern: Pattern, shape: BaseGeometry) -> None:
    """The number and an arrow along the grain on the piece itself, where there is room."""
    if not isinstance(shape, shapely.Polygon):
        return
    circle = shapely.maximum_inscribed_circle(shape)
    middle: Place = (float(circle.coords[0][0]), float(circle.coords[0][1]))
    inner = shape
    if number_goes_inside(pattern.label, circle.length):
        drawing.mark(middle, pattern.label)
        inner = shape.difference(mark_shape(middle, pattern.label).buffer(1.0))
    _grain(drawing, pattern, inner)


def _grain(drawing: Drawing, pattern: Pattern, inner: BaseGeometry) -> None:
    """The longest arrow with its word that finds room; else a bare one; none on the smallest pieces."""
    if inner.is_empty:  # the number covers the whole of a small piece
        return None
    angle = pattern.grain or 0.0
    shapely.prepare(inner)
    x0, y0, x1, y1 = inner.bounds
    spots = [(x0 + (x1 - x0) * i / 24, y0 + (y1 - y0) * j / 12) for j in range(1, 12) for i in range(1, 24)]
    for long in ARROWS:
        is_in = shapely.covers(inner, moved_to(arrow_room((0.0, 0.0), long, angle), spots))
        if is_in.any():
            return draw_arrow(drawing, spots[int(is_in.argmax())], long, angle)
    for long in (*ARROWS, 8.0):
        half = np.array([long / 2, 1.6] if angle == 0.0 else [1.6, long / 2])
        low, high = np.array(spots) - half, np.array(spots) + half
        is_in = shapely.covers(inner, shapely.box(*low.T, *high.T))
        if is_in.any():
            return drawing.arrows(spots[int(is_in.argmax())], long, angle)
