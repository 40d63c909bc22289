"""What a round cutter takes away: a program's moves flattened, cut off at a depth and grown to the cutter's groove.

A straight cutter that reaches depth d takes everything above d too. So the section at a depth is the union of the
grooves of all moves that go at least that deep, and sections only shrink from the top down.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, STRtree
from shapely.geometry.base import BaseGeometry

from purfle.proof.nearness import nearest, pairs_within
from purfle.proof.plain_moves import CLOCKWISE, COUNTER
from purfle.proof.program import Reading
from purfle.proof.regions import quadrant_segments
from purfle.tolerances import GRID, GROOVE_TRUE, PROOF_FLAT

_FINER = 1.5 / math.sqrt((GROOVE_TRUE - GRID) / PROOF_FLAT)
"""The engine rounds a turn of up to one and a half steps with one chord: steps smaller by this keep it true."""

CHAIN = 80
"""Most points of a polyline that is grown in one go: longer ones are slower, and lose shape more often."""

NOTHING_DONE: NDArray[np.int64] = np.empty((0, 4), np.int64)


class Unswept(Exception):
    """The engine lost a part of a groove in every way tried: `move` of the program lies in it."""

    def __init__(self, move: int) -> None:
        super().__init__(move)
        self.move = move


@dataclass(frozen=True, slots=True)
class Way:
    """A program's way as straight bits in running order: `start` and `end` (n, 3) mm, `move` (n,) its move."""

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    move: NDArray[np.int64]
    radius: float

    @property
    def level(self) -> NDArray[np.float64]:
        """The bits seen from above, (n, 2, 2)."""
        return np.stack([self.start[:, :2], self.end[:, :2]], axis=1)

    def only(self, wanted: NDArray[np.bool_] | NDArray[np.int64]) -> "Way":
        """Some of the bits."""
        return Way(self.start[wanted], self.end[wanted], self.move[wanted], self.radius)

    def below(self, depth: float) -> "Way":
        """Only what lies at least `depth` below the top; sloping bits are cut off there."""
        z0, z1 = self.start[:, 2], self.end[:, 2]
        some = (np.minimum(z0, z1) <= -depth) & np.isfinite(self.start).all(axis=1)
        start, end = self.start[some], self.end[some]
        return Way(_cut_off(start, end, -depth), _cut_off(end, start, -depth), self.move[some], self.radius)


def _cut_off(point: NDArray[np.float64], other: NDArray[np.float64], z: float) -> NDArray[np.float64]:
    """`point`, moved towards `other` down to the height z where it lies above it."""
    high = point[:, 2] > z
    result = point.copy()
    share = (point[high, 2] - z) / (point[high, 2] - other[high, 2])
    result[high] += share[:, None] * (other[high] - point[high])
    return result


def flatten(reading: Reading, radius: float) -> Way:
    """The way of a program, arcs as polylines that stand off them by no more than the proof's flattening."""
    turns = (reading.kind == CLOCKWISE) | (reading.kind == COUNTER)
    from_centre = reading.start[:, :2] - reading.centre
    to_centre = reading.end[:, :2] - reading.centre
    r0, r1 = np.hypot(*from_centre.T), np.hypot(*to_centre.T)
    angle = np.arctan2(from_centre[:, 1], from_centre[:, 0])
    sign = np.where(reading.kind == CLOCKWISE, -1.0, 1.0)
    turned = np.mod(sign * (np.arctan2(to_centre[:, 1], to_centre[:, 0]) - angle), 2 * math.pi)
    # the machine reads an arc that ends where it starts as a full circle
    turned = np.where((reading.start[:, :2] == reading.end[:, :2]).all(axis=1), 2 * math.pi, turned) * sign
    count = np.ones(len(reading.kind), np.int64)
    with np.errstate(invalid="ignore"):
        step = 4 * np.arcsin(np.sqrt(np.minimum(1.0, PROOF_FLAT / r0) / 2))
        count[turns] = np.maximum(1, np.ceil(np.abs(turned) / step))[turns].astype(np.int64)
    move = np.repeat(np.arange(len(count)), count)
    index = np.arange(len(move)) - np.repeat(np.cumsum(count) - count, count) + 1
    share = index / count[move]
    end = reading.start[move] + share[:, None] * (reading.end - reading.start)[move]
    bent = turns[move]
    at = move[bent]
    now = angle[at] + share[bent] * turned[at]
    length = r0[at] + share[bent] * (r1 - r0)[at]
    end[bent, :2] = reading.centre[at] + length[:, None] * np.stack([np.cos(now), np.sin(now)], axis=1)
    last = index == count[move]
    end[last] = reading.end[move[last]]
    start = np.empty_like(end)
    start[1:] = end[:-1]
    first = index == 1
    start[first] = reading.start[move[first]]
    return Way(start, end, move, radius)


def sections(way: Way, depths: tuple[float, ...]) -> tuple[BaseGeometry, ...]:
    """The regions that a way takes away at each of these depths, given from the top down.

    Worked from the bottom up: what is gone at one depth is gone above it too, so each depth only adds its own bits.
    """
    found: list[BaseGeometry] = []
    region: BaseGeometry = MultiPolygon()
    done = NOTHING_DONE
    for depth in reversed(depths):
        fresh, done = once(way.below(depth), done)
        more = groove(fresh)
        if not more.is_empty:
            region = more if region.is_empty else shapely.union(region, more)
        found.append(region)
    return tuple(reversed(found))


def once(way: Way, done: NDArray[np.int64]) -> tuple[Way, NDArray[np.int64]]:
    """What of a way, seen from above, is neither done nor repeated; and what is done after that.

    Passes repeat each other depth by depth, and go back over themselves: a groove is slow where its way does.
    """
    keys = _keys(way.start[:, :2], way.end[:, :2])
    fresh = _first_of(keys, done)
    return way.only(fresh), np.concatenate([done, keys[fresh]])


@dataclass(frozen=True, slots=True)
class _Runs:
    """Runs of bits that follow each other, as polylines, and the groove of each."""

    lines: NDArray[np.object_]
    shapes: NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class _Off:
    """Places (n, 2) on the side of a groove that do not stand a radius off the way, and the bit nearest to each."""

    places: NDArray[np.float64]
    bit: NDArray[np.int64]


def groove(way: Way) -> BaseGeometry:
    """The groove of one cutter along a way, seen from above.

    The engine loses shape, or straightens bends, and says nothing. So the whole side of what it gives is measured
    against the way, and all of the way must lie in it: then nothing is missing that a radius reaches. Runs that made a
    side stand off are taken in shorter ones.
    """
    runs = _grown(_chains(way.start[:, :2], way.end[:, :2]), way.radius)
    if not len(runs.lines):
        return MultiPolygon()
    lost = 0
    for grid in (0.0, GRID / 10, GRID):
        region, off = _joined(runs, way, grid)
        while len(off.places) and len(at_fault := _at_fault(runs, off.places)):
            runs = _shorter(runs, at_fault, way.radius)
            region, off = _joined(runs, way, grid)
        held = shapely.contains_xy(region, way.end[:, 0], way.end[:, 1])
        if held.all() and not len(off.places):
            return region
        lost = int(np.flatnonzero(~held)[0] if not held.all() else off.bit[0])
    raise Unswept(int(way.move[lost]))


def _joined(runs: _Runs, way: Way, grid: float) -> tuple[BaseGeometry, _Off]:
    """The grooves of all runs as one, and where its side is not a radius off the way."""
    region = shapely.union_all(runs.shapes, grid_size=grid or None)
    shapely.prepare(region)
    points, ring = shapely.get_coordinates(shapely.get_parts(shapely.boundary(region)), return_index=True)
    # bends that were straightened show in the middles of the outline's bits
    middles = ((points[1:] + points[:-1]) / 2)[ring[1:] == ring[:-1]]
    true = GROOVE_TRUE + grid
    away, bit = nearest(middles, way.level, pairs_within(middles, way.level, way.radius + true))
    off = np.abs(away - way.radius) > true
    return region, _Off(middles[off], bit[off])


def _at_fault(runs: _Runs, places: NDArray[np.float64]) -> NDArray[np.int64]:
    """Runs of several bits whose own side passes through one of these places."""
    tree = STRtree(runs.shapes)
    found = tree.query(shapely.points(places), predicate="dwithin", distance=GROOVE_TRUE)[1]
    return np.unique(found[shapely.get_num_points(runs.lines[found]) > 2])


def _shorter(runs: _Runs, at_fault: NDArray[np.int64], radius: float) -> _Runs:
    """The same runs, some of them each in several that are as long as they are many."""
    kept = np.ones(len(runs.lines), bool)
    kept[at_fault] = False
    new = _grown(np.array([piece for line in runs.lines[at_fault] for piece in _pieces(line)], object), radius)
    return _Runs(np.concatenate([runs.lines[kept], new.lines]), np.concatenate([runs.shapes[kept], new.shapes]))


def _pieces(line: LineString) -> list[LineString]:
    points = shapely.get_coordinates(line)
    step = max(1, math.isqrt(len(points) - 1)) if len(points) > 4 else 1
    return [LineString(points[at : at + step + 1]) for at in range(0, len(points) - 1, step)]


def first_of(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.int64]:
    """Which bits with these ends are not repeated by one before, whichever way round; in order.

    Beside x and y the ends may have more that makes them differ.
    """
    return _first_of(_keys(a, b), np.empty((0, 2 * a.shape[1]), np.int64))


def _keys(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.int64]:
    """One row for each bit, the same whichever way round it is run."""
    one, other = np.rint(a / GRID).astype(np.int64), np.rint(b / GRID).astype(np.int64)
    swap = (one[:, 0] > other[:, 0]) | ((one[:, 0] == other[:, 0]) & (one[:, 1] > other[:, 1]))
    return np.where(swap[:, None], np.hstack([other, one]), np.hstack([one, other]))


def _first_of(keys: NDArray[np.int64], done: NDArray[np.int64]) -> NDArray[np.int64]:
    """Which rows are neither done nor repeated, in order: passes repeat each other depth by depth."""
    every = np.concatenate([done, keys])
    order = np.lexsort(every.T)
    fresh = np.concatenate([[True], (every[order[1:]] != every[order[:-1]]).any(axis=1)])[: len(every)]
    first = order[fresh]
    return np.sort(first[first >= len(done)]) - len(done)


def _chains(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.object_]:
    """Bits that follow each other, joined to polylines; a bit without length becomes one too (a plunge)."""
    if not len(a):
        return np.array([], object)
    joined = (a[1:] == b[:-1]).all(axis=1)
    begins = np.concatenate([[True], ~joined])
    run = np.cumsum(begins) - 1
    place = np.arange(len(a)) - np.flatnonzero(begins)[run]
    begins |= place % CHAIN == 0
    chain = np.cumsum(begins) - 1
    before = np.flatnonzero(begins)
    points = np.insert(b, before, a[before], axis=0)
    owner = np.insert(chain, before, chain[before])
    lines: NDArray[np.object_] = shapely.linestrings(points, indices=owner)
    return lines


def _grown(lines: NDArray[np.object_], radius: float) -> _Runs:
    """Polylines grown by the radius. A run whose groove cannot be right by itself is taken in shorter ones."""
    done: list[_Runs] = [_Runs(lines[:0], lines[:0])]
    while len(lines):
        shapes = shapely.buffer(lines, radius, quad_segs=math.ceil(_FINER * quadrant_segments(radius)))
        # a single bit is two half discs and a box: nothing in it can be lost
        good = (shapely.get_num_points(lines) <= 2) | _may_be_true(lines, shapes, radius)
        done.append(_Runs(lines[good], shapes[good]))
        lines = np.array([piece for line in lines[~good] for piece in _pieces(line)], object)
    return _Runs(np.concatenate([run.lines for run in done]), np.concatenate([run.shapes for run in done]))


def _may_be_true(lines: NDArray[np.object_], shapes: NDArray[np.object_], radius: float) -> NDArray[np.bool_]:
    """Which grooves are sound and no larger than 2 r L + pi r^2, as they would be if an island had been lost."""
    most = 2 * radius * shapely.length(lines) + math.pi * radius * radius + GRID
    true: NDArray[np.bool_] = shapely.is_valid(shapes) & ~shapely.is_empty(shapes) & (shapely.area(shapes) <= most)
    return true
