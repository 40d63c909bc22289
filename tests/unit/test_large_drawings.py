"""What is done otherwise in large drawings gives the same areas, or refuses what would be refused later anyway."""

import pytest
import shapely
from shapely import Polygon

from dxf_sample import dxf_bytes
from purfle import artwork
from purfle.artwork import drawing as areas_of
from purfle.errors import DrawingError, FitError
from purfle.files import dxf_drawing
from purfle.fit import make_pieces, making
from purfle.model.artwork import Drawing, PaintedShape
from purfle.model.pieces import DrawnArea, FitRule


def drawing_of(regions) -> Drawing:
    shapes = tuple(PaintedShape(f"{k}", (k, 0, 0), region) for k, region in enumerate(regions))
    return Drawing(80.0, 80.0, shapes, (), "drawn.svg")


def strip(low: float, high: float) -> DrawnArea:
    return DrawnArea("strip", "holly", (0, 0, 0), shapely.box(0, low, 40, high))


def test_shapes_beside_one_another_show_the_same_whether_few_or_many(monkeypatch) -> None:
    discs = [shapely.Point(3.1 * k % 11, 2.3 * k % 17).buffer(1.5) for k in range(40)]
    few = areas_of.visible_regions(drawing_of(discs))
    monkeypatch.setattr(areas_of, "MANY", 10)
    monkeypatch.setattr(areas_of, "FEW", 1)
    many = areas_of.visible_regions(drawing_of(discs))
    assert [name for name, _, _ in many] == [name for name, _, _ in few]
    apart = [one.symmetric_difference(other).area for (*_, one), (*_, other) in zip(few, many, strict=True)]
    assert max(apart) < 0.01


def test_rings_around_one_another_are_refused_before_their_areas_are_found(monkeypatch) -> None:
    rings = [shapely.Point(0, 0).buffer(k + 1.0).boundary.buffer(0.2) for k in range(20)]
    monkeypatch.setattr(areas_of, "MOST_ABOUT", 30_000)
    with pytest.raises(DrawingError, match="20 areas lie around one another") as refusal:
        artwork.areas_of_drawing(drawing_of(rings))
    assert refusal.value.where == "drawn.svg"


@pytest.mark.parametrize("bulge", [0.0, 0.5])
def test_a_dxf_read_at_two_sizes_is_that_read_at_each_alone(bulge: float) -> None:
    data = dxf_bytes(
        lambda _, model: model.add_lwpolyline(
            [(0, 0, bulge), (30, 0, 0), (30, 20, 0), (5, 30, 0)], format="xyb", close=True
        )
    )
    read = dxf_drawing.opened(data, "a.dxf", "mm")
    both = read(1.0), read(2.5)
    alone = tuple(dxf_drawing.read_dxf(data, "a.dxf", "mm", size) for size in (1.0, 2.5))
    for one, other in zip(both, alone, strict=True):
        assert [shape.region.wkb for shape in one.shapes] == [shape.region.wkb for shape in other.shapes]
        assert one.not_carried == other.not_carried
    assert (len(both[1].shapes[0].region.exterior.coords) > 5) is (bulge > 0.0)


def test_finely_drawn_areas_too_thin_for_a_piece_are_refused_in_the_words_of_coarse_ones(monkeypatch) -> None:
    thin = (strip(0.0, 0.5), strip(3.0, 3.5))
    with pytest.raises(FitError) as late:
        make_pieces(thin, FitRule(1.5875, 0.1))
    monkeypatch.setattr(making, "_FINELY_DRAWN", 8)
    monkeypatch.setattr(making, "lay_out", None)  # so far it does not come
    with pytest.raises(FitError, match="nothing is left to let in") as early:
        make_pieces(thin, FitRule(1.5875, 0.1))
    assert (early.value.what, early.value.where, early.value.mend) == (
        late.value.what,
        late.value.where,
        late.value.mend,
    )


def test_thin_areas_beside_one_another_that_make_a_piece_together_are_not_refused(monkeypatch) -> None:
    monkeypatch.setattr(making, "_FINELY_DRAWN", 8)
    made = make_pieces(tuple(strip(k * 0.5, k * 0.5 + 0.5) for k in range(10)), FitRule(1.5875, 0.1))
    assert len(made.pieces) == 1
    assert isinstance(made.pieces[0].region, Polygon)
