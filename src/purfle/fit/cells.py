"""The partition while it is being worked on: one cell for the ground, one for each piece to be."""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import groupby
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from purfle.errors import FitError
from purfle.fit.given_tips import GivenTips
from purfle.fit.own_place import UPRIGHT, OwnPlace
from purfle.fit.ranking import longest_first
from purfle.geometry.coverage import (
    edge_matched,
    noded_without_slits,
    shares_every_vertex,
    union_of_noded,
    without_slits,
)
from purfle.geometry.crowding import MOST_ABOUT, vertices_about
from purfle.geometry.offsetting import (
    Region,
    difference,
    intersection,
    on_grid,
    polygonal,
    polygons,
    region_of,
    together,
    union,
    union_of,
)
from purfle.geometry.partition import border_samples, boxes_near, near, shared, without
from purfle.geometry.reaching import Box
from purfle.hard_stop import busy
from purfle.mate import ALONE, Mate
from purfle.model.artwork import Colour
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, FitRule
from purfle.tolerances import CLOSING_SLACK, TOUCHING

GROUND = "ground"
MARGIN_IN_DIAMETERS = 4.0
"""Ground around the design, in cutter diameters: more than any closing reaches."""
_VERTICES_A_SECOND = 40_000
"""Vertices of cells that are looked at and worked on in a second of one core of a plain machine of 2024."""
_VERTICES_A_CELL = 200
"""What looking at a cell costs besides its vertices, in vertices."""
_MOST_WAITING = 64
"""Gains and losses of a cell that are worked in together at most; more would be gone through again and again."""
_DYING_DOWN = 0.95
"""What comes back at less than this share of its depth dies down by itself."""

Bodies: TypeAlias = list[tuple[Region, float]]
"""Regions, each with the radius that it has to be closed by."""


@dataclass(slots=True, eq=False)
class Cell:
    """One piece to be.

    `unswept` and `untrimmed` hold the boxes in which it changed since a step last found nothing to do; None: all of it.
    `sturdy` is the middle of a disc that showed it to be thick enough. Cells that differ in `apart` are never joined.
    `joined`: the region of which it is known what it touches. What the cell gains and loses (`waiting`, True for
    gained) is worked into `settled` all at once, when the region is asked for: a large cell changes in many places.
    `cutter`: radius of its own finishing cutter, None for that of the rule. `box`: its bounds, once asked for.
    """

    name: str
    wood: str
    colour: Colour
    settled: Region
    unswept: list[Box] | None = None
    untrimmed: list[Box] | None = None
    sturdy: tuple[float, float] | None = None
    apart: str = ""
    joined: Region | None = None
    waiting: list[tuple[bool, Region]] = field(default_factory=list)
    cutter: float | None = None
    box: Box | None = None

    @property
    def region(self) -> Region:
        """The region with all that it gained and lost."""
        if self.waiting:
            for gained, changes in groupby(self.waiting, key=lambda change: change[0]):
                change = together([part for _, part in changes])
                self.settled = union(self.settled, change) if gained else without(self.settled, change)
            self.waiting, self.box = [], None
        return self.settled

    def become(self, region: Region, changed: Region) -> None:
        """Take on a new region that differs from the old one within `changed` only."""
        self.settled, self.waiting, self.box = region, [], None
        self._look_at(changed)

    def gain(self, region: Region, closed: bool = False) -> None:
        """Take a region in. `closed`: out of its own closing, so it need not be looked at again."""
        self._change(True, region)
        if not closed:
            self._look_at(region)

    def lose(self, region: Region) -> None:
        """Give up a region."""
        self._change(False, region)
        self._look_at(region)

    def _change(self, gained: bool, region: Region) -> None:
        self.waiting.append((gained, region))
        self.box = None
        if len(self.waiting) > _MOST_WAITING:
            _ = self.region

    def _look_at(self, changed: Region) -> None:
        boxes = shapely.bounds(shapely.get_parts(changed)).tolist()
        for waiting in (self.unswept, self.untrimmed):
            if waiting is not None:
                waiting += [(left, low, right, high) for left, low, right, high in boxes if left <= right]

    def near(self, place: Region, reach: float) -> Region:
        """What of the cell lies in the bounding box of a place grown by `reach`."""
        around = near(self.settled, place, reach)
        for gained, part in self._waiting_near(place, reach):
            around = union(around, near(part, place, reach)) if gained else without(around, part)
        return around

    def _waiting_near(self, place: Region, reach: float) -> list[tuple[bool, Region]]:
        """What it gained and lost lately whose box comes near to that of a place."""
        if not self.waiting:
            return []
        about = boxes_near(place, [part for _, part in self.waiting], reach).tolist()
        return [change for change, is_near in zip(self.waiting, about, strict=True) if is_near]

    def touches(self, place: Region) -> bool:
        """True if the cell meets a place, or met it before it lost something that it has not been relieved of yet."""
        shapely.prepare(self.settled)
        return bool(
            self.settled.intersects(place) or any(gained and part.intersects(place) for gained, part in self.waiting)
        )

    def border_with(self, region: Region, middles: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Which places on the outline of a region beside the cell lie against the cell.

        What it gained and lost lately is worked in only where it lost something: a large cell changes in many places.
        """
        points = shapely.points(middles)
        against = _which_are_near(self.settled, points, middles, TOUCHING)
        unsure = np.zeros(len(middles), np.bool_)
        for gained, part in self._waiting_near(region, 2.0 * TOUCHING):
            beside = _which_are_near(part, points, middles, TOUCHING if gained else 2.0 * TOUCHING)
            against |= beside & gained
            unsure = unsure & ~beside if gained else unsure | beside
        unsure &= against
        if unsure.any():
            body = self.near(region, 2.0 * TOUCHING)
            shapely.prepare(body)
            against[unsure] = shapely.dwithin(body, points[unsure], TOUCHING)
        return against

    @property
    def bounds(self) -> Box:
        """The box around the cell and around what it gained and lost lately."""
        if self.box is None:
            left, low, right, high = shapely.total_bounds([self.settled, *(part for _, part in self.waiting)]).tolist()
            self.box = left, low, right, high
        return self.box

    def like(self, region: Region) -> "Cell":
        """A cell of the same name and wood with a part of the region; what waited for a step still waits."""
        unswept = None if self.unswept is None else list(self.unswept)
        untrimmed = None if self.untrimmed is None else list(self.untrimmed)
        said = (self.name, self.wood, self.colour)
        return Cell(*said, region, unswept, untrimmed, apart=self.apart, cutter=self.cutter)

    @property
    def key(self) -> tuple[float, str, str, tuple[float, ...], bytes]:
        """What cells are ordered by where size or place must not leave the order open."""
        outline = shapely.to_wkb(shapely.normalize(self.region))
        return self.region.area, self.wood, self.name, self.region.bounds, outline


@dataclass(slots=True, eq=False)
class Quarrel:
    """A place that cells take from one another: who took it last, and how deep.

    `returns`: how often it went back undiminished since it was last decided. `visits`: how often it was decided.
    """

    place: tuple[float, float]
    taker: Cell
    depth: float
    returns: int = 0
    visits: int = 0


@dataclass(slots=True, eq=False)
class Partition:
    """Cells that tile a domain but for films; `cells[0]` is the ground.

    `drawn` keeps what the artwork shows of each wood, the ground under its own name. `standing`: islands of ground
    that were looked at already; the thin ones were filled. `given`: tips that were given away so far. `mate` may look
    at cells before their turn comes. `corner`: where in the artwork the origin of all this lies. `names`, `widest`: of
    all cells as drawn, each name once, and the radius of the widest cutter that one of them is finished with.
    """

    rule: FitRule
    domain: Polygon
    cells: list[Cell]
    drawn: dict[str, Region]
    findings: list[Finding] = field(default_factory=list)
    noted_at: list[tuple[float, float]] = field(default_factory=list)
    quarrels: dict[tuple[int, int], list[Quarrel]] = field(default_factory=dict)
    standing: set[bytes] = field(default_factory=set)
    given: GivenTips = field(default_factory=GivenTips)
    vertices_left: int = 0
    patience: int = 0
    mate: Mate = ALONE
    own: OwnPlace = UPRIGHT
    names: tuple[str, ...] = ()
    widest: float = 0.0

    @property
    def ground(self) -> Cell:
        """The cell of the ground."""
        return self.cells[0]

    @property
    def inserts(self) -> list[Cell]:
        """All other cells."""
        return self.cells[1:]

    @property
    def radius(self) -> float:
        """Closing radius: the cutter's, less the half seam that erosion gives back, plus a little room."""
        return needed_radius(self.rule) + CLOSING_SLACK

    def cutter_of(self, cell: Cell) -> float:
        """Radius of the cutter that finishes a cell."""
        return self.rule.cutter_radius if cell.cutter is None else cell.cutter

    def needed_of(self, cell: Cell) -> float:
        """The radius that the cell of an insert has to be closed by: its cutter's, less half the seam."""
        return max(self.cutter_of(cell) - self.rule.seam / 2.0, 0.0)

    def radius_of(self, cell: Cell) -> float:
        """What the cell of an insert is closed by: `needed_of` with a little room."""
        return self.needed_of(cell) + CLOSING_SLACK

    def bodies(self, cell: Cell) -> Bodies:
        """A cell with the radius that it has to be closed by.

        The ground is closed in each connected recess by the smallest cutter that an insert there is finished with: so
        it comes once for each such cutter, with the recesses of the others filled. No closing reaches from one recess
        into another, since what it fills lies within one.
        """
        if cell is not self.ground:
            return [(cell.region, self.needed_of(cell))]
        if all(one.cutter is None for one in self.inserts):
            return [(cell.region, needed_radius(self.rule))]
        by_radius: dict[float, list[Polygon]] = {}
        for recess in polygons(difference(self.domain, cell.region)):
            held = [self.needed_of(one) for one in self.inserts if one.region.intersects(recess)]
            by_radius.setdefault(min(held, default=needed_radius(self.rule)), []).append(recess)
        return [(difference(self.domain, region_of(by_radius[one])), one) for one in sorted(by_radius)]

    def wood_drawn(self, cell: Cell) -> Region:
        """What the artwork shows of the wood of this cell."""
        return self.drawn.get(GROUND if cell is self.ground else cell.wood, Polygon())

    def take(self, cell: Cell, region: Region) -> None:
        """Give a region out of the closing of one cell to that cell, taken from all others.

        The taker need not be looked at again: what is closed once stays closed, and its closing has no new tips. It
        can have a neck where it now parts another cell; that is looked for when the parts are split.
        """
        wanted = intersection(region, self.domain)
        if wanted.is_empty:
            return
        parts = list(polygons(wanted))
        others = [other for other in self.cells if other is not cell]
        number, part = STRtree(parts).query([shapely.box(*other.bounds) for other in others])
        for one in np.unique(number).tolist():
            lost = region_of([parts[at] for at in np.sort(part[number == one]).tolist()])
            if others[one].touches(lost):
                others[one].lose(lost)
        cell.gain(wanted, closed=True)

    def remember(self, taker: Cell, depth: float, place: tuple[float, float]) -> Quarrel:
        """Note that a cell took wood at a place, so that a place which goes to and fro is found out.

        What comes back less deep than this share dies down by itself.
        """
        quarrel = self.quarrel_at(place)
        if quarrel is None:
            quarrel = Quarrel(place, taker, depth)
            self.quarrels.setdefault(self._square_of(place), []).append(quarrel)
        elif quarrel.taker is not taker:
            quarrel.returns += depth > _DYING_DOWN * quarrel.depth
            quarrel.taker, quarrel.depth = taker, depth
        return quarrel

    def quarrel_at(self, place: tuple[float, float]) -> Quarrel | None:
        """The quarrel about a place, if there was one within half a radius."""
        column, row = self._square_of(place)
        squares = [(column + x, row + y) for x in (-1, 0, 1) for y in (-1, 0, 1)]
        about = [(math.dist(one.place, place), one) for square in squares for one in self.quarrels.get(square, ())]
        away, nearest = min(about, key=lambda found: found[0], default=(math.inf, None))
        return nearest if away < self._reach_of_quarrels else None

    @property
    def _reach_of_quarrels(self) -> float:
        return self.radius / 2.0

    def _square_of(self, place: tuple[float, float]) -> tuple[int, int]:
        """The square that a quarrel about a place is kept in: those within reach of it lie in the nine about it."""
        reach = self._reach_of_quarrels
        return math.floor(place[0] / reach), math.floor(place[1] / reach)

    def hand_over(self, region: Region, giver: Cell, taker: Cell) -> None:
        """Give what one cell has of a region to another cell."""
        handed = shared(giver.near(region, TOUCHING), region)
        if not handed.is_empty:
            giver.lose(handed)
            taker.gain(handed)

    def neighbours(self, region: Region, giver: Cell) -> list[tuple[float, Cell]]:
        """Cells beside a region with the length of the border, longest first."""
        middles, lengths = border_samples(region)
        bounds = region.bounds
        cells = [cell for cell in self.cells if cell is not giver and _boxes_meet(cell.bounds, bounds)]
        found = [(float(lengths[cell.border_with(region, middles)].sum()), cell) for cell in cells]
        return longest_first([one for one in found if one[0] > 0.0])

    def dissolve(self, cell: Cell) -> None:
        """Give a whole cell to the neighbour with the longest border."""
        beside = self.neighbours(cell.region, cell)
        taker = beside[0][1] if beside else self.ground
        taker.gain(cell.region)
        self.cells.remove(cell)

    def note(self, severity: str, what: str, place: tuple[float, float], mend: str) -> None:
        """Record a finding at a place of the artwork."""
        assert severity in ("stop", "look", "note")
        self.findings.append(Finding(severity, what, self.where(place), mend, "fit"))  # type: ignore[arg-type]
        self.noted_at.append(place)

    def where(self, place: tuple[float, float]) -> str:
        """A place of the partition in words, as a place of the artwork."""
        return where(self.own.place(place))

    def work(self, cell: Cell) -> None:
        """Count the work of looking at a cell, and stop with a reason when there was too much of it.

        Counted, not timed, so that the same drawing is refused on every machine or on none.
        """
        busy(f"looking at {called(self, cell)}", lambda: self.where(middle(cell.settled)))
        self.vertices_left -= _VERTICES_A_CELL + int(shapely.get_num_coordinates(cell.region))
        if self.vertices_left < 0:
            place = (min(self.inserts, key=lambda cell: cell.region.area)).region if self.inserts else self.domain
            raise FitError(
                f"no set of pieces was found within the work of {self.rule.time_limit_s:g} s",
                self.where(middle(place)),
                "simplify the artwork there, make it larger, or use a smaller cutter",
            )


def needed_radius(rule: FitRule) -> float:
    """The radius that a piece must be closed by before its half of the seam is taken off."""
    return max(rule.cutter_radius - rule.seam / 2.0, 0.0)


def middle(region: Region) -> tuple[float, float]:
    """A place in the region."""
    place = region.representative_point()
    return place.x, place.y


def centre(region: Region) -> tuple[float, float]:
    """The centre of gravity of a region, which turns with it, unlike a place that is sure to lie inside."""
    place = region.centroid
    return place.x, place.y


def _which_are_near(
    region: Region, points: NDArray[np.object_], places: NDArray[np.float64], reach: float
) -> NDArray[np.bool_]:
    """Which points, at these places, lie within reach of a region."""
    left, low, right, high = region.bounds
    about = (places >= (left - reach, low - reach)) & (places <= (right + reach, high + reach))
    near = np.asarray(about.all(axis=1))
    if near.any():
        shapely.prepare(region)
        near[near] = shapely.dwithin(region, points[near], reach)
    return near


def _boxes_meet(one: Box, other: Box) -> bool:
    """True if two boxes touch, or nearly; a box of nothing meets none."""
    return (
        one[0] <= other[2] + TOUCHING
        and one[2] >= other[0] - TOUCHING
        and one[1] <= other[3] + TOUCHING
        and one[3] >= other[1] - TOUCHING
    )


def called(partition: Partition, cell: Cell) -> str:
    """A cell in a sentence."""
    return f"the {GROUND}" if cell is partition.ground else f'"{cell.name}"'


def where(place: tuple[float, float]) -> str:
    """A place of the artwork in words."""
    x, y = (round(length, 1) + 0.0 for length in place)
    return f"artwork, {x:.1f} mm from its left end and {y:.1f} mm from its lower edge"


def lay_out(areas: Iterable[DrawnArea], rule: FitRule, mate: Mate = ALONE, own: OwnPlace = UPRIGHT) -> Partition:
    """The partition as drawn: connected areas and, around them, the ground. `own`: where it lies in the artwork."""
    busy("laying out its areas", lambda: "whole artwork")
    cells, is_noded = _cells_noded(areas)
    busy("laying out its areas", lambda: "whole artwork")
    regions = [cell.region for cell in cells]
    is_noded = is_noded or shares_every_vertex(regions)
    art = union_of_noded(regions) if is_noded else union_of(regions)
    widest = max([rule.cutter_radius, *(cell.cutter for cell in cells if cell.cutter is not None)])
    margin = MARGIN_IN_DIAMETERS * 2.0 * widest + rule.seam
    left, low, right, high = (round(bound, 3) for bound in art.bounds)
    domain = shapely.box(left - margin, low - margin, right + margin, high + margin)
    domain = Polygon(on_grid(domain).exterior)
    around = polygonal(shapely.difference(domain, art)) if is_noded else difference(domain, art)
    ground = Cell(GROUND, "", (255, 255, 255), around)
    drawn = {GROUND: ground.region}
    by_wood: dict[str, list[Region]] = defaultdict(list)
    for cell in cells:
        by_wood[cell.wood].append(cell.region)
    for wood, of_wood in sorted(by_wood.items()):
        drawn[wood] = union_of_noded(of_wood) if is_noded else union_of(of_wood)
    partition = Partition(rule, domain, [ground, *cells], drawn, patience=8 + 4 * len(cells), mate=mate, own=own)
    partition.names = tuple(sorted({cell.name for cell in cells}))
    partition.widest = max(map(partition.cutter_of, cells), default=rule.cutter_radius)
    partition.vertices_left = int(rule.time_limit_s * _VERTICES_A_SECOND)
    return partition


def cells_of(areas: Iterable[DrawnArea]) -> list[Cell]:
    """One cell for each connected area. Where areas overlap the smaller one keeps the place."""
    return _cells_noded(areas)[0]


def _cells_noded(areas: Iterable[DrawnArea]) -> tuple[list[Cell], bool]:
    """The cells of areas; and True if it is known that they share every vertex, since the areas did."""
    every = list(areas)
    _refuse_too_many_about(every)
    noded, has_no_slits = noded_without_slits([area.region for area in every])
    regions = [on_grid(area.region) for area in every] if noded is None else noded
    whole = [
        Cell(
            area.name or area.wood,
            area.wood,
            area.colour,
            region,
            apart=area.name if area.apart else "",
            cutter=area.cutter_radius,
        )
        for area, region in zip(every, regions, strict=True)
    ]
    whole.sort(key=lambda cell: cell.key)
    regions = [cell.region for cell in whole]
    if noded is not None:
        regions = regions if has_no_slits else list(without_slits(regions))
    elif not shapely.coverage_is_valid(regions):
        regions = _apart(regions)
    # what is left of slits and overlaps of a grid step or two must decide nothing
    matched = noded or edge_matched(regions)
    if noded is None and matched is not None:
        regions = list(matched)
    cells = [one for cell, region in zip(whole, regions, strict=True) for one in _connected(cell, region)]
    return sorted(cells, key=lambda cell: cell.key), matched is not None


def _refuse_too_many_about(areas: list[DrawnArea]) -> None:
    """Refuse areas around one another in such numbers that comparing each with all about it would take too long."""
    about = vertices_about([area.region for area in areas])
    if about > MOST_ABOUT:
        left, low, right, high = shapely.total_bounds([area.region for area in areas]).tolist()
        raise FitError(
            f"{len(areas)} areas lie around one another more often than can be sorted out",
            f"whole artwork, {right - left:.1f} x {high - low:.1f} mm",
            "draw fewer rings around one another, or let in a part of it by itself",
        )


def _apart(regions: list[Region]) -> list[Region]:
    """Regions without what earlier ones hold of them."""
    tree = STRtree(regions)
    free = []
    for number, region in enumerate(regions):
        over = [regions[one] for one in sorted(tree.query(region, predicate="intersects")) if one < number]
        free.append(without(region, union_of(over)) if over else region)
    return free


def _connected(cell: Cell, region: Region) -> list[Cell]:
    """A cell for each connected part of a region."""
    return [
        Cell(cell.name, cell.wood, cell.colour, part, apart=cell.apart, cutter=cell.cutter)
        for part in polygons(polygonal(region))
    ]
