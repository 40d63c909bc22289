"""A drawing that is its own mirror image gets pieces, inserts and a recess that are, however its mirror lines run."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from purfle.fit import let_in, make_pieces, making
from purfle.geometry.symmetry import Symmetry, symmetry_of
from purfle.model.pieces import DrawnArea, Fit, FitRule, Region
from purfle.tolerances import ZIGZAG

RULE = FitRule(1.5875, 0.1)
EXACT = 2 * ZIGZAG
"""Outlines are rid of zigzags of this size once they tile, which may move either of two that are compared."""


def area(name: str, wood: str, region: BaseGeometry) -> DrawnArea:
    assert isinstance(region, Polygon | shapely.MultiPolygon)
    return DrawnArea(name, wood, (0, 0, 0), region)


def fitted(*areas: DrawnArea) -> Fit:
    return let_in(make_pieces(areas, RULE), RULE)


def apart(symmetry: Symmetry, regions: list[Region]) -> float:
    """How far the regions are from being their own images in the two mirror lines of the first wedge."""
    worst = 0.0
    for number in (1, 2 * symmetry.lines - 1):
        for region in regions:
            image = symmetry.image(region, number).boundary
            worst = max(worst, min(shapely.hausdorff_distance(image, other.boundary) for other in regions))
    return worst


def star(points: int, angle: float = 0.0) -> list[DrawnArea]:
    """A star of that many points, a light and a dark half to each, about a hub with as many corners."""
    corners = [math.tau * (number + 0.5) / points for number in range(points)]
    hub = Polygon([(9 * math.cos(at), 9 * math.sin(at)) for at in corners])
    made = [area("hub", "padauk", affinity.rotate(hub, angle, origin=(0, 0)))]
    for number in range(points):
        for side, wood in ((-1, "holly"), (1, "wenge")):
            at, turn = math.tau * number / points, math.pi / points
            inner = 14 * math.cos(at + side * turn), 14 * math.sin(at + side * turn)
            half = Polygon([(0, 0), inner, (36 * math.cos(at), 36 * math.sin(at))]) - hub
            half = affinity.rotate(half, angle, origin=(0, 0))
            made.append(area(f"point {number} {wood}", wood, half))
    return made


def moth(angle: float) -> list[DrawnArea]:
    """A body on the mirror line, wings beside it in two woods, sharp where they meet, and a spot in each."""
    body = Polygon([(0, 22), (4, 8), (2.5, -20), (0, -26), (-2.5, -20), (-4, 8)])
    wing = Polygon([(0, 10), (12, 24), (32, 20), (24, 2), (28, -14), (9, -17), (0, -2)]) - body
    spot, tail = Point(22, 13).buffer(3.1), Polygon([(2.5, -20), (14, -34), (16, -22), (9, -17)]) - body
    made = [area("body", "wenge", body)]
    for side in (1, -1):
        for name, wood, shape in (("wing", "maple", wing - spot), ("spot", "padauk", spot), ("tail", "holly", tail)):
            made.append(area(f"{name} {side}", wood, affinity.scale(shape, side, 1, origin=(0, 0))))
    return [area(one.name, one.wood, affinity.rotate(one.region, angle, origin=(7, 3))) for one in made]


@pytest.mark.parametrize(
    ("regions", "lines", "axis"),
    [
        ([box(0, 0, 10, 20)], 2, 0.0),
        ([affinity.rotate(box(0, 0, 10, 20), 33)], 2, 33.0),
        ([box(0, 0, 10, 10)], 4, 0.0),
        ([affinity.rotate(Polygon([(0, 0), (20, 3), (26, 0), (20, -3)]), 41)], 1, 41.0),
        ([one.region for one in star(5, 17)], 5, 17.0),
        ([one.region for one in star(16)], 16, 0.0),
        ([one.region for one in moth(20)], 1, 110.0),
    ],
)
def test_all_mirror_lines_of_a_figure_are_found(regions: list[Region], lines: int, axis: float) -> None:
    found = symmetry_of(regions)
    assert found is not None
    assert found.lines == lines
    off = (math.degrees(found.axis) - axis) % (180.0 / lines)
    assert min(off, 180.0 / lines - off) < 0.01


@pytest.mark.parametrize(
    "region",
    [
        Point(3, 4).buffer(8, quad_segs=64),
        Polygon([(0, 0), (9, 0), (3, 7)]),
        affinity.skew(box(0, 0, 10, 20), 20),
        box(0, 0, 10, 20) | box(10, 2, 10.3, 3),
    ],
)
def test_rings_and_figures_that_are_unlike_their_mirror_image_have_no_line(region: Polygon) -> None:
    assert symmetry_of([region]) is None


@settings(deadline=None, derandomize=True, max_examples=2)
@given(st.floats(0.0, 180.0))
def test_a_drawing_with_a_mirror_line_at_any_angle_comes_out_symmetrical(angle: float) -> None:
    fit = fitted(*moth(angle))
    (symmetry,) = fit.pieces.symmetries
    assert apart(symmetry, [piece.region for piece in fit.pieces.pieces]) <= EXACT
    assert apart(symmetry, [insert.region for insert in fit.inserts]) <= EXACT
    assert max(fit.pieces.closing_residual_geos, fit.pieces.closing_residual_clipper) <= 0.005


@pytest.mark.parametrize(("points", "angle"), [(5, 7.0), (8, 0.0)])
def test_all_points_of_a_star_come_out_equal_whatever_else_is_drawn(points: int, angle: float) -> None:
    other = area("bar", "maple", Polygon([(60, 0), (90, 0), (90, 9), (70, 20)]))
    fit = fitted(*star(points, angle), other)
    (symmetry,) = fit.pieces.symmetries
    halves = [piece.region for piece in fit.pieces.pieces if piece.name not in ("bar", "hub")]
    assert symmetry.lines == points
    assert len(halves) == 2 * points
    assert apart(symmetry, halves) <= EXACT
    areas = [half.area for half in halves]
    assert max(areas) - min(areas) < 0.01
    inserts = [insert.region for insert in fit.inserts if insert.name not in ("bar", "hub")]
    assert apart(symmetry, inserts) <= EXACT


def test_what_is_noted_of_one_place_is_told_once_for_all_like_it() -> None:
    """The moth's wings and tails run together on both sides: what is told names one of them."""
    found = make_pieces(tuple(moth(0.0)), RULE).findings
    noted = [one for one in found if "thinner than" in one.what or "joined across" in one.what]
    assert noted
    assert len(set(found)) == len(found)
    assert all(one.where.endswith("and at every place like it") for one in noted)


def test_where_mirror_images_cannot_be_cut_the_pieces_are_made_all_the_same_and_it_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(making, "_MOST_MIRRORINGS", 0)
    pieces = make_pieces(tuple(moth(0.0)), RULE)
    (told,) = [one for one in pieces.findings if "mirror" in one.what]
    assert (told.severity, pieces.symmetries) == ("note", ())
    assert told.what.startswith("the drawing is its own mirror image, but its pieces are so only nearly")
    assert told.where.startswith("artwork, 7.0 mm") or told.where.startswith("artwork, 0.0 mm")
    assert told.mend == "draw what lies on the mirror line a little wider"
