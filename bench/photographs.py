"""How near the areas of a photographed drawing come to those of the drawing itself.

Run: python bench/photographs.py [--json FILE] [--pictures FOLDER] [--only NUMBER]

Ten sheets of our own are printed (drawn at 12 px a mm), photographed by `tests/paper_photograph.py` (a camera at 25
degrees and more, uneven light, a soft shadow, a crease, wood around, blur, noise, JPEG), rectified, evened out and
traced. They are compared with the areas traced from the clean picture of the same sheet at the size of the rectified
one. Prints for each sheet the error of the corners found, the number of areas of both, and the mean and the 95th
percentile of the distance between both boundaries, both ways, in px of the rectified picture.
"""

import argparse
import io
import json
import math
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import cv2
import numpy as np
import resvg_py
import shapely
from PIL import Image

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from paper_photograph import Scene, photographed  # noqa: E402
from purfle.artwork import areas_of_picture  # noqa: E402
from purfle.artwork.photograph import rectified  # noqa: E402
from purfle.files.picture import read_picture_bytes  # noqa: E402
from purfle.model.artwork import OUTSIDE, Areas, Photograph, Picture, TraceRule  # noqa: E402

PRINTED = 12.0
"""Px a mm of the print."""
A4, A4_ACROSS, LETTER = (210.0, 297.0), (297.0, 210.0), (215.9, 279.4)
RED, BLUE, YELLOW, GREEN, DARK, BROWN = "#c23b22", "#2f6690", "#e6b535", "#4f7942", "#2b2524", "#8a5a3a"
SMALLEST_MM2 = 4.0
"""Areas below this are left out of both: nothing that small is cut out."""


@dataclass(frozen=True)
class Sheet:
    name: str
    size: tuple[float, float]
    body: str
    ground: str = "#ffffff"

    def svg(self, px_per_mm: float) -> str:
        wide, high = (round(side * px_per_mm) for side in self.size)
        head = (
            f'width="{wide}" height="{high}" viewBox="0 0 {self.size[0]:g} {self.size[1]:g}" preserveAspectRatio="none"'
        )
        ground = f'<rect width="100%" height="100%" fill="{self.ground}"/>'
        return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{ground}{self.body}</svg>'

    def pixels(self, px_per_mm: float) -> np.ndarray:
        png = bytes(resvg_py.svg_to_bytes(svg_string=self.svg(px_per_mm)))
        return np.array(Image.open(io.BytesIO(png)).convert("RGB"))


@dataclass(frozen=True)
class Row:
    sheet: str
    corners_px: float
    areas: int
    clean: int
    mean_px: float
    p95_px: float
    seconds: float


def tern(holly: str, maple: str) -> str:
    text = (ROOT / "examples" / "tern-lid" / "tern.svg").read_text("utf-8")
    body = text[text.index("<path") : text.index("</svg>")]
    return body.replace("#f5efe1", holly).replace("#e8cc98", maple)


def placed(body: str, x: float, y: float, scale: float = 1.0) -> str:
    return f'<g transform="translate({x:g} {y:g}) scale({scale:g})">{body}</g>'


def disc(x: float, y: float, r: float, fill: str) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" fill="{fill}"/>'


def discs() -> str:
    fills = (RED, BLUE, YELLOW, GREEN, DARK)
    return "".join(disc(38 + 44 * (n % 4), 45 + 50 * (n // 4), 4.0 + 0.9 * n, fills[n % 5]) for n in range(16))


def rings() -> str:
    fills, out = (BLUE, YELLOW, RED, GREEN), ""
    for n in range(9):
        x, y, r = 45 + 60 * (n % 3), 50 + 85 * (n // 3), 27.0 - 1.7 * n
        out += disc(x, y, r, fills[n % 4]) + disc(x, y, 0.64 * r, fills[(n + 1) % 4]) + disc(x + 0.6, y, 0.3 * r, DARK)
    return out


def sectors() -> str:
    fills, out = (RED, YELLOW, BLUE, GREEN, BROWN), ""
    for n in range(6):
        x, y, r, count = 55 + 90 * (n % 3), 55 + 95 * (n // 3), 38.0 - 2 * n, 3 + n % 3
        for part in range(count):
            a, b = (math.radians(13 * n + 360 / count * p) for p in (part, part + 1))
            big = int(360 / count > 180)
            start, end = (f"{x + r * math.cos(turn):.4f},{y + r * math.sin(turn):.4f}" for turn in (a, b))
            out += path(f"M{x},{y} L{start} A{r},{r} 0 {big} 1 {end} Z", fills[(n + part) % 5])
    return out


def square(x: float, y: float, side: float, angle: float, fill: str) -> str:
    place = f'x="{x - side / 2:g}" y="{y - side / 2:g}" width="{side:g}" height="{side:g}"'
    return f'<rect {place} fill="{fill}" transform="rotate({angle:g} {x:g} {y:g})"/>'


def squares() -> str:
    fills, out = (BROWN, GREEN, RED, BLUE), ""
    for n in range(12):
        x, y, side = 45 + 58 * (n % 3), 45 + 70 * (n // 3), 44.0 - 2 * n
        out += square(x, y, side, 11 * n, fills[n % 4])
        out += square(x, y, 0.4 * side, 11 * n + 20, fills[(n + 1) % 4])
    return out


def path(data: str, fill: str, turned: str = "") -> str:
    return f'<path d="{data}" fill="{fill}" transform="{turned}"/>' if turned else f'<path d="{data}" fill="{fill}"/>'


def flower() -> str:
    petal = "M0,0 C18,-26 60,-24 92,0 C60,24 18,26 0,0 Z"
    out = "".join(path(petal, GREEN, f"rotate({30 + 60 * n})") for n in range(6))
    out += "".join(path(petal, (YELLOW, RED)[n % 2], f"rotate({60 * n}) scale(0.92)") for n in range(6))
    return out + disc(0, 0, 17, BROWN) + disc(0, 0, 8, DARK)


def fish() -> str:
    body = "M20,60 C50,10 120,0 175,45 C190,35 205,20 225,15 C215,45 215,80 226,108 C205,100 190,88 175,76 "
    out = path(body + "C120,118 50,110 20,60 Z", BLUE)
    out += path("M20,60 C32,41 48,28 66,20 C78,44 78,78 66,99 C48,92 32,80 20,60 Z", YELLOW)
    out += path("M92,62 C104,52 124,52 138,64 C124,76 104,76 92,62 Z", RED)
    out += path("M84,16 C100,-6 130,-8 150,6 C150,14 146,20 142,25 C124,14 104,12 84,16 Z", GREEN)
    return out + disc(44, 52, 6.5, "#ffffff") + disc(44, 52, 3.2, DARK)


def leaf() -> str:
    half = "M0,150 C-70,110 -62,40 0,-10 L0,150 Z"
    out = path(half, GREEN) + path(half, "#7fa65a", "scale(-1 1)")
    for y in (35, 60, 85, 110):
        end = 46 - abs(70 - y) * 0.28
        out += path(f"M0,{y} L{end:g},{y - 20} L{end - 1:g},{y - 16.5} L0,{y + 4} Z", YELLOW)
    return out + path("M-3,150 L3,150 L5,190 L-1,192 Z", BROWN)


def star() -> str:
    out = ""
    for n in range(16):
        a, b, c = (math.radians(22.5 * n + d) for d in (0, 11.25, -11.25))
        for second, fill in ((b, DARK), (c, YELLOW)):
            p = [(0, 0), (88 * math.cos(a), 88 * math.sin(a)), (52 * math.cos(second), 52 * math.sin(second))]
            out += f'<path fill="{fill}" d="M' + " L".join(f"{x:.3f},{y:.3f}" for x, y in p) + ' Z"/>'
    return out + disc(0, 0, 14, RED)


def sheets() -> list[tuple[Sheet, Scene]]:
    return [
        (Sheet("tern", A4_ACROSS, placed(tern("#f0c98a", "#b9855a"), 55, 45)), Scene(seed=1)),
        (Sheet("discs", A4, discs()), Scene(tilt=30, turn=-35, seed=2, size=(1500, 2000), lamp=0.35)),
        (Sheet("rings", A4, rings()), Scene(tilt=26, turn=60, seed=3, size=(1500, 2000), shadow=0.4)),
        (Sheet("sectors", A4_ACROSS, sectors()), Scene(tilt=33, turn=10, seed=4, crease=7)),
        (Sheet("squares", A4, squares()), Scene(tilt=27, turn=-15, seed=5, size=(1500, 2000), quality=80)),
        (Sheet("flower", LETTER, placed(flower(), 108, 140)), Scene(tilt=29, turn=150, seed=6, size=(1500, 2000))),
        (Sheet("fish", A4_ACROSS, placed(fish(), 26, 45)), Scene(tilt=35, turn=-60, seed=7, noise=3.0, blur=1.1)),
        (Sheet("leaf", A4, placed(leaf(), 105, 50)), Scene(tilt=28, turn=90, seed=8, size=(1500, 2000), shadow=0.45)),
        (Sheet("star", LETTER, placed(star(), 108, 140)), Scene(tilt=31, turn=40, seed=9, size=(3000, 4000), blur=1.6)),
        (
            Sheet("tern on blue", A4_ACROSS, placed(tern("#f5efe1", "#e8cc98"), 55, 45), "#71939e"),
            Scene(tilt=26, turn=-25, seed=10),
        ),
    ]


def clean_areas(sheet: Sheet, size: tuple[int, int]) -> Areas:
    """The areas of the clean picture at the size (wide, high) of the rectified photograph."""
    drawn = cv2.resize(sheet.pixels(PRINTED), size, interpolation=cv2.INTER_AREA)
    return areas_of_picture(Picture(drawn, None, False, sheet.name), TraceRule(smallest_px=smallest(sheet, size)))


def smallest(sheet: Sheet, size: tuple[int, int]) -> float:
    return SMALLEST_MM2 * (size[0] / sheet.size[0]) ** 2


def boundary(areas: Areas, clear: float) -> shapely.Geometry:
    """All boundaries but the frame's and what lies within `clear` of it."""
    inner = [arc.points for arc in areas.arcs if OUTSIDE not in (arc.left, arc.right)]
    lines = shapely.multilinestrings([shapely.linestrings(points) for points in inner])
    return shapely.intersection(lines, shapely.box(clear, clear, areas.width - clear, areas.height - clear))


def distances(one: shapely.Geometry, other: shapely.Geometry) -> np.ndarray:
    def off(a: shapely.Geometry, b: shapely.Geometry) -> np.ndarray:
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(a, 1.0)))
        shapely.prepare(b)
        return np.asarray(shapely.distance(places, b))

    return np.concatenate([off(one, other), off(other, one)])


def measure(sheet: Sheet, scene: Scene, folder: Path | None) -> Row:
    jpeg, corners = photographed(sheet.pixels(PRINTED), sheet.size, scene)
    picture = read_picture_bytes(jpeg, sheet.name)
    start = time.process_time()
    flat = rectified(picture, Photograph(sheet=sheet.size))
    seconds = time.process_time() - start
    high, wide = flat.picture.pixels.shape[:2]
    if folder is not None:
        (folder / f"{sheet.name}.jpg").write_bytes(jpeg)
        Image.fromarray(flat.picture.pixels).save(folder / f"{sheet.name}-flat.png")
    areas = areas_of_picture(flat.picture, TraceRule(smallest_px=smallest(sheet, (wide, high))))
    clean = clean_areas(sheet, (wide, high))
    off = distances(boundary(areas, 0.02 * wide), boundary(clean, 0.02 * wide))
    missed = float(np.linalg.norm(flat.corners - corners, axis=1).mean())
    if folder is not None:
        drawn = flat.picture.pixels.copy()
        for found, colour in ((clean, (0, 160, 0)), (areas, (255, 0, 255))):
            for arc in found.arcs:
                points = np.round(np.stack([arc.points[:, 0], high - arc.points[:, 1]], axis=1) - 0.5).astype(np.int32)
                cv2.polylines(drawn, [points], False, colour, 1)
        Image.fromarray(drawn).save(folder / f"{sheet.name}-areas.png")
    return Row(
        sheet.name,
        missed,
        len(areas.areas),
        len(clean.areas),
        float(off.mean()),
        float(np.quantile(off, 0.95)),
        seconds,
    )


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description="Areas of photographed drawings against those of the drawings.")
    parser.add_argument("--json", type=Path, help="write the figures to this file")
    parser.add_argument("--pictures", type=Path, help="write photographs, rectified pictures and areas to this folder")
    parser.add_argument("--only", type=int, help="one sheet alone, counted from 1")
    options = parser.parse_args(arguments)
    if options.pictures:
        options.pictures.mkdir(parents=True, exist_ok=True)
    asked = sheets() if options.only is None else sheets()[options.only - 1 : options.only]
    print(f"{'sheet':14}{'corners px':>11}{'areas':>7}{'clean':>7}{'mean px':>9}{'p95 px':>8}{'s':>7}")
    rows = []
    for sheet, scene in asked:
        row = measure(sheet, scene, options.pictures)
        print(
            f"{row.sheet:14}{row.corners_px:11.2f}{row.areas:7d}{row.clean:7d}{row.mean_px:9.3f}{row.p95_px:8.3f}{row.seconds:7.2f}",
            flush=True,
        )
        rows.append(row)
    if options.json:
        options.json.write_text(json.dumps([asdict(row) for row in rows], indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
