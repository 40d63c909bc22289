"""A picture of discs, a ring and a sector, made and read back from the files by readers that share nothing with it.

What was drawn with compasses must come out of the files as true arcs, not as cubics or a hundred chords. Readers: the
tests' own few lines for SVG (path data from memory of SVG 1.1) and for programs, the library ezdxf for DXF.
"""

import io
import math
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image

from conftest import SMALL_SHOP
from program_reader import strokes
from purfle import job as flow
from purfle.artwork.single_curves import Generation, Stretch, _round

Floats = NDArray[np.float64]
Circle = tuple[float, float, float]
SIZE, HEIGHT = 512, 80.0
HALF_SEAM = 0.05
DISCS = {"wenge": (120.0, 130.0, 90.0), "padauk": (380.0, 130.0, 95.0), "hole": (380.0, 130.0, 50.0)}
"""Middle and radius as drawn, px, y down. The hole is the ground inside the ring."""
TIP, RIM, FROM, TO = (140.0, 400.0), 100.0, -120.0, 20.0
SHOP = (
    SMALL_SHOP
    + """\
[[offcut]]
name = "holly"
wood = "holly"
outline = "160 x 80 mm"
thickness = 3.6
[[offcut]]
name = "padauk"
wood = "padauk"
outline = "160 x 60 mm"
thickness = 3.6
[[offcut]]
name = "wenge"
wood = "wenge"
outline = "160 x 60 mm"
thickness = 3.6
"""
)
JOB = f"""
[job]
name = "Compasses"
units = "mm"
[board]
wood = "white oak"
length = 140
width = 110
thickness = 12
[fit]
seam = {2 * HALF_SEAM}
cutter = "1/16 in straight"
[picture]
file = "compasses.png"
height = {HEIGHT}
centred = true
depth = 2
[woods]
"#2c2220" = "wenge"
"#b33d25" = "padauk"
"#f5efe1" = "holly"
"""


def picture() -> bytes:
    """The shapes on oak, rendered four times finer and averaged."""
    ends = [(TIP[0] + RIM * math.cos(a), TIP[1] + RIM * math.sin(a)) for a in np.radians([FROM, TO])]
    sector = f"M{TIP[0]},{TIP[1]} L{ends[0][0]},{ends[0][1]} A{RIM},{RIM} 0 0 1 {ends[1][0]},{ends[1][1]} Z"
    fills = {"wenge": "#2c2220", "padauk": "#b33d25", "hole": "#c9a36b"}
    discs = "".join(f'<circle cx="{x}" cy="{y}" r="{r}" fill="{fills[n]}"/>' for n, (x, y, r) in DISCS.items())
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIZE} {SIZE}">'
        f'<rect width="{SIZE}" height="{SIZE}" fill="#c9a36b"/>{discs}<path d="{sector}" fill="#f5efe1"/></svg>'
    )
    image = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg, width=4 * SIZE)))).convert("RGB")
    out = io.BytesIO()
    image.resize((SIZE, SIZE), Image.Resampling.BOX).save(out, "PNG")
    return out.getvalue()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder: Path = tmp_path_factory.mktemp("compasses")
    (folder / "shop.toml").write_text(SHOP)
    (folder / "job.toml").write_text(JOB)
    (folder / "compasses.png").write_bytes(picture())
    result, made = flow.make(folder)
    assert result.proof is not None
    assert result.proof.proven
    return made


def scale() -> float:
    """mm for one px: the design runs from the top of the ring to the lowest place of the sector."""
    top = min(y - r for _, y, r in DISCS.values())
    lowest = TIP[1] + RIM * math.sin(math.radians(TO))
    return HEIGHT / (lowest - top)


def expected(grown: float) -> list[float]:
    """Radii in mm of wenge disc, ring and hole, larger by `grown` around wood that is let in (the hole smaller)."""
    ways = {"wenge": 1.0, "padauk": 1.0, "hole": -1.0}
    return sorted(radius * scale() + ways[name] * grown for name, (_, _, radius) in DISCS.items())


def circles_of_svg(svg: bytes) -> list[list[Circle]]:
    """For each ring of each path that has arcs alone: the circle of each arc."""
    found = []
    for ring in re.findall(r"M([^MZ]*)Z", svg.decode()):
        if "L" in ring or "A" not in ring:
            continue
        numbers = [float(value) for value in re.findall(r"-?[\d.]+(?:e-?\d+)?", ring)]
        places = [numbers[:2], *(numbers[2 + 7 * n + 5 : 2 + 7 * n + 7] for n in range((len(numbers) - 2) // 7))]
        radii = [numbers[2 + 7 * n] for n in range(len(places) - 1)]
        turns = [numbers[2 + 7 * n + 4] for n in range(len(places) - 1)]
        found.append([_circle(*ends) for ends in zip(places, places[1:], radii, turns, strict=False)])
    return found


def _circle(start: list[float], end: list[float], radius: float, sweep: float) -> Circle:
    """The circle of an arc of less than half a turn. Source: SVG 1.1, F.6.5, from memory."""
    chord = math.dist(start, end)
    rise = math.sqrt(radius**2 - chord**2 / 4)
    side = 1.0 if sweep else -1.0
    normal = (-(end[1] - start[1]) / chord, (end[0] - start[0]) / chord)
    return (
        (start[0] + end[0]) / 2 + side * rise * normal[0],
        (start[1] + end[1]) / 2 + side * rise * normal[1],
        radius,
    )


def circles_of_dxf(dxf: bytes) -> list[list[Circle]]:
    """For each closed polyline whose vertices all have bulges: the circle of each arc."""
    found = []
    for line in ezdxf.read(io.StringIO(dxf.decode("utf-8"))).modelspace().query("LWPOLYLINE"):
        corners = list(line.get_points("xyb"))
        if all(corner[2] != 0.0 for corner in corners):
            arcs = zip(corners, corners[1:] + corners[:1], strict=True)
            shown = [ezdxf.math.bulge_to_arc(one[:2], other[:2], one[2]) for one, other in arcs]
            found.append([(centre.x, centre.y, radius) for centre, _, _, radius in shown])
    return found


def check(rings: list[list[Circle]], radii: list[float]) -> None:
    """Each ring is four arcs of one circle; their radii are these within a hundredth of a millimetre."""
    assert len(rings) == len(radii)
    for ring in rings:
        assert len(ring) == 4
        assert float(np.ptp(np.array(ring), axis=0).max()) <= 0.002
    assert sorted(ring[0][2] for ring in rings) == pytest.approx(sorted(radii), abs=0.01)


def test_discs_and_rings_of_a_picture_are_four_arcs_each_in_svg_and_dxf(files: dict[str, bytes]) -> None:
    recess = next(name.removesuffix(".svg") for name in files if name.endswith("recess-show-face.svg"))
    for read, kind in ((circles_of_svg, "svg"), (circles_of_dxf, "dxf")):
        check(read(files[f"{recess}.{kind}"]), expected(HALF_SEAM))
        parts = [data for name, data in files.items() if "-parts-" in name and name.endswith(f".{kind}")]
        check([ring for data in parts for ring in read(data)], expected(-HALF_SEAM))


def test_discs_stand_as_far_apart_as_drawn(files: dict[str, bytes]) -> None:
    """Ring and hole about one middle, the disc level with them, 260 px away, within 0.03 px."""
    (recess,) = [data for name, data in files.items() if name.endswith("recess-show-face.svg")]
    hole, disc, ring = (rings[0] for rings in sorted(circles_of_svg(recess), key=lambda rings: rings[0][2]))
    off = 0.03 * scale()
    assert math.dist(hole[:2], ring[:2]) <= off
    assert (ring[0] - disc[0], ring[1] - disc[1]) == pytest.approx((260.0 * scale(), 0.0), abs=off)


def test_the_rim_of_a_sector_is_one_circle_and_its_sides_are_lines(files: dict[str, bytes]) -> None:
    """Round corners of the cutter apart, the insert has two lines and one arc, of the radius drawn."""
    (holly,) = [data for name, data in files.items() if "holly" in name and name.endswith(".dxf")]
    lines = ezdxf.read(io.StringIO(holly.decode("utf-8"))).modelspace().query("LWPOLYLINE[layer!='STOCK']")
    (sector,) = lines
    corners = list(sector.get_points("xyb"))
    radii = [
        ezdxf.math.bulge_radius(one[:2], other[:2], one[2])
        for one, other in zip(corners, corners[1:] + corners[:1], strict=True)
        if one[2] != 0.0
    ]
    wide = [radius for radius in radii if radius > 2.0]
    assert len(corners) - len(radii) <= 3
    assert len(wide) <= 2
    assert wide == pytest.approx([RIM * scale() - HALF_SEAM] * len(wide), abs=0.06)


def test_the_last_pass_of_a_disc_is_cut_in_true_arcs(files: dict[str, bytes]) -> None:
    """Most of the way around each disc is G2 and G3 about its middle, half a cutter outside the insert."""
    (program,) = [data for name, data in files.items() if "padauk" in name and name.endswith(".nc")]
    reach = DISCS["padauk"][2] * scale() - HALF_SEAM + 25.4 / 32
    deepest = min(move.end[2] for move in strokes(program))
    round_way = 0.0
    for move in strokes(program):
        if (
            move.centre
            and move.end[2] == deepest
            and math.dist(move.start[:2], move.centre) == pytest.approx(reach, abs=0.01)
        ):
            places = np.array(move.points())
            round_way += float(np.hypot(*np.diff(places, axis=0).T).sum())
    assert round_way >= 0.9 * 2 * math.pi * reach


def test_the_readers_of_this_page_notice_a_polygon() -> None:
    """A disc of a hundred chords is no circle to them: they can fail."""
    way = np.linspace(0.0, 2.0 * np.pi, 100, endpoint=False)
    path = " L".join(f"{x:.5f} {y:.5f}" for x, y in np.stack([np.cos(way), np.sin(way)], axis=1))
    assert circles_of_svg(f'<svg><path d="M{path} Z"/></svg>'.encode()) == []


def test_points_that_bow_to_neither_side_are_no_arc() -> None:
    """A faint S, the same to both sides: the circle through it has its centre beyond what numbers can tell."""
    along = np.linspace(-7.0, 7.0, 15)
    wave = 0.01 * np.sin(2.0 * np.pi * along / 14.0)
    for turn in np.linspace(0.1, 3.0, 40):
        way, side = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        points = np.array([655.5, 286.5]) + along[:, None] * way + wave[:, None] * side
        does, _, _ = _round(Generation.of([Stretch(points, 0.3)]))
        assert not does.any()
