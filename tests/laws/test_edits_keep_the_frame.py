"""Laws of editing: whatever is merged, dropped or mirrored, areas tile the frame and nothing of it is lost."""

from dataclasses import replace

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from purfle.artwork import areas_of_drawing, edit_areas
from purfle.errors import JobFileError
from purfle.model.artwork import AreaEdits, Areas, Drawing, PaintedShape, SymmetryWish

SIDE, COUNT = 5, 3
CELLS = [f"{column}{row}" for column in range(COUNT) for row in range(COUNT)]


def _board(skew: float = 0.0) -> Areas:
    """Nine leaning squares with names and a frame of ground around them."""
    shapes = []
    for column in range(COUNT):
        for row in range(COUNT):
            x, y, lean = column * SIDE, row * SIDE, skew
            corners = [(x + lean * y, y), (x + SIDE + lean * y, y)]
            corners += [(a + lean * SIDE, b + SIDE) for a, b in corners[::-1]]
            colour = (40 * column, 60 * row, 90)
            shapes.append(PaintedShape(f"{column}{row}", colour, shapely.Polygon(corners)))
    return areas_of_drawing(Drawing(20.0, 20.0, tuple(shapes), (), "squares"))


def _refuse_gaps(areas: Areas) -> None:
    """The outside reference: the frame is a rectangle whose area is width times height."""
    regions = [area.region for area in areas.areas]
    frame = areas.width * areas.height
    assert shapely.coverage_is_valid(regions)
    assert abs(sum(region.area for region in regions) - frame) < 1e-9 * frame
    assert abs(shapely.union_all(regions).area - frame) < 1e-9 * frame
    assert [area.number for area in areas.areas] == list(range(len(regions)))


def _height(areas: Areas) -> float:
    return float(shapely.total_bounds([a.region for a in areas.areas if a.number not in areas.ground])[3]) - 0.03


NINE = _board(0.1)
cells = st.sampled_from(CELLS)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.sets(cells, max_size=5), st.sets(cells, max_size=5), st.sampled_from(CELLS[:6]), st.floats(0.0, 30.0))
def test_areas_tile_their_frame_after_any_edits(ground: set[str], given: set[str], low: str, smallest: float) -> None:
    """After merging, dropping and simplifying, areas share their edges and their sum is the frame."""
    pair = (low, f"{int(low[0]) + 1}{low[1]}")
    given, ground = given - set(pair), ground - given - set(pair)
    edits = AreaEdits((), (pair,), tuple(sorted(ground)), tuple(sorted(given)), smallest)
    edited = edit_areas(NINE, 15.0, edits)
    _refuse_gaps(edited)
    names = {area.name for area in edited.areas if area.number not in edited.ground}
    assert not names & (ground | given | {pair[1]})


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.permutations(["00", "01", "02", "12"]))
def test_merging_is_associative(order: list[str]) -> None:
    """(a + b) + c and a + (b + c) are the same area with the same name, whatever touches first."""
    a, b, c, d = order
    ways = [((a, b, c, d),), ((a, b), (b, c), (c, d)), ((a, b), (a, c, d))]
    outlines = {edit_areas(NINE, 15.0, AreaEdits(merge=way)).areas for way in ways}
    assert len(outlines) == 1
    (areas,) = outlines
    assert len(areas) == len(NINE.areas) - 3
    assert {area.name for area in areas if area.name in order} == {a}


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.permutations(CELLS), st.integers(1, 6))
def test_the_order_of_dropping_makes_no_difference(order: list[str], count: int) -> None:
    """The same areas given to neighbours in any order leave the same areas, and the frame is as large as before."""
    dropped = order[:count]
    one, other = (edit_areas(NINE, 15.0, AreaEdits(to_neighbour=tuple(d))) for d in (dropped, sorted(dropped)))
    assert one.areas == other.areas
    _refuse_gaps(one)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.floats(-0.4, 0.4), st.booleans(), st.booleans(), st.one_of(st.none(), st.floats(5.0, 12.0)), st.integers(0, 40)
)
def test_a_symmetrical_design_is_its_own_mirror_image(
    skew: float, upright: bool, upper: bool, at: float | None, seed: int
) -> None:
    """Every area has a mirror image among the areas to 1e-9 mm, and they tile their frame."""
    areas = _board(skew)
    dropped = tuple(np.random.default_rng(seed).choice(CELLS, 2, replace=False).tolist())
    edits = AreaEdits(merge=(), to_ground=dropped, symmetry=SymmetryWish(upright, at, upper))
    try:
        edited = edit_areas(areas, _height(areas), edits)
    except JobFileError:  # a square on the half that is given up, dropped for nothing
        edited = edit_areas(areas, _height(areas), replace(edits, to_ground=()))
    _refuse_gaps(edited)
    size = np.array([edited.width, edited.height])
    sense = np.array([-1.0, 1.0] if upright else [1.0, -1.0])
    shift = np.where(sense < 0.0, size, 0.0)
    outlines = [area.region for area in edited.areas]
    for outline in outlines:
        image = shapely.transform(outline, lambda xy: xy * sense + shift)
        assert min(shapely.hausdorff_distance(image, other) for other in outlines) < 1e-9
