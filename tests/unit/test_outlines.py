"""Outlines around fills: dissolved into the areas beside them along their middle; lines told from areas."""

import numpy as np
import pytest
import shapely

from purfle.artwork import areas_of_drawing, areas_of_picture, edit_areas
from purfle.artwork.outlines import is_line, mean_width
from purfle.errors import JobFileError
from purfle.files.job_areas import area_edits
from purfle.files.toml_table import read_toml
from purfle.geometry.partition import tiling_of
from purfle.model.artwork import Area, AreaEdits, Areas, Drawing, PaintedShape, Picture, TraceRule

DARK, PALE, RED = (40, 30, 20), (240, 230, 210), (180, 40, 30)
FRAME = shapely.box(0.0, 0.0, 60.0, 40.0)


def _window() -> Areas:
    """Two panes of 25 x 30 mm, pale and red, 2 mm apart in a dark frame of 2 mm around both."""
    shapes = (
        PaintedShape("outline", DARK, shapely.box(3.0, 3.0, 59.0, 37.0)),
        PaintedShape("left", PALE, shapely.box(5.0, 5.0, 30.0, 35.0)),
        PaintedShape("right", RED, shapely.box(32.0, 5.0, 57.0, 35.0)),
    )
    return areas_of_drawing(Drawing(60.0, 40.0, shapes, (), "window"))


def _region(areas: Areas, name: str) -> shapely.Polygon:
    (found,) = [area.region for area in areas.areas if area.name == name]
    return found


def test_neighbours_share_a_line_along_its_middle_and_take_it_whole_against_the_ground() -> None:
    """Closed form: the panes meet in the middle of the bar between them, and reach to the outside of the frame."""
    areas = edit_areas(_window(), 34.0, AreaEdits(dissolve=("outline",)))
    assert sorted(area.name for area in areas.areas if area.number not in areas.ground) == ["left", "right"]
    whole = shapely.box(*shapely.total_bounds([_region(areas, "left"), _region(areas, "right")]))
    low, high = whole.bounds[0], whole.bounds[2]
    middle = (low + high) / 2.0
    left = shapely.box(low, whole.bounds[1], middle, whole.bounds[3])
    assert whole.area == pytest.approx(56.0 * 34.0, abs=0.05)
    assert _region(areas, "left").symmetric_difference(left).area < 0.6
    assert _region(areas, "left").hausdorff_distance(left) < 0.12
    frame = shapely.box(0.0, 0.0, areas.width, areas.height)
    tiling = tiling_of([area.region for area in areas.areas], frame)
    assert tiling.edges_shared
    assert tiling.area_apart < 1e-6
    assert any('the neighbours of "outline" share it' in doubt.what for doubt in areas.doubts)


def test_a_colour_means_its_lines_and_not_its_spots() -> None:
    """A dark disc of the outline's colour stays; a ring around a pane is dissolved into it."""
    pixels = np.full((300, 420, 3), 255, np.uint8)
    pixels[40:260, 40:240] = DARK
    pixels[48:252, 48:232] = RED
    row, column = np.mgrid[:300, :420]
    pixels[np.hypot(row - 150, column - 330) < 40] = DARK
    areas = areas_of_picture(Picture(pixels, None, False, "pane"), TraceRule())
    edited = edit_areas(areas, 100.0, AreaEdits(dissolve=(DARK,)))
    drawn = [area for area in edited.areas if area.number not in edited.ground]
    sizes = sorted(float(area.region.area) for area in drawn)
    assert sizes == pytest.approx([np.pi * 40**2, 220 * 200], rel=0.01)


def test_lines_are_told_from_areas() -> None:
    """Rings, bars and crosses of even width are lines; discs, squares and drops are not (mean width: closed form)."""
    ring = shapely.Point(0, 0).buffer(20).difference(shapely.Point(0, 0).buffer(18))
    cross = shapely.union(shapely.box(-20, -1, 20, 1), shapely.box(-1, -20, 1, 20))
    assert mean_width(ring) == pytest.approx(2.0, rel=0.01)
    for shape, wanted in (
        (ring, True),
        (cross, True),
        (shapely.box(0, 0, 30, 1), True),
        (shapely.Point(0, 0).buffer(5), False),
        (shapely.box(0, 0, 3, 3), False),
        (shapely.union(shapely.box(0, -0.5, 30, 0.5), shapely.Point(0, 0).buffer(5)), False),
    ):
        assert is_line(Area(0, DARK, shape)) is wanted


@pytest.mark.parametrize(
    ("edits", "what", "mend"),
    [
        (AreaEdits(dissolve=("frame",)), 'No area is called "frame".', "outline"),
        (AreaEdits(dissolve=(PALE,)), "No area drawn in #f0e6d2 is a line.", "give a point in it"),
        (
            AreaEdits(dissolve=("outline", "left", "right")),
            "Nothing is left to let in: every area is dissolved.",
            "Keep",
        ),
    ],
)
def test_slips_are_told(edits: AreaEdits, what: str, mend: str) -> None:
    with pytest.raises(JobFileError) as refusal:
        edit_areas(_window(), 34.0, edits)
    assert refusal.value.what == what
    assert refusal.value.where == "[areas] dissolve"
    assert mend in refusal.value.mend


def test_the_key_is_read_as_the_others_are() -> None:
    table = read_toml(b'dissolve = ["outline", "20, 5", "#281e14"]', "job.toml")
    table.source.unit = "mm"
    assert area_edits(table, drawn=False).dissolve == ("outline", (20.0, 5.0), DARK)
    assert table.source.faults == []


def test_a_line_inside_one_area_is_listed_with_what_may_be_made_of_it() -> None:
    """A mouth of 12 x 1 mm in a face is told with its width and a point on it; an eye and a line on ground are not."""
    shapes = (
        PaintedShape("face", PALE, shapely.box(0.0, 0.0, 40.0, 40.0)),
        PaintedShape("mouth", RED, shapely.box(14.0, 10.0, 26.0, 11.0)),
        PaintedShape("eye", DARK, shapely.Point(20.0, 30.0).buffer(3.0)),
        PaintedShape("hair", DARK, shapely.box(50.0, 0.0, 51.0, 40.0)),
    )
    areas = edit_areas(areas_of_drawing(Drawing(51.0, 40.0, shapes, (), "face")), 80.0, AreaEdits())
    (told,) = [doubt for doubt in areas.doubts if "line" in doubt.what]
    assert told.what == 'A line 1.8 mm wide lies inside "face"; it is a piece of its own.'
    assert told.where == "the line at 40.0, 21.0 mm"
    assert '"40.0 mm, 21.0 mm" = "keep"' in told.mend
    assert told.severity == "note"


def _outlined_face() -> Areas:
    """Two cheeks, 2 mm apart in a frame, with a mouth of the same colour inside one of them alone."""
    mouth = PaintedShape("mouth", DARK, shapely.box(10.0, 10.0, 22.0, 11.0))
    shapes = (
        PaintedShape("outline", DARK, shapely.box(3.0, 3.0, 59.0, 37.0)),
        PaintedShape("left", PALE, shapely.box(5.0, 5.0, 30.0, 35.0)),
        PaintedShape("right", RED, shapely.box(32.0, 5.0, 57.0, 35.0)),
        mouth,
    )
    return areas_of_drawing(Drawing(60.0, 40.0, shapes, (), "face"))


def test_a_colour_leaves_lines_inside_one_area() -> None:
    """The outline goes, told with a point on it; the mouth of the same colour stays unless it is named by a point."""
    edited = edit_areas(_outlined_face(), 34.0, AreaEdits(dissolve=(DARK,)))
    assert _region(edited, "mouth").area == pytest.approx(12.0, rel=0.01)
    (told,) = [doubt for doubt in edited.doubts if doubt.what.startswith("Dissolved")]
    x, y = (float(figure) for figure in told.where.removeprefix("the line at ").removesuffix(" mm").split(", "))
    (outline,) = [area.region for area in _outlined_face().areas if area.name == "outline"]
    assert outline.dwithin(shapely.Point(x + outline.bounds[0], y + outline.bounds[1]), 0.1)
    named = edit_areas(_outlined_face(), 34.0, AreaEdits(dissolve=((13.0, 7.5),)))
    assert not [area for area in named.areas if area.name == "mouth"]
    with pytest.raises(JobFileError) as refusal:
        edit_areas(edited, 34.0, AreaEdits(dissolve=(DARK,)))
    assert refusal.value.what == "No area drawn in #281e14 is a line between others."
