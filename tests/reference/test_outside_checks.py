"""Real files of real jobs against readers and rules that are not ours, each with its source.

Made files, not samples: what holds of writers alone is tested beside them (`test_files_outlines`, `test_files_rs274`).
"""

import io
import json
import math
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import cv2
import ezdxf
import numpy as np
import pypdf
import pypdfium2
import pytest
import resvg_py
import shapely
from numpy.typing import NDArray
from PIL import Image

from conftest import CLASP_JOB, Made, write_clasp
from outline_reader import put_together, seam_widths, svg_lines
from program_reader import cut_at, strokes
from purfle import job
from purfle.files import rs274
from purfle.files.job_toml import load_job

DPI = 600
MM = DPI / 25.4
"""Pixels in a mm."""
OUTLINED = 0.0006
"""How far (mm) a seam between two discs may be from even in SVG and DXF; measured: 0.0005."""
LINE = 0.18
"""Width (mm) of the line round a pattern."""


# --- programs


def test_every_arc_of_every_program_keeps_the_rule_in_mm_and_in_inches(tern_lid: Made) -> None:
    """NIST RS274/NGC: centre to both ends within 0.002 mm, 0.0002 in. The reader of the tests refuses what does not."""
    result, files = tern_lid
    in_inches = replace(result.job, cutting=replace(result.job.cutting, unit="inch"))
    for set_up in result.cutting.set_ups:
        for program in set_up.programs:
            metric = strokes(files[program.file])
            imperial = strokes(rs274.write_program(in_inches, set_up, program).encode())
            # each pass around a round spot is three arcs
            assert sum(s.centre is not None for s in metric) > 2 * len({s.of_pass for s in metric}), program.file
            # the same way in both units: where each pass ends, within the rounding of a ten-thousandth of an inch
            ends = [[s[-1].end for s in _by_pass(moves)] for moves in (metric, imperial)]
            assert np.allclose(ends[0], ends[1], atol=0.003, equal_nan=True)


def _by_pass(moves: list) -> list[list]:
    return [[s for s in moves if s.of_pass == name] for name in dict.fromkeys(s.of_pass for s in moves)]


@pytest.mark.parametrize("number", [0, 3])
def test_what_a_program_cuts_is_the_outline_of_its_svg(tern_lid: Made, number: int) -> None:
    """The last pass swept by GEOS with the cutter on the card: as the SVG shows it, within 0.012."""
    _, files = tern_lid
    card = json.loads(files["assembly.json"])
    set_up = card["set_ups"][number]
    (program,) = set_up["programs"]
    radius = next(c["diameter"] for c in card["cutters"] if c["number"] == program["cutter"]) / 2
    last = [s for s in strokes(files[program["file"]]) if "last pass" in s.of_pass]
    depth = -min(s.end[2] for s in last)
    cut = cut_at(last, depth, radius)
    for name, outline in svg_lines(files[set_up["svg"]]).items():
        inner, outer = outline.buffer(-0.012), outline.buffer(0.012)
        band = outer.difference(inner).length
        kept_clear = outer.buffer(2.0).difference(outer) if set_up["stock"] == "board" else inner
        assert cut.intersection(kept_clear).area < 1e-6 * band, f"{name}: gouged"
        rim = shapely.boundary(inner if set_up["stock"] == "board" else outer)
        assert rim.difference(cut.buffer(1e-6)).length < 1e-3, f"{name}: left uncut beside its wall"


# --- outline files


def test_every_svg_shows_its_lines_at_true_size(tern_lid: Made) -> None:
    """Rendered by resvg at 254 dpi: filled area and extent of all lines together are those of the plan."""
    result, files = tern_lid
    for set_up in result.cutting.set_ups:
        svg = files[f"{result.job.slug}-{set_up.slug}.svg"]
        root = ElementTree.fromstring(svg)
        wide = float(root.get("width", "").removesuffix("mm"))
        bare = re.sub(r'<path id="stock-outline"[^>]*/>', "", svg.decode()).replace(' stroke="#000000"', "")
        png = bytes(resvg_py.svg_to_bytes(svg_string=bare, dpi=254, background="#ffffff"))
        dark = 255 - np.asarray(Image.open(io.BytesIO(png)).convert("L"), float)
        filled = dark / dark.max()
        mm = wide / dark.shape[1]
        assert mm == pytest.approx(0.1, rel=1e-3)
        whole = shapely.union_all([line.region for line in set_up.lines])
        assert filled.sum() * mm**2 == pytest.approx(whole.area, rel=2e-3)
        left, low, right, high = whole.bounds
        for axis, extent in ((0, right - left), (1, high - low)):
            seen = np.flatnonzero(filled.max(axis=axis) > 0.5)
            assert (seen[-1] - seen[0] + 1) * mm == pytest.approx(extent, abs=0.15)


def flattened(polyline: ezdxf.entities.LWPolyline) -> shapely.Polygon:
    """A closed polyline with bulges as ezdxf itself explodes and flattens it."""
    return shapely.Polygon([(v.x, v.y) for v in ezdxf.path.make_path(polyline).flattening(0.0005)])


def test_every_dxf_passes_the_audit_and_holds_the_lines_of_the_plan(tern_lid: Made) -> None:
    """Source: ezdxf (audit, units, its own flattening of bulges)."""
    result, files = tern_lid
    for set_up in result.cutting.set_ups:
        drawing = ezdxf.read(io.StringIO(files[f"{result.job.slug}-{set_up.slug}.dxf"].decode()))
        audit = drawing.audit()
        assert (audit.errors, audit.fixes, drawing.units) == ([], [], ezdxf.units.MM)
        rings: dict[str, list[shapely.Polygon]] = {}
        for polyline in drawing.modelspace().query(f'LWPOLYLINE[layer=="SET-UP-{set_up.number}"]'):
            rings.setdefault(polyline.get_xdata("PURFLE")[0].value, []).append(flattened(polyline))
        assert rings.keys() == {line.id for line in set_up.lines}
        for line in set_up.lines:
            region = shapely.Polygon()
            for ring in rings[line.id]:
                region = region.symmetric_difference(ring)
            assert region.symmetric_difference(line.region).buffer(-0.003).is_empty, line.id
            # of a spot as small as an eye, the flattening of its outline is a larger share
            assert region.area == pytest.approx(line.region.area, rel=5e-4, abs=0.001 * line.region.length)


# --- sheets


@pytest.fixture(scope="module")
def pattern_page(tern_lid: Made) -> NDArray[np.uint8]:
    """The page with the pattern of the recess, rendered by PDFium at 600 dpi."""
    sheets = tern_lid[1]["tern-lid-bench-sheets.pdf"]
    texts = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(sheets)).pages]
    number = next(i for i, text in enumerate(texts) if "Patterns at true size" in text and "picture, recess" in text)
    bitmap = pypdfium2.PdfDocument(sheets)[number].render(scale=DPI / 72, grayscale=True)
    return np.asarray(bitmap.to_numpy()).squeeze()


def longest_run(row: NDArray[np.bool_]) -> tuple[int, int]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    begins, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - begins))
    return int(begins[longest]), int(ends[longest])


def test_a_bar_of_100_mm_is_100_mm_long_on_paper(pattern_page: NDArray[np.uint8]) -> None:
    """Found by its looks, a line of about 100 mm; measured between the middles of its end ticks."""
    ink = pattern_page < 128
    runs = {y: longest_run(ink[y]) for y in range(ink.shape[0] // 2, ink.shape[0]) if ink[y].any()}
    bars = [y for y, (a, b) in runs.items() if 99 * MM < b - a < 101 * MM]
    assert bars, "there is no bar of 100 mm on the page"
    begin, end = runs[bars[0]]
    above = ink[bars[0] - round(1.5 * MM), begin - 5 : end + 5]
    ticks = np.flatnonzero(above) + begin - 5
    left, right = ticks[ticks < begin + MM].mean(), ticks[ticks > end - MM].mean()
    assert (right - left) / MM == pytest.approx(100.0, abs=0.1)


def test_the_pattern_of_the_recess_has_its_size_on_paper(tern_lid: Made, pattern_page: NDArray[np.uint8]) -> None:
    """Its grey, measured both ways and as an area."""
    recess = tern_lid[0].layout.inlays[0].fit.recess
    _, marks, stats, _ = cv2.connectedComponentsWithStats((pattern_page == 0xEC).astype(np.uint8))
    largest = np.argsort(-stats[1:, cv2.CC_STAT_AREA])[: shapely.get_num_geometries(recess)] + 1
    grey = np.isin(marks, largest)
    left, low, right, high = recess.bounds
    for axis, extent in ((0, right - left), (1, high - low)):
        seen = np.flatnonzero(grey.any(axis=axis))
        # half the line that is drawn round it covers the grey at both ends
        assert (seen[-1] - seen[0] + 1) / MM == pytest.approx(extent - LINE, abs=0.1)
    assert grey.sum() / MM**2 == pytest.approx(recess.area - recess.length * LINE / 2, rel=0.005)


# --- analytic shapes, end to end

BARE = (
    CLASP_JOB.split("[woods]")[0] + '[woods]\n"#f2ead8" = "holly"\n[fit]\nseam = "0.1 mm"\ncutter = "1/8 in straight"\n'
)


def drawn(body: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">{body}</svg>'


def test_a_disc_in_a_disc_has_an_even_seam(tmp_path: Path) -> None:
    """Radii 15.05 and 14.95 about one middle: the seam is 0.1 everywhere, read from SVG and DXF within 0.0006."""
    disc = drawn('<circle cx="30" cy="30" r="20" fill="#f2ead8"/>')
    folder = write_clasp(tmp_path / "disc", BARE.replace("height = 40", "height = 30"), disc)
    result, files = job.make(folder)
    assert result.proof
    assert result.proof.proven
    assert [seam.kind for seam in result.proof.seams] == ["programs", "svg", "dxf"]
    for seam in result.proof.seams:
        assert (seam.narrowest, seam.widest) == pytest.approx(
            (0.1, 0.1), abs=0.002 if seam.kind == "programs" else OUTLINED
        )
        assert seam.length == pytest.approx(2 * math.pi * 15, rel=1e-3)
        assert seam.wide_places == ()
    ((recess, parts),) = put_together(files).values()
    _, widths = seam_widths(recess, list(parts.values()), 0.1)
    assert (widths.min(), widths.max()) == pytest.approx((0.1, 0.1), abs=OUTLINED)
    assert recess.area == pytest.approx(math.pi * 15.05**2, rel=2e-4)
    assert parts[1].area == pytest.approx(math.pi * 14.95**2, rel=2e-4)


def test_a_rounded_square_in_inches_has_its_exact_lengths(tmp_path: Path) -> None:
    """2 in square, corners of a quarter inch: sizes and areas in closed form; the board 7 7/8 in long, exact."""
    square = drawn('<rect x="10" y="10" width="40" height="40" rx="5" fill="#f2ead8"/>')
    text = BARE.replace("height = 40", 'height = "2 in"').replace("length = 200", 'length = "7 7/8 in"')
    folder = write_clasp(tmp_path / "square", text, square)
    read = load_job(folder)
    assert (read.board.length, read.picture.height) == (200.025, 50.8)
    result, files = job.make(folder)
    assert result.proof
    assert result.proof.proven
    ((recess, parts),) = put_together(files).values()
    for region, grown in ((recess, 0.05), (parts[1], -0.05)):
        side, corner = 50.8 + 2 * grown, 6.35 + grown
        left, low, right, high = region.bounds
        assert (right - left, high - low) == pytest.approx((side, side), abs=0.004)
        assert region.area == pytest.approx(side**2 - (4 - math.pi) * corner**2, rel=1e-4)
        x, y = region.centroid.coords[0]
        assert (x, y) == pytest.approx((read.board.length / 2, 40 + 25.4), abs=0.003)
