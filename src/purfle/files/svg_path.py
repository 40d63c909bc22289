"""Outlines of SVG shapes: path data and basic shapes to flattened rings, strokes to filled rings.

Curves are flattened in float64; only strokes go through skia, scaled up since it counts in float32.
Source: SVG 1.1 (second edition), chapters 8 (paths), 9 (basic shapes) and 11.4 (strokes).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
import pathops
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from manifold3d import CrossSection, FillRule
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from purfle.errors import DrawingError
from purfle.geometry.crowding import MOST_PAIRS, Edges, is_crowded, is_swept_slowly
from purfle.model.pieces import Region
from purfle.tolerances import FLAT, GRID

Matrix = NDArray[np.float64]
"""2 x 3, [linear part | shift]."""
Ring = NDArray[np.float64]
Place = tuple[float, float]
STROKED_FINELY = 2.0
"""Strokes are made so large that this is the flattening tolerance: skia then keeps to an eighth of it."""
MOST_POINTS = 500_000
"""Of all curves of a drawing, flattened. One of the open sets with most has 62,000 at 90 mm (bench/RESULTS.md)."""
MOST_AREAS = 3_000
"""Outlines of one shape whose lines cross: each bounds a region or a hole. The open sets have up to 320 in a shape."""
MOST_POINTS_A_CURVE = 400
MERGING = 8
"""So many times as many pairs of lines may cross where what they enclose is all one area: few outlines are left."""
FEW_CHORDS = 2
"""Up to so many chords a curve is divided evenly."""
LOOKED_AT = 48
"""Places of a curve in which its curvature is taken."""
INSIDE = np.arange(1, 8) / 8.0
"""Places of a chord in which it is held against its curve."""
FURTHEST = 1e6
LEAST_TURN = 0.001
CAPS = {
    "butt": pathops.LineCap.BUTT_CAP,
    "round": pathops.LineCap.ROUND_CAP,
    "square": pathops.LineCap.SQUARE_CAP,
}
JOINS = {
    "miter": pathops.LineJoin.MITER_JOIN,
    "round": pathops.LineJoin.ROUND_JOIN,
    "bevel": pathops.LineJoin.BEVEL_JOIN,
}


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is stroked, in the shape's own units."""

    width: float
    cap: str
    join: str
    miter_limit: float
    dashes: tuple[float, ...]
    dash_offset: float


class TooManyPoints(DrawingError):
    """A path has more points than are left of the budget."""


class TooCrowded(DrawingError):
    """The lines of a shape cross in more places than can be sorted out in time and memory."""


def too_crowded(where: str = "path data") -> TooCrowded:
    """The refusal of a shape whose lines lie over one another too often."""
    what = "The lines of this shape cross, or lie side by side, more often than can be sorted out"
    return TooCrowded(what, where, "Draw its outline alone, or take the shape out.")


class FlatPen(BasePen):  # type: ignore[misc]
    """Collects contours as points in float64, curves flattened within `tolerance`; notes which ones are closed.

    `curves` holds the same contours as they were drawn, as calls of a path, so that they can be stroked as they are.
    Raises TooManyPoints beyond `most`.
    """

    def __init__(self, tolerance: float, most: int = MOST_POINTS) -> None:
        super().__init__(None)
        self.tolerance = tolerance
        self.left = most
        self.contours: list[list[Place]] = []
        self.curves: list[list[tuple[str, tuple[float, ...]]]] = []
        self.closed: list[bool] = []

    def _spend(self, count: int) -> None:
        self.left -= count
        if self.left < 0:
            raise TooManyPoints("The path has too many points", "path data", "Simplify it.")

    def _moveTo(self, pt: Place) -> None:  # noqa: N802
        self._spend(1)
        self.contours.append([pt])
        self.curves.append([("moveTo", pt)])
        self.closed.append(False)

    def _lineTo(self, pt: Place) -> None:  # noqa: N802
        self._spend(1)
        self.contours[-1].append(pt)
        self.curves[-1].append(("lineTo", pt))

    def _curveToOne(self, *points: Place) -> None:  # noqa: N802
        contour = self.contours[-1]
        found = flat_curve((contour[-1], *points), self.tolerance)
        self._spend(len(found))
        contour.extend(found)
        self.curves[-1].append(("cubicTo", (*points[0], *points[1], *points[2])))

    def _qCurveToOne(self, *points: Place) -> None:  # noqa: N802
        contour = self.contours[-1]
        found = flat_bow((contour[-1], *points), self.tolerance)
        self._spend(len(found))
        contour.extend(found)
        self.curves[-1].append(("quadTo", (*points[0], *points[1])))

    def arc_to(self, points: Sequence[Place], drawn: tuple[float, ...]) -> None:
        """Add an elliptical arc: its points up to its end, and how a path draws it (radii, turn, flags, end)."""
        for point in points:
            self.lineTo(point)
        del self.curves[-1][-len(points) :]
        self.curves[-1].append(("arcTo", drawn))

    def _closePath(self) -> None:  # noqa: N802
        self.closed[-1] = True

    def _endPath(self) -> None:  # noqa: N802
        pass


def flat_bow(points: Sequence[Place], tolerance: float) -> list[Place]:
    """The points of a quadratic curve after its first one, evenly spread; none of its chords stands off by more.

    Source: a chord stands off by at most an eighth of the second derivative times the square of its share.
    """
    (ax, ay), (bx, by), (cx, cy) = points
    bend = math.hypot(ax - 2 * bx + cx, ay - 2 * by + cy)
    count = math.ceil(math.sqrt(bend / tolerance) / 2) if math.isfinite(bend) else 1
    found = []
    for k in range(1, min(count, MOST_POINTS_A_CURVE)):
        t = k / count
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        found.append((a * ax + b * bx + c * cx, a * ay + b * by + c * cy))
    return [*found, points[-1]]


def flat_curve(points: Sequence[Place], tolerance: float) -> list[Place]:
    """The points of a cubic after its first one: as few as keep every chord within `tolerance` of it.

    Chords are spread by the root of the curvature along the curve, so that all stand off alike; where a look at them
    finds one that stands off too far, they are spread evenly by the bound of the second derivative.
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = points
    bend = max(math.hypot(ax - 2 * bx + cx, ay - 2 * by + cy), math.hypot(bx - 2 * cx + dx, by - 2 * cy + dy))
    even = min(math.ceil(math.sqrt(0.75 * bend / tolerance)) if math.isfinite(bend) else 1, MOST_POINTS_A_CURVE)
    if even <= 1:
        return [points[-1]]
    cubic = np.array(points, np.float64)
    t = _spread(cubic, tolerance, even) if even > FEW_CHORDS else np.arange(even + 1) / even
    return [*map(tuple, _on_cubic(cubic, t[1:-1]).tolist()), points[-1]]


def _on_cubic(cubic: Ring, t: NDArray[np.float64]) -> Ring:
    return np.asarray(np.stack(((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3), axis=1) @ cubic)


def _spread(cubic: Ring, tolerance: float, even: int) -> NDArray[np.float64]:
    """Where on a cubic (0 to 1) chords end that all stand off alike, no further than `tolerance`; at most `even`."""
    t = (np.arange(LOOKED_AT) + 0.5) / LOOKED_AT
    first, second = 3 * np.diff(cubic, axis=0), 6 * np.diff(cubic, n=2, axis=0)
    ahead = np.stack(((1 - t) ** 2, 2 * t * (1 - t), t * t), axis=1) @ first
    bent = np.stack((1 - t, t), axis=1) @ second
    speed = np.hypot(*ahead.T)
    across = np.abs(ahead[:, 0] * bent[:, 1] - ahead[:, 1] * bent[:, 0]) / np.where(speed > 0, speed, 1.0)
    grown = np.concatenate(([0.0], np.cumsum(np.sqrt(across / (8.0 * tolerance))))) / LOOKED_AT
    count = math.ceil(grown[-1])
    while 0 < count < even:
        ends = np.interp(grown[-1] * np.arange(count + 1) / count, grown, np.arange(LOOKED_AT + 1) / LOOKED_AT)
        if _stands_off(cubic, ends) <= tolerance:
            return np.asarray(ends)
        count += max(1, count // 8)
    return np.arange(even + 1) / even


def _stands_off(cubic: Ring, ends: NDArray[np.float64]) -> float:
    """How far a cubic stands off its chords, looked at in seven places of each."""
    places = (ends[:-1, None] + np.diff(ends)[:, None] * INSIDE).ravel()
    corners = _on_cubic(cubic, ends)
    chord = np.repeat(np.diff(corners, axis=0), len(INSIDE), axis=0)
    off = _on_cubic(cubic, places) - np.repeat(corners[:-1], len(INSIDE), axis=0)
    length = np.hypot(*chord.T)
    straight = np.abs(chord[:, 0] * off[:, 1] - chord[:, 1] * off[:, 0]) / np.where(length > 0, length, 1.0)
    along = (chord * off).sum(1) / np.where(length > 0, length**2, 1.0)
    beyond = np.maximum(np.maximum(-along, along - 1.0), 0.0) * length
    return float(np.where(length > 0, np.hypot(straight, beyond), np.hypot(*off.T)).max())


class FlatArc:
    """An elliptical arc, drawn as lines within `tolerance`. Source: SVG 1.1 appendix F.6 (arc implementation notes)."""

    def __init__(self, tolerance: float, start: complex, *rest: float | complex) -> None:
        rx, ry, turn, large, sweep, end = rest
        self.tolerance = tolerance
        self.start, self.end = complex(start), complex(end)
        self.rx, self.ry = abs(float(np.real(rx))), abs(float(np.real(ry)))
        self.turn = math.radians(float(np.real(turn)))
        self.large, self.sweep = bool(large), bool(sweep)

    def draw(self, pen: FlatPen) -> None:
        """Draw the arc's points up to its end."""
        end = (self.end.real, self.end.imag)
        if self.start == self.end:
            return
        if self.rx and self.ry:
            inner = [(point.real, point.imag) for point in self._inner_points()]
            shape = (self.rx, self.ry, math.degrees(self.turn), float(self.large), float(self.sweep), *end)
            pen.arc_to([*inner, end], shape)
        else:
            pen.lineTo(end)

    def _inner_points(self) -> list[complex]:
        turn = complex(math.cos(self.turn), math.sin(self.turn))
        half = (self.start - self.end) / 2 / turn
        fit = (half.real / self.rx) ** 2 + (half.imag / self.ry) ** 2
        rx, ry = (r * max(1.0, math.sqrt(fit)) for r in (self.rx, self.ry))
        root = math.sqrt(max(0.0, 1 / fit - 1)) if fit else 0.0
        sign = 1 if self.large != self.sweep else -1
        centre = sign * root * complex(rx * half.imag / ry, -ry * half.real / rx)
        middle = centre * turn + (self.start + self.end) / 2

        def angle(z: complex) -> float:
            return math.atan2(z.imag / ry, z.real / rx)

        first, last = angle(half - centre), angle(-half - centre)
        sweep = (last - first) % math.tau if self.sweep else -((first - last) % math.tau)
        step = 2 * math.acos(max(-1.0, 1 - self.tolerance / max(rx, ry)))
        count = max(1, math.ceil(abs(sweep) / max(step, LEAST_TURN)))
        angles = (first + sweep * k / count for k in range(1, count))
        return [complex(rx * math.cos(a), ry * math.sin(a)) * turn + middle for a in angles]


def outline_of(path_data: str, tolerance: float, most: int = MOST_POINTS) -> tuple[FlatPen, bool]:
    """The contours of path data, and whether it was sound: as SVG asks, all up to the first error is kept.

    Raises: TooManyPoints for more than `most`.
    """
    pen = FlatPen(tolerance, most)
    complete = True
    try:
        parse_path(path_data, pen, arc_class=partial(FlatArc, tolerance))
    except (ValueError, IndexError, TypeError, AssertionError, OverflowError, ZeroDivisionError):
        complete = False
    sound = [within_reach(contour) for contour in pen.contours]
    pen.contours = [contour for contour, kept in zip(pen.contours, sound, strict=True) if kept]
    pen.curves = [curves for curves, kept in zip(pen.curves, sound, strict=True) if kept]
    pen.closed = [closed for closed, kept in zip(pen.closed, sound, strict=True) if kept]
    return pen, complete and all(sound)


def within_reach(contour: Sequence[tuple[float, float]]) -> bool:
    """Whether every coordinate is a number that a drawing can have."""
    points = np.array(contour)
    return bool(np.isfinite(points).all() and np.abs(points).max() < FURTHEST)


def filled(rings: Sequence[Ring], rule: str) -> Region:
    """The region that rings fill under the nonzero or evenodd rule.

    Raises: TooCrowded where their lines cross so often that sorting them out would take too long.
    """
    usable = [ring for ring in rings if len(ring) >= 3]
    if not usable:
        return Polygon()
    edges = _edges(usable)
    if is_crowded(edges, MERGING * MOST_PAIRS):
        raise too_crowded()
    if len(usable) == 1 and (simple := Polygon(usable[0])).is_valid:
        return simple
    fill = FillRule.EvenOdd if rule == "evenodd" else FillRule.NonZero
    if is_swept_slowly(edges) or (rule == "evenodd" and is_crowded(edges)):
        raise too_crowded()
    outlines = [np.asarray(ring) for ring in CrossSection(usable, fill).to_polygons() if len(ring) >= 3]
    if len(outlines) > MOST_AREAS:
        raise too_crowded()
    if not outlines:
        return Polygon()
    area = shapely.union_all(with_holes(outlines), grid_size=GRID)
    parts = [g for g in shapely.get_parts(area) if g.geom_type == "Polygon"]
    return MultiPolygon(parts) if len(parts) != 1 else parts[0]


def _edges(rings: Sequence[Ring]) -> Edges:
    """The edges of rings that end where they begin without saying so."""
    return np.concatenate([np.stack((ring, np.roll(ring, -1, axis=0)), axis=1) for ring in rings])


def with_holes(outlines: Sequence[Ring]) -> list[Region]:
    """Polygons of rings that do not cross: those that run clockwise are holes of the smallest one around them."""
    rings = shapely.polygons([shapely.linearrings(ring) for ring in outlines])
    outer = np.array([_doubled_area(ring) > 0 for ring in outlines])
    shells, holes = rings[outer], rings[~outer]
    sizes = shapely.area(shells)
    inner: dict[int, list[Polygon]] = {}
    points = shapely.point_on_surface(holes)
    held, holders = shapely.STRtree(shells).query(points, predicate="within")
    for number, hole in enumerate(holes):
        around = [k for k in holders[held == number].tolist() if sizes[k] > hole.area]
        if around:
            inner.setdefault(min(around, key=lambda k: sizes[k]), []).append(hole)
    sound = shapely.make_valid(shells, method="structure", keep_collapsed=False)
    return [
        shapely.difference(shell, shapely.union_all(shapely.make_valid(inner[k], method="structure"), grid_size=GRID))
        if k in inner
        else shell
        for k, shell in enumerate(sound)
    ]


def _doubled_area(ring: Ring) -> float:
    x, y = ring.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def placed(rings: Sequence[Sequence[tuple[float, float]] | Ring], matrix: Matrix) -> list[Ring]:
    """Rings under a 2 x 3 matrix."""
    return [np.asarray(ring, np.float64).reshape(-1, 2) @ matrix[:, :2].T + matrix[:, 2] for ring in rings]


def stroked(pen: FlatPen, stroke: Stroke, tolerance: float, most: int = MOST_POINTS) -> list[Ring]:
    """The outline of a stroke as rings to be filled nonzero, in the shape's own units, flattened within `tolerance`.

    The curves themselves are stroked, not their chords: on the outer side of a bend chords would stand off further.
    Raises: TooManyPoints for more than `most`.
    """
    scale = STROKED_FINELY / tolerance
    path = pathops.Path()
    for curves, closed in zip(pen.curves, pen.closed, strict=True):
        for call, places in curves if len(curves) > 1 else [*curves, ("lineTo", curves[0][1])]:
            _drawn(path, call, places, scale)
        if closed:
            path.close()
    dashes = [dash * scale for dash in stroke.dashes] or None
    cap, join = CAPS[stroke.cap], JOINS[stroke.join]
    path.stroke(stroke.width * scale, cap, join, stroke.miter_limit, dashes, stroke.dash_offset * scale)
    path.convertConicsToQuads(tolerance * scale / 4)
    record = RecordingPen()
    path.draw(record)
    flat = FlatPen(tolerance * scale, most)
    record.replay(flat)
    return [np.array(contour) / scale for contour in flat.contours]


def _drawn(path: pathops.Path, call: str, places: tuple[float, ...], scale: float) -> None:
    """Add one call to a path, `scale` times as large."""
    if call != "arcTo":
        getattr(path, call)(*(place * scale for place in places))
        return
    rx, ry, turn, large, sweep, x, y = places
    size = pathops.ArcSize.LARGE if large else pathops.ArcSize.SMALL
    way = pathops.Direction.CW if sweep else pathops.Direction.CCW
    path.arcTo(rx * scale, ry * scale, turn, size, way, x * scale, y * scale)


def flatness(matrix: Matrix) -> float:
    """The flattening tolerance in a shape's own units so that FLAT holds in mm."""
    return _flatness(np.ascontiguousarray(matrix[:, :2], np.float64).tobytes())


@lru_cache(maxsize=1024)
def _flatness(linear: bytes) -> float:
    """The same of a matrix's bytes: thousands of shapes stand under one matrix."""
    scale = float(np.linalg.norm(np.frombuffer(linear).reshape(2, 2), 2))
    return FLAT / scale if scale > 0 and math.isfinite(scale) else FLAT
