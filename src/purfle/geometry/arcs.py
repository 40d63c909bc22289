"""Lines and circular arcs in place of a polyline, never further off it than told.

A cutter follows a few hundred turns far better than ten thousand crumbs, and a drawing with true arcs can be measured.
The fit runs many stretches of the polyline side by side (numpy over all of them at once), each as far as it will
go with one segment; then neighbours that fit as one segment are joined until nothing more joins.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from purfle.geometry.pose import Polyline
from purfle.tolerances import SAME_PLACE

Whole = NDArray[np.int64]
Reals = NDArray[np.float64]
Claims = NDArray[np.bool_]
Point = tuple[float, float]

CORNER_DEG = 25.0
"""A vertex that turns more than this is a corner, kept to the bit. The coarsest offset turns 2.8 degrees a vertex."""
LARGEST_RADIUS = 2000.0
"""A flatter arc is a line to every machine, and its centre lies where rounding spoils it."""
SMALLEST_RADIUS_TOLERANCES = 20.0
"""An arc of less than so many tolerances is lost in them."""
WIDEST_SWEEP = math.radians(135.0)
"""Longer arcs are cut into equal turns of at most this: a half circle is two quarters. Readers dislike half circles."""
WIDEST_FIT = math.radians(350.0)
"""No stretch is fitted beyond this, so that its start and its end cannot be confused."""
FEWEST_CHORDS = 3
"""An arc stands for at least so many chords; through two, some arc always goes."""
STRETCH = 32
"""Vertices of one stretch fitted side by side with the others (measured: 20 to 50 are equally quick)."""
NEAR = 4
"""For every vertex it is found out at once how many chords one segment does for, up to this many."""
AT_ONCE = 6000
"""Vertices fitted in one go: enough to spread the cost of each step, few enough to stay in the cache."""
LONGEST_TRIAL = 500
"""Vertices tried to find where to begin a smooth closed polyline."""
EVEN = 3.0
"""Chords of a flattened arc are about equally long; beyond this ratio the vertex may end a straight line."""
SHORTEST_SHARE = 0.05
"""Vertices closer together than this share of the tolerance are one; the fit keeps to the rest of it."""


@dataclass(frozen=True, slots=True)
class LineSegment:
    """A straight stretch from `start` to `end`."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Its length."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True, slots=True)
class ArcSegment:
    """A part of a circle from `start` to `end` about `centre`; counter-clockwise if `ccw`. Sweeps less than 180."""

    start: Point
    end: Point
    centre: Point
    ccw: bool

    @property
    def radius(self) -> float:
        """Distance of the start from the centre."""
        return math.dist(self.start, self.centre)

    @property
    def sweep(self) -> float:
        """Angle turned through in radians, positive counter-clockwise.

        >>> round(math.degrees(ArcSegment((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), ccw=True).sweep))
        90
        """
        begin = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        finish = math.atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])
        turned = (finish - begin) % math.tau
        return turned if self.ccw else turned - math.tau

    @property
    def bulge(self) -> float:
        """Tangent of a quarter of the sweep: positive counter-clockwise. Source: DXF reference, LWPOLYLINE group 42."""
        return math.tan(self.sweep / 4)

    @property
    def length(self) -> float:
        """Its length along the arc."""
        return self.radius * abs(self.sweep)


Segment = LineSegment | ArcSegment


@dataclass(frozen=True, slots=True)
class _Course:
    """One or more polylines made ready, one behind the other.

    `ends`: where segments may end; `probes`: x and y of all vertices and chord middles, vertex i at 2i; `tolerance` at
    each vertex; `heads` and `tails`: the first and the last vertex of each polyline.
    """

    ends: Polyline
    probes: Polyline
    corners: Claims
    tolerance: Reals
    heads: Whole
    tails: Whole

    @classmethod
    def joined(cls, courses: "list[_Course]") -> "_Course":
        """Several as one; no segment will lead from one polyline to the next."""
        if len(courses) == 1:
            return courses[0]
        sizes = np.array([len(course.ends) for course in courses])
        heads = np.cumsum(sizes) - sizes
        ends, probes, corners, tolerance = (
            np.concatenate([getattr(course, name) for course in courses], axis=-1 if name == "probes" else 0)
            for name in ("ends", "probes", "corners", "tolerance")
        )
        return cls(ends, probes, corners, tolerance, heads, heads + sizes - 1)


@dataclass(frozen=True, slots=True)
class _Fitted:
    """What was found for several stretches: does one segment do, and as a line (`sag` 0) or an arc of which centre."""

    does: Claims
    is_arc: Claims
    height: Reals
    ccw: Claims


def fit_arcs(points: Polyline, tolerance: float, closed: bool = False) -> tuple[Segment, ...]:
    """Lines and arcs that stand for a polyline: every vertex and chord middle within `tolerance` (mm) of its segment.

    Segments join end to end to the bit; a closed polyline (its first point repeated or not) comes back to its start.
    Corners are segment ends and stay where they are; other segment ends may stand off the polyline, within the
    tolerance. Arcs sweep at most 135 degrees. Fewer than two different points give no segments.

    Valid: finite points, tolerance above 0; coordinates below 100 m.
    """
    return fit_all([(points, tolerance)], closed)[0]


def fit_all(lines: Sequence[tuple[Polyline, float]], closed: bool = False) -> list[tuple[Segment, ...]]:
    """The segments of each of several polylines, given with its tolerance: as `fit_arcs`, but quicker than one by one.

    Valid: as `fit_arcs`.
    """
    found: list[tuple[Segment, ...]] = [()] * len(lines)
    waiting: list[tuple[int, _Course]] = []
    for number, (points, tolerance) in enumerate(lines):
        ready = _made_ready(np.asarray(points, np.float64), tolerance, closed)
        if isinstance(ready, _Course):
            waiting.append((number, ready))
        else:
            found[number] = ready
        if waiting and (number + 1 == len(lines) or sum(len(course.ends) for _, course in waiting) > AT_ONCE):
            together = _segments_of(_Course.joined([course for _, course in waiting]))
            for (place, _), segments in zip(waiting, together, strict=True):
                found[place] = segments
            waiting = []
    return found


def _made_ready(points: Polyline, tolerance: float, closed: bool) -> _Course | tuple[Segment, ...]:
    """The course of one polyline, or its segments where there is nothing to search for."""
    line = _without_repeats(points, tolerance * SHORTEST_SHARE, closed)
    if len(line) < 2:
        return ()
    kept = tolerance * (1 - SHORTEST_SHARE)
    if not closed:
        return _course(line, kept, closed=False)
    whole = _whole_circle(line, kept)
    if whole:
        return whole
    line = np.roll(line, -_sensible_start(line, kept), axis=0)
    return _course(np.vstack([line, line[:1]]), kept, closed=True)


def flatten(segments: Sequence[Segment], tolerance: float) -> Polyline:
    """The polyline through a chain of segments: chords stand off their arcs by no more than `tolerance`.

    >>> flatten([LineSegment((0.0, 0.0), (1.0, 0.0))], 0.01).tolist()
    [[0.0, 0.0], [1.0, 0.0]]
    """
    if not segments:
        return np.empty((0, 2))
    rows: list[Point] = [segments[0].start]
    for segment in segments:
        if isinstance(segment, ArcSegment):
            rows.extend(_on_arc(segment, tolerance))
        rows.append(segment.end)
    return np.array(rows, np.float64)


def _on_arc(arc: ArcSegment, tolerance: float) -> list[Point]:
    """Places on an arc between its ends, evenly spaced."""
    radius, sweep = arc.radius, arc.sweep
    step = 2 * math.acos(max(1 - tolerance / radius, 0.0)) if radius > 0 else math.pi
    count = max(math.ceil(abs(sweep) / step), 1)
    begin = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    angles = [begin + sweep * part / count for part in range(1, count)]
    return [(arc.centre[0] + radius * math.cos(a), arc.centre[1] + radius * math.sin(a)) for a in angles]


def _without_repeats(points: Polyline, nearest: float, closed: bool) -> Polyline:
    """The polyline without vertices that lie on the one before; open ends stay."""
    if len(points) < 2:
        return points
    near = max(nearest, SAME_PLACE)
    places = [0]
    if (np.hypot(*np.diff(points, axis=0).T) > near).all():
        places = list(range(len(points)))
    else:
        rows = points.tolist()
        for place in range(1, len(rows)):
            if math.dist(rows[place], rows[places[-1]]) > near:
                places.append(place)
    if not closed and places[-1] != len(points) - 1:
        places[max(len(places) - 1, 1) :] = [len(points) - 1]
    while closed and len(places) > 1 and math.dist(points[places[-1]], points[0]) <= near:
        places.pop()
    alone = len(places) == 2 and math.dist(points[places[0]], points[places[1]]) <= near
    return points[places[:1]] if alone else points[places]


def _turns(line: Polyline, closed: bool) -> tuple[Reals, Reals]:
    """For each vertex of a polyline the angle turned there (0 at open ends) and the chord lengths before and after."""
    chords = np.diff(line, axis=0)
    before = np.vstack([chords[-1:] if closed else chords[:1], chords])
    after = np.vstack([chords, chords[:1] if closed else chords[-1:]])
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turned = np.arctan2(cross, (before * after).sum(axis=1))
    return turned, np.column_stack([np.hypot(*before.T), np.hypot(*after.T)])


def _course(line: Polyline, tolerance: float, closed: bool) -> _Course:
    """A polyline made ready for the fit; of a closed one the last point repeats the first.

    The vertices of a flattened arc lie on it, the chord middles inside it by the rise of the chord. An arc through
    vertices would use up the whole tolerance on one side, so ends within a smooth stretch move in by half the rise.
    """
    turned, lengths = _turns(line, closed)
    corners = np.abs(turned) > math.radians(CORNER_DEG)
    if not closed:
        corners[[0, -1]] = True
    shorter, longer = lengths.min(axis=1), lengths.max(axis=1)
    smooth = ~corners & (longer <= EVEN * shorter)
    half_rise = np.where(smooth, np.minimum(np.abs(turned) * shorter / 16, tolerance / 2), 0.0)
    inward = _inward(line, closed)
    ends = line + inward * half_rise[:, None]
    ends[-1] = ends[0] if closed else line[-1]
    # the last place, which no stretch looks at, keeps vertex i at 2i where courses are joined
    probes = np.empty((2, 2 * len(line)))
    probes[:, 0::2] = line.T
    probes[:, 1:-1:2] = (line[1:] + line[:-1]).T / 2
    probes[:, -1] = line[-1]
    tolerances = np.full(len(line), tolerance)
    return _Course(ends, probes, corners, tolerances, np.array([0]), np.array([len(line) - 1]))


def _inward(line: Polyline, closed: bool) -> Polyline:
    """For each vertex the direction to the inside of its bend (nothing where the polyline runs straight)."""
    chords = np.diff(line, axis=0)
    unit = chords / np.hypot(*chords.T)[:, None]
    before = np.vstack([unit[-1:] if closed else unit[:1], unit])
    after = np.vstack([unit, unit[:1] if closed else unit[-1:]])
    bend = after - before
    size = np.hypot(*bend.T)[:, None]
    inward: Polyline = np.divide(bend, size, out=np.zeros_like(bend), where=size > SAME_PLACE)
    return inward


def _segments_of(course: _Course) -> list[tuple[Segment, ...]]:
    """The segments of each polyline of a course."""
    first, last = _stretches(course, _with_fewest(course, _side_by_side(course)))
    fitted = _fit(course, first, last)
    found: list[Segment] = []
    done: list[tuple[Segment, ...]] = []
    columns = (course.ends[first], course.ends[last], fitted.is_arc, fitted.height, fitted.ccw)
    is_last = np.isin(last, course.tails)
    rows = (column.tolist() for column in (*columns, is_last))
    for (x0, y0), (x1, y1), is_arc, height, ccw, ends_here in zip(*rows, strict=True):
        if is_arc:
            found.extend(_turned((x0, y0), (x1, y1), height, ccw))
        else:
            found.append(LineSegment((x0, y0), (x1, y1)))
        if ends_here:
            done.append(tuple(found))
            found = []
    return done


def _stretches(course: _Course, breaks: Whole) -> tuple[Whole, Whole]:
    """From each break to the next of the same polyline."""
    inside = ~np.isin(breaks[:-1], course.tails)
    return breaks[:-1][inside], breaks[1:][inside]


def _turned(start: Point, end: Point, height: float, ccw: bool) -> list[Segment]:
    """The arc between two places whose centre stands `height` to the left of the chord's middle, in equal turns."""
    (x0, y0), (x1, y1) = start, end
    chord = math.dist(start, end)
    nx, ny = -(y1 - y0) / chord, (x1 - x0) / chord
    centre = ((x0 + x1) / 2 + nx * height, (y0 + y1) / 2 + ny * height)
    return _in_turns(ArcSegment(start, end, centre, ccw))


def _in_turns(arc: ArcSegment) -> list[Segment]:
    """One arc as equal turns, none wider than `WIDEST_SWEEP`."""
    sweep = arc.sweep
    count = math.ceil(abs(sweep) / WIDEST_SWEEP)
    if count == 1:
        return [arc]
    begin = math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    places = [arc.start]
    for part in range(1, count):
        angle = begin + sweep * part / count
        places.append((arc.centre[0] + arc.radius * math.cos(angle), arc.centre[1] + arc.radius * math.sin(angle)))
    places.append(arc.end)
    return [ArcSegment(a, b, arc.centre, arc.ccw) for a, b in pairwise(places)]


def _whole_circle(line: Polyline, tolerance: float) -> tuple[Segment, ...]:
    """Four quarter turns if a closed polyline is one circle, else nothing."""
    if len(line) < 3 * FEWEST_CHORDS:
        return ()
    probes = np.vstack([line, (line + np.roll(line, -1, axis=0)) / 2])
    middle = probes.mean(axis=0)
    near = probes - middle
    # Source: algebraic circle fit, x^2 + y^2 = 2 a x + 2 b y + c (Kasa 1976), exact for points on a circle
    answer, *_ = np.linalg.lstsq(np.column_stack([2 * near, np.ones(len(near))]), (near**2).sum(axis=1), rcond=None)
    radius = math.sqrt(max(answer[2] + answer[0] ** 2 + answer[1] ** 2, 0.0))
    off = np.hypot(*(near - answer[:2]).T) - radius
    if radius < SMALLEST_RADIUS_TOLERANCES * tolerance or radius > LARGEST_RADIUS or np.abs(off).max() > tolerance:
        return ()
    centre = (float(middle[0] + answer[0]), float(middle[1] + answer[1]))
    angles = np.unwrap(np.arctan2(line[:, 1] - centre[1], line[:, 0] - centre[0]))
    round_once = abs(abs(angles[-1] - angles[0]) - math.tau) < math.tau / 4
    steps = np.diff(angles)
    if not round_once or not ((steps > 0).all() or (steps < 0).all()):
        return ()
    ccw, begin = bool(steps[0] > 0), float(angles[0])
    corners = [begin + (1 if ccw else -1) * part * math.pi / 2 for part in range(4)]
    places = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in corners]
    return tuple(ArcSegment(places[i], places[(i + 1) % 4], centre, ccw) for i in range(4))


def _sensible_start(line: Polyline, tolerance: float) -> int:
    """Where to begin a closed polyline: at its first corner, else where the first segment of a trial ends."""
    around = np.vstack([line, line[:1]])
    turned, _ = _turns(around, closed=True)
    corners = np.flatnonzero(np.abs(turned[:-1]) > math.radians(CORNER_DEG))
    if len(corners):
        return int(corners[0])
    course = _course(around, tolerance, closed=True)
    first, limit = np.array([0]), np.array([min(len(line), LONGEST_TRIAL)])
    return int(_furthest(course, (first, first + 1), limit)[0]) % len(line)


def _side_by_side(course: _Course) -> Whole:
    """Breaks after every stretch was carried as far as one segment goes, again and again, all stretches at once."""
    along = np.arange(len(course.ends)) - np.repeat(course.heads, course.tails - course.heads + 1)
    halting = course.corners | (along % STRETCH == 0)
    halting[course.tails] = True
    halts: Whole = np.flatnonzero(halting)
    near = _near(course, halts)
    first, limit = _stretches(course, halts)
    found = [halts]
    while len(first):
        last = first + near[first]
        further = np.flatnonzero((last - first == NEAR) & (last < limit))
        if len(further):
            last[further] = _furthest(course, (first[further], last[further]), limit[further])
        found.append(last)
        open_yet = last < limit
        first, limit = last[open_yet], limit[open_yet]
    breaks: Whole = np.unique(np.concatenate(found))
    return breaks


def _near(course: _Course, halts: Whole) -> Whole:
    """The most chords from each vertex on that one segment does for: at most `NEAR`, and not beyond the next halt."""
    every = np.arange(len(course.ends))
    left = halts[np.minimum(np.searchsorted(halts, every, side="right"), len(halts) - 1)] - every
    near: Whole = np.clip(left, 1, NEAR)
    asked = np.flatnonzero(near > 1)
    while len(asked):
        fails = ~_fit(course, asked, asked + near[asked]).does
        near[asked[fails]] -= 1
        asked = asked[fails & (near[asked] > 1)]
    return near


def _furthest(course: _Course, reached: tuple[Whole, Whole], limit: Whole) -> Whole:
    """For each stretch the furthest vertex that one segment reaches: doubling, then halving.

    `reached`: where each begins, and how far it is known to reach. Invariant: a segment to `good` does, one to `bad`
    does not (or lies beyond the limit).
    """
    first, good = reached[0], reached[1].copy()
    bad = limit + 1
    step = np.full(len(first), 4)
    while True:
        active = np.flatnonzero(bad - good > 1)
        if not len(active):
            return good
        tried = np.minimum(good[active] + step[active], (good[active] + bad[active]) // 2)
        does = _fit(course, first[active], tried).does
        good[active[does]] = tried[does]
        bad[active[~does]] = tried[~does]
        step[active] *= 2


def _with_fewest(course: _Course, breaks: Whole) -> Whole:
    """Fewer breaks: neighbours that one segment does for are joined, odd and even pairs in turn, until none is left."""
    idle, odd = 0, 0
    kept = course.corners.copy()
    kept[course.heads] = kept[course.tails] = True
    # for each vertex the breaks beside it between which one segment did not do: only another pair is worth a fit
    failed = np.full((len(kept), 2), -1)
    while idle < 2:
        # counted along each polyline, so that it is joined as if it were alone
        begins = np.searchsorted(breaks, course.heads)
        rank = np.arange(len(breaks)) - np.repeat(begins, np.diff(begins, append=len(breaks)))
        middle = np.flatnonzero((rank % 2 == 1 - odd) & ~kept[breaks])
        between = np.column_stack([breaks[middle - 1], breaks[middle + 1]])
        asked = np.flatnonzero((failed[breaks[middle]] != between).any(axis=1))
        does = np.zeros(len(middle), np.bool_)
        if len(asked):
            does[asked] = _fit(course, between[asked, 0], between[asked, 1]).does
            failed[breaks[middle]] = between
        idle = 0 if does.any() else idle + 1
        breaks = np.delete(breaks, middle[does])
        odd = 1 - odd
    return breaks


def _fit(course: _Course, first: Whole, last: Whole) -> _Fitted:
    """One segment for each stretch of vertices `first` to `last`, all at once.

    Each stretch is seen in the frame of its chord: from (-c, 0) to (c, 0), v to the left. A circle through both ends
    has its centre at (0, k) and obeys v = q w with w = u^2 + v^2 - c^2 and q = 1 / 2k, so q is one least-squares
    quotient, and a straight line is q = 0.
    """
    sizes = 2 * (last - first) + 1
    heads = sizes.cumsum() - sizes
    whose = np.arange(len(sizes)).repeat(sizes)
    places = np.arange(len(whose)) + (2 * first - heads).take(whose)
    begin, finish = course.ends.take(first, axis=0), course.ends.take(last, axis=0)
    way, middle = finish - begin, (begin + finish) / 2
    chord = np.hypot(way[:, 0], way[:, 1])
    along = way / np.maximum(chord, SAME_PLACE)[:, None]
    x, y = (course.probes[k].take(places) - middle[:, k].take(whose) for k in (0, 1))
    ax, ay = along[:, 0].take(whose), along[:, 1].take(whose)
    u, v = x * ax + y * ay, y * ax - x * ay
    tolerance = course.tolerance[first]
    long_enough = chord > tolerance
    as_line = long_enough & (np.maximum.reduceat(np.abs(v), heads) <= tolerance)
    as_line &= _forward(u, heads) >= -tolerance
    single = last - first == 1
    worth = long_enough & ~(as_line | single) & (last - first >= FEWEST_CHORDS)
    if not worth.any():
        return _Fitted(as_line | single, worth, chord, worth)
    asked = np.flatnonzero(worth)
    among = np.flatnonzero(worth.take(whose))
    height, ccw, does = _arcs(u.take(among), v.take(among), sizes[asked], (chord[asked] / 2, tolerance[asked]))
    as_arc, heights, left = np.zeros_like(worth), np.zeros(len(worth)), np.zeros_like(worth)
    as_arc[asked], heights[asked], left[asked] = does, height, ccw
    return _Fitted(as_line | single | as_arc, as_arc, heights, left)


def _forward(along: Reals, heads: Whole) -> Reals:
    """The smallest step along a stretch from one probe to the next: below nothing where it doubles back."""
    steps = np.zeros_like(along)
    steps[1:] = along[1:] - along[:-1]
    steps[heads] = 0.0
    smallest: Reals = np.minimum.reduceat(steps, heads)
    return smallest


def _arcs(u: Reals, v: Reals, sizes: Whole, asked: tuple[Reals, Reals]) -> tuple[Reals, Claims, Claims]:
    """For each stretch the arc through its ends nearest to its probes: height of the centre, way round, does it do.

    `asked`: half the chord and the tolerance of each.
    """
    half, tolerance = asked
    heads = sizes.cumsum() - sizes
    whose = np.arange(len(sizes)).repeat(sizes)
    w = u * u + v * v - (half * half).take(whose)
    over, under = np.add.reduceat(v * w, heads), np.add.reduceat(w * w, heads)
    ccw = np.add.reduceat(v, heads) < 0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        height = under / (2 * over)
        radius = np.hypot(half, height)
    does: Claims = (radius <= LARGEST_RADIUS) & (radius >= SMALLEST_RADIUS_TOLERANCES * tolerance)
    height, radius = np.where(does, height, 0.0), np.where(does, radius, 1.0)
    rise = v - height.take(whose)
    does &= np.maximum.reduceat(np.abs(np.hypot(u, rise) - radius.take(whose)), heads) <= tolerance
    near = np.flatnonzero(does)
    if len(near):
        among = np.flatnonzero(does.take(whose))
        ends = (height[near], half[near], np.where(ccw[near], 1.0, -1.0), tolerance[near] / radius[near])
        does[near] = _run_on(u.take(among), rise.take(among), sizes[near], ends)
    return height, ccw, does


def _run_on(u: Reals, rise: Reals, sizes: Whole, ends: tuple[Reals, Reals, Reals, Reals]) -> Claims:
    """Which stretches run on around their circles, never back, from one end to the other.

    `u` and `rise`: their places seen from the centre. `ends`: height of the centre, half the chord, the way round (1 or
    -1) and the slack as an angle.
    """
    height, half, way, slack = ends
    heads = sizes.cumsum() - sizes
    whose = np.arange(len(sizes)).repeat(sizes)
    begin = np.arctan2(-height, -half)
    turned = (way.take(whose) * (np.arctan2(rise, u) - begin.take(whose))) % math.tau
    turned = np.where(turned > (math.tau - slack).take(whose), turned - math.tau, turned)
    sweep = (way * (np.arctan2(-height, half) - begin)) % math.tau
    does: Claims = (sweep <= WIDEST_FIT) & (np.maximum.reduceat(turned, heads) <= sweep + slack)
    does &= _forward(turned, heads) >= -slack
    return does
