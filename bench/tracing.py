"""How true traced boundaries are: drawings of known geometry are rendered, traced and compared with themselves.

Run: python bench/tracing.py [--json FILE] [--quick]

Prints, for each drawing and kind of picture, mean and 95th percentile of the distance between traced and true boundary
(both ways, in px, sampled every half pixel, the frame left out), the mean distance of true corners and junctions of
areas of 25 degrees and more from the traced ones, the area left uncovered, areas too many or too few, and the
processor time as a multiple of that of `cv2.findContours` on the same labels.
"""

import argparse
import io
import json
import math
import re
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import cv2
import numpy as np
import resvg_py
import shapely
from PIL import Image, ImageFilter
from shapely import Point, Polygon, affinity

from purfle.artwork import areas_of_picture
from purfle.artwork.colour import lab_of
from purfle.files.picture import read_picture_bytes
from purfle.model.artwork import OUTSIDE, Areas, Colour, TraceRule

OAK, HOLLY, MAPLE = (201, 163, 107), (245, 239, 225), (232, 204, 152)
WENGE, PADAUK, SAPELE = (44, 34, 32), (179, 61, 37), (90, 62, 46)
WOODS = (HOLLY, WENGE, PADAUK, MAPLE, SAPELE)
TERN = Path(__file__).parent.parent / "examples"

Layer = tuple[Colour, Polygon]

TIP_PX, SHARPEST = 4.5, 25.0
"""See `_is_resolvable`."""


@dataclass(frozen=True)
class Drawing:
    """Shapes from the lowest to the topmost on a ground, y down, in px. `corners`: sharp places of the boundary."""

    name: str
    width: int
    height: int
    ground: Colour
    layers: tuple[Layer, ...]


@dataclass(frozen=True)
class Row:
    drawing: str
    kind: str
    mean_px: float
    p95_px: float
    corners_px: float
    gap_px2: float
    spurious: int
    missing: int
    seconds: float
    times_contours: float


def disc(x: float, y: float, radius: float) -> Polygon:
    return Point(x, y).buffer(radius, quad_segs=128)


def sector(x: float, y: float, radius: float, start: float, end: float) -> Polygon:
    angles = np.radians(np.linspace(start, end, 200))
    rim = np.stack([x + radius * np.cos(angles), y + radius * np.sin(angles)], axis=1)
    return Polygon([(x, y), *rim.tolist()])


def square(x: float, y: float, side: float, angle: float) -> Polygon:
    return affinity.rotate(shapely.box(x - side / 2, y - side / 2, x + side / 2, y + side / 2), angle)


def petal(x: float, y: float, length: float, width: float, angle: float) -> Polygon:
    share = np.linspace(0.0, 1.0, 160)
    half = width / 2 * np.sin(math.pi * share) ** 0.8
    upper = np.stack([x + length * share, y + half], axis=1)
    lower = np.stack([x + length * share, y - half], axis=1)[::-1]
    return affinity.rotate(Polygon(np.concatenate([upper, lower[1:-1]])), angle, origin=(x, y))


def discs() -> Drawing:
    layers = [(WOODS[n % 5], disc(60.3 + 95 * (n % 5), 60.7 + 95 * (n // 5), 6.0 + 2.05 * n)) for n in range(15)]
    return Drawing("discs", 500, 320, OAK, tuple(layers))


def rings() -> Drawing:
    layers: list[Layer] = []
    for n in range(6):
        x, y, radius = 90.2 + 160 * (n % 3), 85.4 + 160 * (n // 3), 68.3 - 5.1 * n
        layers += [(WOODS[n % 5], disc(x, y, radius)), (WOODS[(n + 1) % 5], disc(x, y, radius * 0.62))]
        layers.append((WOODS[(n + 2) % 5], disc(x + 1.3, y, radius * 0.3)))
    return Drawing("rings", 500, 340, OAK, tuple(layers))


def sectors() -> Drawing:
    layers: list[Layer] = []
    for n in range(6):
        x, y, radius, count = 90.2 + 160 * (n % 3), 85.4 + 160 * (n // 3), 70.3 - 4.0 * n, 3 + n % 3
        for part in range(count):
            start = 11.0 + 17 * n + 360 / count * part
            layers.append((WOODS[(n + part) % 5], sector(x, y, radius, start, start + 360 / count)))
    return Drawing("sectors", 500, 340, OAK, tuple(layers))


def squares() -> Drawing:
    layers: list[Layer] = []
    for n in range(8):
        x, y, side = 70.4 + 120 * (n % 4), 80.2 + 160 * (n // 4), 88.0 - 5 * n
        layers.append((WOODS[n % 5], square(x, y, side, 11.0 * n)))
        layers.append((WOODS[(n + 2) % 5], square(x + 3, y - 2, side * 0.45, 11.0 * n + 20)))
    return Drawing("squares", 500, 320, OAK, tuple(layers))


def flower() -> Drawing:
    layers: list[Layer] = [(SAPELE, petal(300, 300, 250, 60, 20 + 60 * n)) for n in range(6)]
    layers += [(HOLLY if n % 2 else MAPLE, petal(300, 300, 230, 70, 50 + 60 * n)) for n in range(6)]
    layers += [(PADAUK, disc(300.4, 299.7, 44.0)), (WENGE, disc(300.4, 299.7, 20.0))]
    return Drawing("flower", 600, 600, OAK, tuple(layers))


def svg_drawing(path: Path, width: int) -> Drawing:
    """A drawing from an SVG that holds nothing but plainly filled paths of M, L, C, Z and a circle's arcs."""
    text = path.read_text("utf-8")
    left, top, wide, high = (float(v) for v in re.search(r'viewBox="([^"]+)"', text).group(1).split())
    room = 0.03 * wide
    scale = width / (wide + 2 * room)
    layers: list[Layer] = []
    for tag in re.findall(r"<path[^>]*>", text):
        fill = re.search(r'fill="#([0-9a-f]{6})"', tag)
        data = re.search(r'\bd="([^"]+)"', tag)
        if fill and data:
            shape = (path_points(data.group(1)) - [left - room, top - room]) * scale
            colour = tuple(int(fill.group(1)[n : n + 2], 16) for n in (0, 2, 4))
            layers.append((colour, Polygon(shape)))
    return Drawing(path.stem, width, round((high + 2 * room) * scale), OAK, tuple(layers))


def path_points(data: str) -> np.ndarray:
    points: list[np.ndarray] = []
    for letter, rest in re.findall(r"([MLCZa])([^MLCZa]*)", data):
        numbers = [float(v) for v in re.findall(r"-?\d*\.?\d+", rest)]
        if letter in "ML":
            points += [np.array(numbers[n : n + 2]) for n in range(0, len(numbers), 2)]
        elif letter == "C":
            for n in range(0, len(numbers), 6):
                control = np.array([points[-1], *np.array(numbers[n : n + 6]).reshape(3, 2)])
                t = np.linspace(0, 1, 60)[1:, None]
                s = 1 - t
                curve = s**3 * control[0] + 3 * s * s * t * control[1] + 3 * s * t * t * control[2] + t**3 * control[3]
                points += list(curve)
        elif letter == "a":
            # half a circle: rx ry turn large sweep dx dy
            radius, step = numbers[0], np.array(numbers[5:7])
            middle = points[-1] + step / 2
            first = math.atan2(*(points[-1] - middle)[::-1])
            turn = first + math.pi * np.linspace(0, 1, 100)[1:]
            points += list(middle + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    return np.array(points)


def drawings() -> list[Drawing]:
    found = [discs(), rings(), sectors(), squares(), flower()]
    for path in sorted(TERN.glob("**/tern.svg")):
        found.append(svg_drawing(path, 1600))
    return found


def rendered(drawing: Drawing) -> np.ndarray:
    """The drawing as resvg renders it, rgb."""
    paths = "".join(
        f'<path fill="#{"{:02x}{:02x}{:02x}".format(*colour)}" d="{_path_of(shape)}"/>'
        for colour, shape in drawing.layers
    )
    size = f'width="{drawing.width}" height="{drawing.height}"'
    ground = f'<rect {size} fill="#{"{:02x}{:02x}{:02x}".format(*drawing.ground)}"/>'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{ground}{paths}</svg>'
    return np.array(Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg)))).convert("RGB"))


def _path_of(shape: Polygon) -> str:
    return " ".join(
        "M" + " L".join(f"{x:.5f},{y:.5f}" for x, y in ring.coords[:-1]) + " Z"
        for ring in (shape.exterior, *shape.interiors)
    )


def coded(pixels: np.ndarray, kind: str) -> bytes:
    """The picture as a file: png, q90, q75, q50, blur (1 px, png) or photo (noise 2, light 8 %, q75)."""
    image, out = Image.fromarray(pixels), io.BytesIO()
    if kind == "photo":
        row, column = np.mgrid[: pixels.shape[0], : pixels.shape[1]]
        light = 0.96 + 0.08 * (0.6 * column / pixels.shape[1] + 0.4 * row / pixels.shape[0])
        noisy = pixels * light[..., None] + np.random.default_rng(1).normal(0.0, 2.0, pixels.shape)
        image, kind = Image.fromarray(np.clip(np.rint(noisy), 0, 255).astype(np.uint8)), "q75"
    if kind == "blur":
        image, kind = image.filter(ImageFilter.GaussianBlur(1.0)), "png"
    image.save(out, "PNG") if kind == "png" else image.save(out, "JPEG", quality=int(kind[1:]))
    return out.getvalue()


def true_faces(drawing: Drawing) -> list[Layer]:
    """What is visible of every layer, and the ground; one polygon for each connected area of one colour."""
    frame = shapely.box(0, 0, drawing.width, drawing.height)
    by_colour: dict[Colour, list[Polygon]] = {}
    covered = Polygon()
    for colour, shape in reversed(((drawing.ground, frame), *drawing.layers)):
        seen = shapely.difference(shapely.intersection(shape, frame), covered)
        by_colour.setdefault(colour, []).append(seen)
        covered = shapely.union(covered, shape)
    faces = []
    for colour, parts in by_colour.items():
        # grown and shrunk by a hair: shapes drawn side by side leave no slits of rounding between them
        joined = shapely.union_all(parts).buffer(1e-4, join_style="mitre").buffer(-1e-4, join_style="mitre")
        faces += [(colour, part) for part in shapely.get_parts(joined) if part.area > 8.0]
    return faces


def true_lines(faces: list[Layer], frame: Polygon) -> shapely.Geometry:
    lines = shapely.union_all([face.boundary for _, face in faces])
    return shapely.difference(lines, frame.boundary.buffer(0.01))


def sampled(lines: shapely.Geometry) -> np.ndarray:
    """Points every half pixel along all lines: even ones, however closely the vertices of a line lie."""
    found = []
    for line in shapely.get_parts(shapely.line_merge(lines)):
        count = max(int(2.0 * line.length), 1)
        found.append(shapely.line_interpolate_point(line, (np.arange(count) + 0.5) / count, normalized=True))
    return np.concatenate(found)


def true_corners(faces: list[Layer], frame: Polygon) -> np.ndarray:
    """Resolvable sharp places of the true faces: where the boundary turns by more than 40 degrees over 1 px."""
    found = []
    for _, face in faces:
        for ring in (face.exterior, *face.interiors):
            points = np.asarray(ring.coords)[:-1]
            before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
            turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
            found.append(points[np.abs(turn) > math.radians(40)])
    places = np.unique(np.round(np.concatenate(found), 2), axis=0) if found else np.zeros((0, 2))
    places = places[shapely.distance(shapely.points(places), frame.boundary) > 1.0]
    return places[[_is_resolvable(place, faces) for place in places]] if len(places) else places


def _is_resolvable(place: np.ndarray, faces: list[Layer]) -> bool:
    """Whether every area that runs out in a corner shows in pixels there, being a wedge of 25 degrees or more.

    Such a wedge is 2 px wide where it is 4.5 px from its tip; its share of a disc of that radius shows it.
    """
    corner = Point(place)
    disc_about = corner.buffer(TIP_PX)
    for _, face in faces:
        for part in shapely.get_parts(shapely.intersection(face, disc_about)):
            if part.dwithin(corner, 0.03) and part.area < math.radians(SHARPEST) / 2.0 * TIP_PX**2:
                return False
    return True


def measure(drawing: Drawing, kind: str) -> tuple[Row, Areas]:
    picture = read_picture_bytes(coded(rendered(drawing), kind), drawing.name)
    start = time.process_time()
    areas = areas_of_picture(picture, TraceRule())
    seconds = time.process_time() - start
    frame = shapely.box(0, 0, drawing.width, drawing.height)
    faces = true_faces(drawing)
    truth = true_lines(faces, frame)
    inner = [arc.points for arc in areas.arcs if OUTSIDE not in (arc.left, arc.right)]
    traced = shapely.multilinestrings([shapely.linestrings(_down(points, drawing.height)) for points in inner])
    off = np.concatenate([shapely.distance(sampled(traced), truth), shapely.distance(sampled(truth), traced)])
    corners = true_corners(faces, frame)
    bends = shapely.multipoints(_sharp_places(inner, drawing.height))
    corner = float(np.mean(np.minimum(shapely.distance(shapely.points(corners), bends), 5.0))) if len(corners) else 0.0
    gap = abs(sum(area.region.area for area in areas.areas) - frame.area)
    spurious, missing = _matched(areas, faces, drawing.height)
    contours = contour_seconds(areas, drawing.width, drawing.height)
    numbers = (float(off.mean()), float(np.quantile(off, 0.95)), corner, gap)
    return Row(drawing.name, kind, *numbers, spurious, missing, seconds, seconds / contours), areas


def _down(points: np.ndarray, height: int) -> np.ndarray:
    return np.stack([points[:, 0], height - points[:, 1]], axis=1)


def _sharp_places(arcs: list[np.ndarray], height: int) -> np.ndarray:
    places = [arc[[0, -1]] for arc in arcs]
    for arc in arcs:
        step = np.diff(arc, axis=0)
        turn = np.arctan2(step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0], (step[:-1] * step[1:]).sum(axis=1))
        places.append(arc[1:-1][np.abs(turn) > math.radians(25)])
    return _down(np.concatenate(places), height)


def _matched(areas: Areas, faces: list[Layer], height: int) -> tuple[int, int]:
    """Traced areas that no true one of that colour matches, and true ones that no traced one does (half overlap)."""

    def flipped(points: np.ndarray) -> np.ndarray:
        return _down(points, height)

    traced = [(area.colour, shapely.transform(area.region, flipped)) for area in areas.areas]
    used: set[int] = set()
    spurious = 0
    for colour, region in traced:
        best = None
        for number, (true_colour, face) in enumerate(faces):
            like = np.linalg.norm(lab_of(np.array(colour)) - lab_of(np.array(true_colour))) < 12
            if number not in used and like and region.intersection(face).area > 0.5 * max(region.area, face.area):
                best = number
        if best is None:
            spurious += 1
        else:
            used.add(best)
    return spurious, len(faces) - len(used)


def contour_seconds(areas: Areas, width: int, height: int) -> float:
    """Processor time that `cv2.findContours` takes for the labels of these areas: the best of three."""
    labels = np.zeros((height, width), np.uint8)
    for area in areas.areas:
        rings = [area.region.exterior, *area.region.interiors]
        points = [np.round(_down(np.asarray(ring.coords), height) - 0.5).astype(np.int32) for ring in rings]
        cv2.fillPoly(labels, points, area.number % 251 + 1)
    best = math.inf
    for _ in range(3):
        start = time.process_time()
        for value in np.unique(labels):
            cv2.findContours((labels == value).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
        best = min(best, time.process_time() - start)
    return best


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description="Traced against true boundaries.")
    parser.add_argument("--json", type=Path, help="write the figures to this file")
    parser.add_argument("--quick", action="store_true", help="png and q75 only")
    options = parser.parse_args(arguments)
    kinds = ("png", "q75") if options.quick else ("png", "q90", "q75", "q50", "blur", "photo")
    rows = [measure(drawing, kind)[0] for kind in kinds for drawing in drawings()]
    head = f"{'drawing':10}{'kind':7}{'mean':>7}{'p95':>7}{'corner':>8}{'gap':>9}{'+':>4}{'-':>4}{'s':>7}{'x cv2':>7}"
    print(head)
    for row in rows:
        print(
            f"{row.drawing:10}{row.kind:7}{row.mean_px:7.3f}{row.p95_px:7.3f}{row.corners_px:8.2f}{row.gap_px2:9.1e}"
            f"{row.spurious:4d}{row.missing:4d}{row.seconds:7.2f}{row.times_contours:7.0f}"
        )
    for kind in kinds:
        mine = [row for row in rows if row.kind == kind]
        mean, p95 = (float(np.mean([getattr(row, key) for row in mine])) for key in ("mean_px", "p95_px"))
        print(f"{'all':10}{kind:7}{mean:7.3f}{p95:7.3f}   spurious {sum(row.spurious for row in mine)}")
    if options.json:
        options.json.write_text(json.dumps([asdict(row) for row in rows], indent=1) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
