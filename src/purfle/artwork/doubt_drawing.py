"""The areas of a picture drawn over it, doubtful places marked, with what to do about them below: SVG or PNG."""

import base64
import textwrap
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from purfle.artwork.doubt_places import DoubtReport, Kind
from purfle.model.artwork import Areas, Picture

Floats = NDArray[np.float64]
LEAST_WIDTH = 900
"""Pictures with fewer px across are drawn larger, so that lines and words can be told apart."""
PALED = 0.45
"""How much white is laid over the picture, so that lines stand out."""
PAPER, INK, LINE, HALO = "#f5f6f4", "#1b2321", "#1d4a8a", "#ffffff"
MARKS: dict[Kind, str] = {"shaded": "#a01c1a", "weak": "#d07c00", "small": "#7a1fa2"}
"""Colour of each kind of doubtful place; its sentence begins with a stroke of the same."""
LETTER_SHARE = 0.018
"""Height of the words as a share of the width of the picture."""
LETTERS_WIDE = 0.5
"""Width of a letter as a share of its height, on average."""
JPEG_QUALITY = 90


@dataclass(frozen=True, slots=True)
class _Page:
    """What is drawn: the picture made paler, lines over it, words below. `scale`: its px in one of the picture."""

    picture: NDArray[np.uint8]
    scale: float
    lines: tuple[tuple[str, float, Floats], ...]
    words: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def letter(self) -> float:
        return LETTER_SHARE * float(self.picture.shape[1])

    @property
    def foot(self) -> float:
        """Height of the strip with the words."""
        return self.letter * (1.6 + sum(1.35 * len(rows) + 0.5 for _, rows in self.words))


def doubts_svg(picture: Picture, areas: Areas, report: DoubtReport) -> bytes:
    """The areas over their picture, with the doubts, as an SVG that holds everything."""
    page = _page(picture, areas, report)
    high, wide = page.picture.shape[:2]
    made, data = cv2.imencode(
        ".jpg", np.ascontiguousarray(page.picture[:, :, ::-1]), [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY]
    )
    assert made
    image = base64.b64encode(data.tobytes()).decode()
    body = [f'<rect width="{wide}" height="{high + page.foot:.1f}" fill="{PAPER}"/>']
    body.append(f'<image width="{wide}" height="{high}" href="data:image/jpeg;base64,{image}"/>')
    for colour, width, line in page.lines:
        path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in line)
        ends = 'stroke-linejoin="round" stroke-linecap="round"'
        body.append(f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width:.2f}" {ends}/>')
    y = high + 1.6 * page.letter
    for colour, rows in page.words:
        if colour:
            place = f'x="{page.letter:.1f}" y="{y - 0.45 * page.letter:.1f}"'
            body.append(
                f'<rect {place} width="{1.4 * page.letter:.1f}" height="{0.3 * page.letter:.1f}" fill="{colour}"/>'
            )
        for row in rows:
            text = row.replace("&", "&amp;").replace("<", "&lt;")
            body.append(
                f'<text x="{3 * page.letter:.1f}" y="{y:.1f}" font-size="{page.letter:.1f}" font-family="serif" '
                f'fill="{INK}">{text}</text>'
            )
            y += 1.35 * page.letter
        y += 0.5 * page.letter
    size = f'width="{wide}" height="{high + page.foot:.0f}" viewBox="0 0 {wide} {high + page.foot:.1f}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{chr(10).join(body)}\n</svg>\n'.encode()


def doubts_png(picture: Picture, areas: Areas, report: DoubtReport) -> bytes:
    """The same as a PNG."""
    page = _page(picture, areas, report)
    high, wide = page.picture.shape[:2]
    whole = Image.new("RGB", (wide, high + round(page.foot)), PAPER)
    lines = page.picture.copy()
    for colour, width, line in page.lines:
        points = np.round((line - 0.5) * 16.0).astype(np.int32)
        red_green_blue = tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))
        cv2.polylines(lines, [points], False, red_green_blue, max(1, round(width)), cv2.LINE_AA, 4)
    whole.paste(Image.fromarray(lines))
    pen, font = ImageDraw.Draw(whole), ImageFont.load_default(page.letter)
    y = high + 0.6 * page.letter
    for colour, rows in page.words:
        if colour:
            box = (page.letter, y + 0.45 * page.letter, 2.4 * page.letter, y + 0.8 * page.letter)
            pen.rectangle(box, fill=colour)
        for row in rows:
            pen.text((3 * page.letter, y), row, fill=INK, font=font)
            y += 1.35 * page.letter
        y += 0.5 * page.letter
    made, data = cv2.imencode(".png", np.ascontiguousarray(np.array(whole)[:, :, ::-1]))
    assert made
    return bytes(data.tobytes())


_PALED = np.asarray(np.rint(np.arange(256) * (1.0 - PALED) + 255.0 * PALED), np.uint8)
"""What becomes of each level of a channel."""


def _page(picture: Picture, areas: Areas, report: DoubtReport) -> _Page:
    scale = max(1.0, LEAST_WIDTH / picture.pixels.shape[1])
    size = (round(picture.pixels.shape[1] * scale), round(picture.pixels.shape[0] * scale))
    larger = cv2.resize(picture.pixels, size, interpolation=cv2.INTER_LINEAR) if scale > 1.0 else picture.pixels
    paled = _PALED[larger]
    thin = size[0] / 900.0

    def down(line: Floats) -> Floats:
        return np.asarray(np.column_stack([line[:, 0], areas.height - line[:, 1]]) * scale)

    lines = [
        (colour, width * thin, down(arc.points)) for colour, width in ((HALO, 2.4), (LINE, 1.1)) for arc in areas.arcs
    ]
    for place in report.places:
        lines.append((MARKS[place.kind], 4.0 * thin, down(place.line)))
    letters = int(size[0] * (1.0 - 4 * LETTER_SHARE) / (LETTER_SHARE * size[0] * LETTERS_WIDE))
    words = [(MARKS[kind] if kind else "", tuple(textwrap.wrap(text, letters))) for kind, text in report.sentences]
    return _Page(paled, scale, tuple(lines), tuple(words))
