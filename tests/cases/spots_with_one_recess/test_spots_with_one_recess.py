"""Two spots so near each other that no cutter passes between: let in over, they share one recess.

Found by the laws of edits and order together: where such a recess left too little of the host, what lay at its middle
was looked for and not found, which stopped Purfle with a traceback.
"""

import pytest
import shapely
from shapely import Point, box

from purfle.fit import let_in_order
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def drawn(gap: float, rim: float) -> list[DrawnArea]:
    """Two spots of 5 mm, `gap` apart, in a bar that leaves `rim` on either side of them."""
    spots = [Point(side * (2.5 + gap / 2), 0).buffer(2.5, quad_segs=48) for side in (-1, 1)]
    bar = box(-20, -2.5 - rim, 20, 2.5 + rim).difference(shapely.union_all(spots))
    named = zip(("left", "right"), spots, strict=True)
    return [DrawnArea("bar", "wenge", (0, 0, 0), bar), *(DrawnArea(n, "holly", (9, 9, 9), one) for n, one in named)]


@pytest.mark.parametrize("gap", [0.2, 0.4])
def test_with_too_little_of_the_host_they_go_beside(gap: float) -> None:
    """Both are told why, and one insert fills their one recess."""
    (fit,) = let_in_order(drawn(gap, 0.6), RULE)
    assert {choice.name: choice.way for choice in fit.choices} == {"left": "beside", "right": "beside"}
    assert all("let in over" in choice.why for choice in fit.choices)
    holly = [insert for insert in fit.inserts if insert.wood == "holly"]
    assert len(holly) == 1


def test_with_enough_of_the_host_they_go_over_as_one() -> None:
    bar, spots = let_in_order(drawn(0.4, 6.0), RULE)
    assert len(spots.inserts) == len(shapely.get_parts(spots.recess)) == 1
    assert bar.inserts[0].region.contains(spots.recess)
