"""Sheet 7 where pieces are let into pieces: each number stands where its own piece is seen."""

from types import SimpleNamespace
from typing import Any

from shapely import Point, box

from purfle.sheets.assembly_drawing import uncovered
from purfle.sheets.labels import Numbered


def of_order(order: int) -> Any:
    return SimpleNamespace(inlay=SimpleNamespace(order=order))


def test_numbers_of_pieces_one_in_the_middle_of_the_other_stand_apart() -> None:
    """A bar with a square let into its middle, and a dot into that: three numbers, each on its own wood alone."""
    parts = [of_order(1), of_order(2), of_order(3)]
    shapes = [box(-40, -12, 40, 12), box(-10, -10, 10, 10), Point(0, 0).buffer(4)]
    seen = [Numbered.of(str(n), uncovered(n, parts, shapes)) for n in range(3)]
    for number, one in enumerate(seen):
        on = [other for other, shape in enumerate(shapes) if shape.covers(Point(one.middle))]
        assert on[-1] == number


def test_a_piece_that_is_covered_whole_keeps_its_number() -> None:
    """Nothing of it is seen: its number stands where it lies."""
    shape = box(0, 0, 5, 5)
    assert uncovered(0, [of_order(1), of_order(2)], [shape, box(-1, -1, 6, 6)]) == shape
