"""Parts on one offcut: searched on a raster, settled and checked on the outlines themselves."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.pose import Pose
from purfle.model.offcuts import OffcutRule, Place, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts.parts import length_width_direction
from purfle.offcuts.raster import Raster
from purfle.tolerances import SAME_PLACE

Places: TypeAlias = NDArray[np.float64]
Order: TypeAlias = Callable[[Wanted], float]
ORDERS: tuple[Order, ...] = (
    lambda part: float(part.region.area),
    lambda part: length_width_direction(part.region)[0],
    lambda part: length_width_direction(part.region)[1],
)
"""Which part goes first: the one with the most wood, the longest, the widest."""
ENOUGH_TRIED = 20
"""Places that are checked exactly for one part and one turn: as many of the best, then as many spread over the rest."""
WORTH_ANOTHER_ORDER = 0.6
"""If the first order placed less than this share of the wood, another one won't place it all."""


@dataclass(slots=True)
class Stock:
    """One offcut while it fills: its raster and the places taken."""

    offcut: Offcut
    rule: OffcutRule
    raster: Raster
    places: list[Place] = field(default_factory=list)
    taken: list[Polygon] = field(default_factory=list)

    @classmethod
    def of(cls, offcut: Offcut, rule: OffcutRule) -> "Stock":
        """An empty offcut."""
        return cls(offcut, rule, Raster.of(offcut, rule))

    def copy(self) -> "Stock":
        """The same stock, to be filled further on its own."""
        return Stock(self.offcut, self.rule, self.raster.copy(), list(self.places), list(self.taken))

    def room_for(self, shape: Polygon) -> bool:
        """True if a shape keeps all room where it lies: to the edge, to the defects, to the places taken."""
        offcut, rule = self.offcut, self.rule
        if not offcut.outline.covers(shape):
            return False
        if offcut.outline.boundary.distance(shape) < rule.margin - SAME_PLACE:
            return False
        if not offcut.defects.is_empty and offcut.defects.distance(shape) < rule.from_defect - SAME_PLACE:
            return False
        return all(shape.distance(other) >= rule.between - SAME_PLACE for other in self.taken)

    def take(self, place: Place) -> None:
        """Give the wood of one place away."""
        region = place.region
        self.places.append(place)
        self.taken.append(region)
        self.raster.block(region, self.rule.between)


def pack(stock: Stock, parts: tuple[Wanted, ...]) -> tuple[Stock, tuple[Wanted, ...]]:
    """The stock with as many of the parts on it as found room, and the parts left over. The given one stays as it is.

    Several orders are tried until one places everything; else the one that placed the most wood is kept.
    """
    best: tuple[Stock, tuple[Wanted, ...]] | None = None
    needed = sum(part.region.area for part in parts)
    for order in ORDERS:
        for along in (True, False):
            filled, left = _fill(stock.copy(), sorted(parts, key=order, reverse=True), along)
            if best is None or _wood(left) < _wood(best[1]):
                best = filled, left
            if not left or _wood(left) > (1 - WORTH_ANOTHER_ORDER) * needed:
                return best
    return best or (stock, parts)


def _wood(parts: tuple[Wanted, ...]) -> float:
    return float(sum(part.region.area for part in parts))


def _fill(stock: Stock, parts: list[Wanted], along: bool) -> tuple[Stock, tuple[Wanted, ...]]:
    left: list[Wanted] = []
    for part in parts:
        place = find_place(stock, part, along)
        if place is None:
            left.append(part)
        else:
            stock.take(place)
    return stock, tuple(left)


def find_place(stock: Stock, part: Wanted, along: bool = True, spare: bool = False) -> Place | None:
    """A free place for a part, its fibres along those of the offcut; turned within the tolerance only if need be."""
    for angle in _turns(part, stock):
        turned = Pose(angle).region(part.region)
        corner = np.array(turned.bounds[:2])
        for spot in _some(stock.raster.free_places(turned, along)):
            shape = _moved(turned, spot - corner)
            if stock.room_for(shape):
                shift = spot - corner + _settled(stock, shape, along)
                return Place(part, stock.offcut.name, Pose(angle, float(shift[0]), float(shift[1])), spare)
    return None


def _some(spots: Places) -> Places:
    """The best spots, then some of all the others, best first."""
    rest = spots[ENOUGH_TRIED:]
    return np.concatenate([spots[:ENOUGH_TRIED], rest[:: max(1, len(rest) // ENOUGH_TRIED)]])


def _turns(part: Wanted, stock: Stock) -> Iterator[float]:
    """Angles to try: with the fibres, either way round; then off them, in steps, up to the tolerance."""
    base = stock.offcut.grain - part.grain
    tolerance = stock.rule.grain_tolerance
    for off in (0.0, *((tolerance / 2, -tolerance / 2, tolerance, -tolerance) if tolerance > 0 else ())):
        yield (base + off) % 360.0
        yield (base + off + 180.0) % 360.0


def _settled(stock: Stock, shape: Polygon, along: bool) -> Places:
    """How far a shape still slides, left and down, into the room that the raster could not see."""
    shift = np.zeros(2)
    step = stock.raster.step
    for way in ((-1.0, 0.0), (0.0, -1.0)) if along else ((0.0, -1.0), (-1.0, 0.0)):
        for length in (step, step / 2, step / 4, step / 8):
            trial = shift + np.array(way) * length
            if stock.room_for(_moved(shape, trial)):
                shift = trial
    return shift


def _moved(shape: Polygon, shift: Places) -> Polygon:
    moved = shapely.transform(shape, lambda xy: xy + shift)
    assert isinstance(moved, Polygon)
    return moved
