"""What a fitted chain of lines and arcs promises, on shapes with known answers and on any polyline at all."""

import math
import time
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from purfle.geometry.arcs import ArcSegment, LineSegment, Segment, fit_arcs, flatten
from purfle.tolerances import ARC_FIT

FINE = 1e-5
QUICK = settings(deadline=None, derandomize=True, max_examples=60)
LIMIT_SECONDS = 3.0


def furthest_off(points: np.ndarray, segments: tuple[Segment, ...]) -> float:
    """How far any vertex or chord middle stands off the chain, and the chain off the polyline."""
    drawn, fitted = shapely.LineString(points), shapely.LineString(flatten(segments, FINE))
    probes = shapely.points(np.vstack([points, (points[1:] + points[:-1]) / 2]))
    one_way = float(shapely.distance(probes, fitted).max())
    other_way = float(shapely.distance(shapely.points(flatten(segments, FINE)), drawn).max())
    return max(one_way, other_way)


def ring(polygon: shapely.Polygon) -> np.ndarray:
    return np.array(polygon.exterior.coords)


@pytest.mark.parametrize("radius", [1.0, 5.0, 12.0])
def test_a_circle_becomes_quarter_turns_about_its_centre(radius: float) -> None:
    points = ring(shapely.Point(3, 4).buffer(radius, quad_segs=32))
    segments = fit_arcs(points, ARC_FIT, closed=True)
    arcs = [s for s in segments if isinstance(s, ArcSegment)]
    assert len(arcs) == len(segments) == 4
    assert all(math.dist(arc.centre, (3, 4)) < ARC_FIT for arc in arcs)
    assert all(abs(arc.radius - radius) < ARC_FIT for arc in arcs)
    assert sum(arc.sweep for arc in arcs) == pytest.approx(-math.tau)
    assert furthest_off(points, segments) <= ARC_FIT


def test_a_rounded_rectangle_becomes_four_lines_and_four_quarter_turns() -> None:
    points = ring(shapely.box(0, 0, 40, 20).buffer(3, quad_segs=32))
    segments = fit_arcs(points, ARC_FIT, closed=True)
    assert sum(isinstance(s, ArcSegment) for s in segments) == sum(isinstance(s, LineSegment) for s in segments) == 4
    for line in (s for s in segments if isinstance(s, LineSegment)):
        assert line.start[0] == line.end[0] or line.start[1] == line.end[1], "straight sides stay as they are"
    # closed form: pi r^2 + the cross of two rectangles
    area = shapely.Polygon(flatten(segments, FINE)).area
    assert area == pytest.approx(math.pi * 9 + 40 * 20 + 2 * 3 * (40 + 20), abs=2 * ARC_FIT * (120 + 6 * math.pi))


def test_half_circles_are_two_turns_of_less_than_180_degrees() -> None:
    points = ring(shapely.LineString([(0, 0), (10, 0)]).buffer(3, quad_segs=32))
    segments = fit_arcs(points, ARC_FIT, closed=True)
    assert len(segments) == 6
    assert all(abs(s.sweep) < math.pi for s in segments if isinstance(s, ArcSegment))


def test_corners_stay_to_the_bit() -> None:
    points = ring(shapely.Point(0, 0).buffer(10, quad_segs=32).difference(shapely.box(0, 0, 20, 20)))
    segments = fit_arcs(points, ARC_FIT, closed=True)
    ends = {s.end for s in segments}
    assert {(0.0, 0.0), (10.0, 0.0)} <= ends
    assert any(math.dist(end, (0, 10)) < 1e-9 for end in ends)


def test_a_coarse_polygon_is_not_taken_for_a_circle() -> None:
    angles = np.linspace(0, math.tau, 25)[:-1]
    points = 10 * np.column_stack([np.cos(angles), np.sin(angles)])
    assert all(isinstance(s, LineSegment) for s in fit_arcs(points, ARC_FIT, closed=True))


def test_too_few_points_give_no_segments() -> None:
    for points in ([], [(1, 2)], [(1, 2), (1, 2)]):
        assert fit_arcs(np.array(points, float).reshape(-1, 2), ARC_FIT) == ()
    assert fit_arcs(np.array([(0, 0), (1, 0)], float), ARC_FIT) == (LineSegment((0.0, 0.0), (1.0, 0.0)),)


def test_a_line_that_doubles_back_goes_out_and_back() -> None:
    points = np.array([(0, 0), (5, 0), (10, 0), (5, 0), (2, 0)], float)
    segments = fit_arcs(points, ARC_FIT)
    assert segments == (LineSegment((0.0, 0.0), (10.0, 0.0)), LineSegment((10.0, 0.0), (2.0, 0.0)))


@pytest.mark.parametrize("offset", [-5.0, -1.6, 1.6, 12.0])
def test_offsets_of_a_wavy_shape_become_a_quarter_of_the_segments_or_fewer(offset: float) -> None:
    t = np.linspace(0, math.tau, 4000)[:-1]
    reach = 40 + 8 * np.sin(5 * t)
    drawn = shapely.Polygon(np.column_stack([reach * np.cos(t), reach * np.sin(t)])).simplify(0.001)
    points = ring(drawn.buffer(offset, quad_segs=32))
    segments = fit_arcs(points, ARC_FIT, closed=True)
    assert len(segments) <= len(points) / 4
    assert furthest_off(points, segments) <= ARC_FIT


@QUICK
@given(st.integers(0, 10_000), st.booleans(), st.integers(3, 90), st.sampled_from([0.0, 0.0004, 0.004, 1.0]))
def test_any_polyline_is_kept_to_and_joined_up(seed: int, closed: bool, count: int, rough: float) -> None:
    rng = np.random.default_rng(seed)
    walk = np.cumsum(rng.normal(0, 0.2, count))
    points = np.cumsum(np.column_stack([np.cos(walk), np.sin(walk)]), axis=0) + rng.normal(0, rough, (count, 2))
    segments = fit_arcs(points, ARC_FIT, closed)
    around = np.vstack([points, points[:1]]) if closed else points
    assert furthest_off(around, segments) <= ARC_FIT
    assert all(a.end == b.start for a, b in pairwise(segments))
    if closed:
        assert segments[-1].end == segments[0].start
    else:
        assert (segments[0].start, segments[-1].end) == (tuple(points[0]), tuple(points[-1]))
    for arc in (s for s in segments if isinstance(s, ArcSegment)):
        assert abs(arc.sweep) < math.pi
        assert math.dist(arc.end, arc.centre) == pytest.approx(arc.radius, abs=1e-9)


@QUICK
@given(st.floats(-math.pi * 0.99, math.pi * 0.99).filter(lambda a: abs(a) > 1e-3), st.floats(0.1, 1000))
def test_the_bulge_gives_the_rise_of_the_arc(sweep: float, radius: float) -> None:
    """Source: DXF reference, LWPOLYLINE: bulge = tan(sweep / 4) = rise of the arc over half its chord."""
    start, end = (radius, 0.0), (radius * math.cos(sweep), radius * math.sin(sweep))
    arc = ArcSegment(start, end, (0.0, 0.0), ccw=sweep > 0)
    rise = radius * (1 - math.cos(sweep / 2))
    assert abs(arc.bulge) == pytest.approx(rise / (math.dist(start, end) / 2), rel=1e-6)
    assert (arc.bulge > 0) == (sweep > 0)


def test_twenty_thousand_points_take_a_moment() -> None:
    """Measured 0.08 s on two busy cores; the limit only catches a change of order."""
    x = np.linspace(0, 200, 20_000)
    noise = np.random.default_rng(1).normal(0, 0.0005, (20_000, 2))
    begin = time.perf_counter()
    segments = fit_arcs(np.column_stack([x, 5 * np.sin(x * 0.3)]) + noise, ARC_FIT)
    assert time.perf_counter() - begin < LIMIT_SECONDS
    assert len(segments) < 500
