"""Passes: roughing in levels that stays off the line, then the last pass at full depth on the line."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from purfle.cutting.rings import Ring, edge_rings, nested_rings
from purfle.cutting.rooms import room_for, roughing_room
from purfle.cutting.times import trips_minutes
from purfle.cutting.trips import last_trip, roughing_trips
from purfle.cutting.walks import Walk, walks_over
from purfle.geometry.offsetting import Region, grow, polygons
from purfle.model.cutting import CuttingFigures, CuttingRule, Pass, Trip
from purfle.model.shop import Cutter, Machine
from purfle.tolerances import SAME_PLACE

WIDEST_STEP = 0.5
"""Step-over as a share of the diameter, at most: beyond it ridges are left where rings turn."""
ALLOWANCES = (1.0, 0.5, 0.25, 0.0)
"""Shares of the allowance that are tried where the cutter would not pass between two walls with all of it."""


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
    def levels(self) -> list[float]:
        """The depths of the roughing passes, equal steps, none deeper than the rule's."""
        count = math.ceil(self.depth / (self.rule.depth_per_pass * self.cutter.diameter) - SAME_PLACE)
        return [self.depth * (k + 1) / count for k in range(count)]


def recess_passes(regions: Iterable[Region], name: str, work: Work) -> list[Pass]:
    """Roughing and the last pass of recesses of equal depth: cleared in nested rings, islands kept."""
    rough: list[list[Trip]] = []
    last: list[Trip] = []
    for region in regions:
        for room in polygons(room_for(region, work.cutter.radius)):
            cleared = roughing_room(room, work.rule.allowance)
            rings = nested_rings(cleared, work.step, work.cutter.radius)
            for walk in walks_over([ring.reversed() for ring in rings], work.step):
                rough.append(roughing_trips(walk, work.levels, work.rule.ramp_angle))
            for walk in walks_over(edge_rings(room), work.step, begin_near=cleared):
                last.append(last_trip(walk, work.depth, cleared))
    return _passes(rough, last, name, work)


def part_passes(parts: Iterable[Polygon], name: str, work: Work) -> list[Pass]:
    """Roughing and the last pass around parts, cut through: small parts first, holes before outsides."""
    ways = [_around(part, work) for part in sorted(parts, key=lambda part: (part.area, part.bounds))]
    passes: list[Pass] = []
    for words, ring_pairs in (("holes", [p for w in ways for p in w[0]]), ("outlines", [w[1] for w in ways])):
        if ring_pairs:
            rough = [
                roughing_trips(Walk(ring.points, ring), work.levels, work.rule.ramp_angle) for ring, _ in ring_pairs
            ]
            last = [last_trip(_begun_near(line, ring), work.depth, ring.line) for ring, line in ring_pairs]
            passes += _passes(rough, last, f"{words} of {name}", work)
    return passes


def numbered(passes: Iterable[Pass], figures: CuttingFigures, machine: Machine) -> tuple[Pass, ...]:
    """The passes counted from 1, each with its minutes."""
    return tuple(
        replace(one, number=number, minutes=trips_minutes(one.trips, figures, machine))
        for number, one in enumerate(passes, 1)
    )


def _passes(rough: list[list[Trip]], last: list[Trip], name: str, work: Work) -> list[Pass]:
    roughing = f"roughing, {work.left} left: {name}"
    passes = [
        Pass(0, "roughing", roughing, level, work.rule.allowance, "conventional", tuple(t[k] for t in rough), 0.0)
        for k, level in enumerate(work.levels)
    ]
    to_line = f"last pass, to the line: {name}"
    return [*passes, Pass(0, "last", to_line, work.depth, 0.0, "climb", tuple(last), 0.0)]


def _around(part: Polygon, work: Work) -> tuple[list[tuple[Ring, Ring]], tuple[Ring, Ring]]:
    """The roughing ring and the ring on the line: of each hole, and of the outside."""
    line = next(polygons(grow(part, work.cutter.radius)))
    holes = [Polygon(hole) for hole in line.interiors]
    for share in ALLOWANCES:
        rough = next(polygons(grow(part, work.cutter.radius + share * work.rule.allowance)))
        if len(rough.interiors) == len(holes):
            break
    pairs = [
        (_ring(min(rough.interiors, key=lambda one: Polygon(one).hausdorff_distance(hole))), _ring(hole.exterior))
        for hole in holes
    ]
    return [(rough_ring.reversed(), ring) for rough_ring, ring in pairs], (
        _ring(rough.exterior),
        _ring(line.exterior).reversed(),
    )


def _ring(outline: shapely.LinearRing) -> Ring:
    """The outline counter-clockwise: climb in a hole, conventional around a part."""
    points = np.asarray(outline.coords)
    return Ring.of(points if outline.is_ccw else points[::-1])


def _begun_near(ring: Ring, rough: Ring) -> Walk:
    """Once around a ring, begun where it lies nearest to the roughing ring."""
    x, y = shapely.get_coordinates(shapely.shortest_line(ring.line, rough.line))[0]
    begin = ring.place_of(x, y)
    turned = Ring.of(ring.stretch(begin, begin + ring.length))
    return Walk(turned.points, turned)
