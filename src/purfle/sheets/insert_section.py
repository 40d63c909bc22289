"""A section through an insert in its recess, not to scale: depth, glue room, proud amount, seam, chamfer."""

import shapely

from purfle.model.board import Inlay
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import width
from purfle.sheets.rooms import Place
from purfle.sheets.style import Style

GROUND, INSERT = "#d0d0d0", "#f4f4f4"
FIGURE, WORDS = 14.0, 10.5
_FACE, _FLOOR, _UNDER, _TOP, _LOW = 15.5, 36.0, 32.2, 9.8, 45.0
"""Heights on the drawing: face, floor of the recess, underside of the insert, its top, end of the ground."""
_LEFT, _SEAM, _CHAMFER = 15.0, 2.4, 3.6
HIGH = 52.0
_BESIDE, _TO_FIGURES = 9.0, 13.0
"""Width of the ground to the right of the recess, and how far the small figures stand off it."""


def draw_insert(inlay: Inlay, style: Style, wide: float, figures: tuple[str, str]) -> Drawing:
    """The section of one inlay. `figures`: of the chamfer at the lower edge, and of what stands proud as it is now.

    The latter is empty where all inserts are as thick as asked for.
    """
    chamfer, now = figures
    drawing = Drawing(wide, HIGH)
    right = wide - 40.0
    _wood(drawing, right)
    _between(drawing, (right, _FACE, _TOP), style.proud(inlay.proud), "proud if planed" if now else "proud")
    if now:
        drawing.text((right + _TO_FIGURES + 3.0, (_FACE + _TOP) / 2 + 8.8), now, WORDS, "italic", anchor="l")
    _between(drawing, (right, _FLOOR, _UNDER), style.depth(inlay.glue_room), "glue room")
    x = (_LEFT + right) / 2
    drawing.line([(x, _FACE), (x, _FLOOR)])
    drawing.head((x, _FACE), (0.0, -1.0))
    drawing.head((x, _FLOOR), (0.0, 1.0))
    drawing.text((x, (_FACE + _FLOOR) / 2), f"{style.depth(inlay.depth)}", FIGURE, "bold", white=True, turned=True)
    _seam(drawing, inlay, style)
    _chamfer(drawing, chamfer)
    return drawing


def _wood(drawing: Drawing, right: float) -> None:
    """The ground with its recess, and the insert in it with chamfered lower edges."""
    end = right + _BESIDE
    ground: list[Place] = [(0, _FACE), (_LEFT, _FACE), (_LEFT, _FLOOR), (right, _FLOOR), (right, _FACE), (end, _FACE)]
    drawing.region(shapely.Polygon([*ground, (end, _LOW), (0, _LOW)]), 0.0, GROUND)
    drawing.line(ground, EDGE)
    x0, x1, c = _LEFT + _SEAM, right - _SEAM, _CHAMFER
    insert = [(x0, _TOP), (x1, _TOP), (x1, _UNDER - c), (x1 - c, _UNDER), (x0 + c, _UNDER), (x0, _UNDER - c)]
    drawing.region(shapely.Polygon(insert), FINE, INSERT)
    drawing.line([(_LEFT, _FACE), (right, _FACE)], HAIR, HIDDEN)


def _between(drawing: Drawing, place: tuple[float, float, float], figure: str, words: str) -> None:
    """A small height between two lines that run out to the right, with heads from outside and its figure beside it.

    `place`: the wall of the recess, and the two heights.
    """
    right, low, high = place
    x = right + _TO_FIGURES
    starts = {_FACE: right + _BESIDE, _FLOOR: right, _UNDER: right - _SEAM, _TOP: right - _SEAM}
    for y in (low, high):
        drawing.line([(starts[y], y), (x + 2.0, y)])
    drawing.line([(x, high - 6.5), (x, high)])
    drawing.head((x, high), (0.0, 1.0))
    drawing.line([(x, low + 6.5), (x, low)])
    drawing.head((x, low), (0.0, -1.0))
    middle = (low + high) / 2
    drawing.text((x + 3.0, middle), figure, FIGURE, "bold", anchor="l", white=True)
    drawing.text((x + 3.0, middle + 4.8), words, WORDS, "italic", anchor="l", white=True)


def _seam(drawing: Drawing, inlay: Inlay, style: Style) -> None:
    """The seam at the left wall, between two heads from outside, above the insert."""
    y, figure = 5.0, style.seam(inlay.fit.rule.seam)
    for x in (_LEFT, _LEFT + _SEAM):
        drawing.line([(x, y - 2.0), (x, (_FACE if x == _LEFT else _TOP) - 0.8)])
    drawing.line([(_LEFT - 7.0, y), (_LEFT, y)])
    drawing.head((_LEFT, y), (1.0, 0.0))
    drawing.line([(_LEFT + _SEAM + 7.0, y), (_LEFT + _SEAM, y)])
    drawing.head((_LEFT + _SEAM, y), (-1.0, 0.0))
    drawing.text((_LEFT + _SEAM + 8.4, y), figure, FIGURE, "bold", anchor="l")
    after = _LEFT + _SEAM + 8.4 + width(figure, FIGURE, "bold") + 2.6
    drawing.text((after, y + 0.4), "seam", WORDS, "italic", anchor="l")


def _chamfer(drawing: Drawing, figure: str) -> None:
    """The chamfer at the lower left edge, with a leader from below."""
    at = (_LEFT + _SEAM + _CHAMFER / 2, _UNDER - _CHAMFER / 2)
    spot = (_LEFT + 6.0, _LOW + 3.6)
    drawing.line([at, (spot[0] - 1.0, spot[1] - 2.6)])
    drawing.text((spot[0] - 4.0, spot[1] + 0.6), figure, FIGURE, "bold", anchor="l")
    after = spot[0] - 4.0 + width(figure, FIGURE, "bold") + 1.6
    drawing.text((after, spot[1] + 1.0), "chamfer at the lower edge", WORDS, "italic", anchor="l")
