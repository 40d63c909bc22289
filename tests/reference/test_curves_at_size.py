"""Curves of drawings keep to their closed forms at the size at which they are made, not at the one they are drawn at.

Sources: a circle of radius r (distance of a point from its middle less r); a parabola's points, which the quadratic
Bezier curve B(t) = (1 - t)^2 a + 2 t (1 - t) b + t^2 c runs through; SVG 1.1 chapter 8; DXF reference (bulge).
"""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from dxf_sample import dxf_bytes
from purfle.artwork import areas_of_drawing, choose_woods, design_size
from purfle.files.drawing_file import read_drawing
from purfle.files.svg_path import FlatPen, flat_bow, flat_curve
from purfle.tolerances import FLAT

HEIGHT = 90.0
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="12px" height="12px" viewBox="0 0 12 12">'
ROUND = {
    "a circle": '<circle cx="6" cy="6" r="5"/>',
    "arcs of a path": '<path d="M1 6A5 5 0 0 1 11 6A5 5 0 0 1 1 6Z"/>',
    "an ellipse under a lopsided scale": '<ellipse transform="scale(.5,2)" cx="12" cy="3" rx="10" ry="2.5"/>',
    "a round stroke": '<circle cx="6" cy="6" r="4" stroke="#000" stroke-width="2"/>',
    "a wide stroke round a small bend": '<circle cx="6" cy="6" r=".5" stroke="#000" stroke-width="9" fill="none"/>',
    "an arc's stroke": '<path d="M2 6A4 4 0 0 1 10 6A4 4 0 0 1 2 6Z" stroke="#000" stroke-width="2"/>',
    "a dot with a round end": '<path d="M6 6v0" stroke="#000" stroke-width="10" stroke-linecap="round"/>',
}


def off_the_circle(region: shapely.Geometry) -> float:
    """How far the outline stands off the circle on which its corners lie, chords looked at closely.

    The circle is about the middle of the outline, and as high as asked for, within a chord at either end.
    """
    assert np.ptp([region.bounds[1::2]]) == pytest.approx(HEIGHT, abs=2 * FLAT)
    outline = shapely.segmentize(region.exterior if region.geom_type == "Polygon" else region, 0.01)
    corners = shapely.get_coordinates(region)
    (x, y, squared), *_ = np.linalg.lstsq(np.c_[2 * corners, np.ones(len(corners))], (corners**2).sum(1))
    radius = math.sqrt(squared + x * x + y * y)
    return float(np.abs(np.hypot(*(shapely.get_coordinates(outline) - (x, y)).T) - radius).max())


def made(region: shapely.Geometry) -> shapely.Geometry:
    """As high as asked for: the scale that is left once a drawing is read for its size is next to one."""
    scale = HEIGHT / (region.bounds[3] - region.bounds[1])
    assert scale == pytest.approx(1.0, abs=0.002)
    return shapely.transform(region, lambda places: places * scale)


def outer(region: shapely.Geometry) -> shapely.Polygon:
    """The largest part, its hole filled."""
    return shapely.Polygon(max(shapely.get_parts(region), key=lambda part: part.area).exterior)


@pytest.mark.parametrize("body", ROUND.values(), ids=ROUND)
def test_a_circle_drawn_ten_units_wide_is_one_at_ninety_mm(body: str) -> None:
    """Drawn 2.65 mm high, made 34 times as large."""
    drawing = read_drawing(f"{HEAD}{body}</svg>".encode(), "a.svg", height=HEIGHT)
    shape = shapely.union_all([outer(shape.region) for shape in drawing.shapes])
    assert off_the_circle(made(shape)) <= FLAT * 1.01  # the scale that is left moves by some thousandths


def test_the_areas_that_pieces_are_made_of_keep_to_it() -> None:
    """Through areas and woods, as a job takes them."""
    areas = areas_of_drawing(read_drawing(f"{HEAD}{ROUND['a circle']}</svg>".encode(), "a.svg", height=HEIGHT))
    woods = [("holly", (0, 0, 0))]
    (area,) = choose_woods(areas, HEIGHT / design_size(areas)[1], woods, ()).areas
    assert off_the_circle(area.region) <= FLAT * 1.1  # places of the grid of overlays


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_a_circle_of_a_dxf_is_one_at_ninety_mm(unit: str) -> None:
    """A circle, one of two bulges in a block that is scaled, and one of an ellipse's halves."""
    numbers = {"mm": 4, "inch": 1}

    def bulges(document, model):
        document.blocks.new("b").add_lwpolyline([(-5, 0, 1), (5, 0, 1)], "xyb", close=True)
        model.add_blockref("b", (0, 0), {"xscale": 0.1, "yscale": 0.1})

    makers = [
        lambda _, model: model.add_circle((0, 0), 5),
        bulges,
        lambda _, model: model.add_ellipse((0, 0), (5, 0), 1.0),
    ]
    for maker in makers:
        drawing = read_drawing(dxf_bytes(maker, numbers[unit]), "a.dxf", height=HEIGHT)
        (shape,) = drawing.shapes
        assert off_the_circle(made(shape.region)) <= FLAT * 1.01


def test_a_drawing_made_smaller_has_no_more_points_than_its_size_needs() -> None:
    """A circle of 10 m made 90 mm: as many as the closed form of its chords asks for."""
    big = HEAD.replace("12px", "12000mm") + ROUND["a circle"] + "</svg>"
    (shape,) = read_drawing(big.encode(), "a.svg", height=HEIGHT).shapes
    least = math.pi / math.acos(1 - FLAT / (HEIGHT / 2))
    assert least <= len(shape.region.exterior.coords) - 1 <= least + 2


def test_letters_are_flattened_at_the_size_that_they_have() -> None:
    """A text drawn small and made large has more points than one that is made small."""
    text = '<text x="1" y="10" font-family="Source Serif Pro" font-size="9">S</text>'
    large, small = (
        read_drawing(f"{HEAD}{text}</svg>".encode(), "a.svg", height=height).shapes[0] for height in (HEIGHT, 2.0)
    )
    assert shapely.get_num_coordinates(large.region) > 3 * shapely.get_num_coordinates(small.region)


CUBICS = {
    "a quarter turn": ((0, 0), (0, 55.23), (44.77, 100), (100, 100)),
    "a curve that turns both ways": ((0, 0), (90, 0), (10, 60), (100, 60)),
    "a loop": ((0, 0), (150, 90), (-50, 90), (100, 0)),
    "a cusp": ((0, 0), (100, 100), (0, 100), (100, 0)),
    "a corner almost": ((0, 0), (99.9, 0.1), (99.95, 0.05), (100, 100)),
    "one handle on its end": ((0, 0), (0, 0), (40, 100), (100, 0)),
    "both handles on the ends": ((0, 0), (0, 0), (100, 40), (100, 40)),
    "straight, back and forth": ((0, 0), (150, 0), (-50, 0), (100, 0)),
    "a point": ((5, 5), (5, 5), (5, 5), (5, 5)),
    "closed on itself": ((0, 0), (100, 50), (-100, 50), (0, 0)),
}


def cubic_at(points: np.ndarray, t: np.ndarray) -> np.ndarray:
    """By halving between control points (de Casteljau), not by powers of t."""
    rows = [np.broadcast_to(point, (len(t), 2)) for point in np.asarray(points, float)]
    while len(rows) > 1:
        rows = [one * (1 - t)[:, None] + other * t[:, None] for one, other in pairwise(rows)]
    return rows[0]


@pytest.mark.parametrize("points", CUBICS.values(), ids=CUBICS)
@pytest.mark.parametrize("tolerance", [1.0, 0.003])
def test_no_chord_stands_off_its_cubic_by_more_than_asked(points: tuple, tolerance: float) -> None:
    """Every chord against the stretch of the curve between its ends, in 10,000 places."""
    places = np.array([points[0], *flat_curve(points, tolerance)])
    assert tuple(places[-1]) == tuple(points[-1])
    line = LineString(places)
    fine = shapely.points(cubic_at(points, np.linspace(0, 1, 10_001)))
    assert shapely.distance(line, fine).max() <= tolerance * 1.001
    assert shapely.hausdorff_distance(line, LineString(fine), densify=0.01) <= tolerance * 1.001


def test_a_cubic_takes_fewer_chords_than_even_steps_take() -> None:
    """A curve with a tight end: even steps by the bound of the second derivative would be 400; a straight one has 1."""
    assert len(flat_curve(((0, 0), (0, 0), (1, 100), (100, 100)), 0.003)) < 150
    assert flat_curve(((0, 0), (1, 0), (2, 0), (3, 0)), 0.003) == [(3, 0)]


def test_no_chord_stands_off_its_parabola() -> None:
    """y = x^2 / 100 from -100 to 100 has its middle control point at (0, -100)."""
    places = np.array([(-100.0, 100.0), *flat_bow(((-100, 100), (0, -100), (100, 100)), 0.003)])
    assert places[:, 1] == pytest.approx(places[:, 0] ** 2 / 100)
    middles = (places[1:] + places[:-1]) / 2
    assert (middles[:, 1] - middles[:, 0] ** 2 / 100).max() <= 0.003


def test_a_pen_keeps_curves_as_they_were_drawn() -> None:
    """What is stroked is the curve itself."""
    pen = FlatPen(0.01)
    pen.moveTo((0, 0))
    pen.curveTo((0, 5), (5, 9), (9, 9))
    pen.qCurveTo((9, 0), (5, 0))
    pen.closePath()
    assert [call for call, _ in pen.curves[0]] == ["moveTo", "cubicTo", "quadTo"]
    assert Point(pen.contours[0][-1]).equals(Point(5, 0))
