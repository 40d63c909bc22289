"""Trails: every curve is cut, few stretches twice, and the cutter enters solid wood once for each separate net.

A net whose branchings all have an even number of stretches can be run in one go (Euler 1736). Where the number is odd,
pairs of such places are joined: by running the stretches between them once more, by a straight way over the level
bottom, or by lifting the cutter, whichever costs less. A trail after a lift begins where an earlier one has been, or
at the face, so nothing solid is entered a second time.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from purfle.geometry.network import Network
from purfle.geometry.offsetting import swift_offset
from purfle.model.tapered import Trail
from purfle.tapered.curves import Curves
from purfle.tolerances import OVER_CONTOUR, SAME_PLACE

LIFT_WORTH = 25.0
"""A lift takes as long as this way in the wood: 8 up, across and 8 down at plunging feed at the end, against some
25 mm/s (common practice, no source)."""
MOST_RETRACED = 0.1
"""No more than this share of the curves is run twice, or crossed over to reach the next; beyond it the cutter lifts."""
_ROUNDS = 20
"""Rounds of exchanging partners; few are needed, and each makes the ways shorter."""


@dataclass(frozen=True, slots=True)
class TrailFigures:
    """What the trails of some curves come to. Lengths in mm; `plunges`: entries into solid wood; `nets`: separate."""

    once: float
    retraced: float
    plunges: int
    nets: int


@dataclass(frozen=True, slots=True)
class _Joint:
    """Two odd places that can be joined: along stretches, or straight over the bottom if there are none."""

    cost: float
    first: int
    second: int
    stretches: tuple[int, ...]

    def other(self, end: int) -> int:
        return self.second if end == self.first else self.first


@dataclass(frozen=True, slots=True)
class _Leg:
    """A piece of a trail from one place to another; `chain` is empty where the cutter lifts."""

    first: int
    last: int
    chain: tuple[int, ...]


def trails_over(curves: Curves) -> tuple[tuple[Trail, ...], TrailFigures]:
    """Trails over all curves, in the order in which they are cut, and what they come to."""
    network = Network(curves.places, curves.edges)
    joints = _chosen(network, _joints(network, curves))
    legs = [_Leg(one.first, one.last, one.chain) for one in network.stretches]
    for joint in joints:
        again = [network.stretches[number] for number in joint.stretches]
        legs += [_Leg(one.first, one.last, one.chain) for one in again]
        if not again:
            legs.append(_Leg(joint.first, joint.second, (joint.first, joint.second)))
    ways = _ordered(_ways(legs), network)
    trails = tuple(Trail(network.places[list(way)], plunges) for way, plunges in ways)
    retraced = sum(joint.cost for joint in joints)
    plunges = sum(trail.plunges for trail in trails)
    return trails, TrailFigures(network.length, retraced, plunges, network.components())


# --- which odd places are joined


def _joints(network: Network, curves: Curves) -> list[_Joint]:
    """Every pair of odd places that it can pay to join without a lift, the cheapest first."""
    odd = network.odd
    found: dict[tuple[int, int], _Joint] = {}
    for start in odd:
        for end, (far, way) in network.ways_from(start, LIFT_WORTH).items():
            if start < end and len(network.at[end]) % 2:
                found[start, end] = _Joint(far, start, end, way)
    for joint in _straight_ways(network, curves, odd):
        known = found.get((joint.first, joint.second))
        if known is None or joint.cost < known.cost:
            found[joint.first, joint.second] = joint
    return sorted(found.values(), key=lambda one: (round(one.cost / SAME_PLACE), one.first, one.second))


def _straight_ways(network: Network, curves: Curves, odd: list[int]) -> list[_Joint]:
    """Straight ways at full depth that stay where the tip may go."""
    level = [end for end in odd if network.places[end, 2] >= curves.full_depth - SAME_PLACE]
    if len(level) < 2 or curves.bottom.is_empty:
        return []
    places = network.places[level][:, :2]
    tree = shapely.STRtree(shapely.points(places))
    pairs = tree.query(shapely.points(places), predicate="dwithin", distance=LIFT_WORTH).T
    pairs = pairs[pairs[:, 0] < pairs[:, 1]]
    lines = shapely.linestrings(places[pairs])
    # ends lie on contours, within their tolerance
    allowed = swift_offset(curves.bottom, OVER_CONTOUR)
    shapely.prepare(allowed)
    free = shapely.covers(allowed, lines)
    lengths = shapely.length(lines)
    rows = zip(pairs[free].tolist(), lengths[free].tolist(), strict=True)
    return [_Joint(far, min(level[a], level[b]), max(level[a], level[b]), ()) for (a, b), far in rows]


def _chosen(network: Network, joints: list[_Joint]) -> list[_Joint]:
    """The joints that are made: cheapest first, then partners exchanged while that is cheaper; the rest is lifted."""
    partner: dict[int, _Joint] = {}
    for joint in joints:
        if joint.first not in partner and joint.second not in partner:
            partner[joint.first] = partner[joint.second] = joint
    between = {(joint.first, joint.second): joint for joint in joints}
    for _ in range(_ROUNDS):
        if sum(_exchange(joint, partner, between) for joint in joints) == 0:
            break
    made = sorted({id(one): one for one in partner.values()}.values(), key=lambda one: (one.cost, one.first))
    kept: list[_Joint] = []
    left = MOST_RETRACED * network.length
    for joint in made:
        if joint.cost > left:
            break
        kept.append(joint)
        left -= joint.cost
    return kept


def _exchange(joint: _Joint, partner: dict[int, _Joint], between: dict[tuple[int, int], _Joint]) -> bool:
    """Join these two, and those that were joined to them with each other, where it is cheaper."""
    old = [partner.get(end) for end in (joint.first, joint.second)]
    if old[0] is old[1] and old[0] is not None:
        return False
    mates = [one.other(end) for one, end in zip(old, (joint.first, joint.second), strict=True) if one is not None]
    before = sum(one.cost if one is not None else LIFT_WORTH / 2.0 for one in old)
    other = between.get((min(mates), max(mates))) if len(mates) == 2 else None
    after = joint.cost + (other.cost if other is not None else LIFT_WORTH / 2.0 * len(mates))
    if after >= before - SAME_PLACE:
        return False
    for mate in mates:
        del partner[mate]
    partner[joint.first] = partner[joint.second] = joint
    if other is not None:
        partner[mates[0]] = partner[mates[1]] = other
    return True


# --- the trails


def _ways(legs: list[_Leg]) -> list[tuple[int, ...]]:
    """Unbroken ways that run every leg once: round trips, cut where the cutter lifts."""
    at: dict[int, list[int]] = {}
    for number, leg in enumerate(legs):
        at.setdefault(leg.first, []).append(number)
        at.setdefault(leg.last, []).append(number)
    groups = _groups(legs, at)
    ways: list[tuple[int, ...]] = []
    for group in groups:
        odd = [end for end in group if len(at[end]) % 2]
        for first, second in zip(odd[::2], odd[1::2], strict=True):
            legs.append(_Leg(first, second, ()))
            at[first].append(len(legs) - 1)
            at[second].append(len(legs) - 1)
        ways += _cut_at_lifts(_round_trip(odd[0] if odd else group[0], legs, at), legs)
    return ways


def _groups(legs: list[_Leg], at: dict[int, list[int]]) -> list[list[int]]:
    """The places of each connected group, in order."""
    seen: set[int] = set()
    groups = []
    for start in sorted(at):
        if start in seen:
            continue
        seen.add(start)
        group, waiting = [start], [start]
        while waiting:
            here = waiting.pop()
            for number in at[here]:
                there = legs[number].last if legs[number].first == here else legs[number].first
                if there not in seen:
                    seen.add(there)
                    group.append(there)
                    waiting.append(there)
        groups.append(sorted(group))
    return groups


def _round_trip(start: int, legs: list[_Leg], at: dict[int, list[int]]) -> list[tuple[int, int]]:
    """Once along every leg that can be reached from a place and back to it, as (leg, place it is left from).

    Source: Hierholzer (1873), from memory.
    """
    used = [False] * len(legs)
    waiting: list[tuple[int, int, int]] = [(start, -1, -1)]
    upcoming = {end: list(reversed(numbers)) for end, numbers in at.items()}
    trip: list[tuple[int, int]] = []
    while waiting:
        here, by, came_from = waiting[-1]
        while upcoming[here] and used[upcoming[here][-1]]:
            upcoming[here].pop()
        if upcoming[here]:
            number = upcoming[here].pop()
            used[number] = True
            there = legs[number].last if legs[number].first == here else legs[number].first
            waiting.append((there, number, here))
        else:
            waiting.pop()
            if by >= 0:
                trip.append((by, came_from))
    return trip[::-1]


def _cut_at_lifts(trip: list[tuple[int, int]], legs: list[_Leg]) -> list[tuple[int, ...]]:
    lifts = [place for place, (number, _) in enumerate(trip) if not legs[number].chain]
    if lifts:
        trip = trip[lifts[0] + 1 :] + trip[: lifts[0] + 1]
    ways: list[tuple[int, ...]] = []
    way: list[int] = []
    for number, here in trip:
        chain = legs[number].chain
        if not chain:
            if way:
                ways.append(tuple(way))
            way = []
            continue
        onward = chain if chain[0] == here else chain[::-1]
        way += onward if not way else onward[1:]
    return [*ways, tuple(way)] if way else ways


def _ordered(ways: list[tuple[int, ...]], network: Network) -> list[tuple[tuple[int, ...], bool]]:
    """The ways in an order, and so turned, that each begins at the face or where one has been before it, if it can.

    True beside those that plunge.
    """
    waiting = sorted(ways, key=lambda way: (min(way), len(way)))
    been: set[int] = set()
    ordered: list[tuple[tuple[int, ...], bool]] = []
    while waiting:
        number, begin, plunges = _next(waiting, been, network)
        way = waiting.pop(number)
        if way[0] == way[-1]:
            way = (*way[begin:-1], *way[: begin + 1])
        elif begin == len(way) - 1:
            way = way[::-1]
        elif begin:  # only its middle has been reached: it is run from there both ways
            waiting.append(way[begin:])
            way = way[begin::-1]
        ordered.append((way, plunges))
        been.update(way)
    return ordered


def _next(waiting: list[tuple[int, ...]], been: set[int], network: Network) -> tuple[int, int, bool]:
    """Which way comes next, where on it the cutter goes in, and whether it plunges there."""
    ends = [(number, place) for number, way in enumerate(waiting) for place in (0, len(way) - 1)]
    for number, place in ends:
        if waiting[number][place] in been:
            return number, place, False
    for number, place in ends:
        if network.places[waiting[number][place], 2] <= SAME_PLACE:
            return number, place, False
    for number, way in enumerate(waiting):
        reached = next((place for place, end in enumerate(way) if end in been), None)
        if reached is not None:
            return number, reached, False
    depths = [network.places[list(way), 2] for way in waiting]
    rounds = [way[0] == way[-1] for way in waiting]
    least = [float(d.min() if is_round else d[[0, -1]].min()) for d, is_round in zip(depths, rounds, strict=True)]
    number = int(np.argmin(least))
    if rounds[number]:
        begin = int(np.argmin(depths[number][:-1]))
    else:
        begin = 0 if depths[number][0] <= depths[number][-1] else len(waiting[number]) - 1
    return number, begin, bool(least[number] > SAME_PLACE)


__all__ = ["LIFT_WORTH", "MOST_RETRACED", "TrailFigures", "trails_over"]
