"""Smooth curves through measured points: straight lines where they are straight, else cubics that join smoothly.

A *segment* is an array of 2 points (a line) or of 4 (the control points of a cubic Bezier curve).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    for _ in range(5):
        wanted = _least_squares(points, share, ends)
        reached = at(wanted, share)
        now = np.hypot(*(reached - points).T)
        if now.max() < errors.max():
            cubic, errors = wanted, now
        if errors.max() < 0.25 * tolerance:
            break
        share = _improved(wanted, share, reached - points)
    return cubic, errors


def at(cubic: Segment, share: Floats) -> Floats:
    """Points of a cubic at parameters from 0 to 1."""
    t = share[:, None]
    s = 1.0 - t
    return np.asarray(s**3 * cubic[0] + 3 * s * s * t * cubic[1] + 3 * s * t * t * cubic[2] + t**3 * cubic[3])


def _improved(cubic: Segment, share: Floats, gap: Floats) -> Floats:
    """One Newton step of each parameter towards the foot of its point; ends stay, order is kept."""
    t = share[:, None]
    first = np.diff(cubic, axis=0) * 3.0
    second = np.diff(first, axis=0) * 2.0
    slope = (1 - t) ** 2 * first[0] + 2 * t * (1 - t) * first[1] + t * t * first[2]
    bend = (1 - t) * second[0] + t * second[1]
    down = (slope * slope).sum(axis=1) + (gap * bend).sum(axis=1)
    step = np.where(down > 0.0, (gap * slope).sum(axis=1) / np.where(down > 0.0, down, 1.0), 0.0)
    moved = np.maximum.accumulate(np.clip(share - step, 0.0, 1.0))
    moved[0], moved[-1] = 0.0, 1.0
    return moved


def _least_squares(points: Floats, share: Floats, ends: Ends) -> Segment:
    """The cubic through both end points that is nearest to the rest at the given parameters.

    Free ends have a free inner control point, held ends slide it along their direction. Both are drawn weakly to
    the thirds of the chord, which decides where few points do not.
    """
    t = share
    near, far = 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t
    p0, p3 = points[0], points[-1]
    chord = p3 - p0
    fixed = ((1 - t) ** 3 + near)[:, None] * p0 + (t**3 + far)[:, None] * p3
    rest = (points - fixed)[1:-1]
    near, far = near[1:-1], far[1:-1]
    start = _columns(near, ends.start)
    end = _columns(far, ends.end)
    matrix = np.concatenate([start, end], axis=1)
    length = float(along(points)[-1])
    guess = np.concatenate([_guess(chord, length, ends.start, 1.0), _guess(chord, length, ends.end, -1.0)])
    pull = 0.02 if len(points) > 8 else 0.15
    square = matrix.T @ matrix + pull**2 * np.eye(matrix.shape[1])
    right = matrix.T @ rest.T.ravel() + pull**2 * guess
    solved = np.linalg.solve(square, right)
    count = start.shape[1]
    arms = (_arm(solved[:count], ends.start, length), _arm(solved[count:], ends.end, length))
    return np.stack([p0, p0 + arms[0], p3 + arms[1], p3])


def _columns(weight: Floats, direction: Floats | None) -> Floats:
    """Columns of the system for one inner control point: x rows first, then y rows."""
    if direction is not None:
        return np.concatenate([weight * direction[0], weight * direction[1]])[:, None]
    none = np.zeros_like(weight)
    return np.stack([np.concatenate([weight, none]), np.concatenate([none, weight])], axis=1)


def _guess(chord: Floats, length: float, direction: Floats | None, sign: float) -> Floats:
    return sign * chord / 3.0 if direction is None else np.array([length / 3.0])


def _arm(solved: Floats, direction: Floats | None, length: float) -> Floats:
    """The arm from an end point to its control point: never backwards along a held direction, never overlong."""
    if direction is not None:
        return direction * float(np.clip(solved[0], 0.05 * length, 0.9 * length))
    size = float(np.hypot(*solved))
    return solved if size <= length else solved * (length / size)


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
    degree = 2 if len(near) >= 5 else 1
    here = float((points[place] - middle) @ unit)
    bent = np.polynomial.polynomial.Polynomial(np.linalg.lstsq(np.vander(x, degree + 1, True), y, rcond=None)[0])
    direction = unit + float(bent.deriv()(here)) * normal
    return middle + here * unit + float(bent(here)) * normal, direction / np.hypot(*direction)


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
