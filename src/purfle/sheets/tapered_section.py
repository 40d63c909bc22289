"""Sections through tapered walls, not to scale: an insert pressed into its recess; the wall that a V cutter makes."""

import shapely

from purfle.model.cutting import SetUp
from purfle.model.shop import VCutter
from purfle.model.tapered import TaperedRule
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import width
from purfle.sheets.programs import Group
from purfle.sheets.rooms import Place
from purfle.sheets.style import Style

GROUND, INSERT, PLATE_TINT = "#d0d0d0", "#f4f4f4", "#fbfbfb"
FIGURE, WORDS = 14.0, 10.5
HIGH = 56.0
_TOP, _SAW, _FACE, _UNDER, _FLOOR, _LOW = 3.0, 14.5, 21.5, 38.0, 42.5, 50.0
"""Heights on the drawing: top of the plate, foot of the plate, face, underside of the insert, floor, end of ground."""
_LEFT, _SLOPE = 11.0, 0.42
"""Where the wall meets the face, and how far it goes sideways for each mm of height."""
_BESIDE, _TO_FIGURES = 7.0, 12.0
_WALL_TOP, _WALL_WIDE = 14.0, 30.0


def draw_pressed_in(walls: TaperedRule, style: Style, wide: float) -> Drawing:
    """An insert in its recess as it is pressed in and glued, still hanging on its plate; where it is sawn off."""
    drawing = Drawing(wide, HIGH)
    right = wide - 34.0

    def inset(y: float) -> float:
        return (y - _FACE) * _SLOPE

    recess: list[Place] = [(0.0, _FACE), (_LEFT, _FACE), (_LEFT + inset(_FLOOR), _FLOOR)]
    recess += [(right - inset(_FLOOR), _FLOOR), (right, _FACE), (right + _BESIDE, _FACE)]
    drawing.region(shapely.Polygon([*recess, (right + _BESIDE, _LOW), (0.0, _LOW)]), 0.0, GROUND)
    drawing.line(recess, EDGE)
    body = [(_LEFT + inset(_SAW), _SAW), (right - inset(_SAW), _SAW)]
    body += [(right - inset(_UNDER), _UNDER), (_LEFT + inset(_UNDER), _UNDER)]
    drawing.region(shapely.Polygon(body), FINE, INSERT)
    drawing.region(shapely.box(1.0, _TOP, right + _BESIDE - 1.0, _SAW), FINE, PLATE_TINT)
    drawing.text(((_LEFT + right) / 2, (_TOP + _SAW) / 2), "plate, sawn off", WORDS, "italic")
    saw = (_SAW + _FACE) / 2 - 0.6
    drawing.line([(0.0, saw), (right + _BESIDE, saw)], HAIR, HIDDEN)
    _height(drawing, right, (_FACE, _SAW), style.depth(walls.saw_room), "saw room")
    _height(drawing, right, (_FLOOR, _UNDER), style.depth(walls.glue_room), "glue room")
    x = (_LEFT + right) / 2
    drawing.line([(x, _FACE), (x, _UNDER)])
    drawing.head((x, _FACE), (0.0, -1.0))
    drawing.head((x, _UNDER), (0.0, 1.0))
    drawing.text((x + 3.2, (_FACE + _UNDER) / 2), style.depth(walls.sink), FIGURE, "bold", white=True, turned=True)
    drawing.text((x + 7.4, (_FACE + _UNDER) / 2), "sinks in", WORDS, "italic", white=True, turned=True)
    return drawing


def _height(drawing: Drawing, right: float, between: tuple[float, float], figure: str, words: str) -> None:
    """A small height between two lines that run out to the right, with heads from outside and its figure beside it."""
    low, high = between
    x = right + _BESIDE + _TO_FIGURES / 2
    for y in between:
        drawing.line([(right + _BESIDE if y != _UNDER else right - 8.0, y), (x + 2.0, y)], HAIR)
    drawing.line([(x, high - 5.0), (x, high)])
    drawing.head((x, high), (0.0, 1.0))
    drawing.line([(x, low + 5.0), (x, low)])
    drawing.head((x, low), (0.0, -1.0))
    middle = (low + high) / 2
    drawing.text((x + 3.0, middle - 1.4), figure, FIGURE, "bold", anchor="l", white=True)
    drawing.text((x + 3.0, middle + 3.4), words, WORDS, "italic", anchor="l", white=True)


def draw_v_wall(set_up: SetUp, groups: list[Group], cutter: VCutter, style: Style, room: Place) -> tuple[Drawing, str]:
    """The wall that the V cutter makes: the line at the finished face, the slope, the depth; and the words below it."""
    wide, high = room
    depth = max(group.depth for group in groups)
    is_recess = set_up.stock == "board"
    floor = min(high - 10.0, _WALL_TOP + 34.0)
    drawing = Drawing(wide, floor + 9.0)
    slope = min(0.9, 0.1 + cutter.half_angle / 60.0)
    face, foot = _WALL_TOP, _WALL_TOP + (floor - _WALL_TOP)
    # in a recess the wall leans inward as it goes down, around an insert away from it: the same to look at
    x = 12.0 if is_recess else 15.0
    end = min(x + (foot - face) * slope, wide - 14.0)
    outline: list[Place] = [(0.0, face), (x, face), (end, foot), (wide - 4.0, foot)]
    drawing.region(shapely.Polygon([*outline, (wide - 4.0, foot + 8.0), (0.0, foot + 8.0)]), 0.0, "#dadada")
    drawing.line(outline, EDGE)
    if is_recess:
        drawing.line([(x, face - 8.0), (x, face)], HAIR)
        drawing.text((x + 1.5, face - 6.0), "the line", WORDS, "bold", anchor="l")
    else:
        drawing.text((x / 2, face + 5.0), "piece", WORDS, "italic")
    across = wide - 9.0
    drawing.line([(end + 2.0, face), (across + 2.0, face)], HAIR, HIDDEN)
    drawing.line([(across, face), (across, foot)])
    drawing.head((across, face), (0.0, -1.0))
    drawing.head((across, foot), (0.0, 1.0))
    drawing.text((across, (face + foot) / 2), style.depth(depth), FIGURE, "bold", white=True, turned=True)
    angle = f"{2.0 * cutter.half_angle:g}°"
    left = max(2.0, (x + end) / 2 - 4.0 - width(angle, FIGURE, "bold"))
    drawing.text((left, foot + 4.0), angle, FIGURE, "bold", anchor="l")
    return drawing, "not to scale; the angle is that of the whole V"
