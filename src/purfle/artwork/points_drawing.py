"""The areas with a grid and a point in each, so that a maker finds the points that edits ask for: SVG or PNG.

The grid is measured from the lower left corner of the design, in the unit of the job, as points in a job file are.
"""

import base64
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from purfle.artwork.inner_lines import inner_lines
from purfle.artwork.picking import said
from purfle.artwork.woods import design_bounds
from purfle.model.artwork import OUTSIDE, Areas, Picture

Floats = NDArray[np.float64]
INCH = 25.4
WIDE = 1100.0
"""Width of the drawing in px; its height follows."""
MARGIN, FOOT = 70.0, 64.0
"""Room for the figures of the grid at the left and the other sides, and below it, px."""
LETTER, SMALL = 17.0, 14.0
"""Height of the words and of the figures of the grid, px."""
DISC, BESIDE = 0.85 * LETTER, 1.9 * LETTER
"""Radius of the discs that numbers stand in; and how far beside a smaller area its disc stands, along both axes."""
ROW = 1.55
"""Rows of the list stand so many letters apart."""
STEPS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
STEPS_INCH = (INCH / 8, INCH / 4, INCH / 2, INCH, 2 * INCH, 4 * INCH)
MOST_LINES = 12
"""The grid's step is the smallest that gives no more lines than this along the longer side."""
LINES_HEAD = "a line inside one area"
PALED = 0.35
"""How much white is laid over a picture, so that lines and words stand out."""
PAPER, INK, GRID_LINE, LINE, HALO = "#f5f6f4", "#1b2321", "#3d6ea8", "#1b2321", "#ffffff"
LETTERS_WIDE = 0.52
"""Width of a letter as a share of its height, on average."""


@dataclass(frozen=True, slots=True)
class Point:
    """One area in the list: its number, what it is called, its colour, and a point inside it as a job file says it.

    `line`: what is said of a line inside one area, "" for all else. `at`: the point in the unit of the areas, and how
    much of the area lies about it on all sides (`room`).
    """

    number: int
    name: str
    colour: str
    written: str
    at: tuple[float, float]
    room: float
    line: str = ""


@dataclass(frozen=True, slots=True)
class _Words:
    at: tuple[float, float]
    text: str
    size: float
    anchor: str


@dataclass(frozen=True, slots=True)
class _Page:
    """What is drawn, in px, y down: an image over a box, filled areas, lines, numbers in discs, words."""

    size: tuple[float, float]
    image: tuple[NDArray[np.uint8], tuple[float, float, float, float]] | None
    fills: tuple[tuple[str, tuple[Floats, ...]], ...]
    lines: tuple[tuple[str, float, Floats], ...]
    discs: tuple[tuple[float, float], ...]
    words: tuple[_Words, ...]


def points_of(areas: Areas, mm_per_unit: float, inches: bool) -> list[Point]:
    """A point well inside each area that is let in, in the order of their numbers."""
    left, low, _, _ = design_bounds(areas)
    lines = {one.line.number: one for one in inner_lines(areas.areas, areas.ground)}
    drawn = [area.number for area in areas.areas if area.number not in areas.ground]
    found: list[Point] = []
    for area in areas.areas:
        if area.number in areas.ground:
            continue
        widest = shapely.maximum_inscribed_circle(area.region)
        x, y = shapely.get_coordinates(widest)[0].tolist()
        mm = ((x - left) * mm_per_unit, (y - low) * mm_per_unit)
        written = ", ".join(f"{one / INCH:.3f}" if inches else f"{one:.1f}" for one in mm)
        line = ""
        if area.number in lines:
            wide, host = lines[area.number].width * mm_per_unit, lines[area.number].host
            width = f"{wide / INCH:.3f} in" if inches else f"{wide:.1f} mm"
            line = f"{width} wide, inside {drawn.index(host.number) + 1}"
        at, room = (x, y), float(widest.length)
        found.append(Point(len(found) + 1, area.name, said(area.colour), written, at, room, line))
    return found


def points_svg(areas: Areas, mm_per_unit: float, inches: bool, picture: Picture | None = None) -> bytes:
    """The areas with grid and points as an SVG that holds everything; over their picture where there is one."""
    page = _page(areas, mm_per_unit, inches, picture)
    wide, high = page.size
    body = [f'<rect width="{wide:.0f}" height="{high:.0f}" fill="{PAPER}"/>']
    if page.image is not None:
        pixels, (x, y, width, height) = page.image
        made, data = cv2.imencode(".jpg", np.ascontiguousarray(pixels[:, :, ::-1]), [cv2.IMWRITE_JPEG_QUALITY, 90])
        assert made
        place = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" preserveAspectRatio="none"'
        body.append(f'<image {place} href="data:image/jpeg;base64,{base64.b64encode(data.tobytes()).decode()}"/>')
    for colour, rings in page.fills:
        body.append(f'<path d="{"".join(_path(ring) + "Z" for ring in rings)}" fill="{colour}" fill-rule="evenodd"/>')
    for colour, width, line in page.lines:
        body.append(f'<path d="{_path(line)}" fill="none" stroke="{colour}" stroke-width="{width:.2f}"/>')
    for x, y in page.discs:
        body.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{DISC:.1f}" fill="{HALO}" stroke="{INK}"/>')
    for one in page.words:
        text = one.text.replace("&", "&amp;").replace("<", "&lt;")
        place = f'x="{one.at[0]:.1f}" y="{one.at[1]:.1f}" font-size="{one.size:g}" text-anchor="{one.anchor}"'
        body.append(f'<text {place} font-family="serif" fill="{INK}" xml:space="preserve">{text}</text>')
    size = f'width="{wide:.0f}" height="{high:.0f}" viewBox="0 0 {wide:.0f} {high:.0f}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{chr(10).join(body)}\n</svg>\n'.encode()


def points_png(areas: Areas, mm_per_unit: float, inches: bool, picture: Picture | None = None) -> bytes:
    """The same as a PNG."""
    page = _page(areas, mm_per_unit, inches, picture)
    whole = Image.new("RGB", (round(page.size[0]), round(page.size[1])), PAPER)
    pen = ImageDraw.Draw(whole)
    if page.image is not None:
        pixels, (x, y, width, height) = page.image
        whole.paste(Image.fromarray(pixels).resize((round(width), round(height))), (round(x), round(y)))
    for colour, rings in page.fills:
        pen.polygon([tuple(place) for place in rings[0].tolist()], fill=colour)
    for colour, width, line in page.lines:
        pen.line([tuple(place) for place in line.tolist()], fill=colour, width=max(1, round(width)))
    for x, y in page.discs:
        pen.ellipse((x - DISC, y - DISC, x + DISC, y + DISC), fill=HALO, outline=INK)
    anchors = {"start": "ls", "middle": "ms", "end": "rs"}
    for one in page.words:
        font = ImageFont.load_default(one.size)
        pen.text(one.at, one.text, fill=INK, font=font, anchor=anchors[one.anchor])
    out = io.BytesIO()
    whole.save(out, "PNG")
    return out.getvalue()


def _path(line: Floats) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in line)


def _page(areas: Areas, mm_per_unit: float, inches: bool, picture: Picture | None) -> _Page:
    left, low, right, high = design_bounds(areas)
    step = _step(max(right - left, high - low) * mm_per_unit, inches) / mm_per_unit
    scale = (WIDE - 2.0 * MARGIN) / (right - left)
    foot = MARGIN + (high - low) * scale

    def down(places: Floats) -> Floats:
        moved = np.asarray(places, np.float64) - (left, low)
        return np.column_stack([MARGIN + moved[:, 0] * scale, foot - moved[:, 1] * scale])

    points = points_of(areas, mm_per_unit, inches)
    lines, figures = _grid((right - left, high - low), step, (scale, foot), (mm_per_unit, inches))
    outlines = [("#ffffff", 3.0), (LINE, 1.3)]
    drawn = [arc for arc in areas.arcs if OUTSIDE not in (arc.left, arc.right)]
    lines += [(colour, width, down(arc.points)) for colour, width in outlines for arc in drawn]
    places = down(np.array([point.at for point in points])).tolist()
    beside = [point.room * scale < DISC for point in points]
    discs = [(x + BESIDE, y - BESIDE) if small else (x, y) for (x, y), small in zip(places, beside, strict=True)]
    leaders = [np.array(both) for both, small in zip(zip(places, discs, strict=True), beside, strict=True) if small]
    lines += [(colour, width, leader) for colour, width in outlines for leader in leaders]
    numbers = [_Words((x, y + 0.35 * LETTER), str(n), LETTER, "middle") for n, (x, y) in enumerate(discs, 1)]
    rows = _rows(points, inches)
    start = foot + FOOT
    listed = [
        _Words((MARGIN + across, start + ROW * LETTER * number), text, LETTER, "start")
        for number, row in enumerate(rows)
        for across, text in zip(_columns(rows), row, strict=True)
    ]
    image = None
    if picture is not None:
        paled = np.asarray(np.rint(picture.pixels * (1.0 - PALED) + 255.0 * PALED), np.uint8)
        image = _seen(paled, areas, (left, low, right, high), scale)
    fills = () if picture is not None else _fills(areas, down)
    size = (WIDE, start + ROW * LETTER * len(rows) + 0.5 * LETTER)
    return _Page(size, image, fills, tuple(lines), tuple(discs), (*figures, *numbers, *listed))


def _seen(
    pixels: NDArray[np.uint8], areas: Areas, design: tuple[float, float, float, float], scale: float
) -> tuple[NDArray[np.uint8], tuple[float, float, float, float]]:
    """What the picture shows of the design and half a margin round it, and where that lies on the page."""
    left, low, right, high = design
    room = 0.5 * MARGIN / scale
    first, last = max(int(left - room), 0), min(int(np.ceil(right + room)), pixels.shape[1])
    upper, lower = max(int(areas.height - high - room), 0), min(int(np.ceil(areas.height - low + room)), len(pixels))
    box = (MARGIN + (first - left) * scale, MARGIN + (upper - (areas.height - high)) * scale)
    return pixels[upper:lower, first:last], (*box, (last - first) * scale, (lower - upper) * scale)


def _fills(areas: Areas, down: Callable[[Floats], Floats]) -> tuple[tuple[str, tuple[Floats, ...]], ...]:
    """Each area in its own colour, the largest first, so that what lies within another is not painted over."""
    ordered = sorted(areas.areas, key=lambda area: -shapely.Polygon(area.region.exterior).area)
    return tuple(
        (PAPER if area.number in areas.ground else said(area.colour), (down(np.array(area.region.exterior.coords)),))
        for area in ordered
    )


def _step(longer: float, inches: bool) -> float:
    """The step of the grid, mm."""
    steps = STEPS_INCH if inches else STEPS_MM
    return next((step for step in steps if longer / step <= MOST_LINES), steps[-1])


def _grid(
    size: tuple[float, float], step: float, placed: tuple[float, float], told: tuple[float, bool]
) -> tuple[list[tuple[str, float, Floats]], list[_Words]]:
    """Lines along both axes from the design's corner on, and their figures."""
    (wide, high), (scale, foot) = size, placed
    mm_per_unit, inches = told
    lines, words = [], []
    for axis, length, across in ((0, wide, high), (1, high, wide)):
        for number in range(int(length / step + 1.0)):
            off = number * step * scale
            if axis == 0:
                line = [(MARGIN + off, foot + 8.0), (MARGIN + off, foot - across * scale)]
                at, anchor = (MARGIN + off, foot + 8.0 + 1.1 * SMALL), "middle"
            else:
                line = [(MARGIN - 8.0, foot - off), (MARGIN + across * scale, foot - off)]
                at, anchor = (MARGIN - 12.0, foot - off + 0.35 * SMALL), "end"
            lines.append((GRID_LINE, 1.0, np.array(line)))
            mm = number * step * mm_per_unit
            words.append(_Words(at, f"{mm / INCH:g}" if inches else f"{mm:g}", SMALL, anchor))
    return lines, words


def _rows(points: Sequence[Point], inches: bool) -> list[tuple[str, ...]]:
    """The list with its head; what is said of lines inside one area stands in a column of its own, if there are any."""
    head = ("", "name", "colour", f"point, {'inches' if inches else 'mm'} from the left end and the foot", LINES_HEAD)
    rows: list[tuple[str, ...]] = [
        head,
        *((str(p.number), p.name or "-", p.colour, f'"{p.written}"', p.line) for p in points),
    ]
    return rows if any(point.line for point in points) else [row[:-1] for row in rows]


def _columns(rows: Sequence[tuple[str, ...]]) -> list[float]:
    """Where each column of the list begins, px."""
    wide = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    starts = [0.0]
    for count in wide[:-1]:
        starts.append(starts[-1] + (max(count, 2) + 3) * LETTERS_WIDE * LETTER)
    return starts
