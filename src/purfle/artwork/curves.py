"""Smooth curves through measured points: straight lines and round arcs where they are, else cubics that join smoothly.

A *segment* is an array of 2 points (a line), of 3 (an arc of a circle: its ends, and its middle between them), or of 4
(the control points of a cubic Bezier curve). All stretches of a picture are fitted together: one generation of
parts after the other, until every part fits; then neighbours that one segment fits as well are joined.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from purfle.artwork.bundles import Bundle, Flags, Floats, Ints
from purfle.artwork.single_curves import CUBIC, HOPELESS, ROUND, Generation, Single, basis_of, close_enough, fit_each
from purfle.artwork.single_curves import Ends as Ends
from purfle.artwork.single_curves import Stretch as Stretch
from purfle.tolerances import SOLVABLE

Segment = Floats

CHORD_ERROR_PX = 0.02
"""How far a flattened curve may stand off the curve: a hundredth of a millimetre at 2 px a millimetre."""
ARC_CHORD_PX, COMPASS_CHORD_PX = 0.005, 0.002
"""The same for an arc, fine enough that what writes outlines finds the very arc again; and for an arc of a quarter turn
or more, which was drawn with compasses: fine enough for the last pass of a program, which follows more closely."""
COMPASS_SWEEP = 1.5
"""About a quarter turn, in radians."""
DEEPEST = 14
"""Generations of one stretch; 2 to this power is more than any picture has points."""
FEWEST_OF_PART = 8
"""Points that a part has at least where a stretch is split into more than two."""


def along(points: Floats) -> Floats:
    """Distance travelled at each point of a polyline."""
    steps = np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1]))
    return np.concatenate([[0.0], np.cumsum(steps)])


def fit_curve(points: Floats, tolerance: float, ends: Ends) -> list[Segment]:
    """Segments from the first to the last point that stay within `tolerance` px of those between."""
    return fit_curves([Stretch(points, tolerance, ends)])[0]


def fit_curves(stretches: Sequence[Stretch]) -> list[list[Segment]]:
    """The segments of each stretch, as `fit_curve` gives them; quick for many at once."""
    if not stretches:
        return []
    whole = Generation.of(stretches)
    left, done = whole, []
    for depth in range(DEEPEST + 1):
        single, count = fit_each(left), left.bundle.count
        edge = np.maximum(2, count // 6)
        split = np.clip(left.bundle.place_of_largest(single.errors) - left.bundle.first, edge, count - 1 - edge)
        fits = single.fits | (split < 2) | (split > count - 3) | (depth == DEEPEST)
        kept, points = left.only(fits)
        done.append(_Pieces.of(kept, single.only(fits, points)))
        if fits.all():
            break
        parts = _number_of_parts(left, single.errors)
        left = _parted(left.only(~fits)[0], split[~fits], parts[~fits])
    pieces = _joined(whole, _Pieces.together(done))
    found: list[list[Segment]] = [[] for _ in stretches]
    for owner, kind, controls in zip(pieces.owner.tolist(), pieces.kind.tolist(), pieces.controls, strict=True):
        found[owner].append(controls if kind == CUBIC else controls[[0, 1, 3] if kind == ROUND else [0, 3]])
    return found


@dataclass(frozen=True, slots=True)
class _Pieces:
    """Parts of stretches (m,), in order: whose they are, the indices of their first and last point there, what fits.

    `ends`, `held`, `ways`: as of a generation. `parted`: whether this and the next one were found not to be one.
    """

    owner: Ints
    begin: Ints
    end: Ints
    ends: Floats
    held: Flags
    ways: Floats
    kind: Ints
    controls: Floats
    parted: Flags

    @classmethod
    def of(cls, mine: Generation, single: Single) -> "_Pieces":
        end = mine.begin + mine.bundle.count - 1
        parted = np.zeros(len(end), bool)
        return cls(mine.owner, mine.begin, end, mine.ends(), mine.held, mine.ways, single.kind, single.controls, parted)

    @classmethod
    def together(cls, some: "list[_Pieces]") -> "_Pieces":
        """All of them, in order."""
        every = cls(*(np.concatenate([getattr(one, name) for one in some]) for name in cls.__slots__))
        return every.only(np.lexsort((every.begin, every.owner)))

    def only(self, wanted: Ints) -> "_Pieces":
        """The pieces of these numbers."""
        return _Pieces(*(getattr(self, name)[wanted] for name in self.__slots__))

    def pairs(self, odd: int) -> Ints:
        """The first of each two neighbours that are to be tried; odd and even ones in turn, counted in each stretch."""
        rank = np.arange(len(self.owner)) - np.searchsorted(self.owner, self.owner)
        same = np.append(self.owner[1:] == self.owner[:-1], False)
        return np.flatnonzero(same & (rank % 2 == odd) & ~self.parted)


def _joined(whole: Generation, pieces: _Pieces) -> _Pieces:
    """Neighbours that one segment fits are one, odd and even pairs in turn, until none is left."""
    idle, odd = 0, 0
    while idle < 2:
        first = pieces.pairs(odd)
        odd, idle = 1 - odd, idle + 1
        if len(first) == 0:
            continue
        both = _as_one(whole, pieces, first)
        single = fit_each(both)
        does = close_enough(both, single.errors)
        parted = pieces.parted.copy()
        parted[first[~does]] = True
        if does.any():
            idle = 0
            pieces = _with(pieces, first[does], single.only(does, both.bundle.spread(does)), parted)
        else:
            pieces = replace(pieces, parted=parted)
    return pieces


def _as_one(whole: Generation, pieces: _Pieces, first: Ints) -> Generation:
    """Each of these pieces and the next one as one stretch of the points between, as they were measured."""
    owner, begin, end = pieces.owner[first], pieces.begin[first], pieces.end[first + 1]
    count = end - begin + 1
    start = np.cumsum(count) - count
    index = np.arange(int(count.sum())) + np.repeat(whole.bundle.first[owner] + begin - start, count)
    points = whole.bundle.points[index]
    points[start], points[start + count - 1] = pieces.ends[first, 0], pieces.ends[first + 1, 1]
    held = np.stack([pieces.held[first, 0], pieces.held[first + 1, 1]], axis=1)
    ways = np.stack([pieces.ways[first, 0], pieces.ways[first + 1, 1]], axis=1)
    return Generation(Bundle.of(points, count), owner, begin, whole.tolerance[owner], held, ways)


def _with(pieces: _Pieces, first: Ints, single: Single, parted: Flags) -> _Pieces:
    """The pieces with these and the next ones joined; what lies beside a joined one is tried again."""
    end, ends, held, ways = pieces.end.copy(), pieces.ends.copy(), pieces.held.copy(), pieces.ways.copy()
    kind, controls = pieces.kind.copy(), pieces.controls.copy()
    end[first], ends[first, 1] = pieces.end[first + 1], pieces.ends[first + 1, 1]
    held[first, 1], ways[first, 1] = pieces.held[first + 1, 1], pieces.ways[first + 1, 1]
    kind[first], controls[first] = single.kind, single.controls
    parted[first] = False
    parted[np.maximum(first - 1, 0)] = False
    changed = replace(pieces, end=end, ends=ends, held=held, ways=ways, kind=kind, controls=controls, parted=parted)
    return changed.only(np.delete(np.arange(len(end)), first + 1))


def _number_of_parts(mine: Generation, errors: Floats) -> Ints:
    """Into how many parts a stretch is split at once: two, where it is far off as many as cubics are likely to need.

    The error of a cubic falls with the fourth power of its length; what is split too often is joined again.
    """
    times = mine.bundle.largest(errors) / np.maximum(mine.tolerance, SOLVABLE)
    wanted = np.ceil(np.where(times < HOPELESS, 1.0, times) ** 0.25).astype(np.int64)
    return np.asarray(np.maximum(np.minimum(wanted, mine.bundle.count // FEWEST_OF_PART), 2))


def _parted(mine: Generation, split: Ints, parts: Ints) -> Generation:
    """The parts of each stretch, joined smoothly where it is split; the point there is stored once in each.

    Two parts meet in the point `split`, more are of one length.
    """
    bundle, last = mine.bundle, mine.bundle.count - 1
    of = np.repeat(np.arange(len(parts)), parts - 1)
    step = np.arange(len(of)) - np.repeat(np.cumsum(parts - 1) - (parts - 1), parts - 1) + 1
    place = np.where(parts[of] == 2, split[of], last[of] * step // parts[of])
    at_split = bundle.first[of] + place
    places, direction = smoothed(bundle, at_split, of)
    points = bundle.points.copy()
    points[at_split] = places
    twice = np.ones(len(points), np.int64)
    twice[at_split] = 2
    whose = np.repeat(np.arange(len(parts)), parts)
    inner = np.ones((len(whose), 2), bool)
    ends = np.cumsum(parts)
    inner[ends - parts, 0] = inner[ends - 1, 1] = False
    start, end = np.zeros(len(whose), np.int64), last[whose]
    start[inner[:, 0]], end[inner[:, 1]] = place, place
    held, ways = mine.held[whose] | inner, mine.ways[whose]
    ways[inner[:, 1], 1], ways[inner[:, 0], 0] = -direction, direction
    together = Bundle.of(np.repeat(points, twice, axis=0), end - start + 1)
    return Generation(together, mine.owner[whose], mine.begin[whose] + start, mine.tolerance[whose], held, ways)


def at(cubic: Segment, share: Floats) -> Floats:
    """Points of a cubic at parameters from 0 to 1."""
    return np.asarray(basis_of(share).T @ cubic)


def smoothed(bundle: Bundle, places: Ints, of: Ints, reach: int = 5) -> tuple[Floats, Floats]:
    """Points of stretches put on the parabola through their neighbours, and the unit directions of the curve there.

    `places` (n,): the indices of these points in the bundle; up to `reach` neighbours to either side are used. `of`
    (n,): the numbers of their stretches.
    """
    low, high = np.maximum(bundle.first[of], places - reach), np.minimum(bundle.last[of], places + reach)
    points, here = bundle.points, bundle.points[places]
    index = places[:, None] + np.arange(-reach, reach + 1)
    used = ((index >= low[:, None]) & (index <= high[:, None])).astype(np.float64)
    near, count = points[np.clip(index, 0, len(points) - 1)], high - low + 1
    middle = (near * used[..., None]).sum(axis=1) / count[:, None]
    chord = points[high] - points[low]
    length = np.hypot(chord[:, 0], chord[:, 1])
    shown = (length > 0.0) & (count >= 3)
    unit = np.where(shown[:, None], chord / np.where(shown, length, 1.0)[:, None], [1.0, 0.0])
    normal = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    offset = near - middle[:, None]
    x, y = (np.einsum("mkx,mx->mk", offset, way) for way in (unit, normal))
    # fewer than five points show no bend
    terms = np.stack([np.ones_like(x), x, np.where(count[:, None] >= 5, x * x, 0.0)], axis=1) * used[:, None]
    square = np.einsum("mik,mjk->mij", terms, terms) + SOLVABLE * np.eye(3)
    solved = np.linalg.solve(square, np.einsum("mik,mk->mi", terms, y)[..., None])[..., 0]
    level, slope, curve = solved.T[..., None]
    across = ((here - middle) * unit).sum(axis=1)[:, None]
    direction = unit + (slope + 2.0 * curve * across) * normal
    direction = direction / np.hypot(direction[:, 0], direction[:, 1])[:, None]
    put = middle + across * unit + (level + slope * across + curve * across * across) * normal
    return np.where(shown[:, None], put, here), np.where(shown[:, None], direction, unit)


def flattened(segments: list[Segment]) -> Floats:
    """One polyline through all segments, no chord further than `CHORD_ERROR_PX` off its curve (of an arc far less)."""
    # a line is a cubic whose inner control points lie on it: it needs no point between
    thirds = np.array([[1.0, 0.0], [2.0 / 3.0, 1.0 / 3.0], [1.0 / 3.0, 2.0 / 3.0], [0.0, 1.0]])
    cubics = np.stack([segment if len(segment) == 4 else thirds @ segment[[0, -1]] for segment in segments])
    size = np.array([len(segment) for segment in segments])
    # the second derivative of a cubic is at most 6 x the larger second difference of its control points
    second = np.diff(cubics, n=2, axis=1)
    bend = np.hypot(second[..., 0], second[..., 1]).max(axis=1)
    count = np.maximum(1, np.ceil(np.sqrt(6.0 * bend / (8.0 * CHORD_ERROR_PX)))).astype(np.int64)
    count[size == 2] = 1
    arcs = {number: _Turn.of(segments[number]) for number in np.flatnonzero(size == 3).tolist()}
    for number, arc in arcs.items():
        count[number] = arc.chords
    owner = np.repeat(np.arange(len(count)), count)
    first = np.cumsum(count) - count
    step = np.arange(len(owner)) - np.repeat(first, count) + 1
    line = np.einsum("kn,nkx->nx", basis_of(step / count[owner]), cubics[owner])
    for number, arc in arcs.items():
        line[first[number] : first[number] + count[number]] = arc.places()
    # ends are given, not computed: what follows starts in the very same point
    line[first + count - 1] = np.stack([segment[-1] for segment in segments])
    return np.concatenate([segments[0][:1], line])


@dataclass(frozen=True, slots=True)
class _Turn:
    """An arc by its centre, the place where it starts seen from there, its radius and its turn (positive: y to x)."""

    centre: Floats
    start: Floats
    radius: float
    sweep: float

    @classmethod
    def of(cls, arc: Segment) -> "_Turn":
        """The arc through three points, the second one its middle."""
        middle = arc[[0, 2]].mean(axis=0)
        half = (arc[2] - arc[0]) / 2.0
        rise = arc[1] - middle
        height = float(np.hypot(*rise))
        wide = float(np.hypot(*half))
        radius = (wide * wide + height * height) / (2.0 * height)
        centre = middle + rise * ((height - radius) / height)
        turn = float(half[0] * rise[1] - half[1] * rise[0])
        return cls(centre, arc[0] - centre, radius, -np.sign(turn) * 4.0 * np.arctan2(height, wide))

    @property
    def chords(self) -> int:
        """How many chords stand for it."""
        off = COMPASS_CHORD_PX if abs(self.sweep) > COMPASS_SWEEP else ARC_CHORD_PX
        step = 2.0 * np.arccos(max(1.0 - off / self.radius, 0.0))
        return max(int(np.ceil(abs(self.sweep) / step)), 2)

    def places(self) -> Floats:
        """Evenly spaced places on it, the start left out."""
        angle = self.sweep * np.arange(1, self.chords + 1) / self.chords
        sine, cosine = np.sin(angle), np.cos(angle)
        x, y = self.start
        return np.asarray(self.centre + np.stack([x * cosine - y * sine, x * sine + y * cosine], axis=1))
