"""The middle of a narrow room as one unbroken way: its medial axis, with as little of it as can be gone twice.

    ring along the edge   .---------------------.      middle   |
                          |                     |               | .-----------------.
                          '---------------------'               |

A net of lines can be gone in one go if no more than two places have an odd number of lines (Euler 1736). Where there
are more, pairs of them are joined by going what lies between them a second time.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import Polygon

from purfle.geometry.medial_axis import cut_at, medial_axis, pruned
from purfle.geometry.network import Network
from purfle.geometry.offsetting import difference, grow, opening, polygons, shrink, sound
from purfle.geometry.pose import Polyline
from purfle.tolerances import PATH_JOIN, ROUGHING_FLAT

_TIPS = 0.45
"""No branch leads into a tip that sticks out of the widest disc by this share of its radius: a square corner does by
0.41."""
_SHORT = 0.1
"""Branches end where they need to, within this share of the reach."""
_LONG_TAIL = 10.0
"""A tail is no shorter around than so many times the reach: less is a corner."""
_MOST_ODD = 60
"""So many odd places at most: a net of more is no narrow room, and its rings do as well."""

_Way = tuple[int, ...]
"""Stretches of a net, by number, in the order in which they are gone."""


@dataclass(frozen=True, slots=True, eq=False)
class Middle:
    """A way over all of it, and the shortest way `back` to where that began: a single place where it closes itself."""

    there: Polyline
    back: Polyline

    @property
    def line(self) -> Polyline:
        """There and back."""
        return np.vstack([self.there, self.back[1:]])

    @property
    def once(self) -> float | None:
        """How far along the line all has been gone once; None where that takes the whole round."""
        return float(np.hypot(*np.diff(self.there, axis=0).T).sum()) if len(self.back) > 1 else None

    def turned(self) -> "Middle":
        """The same from the other end."""
        return Middle(self.there[::-1], self.back[::-1])


def middle_of(room: Polygon, reach: float) -> Middle | None:
    """The way along the middle of a room, or None if some place of the room is further than `reach` from its edge.

    It stops before the tips: no place of the room is further from it than `reach` and 0.45 of it.
    """
    # twice the area by the perimeter is half the width of a strip, and less than that of anything rounder
    if reach <= 0.0 or room.area > reach * room.length or not shrink(room, reach).is_empty:
        return None
    plain = next(polygons(sound(shapely.simplify(room, ROUGHING_FLAT))), None)
    if plain is None:
        return None
    whole = medial_axis(plain, ROUGHING_FLAT, 0.0)
    widest = float(whole.places[whole.edges, 2].max(initial=0.0))
    cuts = np.arange(_SHORT, 1.0, _SHORT) * reach
    axis = pruned(cut_at(whole, cuts.tolist()), max(_TIPS * widest, reach - widest))
    if not len(axis.edges):
        return None
    network = Network(np.column_stack([axis.places[:, :2], np.zeros(len(axis.places))]), axis.edges)
    return _way_over(network) if len(network.odd) <= _MOST_ODD and network.components() == 1 else None


def tail_of(room: Polygon, reach: float) -> tuple[Middle, Polygon] | None:
    """The longest narrow end of a room, from its far end on, and the room without it; None where it has none.

    Narrow is what a disc of radius `reach` does not reach. From the tail a straight way leads into the rest.
    """
    if reach <= 0.0:
        return None
    wide = opening(room, reach)
    found: list[tuple[float, Middle, Polygon]] = []
    for narrow in () if wide.is_empty else polygons(difference(room, wide)):
        middle = middle_of(narrow, 1.01 * reach) if narrow.length > _LONG_TAIL * reach else None
        rest = [] if middle is None else list(polygons(difference(room, narrow)))
        if middle is not None and middle.once is not None and len(rest) == 1:
            far = shapely.distance(shapely.points(middle.there[[0, -1]]), rest[0])
            middle = middle if far[0] >= far[1] else middle.turned()
            mouth = shapely.shortest_line(shapely.Point(middle.there[-1]), rest[0].exterior)
            if mouth.length <= 2.0 * reach and grow(room, PATH_JOIN).covers(mouth):
                found.append((middle.once or 0.0, middle, rest[0]))
    longest = max(found, key=lambda one: one[0], default=None)
    return None if longest is None else longest[1:]


def _way_over(network: Network) -> Middle:
    odd = network.odd
    if not odd:
        there = _line(network, _round(network, network.stretches[0].first, ()))
        return Middle(there, there[-1:])
    ways = {end: network.ways_from(end, math.inf) for end in odd}
    costs = {(a, b): ways[a][b][0] for a, b in combinations(odd, 2)}
    farthest = max(costs, key=lambda pair: (costs[pair], pair))
    # the first leaves the two that are last to be joined, the second those that lie furthest apart
    choices = [_joined(costs, ()), _joined(costs, farthest)]
    pairs = min(choices, key=lambda chosen: sum(costs[pair] for pair in chosen))
    again = tuple(number for a, b in pairs for number in ways[a][b][1])
    start, end = (one for one in odd if all(one not in pair for pair in pairs))
    there = _line(network, _round(network, start, again))
    return Middle(there, _line(network, list(_from(network, end, ways[end][start][1]))))


def _joined(costs: dict[tuple[int, int], float], apart: tuple[int, ...]) -> list[tuple[int, int]]:
    """Pairs of odd places, the nearest first, until two are left, or those two that are to stay `apart`."""
    free = {end for pair in costs for end in pair} - set(apart)
    pairs: list[tuple[int, int]] = []
    for pair in sorted(costs, key=lambda one: (costs[one], one)):
        if len(free) + len(apart) > 2 and free.issuperset(pair):
            free -= set(pair)
            pairs.append(pair)
    return pairs


def _round(network: Network, start: int, again: _Way) -> list[tuple[int, int]]:
    """Along every stretch once, and once more along those `again`: (stretch, where it is entered). In one go.

    Source: Hierholzer (1873), from memory.
    """
    left = [1] * len(network.stretches)
    for number in again:
        left[number] += 1
    waiting: list[tuple[int, int, int]] = [(start, -1, start)]
    trip: list[tuple[int, int]] = []
    while waiting:
        here, by, came_from = waiting[-1]
        onward = next((one for one in network.at[here] if left[one]), None)
        if onward is None:
            waiting.pop()
            trip += [(by, came_from)] if by >= 0 else []
        else:
            left[onward] -= 1
            waiting.append((network.stretches[onward].other(here), onward, here))
    return trip[::-1]


def _from(network: Network, start: int, way: _Way) -> Iterable[tuple[int, int]]:
    here = start
    for number in way:
        yield number, here
        here = network.stretches[number].other(here)


def _line(network: Network, trip: list[tuple[int, int]]) -> Polyline:
    """The places along stretches that follow each other."""
    places = [trip[0][1]]
    for number, here in trip:
        places += network.stretches[number].chain_from(here)[1:]
    line: Polyline = network.places[places][:, :2]
    return line
