"""A section through the wall of a recess or the edge of a part: the passes, their depths, what stands off the line."""

from dataclasses import dataclass
from itertools import pairwise

import shapely

from purfle.model.cutting import SetUp
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import width
from purfle.sheets.programs import Group
from purfle.sheets.rooms import Place, mark_shape
from purfle.sheets.style import Style

WOOD, BELOW = "#dadada", "#efefef"
WALL = 17.0
"""Wood drawn beside the line, in mm of paper."""
GROOVE = 27.0
"""Width drawn of the groove round a part."""
HEAD_ROOM = 12.0
"""Height above the wood for the line's name and the distance from it."""
LONG = 20.0
"""A lower section has its figure beside the dashed levels: along them it would break several."""
FIGURE_STRIP = 4.6
"""Paper beside the figure of a low section for the line that it belongs to."""
SHOWN_OFF = 1.0
"""The allowance is drawn so wide; it is too small to be seen at the scale of the depths."""
FIGURE = 14.0
FLOOR = 11.0
"""Wood drawn below the floor of a recess, at least."""
UNDER, BETWEEN = 6.4, 3.6
"""Wood drawn below the floor of one of several sections, and paper between two of them."""
ROOMY = 24.0
"""Wood at least so high holds a word beside the mark of the last pass."""
ROOM_FOR_WORDS = 4.5
LEVEL = 6.2
"""A level at least so high holds a numbered mark."""
MOST = 3
"""So many groups are drawn below each other; the table has them all."""
DEPTHS = (20.0, 15.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5, 0.25)
"""mm of paper to one of depth, the largest that finds room is taken."""


@dataclass(frozen=True, slots=True)
class Host:
    """The insert that a recess is cut into: its label, and its thickness once it is levelled."""

    label: str
    thickness: float


@dataclass(frozen=True, slots=True)
class _Box:
    """Where one section stands on the drawing, and mm of paper to one of depth, whether the line is named above it."""

    top: float
    wide: float
    high: float
    scale: float
    with_head: bool = True
    host: Host | None = None


def draw_sections(
    set_up: SetUp, groups: list[Group], style: Style, room: Place, host: Host | None = None
) -> tuple[Drawing, str]:
    """The sections of a program's groups below each other, the deepest ones, and the words on their scale."""
    shown = sorted(groups, key=lambda g: -g.depth)[:MOST]
    shown = [g for g in groups if g in shown]
    drawing = Drawing(*room)
    if len(shown) == 1:
        free = room[1] - HEAD_ROOM - FLOOR
        scale = next((s for s in DEPTHS if s * _drawn_depth(set_up, shown[0]) <= free), DEPTHS[-1])
        drawing.height = _section(drawing, set_up, shown[0], _Box(HEAD_ROOM, room[0], room[1], scale, host=host), style)
        return drawing, f"depths {scale:g} : 1" if scale >= 1 else f"depths 1 : {1 / scale:g}"
    each = (room[1] - HEAD_ROOM) / len(shown)
    for number, group in enumerate(shown):
        top = HEAD_ROOM + number * each
        scale = (each - BETWEEN - UNDER) / _drawn_depth(set_up, group)
        box = _Box(top, room[0], top + each - BETWEEN, scale, number == 0, host)
        drawing.height = _section(drawing, set_up, group, box, style)
    return drawing, "not to scale"


def _drawn_depth(set_up: SetUp, group: Group) -> float:
    return group.depth if _is_recess(group) or set_up.sawing else max(group.depth, set_up.thickness)


def _is_recess(group: Group) -> bool:
    return not group.lines or group.lines[0].kind == "recess"


def _section(drawing: Drawing, set_up: SetUp, group: Group, box: _Box, style: Style) -> float:
    """One section; the height on the drawing where it ends."""
    if _is_recess(group):
        foot = _recess_wood(drawing, set_up, group, box, style)
    else:
        foot = _part_wood(drawing, set_up, group, box, style)
    _levels(drawing, group, box, style)
    if box.with_head:
        _line_and_off(drawing, group, box, style)
    _marks(drawing, group, box)
    _depths(drawing, group, box, style)
    return foot


def _recess_wood(drawing: Drawing, set_up: SetUp, group: Group, box: _Box, style: Style) -> float:
    """The wall and the floor, and how much wood is left below; where that ends."""
    y0, floor = box.top, box.top + group.depth * box.scale
    below = min(box.high, max(floor + UNDER, box.top + set_up.thickness * box.scale))
    wood = [(0, y0), (WALL, y0), (WALL, floor), (box.wide, floor), (box.wide, below), (0, below)]
    drawing.region(shapely.Polygon(wood), 0.0, WOOD)
    drawing.line([(0, y0), (WALL, y0), (WALL, floor), (box.wide, floor)], EDGE)
    if box.host is not None:
        _host_wood(drawing, group, box, style, below)
        return below
    left = set_up.thickness - group.depth
    drawing.text((box.wide / 2, (floor + below) / 2), f"{style.depth(left)} left below", 10.5)
    return below


def _host_wood(drawing: Drawing, group: Group, box: _Box, style: Style, below: float) -> None:
    """Below the floor, what is left of the insert that the recess is cut into, and the board under it."""
    assert box.host is not None
    floor, under = (box.top + depth * box.scale for depth in (group.depth, box.host.thickness))
    under = min(under, below)
    drawing.region(shapely.box(0, under, box.wide, below), 0.0, BELOW)
    drawing.line([(0, under), (box.wide, under)], FINE)
    words = f"{style.depth(box.host.thickness - group.depth)} of {box.host.label} left"
    drawing.text((box.wide / 2, (floor + under) / 2), words, 10.5)
    if below - under > ROOM_FOR_WORDS:
        drawing.text((box.wide / 2, (under + below) / 2), "glue and board", 10.5)


def _part_wood(drawing: Drawing, set_up: SetUp, group: Group, box: _Box, style: Style) -> float:
    """The part on the left, the groove, the rest of the offcut, and the sacrificial board below; where that ends."""
    if set_up.sawing is not None:
        return _block_wood(drawing, set_up, group, box, style)
    y0, under, end = box.top, box.top + set_up.thickness * box.scale, box.top + group.depth * box.scale
    low = min(box.high, end + UNDER)
    rest = WALL + GROOVE
    board = [(0, under), (WALL, under), (WALL, end), (rest, end), (rest, under), (box.wide, under), (box.wide, low)]
    drawing.region(shapely.Polygon([*board, (0, low)]), HAIR, BELOW)
    drawing.region(shapely.box(0, y0, WALL, under), 0.0, WOOD)
    drawing.region(shapely.box(rest, y0, box.wide, under), 0.0, WOOD)
    drawing.line([(0, y0), (WALL, y0), (WALL, end), (rest, end), (rest, y0), (box.wide, y0)], EDGE)
    drawing.line([(0, under), (WALL, under)], HAIR)
    if under - y0 > ROOMY:
        drawing.text((WALL / 2, (y0 + under) / 2), "piece", 10.5)
    if low - end > 4.0 and group.depth > set_up.thickness:
        through = style.depth(group.depth - set_up.thickness)
        drawing.text((box.wide / 2, (end + low) / 2), f"{through} into the board below", 10.5)
    return low


def _block_wood(drawing: Drawing, set_up: SetUp, group: Group, box: _Box, style: Style) -> float:
    """A block that is not cut through: the part on the left with the levels of the saw, the groove, the rest."""
    assert set_up.sawing is not None
    y0, floor, rest = box.top, box.top + group.depth * box.scale, WALL + GROOVE
    low = min(box.high, max(floor + UNDER, box.top + set_up.thickness * box.scale))
    ring = [(0, y0), (WALL, y0), (WALL, floor), (rest, floor), (rest, y0), (box.wide, y0), (box.wide, low), (0, low)]
    drawing.region(shapely.Polygon(ring), 0.0, WOOD)
    drawing.line([(0, y0), (WALL, y0), (WALL, floor), (rest, floor), (rest, y0), (box.wide, y0)], EDGE)
    for level in set_up.sawing.levels:
        y = box.top + level * box.scale
        drawing.line([(0, y), (WALL, y)], EDGE, HIDDEN)
    if low - floor > ROOM_FOR_WORDS:
        words = f"{style.depth(set_up.thickness - group.depth)} left below; bold dashes: saw"
        drawing.text((box.wide / 2, (floor + low) / 2), words, 10.5)
    return low


def _levels(drawing: Drawing, group: Group, box: _Box, style: Style) -> None:
    """Dashed, the floor of each roughing pass, as far as the figure of the depth; beside the line, what is left."""
    right = _right(group, box)
    if not _is_long(group.depth, box, style):
        right -= FIGURE_STRIP + width(style.depth(group.depth), FIGURE, "bold")
    floor = box.top + group.depth * box.scale
    drawing.line([(WALL + SHOWN_OFF, box.top), (WALL + SHOWN_OFF, floor)], HAIR)
    if _is_recess(group):
        drawing.line([(WALL + SHOWN_OFF, box.top), (right, box.top)], HAIR, HIDDEN)
    for one in group.roughing:
        y = box.top + one.depth * box.scale
        if one.depth < group.depth:
            drawing.line([(WALL + SHOWN_OFF, y), (right, y)], HAIR, HIDDEN)


def _line_and_off(drawing: Drawing, group: Group, box: _Box, style: Style) -> None:
    """The line by its name, and between two arrows how far roughing stays off it."""
    y = box.top - 4.6
    drawing.line([(WALL, box.top - 11.0), (WALL, box.top - 0.8)])
    drawing.text((WALL - 1.2, box.top - 9.4), "the line", 11.5, "bold", anchor="r")
    off = max((p.off_line for p in group.roughing), default=0.0)
    if not off:
        return
    drawing.line([(WALL + SHOWN_OFF, box.top - 11.0), (WALL + SHOWN_OFF, box.top - 0.8)])
    drawing.line([(WALL - 8.0, y), (WALL, y)])
    drawing.head((WALL, y), (1.0, 0.0))
    drawing.line([(WALL + SHOWN_OFF + 8.0, y), (WALL + SHOWN_OFF, y)])
    drawing.head((WALL + SHOWN_OFF, y), (-1.0, 0.0))
    drawing.text((WALL + SHOWN_OFF + 9.0, y), style.depth(off), FIGURE, "bold", anchor="l")


def _marks(drawing: Drawing, group: Group, box: _Box) -> None:
    """The numbers of the passes: each in its level, or first and last of the roughing where levels are low."""
    x, above, levels = WALL + 6.4, 0.0, []
    for one in group.roughing:
        levels.append((one, above, one.depth))
        above = one.depth
    is_roomy = all((b - a) * box.scale >= LEVEL for _, a, b in levels)
    for one, a, b in levels if is_roomy else ():
        drawing.mark((x, box.top + (a + b) / 2 * box.scale), str(one.number))
    if levels and not is_roomy:
        first, last = levels[0][0].number, levels[-1][0].number
        words = str(first) if first == last else f"{first}–{last}"
        half = float(mark_shape((0.0, 0.0), words).bounds[2])
        drawing.mark((WALL + SHOWN_OFF + 1.4 + half, box.top + group.depth / 2 * box.scale), words)
    for one in group.last[:1]:
        y = box.top + 0.72 * group.depth * box.scale
        drawing.line([(WALL - 4.0, y), (WALL + SHOWN_OFF / 2, y - 2.0)])
        drawing.mark((WALL - 6.6, y), str(one.number))


def _depths(drawing: Drawing, group: Group, box: _Box, style: Style) -> None:
    """Depth of the first level and of the whole, each between two heads."""
    shown = [group.depth]
    levels = [p.depth for p in group.roughing if p.depth < group.depth]
    if levels and (levels[0] * box.scale) > width(style.depth(levels[0]), FIGURE, "bold") + 8.0:
        shown.insert(0, levels[0])
    if not _is_long(group.depth, box, style):
        return _low_depth(drawing, group, box, style)
    right = _right(group, box) - (5.5 if _is_recess(group) else 4.5)
    for number, depth in enumerate(reversed(shown)):
        x, end = right - 9.0 * number, box.top + depth * box.scale
        drawing.line([(x, box.top), (x, end)])
        drawing.head((x, box.top), (0.0, -1.0))
        drawing.head((x, end), (0.0, 1.0))
        y = box.top + _between_levels(levels, depth, width(style.depth(depth), FIGURE, "bold") / box.scale) * box.scale
        drawing.text((x, y), style.depth(depth), FIGURE, "bold", white=True, turned=True)


def _between_levels(levels: list[float], depth: float, long: float) -> float:
    """How deep the middle of a figure stands: off the dashed levels, as near half way down as that allows."""
    ends = [0.0, *(level for level in levels if level < depth), depth]
    middles = [(a + b) / 2 for a, b in pairwise(ends) if b - a > 1.1 * long]
    return min(middles, key=lambda y: (abs(y - depth / 2), y), default=depth / 2)


def _low_depth(drawing: Drawing, group: Group, box: _Box, style: Style) -> None:
    """The depth of a low section, level beside its heads, clear of the dashed levels."""
    figure, end = style.depth(group.depth), box.top + group.depth * box.scale
    x = _right(group, box) - width(figure, FIGURE, "bold") - 2.2
    drawing.line([(x, box.top), (x, end)])
    drawing.head((x, box.top), (0.0, -1.0))
    drawing.head((x, end), (0.0, 1.0))
    drawing.text((x + 1.6, (box.top + end) / 2), figure, FIGURE, "bold", anchor="l")


def _right(group: Group, box: _Box) -> float:
    """Where what is cut away ends on the drawing."""
    return box.wide if _is_recess(group) else WALL + GROOVE


def _is_long(depth: float, box: _Box, style: Style) -> bool:
    """True if the figure of a depth finds room along it."""
    return depth * box.scale > max(LONG, width(style.depth(depth), FIGURE, "bold") + 5.0)
