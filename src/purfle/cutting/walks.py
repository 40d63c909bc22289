"""Rings joined to one unbroken walk for each connected room, without leaving the wood's waste and without lifts.

The links are the edges of a shortest spanning tree of the rings. Why none leaves the room: a shortest link that
crossed a third ring would not be in that tree, and the edge of the room consists of rings.

The longest way through the tree is its spine. The walk begins at one end of it and goes on along it, each link gone
once, as long as the next ring can be reached straight from where the last one closed. Every other ring is visited from
the ring that it hangs on, there and back, and so is what is left of the spine where the way on would be longer than
that. So a walk is never longer than all its rings and twice the tree: no piece of a ring is gone a second time.

A middle that can be gone in one go, from one end of it to the other, comes first: it is then gone once and not back.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, STRtree
from shapely.geometry.base import BaseGeometry

from purfle.cutting.rings import Ring
from purfle.geometry.pose import Polyline
from purfle.tolerances import GRID, PATH_JOIN

_DIRECT = 2.0
"""The next ring of the spine is entered straight from where the walk stands, if that is no longer than this many links:
there and back takes two."""
_TRIM = 0.001
"""Share of a link left out at either end when it is looked at for crossings: its ends lie on rings."""


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """One unbroken way of the cutter's middle: `line` starts on the closed ring `entry`, at its first point."""

    line: Polyline
    entry: Ring


@dataclass(frozen=True, slots=True)
class _Link:
    """A straight link of this length from ring `first` at `a` to ring `second` at `b`."""

    length: float
    first: int
    second: int
    a: tuple[float, float]
    b: tuple[float, float]

    def turned(self) -> "_Link":
        return _Link(self.length, self.second, self.first, self.b, self.a)


_Tree = dict[int, list[_Link]]
"""The links that leave each ring."""


def walks_over(rings: list[Ring], reach: float, begin_near: BaseGeometry | None = None) -> list[Walk]:
    """One walk for each room over all its rings, in the order of the rooms.

    `reach`: how far apart neighbouring rings usually lie. `begin_near`: the walk begins at the place of its first
    ring that lies nearest to this.
    """
    tree = _tree(rings, reach)
    lookup = STRtree([ring.line for ring in rings])
    rooms: dict[int, list[int]] = {}
    for index, ring in enumerate(rings):
        rooms.setdefault(ring.room, []).append(index)
    return [_walk(rings, _spine(rings, members, tree), tree, lookup, begin_near) for members in rooms.values()]


# --- the tree


def _tree(rings: list[Ring], reach: float) -> _Tree:
    """The shortest links that join all rings of each room, by Kruskal's algorithm; wider reach until all are joined."""
    lookup = STRtree([ring.line for ring in rings])
    leader = list(range(len(rings)))
    missing = len(rings) - len({ring.room for ring in rings})
    tree: _Tree = {index: [] for index in leader}
    while missing:
        for link in _candidates(rings, lookup, leader, reach):
            first, second = _leader_of(leader, link.first), _leader_of(leader, link.second)
            if first != second:
                leader[max(first, second)] = min(first, second)
                tree[link.first].append(link)
                tree[link.second].append(link.turned())
                missing -= 1
        reach *= 2.0
    return tree


def _leader_of(leader: list[int], member: int) -> int:
    while leader[member] != member:
        leader[member] = leader[leader[member]]
        member = leader[member]
    return member


def _candidates(rings: list[Ring], lookup: STRtree, leader: list[int], reach: float) -> list[_Link]:
    """The links no longer than the reach between rings of one room that are not joined yet, shortest first."""
    lines = [ring.line for ring in rings]
    pairs = lookup.query(lines, predicate="dwithin", distance=reach)
    links = []
    for first, second in zip(*(pair.tolist() for pair in pairs), strict=True):
        apart = _leader_of(leader, first) != _leader_of(leader, second)
        if first < second and rings[first].room == rings[second].room and apart:
            ends = shapely.get_coordinates(shapely.shortest_line(lines[first], lines[second])).tolist()
            a, b = (tuple(end) for end in ends)
            links.append(_Link(float(np.hypot(a[0] - b[0], a[1] - b[1])), first, second, a, b))
    return sorted(links, key=lambda link: (round(link.length / GRID), link.first, link.second))


def _spine(rings: list[Ring], members: list[int], tree: _Tree) -> list[int]:
    """The rings along the longest way through the tree, beginning at the end that lies deeper in the room.

    Where there is a middle that need not be gone back, it begins with that.
    """
    ways = [index for index in members if rings[index].once is not None and len(tree[index]) <= 1]
    if ways:  # the longest way back is the one to save
        return _farthest(max(ways, key=lambda index: (_way_back(rings[index]), -index)), tree)
    one_end = _farthest(members[0], tree)[-1]
    spine = _farthest(one_end, tree)
    ends = [(rings[i].depth, rings[i].length) for i in (spine[0], spine[-1])]
    return spine if ends[0] >= ends[1] else spine[::-1]


def _way_back(ring: Ring) -> float:
    """What of a ring has been gone before, mm, when it is gone to its end."""
    return 0.0 if ring.once is None else ring.length - ring.once


def _farthest(start: int, tree: _Tree) -> list[int]:
    """The way through the tree from a ring to the one that is farthest from it."""
    before: dict[int, int] = {}
    far = {start: 0.0}
    for link in _outward(start, set(), tree):
        before[link.second] = link.first
        far[link.second] = far[link.first] + link.length
    way = [max(far, key=lambda index: (far[index], -index))]
    while way[-1] != start:
        way.append(before[way[-1]])
    return way[::-1]


def _outward(start: int, barred: set[int], tree: _Tree) -> Iterator[_Link]:
    """All links that lead away from a ring, nearer ones first, none to a barred ring."""
    seen = {start, *barred}
    waiting = [start]
    while waiting:
        ring = waiting.pop()
        for link in tree[ring]:
            if link.second not in seen:
                seen.add(link.second)
                waiting.append(link.second)
                yield link


# --- the walk


def _walk(rings: list[Ring], spine: list[int], tree: _Tree, lookup: STRtree, begin_near: BaseGeometry | None) -> Walk:
    first = rings[spine[0]]
    arrival = 0.0 if begin_near is None else _nearest_place(first, begin_near)
    entry = Ring.of(first.stretch(arrival, arrival + first.length))
    lines: list[Polyline] = []
    begin = 0
    if first.once is not None and not tree[spine[0]]:
        return Walk(_without_repeats(first.stretch(0.0, first.once)), entry)
    if first.once is not None and len(tree[spine[0]]) == 1:
        way = _way_on(rings, tree[spine[0]][0], first.once, lookup)
        if way is not None:
            lines += [first.stretch(0.0, first.once), way]
            begin, arrival = 1, rings[spine[1]].place_of(*way[-1])
    for place, index in enumerate(spine[begin:], begin):
        onward = spine[place + 1] if place + 1 < len(spine) else None
        way = None if onward is None else _way_on(rings, _link_between(tree, index, onward), arrival, lookup)
        done = set(spine[: place if way is None else place + 2]) - {index}
        lines.append(_tour(rings, index, arrival, done, tree))
        if way is None or onward is None:
            break  # what is left of the spine hung on this ring
        lines.append(way)
        arrival = rings[onward].place_of(*way[-1])
    return Walk(_without_repeats(np.vstack(lines)), entry)


def _link_between(tree: _Tree, first: int, second: int) -> _Link:
    return next(link for link in tree[first] if link.second == second)


def _nearest_place(ring: Ring, goal: BaseGeometry) -> float:
    x, y = shapely.get_coordinates(shapely.shortest_line(ring.line, goal))[0]
    return ring.place_of(x, y)


def _tour(rings: list[Ring], start: int, arrival: float, barred: set[int], tree: _Tree) -> Polyline:
    """Once around a ring and, on the way, around all rings that hang on it, back to where it began."""
    links = list(_outward(start, barred, tree))
    tours: dict[int, list[tuple[float, Polyline]]] = {start: []}
    for link in links:
        tours[link.second] = []
    for link in reversed(links):  # the farthest first, so that each tour is ready when its ring is gone around
        ring = rings[link.second]
        tour = _around(ring, ring.place_of(*link.b), tours[link.second])
        tours[link.first].append((rings[link.first].place_of(*link.a), tour))
    return _around(rings[start], arrival, tours[start])


def _around(ring: Ring, arrival: float, dives: list[tuple[float, Polyline]]) -> Polyline:
    """Once around the ring from `arrival`, with each dive where its link leaves the ring."""
    lines: list[Polyline] = []
    here = arrival
    for place, tour in sorted(dives, key=lambda dive: (dive[0] - arrival) % ring.length):
        there = arrival + (place - arrival) % ring.length
        lines += [ring.stretch(here, there), tour]
        here = there
    lines.append(ring.stretch(here, arrival + ring.length))
    return np.vstack(lines)


def _way_on(rings: list[Ring], link: _Link, arrival: float, lookup: STRtree) -> Polyline | None:
    """From where the walk stands on its ring straight to the next, if that is no longer than there and back.

    From the end of a middle it may be longer by the way back that it saves.
    """
    here, following = rings[link.first].at(arrival), rings[link.second]
    straight = shapely.shortest_line(shapely.Point(here), following.line)
    if straight.length <= _DIRECT * link.length + _way_back(rings[link.first]) and _is_free(straight, lookup):
        return np.asarray(shapely.get_coordinates(straight), np.float64)
    return None


def _is_free(straight: LineString, lookup: STRtree) -> bool:
    """True if the link crosses no ring between its ends, hence no wall."""
    ends = shapely.get_coordinates(straight)
    middle = LineString([ends[0] + _TRIM * (ends[1] - ends[0]), ends[1] - _TRIM * (ends[1] - ends[0])])
    return len(lookup.query(middle, predicate="intersects")) == 0


def _without_repeats(points: Polyline) -> Polyline:
    """The points without those that lie nearer than PATH_JOIN to the one kept before; the ends stay."""
    kept = [0]
    places = points.tolist()
    for index in range(1, len(places) - 1):
        if math.dist(places[index], places[kept[-1]]) > PATH_JOIN:
            kept.append(index)
    return points[[*kept, len(places) - 1]]
