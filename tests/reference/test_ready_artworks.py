"""Ready artwork against closed forms of geometry, and lettering against the font's own figures and another shaper."""

import io
import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables.TupleVariation import TupleVariation
from PIL import Image
from shapely.affinity import rotate, scale

from purfle.artwork.ready import draw_ready
from purfle.errors import DrawingError, FontError
from purfle.files.fonts import BUNDLED, find_font, letters_at_size, letters_of
from purfle.model.ready import (
    Banding,
    Diamond,
    Disc,
    Fan,
    Form,
    FrameTrack,
    Lettering,
    Oval,
    PathTrack,
    ReadyDrawing,
    Rectangle,
    RingTrack,
    Star,
    StraightTrack,
    Stringing,
)
from purfle.tolerances import FLAT

PI = math.pi
CLOSED_FORMS: list[tuple[Form, int, float]] = [
    (Disc(60.0), 1, PI * 30.0**2),
    (Oval(80.0, 50.0), 1, PI * 40.0 * 25.0),
    (Rectangle(80.0, 50.0), 1, 4000.0),
    (Rectangle(80.0, 50.0, 12.0), 1, 4000.0 - (4.0 - PI) * 144.0),
    (Diamond(70.0, 40.0), 1, 1400.0),
    (Star(100.0, 5, 38.2), 2, 5 * 50.0 * 19.1 * math.sin(PI / 5)),
    (Star(100.0, 16, 50.0, halved=False), 1, 16 * 50.0 * 25.0 * math.sin(PI / 16)),
    (Fan(40.0, 7, 120.0), 2, PI * 1600.0 / 3.0),
    (Fan(40.0, 6, 360.0, hub=8.0), 2, PI * (1600.0 - 64.0)),
    (Stringing(StraightTrack(200.0), 2.0, 90.0), 1, 400.0),
    (Stringing(FrameTrack(120.0, 80.0), 2.0), 1, 9600.0 - 116.0 * 76.0),
    (Stringing(FrameTrack(120.0, 80.0, 15.0), 2.0), 1, 2.0 * 2 * (90.0 + 50.0) + PI * (225.0 - 169.0)),
    (Stringing(FrameTrack(120.0, 80.0, 1.0), 2.0, 50.0), 1, 9600.0 - 116.0 * 76.0 - (4.0 - PI)),
    (Stringing(RingTrack(90.0), 2.0, 80.0), 1, PI * (45.0**2 - 43.0**2)),
    (Stringing(PathTrack("M0 0H40V30"), 2.0), 1, 2.0 * 41.0 + 2.0 * 29.0),
    (Stringing(PathTrack("M0 0A20 20 0 0 1 40 0"), 3.0), 1, PI / 2 * (21.5**2 - 18.5**2)),
    (Banding(FrameTrack(120.0, 80.0), 6.0, 8.0), 2, 9600.0 - 108.0 * 68.0),
    (Banding(StraightTrack(100.0), 6.0, 8.0, 1.0), 3, 600.0),
]
"""Areas by Euclid's and Archimedes' formulas; a star of n points is 2n triangles R r sin(pi/n) / 2."""


def whole(drawing: ReadyDrawing) -> shapely.Geometry:
    """All parts together."""
    return shapely.union_all([part.region for part in drawing.parts], grid_size=1e-6)


@pytest.mark.parametrize(("form", "woods", "area"), CLOSED_FORMS, ids=lambda it: type(it).__name__)
def test_areas_are_those_of_closed_forms(form: Form, woods: int, area: float) -> None:
    """The parts together have the area of the formula, up to chords that stand within FLAT of their curves."""
    made = whole(draw_ready(form, woods))
    assert abs(made.area - area) <= FLAT * made.length + 1e-6


@pytest.mark.parametrize(("form", "woods", "area"), CLOSED_FORMS, ids=lambda it: type(it).__name__)
def test_parts_do_not_overlap(form: Form, woods: int, area: float) -> None:
    """The areas of the parts add up to that of all together, so none lies over another."""
    drawing = draw_ready(form, woods)
    assert all(part.region.is_valid and part.region.area > 0.0 for part in drawing.parts)
    assert abs(sum(part.region.area for part in drawing.parts) - whole(drawing).area) < 1e-3
    assert len({part.name for part in drawing.parts}) == len(drawing.parts)
    assert {part.wood for part in drawing.parts} == set(range(woods))


@pytest.mark.parametrize("points", [3, 5, 8, 16, 33])
def test_a_star_turned_by_a_point_is_the_same_star(points: int) -> None:
    """Turned by a full turn over its points, each wood of a star covers exactly what it covered."""
    parts = draw_ready(Star(90.0, points, 40.0), 2).parts
    for wood in (0, 1):
        of_wood = shapely.multipolygons([part.region for part in parts if part.wood == wood])
        turned = rotate(of_wood, 360.0 / points, origin=(0, 0))
        near = [turned.geoms[n].hausdorff_distance(of_wood.geoms[n - 1]) for n in range(points)]
        assert max(near) < 1e-9
    mirrored = [scale(part.region, -1.0, 1.0, origin=(0, 0)) for part in parts if part.wood == 0]
    assert max(min(one.hausdorff_distance(p.region) for p in parts if p.wood == 1) for one in mirrored) < 1e-9


def test_a_banding_reads_alike_from_both_ends() -> None:
    """Mirrored about the middle of a side, every block falls on a block of the same wood, and corners on corners."""
    parts = draw_ready(Banding(FrameTrack(120.0, 80.0), 6.0, 8.0), 3).parts
    for part in parts:
        mirrored = scale(part.region, -1.0, 1.0, origin=(0, 0))
        twin = min(parts, key=lambda other: other.region.hausdorff_distance(mirrored))
        assert twin.region.hausdorff_distance(mirrored) < 1e-9
        assert twin.wood == part.wood
    corner = shapely.Point(-60.0, -40.0)
    assert {part.wood for part in parts if part.region.distance(corner) == 0.0} == {0}


def test_strips_are_no_longer_than_asked() -> None:
    """No strip of stringing is longer over its outside than `longest`."""
    for track in (FrameTrack(276.0, 176.0), FrameTrack(276.0, 176.0, 20.0), StraightTrack(276.0), RingTrack(100.0)):
        for part in draw_ready(Stringing(track, 2.0, 75.0), 1).parts:
            left, low, right, high = part.region.bounds
            assert math.hypot(right - left, high - low) <= 75.1


# --- lettering


@pytest.mark.parametrize("weight", [400, 600, 700, 900])
def test_cap_height_is_true(weight: int) -> None:
    """A capital H is as high as asked for, and its size that of the outline in the font, as fontTools bounds it.

    The stated cap height would not do: this font says 670 of 1000 in every weight, and draws 669 down to 652.
    """
    face = find_font(BUNDLED, weight)
    (letter,) = letters_of(face, "H", 24.0)
    assert letter.region.bounds[3] == pytest.approx(24.0, abs=1e-9)
    font = TTFont(face.file)
    assert font["OS/2"].usWeightClass == weight
    glyphs, pen = font.getGlyphSet(), BoundsPen(None)
    glyphs["H"].draw(pen)
    (of_size,) = letters_at_size(face, "H", 100.0)
    assert of_size.region.bounds == pytest.approx([bound / 10.0 for bound in pen.bounds], abs=1e-4)
    assert letter.advance == pytest.approx(glyphs["H"].width * 24.0 / pen.bounds[3])


def pixels(svg: str, face_file: Path) -> np.ndarray:
    """An SVG of 900 x 120 px as rendered by resvg, darkness 0 to 1."""
    png = resvg_py.svg_to_bytes(svg_string=svg, font_files=[str(face_file)], skip_system_fonts=True)
    return 1.0 - np.asarray(Image.open(io.BytesIO(bytes(png))).convert("L"), float) / 255.0


@pytest.mark.parametrize("text", ["AVATAR Tom", "WAVE", "Loyal Typo", "Ärger"])
def test_letters_stand_where_another_shaper_puts_them(text: str) -> None:
    """Outlines and kerning agree with resvg, which sets text with a shaper of its own (rustybuzz), within 0.15 px."""
    face = find_font(BUNDLED, 700)
    drawn = draw_ready(Lettering(letters_at_size(face, text, 100.0), 67.0), 1)
    paths = "".join(
        shapely.affinity.translate(scale(p.region, 1, -1, origin=(0, 0)), 20, 90).svg() for p in drawn.parts
    )
    paths = paths.replace("#66cc99", "#000").replace("#555555", "none").replace('opacity="0.6"', "")
    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900" height="120"><rect width="900" height="120" fill="#fff"/>'
    )
    style = 'font-family="Source Serif Pro" font-weight="700" font-size="100" style="font-variant-ligatures:none"'
    ours = pixels(f"{head}{paths}</svg>", face.file)
    theirs = pixels(f'{head}<text x="20" y="90" {style}>{text}</text></svg>', face.file)
    assert theirs.sum() > 1000.0
    assert np.abs(ours - theirs).sum() < 0.01 * theirs.sum()
    ends = [np.flatnonzero(image.sum(axis=0) > 0.05)[[0, -1]] for image in (ours, theirs)]
    assert np.abs(ends[0] - ends[1]).max() <= 1
    kerned = [letter.kerning for letter in letters_at_size(face, text, 100.0)]
    assert any(kern != 0.0 for kern in kerned)
    assert not any(letter.kerning for letter in letters_at_size(face, text, 100.0, kerning=False))


def test_letters_stand_on_their_circle() -> None:
    """Letters stand on the circle, upright outside at its top and inside at its foot, evenly to both sides."""
    letters = letters_of(find_font(BUNDLED, 700), "HHHHH", 8.0)
    for inside, at in ((False, 90.0), (True, 270.0)):
        parts = draw_ready(Lettering(letters, 8.0, 1.0, 80.0, inside, at), 1).parts
        middle = parts[2].region
        assert middle.centroid.x == pytest.approx(0.0, abs=0.01)
        foot = 40.0 if not inside else -40.0
        assert middle.bounds[1] == pytest.approx(foot, abs=0.01)
        radii = [np.hypot(*shapely.get_coordinates(part.region).T) for part in parts]
        far = max(max(r) for r in radii)
        assert far <= (math.hypot(48.0, 5.0) if not inside else math.hypot(40.0, 5.0))
        xs = [part.region.centroid.x for part in parts]
        assert np.allclose(np.add(xs, xs[::-1]), 0.0, atol=0.02)
        assert all(one < other for one, other in pairwise(xs))


def test_words_longer_than_their_circle_are_refused() -> None:
    """Words that would meet their own beginning are refused with the size that would do."""
    letters = letters_of(find_font(BUNDLED), "MERRY CHRISTMAS", 12.0)
    with pytest.raises(DrawingError) as refusal:
        draw_ready(Lettering(letters, 12.0, 0.0, 30.0), 1)
    assert "longer than the circle" in refusal.value.what
    assert refusal.value.where == "circle of 30.0 mm"
    assert refusal.value.mend.startswith("Use a circle of more than ")


def test_a_missing_font_is_one_clear_error() -> None:
    """What is not there is named, with names that are near."""
    with pytest.raises(FontError) as refusal:
        find_font("Sorce Serif Pro")
    assert refusal.value.what == 'There is no font "Sorce Serif Pro"'
    assert "Source Serif Pro" in refusal.value.mend
    with pytest.raises(FontError) as refusal:
        find_font(BUNDLED, 650)
    assert refusal.value.what == "Source Serif Pro has no weight 650"
    assert "600, 700" in refusal.value.mend


def test_missing_letters_are_named() -> None:
    """Every letter that the font lacks is named, once."""
    with pytest.raises(FontError) as refusal:
        letters_of(find_font(BUNDLED), "A猫B犬猫", 10.0)
    assert '"犬" (cjk unified ideograph-72ac), "猫"' in refusal.value.what
    assert refusal.value.where == "text"


def test_a_variable_font_is_drawn_at_its_weight(tmp_path: Path) -> None:
    """A stem 100 units wide at weight 400 and 300 at 800 is 200 wide at 600; outside its range it is refused."""
    file = tmp_path / "Stem.ttf"
    variable_font(file)
    face = find_font("Stem.ttf", 600, folder=tmp_path)
    assert face.weights == (400, 800)
    for weight, width in ((400, 100.0), (600, 200.0), (800, 300.0)):
        (letter,) = letters_of(find_font("Stem", weight, folder=tmp_path), "H", 7.0)
        left, low, right, high = letter.region.bounds
        assert (right - left, low, high) == pytest.approx((width / 100.0, 0.0, 7.0), abs=1e-6)
        assert letter.advance == pytest.approx((width + 100.0) / 100.0)
    with pytest.raises(FontError) as refusal:
        find_font("Stem.ttf", 900, folder=tmp_path)
    assert refusal.value.mend == "Its weights are 400 to 800."


def variable_font(file: Path) -> None:
    """A font with one letter, a stem that grows with its weight."""
    pen = TTGlyphPen(None)
    for number, place in enumerate([(50, 0), (50, 700), (150, 700), (150, 0)]):
        pen.lineTo(place) if number else pen.moveTo(place)
    pen.closePath()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "H"])
    builder.setupCharacterMap({ord("H"): "H"})
    builder.setupGlyf({".notdef": TTGlyphPen(None).glyph(), "H": pen.glyph()})
    builder.setupHorizontalMetrics({".notdef": (500, 0), "H": (200, 50)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Stem", "styleName": "Regular"})
    builder.setupOS2(sCapHeight=700, usWeightClass=400)
    builder.setupPost()
    builder.setupFvar([("wght", 400, 400, 800, "Weight")], [])
    wider = [(0, 0), (0, 0), (200, 0), (200, 0), (0, 0), (200, 0), (0, 0), (0, 0)]
    builder.setupGvar({".notdef": [], "H": [TupleVariation({"wght": (0.0, 1.0, 1.0)}, wider)]})
    builder.font.save(file)
