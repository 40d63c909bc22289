"""Pictures become areas: ground, alpha, light, doubts, refusals; then woods, names and features."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

from purfle.artwork import areas_of_picture, choose_woods, design_size, to_geojson_features
from purfle.artwork.colour import lab_of
from purfle.errors import JobFileError, PictureError
from purfle.files.job_toml import first_job_text, load_job
from purfle.files.picture import read_picture_bytes
from purfle.model.artwork import Area, Areas, Colour, Picture, TraceRule
from purfle.traced import areas_of

OAK, WENGE, HOLLY, PADAUK = (201, 163, 107), (44, 34, 32), (245, 239, 225), (179, 61, 37)
WOODS: list[tuple[str, Colour]] = [("holly", (240, 235, 220)), ("wenge", (50, 38, 34)), ("padauk", (170, 70, 40))]
RULE = TraceRule()


def drawn(scale: int = 4) -> Image.Image:
    """A wenge disc with a holly eye, and a padauk square, on oak; 200 x 150, softened by drawing it larger."""
    image = Image.new("RGB", (200 * scale, 150 * scale), OAK)
    pen = ImageDraw.Draw(image)
    for box, colour in (((20, 30, 110, 120), WENGE), ((50, 60, 80, 90), HOLLY)):
        pen.ellipse([side * scale for side in box], fill=colour)
    pen.rectangle([side * scale for side in (130, 40, 180, 90)], fill=PADAUK)
    return image.resize((200, 150), Image.Resampling.BOX)


def picture_of(pixels: np.ndarray, alpha: np.ndarray | None = None, lossy: bool = False) -> Picture:
    return Picture(np.clip(np.rint(pixels), 0, 255).astype(np.uint8), alpha, lossy, "test picture")


def as_jpeg(pixels: np.ndarray, quality: int = 75) -> Picture:
    out = io.BytesIO()
    Image.fromarray(np.clip(np.rint(pixels), 0, 255).astype(np.uint8)).save(out, "JPEG", quality=quality)
    return read_picture_bytes(out.getvalue(), "test picture")


def colours_of(areas: Areas) -> list[Colour]:
    return [area.colour for area in areas.areas]


def near(first: Colour, second: Colour) -> bool:
    return max(abs(a - b) for a, b in zip(first, second, strict=True)) <= 6


def test_the_rim_is_ground_and_numbers_follow_reading_order() -> None:
    areas = areas_of_picture(picture_of(np.array(drawn())), RULE)
    assert [near(a, b) for a, b in zip(colours_of(areas), (OAK, WENGE, PADAUK, HOLLY), strict=True)] == [True] * 4
    assert areas.ground == {0}
    assert (areas.width, areas.height, areas.unit) == (200.0, 150.0, "px")
    assert [area.number for area in areas.areas] == [0, 1, 2, 3]


def test_y_runs_up() -> None:
    """The square was drawn with its top 40 px and its foot 90 px below the upper edge of 150."""
    square = areas_of_picture(picture_of(np.array(drawn())), RULE).areas[2].region
    assert square.bounds == pytest.approx((130.0, 60.0, 180.2, 110.0), abs=0.4)


def test_same_picture_same_areas_to_the_byte() -> None:
    picture = as_jpeg(np.array(drawn()))
    first, second = areas_of_picture(picture, RULE), areas_of_picture(picture, RULE)
    assert [shapely.to_wkb(area.region) for area in first.areas] == [
        shapely.to_wkb(area.region) for area in second.areas
    ]
    assert [arc.points.tobytes() for arc in first.arcs] == [arc.points.tobytes() for arc in second.arcs]
    assert first.doubts == second.doubts


def test_what_is_transparent_is_ground_and_white_is_not() -> None:
    """A white disc on nothing, around it a wenge frame: nothing is ground inside and outside the frame."""
    image = Image.new("RGBA", (600, 600), (255, 255, 255, 0))
    pen = ImageDraw.Draw(image)
    pen.rectangle([60, 60, 540, 540], fill=(*WENGE, 255))
    pen.rectangle([120, 120, 480, 480], fill=(255, 255, 255, 0))
    pen.ellipse([200, 200, 400, 400], fill=(255, 255, 255, 255))
    small = np.array(image.resize((200, 200), Image.Resampling.BOX))
    areas = areas_of_picture(picture_of(small[..., :3], small[..., 3]), RULE)
    let_in = [area for area in areas.areas if area.number not in areas.ground]
    assert len(areas.ground) == 2
    assert sorted(near(area.colour, (255, 255, 255)) for area in let_in) == [False, True]
    disc = next(area for area in let_in if near(area.colour, (255, 255, 255)))
    assert disc.region.area == pytest.approx(np.pi * (200.0 / 6) ** 2, rel=0.02)


def test_a_ground_colour_asked_for_is_taken_and_one_that_is_not_there_is_refused() -> None:
    picture = picture_of(np.array(drawn()))
    asked = areas_of_picture(picture, TraceRule(ground_colour=(42, 36, 30)))
    assert [asked.areas[number].colour for number in asked.ground] == [WENGE]
    with pytest.raises(PictureError) as refusal:
        areas_of_picture(picture, TraceRule(ground_colour=(0, 0, 255)))
    assert "#0000ff" in refusal.value.what
    assert refusal.value.where == "test picture"
    assert "#c9a36b" in refusal.value.mend


def test_uneven_light_invents_no_areas_and_is_told() -> None:
    """Light that varies by a tenth, noise of 2 levels, JPEG at 75: the same four areas, and a note that says so."""
    row, column = np.mgrid[:150, :200]
    light = 0.95 + 0.1 * (0.7 * column / 200 + 0.3 * row / 150)
    noise = np.random.default_rng(3).normal(0, 2, (150, 200, 3))
    areas = areas_of_picture(as_jpeg(np.array(drawn()) * light[..., None] + noise), RULE)
    assert len(areas.areas) == 4
    assert any("Light varies 1." in doubt.what for doubt in areas.doubts)
    plain = areas_of_picture(picture_of(np.array(drawn())), RULE)
    assert not any("Light" in doubt.what for doubt in plain.doubts)


def test_specks_are_joined_counted_and_told() -> None:
    pixels = np.array(drawn())
    for n in range(3):
        pixels[5 + 9 * n : 7 + 9 * n, 150:153] = PADAUK
    areas = areas_of_picture(picture_of(pixels), RULE)
    assert len(areas.areas) == 4
    assert any(doubt.what.startswith("3 areas smaller than 8 px") for doubt in areas.doubts)
    kept = areas_of_picture(picture_of(pixels), TraceRule(smallest_px=3))
    assert len(kept.areas) == 7


def test_the_number_of_colours_is_kept_to() -> None:
    areas = areas_of_picture(picture_of(np.array(drawn())), TraceRule(number_of_colours=3))
    assert len(set(colours_of(areas))) == 3
    with pytest.raises(PictureError) as refusal:
        areas_of_picture(picture_of(np.array(drawn())), TraceRule(number_of_colours=1))
    assert "1 colours" in refusal.value.what
    assert refusal.value.where == "test picture"
    assert "two" in refusal.value.mend


@pytest.mark.parametrize("woods", [1, 2, 3])
def test_a_job_counts_the_woods_that_are_let_in_and_not_the_bare_board(tmp_path: Path, woods: int) -> None:
    """number_of_woods = 2 leaves two woods on their ground; of three, one must have been joined to its nearest."""
    drawn().save(tmp_path / "picture.png")
    text = first_job_text("Trial", "picture.png").replace("[picture]", f"[picture]\nnumber_of_woods = {woods}")
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    areas = areas_of(load_job(tmp_path))
    ground = {areas.areas[number].colour for number in areas.ground}
    let_in = {area.colour for area in areas.areas if area.number not in areas.ground}
    assert len(ground) == 1
    assert near(next(iter(ground)), OAK)
    assert len(let_in) == woods


def noise_picture() -> np.ndarray:
    return np.random.default_rng(5).integers(0, 256, (120, 160, 3))


def shaded_picture() -> np.ndarray:
    row, column = np.mgrid[:200, :300]
    waves = [128 + 120 * np.sin(row / (23 + 7 * n) + column / (31 - 5 * n)) for n in range(3)]
    return np.stack(waves, axis=2)


def speckled_picture() -> np.ndarray:
    pixels = np.full((400, 600, 3), OAK)
    for n in range(900):
        pixels[10 * (n // 45) + 5 : 10 * (n // 45) + 10, 13 * (n % 45) + 4 : 13 * (n % 45) + 9] = WENGE
    return pixels


@pytest.mark.parametrize(
    ("pixels", "what", "mend"),
    [
        (np.full((60, 80, 3), 90), "one colour", "differ in colour"),
        (noise_picture(), "flat colour", "flat colours"),
        (shaded_picture(), "invented", "flat colours"),
        (speckled_picture(), "901 areas", "number of colours"),
    ],
    ids=["one colour", "noise", "shades", "specks"],
)
def test_a_picture_of_nothing_is_refused(pixels: np.ndarray, what: str, mend: str) -> None:
    with pytest.raises(PictureError) as refusal:
        areas_of_picture(picture_of(pixels), RULE)
    assert what in refusal.value.what
    assert refusal.value.where == "test picture"
    assert mend in refusal.value.mend


def test_features_lie_in_the_pixels_of_the_picture_y_down() -> None:
    areas = areas_of_picture(picture_of(np.array(drawn())), RULE)
    features = to_geojson_features(areas)["features"]
    assert [feature["properties"]["ground"] for feature in features] == [True, False, False, False]
    square = shapely.geometry.shape(features[2]["geometry"])
    assert square.bounds == pytest.approx((130.0, 40.0, 180.2, 90.0), abs=0.4)
    assert features[2]["properties"]["colour"] == "#b33d25"
    assert features[2]["properties"]["area_px2"] == pytest.approx(square.area, abs=0.01)
    assert square.exterior.is_ccw
    assert sum(feature["properties"]["area_px2"] for feature in features) == pytest.approx(200 * 150, abs=0.01)


def tiles() -> Areas:
    """Three squares of 10 units in a row from (5, 5), the last one of the first one's colour; ground around them."""
    boxes = [shapely.box(5 + 10 * n, 5, 15 + 10 * n, 15) for n in range(3)]
    ground = shapely.box(0, 0, 40, 20).difference(shapely.union_all(boxes))
    colours = [OAK, WENGE, HOLLY, (50, 40, 38)]
    areas = tuple(Area(n, colours[n], region) for n, region in enumerate([ground, *boxes]))
    return Areas(40.0, 20.0, "px", areas, (), frozenset({0}))


def test_drawn_areas_stand_at_true_size_from_the_lower_left_corner() -> None:
    assert design_size(tiles()) == (30.0, 10.0)
    chosen = choose_woods(tiles(), 2.5, WOODS, ())
    assert [area.region.bounds for area in chosen.areas] == [(25.0 * n, 0.0, 25.0 * n + 25.0, 25.0) for n in range(3)]
    assert [area.wood for area in chosen.areas] == ["wenge", "holly", "wenge"]
    assert [area.name for area in chosen.areas] == ["wenge piece 1", "holly piece 1", "wenge piece 2"]


def test_two_colours_of_one_wood_are_told() -> None:
    (finding,) = choose_woods(tiles(), 1.0, WOODS, ()).findings
    assert finding.severity == "note"
    assert "#2c2220" in finding.what
    assert "#322826" in finding.what
    assert finding.where == "wenge"
    assigned = choose_woods(tiles(), 1.0, WOODS, (((25.0, 5.0), "padauk"),))
    assert assigned.findings == ()


def named_tiles() -> Areas:
    """The same, the pale one called "eye"."""
    plain = tiles()
    areas = (replace(area, name="eye") if area.colour == HOLLY else area for area in plain.areas)
    return replace(plain, areas=tuple(areas))


def test_names_outrank_points_and_points_outrank_colours() -> None:
    everything = (("eye", "wenge"), ((15.0, 5.0), "padauk"), (HOLLY, "holly"), ((25.0, 5.0), "padauk"))
    chosen = choose_woods(named_tiles(), 1.0, WOODS, everything).areas
    assert [(area.name, area.wood) for area in chosen] == [
        ("wenge piece 1", "wenge"),
        ("eye", "wenge"),
        ("padauk piece 1", "padauk"),
    ]


def test_every_assignment_that_fits_nothing_is_told_at_once() -> None:
    wrong = (((99.0, 5.0), "holly"), ((0, 0, 255), "holly"), ("beak", "holly"), (HOLLY, "ebony"))
    with pytest.raises(JobFileError) as refusal:
        choose_woods(tiles(), 1.0, WOODS, wrong)
    texts = [(fault.what, fault.where, fault.mend) for fault in refusal.value.faults]
    assert texts == [
        ("No area lies at 99.0, 5.0 mm.", 'wood "holly" at that point', texts[0][2]),
        ("No area is drawn in #0000ff.", 'wood "holly" for it', "The colours drawn are #2c2220, #322826, #f5efe1."),
        ('No area is called "beak".', 'wood "holly" for it', texts[2][2]),
        ('There is no "ebony" on the rack.', "wood for #f5efe1", "On the rack: holly, padauk, wenge."),
    ]
    assert "lower left corner" in texts[0][2]
    assert "none has a name yet" in texts[2][2]


def test_an_empty_rack_and_a_scale_of_nothing_are_refused() -> None:
    for woods, scale, what, where, mend in (
        ([], 1.0, "no wood on the rack", "shop file", "offcut"),
        (WOODS, 0.0, "not above zero", "height", "Give a height"),
    ):
        with pytest.raises(JobFileError) as refusal:
            choose_woods(tiles(), scale, woods, ())
        assert what in refusal.value.what
        assert where in refusal.value.where
        assert mend in refusal.value.mend


def test_the_ground_can_be_pointed_at() -> None:
    """A place in the square makes its colour ground, the rest is let in; a place outside the picture is refused."""
    picture = picture_of(np.array(drawn()))
    asked = areas_of_picture(picture, TraceRule(ground_at=(150.4, 60.9)))
    assert [near(asked.areas[number].colour, PADAUK) for number in asked.ground] == [True]
    with pytest.raises(PictureError) as refusal:
        areas_of_picture(picture, TraceRule(ground_at=(400.0, 3.0)))
    assert refusal.value.what == "The place 400, 3 px lies outside the picture."
    assert refusal.value.mend == "The picture is 200 x 150 px, counted from its upper left."


def _jpeg_of_spots() -> Picture:
    """A q75 JPEG: tan ground, a violet panel on it, in that two grey spots that are as bright as the tan."""
    fine = Image.new("RGB", (1280, 960), (202, 163, 108))
    pen = ImageDraw.Draw(fine)
    pen.rectangle((200, 160, 1100, 800), fill=(148, 104, 202))
    for x, y in ((402, 398), (803, 611)):
        pen.ellipse((x - 18, y - 18, x + 18, y + 18), fill=(153, 170, 181))
    out = io.BytesIO()
    fine.resize((320, 240), Image.Resampling.BOX).save(out, "JPEG", quality=75)
    return read_picture_bytes(out.getvalue(), "spots.jpg")


def test_a_small_spot_that_differs_in_hue_alone_has_its_own_colour() -> None:
    """Grey spots of 9 px, in a JPEG whose palette of flat pixels does not know the grey: not taken for the tan."""
    areas = areas_of_picture(_jpeg_of_spots(), TraceRule())
    spots = [area for area in areas.areas if 30 < area.region.area < 120]
    assert len(spots) == 2
    for spot in spots:
        assert np.linalg.norm(lab_of(np.array(spot.colour)) - lab_of(np.array((153, 170, 181)))) < 10.0
    held = areas_of_picture(_jpeg_of_spots(), TraceRule(number_of_colours=2))
    assert len({area.colour for area in held.areas}) == 2
