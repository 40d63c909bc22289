"""Passes: roughing in levels that stays off the line, then the last pass at full depth on the line."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LinearRing, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.cutting.rings import Ring, edge_rings, nested_rings
from purfle.cutting.rooms import rest_room, room_for, roughing_room
from purfle.cutting.times import trips_minutes
from purfle.cutting.trips import Finishing, Roughing, all_trips
from purfle.cutting.walks import Walk, walks_over
from purfle.geometry.offsetting import Region, grow, polygons, shrink, union_of
from purfle.model.cutting import CuttingFigures, CuttingRule, Pass
from purfle.model.shop import Cutter, Machine
from purfle.tolerances import ARC_FIT, ROUGHING_FLAT, SAME_PLACE

WIDEST_STEP = 0.5
"""Step-over as a share of the diameter, at most: beyond it ridges are left where rings turn."""
ALLOWANCES = (1.0, 0.5, 0.25, 0.0)
"""Shares of the allowance that are tried where the cutter would not pass between two walls with all of it."""


LEAD_IN = 0.5
"""The last pass comes to the line from this far off it, besides the allowance (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """How one closed line of a part is cut: the rings of roughing, and the ring on the line."""

    rough: list[Ring]
    line: Ring


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
    def lead_in(self) -> float:
        """How far off the line the last pass goes down."""
        return self.rule.allowance + LEAD_IN

    @property
    def levels(self) -> list[float]:
        """The depths of the roughing passes, equal steps, none deeper than the rule's."""
        count = math.ceil(self.depth / (self.rule.depth_per_pass * self.cutter.diameter) - SAME_PLACE)
        return [self.depth * (k + 1) / count for k in range(count)]


def recess_passes(regions: Iterable[Region], name: str, work: Work, cleared: Region | None = None) -> list[Pass]:
    """Roughing and the last pass of recesses of equal depth: cleared in nested rings, islands kept.

    `cleared`: what a larger cutter has cleared to the same depth before, so that only the rest is roughed.
    """
    rough: list[Roughing] = []
    last: list[Finishing] = []
    for region in regions:
        for room in polygons(room_for(region, work.cutter.radius)):
            roughed = roughing_room(room, work.rule.allowance)
            off = _off(roughed.boundary, room.boundary, work)
            rest = roughed if cleared is None else rest_room(roughed, cleared, work.cutter.radius)
            rough += _roughing(rest, off, work)
            begin = _roomy(room, work)
            last += [Finishing(walk, begin) for walk in walks_over(edge_rings(room), work.step, begin_near=begin)]
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
    rings = nested_rings(room, work.step, work.cutter.radius)
    return [Roughing(walk, off) for walk in walks_over([ring.reversed() for ring in rings], work.step)]


def _off(rough: BaseGeometry, line: BaseGeometry, work: Work) -> float:
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


def part_passes(parts: Iterable[Polygon], name: str, work: Work) -> list[Pass]:
    """Roughing and the last pass around parts, cut through: small parts first, holes before outsides."""
    ordered = sorted(parts, key=lambda part: (part.area, part.bounds))
    holes = [way for part in ordered for hole in part.interiors for way in _inside(Polygon(hole), work)]
    bays, outsides = [], []
    for part in ordered:
        outside, *inner = _outside(Polygon(part.exterior), work)
        outsides.append(outside)
        bays += inner
    groups = ((f"holes of {name}", [*holes, *bays]), (f"outlines of {name}", outsides))
    return [one for words, ways in groups if ways for one in _part_passes(ways, words, work)]


def _part_passes(ways: list[_Way], name: str, work: Work) -> list[Pass]:
    rough = [
        Roughing(Walk(ring.points, ring), _off(ring.line, way.line.line, work)) for way in ways for ring in way.rough
    ]
    last = [Finishing(_begun_near(way.line, way.rough[0]), way.rough[0].line) for way in ways]
    return _passes(rough, last, name, work)


def numbered(passes: Iterable[Pass], figures: CuttingFigures, machine: Machine) -> tuple[Pass, ...]:
    """The passes counted from 1, each with its minutes."""
    return tuple(
        replace(one, number=number, minutes=trips_minutes(one.trips, figures, machine))
        for number, one in enumerate(passes, 1)
    )


def _passes(rough: list[Roughing], last: list[Finishing], name: str, work: Work) -> list[Pass]:
    in_levels, to_the_line = all_trips(rough, last, (work.levels, work.depth), (work.rule.ramp_angle, work.lead_in))
    roughing = f"roughing, {work.left} left: {name}"
    passes = [
        Pass(0, "roughing", roughing, level, work.rule.allowance, "conventional", tuple(t[k] for t in in_levels), 0.0)
        for k, level in enumerate(work.levels)
    ]
    to_line = f"last pass, to the line: {name}"
    return [*passes, Pass(0, "last", to_line, work.depth, 0.0, "climb", tuple(to_the_line), 0.0)]


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


def _begun_near(ring: Ring, rough: Ring) -> Walk:
    """Once around a ring, begun where it lies nearest to the roughing ring."""
    x, y = shapely.get_coordinates(shapely.shortest_line(ring.line, rough.line))[0]
    begin = ring.place_of(x, y)
    turned = Ring.of(ring.stretch(begin, begin + ring.length))
    return Walk(turned.points, turned)
