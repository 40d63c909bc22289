"""One curve through each of many stretches of points: a straight line, a round arc, or a least-squares cubic.

All are fitted side by side. Which of the three it is, the points decide: a line where they show no bow, an arc where
they show nothing but one even bend, else a cubic.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from purfle.artwork.bundles import Bundle, Flags, Floats, Ints
from purfle.tolerances import SOLVABLE

LEAST_BOW_PX = 0.035
"""A bow flatter than this over its length counts as straight, and as round where it is measured off an arc."""
FEWEST_POINTS = 5
"""Fewer points than this fix no cubic better than they fix nothing."""
FEWEST_OF_ARC = 8
"""Through fewer points some arc always goes."""
WIDEST_ARC = 4.7
"""Arcs sweep no further, in radians: three quarters of a circle, whose ends still tell its centre."""
ROUNDS = 3
"""How often a cubic is fitted at most, its parameters improved each time. Two more rounds save 3 % of the curves."""
HOPELESS = 3.0
"""A first cubic that misses its points by this many tolerances is split at once: better parameters will not save it."""
ALONG_HELD = 0.05
"""A straight line or an arc may leave a held direction by this angle, in radians."""
FEW_POINTS, PULL_OF_FEW, PULL_OF_MANY = 8, 0.15, 0.02
"""How strongly the arms of a cubic are drawn to the thirds of its chord, through up to 8 points and through more."""
FLATTEST_PX = 1e-6
"""An arc that rises less over its chord has no centre that rounding would leave to be found again."""
LOPSIDED = 2.6
"""Makes the largest value of 4 t (1 - t) (1 - 2 t) about 1."""
LINE, ROUND, CUBIC = 0, 1, 2
"""What a fitted curve is."""


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


@dataclass(frozen=True, slots=True)
class Generation:
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
    def of(cls, stretches: Sequence[Stretch]) -> "Generation":
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

    def only(self, wanted: Flags) -> tuple["Generation", Flags]:
        """The stretches that are flagged (m,), and the flags (n,) of their points."""
        bundle, kept = self.bundle.only(wanted)
        owner, begin, tolerance = self.owner[wanted], self.begin[wanted], self.tolerance[wanted]
        return Generation(bundle, owner, begin, tolerance, self.held[wanted], self.ways[wanted]), kept

    def ends(self) -> Floats:
        """(m, 2, 2): the first and the last point of each stretch."""
        bundle = self.bundle
        return np.stack([bundle.points[bundle.first], bundle.points[bundle.last]], axis=1)


@dataclass(frozen=True, slots=True)
class Single:
    """One curve for each stretch (m,): its kind, and its `controls` (m, 4, 2).

    Those of a cubic are its control points; a line has its ends in the first and last, an arc a place on it in both
    others. `errors` (n,): how far each point stands off. `fits` (m,): whether all of them are near enough.
    """

    kind: Ints
    controls: Floats
    errors: Floats
    fits: Flags

    def only(self, wanted: Flags, kept: Flags) -> "Single":
        """The curves that are flagged (m,), and the errors of the points that are (n,)."""
        return Single(self.kind[wanted], self.controls[wanted], self.errors[kept], self.fits[wanted])


def fit_each(mine: Generation) -> Single:
    """The plainest curve that fits each stretch; where none does, the nearest cubic."""
    ends = mine.ends()
    kind = np.full(len(mine.owner), CUBIC)
    controls, errors = np.zeros((len(kind), 4, 2)), np.zeros(len(mine.bundle.points))
    controls[:, :2], controls[:, 2:] = ends[:, :1], ends[:, 1:]
    kind[mine.bundle.count < 3] = LINE
    for fitted, one in ((LINE, _straight), (ROUND, _round)):
        left, kept = mine.only(kind == CUBIC)
        if len(left.owner):
            does, off, through = one(left)
            number, among = np.flatnonzero(kind == CUBIC)[does], left.bundle.spread(does)
            kind[number], errors[np.flatnonzero(kept)[among]] = fitted, off[among]
            controls[number, 1], controls[number, 2] = through[does, 0], through[does, 1]
    left, kept = mine.only(kind == CUBIC)
    fits = np.ones(len(kind), bool)
    if len(left.owner):
        bent = np.flatnonzero(kind == CUBIC)
        controls[bent], errors[kept] = _best_cubics(left)
        fits[bent] = (left.bundle.count <= FEWEST_POINTS) | close_enough(left, errors[kept])
    return Single(kind, controls, errors, fits)


def close_enough(mine: Generation, errors: Floats) -> Flags:
    """No point further off than the tolerance, and the bulk of them well inside it."""
    mean = np.sqrt(mine.bundle.sums(errors**2) / mine.bundle.count)
    return np.asarray((mine.bundle.largest(errors) < mine.tolerance) & (mean < 0.5 * mine.tolerance))


def _straight(mine: Generation) -> tuple[Flags, Floats, Floats]:
    """Which stretches are straight lines (m,): no point far off the chord, no bow over the whole length.

    Also how far each point is off (n,), and both ends (m, 2, 2).
    """
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
    share = np.clip((offset * units).sum(axis=1) / bundle.spread(np.where(length > 0.0, length, 1.0)), 0.0, 1.0)
    near = (bundle.largest(np.abs(off)) < mine.tolerance) & _no_bow(bundle, off, 4.0 * share * (1.0 - share))
    return np.asarray(near & (length > 0.0) & ~(turned & mine.held).any(axis=1)), np.abs(off), ends


def _no_bow(bundle: Bundle, off: Floats, bow: Floats) -> Flags:
    """Where what is off shows no bow of this shape (n,) over a whole stretch: none that noise alone would not show."""
    weight = bundle.sums(bow**2)
    size = np.abs(bundle.sums(off * bow)) / np.where(weight > 0.0, weight, np.inf)
    between = np.maximum(bundle.count - 2, 1)
    spread = np.sqrt(np.maximum(bundle.sums(off**2) / between - (bundle.sums(off) / between) ** 2, 0.0))
    doubt = 2.5 * spread / np.sqrt(np.maximum(weight, 1.0))
    return np.asarray(size < np.maximum(LEAST_BOW_PX, doubt))


def _round(mine: Generation) -> tuple[Flags, Floats, Floats]:
    """Which stretches are arcs of circles (m,): no point far off, neither lopsided nor flatter in the middle.

    Also how far each point is off (n,), and twice the middle of the arc (m, 2, 2). The circle through both ends is
    seen in the frame of their chord, from (-half, 0) to (half, 0): centre (0, height), and v = (u^2 + v^2 - half^2) /
    2 height in all its places, so its height is one least-squares quotient.
    """
    bundle, ends = mine.bundle, mine.ends()
    chord = ends[:, 1] - ends[:, 0]
    half = np.hypot(chord[:, 0], chord[:, 1]) / 2.0
    long = np.where(half > 0.0, half, 1.0)
    unit, middle = chord / (2.0 * long)[:, None], ends.mean(axis=1)
    normal = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    offset = bundle.points - bundle.spread(middle)
    u, v = (offset * bundle.spread(unit)).sum(axis=1), (offset * bundle.spread(normal)).sum(axis=1)
    w = u * u + v * v - bundle.spread(half * half)
    bent = bundle.sums(v * w)
    height = bundle.sums(w * w) / np.where(bent == 0.0, np.inf, 2.0 * bent)
    side = np.where(bundle.sums(v) < 0.0, -1.0, 1.0)
    radius = np.hypot(half, height)
    rise = height + side * radius
    sweep = 4.0 * np.arctan2(np.abs(rise), long)
    sides, away = bundle.spread(side), v - bundle.spread(height)
    off = np.hypot(u, away) - bundle.spread(radius)
    share = np.clip(np.arctan2(u, sides * away) / bundle.spread(np.where(sweep > 0.0, sweep, 1.0)) + 0.5, 0.0, 1.0)
    does = (half > 0.0) & (bent != 0.0) & (bundle.count >= FEWEST_OF_ARC) & (sweep <= WIDEST_ARC)
    does &= np.abs(rise) > FLATTEST_PX
    does &= close_enough(mine, np.abs(off)) & _held_by_arc(mine, unit, side * sweep / 2.0)
    even, lopsided = 4.0 * share * (1.0 - share), 1.0 - 2.0 * share
    does &= _no_bow(bundle, off, LOPSIDED * even * lopsided) & _no_bow(bundle, off, even * (1.0 - 5.0 * lopsided**2))
    through = middle + rise[:, None] * normal
    return np.asarray(does), np.abs(off), np.stack([through, through], axis=1)


def on_circle(points: Floats, tolerance: float) -> Floats | None:
    """Points that go once around a circle, put on it; None where they show anything but a circle.

    Source: algebraic circle fit, x^2 + y^2 = 2 a x + 2 b y + c (Kasa 1976), exact for points on a circle.
    """
    if len(points) < FEWEST_OF_ARC:
        return None
    middle = points.mean(axis=0)
    near = points - middle
    terms = np.column_stack([2.0 * near, np.ones(len(near))])
    square = terms.T @ terms + SOLVABLE * np.eye(3)
    a, b, c = np.linalg.solve(square, terms.T @ (near**2).sum(axis=1))
    away = near - [a, b]
    distance, radius = np.hypot(away[:, 0], away[:, 1]), float(np.sqrt(max(c + a * a + b * b, 0.0)))
    off = distance - radius
    if np.abs(off).max() >= tolerance or np.sqrt((off**2).mean()) >= 0.5 * tolerance or distance.min() == 0.0:
        return None
    angle = np.arctan2(away[:, 1], away[:, 0])
    doubt = max(LEAST_BOW_PX, 2.5 * float(off.std()) * np.sqrt(2.0 / len(off)))
    for waves in (2.0, 3.0, 4.0):
        if 2.0 * np.hypot((off * np.cos(waves * angle)).mean(), (off * np.sin(waves * angle)).mean()) > doubt:
            return None
    return np.asarray(middle + [a, b] + away * (radius / distance)[:, None])


def _held_by_arc(mine: Generation, unit: Floats, turn: Floats) -> Flags:
    """Where an arc that leaves its chord by this angle keeps to the held directions of its ends."""
    sine, cosine = np.sin(turn), np.cos(turn)
    leaves = np.stack([unit[:, 0] * cosine - unit[:, 1] * sine, unit[:, 0] * sine + unit[:, 1] * cosine], axis=1)
    comes = np.stack([unit[:, 0] * cosine + unit[:, 1] * sine, unit[:, 1] * cosine - unit[:, 0] * sine], axis=1)
    along = (np.stack([leaves, -comes], axis=1) * mine.ways).sum(axis=2)
    return np.asarray((~mine.held | (along >= np.cos(ALONG_HELD))).all(axis=1))


def _best_cubics(mine: Generation) -> tuple[Floats, Floats]:
    """The least-squares cubic of each stretch (m, 4, 2) and the distance of each point from it (n,).

    Parameters are improved a few times; a cubic that no longer gets better is left at its best.
    """
    cubics, errors = np.zeros((len(mine.owner), 4, 2)), np.zeros(len(mine.bundle.points))
    least = np.full(len(mine.owner), np.inf)
    number, place, left, share = np.arange(len(least)), np.arange(len(errors)), mine, _shares_along(mine.bundle)
    arms = _Arms.of(mine)
    for _ in range(ROUNDS):
        basis = basis_of(share)
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


def basis_of(share: Floats) -> Floats:
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
    def of(cls, mine: Generation) -> "_Arms":
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

    def cubics(self, mine: Generation, basis: Floats) -> Floats:
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

    def _within_reach(self, mine: Generation, arms: Floats) -> Floats:
        """Arms (m, 2, 2) never backwards along a held direction, never overlong."""
        limit = self.length[:, None]
        size = np.maximum(np.hypot(arms[..., 0], arms[..., 1]), limit)
        shorter = limit / np.where(size > 0.0, size, 1.0)
        slid = np.minimum(np.maximum(np.einsum("max,max->ma", arms, mine.ways), 0.05 * limit), 0.9 * limit)
        return np.where(mine.held[..., None], mine.ways * slid[..., None], arms * shorter[..., None])
