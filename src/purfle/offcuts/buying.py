"""What to buy for the parts that found no room: one board a wood."""

import math
from dataclasses import replace

from shapely import Polygon, box

from purfle.geometry.pose import Pose
from purfle.model.offcuts import OffcutRule, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts.packing import Stock, pack
from purfle.tolerances import SAME_PLACE
from purfle.units import show
from purfle.wood import known_as

SIZE_STEP = 10.0
"""Sizes to ask for are whole centimetres."""
THICKNESS_STEP = 0.5
MOST_SIZES = 30
"""Sizes tried before the estimate is taken as it is."""
COARSE = 2.0
"""Raster (mm) good enough to say what to buy."""


Size = tuple[float, float, float]


def board_to_buy(parts: tuple[Wanted, ...], rule: OffcutRule) -> Size:
    """Length along the fibres, width and thickness (mm) of the smallest board found that would take all these parts."""
    length, width = _least_size(parts[0].wood, parts, rule)
    thickness = max(part.thickness for part in parts)
    thickness += (rule.slices - 1) * (thickness + rule.slice_over)
    return length, width, math.ceil(thickness / THICKNESS_STEP - SAME_PLACE) * THICKNESS_STEP


def to_buy(wood: str, size: Size) -> str:
    """One line: the wood and the board, in mm and inches."""
    length, width, thickness = size
    inches = " x ".join(_inches(mm) for mm in (length, width, thickness))
    return f"{known_as(wood)}, {length:g} x {width:g} x {thickness:g} mm ({inches}) at least, fibres along its length"


def _inches(mm: float) -> str:
    """Inches, rounded up to an eighth: less would not do."""
    return show(math.ceil(mm / 25.4 * 8) / 8 * 25.4, "inch")


def _least_size(wood: str, parts: tuple[Wanted, ...], rule: OffcutRule) -> tuple[float, float]:
    """The smallest size found: it grows from that of the largest part until all go on it."""
    sizes = [_along_and_across(part) for part in parts]
    length = _rounded(max(size[0] for size in sizes) + 2 * rule.margin)
    width = _rounded(max(size[1] for size in sizes) + 2 * rule.margin)
    needed = sum(part.region.area for part in parts)
    thickness = max(part.thickness for part in parts)
    coarse = replace(rule, step=max(rule.step, COARSE))
    for _ in range(MOST_SIZES):
        free = (length - 2 * rule.margin) * (width - 2 * rule.margin)
        board = Offcut(wood, wood, box(0, 0, length, width), thickness)
        if free >= needed and not pack(Stock.of(board, coarse), parts, searches=0)[1]:
            break
        # grow the shorter way as long as the board stays longer than wide, as boards are sold
        if width * 2 < length:
            width += SIZE_STEP
        else:
            length += SIZE_STEP
    return length, width


def _along_and_across(part: Wanted) -> tuple[float, float]:
    """Sizes of a part along and across its fibres."""
    left, low, right, high = _turned(part).bounds
    return right - left, high - low


def _turned(part: Wanted) -> Polygon:
    turned = Pose(-part.grain).region(part.region)
    assert isinstance(turned, Polygon)
    return turned


def _rounded(mm: float) -> float:
    return math.ceil(mm / SIZE_STEP) * SIZE_STEP
