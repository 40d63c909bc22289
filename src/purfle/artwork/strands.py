"""One arc from its crossings to a smooth line: the points worth keeping, its corners, its segments.

A *strand* is an arc with its raw crossings and those moved ones that measure it well. Where asked to, a stretch of it
keeps to its own pixel edges, so that it cannot touch any other arc (`corridors.py`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.arc_graph import ArcGraph, Chain
from purfle.artwork.bundles import Bundle, Floats
from purfle.artwork.corridors import fewest_lines, held_to_edges
from purfle.artwork.curves import Ends, Segment, Stretch, along, fit_curves, flattened, smoothed
from purfle.artwork.single_curves import on_circle
from purfle.tolerances import SAME_PLACE

Flags = NDArray[np.bool_]

CORNER_TURN_DEG = 36.0
"""A turn over about 5 px that is sharper than this, and sharper than the turns around it, is a corner."""
CORNER_PEAK = 0.62
"""The turn 4 px before and after a corner is at most this share of its own: else it is a small round."""
FURTHEST_CORNER_PX, PER_SHARPNESS, FURTHEST_TIP_PX = 0.9, 0.9, 5.0
"""The lines fitted to both sides of a corner must meet within this of the points, or the points are taken.

Pixels cut a corner of the angle a off where it is about a pixel wide: 1 / sin(a / 2) off its tip, so the second figure
is divided by sin(a / 2); the third is the limit.
"""
JUNCTION_TRIM_PX = 2.0
"""Crossings this near to a junction mix three colours and are left out of the fit."""
LONG_PX = 14.0
"""An arc longer than this has points enough to leave some out."""
FAINT = 2.0
"""Tolerance in px for each unit of noise by contrast (own measurements, bench/tracing.py)."""
CORNER_TRIM_PX = 0.9
"""Crossings this near to a corner mix both of its sides and are left out of the fit."""
TIP_WIDTH_PX = 0.75
"""A sharp tip is measured from where it is so much wider, to either side of its middle, than where it is cut off."""
PROBE_PX, FINE = 0.5, 10
"""Corners are looked for so far apart; places are known to a tenth of a pixel."""
NEAR_PX, FAR_PX = (0.8, 1.4, 2.0), (3.4, 4.0, 4.6)
"""A direction leads from the mean of the places so far off to the mean of those further off."""
MOST_ALIKE = 60.0
"""Lines whose equations have a larger condition than this are too nearly parallel: the place would be chance."""
SIDE_PX, FEWEST_OF_SIDE = 3.5, 3
"""The stretch of each side that shows where a corner is, and the points that it takes at least."""


@dataclass(frozen=True, slots=True)
class Strand:
    """An arc ready to be fitted. `order`: where in `raw` each of `points` belongs. `tolerance` of its curve in px.

    `safe`: all its crossings, moved but held to their own pixel edges; `upright`: which of them are upright.
    """

    chain: Chain
    raw: Floats
    safe: Floats
    upright: Flags
    points: Floats
    order: NDArray[np.int64]
    tolerance: float


def strand_of(graph: ArcGraph, chain: Chain, moved: Floats, noise_and_contrast: tuple[float, float]) -> Strand:
    """The strand of an arc: upright crossings kept where it runs rather upright, level ones where rather level."""
    raw = graph.raw[chain.crossings]
    points = moved[chain.crossings]
    safe, upright = held_to_edges(raw, points), np.asarray(chain.crossings < graph.upright)
    if chain.on_frame or len(raw) < 3:
        return Strand(chain, raw, safe, upright, points, np.arange(len(raw)), 0.3)
    direction = _directions(raw, chain.closed)
    across, down = np.abs(direction[:, 0]), np.abs(direction[:, 1])
    keep = np.where(upright, down >= 0.85 * across, across >= 0.85 * down)
    keep &= _goes_on(points, direction, keep)
    if int(keep.sum()) < 2:
        keep[:] = True
    order = np.nonzero(keep)[0]
    points = points[order]
    return Strand(chain, raw, safe, upright, points, order, _tolerance(points, *noise_and_contrast))


def _directions(raw: Floats, closed: bool, reach: int = 3) -> Floats:
    count = len(raw)
    places = np.arange(count)
    if closed:
        return np.asarray(raw[(places + reach) % count] - raw[(places - reach) % count])
    return np.asarray(raw[np.minimum(places + reach, count - 1)] - raw[np.maximum(places - reach, 0)])


def _goes_on(points: Floats, direction: Floats, keep: Flags) -> Flags:
    """False for kept points that lie behind the kept one before them."""
    goes = np.ones(len(points), bool)
    kept = np.nonzero(keep)[0]
    step = points[kept[1:]] - points[kept[:-1]]
    goes[kept[1:]] = (step * direction[kept[1:]]).sum(axis=1) > 0.0
    return goes


def _tolerance(points: Floats, noise: float, contrast: float) -> float:
    """Tolerance of the fit from the jitter of the points across the arc, in px.

    Colour in lossy pictures is smeared over several pixels, so the jitter between neighbours is too small a measure
    where only colour parts two areas of one brightness: noise by contrast stands in for the rest.
    """
    least = 0.21 if noise < 0.08 else 0.29
    if len(points) < 9:
        return least + 0.05
    jitter = 1.2 * float(np.median(_off_neighbours(points)))
    return float(np.clip(0.15 + 2.6 * jitter + FAINT * noise / contrast, least, 0.8))


def _off_neighbours(points: Floats) -> Floats:
    """How far each point stands off the cubic through two neighbours to either side, as the error of one point.

    Seen across the chord of the neighbours: along a slanting border points lie at uneven distances, which is no jitter.
    """
    near = np.stack([points[:-4], points[1:-3], points[3:-1], points[4:]], axis=1) - points[2:-2, None]
    chord = near[:, 3] - near[:, 0]
    length = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), SAME_PLACE)[:, None]
    unit = chord / length
    x = np.einsum("nkx,nx->nk", near, unit)
    y = near[..., 1] * unit[:, :1] - near[..., 0] * unit[:, 1:]
    weight = np.ones_like(x)
    for one in range(4):
        for other in range(4):
            if one != other:
                apart = x[:, other] - x[:, one]
                weight[:, one] *= x[:, other] / np.where(np.abs(apart) > SAME_PLACE, apart, np.inf)
    return np.asarray(np.abs((weight * y).sum(axis=1)) / np.sqrt(1.0 + (weight * weight).sum(axis=1)))


@dataclass(frozen=True, slots=True)
class Course:
    """How an arc is to run: its strand, the junctions at both ends (None: closed), where it keeps to its own edges.

    `mixed`: the raw places of the junctions; about these its crossings mix three colours.
    """

    strand: Strand
    start: Floats | None
    end: Floats | None
    rough: Flags | None = None
    mixed: Floats | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """An arc as it was fitted: the polyline, and the curves that it was flattened from, in order."""

    points: Floats
    curves: tuple[Segment, ...]


def lines_of(courses: Sequence[Course]) -> list[Line]:
    """Each arc as a line; all of them are fitted together."""
    asked = [_stretches_of(course) for course in courses]
    fitted = iter(fit_curves([stretch for stretches in asked for stretch in stretches]))
    lines: list[Line] = []
    for stretches in asked:
        curves = [segment for _ in stretches for segment in next(fitted)]
        points = flattened(curves)
        lines.append(Line(np.asarray(points[_fresh(points)]), tuple(curves)))
    return lines


def _fresh(points: Floats) -> Flags:
    """False for points that repeat the one before them."""
    return np.concatenate([[True], (np.diff(points, axis=0) != 0.0).any(axis=1)])


def _stretches_of(course: Course) -> list[Stretch]:
    """What is to be fitted, in order along the arc. Where it keeps to its edges, lines are stretches of 2 points."""
    strand, start, end = course.strand, course.start, course.end
    if len(strand.raw) < 3 and start is None:
        return _straight_through(np.concatenate([strand.raw, strand.raw[:1]]))
    if course.rough is not None and course.rough.any():
        return _partly_rough(course, course.rough)
    if start is None or end is None:
        return _closed(strand.points, strand.tolerance)
    return _open(start, _unmixed(strand.points, course.mixed), end, strand.tolerance)


def _straight_through(points: Floats) -> list[Stretch]:
    return [Stretch(points[number : number + 2], 0.0) for number in range(len(points) - 1)]


def _partly_rough(course: Course, rough: Flags) -> list[Stretch]:
    strand, start, end = course.strand, course.start, course.end
    fixed, middles, upright, order = strand.safe, strand.raw, strand.upright, strand.order
    if start is None or end is None:
        shift = int(rough.argmax())
        around = np.append(np.roll(np.arange(len(fixed)), -shift), shift)
        order = (order - shift) % len(fixed)
        fixed, middles, upright, flags = fixed[around], middles[around], upright[around], rough[around]
    else:
        fixed, middles = (np.concatenate([start[None], one, end[None]]) for one in (fixed, middles))
        upright, flags = (np.concatenate([one[:1], one, one[-1:]]) for one in (upright, rough))
        order = order + 1
    sort = np.argsort(order, kind="stable")
    order, points = order[sort], strand.points[sort]
    stretches: list[Stretch] = []
    here, last = 0, len(fixed) - 1
    while here < last:
        there = here + 1
        while there < last and not flags[there]:
            there += 1
        if there > here + 1:
            between = points[(order > here) & (order < there)]
            stretches += _open(fixed[here], between, fixed[there], strand.tolerance, trim=0.5)
        else:
            while there < last and flags[there + 1]:
                there += 1
            run = slice(here, there + 1)
            kept = fewest_lines(fixed[run], middles[run], upright[run], strand.tolerance)
            stretches += _straight_through(fixed[run][kept])
        here = there
    return stretches


def _unmixed(points: Floats, mixed: Floats | None) -> Floats:
    """The points that are not near the raw places of the junctions at both ends: about these, pixels mix three colours.

    In the tip of a wedge the junction itself lies further on. A short arc keeps all its points.
    """
    if mixed is None or len(points) < 2 or float(along(points)[-1]) <= LONG_PX:
        return points
    away = np.hypot(*(points[:, None] - mixed).transpose(2, 0, 1)).min(axis=1)
    return np.asarray(points[away > JUNCTION_TRIM_PX])


def _open(start: Floats, points: Floats, end: Floats, tolerance: float, trim: float | None = None) -> list[Stretch]:
    length = float(along(points)[-1]) if len(points) > 1 else 0.0
    if trim is None:
        trim = JUNCTION_TRIM_PX if length > LONG_PX else 0.9
    away = np.minimum(np.hypot(*(points - start).T), np.hypot(*(points - end).T)) if len(points) else np.zeros(0)
    used = points[away > trim]
    if len(used) == 0:
        if (start != end).any():
            return _straight_through(np.stack([start, end]))
        # an arc that comes back to its own junction encloses something: it may not collapse
        middle = points[len(points) // 2] if len(points) else start + 0.25
        return _straight_through(np.stack([start, middle, end]))
    path = np.concatenate([start[None], used, end[None]])
    corners = _corners(path, closed=False, margin=3.0 if length > LONG_PX else 1.6)
    distance = along(path)
    bounds = [(0.0, start), *corners, (float(distance[-1]), end)]
    return _between(path, distance, bounds, tolerance)


def _closed(points: Floats, tolerance: float) -> list[Stretch]:
    path = np.concatenate([points, points[:1]])
    corners = _corners(path, closed=True, margin=0.0)
    distance = along(path)
    if corners:
        twice = np.concatenate([path[:-1], path])
        distance2 = np.concatenate([distance[:-1], distance + distance[-1]])
        first_at, first = corners[0]
        return _between(twice, distance2, [*corners, (first_at + float(distance[-1]), first)], tolerance)
    circle = on_circle(points, tolerance)
    if circle is not None:
        return _halves_of_circle(circle, tolerance)
    count = len(points)
    reach = min(5, max((count - 1) // 2, 1))
    around = points[np.arange(-reach, count + reach + 1) % count]
    place, direction = _smooth_place(around, reach, reach)
    path[0] = path[-1] = place
    # a closed curve starts and ends in one smooth point; it is split at least once, being no cubic with equal ends
    middle = count // 2
    half, turn = _smooth_place(path, middle)
    path[middle] = half
    first_half = Stretch(path[: middle + 1], tolerance, Ends(direction, -turn))
    return [first_half, Stretch(path[middle:], tolerance, Ends(turn, -direction))]


def _halves_of_circle(points: Floats, tolerance: float) -> list[Stretch]:
    """The points of a circle as two stretches that part it in the middle."""
    path, middle = np.concatenate([points, points[:1]]), len(points) // 2
    return [Stretch(path[: middle + 1], tolerance), Stretch(path[middle:], tolerance)]


def _smooth_place(points: Floats, place: int, reach: int = 5) -> tuple[Floats, Floats]:
    places, ways = smoothed(Bundle.of(points, np.array([len(points)])), np.array([place]), np.array([0]), reach)
    return places[0], ways[0]


def _between(path: Floats, distance: Floats, bounds: list[tuple[float, Floats]], tolerance: float) -> list[Stretch]:
    stretches: list[Stretch] = []
    for number, ((from_at, here), (to_at, there)) in enumerate(pairwise(bounds)):
        at_end = (number == 0, number == len(bounds) - 2)
        before, after = (0.05 if is_end and len(bounds) > 1 else CORNER_TRIM_PX for is_end in at_end)
        inside = (distance > from_at + before) & (distance < to_at - after)
        points = np.concatenate([here[None], path[inside], there[None]])
        fresh = _fresh(points)
        stretches.append(Stretch(points[fresh] if fresh.sum() > 1 else points[[0, -1]], tolerance))
    return stretches


def _corners(path: Floats, closed: bool, margin: float) -> list[tuple[float, Floats]]:
    """Corners in order: distance along the path, and where the lines fitted to both sides meet."""
    distance = along(path)
    total = float(distance[-1])
    if len(path) < 9 or total < 8.0:
        return []
    probe = np.arange(0.0, total, PROBE_PX)
    ahead, behind = _ways_at(path, distance, closed)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    turn = np.abs(np.degrees(np.arctan2(cross, (ahead * behind).sum(axis=1))))
    if not closed:
        turn[(probe < margin) | (probe > total - margin)] = 0.0
    return [(float(probe[n]), _corner_place(path, distance, float(probe[n]), closed)) for n in _peaks(turn, closed)]


def _ways_at(path: Floats, distance: Floats, closed: bool) -> tuple[Floats, Floats]:
    """The directions ahead of and behind each probe: from three places 0.8 to 2 px off to three 3.4 to 4.6 px off."""
    total = float(distance[-1])
    count = int(np.ceil(total / PROBE_PX))
    near, far = FINE * np.array(NEAR_PX), FINE * np.array(FAR_PX)
    room = round(far.max())
    every = round(FINE * PROBE_PX)
    places = np.arange(-room, (count - 1) * every + room + 1) / FINE
    places = places % total if closed else np.clip(places, 0.0, total)
    fine = np.stack([np.interp(places, distance, path[:, axis]) for axis in (0, 1)], axis=1)

    def moved(steps: NDArray[np.float64]) -> Floats:
        starts = [room + round(step) for step in steps]
        return np.asarray(sum(fine[start : start + (count - 1) * every + 1 : every] for start in starts))

    return moved(far) - moved(near), moved(-near) - moved(-far)


def _peaks(turn: Floats, closed: bool) -> list[int]:
    """Indices of the turns that stand out: the largest within 3 px, and well above those 4 px to either side."""
    padded = np.pad(turn, 8, mode="wrap") if closed else np.pad(turn, 8)
    found: list[int] = []
    for place in np.nonzero(turn > CORNER_TURN_DEG)[0].tolist():
        around = padded[place + 2 : place + 15]
        beside = max(float(padded[place]), float(padded[place + 16]))
        is_top = turn[place] >= around.max() and int(around.argmax()) == 6
        if is_top and beside < CORNER_PEAK * turn[place]:
            found.append(place)
    return found


def _corner_place(path: Floats, distance: Floats, at: float, closed: bool) -> Floats:
    """Where the sides of a corner meet; where the path is cut off there, if they do not tell."""
    here = np.array([np.interp(at, distance, path[:, 0]), np.interp(at, distance, path[:, 1])])
    total = float(distance[-1])
    away = [(distance - at) * side for side in (-1.0, 1.0)]
    if closed:
        away = [one % total for one in away]
    trim = CORNER_TRIM_PX
    for _ in range(2):
        sides = [_side(path, one, trim, total / 2) for one in away]
        if any(len(side) < FEWEST_OF_SIDE for side in sides):
            return here
        one, other = (side[-1] - side[0] for side in sides)
        half = float(np.arctan2(abs(one[0] * other[1] - one[1] * other[0]), one @ other)) / 2.0
        # nearer to the tip than this both sides lie within the same pixels
        trim = min(max(TIP_WIDTH_PX / np.tan(max(half, 0.1)), CORNER_TRIM_PX), FURTHEST_TIP_PX)
    place = meeting_place([(*fitted_line(side)[:2], 1.0) for side in sides])
    furthest = min(FURTHEST_CORNER_PX + PER_SHARPNESS / max(float(np.sin(half)), 0.1), FURTHEST_TIP_PX)
    return place if place is not None and np.hypot(*(place - here)) <= furthest else here


def _side(path: Floats, away: Floats, trim: float, half: float) -> Floats:
    """The points of one side of a corner, from the corner outwards: 3.5 px of it, three points at least."""
    near = np.flatnonzero((away >= trim) & (away <= min(trim + 2.0 * SIDE_PX, half)))
    if len(near) < FEWEST_OF_SIDE:
        near = np.flatnonzero((away >= trim) & (away <= half))
    order = near[np.argsort(away[near], kind="stable")]
    count = int((away[order] <= trim + SIDE_PX).sum())
    return path[order[: max(count, FEWEST_OF_SIDE)]]


def fitted_line(points: Floats) -> tuple[Floats, Floats, float]:
    """The line nearest to the points: their middle, its unit direction, and the root mean square distance."""
    middle = points.mean(axis=0)
    centred = points - middle
    values, vectors = np.linalg.eigh(centred.T @ centred)
    return middle, vectors[:, 1], float(np.sqrt(max(float(values[0]), 0.0) / len(points)))


def meeting_place(lines: list[tuple[Floats, Floats, float]]) -> Floats | None:
    """The point nearest to all lines (middle, direction, weight); None where they are too nearly parallel."""
    square, right = np.zeros((2, 2)), np.zeros(2)
    for middle, direction, weight in lines:
        across = (np.eye(2) - np.outer(direction, direction)) * weight
        square += across
        right += across @ middle
    # its condition, by the eigenvalues of a symmetrical matrix of two rows
    (a, b), (_, c) = square.tolist()
    mean, off = (a + c) / 2.0, math.hypot((a - c) / 2.0, b)
    if mean + off > MOST_ALIKE * (mean - off):
        return None
    return np.asarray(np.linalg.solve(square, right))
