"""Sweeping and seams of the proof against closed forms, and against an independent engine (Clipper2 by manifold3d)."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import CrossSection, FillRule, JoinType
from shapely import Point, Polygon, box

from purfle.proof.program import read_program
from purfle.proof.regions import Sandwich, grown, likeness
from purfle.proof.seams import Together, put_together
from purfle.proof.sweep import Way, flatten, groove, sections

CUTTER = 1.5875
HEAD = "G21 G90 G17 G94\nT1\nS9000 M3\nF900\nG0 Z5\nG0 X0 Y0\n"


def way(body: str, radius: float = CUTTER) -> Way:
    return flatten(read_program("a", (HEAD + body + "\nM2\n").encode()), radius)


def test_the_groove_of_a_straight_cut_has_its_closed_area() -> None:
    """2 r L + pi r^2."""
    area = groove(way("G1 Z-1\nX30 Y40").below(0.5)).area
    assert area == pytest.approx(2 * CUTTER * 50 + math.pi * CUTTER**2, rel=2e-5)


@pytest.mark.parametrize("word", ["G2", "G3"])
def test_the_groove_of_a_full_circle_is_a_ring_with_its_closed_area(word: str) -> None:
    """4 pi R r."""
    ring = groove(way(f"G1 Z-1\n{word} X0 Y0 I12 J0").below(0.5))
    assert ring.area == pytest.approx(4 * math.pi * 12 * CUTTER, rel=2e-5)
    assert len(ring.interiors) == 1
    # inner and outer wall stand within the flattening of their circles
    for wall, radius in ((ring.exterior, 12 + CUTTER), (ring.interiors[0], 12 - CUTTER)):
        away = np.hypot(*(np.array(wall.coords) - [12, 0]).T) - radius
        assert np.abs(away).max() < 0.001


def test_a_plunge_alone_leaves_a_disc() -> None:
    assert groove(way("G1 Z-1\nG0 Z5").below(0.5)).area == pytest.approx(math.pi * CUTTER**2, rel=1e-3)


def test_a_ramp_is_cut_off_where_it_crosses_the_depth() -> None:
    """From the top to 2 mm over 40 mm: below 0.5 mm lie the last three quarters of it."""
    ramp = way("G1 Z0\nX40 Z-2")
    for depth, length in ((0.5, 30), (1.0, 20), (1.9, 2)):
        area = groove(ramp.below(depth)).area
        assert area == pytest.approx(2 * CUTTER * length + math.pi * CUTTER**2, abs=0.005)
    assert groove(ramp.below(2.1)).is_empty


def test_sections_worked_from_the_bottom_up_are_those_worked_one_by_one() -> None:
    passes = "".join(f"G1 X0 Y0\nZ-{d}\nX30\nG3 X30 Y20 I0 J10\nG1 X{5 * d} Y3\n" for d in (1, 2, 3))
    path = way("G1 Z0\n" + passes)
    depths = (0.001, 0.5, 1.5, 2.5, 3.5)
    for depth, region in zip(depths, sections(path, depths), strict=True):
        alone = groove(path.below(depth))
        assert region.symmetric_difference(alone).area < 1e-3


coordinate = st.floats(-20, 20).map(lambda v: round(v, 3))


def hair_line(start: tuple[float, float], end: tuple[float, float]) -> CrossSection:
    """A segment as a quadrilateral of a millionth of a mm: the second engine grows areas only."""
    half = 5e-7
    (x0, y0), (x1, y1) = start, end
    ring = [(x0 - half, y0 - half), (x0 + half, y0 - half), (x0 + half, y0 + half), (x0 - half, y0 + half)]
    far = [(x + x1 - x0, y + y1 - y0) for x, y in ring]
    hull = shapely.convex_hull(shapely.multipoints(ring + far))
    return CrossSection([np.asarray(hull.exterior.coords)[:-1]], FillRule.EvenOdd)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=12), st.floats(0.4, 6))
def test_any_groove_is_that_of_an_independent_engine(points: list[tuple[float, float]], radius: float) -> None:
    """Clipper2 grows each segment with round ends; both engines stay within their arc error of the true groove."""
    body = "G1 Z-1\n" + "\n".join(f"X{x} Y{y}" for x, y in points)
    ours = groove(way("G0 X0 Y0\n" + body, radius).below(0.5))
    corners = [(0.0, 0.0), *points]
    theirs_parts = CrossSection()
    for start, end in pairwise(corners):
        theirs_parts += hair_line(start, end).offset(radius, JoinType.Round, circular_segments=256)
    theirs = shapely.build_area(
        shapely.geometrycollections([shapely.linearrings(r) for r in theirs_parts.to_polygons()])
    )
    allowed = 0.002 * (ours.length + theirs.length)
    assert ours.symmetric_difference(theirs).area < allowed


def together(recess: Polygon, *parts: Polygon, drawn: float = 0.1) -> Together:
    labels = tuple(f"part {i}" for i in range(1, len(parts) + 1))
    return Together("a", "svg", drawn, labels, (recess, parts), (recess, parts))


def disc(x: float, y: float, radius: float) -> Polygon:
    return Point(x, y).buffer(radius, quad_segs=400)


def test_a_disc_in_a_disc_has_the_seam_of_the_two_radii() -> None:
    seam, found = put_together(together(disc(0, 0, 20.05), disc(0, 0, 19.95)))
    assert seam.narrowest == pytest.approx(0.1, abs=0.001)
    assert seam.widest == pytest.approx(0.1, abs=0.001)
    assert seam.share_within == 1
    assert seam.length == pytest.approx(2 * math.pi * 20, rel=1e-4)
    assert (seam.wide_places, seam.interference_area, found) == ((), 0.0, [])


@pytest.mark.parametrize("off", [0.01, 0.05, 0.09])
def test_a_disc_out_of_the_middle_has_the_seam_that_is_left(off: float) -> None:
    """Gap less, and plus, the distance between the centres; narrowest on the near side."""
    seam, found = put_together(together(disc(0, 0, 20.05), disc(off, 0, 19.95)))
    assert seam.narrowest == pytest.approx(0.1 - off, abs=0.001)
    assert seam.widest == pytest.approx(0.1 + off, abs=0.001)
    # near the narrowest place the seam hardly changes along the line
    assert math.dist(seam.narrowest_at, (20, 0)) < 2
    assert bool(found) == (off > 0.02)


def test_a_disc_too_far_out_overlaps_the_wall_by_the_lens_that_sticks_out() -> None:
    """Closed form of a crescent: area of the part less the lens that two circles share."""
    big, small, off = 20.05, 19.95, 0.5
    a = (off**2 + small**2 - big**2) / (2 * off * small)
    b = (off**2 + big**2 - small**2) / (2 * off * big)
    k = (-off + small + big) * (off + small - big) * (off - small + big) * (off + small + big)
    lens = small**2 * math.acos(a) + big**2 * math.acos(b) - math.sqrt(k) / 2
    seam, found = put_together(together(disc(0, 0, big), disc(off, 0, small)))
    assert seam.interference_area == pytest.approx(math.pi * small**2 - lens, rel=0.01)
    assert "part 1 does not go in: it overlaps the wall of the recess" in found[0].what
    assert found[0].place is not None
    assert found[0].place[0] > 19
    assert "inlay 'a'" in found[0].where
    assert found[0].mend


@pytest.mark.parametrize("corner", [3.0, 0.0])
def test_a_square_has_the_drawn_seam_and_opens_at_sharp_corners_as_the_formula_says(corner: float) -> None:
    """(a / 2)(1 + 1 / sin(t / 2)) at a corner of angle t (docs/method): 0.1207 for a = 0.1 and a right angle."""
    square = box(-10, -10, 10, 10) if corner == 0 else box(-7, -7, 7, 7).buffer(corner, quad_segs=200)
    recess = square.buffer(0.05, quad_segs=200)
    part = square.buffer(-0.05, join_style="mitre")
    seam, found = put_together(together(recess, part))
    widest = 0.05 * (1 + math.sqrt(2)) if corner == 0 else 0.1
    assert seam.narrowest == pytest.approx(0.1, abs=0.001)
    assert seam.widest == pytest.approx(widest, abs=0.001)
    assert len(seam.wide_places) == (4 if corner == 0 else 0)
    assert found == []


def test_parts_side_by_side_share_their_seam() -> None:
    left, right = box(-10, -5, -0.05, 5), box(0.05, -5, 10, 5)
    recess = box(-10.1, -5.1, 10.1, 5.1)
    seam, _ = put_together(together(recess, left, right))
    assert seam.narrowest == pytest.approx(0.1, abs=1e-9)
    assert seam.length == pytest.approx((left.length + right.length + recess.length) / 2)


def test_a_missing_part_leaves_its_area_empty() -> None:
    left = box(-10, -5, -0.05, 5)
    recess = box(-10.1, -5.1, 10.1, 5.1)
    _, found = put_together(together(recess, left))
    hole = next(finding for finding in found if "stay empty" in finding.what)
    area = float(hole.what.split()[1])
    assert area == pytest.approx(10.1 * 10.2, rel=0.03)
    assert hole.place is not None
    assert hole.place[0] > 0


def test_growing_is_guarded_and_keeps_steiners_area() -> None:
    """Steiner: a convex region grown by d gains L d + pi d^2."""
    square = box(0, 0, 10, 10)
    assert grown(square, 2.0).area == pytest.approx(100 + 40 * 2 + math.pi * 4, rel=1e-4)
    assert grown(square, -2.0).area == pytest.approx(36)
    assert grown(square, -6.0).is_empty


def test_a_sandwich_tells_short_from_over() -> None:
    wanted = Sandwich(box(0, 0, 10, 10), 0.012)
    assert wanted.difference(box(0.01, 0, 10.01, 10)).nothing
    short = wanted.difference(box(0.03, 0, 10, 10))
    assert short.over.is_empty
    assert short.short.area == pytest.approx(0.018 * (10 - 2 * 0.012), rel=1e-3)
    over = wanted.difference(box(0, 0, 10.03, 10))
    assert over.short.is_empty
    assert over.worst[0] > 10.012


@pytest.mark.parametrize(
    "change, words",
    [
        (lambda xy: xy * [-1, 1], "it is mirrored"),
        (lambda xy: xy * 1.01, "it is 1.01 times its size"),
        (lambda xy: np.add(xy, [0.5, -0.25]), "it is moved by 0.500, -0.250 mm"),
        (lambda xy: xy * [1, 1.5], ""),
    ],
)
def test_what_became_of_an_outline_is_named(change, words: str) -> None:
    shape = Polygon([(0, 0), (10, 0), (10, 3), (2, 3), (2, 9), (0, 9)])
    assert likeness(shapely.transform(shape, change), shape) == words
