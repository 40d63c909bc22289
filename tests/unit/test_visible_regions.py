"""What shows of shapes that lie over one another: each less all that is painted after it."""

import math

import numpy as np
import pytest
import shapely
from shapely import Point, box
from shapely.affinity import rotate

from purfle.artwork.drawing import visible_regions
from purfle.model.artwork import Drawing, PaintedShape
from purfle.tolerances import GRID


def laid(seed: int, count: int) -> tuple[PaintedShape, ...]:
    """Discs, rings and bars of all sizes over one another, the first one over the whole page."""
    chance = np.random.default_rng(seed)
    shapes = [PaintedShape("page", (0, 0, 0), box(0, 0, 90, 60))]
    for number in range(count):
        (x, y), size = chance.uniform((0, 0), (90, 60)), 10 ** chance.uniform(-0.3, 1.3)
        disc = Point(x, y).buffer(size)
        bar = rotate(box(x - 2 * size, y - size / 3, x + 2 * size, y + size / 3), chance.uniform(0, 180))
        region = (disc, bar, disc - Point(x, y).buffer(size / 2))[number % 3]
        shapes.append(PaintedShape(f"shape {number}", (number % 256, 1, 1), region))
    return tuple(shapes)


@pytest.mark.parametrize("seed", range(6))
def test_each_shape_shows_less_all_that_lies_over_it(seed: int) -> None:
    """Against one difference from the union of all above it; outlines move by no more than places of the grid."""
    shapes = laid(seed, 60)
    shown = {name: region for name, _, region in visible_regions(Drawing(90, 60, shapes, (), "laid"))}
    for number, shape in enumerate(shapes):
        plain = shapely.difference(shape.region, shapely.union_all([one.region for one in shapes[number + 1 :]]))
        apart = shapely.symmetric_difference(plain, shown.pop(shape.name, Point()))
        assert shapely.area(apart) <= max(4 * GRID * plain.length, 1e-3), shape.name
    assert shown == {}


def test_what_shows_tiles_what_is_painted() -> None:
    """Areas of all that shows sum to the area of the union, without anything counted twice."""
    shapes = laid(7, 120)
    regions = [region for _, _, region in visible_regions(Drawing(90, 60, shapes, (), "laid"))]
    whole = shapely.union_all([shape.region for shape in shapes])
    assert math.fsum(shapely.area(regions)) == pytest.approx(whole.area, abs=0.05)
    one, other = shapely.STRtree(regions).query(regions, predicate="intersects")
    twice = [regions[a].intersection(regions[b]).area for a, b in zip(one, other, strict=True) if a < b]
    assert max(twice) <= 1e-3
