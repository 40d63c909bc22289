"""DXF reading against closed forms, and against the curves that ezdxf itself makes of the same entities."""

import math

import numpy as np
import pytest
import shapely
from ezdxf import path as ezdxf_path
from ezdxf.document import Drawing as Document
from ezdxf.entities import Insert
from ezdxf.layouts import Modelspace
from shapely import LineString, Polygon

from dxf_sample import dxf_bytes
from purfle.artwork.drawing import areas_of_drawing
from purfle.errors import DrawingError
from purfle.files.dxf_drawing import read_dxf
from purfle.model.artwork import Drawing

HALF_DISC = math.pi * 50


def one(drawing: Drawing) -> float:
    """The area of a drawing's only shape."""
    (shape,) = drawing.shapes
    return shape.region.area


def square(x: float, y: float, side: float) -> list[tuple[float, float]]:
    return [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]


CLOSED_FORMS = {
    "two half circles by bulges": (
        lambda m: m.add_lwpolyline([(0, 0, 1), (20, 0, 1)], "xyb", close=True),
        math.pi * 100,
    ),
    "a quarter by a bulge": (
        lambda m: m.add_lwpolyline([(0, 0, 0), (10, 0, math.tan(math.pi / 8)), (0, 10, 0)], "xyb", close=True),
        math.pi * 25,
    ),
    "a bulge inwards": (
        lambda m: m.add_lwpolyline([(0, 0, -1), (20, 0, 0), (20, 20, 0), (0, 20, 0)], "xyb", close=True),
        400 - HALF_DISC,
    ),
    "an old polyline with bulges": (
        lambda m: m.add_polyline2d([(0, 0, 1), (20, 0, 1)], format="xyb", close=True),
        math.pi * 100,
    ),
    "a circle": (lambda m: m.add_circle((7, 8), 10), math.pi * 100),
    "an ellipse": (lambda m: m.add_ellipse((1, 2), (8, 6), 0.4), math.pi * 10 * 4),
    "half an ellipse closed by a line": (
        lambda m: (m.add_ellipse((0, 0), (10, 0), 0.5, 0, math.pi), m.add_line((-10, 0), (10, 0))),
        math.pi * 10 * 5 / 2,
    ),
    "arcs and lines chained": (
        lambda m: (
            m.add_line((0, 0), (20, 0)),
            m.add_line((20, 10), (20, 0)),
            m.add_arc((10, 10), 10, 0, 180),
            m.add_line((0, 0), (0, 10)),
        ),
        200 + HALF_DISC,
    ),
    "a spline of degree one": (
        lambda m: m.add_open_spline([*((x, y, 0) for x, y in square(0, 0, 10)), (0, 0, 0)], degree=1),
        100.0,
    ),
    "a rational spline that is a circle": (
        lambda m: m.add_rational_spline(
            [(10, 0), (10, 10), (0, 10), (-10, 10), (-10, 0), (-10, -10), (0, -10), (10, -10), (10, 0)],
            weights=[1, math.sqrt(0.5)] * 4 + [1],
            degree=2,
            knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
        ),
        math.pi * 100,
    ),
    "a filled quadrangle": (lambda m: m.add_solid([(0, 0), (10, 0), (0, 10), (10, 10)]), 100.0),
    "a ring by two circles on one layer": (
        lambda m: (m.add_circle((0, 0), 10), m.add_circle((0, 0), 5)),
        math.pi * 75,
    ),
    "an outline drawn twice": (lambda m: (m.add_circle((0, 0), 10), m.add_circle((0, 0), 10)), math.pi * 100),
    "a mirrored plane": (
        lambda m: m.add_lwpolyline(
            [(0, 0, 1), (20, 0, 1)], "xyb", close=True, dxfattribs={"extrusion": (0, 0, -1), "elevation": 3}
        ),
        math.pi * 100,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CLOSED_FORMS)
def test_areas_are_those_of_the_closed_form(case: str) -> None:
    """Within what chords of FLAT can differ: a share of two thousandths (closed forms of plane geometry)."""
    draw, area = CLOSED_FORMS[case]
    assert one(read_dxf(dxf_bytes(lambda _, m: draw(m)), "case.dxf")) == pytest.approx(area, rel=2e-3)


def nested_blocks(document: Document, model: Modelspace) -> None:
    """A leaf of bulges, an ellipse, a spline and a circle, in a block in a block, scaled, turned and mirrored.

    The spline has control points: through fit points, the library fits another curve once they are scaled unevenly.
    """
    leaf = document.blocks.new("leaf", base_point=(1, 2))
    leaf.add_lwpolyline([(0, 0, 0.5), (6, 0, 0.3), (3, 5, 0)], "xyb", close=True)
    leaf.add_ellipse((12, 2), (2, 1), 0.5)
    leaf.add_open_spline([(20, 0), (26, 0), (26, 8), (18, 6), (20, 0)])
    leaf.add_circle((32, 2), 2, dxfattribs={"extrusion": (0, 0, -1)})
    twig = document.blocks.new("twig")
    twig.add_blockref("leaf", (0, 0), {"rotation": 30, "xscale": 1.5, "yscale": 0.7})
    twig.add_blockref("leaf", (60, 60), {"rotation": -20, "xscale": -1.2, "yscale": 1.2})
    model.add_blockref("twig", (0, 0))
    model.add_blockref("twig", (400, 10), {"rotation": 77, "xscale": 2, "yscale": 2, "zscale": 2})
    model.add_blockref("twig", (10, -290), {"extrusion": (0, 0, -1), "rotation": 10})
    model.add_blockref("leaf", (900, 0), {"column_count": 3, "row_count": 2, "column_spacing": 80, "row_spacing": 20})


def test_blocks_cover_what_ezdxf_explodes_them_to() -> None:
    """The same region as that of the entities that ezdxf makes of the blocks, flattened by its own curves."""
    kept: list[Document] = []
    data = dxf_bytes(lambda d, m: (kept.append(d), nested_blocks(d, m)))
    drawing = read_dxf(data, "case.dxf")

    def exploded(block: Insert) -> list[Polygon]:
        singles = list(block.multi_insert()) if block.mcount > 1 else [block]
        parts = [list(single.virtual_entities()) for single in singles]
        inner = [polygon for part in parts for e in part if isinstance(e, Insert) for polygon in exploded(e)]
        for part in parts:
            curves = [ezdxf_path.make_path(e, level=64) for e in part if not isinstance(e, Insert)]
            lines = [LineString([(p.x, p.y) for p in curve.flattening(0.0005)]) for curve in curves]
            inner += shapely.get_parts(shapely.polygonize([shapely.union_all(lines, grid_size=1e-6)])).tolist()
        return inner

    theirs = shapely.union_all([polygon for e in kept[0].modelspace() for polygon in exploded(e)])
    theirs = shapely.transform(theirs, lambda xy: xy - np.array(theirs.bounds[:2]))
    ours = shapely.union_all([shape.region for shape in drawing.shapes])
    assert len(drawing.shapes) == 3 * 8 + 6 * 4
    assert drawing.not_carried == ()
    assert shapely.hausdorff_distance(ours.boundary, theirs.boundary) < 0.02
    assert ours.symmetric_difference(theirs).area < 0.002 * theirs.area


def test_an_unevenly_scaled_block_has_the_area_of_the_determinant() -> None:
    """Bulges scaled by 3 and 0.5, turned and mirrored: 1.5 times the area of the block (linear algebra)."""

    def draw(document: Document, model: Modelspace) -> None:
        document.blocks.new("disc").add_lwpolyline([(0, 0, 1), (20, 0, 1)], "xyb", close=True)
        model.add_blockref("disc", (5, 5), {"rotation": 33, "xscale": -3, "yscale": 0.5})

    assert one(read_dxf(dxf_bytes(draw), "case.dxf")) == pytest.approx(1.5 * math.pi * 100, rel=1e-3)


HATCHES = {"nested": (0, 300 + 25 - 1), "outermost": (1, 300), "ignore": (2, 400)}


@pytest.mark.parametrize("style", HATCHES)
def test_islands_of_a_hatch_follow_its_style(style: str) -> None:
    """Squares of 20, 10, 5 and 1 mm in each other (source: DXF reference, HATCH group 75)."""
    number, area = HATCHES[style]

    def draw(_: Document, m: Modelspace) -> None:
        hatch = m.add_hatch(color=5)
        hatch.dxf.hatch_style = number
        for place, side in ((0, 20), (5, 10), (7, 5), (9, 1)):
            edges = hatch.paths.add_edge_path(16 if place == 5 else 1 if place == 0 else 0)
            corners = square(place, place, side)
            for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
                edges.add_line(start, end)

    drawing = read_dxf(dxf_bytes(draw), "case.dxf")
    assert sum(shape.region.area for shape in drawing.shapes) == pytest.approx(area, abs=0.01)
    assert {shape.colour for shape in drawing.shapes} == {(0, 0, 255)}


def test_round_edges_of_a_hatch_close_it_whatever_their_direction() -> None:
    """A half disc, an elliptical half the other way round, and a whole circle as island (closed forms)."""

    def draw(_: Document, m: Modelspace) -> None:
        hatch = m.add_hatch(color=1)
        edges = hatch.paths.add_edge_path()
        edges.add_line((-10, 0), (-10, -5))
        edges.add_ellipse((0, -5), (10, 0), 0.5, 180, 360)
        edges.add_line((10, -5), (10, 0))
        edges.add_arc((0, 0), 10, 0, 180)
        hatch.paths.add_edge_path(0).add_arc((0, 0), 2, 0, 360, ccw=False)
        hatch.paths.add_polyline_path([(0, 5, 1), (2, 5, 1)], flags=0)

    area = HALF_DISC + 100 + math.pi * 10 * 5 / 2 - math.pi * 4 - math.pi
    for binary in (False, True):
        assert one(read_dxf(dxf_bytes(draw, binary=binary), "case.dxf")) == pytest.approx(area, rel=1e-3)


def test_lines_that_divide_an_outline_make_neighbours_of_its_parts() -> None:
    """A disc with two chords that cross in its middle: four quarters that share their boundaries."""

    def draw(_: Document, m: Modelspace) -> None:
        m.add_circle((0, 0), 10)
        m.add_line((-10.0, 0), (9.95, 0))
        m.add_line((0, 10.0), (0, -10.0))

    drawing = read_dxf(dxf_bytes(draw), "case.dxf")
    assert [shape.region.area for shape in drawing.shapes] == pytest.approx([math.pi * 25] * 4, rel=2e-3)
    areas = areas_of_drawing(drawing)
    assert len(areas.areas) - len(areas.ground) == 4
    assert shapely.coverage_is_valid([area.region for area in areas.areas])
    (gap,) = [f for f in drawing.not_carried if f.severity == "note"]
    assert gap.what == "a gap of 0.050 mm was closed"
    assert gap.where.startswith('case.dxf, layer "0", at 9.975, 0.00')


def test_gaps_within_the_tolerance_are_closed_and_told_wider_ones_are_left_open_and_told() -> None:
    """Three sides of a square and a fourth that gapes by 0.05 mm here, by 0.3 mm there."""

    def draw(gap: float) -> bytes:
        return dxf_bytes(
            lambda _, m: (
                m.add_lwpolyline([(0, 0), (10, 0), (10, 10), (0, 10)]),
                m.add_line((0, 10), (0, gap)),
                m.add_circle((30, 30), 3),
            )
        )

    closed = read_dxf(draw(0.05), "gap.dxf")
    assert [round(s.region.area) for s in closed.shapes] == [100, 28]
    (told,) = closed.not_carried
    assert (told.what, told.where) == ("a gap of 0.050 mm was closed", 'gap.dxf, layer "0", at 0.000, 0.025')
    left_open = read_dxf(draw(0.3), "gap.dxf")
    assert [round(s.region.area) for s in left_open.shapes] == [28]
    (told,) = left_open.not_carried
    assert told.what == "a line closes nothing and is left out"
    assert "at 0.000, 0." in told.where
    assert told.mend == "Close it, or remove it if it is no outline."


def test_layers_colours_and_names_come_from_where_the_format_puts_them() -> None:
    """By layer, own number, true colour, by block, layer 0 in a block; off, frozen and invisible are left out, told."""

    def draw(d: Document, m: Modelspace) -> None:
        d.layers.add("red", color=1)
        d.layers.add("true", true_color=0x123456)
        d.layers.add("off", color=2).off()
        d.layers.add("frozen").freeze()
        leaf = d.blocks.new("leaf")
        leaf.add_circle((0, 0), 3, dxfattribs={"color": 0})
        leaf.add_circle((0, 20), 2)
        leaf.add_circle((0, 40), 1, dxfattribs={"layer": "true"})
        m.add_blockref("leaf", (0, 0), {"layer": "red", "color": 5})
        m.add_circle((50, 0), 4, dxfattribs={"layer": "red"})
        m.add_circle((70, 0), 5, dxfattribs={"layer": "red", "color": 3})
        m.add_circle((90, 0), 6, dxfattribs={"true_color": 0x0A0B0C})
        m.add_circle((0, 90), 7, dxfattribs={"layer": "off"})
        m.add_circle((0, 90), 7, dxfattribs={"layer": "frozen"})
        m.add_circle((0, 90), 7, dxfattribs={"layer": "red", "invisible": 1})

    drawing = read_dxf(dxf_bytes(draw), "case.dxf")
    assert [(shape.name, shape.colour) for shape in drawing.shapes] == [
        ("", (10, 11, 12)),
        ("red", (0, 255, 0)),
        ("red", (255, 0, 0)),
        ("red", (0, 0, 255)),
        ("red", (255, 0, 0)),
        ("true", (0x12, 0x34, 0x56)),
    ]
    assert {(f.what, f.where) for f in drawing.not_carried} == {
        ("1 entities are hidden and left out", f'case.dxf, layer "{layer}"') for layer in ("off", "frozen", "red")
    }


@pytest.mark.parametrize(
    ("units", "asked", "mm"), [(1, None, 25.4), (4, None, 1.0), (5, None, 10.0), (0, "inch", 25.4), (0, "ft", 304.8)]
)
def test_unit_of_the_file_or_of_the_job_gives_the_true_size(units: int, asked: str | None, mm: float) -> None:
    """A circle of radius 1 (source: DXF reference, $INSUNITS; 1 in = 25.4 mm)."""
    drawing = read_dxf(dxf_bytes(lambda _, m: m.add_circle((0, 0), 1), units), "case.dxf", asked)
    assert drawing.width == pytest.approx(2 * mm, rel=4e-3)
    assert drawing.not_carried == ()


def test_missing_unit_is_asked_for() -> None:
    """Nothing is guessed: the question names the key of the job file."""
    with pytest.raises(DrawingError) as caught:
        read_dxf(dxf_bytes(lambda _, m: m.add_circle((0, 0), 1), 0), "case.dxf")
    assert caught.value.what == "The DXF file does not say what one of its units is ($INSUNITS)"
    assert caught.value.where == "case.dxf"
    assert 'drawing_unit = "mm" in [picture]' in caught.value.mend


def test_unit_of_the_job_that_contradicts_the_file_counts_and_is_told() -> None:
    """The job is the maker's last word."""
    drawing = read_dxf(dxf_bytes(lambda _, m: m.add_circle((0, 0), 1), 1), "case.dxf", "cm")
    assert drawing.width == pytest.approx(20, rel=1e-3)
    (told,) = drawing.not_carried
    assert told.what == "The DXF file says that its unit is 25.4 mm, the job says cm; the job counts"
    assert told.mend == "Leave drawing_unit out if the file is right."


def test_what_is_not_carried_is_listed_with_its_place_and_mend() -> None:
    """Texts, dimensions, points and pictures beside a circle, each once with its number."""

    def draw(_: Document, m: Modelspace) -> None:
        m.add_circle((0, 0), 5)
        m.add_text("one", dxfattribs={"layer": "words"})
        m.add_mtext("two", dxfattribs={"layer": "words"})
        m.add_linear_dim((0, 9), (0, 0), (5, 0)).render()
        m.add_point((1, 1))
        m.add_xline((0, 0), (1, 0))

    drawing = read_dxf(dxf_bytes(draw), "case.dxf")
    told = {f.what: f for f in drawing.not_carried}
    assert set(told) == {f"a {word} is not carried over" for word in ("text", "dimension", "point", "endless line")}
    assert told["a text is not carried over"].where.startswith('case.dxf, layer "words", TEXT ')
    assert told["a text is not carried over"].where.endswith(" and 1 more")
    assert all(finding.mend.endswith(".") and finding.severity == "look" for finding in told.values())


def test_the_width_of_a_line_is_told_with_its_place_and_its_middle_counts() -> None:
    """DXF reference: 43 a polyline's constant width, 40 and 41 those of a part, 370 the pen's in hundredths of a mm."""

    def square(left: float) -> list[tuple[float, float]]:
        return [(left, 0), (left + 10, 0), (left + 10, 10), (left, 10)]

    def draw(_: Document, m: Modelspace) -> None:
        m.add_lwpolyline(square(0), close=True, dxfattribs={"const_width": 2.0})
        m.add_lwpolyline([(x, y, 0.0, 1.0) for x, y in square(20)], "xyse", close=True)
        m.add_polyline2d(square(40), close=True, dxfattribs={"default_start_width": 1.0})
        m.add_lwpolyline(square(60), close=True, dxfattribs={"lineweight": 50})
        m.add_lwpolyline(square(80), close=True)

    drawing = read_dxf(dxf_bytes(draw), "wide.dxf")
    assert [round(shape.region.area, 6) for shape in drawing.shapes] == [100.0] * 5
    wide, pen = drawing.not_carried
    assert (wide.severity, wide.what) == ("look", "the width of a line is not carried over: its middle counts")
    assert wide.where.startswith('wide.dxf, layer "0", LWPOLYLINE ')
    assert wide.where.endswith(" and 2 more")
    assert wide.mend == "Turn the line into its outline if its width is meant."
    assert (pen.severity, pen.what) == ("note", "the width of a pen is not carried over: its line is an outline")
    assert pen.mend == "Nothing, if the line is meant as an outline."


def test_an_end_that_stands_over_a_little_is_cut_off_and_told_with_its_place() -> None:
    """A side that runs 0.06 mm past its corner; one that runs 0.5 mm past it closes nothing and is worth a look."""

    def draw(over: float) -> bytes:
        corners = [((0, 0), (10, 0)), ((10, 0), (10, 10)), ((10, 10), (0, 10)), ((0, 10), (0, -over))]
        return dxf_bytes(lambda _, m: [m.add_line(start, end) for start, end in corners])

    drawing = read_dxf(draw(0.06), "over.dxf")
    (told,) = drawing.not_carried
    assert [shape.region.area for shape in drawing.shapes] == pytest.approx([100.0])
    assert (told.severity, told.what) == ("note", "an end that stands over by no more than 0.1 mm is cut off")
    assert told.where == 'over.dxf, layer "0", at 0.000, -0.030'
    assert told.mend == "Nothing, if the line was only drawn too far."
    (told,) = read_dxf(draw(0.5), "over.dxf").not_carried
    assert (told.severity, told.what) == ("look", "a line closes nothing and is left out")
    assert not read_dxf(draw(0.005), "over.dxf").not_carried


def test_two_sides_that_run_past_their_corner_make_no_crumb_of_an_outline() -> None:
    """Both ends stand over by 0.05 mm: the square is kept, the crossing is told once, and no gap was closed."""
    corners = [((-0.05, 0), (10, 0)), ((10, 0), (10, 10)), ((10, 10), (0, 10)), ((0, 10), (0, -0.05))]
    drawing = read_dxf(dxf_bytes(lambda _, m: [m.add_line(start, end) for start, end in corners]), "over.dxf")
    (told,) = drawing.not_carried
    assert [shape.region.area for shape in drawing.shapes] == pytest.approx([100.0])
    assert told.what == "an end that stands over by no more than 0.1 mm is cut off"
    assert told.where.startswith('over.dxf, layer "0", at -0.01')
    assert told.mend == "Nothing, if the line was only drawn too far."
