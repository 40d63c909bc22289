"""All templates of a page in one drawing, to one scale: their wood, openings, middle lines and pins."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.model.templates import Template
from purfle.sheets.drawing import CENTRE, FINE, HAIR, Drawing
from purfle.sheets.rooms import Place, laid_on_paper
from purfle.sheets.style import Style
from purfle.sheets.view import SCALES, scale_words

GAP, HEAD = 8.0, 6.0
WOOD = "#f2f2f2"


def draw_templates(templates: list[Template], style: Style, room: Place) -> Drawing:
    """The templates in rows, at the largest scale at which all of them find room on paper of a size."""
    for scale in SCALES:
        rows = _rows(templates, scale, room[0])
        if rows is not None and _height(rows, scale) <= room[1]:
            break
    drawing = Drawing(room[0], room[1])
    top = 0.0
    for row in rows or [[one] for one in templates]:
        left = 0.0
        for one in row:
            _draw(drawing, one, (left, top), scale)
            left += _size(one, scale)[0] + GAP
        top += max(_size(one, scale)[1] for one in row) + HEAD + GAP / 2.0
    drawing.height = top
    drawing.text((room[0], 2.4), f"drawn {scale_words(scale)}", 9.5, "italic", anchor="r")
    return drawing


def _size(template: Template, scale: float) -> Place:
    x0, y0, x1, y1 = template.outline.bounds
    return (x1 - x0) / scale, (y1 - y0) / scale


def _rows(templates: list[Template], scale: float, wide: float) -> list[list[Template]] | None:
    """The templates in rows from the left; None where one is wider than the paper."""
    rows: list[list[Template]] = [[]]
    left = 0.0
    for one in templates:
        across = _size(one, scale)[0]
        if across > wide:
            return None
        if left + across > wide:
            rows, left = [*rows, []], 0.0
        rows[-1].append(one)
        left += across + GAP
    return rows


def _height(rows: list[list[Template]], scale: float) -> float:
    return sum(max(_size(one, scale)[1] for one in row) + HEAD + GAP / 2.0 for row in rows)


def _draw(drawing: Drawing, one: Template, at: Place, scale: float) -> None:
    wide, high = _size(one, scale)
    middle = (at[0] + wide / 2.0, at[1] + HEAD + high / 2.0)

    def places(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([middle[0] + xy[:, 0] / scale, middle[1] - xy[:, 1] / scale])

    def laid(region: BaseGeometry) -> BaseGeometry:
        return laid_on_paper(region, places)

    drawing.text((at[0], at[1] + 2.4), f"T{one.number}", 12.0, "bold", anchor="l")
    drawing.region(laid(one.outline), FINE, WOOD)
    drawing.region(laid(one.opening), FINE, "#fff")
    x0, y0, x1, y1 = one.outline.bounds
    for line in (((x0, 0.0), (x1, 0.0)), ((0.0, y0), (0.0, y1))):
        drawing.line(list(shapely.get_coordinates(laid(shapely.LineString(line)))), HAIR, CENTRE)
    for pin in one.pins:
        drawing.region(laid(shapely.Point(pin).buffer(one.pin / 2.0)), HAIR, "#fff")
