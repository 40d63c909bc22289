"""The feed of the last pass where it turns towards the wood: slower, so that no chip is thicker than on the straight.

An allowance a is taken by an edge at radius r over the engagement angle t, cos t = 1 - a / r; its chip is as thick as
sin t of the bite. In an inside corner the cutter also meets the allowance of the wall ahead:

    ______________________________
    allowance of the wall ahead  |      engaged up to t and the angle that the way turns by: beyond 90 degrees the
    --------------------.        |      chip is as thick as the whole bite
              ( cutter )|        |
    __________(________)|________|
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from purfle.model.cutting import Move, Straight, Trip, WayRound
from purfle.tolerances import PATH_JOIN, SAME_PLACE

LEAST_CORNER = math.radians(25.0)
"""A way that turns by less is no corner: the chip gets thicker there, but stays well below the bite."""
FURTHEST_BEFORE = 2.0
"""A corner is told no further before it than this many radii, however sharp it is."""


@dataclass(frozen=True, slots=True)
class Easing:
    """Where the last pass goes slower: cutter radius and allowance in mm, and the side that the wall lies on.

    `most`: what roughing has left where it has left more than the allowance; the wall ahead is met so much earlier.
    """

    radius: float
    allowance: float
    way_round: WayRound
    most: float = 0.0

    @property
    def engaged(self) -> float:
        """The angle over which an edge takes the allowance on a straight wall: arccos(1 - a / r), a quarter at most.

        >>> round(math.degrees(Easing(1.5, 0.1, "climb").engaged), 2)
        21.04
        """
        return math.acos(max(0.0, 1.0 - self.allowance / self.radius))

    def in_arc(self, path_radius: float) -> float:
        """The share of the feed in an inside arc of this radius of the way: R / (R + r), at least sin t.

        The cutter's rim then passes along the wall as fast as on the straight, and as much wood is taken in a second.
        Below R = r sin t / (1 - sin t) it would only rub: there the chip is no thicker than on the straight.

        >>> round(Easing(1.5, 0.1, "climb").in_arc(4.5), 3)
        0.75
        """
        return max(path_radius / (path_radius + self.radius), math.sin(self.engaged))

    def in_corner(self, turned: float) -> float:
        """The share of the feed where the way turns by an angle (radians): the chip as thick as on the straight.

        >>> round(Easing(1.5, 0.1, "climb").in_corner(math.pi / 2), 3)
        0.359
        """
        return math.sin(self.engaged) / math.sin(min(math.pi / 2, self.engaged + turned))

    def before(self, turned: float) -> float:
        """How far before a corner the cutter begins to meet the wall ahead, mm: a tan(turned / 2) + r sin t."""
        left = max(self.allowance, self.most)
        engaged = replace(self, allowance=left).engaged
        along = left * math.tan(min(turned, 0.99 * math.pi) / 2.0) + self.radius * math.sin(engaged)
        return min(along, FURTHEST_BEFORE * self.radius)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """One level move: where it begins, how long it is, its directions at both ends, how far it turns to the inside."""

    start: tuple[float, float]
    length: float
    ahead: float
    leaving: float
    sweep: float
    radius: float


@dataclass(slots=True)
class _Corner:
    """Turns that lie no further apart than the allowance: from one length along the way to another, and their sum."""

    begin: float
    end: float
    turned: float


@dataclass(frozen=True, slots=True)
class _Slow:
    """A slower part of the way: from one length along it to another, before and through a corner."""

    begin: float
    corner: float
    end: float
    share: float

    def seen_from(self, along: float) -> "_Slow":
        """The same, lengths counted from a place along the way."""
        return _Slow(self.begin - along, self.corner - along, self.end - along, self.share)


def eased(trips: Iterable[Trip], easing: Easing) -> tuple[Trip, ...]:
    """The trips of a last pass with the feed reduced in inside corners and arcs; their ways are the same.

    Where nothing is left to take they stay as they are.
    """
    if easing.allowance <= 0.0:
        return tuple(trips)
    return tuple(replace(trip, moves=tuple(_eased(trip, easing))) for trip in trips)


def _eased(trip: Trip, easing: Easing) -> Iterator[Move]:
    inside = 1.0 if easing.way_round == "climb" else -1.0
    stretches = list(_stretches(trip, inside))
    slow = [
        _Slow(one.begin - easing.before(one.turned), one.begin, one.end, easing.in_corner(one.turned))
        for one in _corners(stretches, easing.allowance, inside)
        if one.turned >= LEAST_CORNER
    ]
    along, first = 0.0, 0
    for move, stretch in zip(trip.moves, stretches, strict=True):
        if stretch is None:
            yield move
            continue
        while first < len(slow) and slow[first].end < along - PATH_JOIN:
            first += 1
        last = first
        while last < len(slow) and slow[last].corner < along + stretch.length + FURTHEST_BEFORE * easing.radius:
            last += 1
        yield from _in_parts(move, stretch, [one.seen_from(along) for one in slow[first:last]], easing)
        along += stretch.length


def _stretches(trip: Trip, inside: float) -> Iterator[_Stretch | None]:
    """Each move of a trip as a stretch; None where it goes up or down. `inside`: 1 where left turns are to the wood."""
    x, y, z = trip.start
    for move in trip.moves:
        level = abs(move.z - z) < SAME_PLACE and math.dist((x, y), (move.x, move.y)) > SAME_PLACE
        yield _stretch((x, y), move, inside) if level else None
        x, y, z = move.x, move.y, move.z


def _stretch(start: tuple[float, float], move: Move, inside: float) -> _Stretch:
    if isinstance(move, Straight):
        way = math.atan2(move.y - start[1], move.x - start[0])
        return _Stretch(start, math.dist(start, (move.x, move.y)), way, way, 0.0, math.inf)
    side = 1.0 if move.ccw else -1.0
    begin = math.atan2(start[1] - move.cy, start[0] - move.cx)
    finish = math.atan2(move.y - move.cy, move.x - move.cx)
    swept = (side * (finish - begin)) % math.tau
    radius = math.dist(start, (move.cx, move.cy))
    quarter = side * math.pi / 2.0
    return _Stretch(start, radius * swept, begin + quarter, finish + quarter, side * inside * swept, radius)


def _corners(stretches: list[_Stretch | None], near: float, inside: float) -> list[_Corner]:
    """Where the way turns to the inside on the spot, or in arcs no larger than the allowance (`near`)."""
    found: list[_Corner] = []
    along: float = 0.0
    before: _Stretch | None = None
    for stretch in stretches:
        if stretch is not None:
            turns = [] if before is None else [(along, along, inside * _angle(stretch.ahead - before.leaving))]
            if stretch.radius <= near:
                turns.append((along, along + stretch.length, stretch.sweep))
            for begin, end, turned in turns:
                if turned > SAME_PLACE:
                    _turn(found, begin, end, turned, near)
            along += stretch.length
        before = stretch
    return found


def _turn(found: list[_Corner], begin: float, end: float, turned: float, near: float) -> None:
    """One more turn: of the corner before it where that is near, else a corner of its own."""
    if found and begin - found[-1].end <= near:
        found[-1].end, found[-1].turned = end, found[-1].turned + turned
    else:
        found.append(_Corner(begin, end, turned))


def _angle(turned: float) -> float:
    """The same angle between -pi and pi."""
    return math.remainder(turned, math.tau)


def _in_parts(move: Move, stretch: _Stretch, slow: list[_Slow], easing: Easing) -> Iterator[Move]:
    """A move in parts, each with its share of the feed."""
    usual = easing.in_arc(stretch.radius) if stretch.sweep > 0.0 else 1.0
    cuts = sorted(at for one in slow for at in (one.begin, one.end) if PATH_JOIN < at < stretch.length - PATH_JOIN)
    ends = [at for at, following in pairwise([*cuts, stretch.length]) if following - at > PATH_JOIN]
    begin, shares = 0.0, []
    for end in [*ends, stretch.length]:
        middle = (begin + end) / 2.0
        shares.append(min([usual, *(one.share for one in slow if one.begin < middle < one.end)]))
        begin = end
    for number, (end, share) in enumerate(zip(ends, shares, strict=False)):
        if not math.isclose(share, shares[number + 1]):
            yield replace(_up_to(move, stretch, end), share=share)
    yield replace(move, share=shares[-1])


def _up_to(move: Move, stretch: _Stretch, length: float) -> Move:
    """The first part of a move, so long."""
    x, y = stretch.start
    if isinstance(move, Straight):
        part = length / stretch.length
        return replace(move, x=x + part * (move.x - x), y=y + part * (move.y - y))
    turned = (1.0 if move.ccw else -1.0) * length / stretch.radius
    cos, sin = math.cos(turned), math.sin(turned)
    dx, dy = x - move.cx, y - move.cy
    return replace(move, x=move.cx + cos * dx - sin * dy, y=move.cy + sin * dx + cos * dy)
