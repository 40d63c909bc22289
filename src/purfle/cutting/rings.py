"""Nested rings in the room of the cutter's middle.

    wall   ===========================
    ring 0   .---------------------.     the edge of the room: a radius (and the allowance) off the wall
    ring 1   |  .---------------.  |     a step-over further in
    ring 2   |  |  .---------.  |  |

Why nothing is left: a place of the room that lies between ring k and where ring k+1 would be is nearer to ring k than
one step-over, and a step-over is at most the radius.

A narrow room has no ring along its edge: it is gone along its middle (`purfle.cutting.middles`), which is half as long.
Further in, that is wherever no more wood stands between its two sides than a step-over. At the edge itself it would
leave half the width of the room to the last pass: that is done where the room is no wider than a step-over.
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString, Polygon

from purfle.cutting.middles import Middle, middle_of, tail_of
from purfle.geometry.offsetting import Region, polygons, shrink, sound
from purfle.geometry.pose import Polyline
from purfle.tolerances import GRID, ROUGHING_FLAT, SAME_PLACE

_REACH_OF_RING = 0.98
"""An inner ring is left out where the ring around it reaches all of its room with this share of the radius."""

_BULGE = 1.36
"""A room narrow but for places where it branches may be so much wider there: 0.75 of a step-over to each side."""
_LEAST = 0.5
"""A middle shorter than this, there and back (mm), gives a ramp no room."""

_WIDER = 0.15
"""The last step-over of a room may be wider by this share, where that saves a ring (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed way of the cutter's middle: `points` end where they begin, `along` is the length up to each.

    `depth` counts from the edge of its room, `room` numbers the connected rooms. `is_middle`: it runs along the middle
    of a narrow room. A line there and back is a ring too: `once` is how far along it all of it has been gone once.
    """

    points: Polyline
    along: NDArray[np.float64]
    line: LineString
    depth: int
    room: int
    is_middle: bool = False
    once: float | None = None

    @classmethod
    def of(cls, outline: Polyline, depth: int = 0, room: int = 0) -> "Ring":
        """The ring along a closed outline."""
        points = np.asarray(outline, np.float64)[:, :2]
        steps = np.hypot(*np.diff(points, axis=0).T)
        line = LineString(points)
        shapely.prepare(line)
        return cls(points, np.concatenate(([0.0], np.cumsum(steps))), line, depth, room)

    @property
    def length(self) -> float:
        """Once around."""
        return float(self.along[-1])

    def reversed(self) -> "Ring":
        """The same ring the other way round; a middle has no side, so it stays as it is."""
        return self if self.is_middle else Ring.of(self.points[::-1], self.depth, self.room)

    def place_of(self, x: float, y: float) -> float:
        """How far along the ring its nearest place to (x, y) lies."""
        return float(shapely.line_locate_point(self.line, shapely.Point(x, y)))

    def stretch(self, start: float, end: float) -> Polyline:
        """The points from one length along the ring to a later one, several times around if need be."""
        lap = self.length
        shift = np.floor(start / lap) * lap
        start, end = start - shift, end - shift
        laps = int(end // lap) + 1
        along = np.concatenate([self.along[:-1] + k * lap for k in range(laps + 1)])
        points = np.tile(self.points[:-1], (laps + 1, 1))
        between = (along > start + SAME_PLACE) & (along < end - SAME_PLACE)
        return np.vstack([self.at(start), points[between], self.at(end)])

    def at(self, length: float) -> NDArray[np.float64]:
        """The place a length along the ring."""
        rest = length % self.length
        return np.array([np.interp(rest, self.along, self.points[:, k]) for k in (0, 1)])


def edge_rings(room: Region) -> list[Ring]:
    """The edges of each connected room, with the room on the left."""
    return [ring for number, part in enumerate(polygons(room)) for ring in _edges(part, 0, number)]


def nested_rings(room: Region, step: float, radius: float, edge: float = 0.0) -> list[Ring]:
    """The edges of the room and of the room shrunk by one, two, ... steps, with the room on the left.

    What is narrow is gone along its middle: further in where that takes no more than a step-over at once, at the edge
    where it is nowhere further than `edge` from it.
    Valid: step <= radius, else ridges are left where rings turn.
    """
    rings: list[Ring] = []
    for number, part in enumerate(polygons(room)):
        rings += [] if (middle := _edge_middle(part, edge, step, number)) is None else [middle]
        tail = _tail(part, edge, step) if middle is None else None
        rings += [] if tail is None else [_ring_of(tail[0], 0, number)]
        level, depth = [] if middle is not None else [part if tail is None else tail[1]], 0
        while level:
            rings += [ring for polygon in level for ring in _edges(polygon, depth, number)]
            inner = [inner for polygon in level for inner in _inner(polygon, step, radius)]
            depth += 1
            middles = [_inner_middle(one, radius - step / 2.0, step, (depth, number)) for one in inner]
            rings += [one for one in middles if one is not None]
            level = [polygon for polygon, its in zip(inner, middles, strict=True) if its is None]
    return rings


def _ring_of(middle: Middle, depth: int, number: int) -> Ring:
    return replace(Ring.of(middle.line, depth, number), is_middle=True, once=middle.once)


def _inner_middle(polygon: Polygon, reach: float, step: float, counted: tuple[int, int]) -> Ring | None:
    """The ring along the middle of a room, if no place of it is further away than `reach`, and it is shorter.

    One shorter than a step-over gives a ramp no room, so small rooms keep the ring along their edge.
    """
    found = middle_of(polygon, reach)
    ring = None if found is None else _ring_of(found, *counted)
    return ring if ring is not None and 2.0 * step <= ring.length < polygon.length else None


def _edge_middle(room: Polygon, edge: float, step: float, number: int) -> Ring | None:
    """The same of a whole room. Where it is narrow but for its widest places, they may be wider by a half."""
    found = middle_of(room, edge) or (middle_of(room, _BULGE * edge) if _is_slim(room, step) else None)
    ring = None if found is None else _ring_of(found, 0, number)
    return ring if ring is not None and ring.length >= _LEAST and (ring.once or ring.length) < room.length else None


def _tail(room: Polygon, edge: float, step: float) -> tuple[Middle, Polygon] | None:
    """The narrow end that a walk begins with, and the room without it."""
    return tail_of(room, edge) if edge > 0.0 and _is_slim(room, step) else None


def _is_slim(room: Polygon, step: float) -> bool:
    """True if the way around a room is longer than the bound of nested rings: it is less than a step-over wide."""
    return bool(room.length / 2.0 > room.area / step)


def _edges(polygon: Polygon, depth: int, room: int) -> list[Ring]:
    oriented = shapely.orient_polygons(polygon)
    outlines: list[LinearRing] = [oriented.exterior, *oriented.interiors]
    return [Ring.of(np.asarray(outline.coords), depth, room) for outline in outlines]


def _inner(polygon: Polygon, step: float, radius: float) -> list[Polygon]:
    """The rooms one step further in, without those that the ring around them reaches anyway."""
    reach = _REACH_OF_RING * radius
    inner = list(polygons(sound(shapely.simplify(shrink(polygon, step), ROUGHING_FLAT))))
    # one place beyond reach is enough, and nearly always the first one that comes to hand
    middles = [one.representative_point() for one in inner]
    if not inner or not bool((shapely.distance(polygon.boundary, middles) > reach + GRID).all()):
        beyond = shrink(polygon, reach)
        inner = [] if beyond.is_empty else [one for one in inner if one.intersects(beyond)]
    return [part for one in inner for part in _as_the_last(one, min(reach - step, _WIDER * step), reach)]


def _as_the_last(room: Polygon, wider: float, reach: float) -> list[Polygon]:
    """A room a little further in, if its ring then reaches all of it and no other ring is needed; else as it is.

    `wider`: by how much at most, so that the ring around it still reaches what lies between.
    """
    middle = room.representative_point()
    if wider <= 0.0 or shapely.distance(room.boundary, middle) > reach + wider or shrink(room, reach).is_empty:
        return [room]
    if not shrink(room, reach + wider).is_empty:
        return [room]
    closer = list(polygons(sound(shapely.simplify(shrink(room, wider), ROUGHING_FLAT))))
    return closer or [room]
