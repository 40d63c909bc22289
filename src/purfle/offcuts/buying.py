"""What to buy for the parts that found no room: one board a wood."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from shapely import Polygon, box

from purfle.geometry.pose import Pose
from purfle.model.offcuts import OffcutRule, Wanted
from purfle.model.shop import Offcut, SoldSizes
from purfle.offcuts.packing import Stock, pack
from purfle.tolerances import SAME_PLACE
from purfle.units import show
from purfle.wood import known_as, same_wood

ALONG = "fibres along its length"
SIZE_STEP = 10.0
"""Sizes to ask for are whole centimetres."""
THICKNESS_STEP = 0.5
MOST_SIZES = 30
"""Sizes tried before the estimate is taken as it is."""
COARSE = 2.0
"""Raster (mm) good enough to say what to buy."""


Size = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class ToBuy:
    """The parts of one wood that found no room, and the board for them.

    `sold`: how it stands to the sizes that are sold: "unknown", "sold", or "none" where no board that is sold is as
    large; then, and where they are unknown, `size` is the least that was found.
    """

    parts: tuple[Wanted, ...]
    size: Size
    sold: Literal["unknown", "sold", "none"]

    @property
    def line(self) -> str:
        """The wood and the board, in mm and inches."""
        words = "as sold" if self.sold == "sold" else "at least"
        return f"{to_buy(self.parts[0].wood, self.size, _exactly if self.sold == 'sold' else _inches)} {words}, {ALONG}"

    @property
    def mend(self) -> str:
        """What to do, as a finding says it."""
        length, width, thickness = self.size
        size = f"{length:.0f} mm (along its fibres) x {width:.0f} mm, {hundredths(thickness)} mm thick"
        if self.sold == "sold":
            return f"buy a board of {size}, the smallest of the sizes sold that takes them, or choose another wood"
        known = "no board that is sold takes them all" if self.sold == "none" else "[[sold]] names no size of it"
        return f"buy a board of {size} at least ({known}), or choose another wood"


def to_buy_for(parts: tuple[Wanted, ...], rule: OffcutRule, sold: tuple[SoldSizes, ...]) -> ToBuy:
    """The smallest board that would take all these parts: of the sizes sold, where the shop names them."""
    least = board_to_buy(parts, rule)
    wood = parts[0].wood
    sizes = next((one for one in sold if one.wood and same_wood(one.wood, wood)), None)
    sizes = sizes or next((one for one in sold if not one.wood), None)
    if sizes is None:
        return ToBuy(parts, least, "unknown")
    as_sold = _as_sold(parts, rule, sizes, least)
    return ToBuy(parts, as_sold or least, "sold" if as_sold else "none")


def _as_sold(parts: tuple[Wanted, ...], rule: OffcutRule, sizes: SoldSizes, least: Size) -> Size | None:
    """The board with the least wood of the sizes sold that takes all parts; None where there is none."""
    thick = next((one for one in sizes.thicknesses if one >= _thickness(parts, rule) - SAME_PLACE), None)
    if thick is None:
        return None
    needed = sum(part.region.area for part in parts)
    boards = sorted((long * wide, long, wide) for long in sizes.lengths for wide in sizes.widths)
    for _, long, wide in [one for one in boards if one[0] >= needed][:MOST_SIZES]:
        if (long >= least[0] and wide >= least[1]) or _takes(parts, rule, (long, wide)):
            return long, wide, thick
    enough = [(long, wide) for _, long, wide in boards if long >= least[0] and wide >= least[1]]
    return (*enough[0], thick) if enough else None


def board_to_buy(parts: tuple[Wanted, ...], rule: OffcutRule) -> Size:
    """Length along the fibres, width and thickness (mm) of the smallest board found that would take all these parts.

    The thickness is rounded up to half a millimetre.
    """
    length, width = _least_size(parts, rule)
    return length, width, math.ceil(_thickness(parts, rule) / THICKNESS_STEP - SAME_PLACE) * THICKNESS_STEP


def _thickness(parts: tuple[Wanted, ...], rule: OffcutRule) -> float:
    thickness = max(part.thickness for part in parts)
    return thickness + (rule.slices - 1) * (thickness + rule.slice_over)


def to_buy(wood: str, size: Size, in_inches: Callable[[float], str]) -> str:
    """The wood and the board, in mm and inches."""
    length, width, thickness = size
    inches = " x ".join(in_inches(mm) for mm in (length, width, thickness))
    return f"{known_as(wood)}, {length:g} x {width:g} x {thickness:g} mm ({inches})"


def _exactly(mm: float) -> str:
    """Inches of what is sold so: as near as is written."""
    return show(mm, "inch")


def _inches(mm: float) -> str:
    """Inches, rounded up to an eighth: less would not do."""
    return show(math.ceil(mm / 25.4 * 8) / 8 * 25.4, "inch")


def _least_size(parts: tuple[Wanted, ...], rule: OffcutRule) -> tuple[float, float]:
    """The smallest size found: it grows from that of the largest part until all go on it."""
    sizes = [_along_and_across(part) for part in parts]
    length = _rounded(max(size[0] for size in sizes) + 2 * rule.margin)
    width = _rounded(max(size[1] for size in sizes) + 2 * rule.margin)
    needed = sum(part.region.area for part in parts)
    for _ in range(MOST_SIZES):
        free = (length - 2 * rule.margin) * (width - 2 * rule.margin)
        if free >= needed and _takes(parts, rule, (length, width)):
            break
        # grow the shorter way as long as the board stays longer than wide, as boards are sold
        if width * 2 < length:
            width += SIZE_STEP
        else:
            length += SIZE_STEP
    return length, width


def _takes(parts: tuple[Wanted, ...], rule: OffcutRule, size: tuple[float, float]) -> bool:
    """True if a board of this length and width takes all parts."""
    wood = parts[0].wood
    board = Offcut(wood, wood, box(0, 0, *size), max(part.thickness for part in parts))
    coarse = replace(rule, step=max(rule.step, COARSE))
    return not pack(Stock.of(board, coarse), parts, searches=0)[1]


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


def hundredths(length: float) -> str:
    """A thickness to the hundredth: rounded to tenths, the sheets' inches would not agree with it."""
    return f"{length:.2f}".removesuffix("0")
