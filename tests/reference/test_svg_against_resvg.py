"""SVG reading against an independent renderer (resvg, through resvg-py): the same drawings, the same pixels."""

import io

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image

from purfle.artwork.drawing import areas_of_drawing
from purfle.files.fonts import BUNDLED, find_font
from purfle.files.svg_drawing import read_svg

SIDE = 800
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="80mm" height="80mm" '
BODIES = {
    "path commands": 'viewBox="0 0 80 80"><path fill="#c00" d="M10 10h20v20q-5 9-10 5t-10-5z"/>'
    '<path fill="#0a0" d="M40 40c10-20 30 20 35 0s-5 30-15 30S30 60 40 40z"/>',
    "arcs with packed flags": 'viewBox="0 0 80 80"><path fill="#04c" '
    'd="M20 40a20 12 30 11.5.5zM50 50A14 9-20 0110 60L40 70z"/>',
    "even odd rule": 'viewBox="0 0 80 80"><path fill-rule="evenodd" d="M5 5H75V75H5z'
    'M20 20H60V60H20zM30 30h40v40h-40z"/>',
    "nonzero with a reversed hole": 'viewBox="0 0 80 80"><path d="M5 5H75V75H5zM20 20V60H60V20z" fill="#333"/>',
    "transforms nested": 'viewBox="0 0 80 80"><g transform="translate(40 40) rotate(30)"><rect transform="skewX(20) '
    'scale(1.5,.7)" x="-10" y="-10" width="20" height="30" rx="4" fill="#a50"/></g>',
    "use and symbol": 'viewBox="0 0 80 80"><defs><symbol id="s" viewBox="0 0 10 10"><circle cx="5" cy="5" r="5" '
    'fill="#808"/></symbol><rect id="r" width="10" height="6"/></defs><use xlink:href="#s" x="10" y="10" width="30" '
    'height="30"/><use href="#r" x="50" y="50" fill="#060" transform="rotate(10)"/>',
    "style sheet with classes and importance": 'viewBox="0 0 80 80"><style>.a{fill:#c0392b} rect.b{fill:#27ae60 '
    '!important} #x{fill:#2980b9}</style><rect class="a" x="5" y="5" width="20" height="20"/><rect class="b" '
    'style="fill:#000" x="30" y="5" width="20" height="20"/>'
    '<rect id="x" class="a" x="5" y="40" width="30" height="30"/>',
    "strokes with caps, joins and dashes": 'viewBox="0 0 80 80"><g fill="none" stroke="#123" stroke-width="6">'
    '<path d="M10 10L40 10L20 30" stroke-linejoin="miter"/><path d="M50 10L70 10L55 30" stroke-linejoin="bevel" '
    'stroke-linecap="square"/><path d="M10 50Q40 30 70 50" stroke-linecap="round" stroke-dasharray="9 10"/>'
    '<circle cx="40" cy="66" r="8" stroke-width="3"/></g>',
    "stroke under a lopsided scale": 'viewBox="0 0 80 80"><ellipse transform="scale(2,.8)" cx="20" cy="50" rx="12" '
    'ry="30" fill="none" stroke="#555" stroke-width="4"/>',
    "clip path": 'viewBox="0 0 80 80"><clipPath id="c"><circle cx="40" cy="40" r="25"/></clipPath><g '
    'clip-path="url(#c)"><rect width="50" height="50" fill="#070"/><rect x="50" y="30" width="30" height="40" '
    'fill="#700"/></g>',
    "nested viewport clips": 'viewBox="0 0 80 80"><svg x="20" y="20" width="30" height="40" viewBox="0 0 10 10" '
    'preserveAspectRatio="xMinYMax slice"><rect x="-5" y="-5" width="30" height="12" fill="#36a"/></svg>',
    "units and aspect ratio": 'viewBox="0 0 40 20"><rect x="5" y="5" width="5mm" height="2mm"/><rect x="50%" '
    'y="25%" width="25%" height="50%" fill="#b40"/>',
    "clip rule of the child, not its fill": 'viewBox="0 0 80 80"><clipPath id="c"><path fill="none" '
    'clip-rule="evenodd" d="M5 5H75V75H5zM25 25H55V55H25z"/></clipPath>'
    '<rect width="80" height="80" fill="#070" clip-path="url(#c)"/>',
    "clip path clipped itself": 'viewBox="0 0 80 80"><clipPath id="a"><circle cx="30" cy="40" r="25"/></clipPath>'
    '<clipPath id="b" clip-path="url(#a)"><circle cx="50" cy="40" r="25"/></clipPath>'
    '<rect width="80" height="80" fill="#700" clip-path="url(#b)"/>',
    "clip path in parts of the box": 'viewBox="0 0 80 80"><clipPath id="c" clipPathUnits="objectBoundingBox"><circle '
    'cx=".5" cy=".5" r=".5"/></clipPath><rect x="10" y="20" width="60" height="30" fill="#05a" clip-path="url(#c)"/>',
    "text with anchors, parts and kerning": 'viewBox="0 0 80 80"><g font-family="No Such Font, Source Serif Pro" '
    'font-size="12"><text x="4" y="14" fill="#a00">Wavy <tspan fill="#00a" font-size="18">AV</tspan></text>'
    '<text x="40" y="34" text-anchor="middle">  Tern \n lid </text><text x="76" y="50" text-anchor="end">at <tspan '
    'dy="4">the end</tspan></text><text x="4" y="74" transform="rotate(-10 4 74)" letter-spacing="1" '
    'style="font-size:9px">Purl &amp; Co</text></g>',
    "rings that meet in a point": 'viewBox="0 0 80 80"><path fill="#a80" d="M0 0h12l28 29L68 0h12L0 60h12l28-29L68 60'
    'h12zm80 24v12L0 24v12zM35 0l5 26 5-26zm0 60 5-26 5 26z"/>',
    "painter's order": 'viewBox="0 0 80 80"><rect width="50" height="50" fill="#f80"/><circle cx="50" cy="50" r="20" '
    'fill="#08f"/><rect x="45" y="10" width="20" height="60" fill="#0a4"/><g display="none"><rect width="80" '
    'height="80"/></g>',
}  # fmt: skip


def resvg_pixels(svg: str) -> np.ndarray:
    size = {"width": SIDE, "height": SIDE, "dpi": 96, "font_files": [str(find_font(BUNDLED).file)]}
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, background="#ffffff", **size))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def our_pixels(svg: str) -> np.ndarray:
    """What was read, written as plain polygons at true size and shown by the same renderer."""
    drawing = read_svg(svg.encode(), "case.svg")
    body = ""
    for shape in drawing.shapes:
        rings = [r for part in shapely.get_parts(shape.region) for r in (part.exterior, *part.interiors)]
        data = "".join("M" + "L".join(f"{x:.6f} {drawing.height - y:.6f}" for x, y in r.coords) + "Z" for r in rings)
        body += f'<path fill="rgb{shape.colour}" fill-rule="evenodd" d="{data}"/>'
    return resvg_pixels(HEAD + f'viewBox="0 0 {drawing.width} {drawing.height}">{body}</svg>')


@pytest.mark.parametrize("case", BODIES)
def test_drawing_shows_the_pixels_that_an_independent_renderer_shows(case: str) -> None:
    """At 10 px/mm fewer than 0.1 % of the pixels differ by more than a third of the range (source: resvg)."""
    svg = HEAD + BODIES[case] + "</svg>"
    theirs, ours = resvg_pixels(svg), our_pixels(svg)
    assert (theirs.min(2) < 200).mean() > 0.01, "the case paints something"
    differs = (np.abs(theirs - ours).max(2) > 85).mean()
    assert differs <= 0.001, f"{differs:.4%} of the pixels differ"


def test_areas_of_overlapping_shapes_tile_their_frame_and_keep_the_topmost_paint() -> None:
    """Painter's order: a disc over a square takes its share, and nothing is counted twice."""
    svg = (
        HEAD
        + 'viewBox="0 0 80 80"><rect id="sq" x="10" y="10" width="40" height="40" fill="#f80"/>'
        + ('<circle id="disc" cx="50" cy="50" r="10" fill="#08f"/></svg>')
    )
    areas = areas_of_drawing(read_svg(svg.encode(), "case.svg"))
    by_name = {area.name: area.region.area for area in areas.areas}
    quarter = np.pi * 100 / 4
    assert by_name["disc"] == pytest.approx(np.pi * 100, rel=1e-3)
    assert by_name["sq"] == pytest.approx(1600 - quarter, rel=1e-3)
    assert sum(by_name.values()) == pytest.approx(areas.width * areas.height, abs=1e-6)
    assert shapely.coverage_is_valid([area.region for area in areas.areas])
    lengths = sum(shapely.LineString(arc.points).length for arc in areas.arcs)
    edges = shapely.union_all([area.region.boundary for area in areas.areas])
    assert lengths == pytest.approx(edges.length, rel=1e-6)
