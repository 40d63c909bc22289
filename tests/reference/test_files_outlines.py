"""Outline files against readers that are not ours: resvg for SVG, ezdxf for DXF, and closed forms for both."""

import io
import math
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import resvg_py
import shapely
from ezdxf.document import Drawing
from PIL import Image

from purfle.files.outline_dxf import write_outline_dxf
from purfle.files.outline_svg import write_outline_svg
from purfle.model.cutting import CutLine, SetUp
from sample import tern_result

RESULT = tern_result()
BOARD = RESULT.cutting.set_ups[0]
SVG = "{http://www.w3.org/2000/svg}"
DPI = 254
"""Ten pixels a mm."""
RADIUS = 12.0
HOLE = 5.0


def washer() -> SetUp:
    """A rounded rectangle of 40 x 30 mm with a round hole, and a disc beside it, on the board."""
    plate = shapely.box(32, 32, 48, 38).buffer(RADIUS, quad_segs=64)
    ring = plate.difference(shapely.Point(40, 35).buffer(HOLE, quad_segs=64))
    disc = shapely.Point(100, 60).buffer(8, quad_segs=64)
    lines = (CutLine("recess-1", "recess", ring, 3.0), CutLine("magnet-2", "recess", disc, 3.0))
    return replace(BOARD, lines=lines)


PLATE_AREA = 40 * 30 - (4 - math.pi) * RADIUS**2 - math.pi * HOLE**2
DISC_AREA = math.pi * 8**2


def paths_of(svg: bytes) -> dict[str, str]:
    return {p.get("id", ""): p.get("d", "") for p in ElementTree.fromstring(svg).iter(f"{SVG}path")}


def rendered(svg: bytes) -> tuple[np.ndarray, float]:
    """Which pixels are filled, and mm a pixel, as resvg shows the file at its own size."""
    root = ElementTree.fromstring(svg)
    width = float(root.get("width", "").removesuffix("mm"))
    thin = svg.decode().replace('stroke-width="0.1"', 'stroke="none"').replace(' stroke="#000000"', "")
    png = bytes(resvg_py.svg_to_bytes(svg_string=thin, dpi=DPI, background="#ffffff"))
    dark = 255 - np.asarray(Image.open(io.BytesIO(png)).convert("L"), float)
    return dark / dark.max(), width / dark.shape[1]


def test_the_svg_shows_known_shapes_at_their_true_size_and_place() -> None:
    """Source: resvg at 254 dpi, areas of circles and rounded rectangles in closed form."""
    svg = write_outline_svg("washer", washer())
    filled, mm = rendered(svg)
    assert mm == pytest.approx(25.4 / DPI, rel=1e-3)
    assert filled.sum() * mm**2 == pytest.approx(PLATE_AREA + DISC_AREA, rel=2e-3)
    row, column = (int(v / mm) for v in (260 + 5 - 60, 100 + 5))
    assert filled[row, column] > 0.9, "the disc lies 100 mm from B and 60 mm from A, y up"
    assert filled[int((265 - 35) / mm), int(45 / mm)] < 0.1, "the hole is open"


def test_the_svg_is_at_true_size_in_mm_with_plain_names() -> None:
    root = ElementTree.fromstring(write_outline_svg("<Möwe> & Söhne", washer()))
    width, height = (float(root.get(key, "").removesuffix("mm")) for key in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
    assert (root.findtext(f"{SVG}title") or "").startswith("<Möwe> & Söhne, set-up 1")
    groups = [g.get("id") for g in root.iter(f"{SVG}g")]
    assert groups == ["set-up-1", "stock", "recess"]
    assert set(paths_of(write_outline_svg("x", washer()))) == {"stock-outline", "recess-1", "magnet-2"}


def test_round_lines_stay_arcs_in_both_files() -> None:
    commands = paths_of(write_outline_svg("washer", washer()))
    assert [commands["magnet-2"].count(letter) for letter in "MLAZ"] == [1, 0, 4, 1]
    assert [commands["recess-1"].count(letter) for letter in "MAZ"] == [2, 8, 2]
    assert set("".join(commands.values())) <= set("MLAZ 0123456789.-")
    bulged = [sum(1 for corner in p if corner[4]) for p in polylines(drawing_of(washer()), "SET-UP-1")]
    assert sorted(bulged) == [4, 4, 4]


def drawing_of(set_up: SetUp) -> Drawing:
    return ezdxf.read(io.StringIO(write_outline_dxf("washer", set_up).decode()))


def polylines(drawing: Drawing, layer: str) -> list:
    return list(drawing.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'))


def bulged_area(corners: list[tuple[float, float, float]]) -> float:
    """Area of a closed polyline with bulges, signed. Source: shoelace formula plus circular segments,
    r^2 / 2 (a - sin a) with a = 4 atan(bulge) and chord = 2 r sin(a / 2)."""
    area = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        area += (x0 * y1 - x1 * y0) / 2
        if bulge:
            angle = 4 * math.atan(bulge)
            radius = math.dist((x0, y0), (x1, y1)) / 2 / math.sin(abs(angle) / 2)
            area += radius**2 / 2 * (angle - math.sin(angle))
    return area


def test_the_dxf_holds_known_shapes_at_their_true_size() -> None:
    """Source: DXF reference, LWPOLYLINE bulges; areas in closed form."""
    drawing = drawing_of(washer())
    named: dict[str, float] = {}
    for polyline in polylines(drawing, "SET-UP-1"):
        name = polyline.get_xdata("PURFLE")[0].value
        named[name] = named.get(name, 0.0) + bulged_area([(c[0], c[1], c[4]) for c in polyline])
    assert named["recess-1"] == pytest.approx(PLATE_AREA, rel=2e-4)
    assert named["magnet-2"] == pytest.approx(DISC_AREA, rel=2e-4)
    (stock,) = polylines(drawing, "STOCK")
    assert bulged_area([(c[0], c[1], c[4]) for c in stock]) == 420 * 260


@pytest.mark.parametrize("number", range(len(RESULT.cutting.set_ups)))
def test_every_dxf_passes_the_audit_of_ezdxf(number: int) -> None:
    set_up = RESULT.cutting.set_ups[number]
    drawing = drawing_of(set_up)
    audit = drawing.audit()
    assert audit.errors == []
    assert audit.fixes == []
    assert (drawing.dxfversion, drawing.units) == ("AC1015", 4)
    assert {e.dxf.layer for e in drawing.modelspace()} == {f"SET-UP-{set_up.number}", "STOCK"}
    assert all(p.closed and p.dxftype() == "LWPOLYLINE" for p in drawing.modelspace())
    named = {p.get_xdata("PURFLE")[0].value for p in polylines(drawing, f"SET-UP-{set_up.number}")}
    assert named == {line.id for line in set_up.lines}


def test_the_same_set_up_gives_the_same_bytes_without_a_date_or_a_version_of_the_library() -> None:
    again = tern_result().cutting.set_ups[0]
    assert write_outline_svg("Tern lid", again) == write_outline_svg("Tern lid", BOARD)
    data = write_outline_dxf("Tern lid", again)
    assert data == write_outline_dxf("Tern lid", BOARD)
    assert ezdxf.__version__ not in data.decode()


def test_a_job_with_a_strange_name_still_gives_files_that_open() -> None:
    name = 'Möwe "1" <& 🐦\nzwei'
    assert ElementTree.fromstring(write_outline_svg(name, BOARD)).tag == f"{SVG}svg"
    drawing = ezdxf.read(io.StringIO(write_outline_dxf(name, BOARD).decode("utf-8")))
    assert drawing.audit().errors == []
