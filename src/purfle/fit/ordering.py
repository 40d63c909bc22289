"""The order of letting in: which areas lie side by side in one recess, and which are let into a glued insert.

An area may be let in over another where its outline meets exactly that one insert all round, shows no ground within,
and a round cutter can make the whole of it at little cost: an eye, a dot, a ring. Its host is then made without the
hole, so that the wood is one; the recess for the spot is cut into it when it is glued and levelled.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely import Point, Polygon, STRtree

from purfle.errors import Fault, JobFileError
from purfle.fit.cells import Cell, cells_of, middle, needed_radius
from purfle.geometry.offsetting import Region, grow, opening, polygons, union_of
from purfle.model.artwork import Colour
from purfle.model.pieces import DrawnArea, FitRule, OrderChoice, Way
from purfle.tolerances import FILM, OPENING_COSTS, TOUCHING
from purfle.units import in_mm

Place = tuple[float, float]
Which = Place | str
"""Which area is meant: by a point of the design inside it (mm), or by its name."""
Wish = tuple[Which, Way]
Refusal = tuple[Place, str]
"""A place inside an area that is not to be let in over others, and why."""


@dataclass(frozen=True, slots=True)
class Order:
    """Areas by the order in which they are let in, hosts without holes, and what was chosen."""

    layers: tuple[tuple[DrawnArea, ...], ...]
    choices: tuple[OrderChoice, ...]
    shapes: tuple[Polygon, ...]
    """The whole shape of each area that a choice was made for."""
    depths: tuple[int, ...]
    """The order in which each of them is let in."""

    def over_at(self, place: Place, depth: int) -> OrderChoice:
        """What is let in over others at a place, in an order of which a recess lies there.

        Of several the nearest: two spots that are joined since no cutter passes between have one recess, and its middle
        lies in neither of them.
        """
        spot = Point(place)
        over = [
            (float(shape.distance(spot)), number)
            for number, (choice, shape, its) in enumerate(zip(self.choices, self.shapes, self.depths, strict=True))
            if choice.way == "over" and its == depth
        ]
        return self.choices[min(over)[1]]


@dataclass(slots=True, eq=False)
class _Spot:
    """One connected area: its whole shape, holes filled, what lies all round it, what lies within."""

    cell: Cell
    whole: Polygon
    around: list["_Spot"] = field(default_factory=list)
    within: list["_Spot"] = field(default_factory=list)
    way: Way = "beside"
    by_job: bool = False
    why: str = ""
    over: "_Spot | None" = None
    """The smallest spot that is let in over others and holds this one, itself counted."""


def order_of(
    areas: Sequence[DrawnArea], rule: FitRule, wishes: Sequence[Wish] = (), refused: Sequence[Refusal] = ()
) -> Order:
    """Which areas are let into the board, which into those, and so on. Without a spot, the areas as they came.

    `wishes` overrule the rule, by name or by point; names outrank points. `refused`: places of spots that found too
    little wood to lie in, and why. Raises JobFileError with every wish that names nothing or cannot be.
    """
    spots = _spots_of(areas)
    for spot in spots:
        _choose(spot, rule)
    faults = _overrule(spots, wishes)
    if faults:
        raise JobFileError.of(faults)
    for place, why in refused:
        spot = next(spot for spot in spots if spot.cell.region.covers(Point(place)))
        spot.way, spot.why = "beside", why
    depths = _depths(spots)
    chosen = [spot for spot in spots if spot.why]
    layers = _layers(spots, depths) if max(depths.values(), default=1) > 1 else (tuple(areas),)
    told = tuple(_told(spot) for spot in chosen)
    return Order(layers, told, tuple(spot.whole for spot in chosen), tuple(depths[spot] for spot in chosen))


def _spots_of(areas: Sequence[DrawnArea]) -> list[_Spot]:
    """Every connected area with its neighbours, outside and inside."""
    spots = [_Spot(cell, Polygon(part.exterior)) for cell in cells_of(areas) for part in polygons(cell.region)]
    tree = STRtree([spot.cell.region for spot in spots])
    rings = [spot.whole.exterior for spot in spots]
    by, near = tree.query(rings, predicate="dwithin", distance=TOUCHING)
    touching: list[list[int]] = [[] for _ in spots]
    for one, other in sorted(zip(by.tolist(), near.tolist(), strict=True)):
        if one != other:
            touching[one].append(other)
    places = STRtree([Point(middle(spot.cell.region)) for spot in spots])
    for number, spot in enumerate(spots):
        inside = set(places.query(spot.whole, predicate="contains").tolist()) - {number}
        spot.within = [spots[one] for one in sorted(inside)]
        spot.around = [spots[one] for one in touching[number] if one not in inside]
    return spots


def _meets_ground(spot: _Spot) -> bool:
    """True where its outline lies against the ground, or ground shows within it."""
    if not spot.around:
        return True
    filled = spot.cell.region.area + sum(one.cell.region.area for one in spot.within)
    if spot.whole.area - filled > TOUCHING * spot.whole.length + FILM:
        return True
    beside = grow(union_of([one.cell.region for one in spot.around]), 2.0 * TOUCHING)
    return bool(spot.whole.exterior.difference(beside).length > 2.0 * TOUCHING)


def _choose(spot: _Spot, rule: FitRule) -> None:
    """The rule of the method: one neighbour all round, and the cutter can make its recess at little cost."""
    if len(spot.around) != 1 or _meets_ground(spot):
        return
    lost = 1.0 - opening(spot.whole, needed_radius(_rule_for(spot, rule))).area / spot.whole.area
    host = spot.around[0].cell.name
    if lost < OPENING_COSTS:
        spot.way, spot.why = "over", f'its outline meets "{host}" alone, and the cutter can make all of it'
    else:
        spot.why = f'its outline meets "{host}" alone, but a recess of its own would lose {_percent(lost)} of it'


def _rule_for(spot: _Spot, rule: FitRule) -> FitRule:
    own = spot.cell.cutter
    return rule if own is None else replace(rule, cutter_radius=own)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.02 else f"{100 * share:.1f} %"


def _overrule(spots: list[_Spot], wishes: Sequence[Wish]) -> list[Fault]:
    """What the job asks for; those by name come last, so that they outrank those by point."""
    faults: list[Fault] = []
    for which, way in sorted(wishes, key=lambda wish: isinstance(wish[0], str)):
        called = f'"{which}"' if isinstance(which, str) else in_mm(*which)
        meant = _meant(spots, which)
        if not meant:
            known = ", ".join(sorted({spot.cell.name for spot in spots}))
            mend = f"name one of the areas ({known}), or a point inside one, in mm from the design's lower left corner"
            faults.append(Fault(f"no area is meant by {called}", "job.toml, order", mend))
        for spot in meant:
            if way == "over" and (why := _cannot_be_over(spot)):
                what = f'"{spot.cell.name}" cannot be let in over another: {why}'
                faults.append(Fault(what, f"job.toml, order.{called}", 'write "beside", or take the line out'))
            spot.way, spot.by_job, spot.why = way, True, "the job says so"
    return faults


def _meant(spots: list[_Spot], which: Which) -> list[_Spot]:
    if isinstance(which, str):
        return [spot for spot in spots if spot.cell.name == which]
    place = Point(which)
    return [spot for spot in spots if spot.cell.region.covers(place)][:1]


def _cannot_be_over(spot: _Spot) -> str:
    if len(spot.around) > 1:
        names = " and ".join(sorted(f'"{one.cell.name}"' for one in spot.around))
        return f"its outline meets {names}, and one host has to surround it"
    return "its outline meets the board itself, or the board shows within it" if _meets_ground(spot) else ""


def _told(spot: _Spot) -> OrderChoice:
    return OrderChoice(spot.cell.name, spot.way, "job" if spot.by_job else "rule", spot.why, middle(spot.cell.region))


def _depths(spots: list[_Spot]) -> dict[_Spot, int]:
    """The order in which each area is let in."""
    for over in sorted((spot for spot in spots if spot.way == "over"), key=lambda spot: -spot.whole.area):
        for one in (over, *over.within):
            one.over = over  # from the largest to the smallest: the smallest that holds it stays
    known: dict[_Spot, int] = {}
    return {spot: _depth(spot, known) for spot in spots}


def _layers(spots: list[_Spot], depths: dict[_Spot, int]) -> tuple[tuple[DrawnArea, ...], ...]:
    """Every layer with its areas, spots that lie in a later one filled with the wood of their host."""
    filled: dict[_Spot, list[Polygon]] = {spot: [] for spot in spots}
    for over in spots:
        if over.way == "over":
            filled[over.around[0]].append(over.whole)
    layers: list[tuple[DrawnArea, ...]] = []
    for depth in range(1, max(depths.values()) + 1):
        layers.append(_areas_of([(one, filled[one]) for one in spots if depths[one] == depth]))
    return tuple(layers)


def _depth(spot: _Spot, known: dict[_Spot, int]) -> int:
    """1 for what is let into the board; for what is let in over another, one more than that."""
    if spot.over is None:
        return 1
    if spot.over not in known:
        known[spot.over] = 1 + _depth(spot.over.around[0], known)
    return known[spot.over]


def _areas_of(spots: list[tuple[_Spot, list[Polygon]]]) -> tuple[DrawnArea, ...]:
    """Drawn areas again, those of one name, wood and colour as one."""
    alike: dict[tuple[str, str, Colour, bool, float | None], list[Region]] = {}
    for spot, filled in spots:
        cell = spot.cell
        region = union_of([cell.region, *filled]) if filled else cell.region
        alike.setdefault((cell.name, cell.wood, cell.colour, bool(cell.apart), cell.cutter), []).append(region)
    return tuple(
        DrawnArea(name, wood, colour, shapely.normalize(union_of(regions)), apart, cutter)
        for (name, wood, colour, apart, cutter), regions in alike.items()
    )
