"""Smooth curves through measured points: straight lines where they are straight, else cubics that join smoothly.

A *segment* is an array of 2 points (a line) or of 4 (the control points of a cubic Bezier curve). All stretches of a
picture are fitted together, one generation of halvings after the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from purfle.artwork.bundles import Bundle, Flags, Floats, Ints
from purfle.tolerances import SOLVABLE

Segment = Floats

CHORD_ERROR_PX = 0.02
"""How far a flattened curve may stand off the curve: a hundredth of a millimetre at 2 px a millimetre."""
LEAST_BOW_PX = 0.035
"""A bow flatter than this over its length counts as straight."""
FEWEST_POINTS = 5
"""Fewer points than this fix no cubic better than they fix nothing."""
DEEPEST = 14
"""Halvings of one stretch; 2 to this power is more than any picture has points."""
ROUNDS = 5
"""How often a cubic is fitted at most, its parameters improved each time; most need two or three rounds."""
HOPELESS = 3.0
"""A first cubic that misses its points by this many tolerances is split at once: better parameters will not save it."""
ALONG_HELD = 0.05
"""A straight line may leave a held direction by this angle, in radians."""
FEW_POINTS, PULL_OF_FEW, PULL_OF_MANY = 8, 0.15, 0.02
"""How strongly the arms of a cubic are drawn to the thirds of its chord, through up to 8 points and through more."""


@dataclass(frozen=True, slots=True)
class Ends:
    """Directions in which a curve must leave its first and its last point (both into the curve), or None: free."""

    start: Floats | None = None
    end: Floats | None = None


@dataclass(frozen=True, slots=True)
class Stretch:
    """Points that one smooth curve has to follow within `tolerance` px, from the first to the last."""

    points: Floats
    tolerance: float
    ends: Ends = Ends()


def along(points: Floats) -> Floats:
    """Distance travelled at each point of a polyline."""
    steps = np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1]))
    return np.concatenate([[0.0], np.cumsum(steps)])


def fit_curve(points: Floats, tolerance: float, ends: Ends) -> list[Segment]:
    """Segments from the first to the last point that stay within `tolerance` px of those between."""
    return fit_curves([Stretch(points, tolerance, ends)])[0]


def fit_curves(stretches: Sequence[Stretch]) -> list[list[Segment]]:
    """The segments of each stretch, as `fit_curve` gives them; quick for many at once."""
    found: list[list[tuple[int, Segment]]] = [[] for _ in stretches]
    left = _Generation.of(stretches)
    for depth in range(DEEPEST + 1):
        if len(left.owner) == 0:
            break
        left = _fit_generation(left, depth == DEEPEST, found)
    return [[segment for _, segment in sorted(segments, key=lambda one: one[0])] for segments in found]


@dataclass(frozen=True, slots=True)
class _Generation:
    """Stretches that are fitted together: which one each is a part of, and its first point's index there.

    `held` (m, 2): whether start and end have a direction; `ways` (m, 2, 2): these directions, zero where free.
    """

    bundle: Bundle
    owner: Ints
    begin: Ints
    tolerance: Floats
    held: Flags
    ways: Floats

    @classmethod
    def of(cls, stretches: Sequence[Stretch]) -> "_Generation":
        """The first generation: the stretches themselves."""
        count = np.array([len(stretch.points) for stretch in stretches], np.int64)
        points = np.concatenate([stretch.points for stretch in stretches]) if stretches else np.zeros((0, 2))
        held, ways = np.zeros((len(count), 2), bool), np.zeros((len(count), 2, 2))
        for number, stretch in enumerate(stretches):
            for side, way in enumerate((stretch.ends.start, stretch.ends.end)):
                if way is not None:
                    held[number, side], ways[number, side] = True, way
        tolerance = np.array([stretch.tolerance for stretch in stretches], np.float64)
        return cls(
            Bundle.of(points, count), np.arange(len(count)), np.zeros(len(count), np.int64), tolerance, held, ways
        )

    def only(self, wanted: Flags) -> tuple["_Generation", Flags]:
        """The stretches that are flagged (m,), and the flags (n,) of their points."""
        bundle, kept = self.bundle.only(wanted)
        owner, begin, tolerance = self.owner[wanted], self.begin[wanted], self.tolerance[wanted]
        return _Generation(bundle, owner, begin, tolerance, self.held[wanted], self.ways[wanted]), kept

    def ends(self) -> Floats:
        """(m, 2, 2): the first and the last point of each stretch."""
        bundle = self.bundle
        return np.stack([bundle.points[bundle.first], bundle.points[bundle.last]], axis=1)


def _fit_generation(left: _Generation, is_last: bool, found: list[list[tuple[int, Segment]]]) -> _Generation:
    """Fit each stretch: what fits goes to `found` with its first point's index, the halves of the rest are returned."""
    straight = left.bundle.count < 3
    straight[~straight] = _are_straight(left.only(~straight)[0])
    _keep(found, left.only(straight)[0], left.ends()[straight])
    bent, _ = left.only(~straight)
    if len(bent.owner) == 0:
        return bent
    cubics, errors = _best_cubics(bent)
    count, first = bent.bundle.count, bent.bundle.first
    edge = np.maximum(2, count // 6)
    split = np.clip(bent.bundle.place_of_largest(errors) - first, edge, count - 1 - edge)
    fits = (count <= FEWEST_POINTS) | (split < 2) | (split > count - 3) | _close_enough(bent, errors)
    fits |= is_last
    _keep(found, bent.only(fits)[0], cubics[fits])
    return _halved(bent.only(~fits)[0], split[~fits])


def _keep(found: list[list[tuple[int, Segment]]], mine: _Generation, segments: Floats) -> None:
    for owner, begin, segment in zip(mine.owner.tolist(), mine.begin.tolist(), segments, strict=True):
        found[owner].append((begin, segment))


def _close_enough(mine: _Generation, errors: Floats) -> Flags:
    """No point further off than the tolerance, and the bulk of them well inside it."""
    mean = np.sqrt(mine.bundle.sums(errors**2) / mine.bundle.count)
    return np.asarray((mine.bundle.largest(errors) < mine.tolerance) & (mean < 0.5 * mine.tolerance))


def _halved(mine: _Generation, split: Ints) -> _Generation:
    """Both halves of each stretch, joined smoothly where it is split; the point there is stored once in each."""
    bundle, last = mine.bundle, mine.bundle.count - 1
    at_split = bundle.first + split
    places, direction = smoothed(bundle, at_split)
    points = bundle.points.copy()
    points[at_split] = places
    twice = np.ones(len(points), np.int64)
    twice[at_split] = 2
    count = np.stack([split + 1, last - split + 1], axis=1).ravel()
    begin = np.stack([mine.begin, mine.begin + split], axis=1).ravel()
    ways, held = np.repeat(mine.ways, 2, axis=0), np.repeat(mine.held, 2, axis=0)
    held[0::2, 1] = held[1::2, 0] = True
    ways[0::2, 1], ways[1::2, 0] = -direction, direction
    owner, tolerance = np.repeat(mine.owner, 2), np.repeat(mine.tolerance, 2)
    return _Generation(Bundle.of(np.repeat(points, twice, axis=0), count), owner, begin, tolerance, held, ways)


def _are_straight(mine: _Generation) -> Flags:
    """Which stretches are straight lines (m,): no point far off the chord, no bow over the whole length."""
    bundle, ends = mine.bundle, mine.ends()
    chord = ends[:, 1] - ends[:, 0]
    length = np.hypot(chord[:, 0], chord[:, 1])
    unit = chord / np.where(length > 0.0, length, 1.0)[:, None]
    turned = (mine.ways * unit[:, None]).sum(axis=2) * [1.0, -1.0] < np.cos(ALONG_HELD)
    offset = bundle.points - bundle.spread(ends[:, 0])
    units = bundle.spread(unit)
    off = offset[:, 1] * units[:, 0] - offset[:, 0] * units[:, 1]
    # both ends lie on the chord; rounding there is no bow
    off[bundle.first] = off[bundle.last] = 0.0
    # a bow of the whole stretch: least squares of off on the parabola 4 t (1 - t)
    share = np.clip((offset * units).sum(axis=1) / bundle.spread(np.where(length > 0.0, length, 1.0)), 0.0, 1.0)
    parabola = 4.0 * share * (1.0 - share)
    weight = bundle.sums(parabola**2)
    bow = np.abs(bundle.sums(off * parabola)) / np.where(weight > 0.0, weight, np.inf)
    between = np.maximum(bundle.count - 2, 1)
    spread = np.sqrt(np.maximum(bundle.sums(off**2) / between - (bundle.sums(off) / between) ** 2, 0.0))
    doubt = 2.5 * spread / np.sqrt(np.maximum(weight, 1.0))
    near = (bundle.largest(np.abs(off)) < mine.tolerance) & (bow < np.maximum(LEAST_BOW_PX, doubt))
    return np.asarray(near & (length > 0.0) & ~(turned & mine.held).any(axis=1))


def _best_cubics(mine: _Generation) -> tuple[Floats, Floats]:
    """The least-squares cubic of each stretch (m, 4, 2) and the distance of each point from it (n,).

    Parameters are improved a few times; a cubic that no longer gets better is left at its best.
    """
    cubics, errors = np.zeros((len(mine.owner), 4, 2)), np.zeros(len(mine.bundle.points))
    least = np.full(len(mine.owner), np.inf)
    number, place, left, share = np.arange(len(least)), np.arange(len(errors)), mine, _shares_along(mine.bundle)
    arms = _Arms.of(mine)
    for _ in range(ROUNDS):
        basis = _basis(share)
        wanted = arms.cubics(left, basis)
        gap = np.einsum("kn,nkx->nx", basis, left.bundle.spread(wanted)) - left.bundle.points
        now = np.hypot(gap[:, 0], gap[:, 1])
        largest, before = left.bundle.largest(now), least[number]
        better = largest < before
        cubics[number[better]], least[number[better]] = wanted[better], largest[better]
        kept = left.bundle.spread(better)
        errors[place[kept]] = now[kept]
        again = (largest >= 0.25 * left.tolerance) & (largest <= np.minimum(0.97 * before, HOPELESS * left.tolerance))
        if not again.any():
            break
        left, kept = left.only(again)
        arms, number, place = arms.only(again), number[again], place[kept]
        share = _improved(left.bundle, wanted[again], share[kept], gap[kept])
    return cubics, errors


def _shares_along(bundle: Bundle) -> Floats:
    """How far along its stretch each point lies, 0 to 1; evenly spaced where all lie in one place."""
    distance = bundle.travelled()
    length = bundle.spread(distance[bundle.last])
    number = np.arange(len(distance)) - bundle.spread(bundle.first)
    even = number / bundle.spread(np.maximum(bundle.count - 1, 1))
    return np.asarray(np.where(length > 0.0, distance / np.where(length > 0.0, length, 1.0), even))


def at(cubic: Segment, share: Floats) -> Floats:
    """Points of a cubic at parameters from 0 to 1."""
    return np.asarray(_basis(share).T @ cubic)


def _basis(share: Floats) -> Floats:
    """(4, n): the shares that the control points of a cubic have in its points at these parameters."""
    t, s = share, 1.0 - share
    both = 3.0 * s * t
    return np.stack([s * s * s, both * s, both * t, t * t * t])


def _improved(bundle: Bundle, cubics: Floats, share: Floats, gap: Floats) -> Floats:
    """One Newton step of each parameter towards the foot of its point; ends stay, order is kept."""
    t, s = share, 1.0 - share
    first = 3.0 * (cubics[:, 1:] - cubics[:, :-1])
    second = 2.0 * (first[:, 1:] - first[:, :-1])
    slope = np.einsum("kn,nkx->nx", np.stack([s * s, 2.0 * s * t, t * t]), bundle.spread(first))
    bend = np.einsum("kn,nkx->nx", np.stack([s, t]), bundle.spread(second))
    down = np.einsum("nx,nx->n", slope, slope) + np.einsum("nx,nx->n", gap, bend)
    step = np.einsum("nx,nx->n", gap, slope) / np.where(down > 0.0, down, np.inf)
    moved = bundle.never_falling(np.minimum(np.maximum(share - step, 0.0), 1.0))
    moved[bundle.first], moved[bundle.last] = 0.0, 1.0
    return moved


@dataclass(frozen=True, slots=True)
class _Arms:
    """The unknowns of each cubic: the arms from its ends to its inner control points.

    A free arm has two unknowns, one that is held slides along its direction and leaves its second unknown at zero:
    `freedom` (m, 2, 2, 2) turns the two unknowns of each arm into the arm. All are drawn weakly to the thirds of the
    chord, which decide where few points do not, and keep the equations solvable: `pull` (m, 4, 4) and `pulled` (m, 4)
    are that part of the normal equations. `products` (m, 3, 4, 4): freedom times freedom, for the weights of the first
    arm alone, of both, of the second alone. `length` (m,) of each stretch.
    """

    freedom: Floats
    products: Floats
    pull: Floats
    pulled: Floats
    length: Floats

    @classmethod
    def of(cls, mine: _Generation) -> "_Arms":
        """The unknowns of these stretches."""
        length, ends = mine.bundle.travelled()[mine.bundle.last], mine.ends()
        third = (ends[:, 1] - ends[:, 0]) / 3.0
        held = mine.held[..., None]
        slide = np.zeros((*mine.held.shape, 2, 2))
        slide[..., 0] = mine.ways
        freedom = np.where(held[..., None], slide, np.eye(2))
        slid = np.stack([length / 3.0, np.zeros(len(length))], axis=1)[:, None]
        guess = np.where(held, slid, np.stack([third, -third], axis=1)).reshape(-1, 4)
        pull = np.where(mine.bundle.count > FEW_POINTS, PULL_OF_MANY, PULL_OF_FEW)[:, None] ** 2
        crossed = np.einsum("maxu,mbxv->maubv", freedom, freedom)
        products = np.zeros((len(length), 3, 2, 2, 2, 2))
        products[:, 0, 0, :, 0], products[:, 2, 1, :, 1] = crossed[:, 0, :, 0], crossed[:, 1, :, 1]
        products[:, 1, 0, :, 1], products[:, 1, 1, :, 0] = crossed[:, 0, :, 1], crossed[:, 1, :, 0]
        return cls(freedom, products.reshape(-1, 3, 4, 4), pull[..., None] * np.eye(4), pull * guess, length)

    def only(self, wanted: Flags) -> "_Arms":
        """The unknowns of the stretches that are flagged (m,)."""
        freedom, products, pull = self.freedom[wanted], self.products[wanted], self.pull[wanted]
        return _Arms(freedom, products, pull, self.pulled[wanted], self.length[wanted])

    def cubics(self, mine: _Generation, basis: Floats) -> Floats:
        """The cubics (m, 4, 2) that are nearest to the points by least squares; `basis` (4, n) at their parameters."""
        bundle, ends = mine.bundle, mine.ends()
        first, last = bundle.spread(ends[:, 0]), bundle.spread(ends[:, 1])
        far = (basis[2] + basis[3])[:, None]
        rest = (bundle.points - first - far * (last - first)).T
        one, other = basis[1], basis[2]
        terms = np.stack([one * one, one * other, other * other, *(one * rest), *(other * rest)])
        sums = np.add.reduceat(terms, bundle.first, axis=1)
        square = np.einsum("km,mkuv->muv", sums[:3], self.products) + self.pull
        right = np.einsum("maxu,axm->mau", self.freedom, sums[3:].reshape(2, 2, -1)).reshape(-1, 4) + self.pulled
        solved = np.linalg.solve(square, right[..., None]).reshape(-1, 2, 2)
        arms = self._within_reach(mine, np.einsum("maxu,mau->max", self.freedom, solved))
        return np.stack([ends[:, 0], ends[:, 0] + arms[:, 0], ends[:, 1] + arms[:, 1], ends[:, 1]], axis=1)

    def _within_reach(self, mine: _Generation, arms: Floats) -> Floats:
        """Arms (m, 2, 2) never backwards along a held direction, never overlong."""
        limit = self.length[:, None]
        size = np.maximum(np.hypot(arms[..., 0], arms[..., 1]), limit)
        shorter = limit / np.where(size > 0.0, size, 1.0)
        slid = np.minimum(np.maximum(np.einsum("max,max->ma", arms, mine.ways), 0.05 * limit), 0.9 * limit)
        return np.where(mine.held[..., None], mine.ways * slid[..., None], arms * shorter[..., None])


def smoothed(bundle: Bundle, places: Ints, reach: int = 5) -> tuple[Floats, Floats]:
    """One point of each stretch put on the parabola through its neighbours, and the unit direction of the curve there.

    `places` (m,): the indices of these points in the bundle; up to `reach` neighbours to either side are used.
    """
    low, high = np.maximum(bundle.first, places - reach), np.minimum(bundle.last, places + reach)
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
    """One polyline through all segments, no chord further than `CHORD_ERROR_PX` off its curve."""
    # a line is a cubic whose inner control points lie on it: it needs no point between
    thirds = np.array([[1.0, 0.0], [2.0 / 3.0, 1.0 / 3.0], [1.0 / 3.0, 2.0 / 3.0], [0.0, 1.0]])
    cubics = np.stack([thirds @ segment if len(segment) == 2 else segment for segment in segments])
    is_line = np.array([len(segment) == 2 for segment in segments])
    # the second derivative of a cubic is at most 6 x the larger second difference of its control points
    second = np.diff(cubics, n=2, axis=1)
    bend = np.hypot(second[..., 0], second[..., 1]).max(axis=1)
    count = np.maximum(1, np.ceil(np.sqrt(6.0 * bend / (8.0 * CHORD_ERROR_PX)))).astype(np.int64)
    count[is_line] = 1
    owner = np.repeat(np.arange(len(count)), count)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + 1
    line = np.einsum("kn,nkx->nx", _basis(step / count[owner]), cubics[owner])
    # ends are given, not computed: what follows starts in the very same point
    line[np.cumsum(count) - 1] = np.stack([segment[-1] for segment in segments])
    return np.concatenate([segments[0][:1], line])
