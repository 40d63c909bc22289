"""Laws of several artworks in one design."""

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate

from purfle.artwork import compose
from purfle.artwork.ready import draw_ready
from purfle.model.pieces import DrawnArea
from purfle.model.ready import Diamond, Disc, Form, Oval, Rectangle

FORMS: tuple[Form, ...] = (Disc(20.0), Oval(30.0, 12.0), Rectangle(25.0, 18.0, 4.0), Diamond(30.0, 16.0))
PLACED = st.tuples(st.sampled_from(FORMS), st.integers(0, 40), st.integers(0, 30))


def laid(placed: list[tuple[Form, int, int]]) -> list[DrawnArea]:
    """Shapes where they lie, all of one name."""
    regions = [translate(draw_ready(form, 1).parts[0].region, x, y) for form, x, y in placed]
    return [DrawnArea("shape", f"wood {n}", (n, n, n), region, True) for n, region in enumerate(regions)]


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.lists(PLACED, min_size=1, max_size=5))
def test_later_artworks_lie_over_earlier_ones(placed: list[tuple[Form, int, int]]) -> None:
    """Of each artwork remains what no later one covers; what is wholly covered is named; names differ."""
    areas = laid(placed)
    made = compose(areas)
    assert len({area.name for area in made.areas if area.wood == "wood 0"}) <= 1
    for number, area in enumerate(areas):
        later = shapely.union_all([one.region for one in areas[number + 1 :]])
        wanted = area.region.difference(later)
        left = shapely.union_all([one.region for one in made.areas if one.wood == area.wood])
        found = translate(left, *made.place)
        assert found.symmetric_difference(wanted).area < 0.01 + 1e-3 * wanted.length
        if wanted.area == 0.0:
            name = "shape" if number == 0 else f"shape {number + 1}"
            assert [it.where for it in made.findings].count(name) == 1
    whole = made.tiling.width * made.tiling.height
    assert abs(sum(area.region.area for area in made.tiling.areas) - whole) < 1e-6 * whole


def test_where_artworks_stand_makes_no_difference_to_what_lies_half_way_between_two_places_of_the_grid() -> None:
    """Corners at odd multiples of half a step of the grid, 0 to 3 m from the datum corner: the same to the bit."""
    fan = shapely.Polygon([(0, 0), (13.20005, 0.00015), (11.73215, 7.41005), (3.10015, 9.99995)])
    spot = translate(fan.buffer(-2.0, join_style="mitre"), 0.00005, 0.00005)
    made = [
        compose(
            [DrawnArea(name, "holly", (9, 9, 9), translate(one, x, y)) for name, one in (("fan", fan), ("spot", spot))]
        )
        for x, y in ((0, 0), (251, 39), (1024, 7), (2999, 1733))
    ]
    outlines = [b"".join(shapely.to_wkb(area.region) for area in one.areas) for one in made]
    assert len(set(outlines)) == 1
