"""Parts on one offcut: searched on a raster, settled and checked on the outlines themselves."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Pose
from purfle.model.offcuts import OffcutRule, Place, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts.parts import length_width_direction
from purfle.offcuts.raster import Print, Raster
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
EASED = 8
"""As many for places that may be short of room and have to be eased into it: each costs more."""
EASING_STEPS = 8
REPAIRS = 4
"""How often what found no room is put first in the queue before the next order is tried."""
PRINTED_CELLS = 10_000_000
"""Cells in all prints kept of one offcut: some tens of megabytes."""
FEWEST_FILLS = 1
MOST_SEARCHES = 400
"""Searches for a place on one offcut, all orders together: bounds the time where much is to be placed."""
WORTH_ANOTHER_ORDER = 0.8
"""If the first order placed less than this share of the wood, another one won't place it all."""


@dataclass(slots=True)
class Stock:
    """One offcut while it fills: its raster and the places taken."""

    offcut: Offcut
    rule: OffcutRule
    raster: Raster
    edge: BaseGeometry
    places: list[Place] = field(default_factory=list)
    taken: list[Polygon] = field(default_factory=list)
    prints: dict[tuple[int, float], tuple[Wanted, Print]] = field(default_factory=dict)

    @classmethod
    def of(cls, offcut: Offcut, rule: OffcutRule) -> "Stock":
        """An empty offcut."""
        return cls(offcut, rule, Raster.of(offcut, rule), offcut.outline.boundary)

    def copy(self) -> "Stock":
        """The same stock, to be filled further on its own."""
        return replace(self, raster=self.raster.copy(), places=list(self.places), taken=list(self.taken))

    def room_for(self, shape: Polygon) -> bool:
        """True if a shape keeps all room where it lies: to the edge, to the defects, to the places taken."""
        # touching is never enough: a distance of nothing may hide that the two overlap
        touching, rule = 2 * SAME_PLACE, self.rule
        keep = [(self.edge, rule.margin), (self.offcut.defects, max(rule.from_defect, touching))]
        keep += [(region, max(rule.between, touching)) for region in self.taken]
        return self.offcut.outline.covers(shape) and not any(
            shapely.dwithin(one, shape, room - SAME_PLACE) for one, room in keep
        )

    def shortest_room(self, shape: Polygon) -> tuple[float, BaseGeometry]:
        """How much room is left over where it is shortest (below 0: how much is missing), and what is nearest there."""
        # touching is never enough: a distance of nothing may hide that the two overlap
        touching = 2 * SAME_PLACE
        rooms = [(float(self.edge.distance(shape)) - self.rule.margin, self.edge)]
        if not self.offcut.defects.is_empty:
            defects = self.offcut.defects
            rooms.append((float(defects.distance(shape)) - max(self.rule.from_defect, touching), defects))
        if self.taken:
            ways = shapely.distance(self.taken, shape)
            nearest = int(ways.argmin())
            rooms.append((float(ways[nearest]) - max(self.rule.between, touching), self.taken[nearest]))
        return min(rooms, key=lambda room: room[0])

    def print_of(self, part: Wanted, angle: float) -> Print:
        """A part turned, ready to be tried; the last ones are kept, since every order tries the same turns again."""
        key = id(part), angle
        if key not in self.prints:
            if len(self.prints) * self.raster.size >= PRINTED_CELLS:
                self.prints.clear()
            self.prints[key] = part, self.raster.print_of(Pose(angle).region(part.region))
        return self.prints[key][1]

    def take(self, place: Place) -> None:
        """Give the wood of one place away."""
        region = place.region
        self.places.append(place)
        shapely.prepare(region)
        self.taken.append(region)
        self.raster.block(region, self.rule.between)


def pack(stock: Stock, parts: tuple[Wanted, ...], searches: int = MOST_SEARCHES) -> tuple[Stock, tuple[Wanted, ...]]:
    """The stock with as many of the parts on it as found room, and the parts left over. The given one stays as it is.

    Several orders are tried until one places everything, then orders in which what found no room goes first; else
    the one that placed the most wood is kept. `searches` bounds the work: one is one part once.
    """
    needed = _wood(parts)
    best: tuple[Stock, tuple[Wanted, ...]] = (stock, parts)
    fills = max(FEWEST_FILLS, searches // max(1, len(parts)))
    for along, order in [(along, order) for along in (True, False) for order in ORDERS]:
        queue = sorted(parts, key=order, reverse=True)
        for _ in range(REPAIRS):
            filled, left = _fill(stock.copy(), queue, along)
            if _wood(left) < _wood(best[1]):
                best = filled, left
            fills -= 1
            if not left or not fills or _wood(left) > (1 - WORTH_ANOTHER_ORDER) * needed:
                return best
            queue = [*left, *(part for part in queue if not any(part is other for other in left))]
    return best


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
    """A free place for a part, its fibres along those of the offcut; turned within the tolerance only if need be.

    Of both ways round the one is taken that ends nearest to the left end if `along`, else to the lower edge.
    """
    if part.region.area > stock.raster.free_area:
        return None
    for turns in _turns(part, stock):
        for loosely in (False, True):
            found = [trial for angle in turns if (trial := _trial(stock, part, angle, (along, loosely)))]
            if found:
                ends = [trial[1].bounds[2 if along else 3] for trial in found]
                # either way round often ends at one place: then the first way, not what rounding says
                nearest = next(place for place, end in enumerate(ends) if end <= min(ends) + SAME_PLACE)
                angle, shape, shift = found[nearest]
                x, y = (shift + _settled(stock, shape, along)).tolist()
                return Place(part, stock.offcut.name, Pose(angle, x, y), spare)
    return None


def _trial(stock: Stock, part: Wanted, angle: float, how: tuple[bool, bool]) -> tuple[float, Polygon, Places] | None:
    """The first free place of a part turned by an angle: the angle, its outline there, and how far it was moved.

    `how`: along or across, and whether to try places of the loose raster too, easing them into the room there is.
    """
    along, loosely = how
    tried = stock.print_of(part, angle)
    for shift in stock.raster.free_places(tried, along, EASED if loosely else ENOUGH_TRIED, loosely):
        shape = _moved(tried.shape, shift)
        if loosely:
            eased = _eased(stock, shape)
            shape, shift = _moved(shape, eased), shift + eased
        if stock.room_for(shape):
            return angle, shape, shift
    return None


def _eased(stock: Stock, shape: Polygon) -> Places:
    """How far to move a shape so that it keeps its room: step by step away from whatever is nearest.

    It may not succeed; the caller checks.
    """
    shift = np.zeros(2)
    for _ in range(EASING_STEPS):
        moved = _moved(shape, shift)
        room, nearest = stock.shortest_room(moved)
        if room >= -SAME_PLACE:
            break
        start, end = shapely.get_coordinates(shapely.shortest_line(nearest, moved))
        length = float(np.hypot(*(end - start)))
        if length <= SAME_PLACE:
            break
        shift = shift + (end - start) / length * -room
    return shift


def _turns(part: Wanted, stock: Stock) -> Iterator[tuple[float, ...]]:
    """Angles to try: with the fibres, either way round; then off them, in steps, up to the tolerance."""
    base = stock.offcut.grain - part.grain
    yield base % 360.0, (base + 180.0) % 360.0
    tolerance = stock.rule.grain_tolerance
    if tolerance > 0:
        for off in (tolerance / 2, tolerance):
            yield tuple((base + turn) % 360.0 for turn in (off, -off, off + 180.0, 180.0 - off))


def _settled(stock: Stock, shape: Polygon, along: bool) -> Places:
    """How far a shape still slides, left and down, into the room that the raster could not see."""
    shift = np.zeros(2)
    step = stock.raster.step
    for way in ((-1.0, 0.0), (0.0, -1.0)) if along else ((0.0, -1.0), (-1.0, 0.0)):
        for length in (step, step / 2, step / 4):
            trial = shift + np.array(way) * length
            if stock.room_for(_moved(shape, trial)):
                shift = trial
    return shift


def _moved(shape: Polygon, shift: Places) -> Polygon:
    moved = shapely.transform(shape, lambda xy: xy + shift)
    assert isinstance(moved, Polygon)
    return moved
