"""Which program of tapered walls is at fault where the wood is not as it has to be, and the line of it nearest by."""

from collections.abc import Callable

import shapely
from shapely.geometry.base import BaseGeometry

from purfle.proof.cones import ConeRun, cone_section, nearest_wall
from purfle.tolerances import JUST_BELOW

Place = tuple[float, float]
Runs = tuple[ConeRun, ...]


def cut_away(runs: Runs, place: Place, depth: float) -> str:
    """File and line of what takes the wood of a place away at a depth: of no program that does not reach it."""
    point = shapely.Point(place)
    reach = tuple(run for run in runs if shapely.dwithin(cone_section(run, depth), point, JUST_BELOW))
    return nearest_wall(reach or runs, place, depth)


def left_standing(runs: Runs, place: Place, depth: float, room: Callable[[float], BaseGeometry]) -> str:
    """File and line of what leaves wood standing at a place: a straight cutter that has room there, or the V cutter.

    `room`: all that a straight cutter of this radius can take away, where it is let to its full depth.
    """
    point = shapely.Point(place)
    straight = tuple(run for run in runs if run.cone.slope == 0.0 and room(run.cone.tip).covers(point))
    sloping = tuple(run for run in runs if run.cone.slope > 0.0)
    return nearest_wall(straight or sloping or runs, place, depth)
