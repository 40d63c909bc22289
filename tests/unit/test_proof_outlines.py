"""SVG and DXF outline files are read by their published rules, and anything that could mislead is refused."""

import io
import math

import ezdxf
import numpy as np
import pytest

from proof_fixture import MOON, TILE, Line, Rounded, dxf, job_files, lines_of, outline_of, svg
from purfle.errors import ProgramError
from purfle.proof.outlines_dxf import read_dxf
from purfle.proof.outlines_svg import read_svg
from purfle.proof.regions import Sandwich

SVG = svg(lines_of(1), outline_of(1), 1).decode()
DXF = dxf(lines_of(1), outline_of(1), 1).decode()


def area(shape: Rounded) -> float:
    """Closed form: a rectangle less what its four round corners lack."""
    return 4 * shape.half_x * shape.half_y - (4 - math.pi) * shape.corner**2


@pytest.mark.parametrize("shape", [MOON, TILE, Rounded(60, 50, 20, 10, 2)])
def test_an_outline_has_the_area_and_place_of_its_closed_form_in_both_formats(shape: Rounded) -> None:
    line = [Line("a", "recess", 2.0, shape)]
    for read, data in ((read_svg, svg(line, outline_of(1), 1)), (read_dxf, dxf(line, outline_of(1), 1))):
        found = read("a", data, 1).lines["a"]
        # flattening stays within 0.0005 mm inside the arcs
        assert 0 <= area(shape) - found.area < 0.0005 * 2 * math.pi * shape.corner + 1e-4
        bounds = (shape.x - shape.half_x, shape.y - shape.half_y, shape.x + shape.half_x, shape.y + shape.half_y)
        np.testing.assert_allclose(found.bounds, bounds, atol=0.0006)


def test_holes_are_kept_in_both_formats() -> None:
    ring = svg([Line("a", "recess", 2.0, MOON)], outline_of(1), 1).decode()
    hole = MOON.offset(-5)
    ring = ring.replace(' Z" fill-rule', f' Z {hole.svg()}" fill-rule')
    found = read_svg("a", ring.encode(), 1).lines["a"]
    assert len(found.interiors) == 1
    assert found.area == pytest.approx(area(MOON) - area(hole), abs=0.1)
    two = dxf([Line("a", "recess", 2.0, MOON), Line("a", "recess", 2.0, hole)], outline_of(1), 1)
    assert Sandwich(found, 0.001).difference(read_dxf("a", two, 1).lines["a"]).nothing
    with pytest.raises(ProgramError) as error:
        read_svg("a", ring.replace('fill-rule="evenodd"', "").encode(), 1)
    assert "no even-odd rule" in error.value.what


def test_an_arc_of_more_than_a_half_circle_is_read_from_its_flags() -> None:
    """SVG 1.1 F.6: large-arc and sweep flags; three quarters of a disc of radius 10 and its chord triangle."""
    path = "M10 0 A10 10 0 1 1 0 -10 Z"
    data = SVG.replace(lines_of(1)[0].shape.svg(), path)
    found = read_svg("a", data.encode(), 1).lines["recess-1"]
    assert found.area == pytest.approx(0.75 * math.pi * 100 + 50, abs=0.02)
    small = read_svg("a", data.replace("0 1 1 0 -10", "0 0 0 0 -10").encode(), 1).lines["recess-1"]
    assert small.area == pytest.approx(0.25 * math.pi * 100 - 50, abs=0.02)


def test_a_bulge_turns_as_the_published_rule_says() -> None:
    """Against an independent reader: ezdxf's bulge_to_arc for a few bulges of either sign."""
    from ezdxf.math import bulge_to_arc

    from purfle.proof.outlines import bend

    for bulge in (0.1, -0.3, 1.0, -1.5, 2.4):
        centre, _, _, radius = bulge_to_arc((1, 2), (4, 3), bulge)
        ring = [(1.0, 2.0)]
        bend(ring, (4.0, 3.0), 4 * math.atan(bulge))
        away = np.hypot(*(np.array(ring) - tuple(centre)).T)
        np.testing.assert_allclose(away, radius, rtol=1e-9)
        middle = np.array(ring)[len(ring) // 2]
        side = np.sign((4 - 1) * (middle[1] - 2) - (3 - 2) * (middle[0] - 1))
        assert side == -np.sign(bulge), "a positive bulge runs counter-clockwise, so it lies right of its chord"


def test_a_whole_drawing_of_an_independent_writer_is_read() -> None:
    """ezdxf writes the drawing; the area is a closed form."""
    drawing = ezdxf.new("R2000", units=4)
    drawing.appids.new("PURFLE")
    points = [
        point for x0, y0, x1, y1, *_ in TILE.corners() for point in ((x0, y0, math.tan(math.pi / 8)), (x1, y1, 0))
    ]
    line = drawing.modelspace().add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "SET-UP-1"})
    line.set_xdata("PURFLE", [(1000, "recess-2")])
    drawing.modelspace().add_lwpolyline([(0, 0), (200, 0), (200, 120)], close=True, dxfattribs={"layer": "STOCK"})
    text = io.StringIO()
    drawing.write(text)
    found = read_dxf("a", text.getvalue().encode(), 1)
    assert found.lines["recess-2"].area == pytest.approx(area(TILE), abs=0.01)
    assert found.stock.area == pytest.approx(12000)


@pytest.mark.parametrize(
    "old, new, what",
    [
        ('width="200.0mm"', 'width="200"', "not in mm"),
        ('width="200.0mm"', 'width="7.874in"', "not in mm"),
        ('width="200.0mm"', 'width="202.0mm"', "not at true size: its width is shown at 1.01 times"),
        ('viewBox="0 0 200.0 120.0"', "", "no viewBox"),
        ('viewBox="0 0 200.0 120.0"', 'viewBox="0 0 0 120.0"', "the width of the drawing is not above 0"),
        ('width="200.0mm"', 'width="2.0.0mm"', "not in mm"),
        ("-1 0 120.0)", "-1 0 240.0)", "does not lie on the page"),
        ('viewBox="0 0 200', 'viewBox="200 0 200', "does not lie on the page"),
        ("matrix(1 0 0 -1", "matrix(1 0 0 1", "does not stand upright"),
        ("matrix(1 0 0 -1", "matrix(-1 0 0 -1", "does not stand upright"),
        ("matrix(1 0 0 -1", "scale(2) matrix(1 0 0 -1", "does not stand upright"),
        ('id="set-up-1"', 'id="set-up-2"', "the group 'set-up-1' is missing"),
        ('<g id="recess">', '<g id="recess" transform="scale(1.01)">', "without a place of their own"),
        ('<g id="recess">', '<g id="engraving">', "'engraving' does not belong here"),
        ('<path id="recess-1"', '<path transform="rotate(1)" id="recess-1"', "without a place of their own"),
        ('id="recess-2"', 'id="recess-1"', "the line 'recess-1' stands twice"),
        ('<g id="stock">', '<g id="stock"><circle r="1"/>', "only paths"),
        ("</svg>", '<rect width="1" height="1"/></svg>', "does not belong here"),
        (' Z"', '"', "a ring is left open"),
        ("A20.05", "C20.05", "something else than M, L, A, Z"),
        ("M", "m", "something else than M, L, A, Z"),
        ("A20.050000 20.050000", "A20.050000 21.0", "not part of a circle"),
        ("A20.050000 20.050000", "A10 10", "too small for its ends"),
        ("<svg", "<svgg", "not an SVG drawing"),
        ("</svg>", "", "not an SVG drawing"),
        ('<?xml version="1.0" encoding="UTF-8"?>', '<!DOCTYPE svg [<!ENTITY a "b">]>', "not a plain SVG drawing"),
    ],
)
def test_an_svg_that_could_mislead_is_refused(old: str, new: str, what: str) -> None:
    assert old in SVG
    with pytest.raises(ProgramError) as error:
        read_svg("a.svg", SVG.replace(old, new).encode(), 1)
    assert any(what in fault.what for fault in error.value.faults), error.value.faults
    assert all(fault.where.startswith("a.svg") and fault.mend for fault in error.value.faults)


POLYLINE = "100\nAcDbPolyline\n"


@pytest.mark.parametrize(
    "old, new, what",
    [
        ("$INSUNITS\n70\n4", "$INSUNITS\n70\n1", "not in mm ($INSUNITS is 1)"),
        ("$INSUNITS", "$MEASUREMENT", "not in mm ($INSUNITS is missing)"),
        ("AC1015", "AC1032", "not of R2000"),
        (POLYLINE, POLYLINE + "230\n-1.0\n", "lifted, widened or turned over (group 230)"),
        (POLYLINE, POLYLINE + "38\n2.0\n", "lifted, widened or turned over (group 38)"),
        (POLYLINE, POLYLINE + "43\n1.0\n", "lifted, widened or turned over (group 43)"),
        ("90\n8\n70\n1", "90\n8\n70\n0", "is open"),
        ("90\n8\n", "90\n9\n", "its corners are not as many"),
        ("SET-UP-1", "SET-UP-2", "does not belong to set-up 1"),
        ("1001\nPURFLE\n1000\nrecess-1\n", "", "with the name '' does not belong"),
        ("1000\nrecess-1\n", "1000\nrecess-1\n1001\nPURFLE\n1000\nx\n", "two names"),
        ("8\nSTOCK", "8\nWOOD", "the outline of the stock is missing"),
        ("0\nLWPOLYLINE\n5", "0\nCIRCLE\n5", "only closed light polylines"),
        ("20\n50.000000", "20\nnan", "'nan' is not a number"),
        ("20\n50.000000", "20\n5x", "'5x' is not a number"),
        ("0\nEOF\n", "", "has no end"),
        ("0\nENDSEC\n0\nSECTION\n2\nENTITIES", "0\nSECTION\n2\nENTITIES", "no name or no end"),
        ("0\nSECTION\n2\nHEADER", "x\nSECTION\n2\nHEADER", "not a DXF drawing"),
    ],
)
def test_a_dxf_that_could_mislead_is_refused(old: str, new: str, what: str) -> None:
    assert old in DXF
    with pytest.raises(ProgramError) as error:
        read_dxf("a.dxf", DXF.replace(old, new).encode(), 1)
    assert any(what in fault.what for fault in error.value.faults), error.value.faults
    assert all(fault.where.startswith("a.dxf") and fault.mend for fault in error.value.faults)


@pytest.mark.parametrize("read, write", [(read_svg, svg), (read_dxf, dxf)])
def test_an_outline_far_off_its_stock_is_refused(read, write) -> None:
    with pytest.raises(ProgramError) as error:
        read("a", write(lines_of(1), [[0, 0], [20, 0], [20, 20], [0, 20]], 1), 1)
    assert "far off its stock" in error.value.what
    assert error.value.where == "a, line 'recess-1'"
    assert error.value.mend


def test_an_outline_that_crosses_itself_is_refused() -> None:
    corner = "M0 0 L10 10 L10 0 L0 10 Z"
    data = SVG.replace(lines_of(1)[0].shape.svg(), corner)
    with pytest.raises(ProgramError) as error:
        read_svg("a.svg", data.encode(), 1)
    assert (error.value.what, error.value.where) == ("the outline crosses itself", "a.svg, line 'recess-1'")
    assert error.value.mend


@pytest.mark.parametrize("data", [b"", b"\x00" * 100, b"<", b"0\nSECTION", b"\x81" * 7])
def test_rubbish_is_refused_by_both_readers(data: bytes) -> None:
    for read in (read_svg, read_dxf):
        with pytest.raises(ProgramError) as error:
            read("a", data, 1)
        assert error.value.where == "a"
        assert error.value.mend


def test_the_job_files_of_the_fixture_hold_the_same_outlines() -> None:
    files = job_files()
    for number in (1, 2, 3):
        one = read_svg("a", files[f"set-up-{number}.svg"], number)
        other = read_dxf("a", files[f"set-up-{number}.dxf"], number)
        assert one.lines.keys() == other.lines.keys()
        for name, region in one.lines.items():
            assert Sandwich(region, 0.001).difference(other.lines[name]).nothing
