"""Walks and rings made into trips of the cutter: lines and turns at a depth, entered on a ramp along the path."""

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from purfle.cutting.rings import Ring
from purfle.cutting.walks import Walk
from purfle.geometry.arcs import ArcSegment, fit_arcs
from purfle.geometry.pose import Polyline
from purfle.model.cutting import Move, Straight, Trip, Turn
from purfle.tolerances import GRID, LAST_PASS_FIT, ROUGHING_FLAT, SAME_PLACE

ABOVE_WOOD = 0.5
"""A trip arrives this far above the wood and goes on at plunging feed (common practice, no source)."""
SHORTEST_RAMP_RING = 1.0
"""On a ring shorter than this the cutter goes straight down at plunging feed: a ramp would only spin on the spot."""
LONGEST_RAMP_RINGS = 12.0
"""A ramp goes at most this often around its ring, steeper if need be."""


def roughing_trips(walk: Walk, levels: list[float], ramp_angle: float, tolerance: float) -> list[Trip]:
    """One trip for each level: down a ramp on the walk's first ring from the level above, then the whole walk.

    `levels` are depths below the face, positive, shallowest first. `tolerance`: how far a move may stand off the walk.
    """
    path = along(walk.line, tolerance)
    return [
        _roughing_trip(walk, above, level, ramp_angle, path)
        for above, level in zip([0.0, *levels], levels, strict=False)
    ]


def last_trip(walk: Walk, depth: float, cleared: BaseGeometry, longest: float) -> Trip:
    """One trip at full depth: down where roughing has cleared, onto the line, the whole walk, off the line.

    `cleared` is no further off the walk's start than `longest`, else the trip goes down on the line itself: a longer
    way could lead through a wall.
    """
    x, y = walk.line[0].tolist()
    way = shapely.shortest_line(shapely.Point(x, y), cleared)
    path = at_depth(along(walk.line, LAST_PASS_FIT), depth)
    if not GRID < way.length <= longest + GRID:
        return Trip((x, y, ABOVE_WOOD), (Straight(x, y, -depth), *path))
    down_x, down_y = shapely.get_coordinates(way)[-1].tolist()
    down = Straight(down_x, down_y, -depth)
    comes_back = math.dist(walk.line[-1], (x, y)) <= GRID
    off = (down,) if comes_back else ()  # from the end of a walk over several rings it is lifted where it stands
    return Trip((down_x, down_y, ABOVE_WOOD), (down, Straight(x, y, -depth), *path, *off))


def along(line: Polyline, tolerance: float) -> tuple[Move, ...]:
    """The moves along a polyline at depth 0, from its first point on, turns where it is round."""
    moves: list[Move] = []
    for segment in fit_arcs(line, tolerance):
        x, y = segment.end
        if isinstance(segment, ArcSegment):
            moves.append(Turn(x, y, 0.0, *segment.centre, segment.ccw))
        else:
            moves.append(Straight(x, y, 0.0))
    return tuple(moves)


def at_depth(moves: tuple[Move, ...], depth: float) -> tuple[Move, ...]:
    """The same moves at a depth below the face."""
    return tuple(
        Straight(move.x, move.y, -depth)
        if isinstance(move, Straight)
        else Turn(move.x, move.y, -depth, move.cx, move.cy, move.ccw)
        for move in moves
    )


def _roughing_trip(walk: Walk, above: float, level: float, ramp_angle: float, path: tuple[Move, ...]) -> Trip:
    ramp = _ramp(walk.entry, above, level, ramp_angle)
    start = (*ramp[0][:2], ABOVE_WOOD)
    return Trip(start, (*(Straight(*point) for point in ramp), *at_depth(path, level)))


def _ramp(ring: Ring, above: float, level: float, angle: float) -> list[tuple[float, float, float]]:
    """Points down the ring from one level to the next, ending at the ring's first point; its length is the drop's."""
    drop = level - above
    if ring.length < SHORTEST_RAMP_RING:
        x, y = ring.points[0].tolist()
        return [(x, y, 0.0 - above), (x, y, -level)]
    length = min(drop / math.tan(math.radians(angle)), LONGEST_RAMP_RINGS * ring.length)
    laps = math.ceil(length / ring.length + SAME_PLACE)
    points = ring.stretch(laps * ring.length - length, laps * ring.length)
    points = shapely.get_coordinates(shapely.simplify(shapely.LineString(points), ROUGHING_FLAT))
    gone = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    depths = above + drop * gone / gone[-1]
    return [(float(x), float(y), 0.0 - float(z)) for (x, y), z in zip(points, depths, strict=True)]
