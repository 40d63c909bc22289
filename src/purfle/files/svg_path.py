"""Outlines of SVG shapes: path data and basic shapes to flattened rings, strokes to filled rings.

Curves are flattened in float64; only strokes go through skia, scaled up since it counts in float32.
Source: SVG 1.1 (second edition), chapters 8 (paths), 9 (basic shapes) and 11.4 (strokes).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import pathops
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from manifold3d import CrossSection, FillRule
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from purfle.model.pieces import Region
from purfle.tolerances import FLAT, GRID

Matrix = NDArray[np.float64]
"""2 x 3, [linear part | shift]."""
Ring = NDArray[np.float64]
STROKE_SCALE = 1024.0
"""Strokes are made this much larger and scaled back: float32 then keeps a ten-thousandth of a mm at table size."""
MOST_POINTS_A_CURVE = 400
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


class FlatPen(BasePen):  # type: ignore[misc]
    """Collects contours as points in float64, curves flattened within `tolerance`; notes which ones are closed."""

    def __init__(self, tolerance: float) -> None:
        super().__init__(None)
        self.tolerance = tolerance
        self.contours: list[list[tuple[float, float]]] = []
        self.closed: list[bool] = []

    def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self.contours.append([pt])
        self.closed.append(False)

    def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self.contours[-1].append(pt)

    def _curveToOne(self, *points: tuple[float, float]) -> None:  # noqa: N802
        cubic = np.array([self.contours[-1][-1], *points], np.float64)
        bend = float(np.abs(np.diff(cubic, n=2, axis=0)).sum(1).max())
        count = math.ceil(math.sqrt(0.75 * bend / self.tolerance)) if math.isfinite(bend) else 1
        t = np.linspace(0, 1, max(1, min(count, MOST_POINTS_A_CURVE)) + 1)[1:, None]
        a, b, c, d = cubic
        curve = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
        self.contours[-1].extend(map(tuple, curve.tolist()))

    def _closePath(self) -> None:  # noqa: N802
        self.closed[-1] = True

    def _endPath(self) -> None:  # noqa: N802
        pass


class FlatArc:
    """An elliptical arc, drawn as lines within `tolerance`. Source: SVG 1.1 appendix F.6 (arc implementation notes)."""

    def __init__(self, tolerance: float, start: complex, *rest: float | complex) -> None:
        rx, ry, turn, large, sweep, end = rest
        self.tolerance = tolerance
        self.start, self.end = complex(start), complex(end)
        self.rx, self.ry = abs(float(np.real(rx))), abs(float(np.real(ry)))
        self.turn = math.radians(float(np.real(turn)))
        self.large, self.sweep = bool(large), bool(sweep)

    def draw(self, pen: BasePen) -> None:
        """Draw the arc's points up to its end."""
        if self.start == self.end:
            return
        if self.rx and self.ry:
            for point in self._inner_points():
                pen.lineTo((point.real, point.imag))
        pen.lineTo((self.end.real, self.end.imag))

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
        angles = first + sweep * np.arange(1, count) / count
        return [complex(rx * math.cos(a), ry * math.sin(a)) * turn + middle for a in angles]


def outline_of(path_data: str, tolerance: float) -> tuple[FlatPen, bool]:
    """The contours of path data, and whether it was sound: as SVG asks, all up to the first error is kept."""
    pen = FlatPen(tolerance)
    complete = True
    try:
        parse_path(path_data, pen, arc_class=partial(FlatArc, tolerance))
    except (ValueError, IndexError, TypeError, AssertionError, OverflowError, ZeroDivisionError):
        complete = False
    sound = [within_reach(contour) for contour in pen.contours]
    pen.contours = [contour for contour, kept in zip(pen.contours, sound, strict=True) if kept]
    pen.closed = [closed for closed, kept in zip(pen.closed, sound, strict=True) if kept]
    return pen, complete and all(sound)


def within_reach(contour: Sequence[tuple[float, float]]) -> bool:
    """Whether every coordinate is a number that a drawing can have."""
    points = np.array(contour)
    return bool(np.isfinite(points).all() and np.abs(points).max() < FURTHEST)


def filled(rings: Sequence[Ring], rule: str) -> Region:
    """The region that rings fill under the nonzero or evenodd rule."""
    usable = [ring for ring in rings if len(ring) >= 3]
    if not usable:
        return Polygon()
    if len(usable) == 1 and (simple := Polygon(usable[0])).is_valid:
        return simple
    fill = FillRule.EvenOdd if rule == "evenodd" else FillRule.NonZero
    outlines = [np.asarray(ring) for ring in CrossSection(usable, fill).to_polygons() if len(ring) >= 3]
    if not outlines:
        return Polygon()
    area = shapely.union_all(with_holes(outlines), grid_size=GRID)
    parts = [g for g in shapely.get_parts(area) if g.geom_type == "Polygon"]
    return MultiPolygon(parts) if len(parts) != 1 else parts[0]


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


def stroked(pen: FlatPen, stroke: Stroke, tolerance: float) -> list[Ring]:
    """The outline of a stroke as rings to be filled nonzero, in the shape's own units."""
    path = pathops.Path()
    target = path.getPen()
    for contour, closed in zip(pen.contours, pen.closed, strict=True):
        target.moveTo(_scaled(contour[0]))
        for point in contour[1:] or contour[:1]:
            target.lineTo(_scaled(point))
        target.closePath() if closed else target.endPath()
    dashes = [dash * STROKE_SCALE for dash in stroke.dashes] or None
    path.stroke(
        stroke.width * STROKE_SCALE,
        CAPS[stroke.cap],
        JOINS[stroke.join],
        stroke.miter_limit,
        dashes,
        stroke.dash_offset * STROKE_SCALE,
    )
    path.convertConicsToQuads(tolerance * STROKE_SCALE / 4)
    record = RecordingPen()
    path.draw(record)
    flat = FlatPen(tolerance * STROKE_SCALE)
    record.replay(flat)
    return [np.array(contour) / STROKE_SCALE for contour in flat.contours]


def _scaled(point: tuple[float, float]) -> tuple[float, float]:
    return point[0] * STROKE_SCALE, point[1] * STROKE_SCALE


def flatness(matrix: Matrix) -> float:
    """The flattening tolerance in a shape's own units so that FLAT holds in mm."""
    scale = float(np.linalg.norm(matrix[:, :2], 2))
    return FLAT / scale if scale > 0 and math.isfinite(scale) else FLAT
