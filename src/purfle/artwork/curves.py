"""Smooth curves through measured points: straight lines where they are straight, else cubics that join smoothly.

A *segment* is an array of 2 points (a line) or of 4 (the control points of a cubic Bezier curve).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from purfle.tolerances import SOLVABLE

Floats = NDArray[np.float64]
Segment = Floats

CHORD_ERROR_PX = 0.02
"""How far a flattened curve may stand off the curve: a hundredth of a millimetre at 2 px a millimetre."""
LEAST_BOW_PX = 0.035
"""A bow flatter than this over its length counts as straight."""
FEWEST_POINTS = 5
"""Fewer points than this fix no cubic better than they fix nothing."""
DEEPEST = 14
"""Halvings of one stretch; 2 to this power is more than any picture has points."""


@dataclass(frozen=True, slots=True)
class Ends:
    """Directions in which a curve must leave its first and its last point (both into the curve), or None: free."""

    start: Floats | None = None
    end: Floats | None = None


def along(points: Floats) -> Floats:
    """Distance travelled at each point of a polyline."""
    steps = np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1]))
    return np.concatenate([[0.0], np.cumsum(steps)])


def fit_curve(points: Floats, tolerance: float, ends: Ends, depth: int = 0) -> list[Segment]:
    """Segments from the first to the last point that stay within `tolerance` px of those between."""
    if len(points) < 3:
        return [points[[0, -1]]]
    if _is_straight(points, tolerance, ends):
        return [points[[0, -1]]]
    cubic, errors = _best_cubic(points, ends, tolerance)
    if len(points) <= FEWEST_POINTS or depth >= DEEPEST or _close_enough(errors, tolerance):
        return [cubic]
    edge = max(2, len(points) // 6)
    split = int(np.clip(np.argmax(errors), edge, len(points) - 1 - edge))
    if split < 2 or split > len(points) - 3:
        return [cubic]
    place, direction = smoothed(points, split)
    halves = points.copy()
    halves[split] = place
    first = fit_curve(halves[: split + 1], tolerance, Ends(ends.start, -direction), depth + 1)
    return first + fit_curve(halves[split:], tolerance, Ends(direction, ends.end), depth + 1)


def _close_enough(errors: Floats, tolerance: float) -> bool:
    """No point further off than the tolerance, and the bulk of them well inside it."""
    return bool(errors.max() < tolerance and np.sqrt(np.mean(errors**2)) < 0.5 * tolerance)


def _is_straight(points: Floats, tolerance: float, ends: Ends) -> bool:
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length == 0.0:
        return False
    unit = chord / length
    for direction, sign in ((ends.start, 1.0), (ends.end, -1.0)):
        if direction is not None and float(direction @ unit) * sign < np.cos(0.05):
            return False
    offset = points[1:-1] - points[0]
    off = offset @ np.array([-unit[1], unit[0]])
    if float(np.abs(off).max()) >= tolerance:
        return False
    # a bow of the whole stretch: least squares of off on the parabola 4 t (1 - t)
    share = np.clip(offset @ unit / length, 0.0, 1.0)
    parabola = 4.0 * share * (1.0 - share)
    weight = float(parabola @ parabola)
    bow = abs(float(off @ parabola)) / weight if weight > 0.0 else 0.0
    doubt = 2.5 * float(np.std(off)) / np.sqrt(max(weight, 1.0))
    return bool(bow < max(LEAST_BOW_PX, doubt))


def _best_cubic(points: Floats, ends: Ends, tolerance: float) -> tuple[Segment, Floats]:
    """The least-squares cubic and the distance of each point from it; parameters are improved a few times."""
    distance = along(points)
    share = distance / distance[-1] if distance[-1] > 0.0 else np.linspace(0.0, 1.0, len(points))
    cubic, errors = points[[0, 0, -1, -1]], np.full(len(points), np.inf)
    arms = _Arms.of(points, float(distance[-1]), ends)
    for _ in range(5):
        wanted = arms.cubic(points, share)
        reached = at(wanted, share)
        gap = reached - points
        now = np.hypot(gap[:, 0], gap[:, 1])
        before, largest = float(errors.max()), float(now.max())
        if largest < before:
            cubic, errors = wanted, now
        if largest < 0.25 * tolerance or largest > 0.97 * before:
            break
        share = _improved(wanted, share, gap)
    return cubic, errors


def at(cubic: Segment, share: Floats) -> Floats:
    """Points of a cubic at parameters from 0 to 1."""
    t, s = share, 1.0 - share
    return np.asarray(np.array([s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t]).T @ cubic)


def _improved(cubic: Segment, share: Floats, gap: Floats) -> Floats:
    """One Newton step of each parameter towards the foot of its point; ends stay, order is kept."""
    t, s = share, 1.0 - share
    first = 3.0 * (cubic[1:] - cubic[:-1])
    second = 2.0 * (first[1:] - first[:-1])
    slope = np.array([s * s, 2.0 * s * t, t * t]).T @ first
    bend = np.array([s, t]).T @ second
    down = (slope * slope + gap * bend).sum(axis=1)
    step = (gap * slope).sum(axis=1) / np.where(down > 0.0, down, np.inf)
    moved = np.maximum.accumulate(np.minimum(np.maximum(share - step, 0.0), 1.0))
    moved[0], moved[-1] = 0.0, 1.0
    return np.asarray(moved)


@dataclass(frozen=True, slots=True)
class _Arms:
    """The unknowns of a cubic through two fixed ends: the arms from the ends to the inner control points.

    Free ends have a free arm, held ends slide theirs along their direction: `freedom` (2, 2, m) turns the m unknowns
    into both arms. Both are drawn weakly to the thirds of the chord, which decide where few points do not; `pulled`
    and `pull` are that part of the normal equations. `products`: freedom times freedom for the two arms.
    """

    ends: Ends
    freedom: Floats
    products: tuple[Floats, Floats, Floats]
    pulled: Floats
    pull: Floats
    length: float

    @classmethod
    def of(cls, points: Floats, length: float, ends: Ends) -> "_Arms":
        chord = points[-1] - points[0]
        sizes = tuple(2 if direction is None else 1 for direction in (ends.start, ends.end))
        freedom, guess, first = np.zeros((2, 2, sum(sizes))), np.zeros(sum(sizes)), 0
        for arm, direction in enumerate((ends.start, ends.end)):
            unknowns = slice(first, first + sizes[arm])
            freedom[arm, :, unknowns] = np.eye(2) if direction is None else direction[:, None]
            guess[unknowns] = (chord if arm == 0 else -chord) / 3.0 if direction is None else length / 3.0
            first += sizes[arm]
        one, other = freedom
        crossed = one.T @ other
        pull = (0.02 if len(points) > 8 else 0.15) ** 2
        products = (one.T @ one, crossed + crossed.T, other.T @ other)
        return cls(ends, freedom, products, pull * np.eye(sum(sizes)), pull * guess, length)

    def cubic(self, points: Floats, share: Floats) -> Segment:
        """The cubic that is nearest to the points at the given parameters, by least squares."""
        first, last = points[0], points[-1]
        back = 1.0 - share
        basis = np.array([3.0 * back * back * share, 3.0 * back * share * share])
        rest = points - first - (basis[1] + share**3)[:, None] * (last - first)
        weights, wanted = basis @ basis.T, basis @ rest
        own, crossed, others = self.products
        square = weights[0, 0] * own + weights[0, 1] * crossed + weights[1, 1] * others + self.pulled
        right = wanted[0] @ self.freedom[0] + wanted[1] @ self.freedom[1] + self.pull
        solved = np.linalg.solve(square, right)
        start = self._held(self.freedom[0] @ solved, self.ends.start)
        end = self._held(self.freedom[1] @ solved, self.ends.end)
        return np.array([first, first + start, last + end, last])

    def _held(self, arm: Floats, direction: Floats | None) -> Floats:
        """Never backwards along a held direction, never overlong."""
        if direction is not None:
            return direction * min(max(float(arm @ direction), 0.05 * self.length), 0.9 * self.length)
        size = math.hypot(arm[0], arm[1])
        return arm if size <= self.length else arm * (self.length / size)


def smoothed(points: Floats, place: int, reach: int = 5) -> tuple[Floats, Floats]:
    """A point of a polyline put on the parabola through its neighbours, and the unit direction of the curve there."""
    low, high = max(0, place - reach), min(len(points), place + reach + 1)
    near = points[low:high]
    middle = near.mean(axis=0)
    chord = near[-1] - near[0]
    length = float(np.hypot(*chord))
    if length == 0.0 or len(near) < 3:
        return points[place], np.array([1.0, 0.0])
    unit = chord / length
    normal = np.array([-unit[1], unit[0]])
    x, y = (near - middle) @ unit, (near - middle) @ normal
    terms = np.stack([np.ones_like(x), x, x * x][: 3 if len(near) >= 5 else 2])
    level, slope, *bend = np.linalg.solve(terms @ terms.T + SOLVABLE * np.eye(len(terms)), terms @ y).tolist()
    here = float((points[place] - middle) @ unit)
    curve = bend[0] if bend else 0.0
    direction = unit + (slope + 2.0 * curve * here) * normal
    return middle + here * unit + (level + slope * here + curve * here * here) * normal, direction / np.hypot(
        *direction
    )


def flattened(segments: list[Segment]) -> Floats:
    """One polyline through all segments, no chord further than `CHORD_ERROR_PX` off its curve."""
    parts = [segments[0][:1]]
    for segment in segments:
        if len(segment) == 2:
            parts.append(segment[1:])
            continue
        # the second derivative of a cubic is at most 6 x the larger second difference of its control points
        bend = float(np.hypot(*np.diff(segment, n=2, axis=0).T).max())
        count = max(1, int(np.ceil(np.sqrt(6.0 * bend / (8.0 * CHORD_ERROR_PX)))))
        parts.append(at(segment, np.linspace(0.0, 1.0, count + 1)[1:-1]))
        parts.append(segment[3:])
    return np.concatenate(parts)
