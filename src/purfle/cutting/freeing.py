"""Passes that free parts: holes first, outsides last, small parts first, the last of the wood in the very last pass.

Roughing stays off the line, and above a skin that holds every part in its place. The last pass takes both at once. On
tabs a part does not come free at all: roughing ends level with their tops, and what is cut below goes over them.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import LinearRing, Polygon

from purfle.cutting.laps import Descent, Lap, lap_trips, on_ring
from purfle.cutting.passes import ALLOWANCES, Work, last_passes, off_ring, roughing_passes
from purfle.cutting.rings import Ring
from purfle.cutting.rooms import room_for, roughing_room
from purfle.cutting.trips import Roughing
from purfle.cutting.walks import Walk
from purfle.geometry.offsetting import grow, polygons
from purfle.model.cutting import Pass, Trip
from purfle.model.offcuts import Tab
from purfle.tolerances import LAST_PASS_FIT, SAME_PLACE

THINNEST_SKIN = 0.1
"""Where the last pass would take more than a pass may, the skin is thinner, but no thinner than this, mm (common
practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """How one closed line of a part is cut: the rings of roughing, the ring on the line, and the tabs beside it."""

    rough: list[Ring]
    line: Ring
    tabs: tuple[Tab, ...] = ()


def part_passes(parts: Iterable[Polygon], name: str, work: Work, tabs: Sequence[tuple[Tab, ...]] = ()) -> list[Pass]:
    """Roughing and the last pass around parts, cut through: small parts first, holes before outsides.

    `tabs` of each part, where parts stand on tabs. Those are cut round before the others: nothing comes loose by it.
    """
    parts = list(parts)
    held = zip(parts, tabs or [()] * len(parts), strict=True)
    ordered = sorted(held, key=lambda one: (one[0].area, one[0].bounds))
    holes = [way for part, _ in ordered for hole in part.interiors for way in _inside(Polygon(hole), work)]
    bays, outsides = [], []
    for part, its in ordered:
        outside, *inner = _outside(Polygon(part.exterior), work)
        outsides.append(replace(outside, tabs=its))
        bays += inner
    groups = (
        (f"holes of {name}", [*holes, *bays]),
        (f"outlines on tabs, {name}", [way for way in outsides if way.tabs]),
        (f"outlines of {name}", [way for way in outsides if not way.tabs]),
    )
    return [one for words, ways in groups if ways for one in _passes(ways, words, work)]


def skin_of(work: Work) -> float:
    """The skin under parts in roughing, mm: the rule's, or less where the last pass would take more than a pass may.

    None (0) where the rule asks for none.
    """
    return min(work.rule.skin, max(work.deepest_step - work.rule.through, THINNEST_SKIN))


def _passes(ways: list[_Way], name: str, work: Work) -> list[Pass]:
    """Roughing down to the skin, or to the top of the tabs, then what goes through."""
    rough = [
        Roughing(Walk(ring.points, ring), off_ring(ring.line, way.line.line, work))
        for way in ways
        for ring in way.rough
    ]
    thick = work.depth - work.rule.through
    tabs = [tab for way in ways for tab in way.tabs]
    skin = max(tab.height for tab in tabs) if tabs else skin_of(work)
    floor = thick - skin if skin > 0.0 else work.depth
    passes = roughing_passes(rough, work.levels_to(floor), name, work)
    over = math.ceil((work.depth - floor) / work.deepest_step - SAME_PLACE) if tabs else 1
    for step in range(1, over):  # between the tabs, where they are higher than a pass is deep
        depth = floor + (work.depth - floor) * step / over
        trips = lap_trips([_lap(way, way.rough[0].reversed(), work) for way in ways], _descent(work, floor, depth))
        passes.append(_between_tabs(name, work, (depth, trips)))
    if not work.climbs:
        ways = [replace(way, line=way.line.reversed()) for way in ways]
    trips = lap_trips([_lap(way, way.line, work) for way in ways], _descent(work, floor, work.depth))
    return [*passes, *last_passes(trips, name, work)]


def _descent(work: Work, floor: float, depth: float) -> Descent:
    return Descent(floor, depth, work.rule.ramp_angle, work.lead_in)


def _lap(way: _Way, ring: Ring, work: Work) -> Lap:
    tabs = on_ring(ring, [tab.middle for tab in way.tabs], way.tabs[0].over) if way.tabs else ()
    tolerance = LAST_PASS_FIT if ring is way.line else off_ring(ring.line, way.line.line, work)
    return Lap(ring, way.rough[0].line, tolerance, tabs)


def _between_tabs(name: str, work: Work, cut: tuple[float, list[Trip]]) -> Pass:
    depth, trips = cut
    what, off = f"roughing, {work.left} left: {name}", work.rule.allowance
    return Pass(0, "roughing", what, depth, off, "climb", tuple(trips), 0.0)


def _inside(hole: Polygon, work: Work) -> list[_Way]:
    """The ways around the inside of a hole: one for each room that it has for the cutter."""
    ways = []
    for room in polygons(room_for(hole, work.cutter.radius)):
        cleared = polygons(roughing_room(room, work.rule.allowance))
        rough = [_ring(part.exterior).reversed() for part in cleared]
        ways.append(_Way(rough, _ring(room.exterior)))
    return ways


def _outside(whole: Polygon, work: Work) -> list[_Way]:
    """The way around a part, then those around bays whose mouth is narrower than the cutter.

    Where the allowance would close a mouth that the cutter just passes, less of it is left.
    """
    line = next(polygons(grow(whole, work.cutter.radius)))
    for share in ALLOWANCES:
        rough = next(polygons(grow(whole, work.cutter.radius + share * work.rule.allowance)))
        if len(rough.interiors) == len(line.interiors):
            break
    bays = [_Way([_ring(_nearest(rough.interiors, bay)).reversed()], _ring(bay)) for bay in line.interiors]
    return [_Way([_ring(rough.exterior)], _ring(line.exterior).reversed()), *bays]


def _nearest(outlines: Iterable[LinearRing], goal: LinearRing) -> LinearRing:
    return min(outlines, key=lambda outline: float(outline.hausdorff_distance(goal)))


def _ring(outline: LinearRing) -> Ring:
    """The outline counter-clockwise: climb in a hole, conventional around a part."""
    points = np.asarray(outline.coords)
    return Ring.of(points if outline.is_ccw else points[::-1])
