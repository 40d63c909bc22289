"""Passes: roughing in levels that stays off the line, then the last pass at full depth on the line."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.cutting.corner_feeds import Easing, eased
from purfle.cutting.rings import Ring, edge_rings, nested_rings
from purfle.cutting.rooms import rest_room, room_for, roughing_room
from purfle.cutting.times import trips_minutes
from purfle.cutting.trips import Finishing, Roughing, all_trips
from purfle.cutting.walks import walks_over
from purfle.geometry.offsetting import Region, grow, polygons, shrink, union_of
from purfle.model.cutting import MORE_LEFT, CuttingFigures, CuttingRule, Pass, Trip
from purfle.model.shop import Cutter, Machine
from purfle.tolerances import ARC_FIT, ROUGHING_FLAT, SAME_PLACE

WIDEST_STEP = 0.5
"""Step-over as a share of the diameter, at most: beyond it ridges are left where rings turn."""
NARROW = 0.55
"""Where no place of the cutter's room lies further from its edge than this share of a step-over, roughing goes along
the middle alone and leaves so much more to the last pass, on both sides. In wider rooms a way along both sides is no
longer than the rings of a plain area would be: 2 L against L (w / s + 1)."""
ALLOWANCES = (1.0, 0.5, 0.25, 0.0)
"""Shares of the allowance that are tried where the cutter would not pass between two walls with all of it."""
LEAD_IN = 0.5
"""The last pass comes to the line from this far off it, besides the allowance (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Work:
    """The cutter, the rule and the levels of one group of lines of equal depth. `left` names the allowance."""

    cutter: Cutter
    rule: CuttingRule
    depth: float
    left: str

    @property
    def step(self) -> float:
        """The step-over in mm."""
        return min(self.rule.step_over, WIDEST_STEP) * self.cutter.width

    @property
    def climbs(self) -> bool:
        """True if the last pass has the wall on its right."""
        return self.rule.last_pass == "climb"

    @property
    def lead_in(self) -> float:
        """How far off the line the last pass goes down."""
        return self.rule.allowance + LEAD_IN

    @property
    def levels(self) -> list[float]:
        """The depths of the roughing passes, equal steps, none deeper than the rule's."""
        return self.levels_to(self.depth)

    @property
    def deepest_step(self) -> float:
        """What the rule lets the cutter take at once, mm."""
        return self.rule.depth_per_pass * self.cutter.diameter

    def levels_to(self, floor: float) -> list[float]:
        """The same down to another floor."""
        count = math.ceil(floor / self.deepest_step - SAME_PLACE)
        return [floor * (k + 1) / count for k in range(count)]


def recess_passes(regions: Iterable[Region], name: str, work: Work, cleared: Region | None = None) -> list[Pass]:
    """Roughing and the last pass of recesses of equal depth: cleared in nested rings, islands kept.

    `cleared`: what a larger cutter has cleared to the same depth before, so that only the rest is roughed.
    """
    rough: list[Roughing] = []
    last: list[Finishing] = []
    for region in regions:
        for room in polygons(room_for(region, work.cutter.radius)):
            roughed = roughing_room(room, work.rule.allowance)
            off = off_ring(roughed.boundary, room.boundary, work)
            rest = roughed if cleared is None else rest_room(roughed, cleared, work.cutter.radius)
            rings = nested_rings(rest, work.step, work.cutter.radius, NARROW * work.step if cleared is None else 0.0)
            rough += _walked(rings, off, work)
            middles = _at_the_edge(rings)
            begin = middles or _roomy(room, work)
            edges = [ring if work.climbs else ring.reversed() for ring in edge_rings(room)]
            left = max(work.rule.allowance, _beside(middles, room)) if middles else work.rule.allowance
            last += [Finishing(walk, begin, left) for walk in walks_over(edges, work.step, begin_near=begin)]
    return _passes(rough, last, name, work)


def clearing_passes(regions: Iterable[Region], name: str, work: Work) -> tuple[list[Pass], Region]:
    """Roughing by a larger cutter wherever it can go in recesses of equal depth, and what it has cleared then.

    No passes where it can go nowhere.
    """
    wide = [shrink(region, work.cutter.radius + work.rule.allowance) for region in regions]
    rooms = [room for region in wide for room in polygons(region)]
    rough = [one for room in rooms for one in _roughing(room, ROUGHING_FLAT, work)]
    passes = [one for one in _passes(rough, [], name, work) if one.kind == "roughing"] if rough else []
    return passes, union_of([grow(room, work.cutter.radius) for room in rooms])


def _roughing(room: Region, off: float, work: Work) -> list[Roughing]:
    return _walked(nested_rings(room, work.step, work.cutter.radius), off, work)


def _walked(rings: list[Ring], off: float, work: Work) -> list[Roughing]:
    return [Roughing(walk, off) for walk in walks_over([ring.reversed() for ring in rings], work.step)]


def off_ring(rough: BaseGeometry, line: BaseGeometry, work: Work) -> float:
    """How far roughing moves may stand off their ring: less where a neck takes the whole allowance."""
    half = work.rule.allowance / 2.0
    shapely.prepare(line)
    return ROUGHING_FLAT if half > ROUGHING_FLAT and not shapely.dwithin(line, rough, half) else ARC_FIT


def _roomy(room: Polygon, work: Work) -> Region:
    """Where the cutter may go down to full depth with some air around it; in narrow rooms wherever it was before."""
    for off in (work.lead_in, work.rule.allowance):
        roomy = shrink(room, off)
        if not roomy.is_empty:
            return roomy
    return room


def _at_the_edge(rings: list[Ring]) -> BaseGeometry | None:
    """The middle of a room so narrow that the last pass takes what stands on both sides of it; None of another."""
    lines = [ring.line for ring in rings if ring.is_middle and ring.depth == 0]
    return shapely.union_all(lines) if lines else None


def _beside(middle: BaseGeometry, room: Polygon) -> float:
    """How much wood (mm) stands beside the middle of a room where it is widest: so much is left to the last pass."""
    return float(shapely.distance(shapely.points(shapely.get_coordinates(middle)), room.boundary).max())


def numbered(passes: Iterable[Pass], figures: CuttingFigures, machine: Machine) -> tuple[Pass, ...]:
    """The passes counted from 1, each with its minutes."""
    return tuple(
        replace(one, number=number, minutes=trips_minutes(one.trips, figures, machine))
        for number, one in enumerate(passes, 1)
    )


def _passes(rough: list[Roughing], last: list[Finishing], name: str, work: Work) -> list[Pass]:
    ways_in = (work.rule.ramp_angle, max(work.lead_in, work.step))
    in_levels, to_the_line = all_trips(rough, last, (work.levels, work.depth), ways_in)
    more = f", {MORE_LEFT}" if any(one.left > work.rule.allowance for one in last) else ""
    roughing = _in_levels(in_levels, work.levels, f"{work.left} left{more}: {name}", work)
    return [*roughing, *last_passes(to_the_line, name, work, [one.left for one in last])]


def last_passes(trips: Sequence[Trip], name: str, work: Work, left: Sequence[float] = ()) -> list[Pass]:
    """The last pass, slower in inside corners, and as many spring passes on the same way as the rule asks for.

    `left` (mm): what roughing has left for each of the trips at most, if that is not the allowance.
    """
    easing = Easing(work.cutter.radius, work.rule.allowance, work.rule.last_pass)
    easings = [replace(easing, most=most) for most in left or [0.0] * len(trips)]
    slower = tuple(one for trip, easing in zip(trips, easings, strict=True) for one in eased([trip], easing))
    to_line = f"last pass, to the line: {name}"
    last = Pass(0, "last", to_line, work.depth, 0.0, work.rule.last_pass, slower, 0.0)
    return [last, *spring_passes(last, work.rule)]


def spring_passes(last: Pass, rule: CuttingRule) -> list[Pass]:
    """The last pass again, as often as the rule asks for."""
    spring = replace(last, kind="spring", what=f"spring pass, the same way: {last.what.partition(': ')[2]}")
    return [spring] * rule.spring_passes


def roughing_passes(rough: list[Roughing], levels: list[float], name: str, work: Work) -> list[Pass]:
    """Roughing alone, down to the last of these levels."""
    in_levels, _ = all_trips(rough, [], (levels, work.depth), (work.rule.ramp_angle, work.lead_in))
    return _in_levels(in_levels, levels, f"{work.left} left: {name}", work)


def _in_levels(in_levels: list[list[Trip]], levels: list[float], words: str, work: Work) -> list[Pass]:
    what = f"roughing, {words}"
    return [
        Pass(0, "roughing", what, level, work.rule.allowance, "conventional", tuple(t[k] for t in in_levels), 0.0)
        for k, level in enumerate(levels)
    ]
