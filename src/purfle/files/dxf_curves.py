"""Curves of DXF entities as points in space that lie on them, no further apart than a chord may stand off.

Lines, bulges, circles and ellipses are computed here in 64 bits; splines are evaluated by ezdxf.
Source: DXF reference (bulge = tan(sweep / 4), positive counter-clockwise; arbitrary axis algorithm).
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from ezdxf.math import OCS, BSpline, fit_points_to_cad_cv
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""(n, 3)."""
Entity = Any
"""A parsed entity or an edge of a hatch; which attributes it has depends on its kind."""
LEAST_TURN = 0.002
"""Radians: no chord of a round curve spans less, however large it is."""
MOST_CONTROL_POINTS = 20_000
LEAST_BULGE = 1e-9


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve in the space of the entity's block; a closed one does not repeat its first point."""

    points: Points
    closed: bool


class NotCarried(Exception):
    """Says why an entity has no curve."""


def turned(points: Points, ocs: OCS) -> Points:
    """Points of an entity's own plane in space."""
    if not ocs.transform:
        return points
    return np.asarray(points @ np.array([tuple(ocs.ux), tuple(ocs.uy), tuple(ocs.uz)]))


def steps(sweep: float, radius: float, tolerance: float) -> int:
    """How many chords a round curve takes so that none stands off by more than the tolerance."""
    if not (radius > 0 and math.isfinite(radius) and math.isfinite(sweep)):
        raise NotCarried("its radius or angle is no number above nothing")
    turn = 2 * math.acos(max(-1.0, 1 - tolerance / radius)) if tolerance < 2 * radius else math.pi
    return max(1, math.ceil(abs(sweep) / max(min(turn, math.pi / 4), LEAST_TURN)))


def oval(centre: Points, axes: Points, start: float, sweep: float, tolerance: float) -> Points:
    """Points of `centre + axes[0] cos t + axes[1] sin t` for t from start over sweep, both ends included."""
    count = steps(sweep, float(np.linalg.norm(axes, axis=1).max()), tolerance)
    t = start + sweep * np.arange(count + 1) / count
    return np.asarray(centre + np.outer(np.cos(t), axes[0]) + np.outer(np.sin(t), axes[1]))


def arc_of_degrees(centre: Iterable[float], radius: float, start: float, end: float, tolerance: float) -> Points:
    """Counter-clockwise from one angle to the other; equal angles are a full circle."""
    if not radius > 0:
        raise NotCarried("its radius is not above nothing")
    sweep = (end - start) % 360.0 or 360.0
    axes = np.array([[radius, 0.0, 0.0], [0.0, radius, 0.0]])
    return oval(np.array([*centre][:3]), axes, math.radians(start), math.radians(sweep), tolerance)


def bulged(vertices: Points, bulges: Points, closed: bool, tolerance: float) -> Points:
    """A polyline's points, each bulge drawn as its arc; the first point of a closed one is not repeated."""
    ends = np.roll(vertices, -1, axis=0) if closed else vertices[1:]
    parts = []
    for start, end, bulge in zip(vertices, ends, bulges, strict=False):
        parts.append(start[None])
        if abs(bulge) > LEAST_BULGE and not np.array_equal(start, end):
            parts.append(_bulge(start, end, float(bulge), tolerance)[1:-1])
    if not closed:
        parts.append(vertices[-1:])
    return np.concatenate(parts)


def _bulge(start: Points, end: Points, bulge: float, tolerance: float) -> Points:
    """An arc from start to end that stands off its chord by half of it times the bulge, to the right."""
    half = (end - start) / 2
    side = np.array([-half[1], half[0], 0.0])
    centre = (start + end) / 2 + side * (1 - bulge * bulge) / (2 * bulge)
    axis = start - centre
    across = np.array([-axis[1], axis[0], 0.0])
    sweep = 4 * math.atan(bulge)
    return oval(centre, np.array([axis, across]), 0.0, sweep, tolerance)


def line(entity: Entity, _: float) -> Curve:
    """A straight line."""
    return Curve(np.array([tuple(entity.dxf.start), tuple(entity.dxf.end)]), False)


def circle(entity: Entity, tolerance: float) -> Curve:
    """A circle in its plane."""
    points = arc_of_degrees(entity.dxf.center, entity.dxf.radius, 0.0, 360.0, tolerance)
    return Curve(turned(points[:-1], entity.ocs()), True)


def arc(entity: Entity, tolerance: float) -> Curve:
    """Part of a circle."""
    dxf = entity.dxf
    points = arc_of_degrees(dxf.center, dxf.radius, dxf.start_angle, dxf.end_angle, tolerance)
    return Curve(turned(points, entity.ocs()), False)


def ellipse(entity: Entity, tolerance: float) -> Curve:
    """A whole ellipse, or part of one; its axes are given in space."""
    dxf = entity.dxf
    major, up = np.array(tuple(dxf.major_axis)), np.array(tuple(dxf.extrusion))
    up = up / (np.linalg.norm(up) or 1.0)
    return _ellipse(np.array(tuple(dxf.center)), np.array([major, np.cross(up, major) * dxf.ratio]), entity, tolerance)


def _ellipse(centre: Points, axes: Points, entity: Entity, tolerance: float) -> Curve:
    start, end = entity.dxf.start_param, entity.dxf.end_param
    sweep = (end - start) % math.tau
    closed = min(sweep, math.tau - sweep) < LEAST_BULGE
    points = oval(centre, axes, start, math.tau if closed else sweep, tolerance)
    return Curve(points[:-1] if closed else points, closed)


def spline(entity: Entity, tolerance: float) -> Curve:
    """A spline of control points, or through fit points; closed where it ends where it began."""
    count = max(entity.control_point_count(), entity.fit_point_count())
    if count > MOST_CONTROL_POINTS:
        raise NotCarried(f"it has more than {MOST_CONTROL_POINTS} control points")
    reach = [*entity.control_points, *entity.fit_points]
    if not np.isfinite(np.array(reach, float)).all():
        raise NotCarried("one of its points is no number")
    return _evaluated(entity.construction_tool(), tolerance, bool(entity.closed))


def _evaluated(curve: BSpline, tolerance: float, said_closed: bool = False) -> Curve:
    size = float(np.ptp(np.array([tuple(p) for p in curve.control_points]), axis=0).max())
    points = np.array([tuple(p) for p in curve.flattening(max(tolerance, size * LEAST_SPLINE_SHARE))])
    meets = bool(np.linalg.norm(points[0] - points[-1]) <= tolerance)
    return Curve(points[:-1] if meets else points, meets or said_closed)


LEAST_SPLINE_SHARE = 1e-6
"""Of its size: no spline is evaluated more finely, however fine the tolerance."""


def light_polyline(entity: Entity, tolerance: float) -> Curve:
    """A polyline of lines and bulges in its plane."""
    rows = np.array(entity.lwpoints.values, float).reshape(-1, 5)[:, [0, 1, 4]]  # x, y, two widths, bulge
    if len(rows) < 2:
        raise NotCarried("it has fewer than two points")
    height = np.full((len(rows), 1), entity.dxf.elevation)
    points = bulged(np.hstack([rows[:, :2], height]), rows[:, 2], bool(entity.closed), tolerance)
    return Curve(turned(points, entity.ocs()), bool(entity.closed))


SPLINE_FRAME = 16
"""Flag of a vertex that only frames a fitted curve (DXF reference, VERTEX group 70)."""


def old_polyline(entity: Entity, tolerance: float) -> Curve:
    """A polyline of separate vertices, flat or in space."""
    if entity.is_poly_face_mesh or entity.is_polygon_mesh:
        raise NotCarried("it is a surface")
    kept = [vertex.dxf for vertex in entity.vertices if not vertex.dxf.flags & SPLINE_FRAME]
    if len(kept) < 2:
        raise NotCarried("it has fewer than two points")
    places = np.array([tuple(dxf.location) for dxf in kept])
    if entity.is_3d_polyline:
        return Curve(places, bool(entity.is_closed))
    bulges = np.array([dxf.bulge for dxf in kept], float)
    points = bulged(places, bulges, bool(entity.is_closed), tolerance)
    return Curve(turned(points, entity.ocs()), bool(entity.is_closed))


def filled_corners(entity: Entity, _: float) -> Curve:
    """A filled triangle or quadrangle; its last two corners stand crosswise in the file."""
    corners = [tuple(vertex) for vertex in entity.vertices()]
    return Curve(turned(np.array(corners, float), entity.ocs()), True)


CURVES: dict[str, Callable[[Entity, float], Curve]] = {
    "LINE": line,
    "CIRCLE": circle,
    "ARC": arc,
    "ELLIPSE": ellipse,
    "SPLINE": spline,
    "HELIX": spline,
    "LWPOLYLINE": light_polyline,
    "POLYLINE": old_polyline,
}
FILLED: dict[str, Callable[[Entity, float], Curve]] = {"SOLID": filled_corners, "TRACE": filled_corners}


def hatch_loops(entity: Entity, tolerance: float) -> list[list[Curve]]:
    """The boundaries of a hatch: each a list of curves that together close it."""
    height = float(entity.dxf.elevation.z) if entity.dxf.hasattr("elevation") else 0.0
    loops = [_loop(path, tolerance) for path in entity.paths]
    ocs, lift = entity.ocs(), np.array([0.0, 0.0, height])
    return [[Curve(turned(curve.points + lift, ocs), curve.closed) for curve in loop] for loop in loops]


def _loop(path: Entity, tolerance: float) -> list[Curve]:
    if hasattr(path, "vertices"):
        rows = np.array(path.vertices, float).reshape(-1, 3)
        flat = np.hstack([rows[:, :2], np.zeros((len(rows), 1))])
        return [Curve(bulged(flat, rows[:, 2], True, tolerance), True)] if len(rows) >= 2 else []
    return [_edge(edge, tolerance) for edge in path.edges]


def _edge(edge: Entity, tolerance: float) -> Curve:
    """One edge of a hatch boundary. Angles were turned counter-clockwise when they were parsed."""
    kind = type(edge).__name__
    if kind == "LineEdge":
        return Curve(np.array([[*edge.start, 0.0], [*edge.end, 0.0]]), False)
    if kind == "ArcEdge":
        points = arc_of_degrees((*edge.center, 0.0), edge.radius, edge.start_angle, edge.end_angle, tolerance)
        return _perhaps_whole(points, tolerance)
    if kind == "EllipseEdge":
        return _ellipse_edge(edge, tolerance)
    return _spline_edge(edge, tolerance)


def _ellipse_edge(edge: Entity, tolerance: float) -> Curve:
    tool = edge.construction_tool()
    axes = np.array([tuple(tool.major_axis), tuple(tool.minor_axis)])
    sweep = (tool.end_param - tool.start_param) % math.tau
    whole = min(sweep, math.tau - sweep) < LEAST_BULGE
    points = oval(np.array(tuple(tool.center)), axes, tool.start_param, math.tau if whole else sweep, tolerance)
    return _perhaps_whole(points, tolerance)


def _perhaps_whole(points: Points, tolerance: float) -> Curve:
    whole = len(points) > 3 and bool(np.linalg.norm(points[0] - points[-1]) < min(tolerance, LEAST_BULGE))
    return Curve(points[:-1] if whole else points, whole)


def _spline_edge(edge: Entity, tolerance: float) -> Curve:
    control, fit = edge.control_points, edge.fit_points
    if max(len(control), len(fit)) > MOST_CONTROL_POINTS:
        raise NotCarried(f"it has more than {MOST_CONTROL_POINTS} control points")
    if not control:
        return _evaluated(fit_points_to_cad_cv(fit), tolerance)
    weights = edge.weights or None
    return _evaluated(BSpline(control, edge.degree + 1, edge.knot_values, weights), tolerance)
