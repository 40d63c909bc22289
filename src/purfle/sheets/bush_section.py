"""A section through a hand router's base, its guide bush against a template, the cutter in the wood; not to scale."""

import shapely

from purfle.model.cutting import SetUp
from purfle.model.templates import Template
from purfle.sheets.drawing import EDGE, FINE, HAIR, Drawing
from purfle.sheets.rooms import Place
from purfle.sheets.style import Style

WOOD, TEMPLATE, BUSH, BASE, STEEL = "#dadada", "#f2f2f2", "#bdbdbd", "#ededed", "#8f8f8f"
FIGURE, WORDS, HEIGHT = 13.0, 10.0, 11.0
_BASE, _THICK, _DEEP = 5.0, 11.0, 14.0
"""Heights on the drawing: of the router's base, the template, what is cut into the wood."""


def draw_bush(set_up: SetUp, template: Template, style: Style, room: Place) -> Drawing:
    """The bush in the opening of a template with the figures that matter: offset, template's thickness, depth."""
    guide, is_recess = set_up.guides[0].guide, set_up.stock == "board"
    depth = max(step.depth for step in set_up.steps)
    wide, high = room
    drawing = Drawing(wide, min(high, 66.0))
    top = 8.0
    under, wood, floor = top + _BASE, top + _BASE + _THICK, top + _BASE + _THICK + _DEEP
    wall, bush, half = 15.5, 4.4, 2.6
    middle = wall + bush + half + 2.4
    right, end = middle + half + 2.4 + bush, wide - 16.5
    _wood(drawing, (wall, middle, half), (wood, floor, floor + 9.0), (end, is_recess))
    drawing.region(shapely.box(0.0, under, wall, wood), FINE, TEMPLATE)
    drawing.region(shapely.box(0.0, top, end, under), FINE, BASE)
    for x in (wall, right - bush):
        drawing.region(shapely.box(x, under, x + bush, wood - 2.5), FINE, BUSH)
    drawing.region(shapely.box(middle - half, top - 4.0, middle + half, floor), FINE, STEEL)
    drawing.text((wall / 2.0, (under + wood) / 2.0), "template", WORDS - 0.5, "italic")
    drawing.text((middle, floor + 4.6), "cutter", WORDS, "italic", white=True)
    _height(drawing, end + 5.0, (under, wood), style.depth(template.thickness))
    _height(drawing, end + 5.0, (wood, floor), style.depth(depth))
    edge = middle - half if is_recess else middle + half
    y = floor + 14.0
    for x in (wall, edge):
        drawing.line([(x, wood if x == wall else floor), (x, y + 2.0)], HAIR)
    drawing.line([(wall, y), (edge, y)])
    drawing.head((wall, y), (-1.0, 0.0))
    drawing.head((edge, y), (1.0, 0.0))
    off = guide.offset if is_recess else guide.across
    drawing.text(((wall + edge) / 2.0, y + 4.6), style.true(off), FIGURE, "bold")
    drawing.height = y + 8.0
    return drawing


def _wood(
    drawing: Drawing, across: tuple[float, float, float], down: tuple[float, float, float], ends: tuple[float, bool]
) -> None:
    """What stands: beside a recess the ground; round an insert the offcut, and the insert."""
    (_, middle, half), (face, floor, foot), (end, is_recess) = across, down, ends
    left, right = middle - half, middle + half
    below = floor + 1.5 if not is_recess else foot
    drawing.region(shapely.box(0.0, face, left, below), 0.0, WOOD)
    if is_recess:
        drawing.region(shapely.box(left, floor, end, below), 0.0, WOOD)
        drawing.line([(0.0, face), (left, face), (left, floor), (end, floor)], EDGE)
        return
    drawing.region(shapely.box(right, face, end, below - 1.5), 0.0, WOOD)
    drawing.line([(0.0, face), (left, face), (left, floor)], EDGE)
    drawing.line([(right, floor), (right, face), (end, face)], EDGE)
    drawing.text(((right + end) / 2.0 + 1.0, (face + floor) / 2.0), "insert", WORDS, "italic")
    drawing.region(shapely.box(0.0, floor, end, foot), HAIR, "#efefef")


def _height(drawing: Drawing, x: float, between: tuple[float, float], figure: str) -> None:
    """A height with heads at both ends and its figure beside it, turned."""
    high, low = between
    for y in between:
        drawing.line([(x - 6.0, y), (x + 1.5, y)], HAIR)
    drawing.line([(x, high), (x, low)])
    drawing.head((x, high), (0.0, -1.0))
    drawing.head((x, low), (0.0, 1.0))
    drawing.text((x + 2.0, (high + low) / 2.0), figure, HEIGHT, "bold", anchor="l", white=True)
