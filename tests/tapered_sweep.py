"""What a V cutter takes away on its trails, worked out by shapely alone: the hull of two discs for each move."""

import math

import numpy as np
import shapely
from shapely import Polygon

from purfle.model.tapered import TaperedRule

_SIDES = 192
_TURN = np.linspace(0.0, 2.0 * np.pi, _SIDES, endpoint=False)
_DISC = np.column_stack([np.cos(_TURN), np.sin(_TURN)]) / math.cos(math.pi / _SIDES)


def swept(trails, rule: TaperedRule, depth: float):
    """The section at a depth below the face, up to 0.00013 of the radius too large."""
    moves = np.concatenate([np.stack([one.places[:-1], one.places[1:]], axis=1) for one in trails])
    moves = moves.copy()
    upper = moves[:, 0, 2] > moves[:, 1, 2]
    moves[upper] = moves[upper][:, ::-1]
    moves = moves[moves[:, 1, 2] >= depth]
    if not len(moves):
        return Polygon()
    rise = np.maximum(moves[:, 1, 2] - moves[:, 0, 2], 1e-12)
    moves[:, 0] += np.clip((depth - moves[:, 0, 2]) / rise, 0.0, 1.0)[:, None] * (moves[:, 1] - moves[:, 0])
    radius = rule.tip_radius + np.maximum(moves[:, :, 2] - depth, 0.0) * rule.slope
    discs = moves[:, :, None, :2] + radius[:, :, None, None] * _DISC
    hulls = shapely.convex_hull(shapely.multipoints(discs.reshape(len(moves), -1, 2)))
    return shapely.union_all(hulls[shapely.area(hulls) > 0.0])


def furthest(first, second) -> float:
    """How far the first region sticks out of the second."""
    places = shapely.points(shapely.get_coordinates(first))
    return float(shapely.distance(places, second).max()) if len(places) else 0.0


def star(points: int = 5, outer: float = 45.0, inner: float = 18.0) -> Polygon:
    """A star; with five points, 45 and 18 mm its tips have 38.33 degrees."""
    turn = np.arange(2 * points) * math.pi / points
    reach = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return Polygon(np.column_stack([reach * np.sin(turn), reach * np.cos(turn)]))
