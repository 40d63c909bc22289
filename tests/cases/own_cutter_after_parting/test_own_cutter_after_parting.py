"""An area with a finishing cutter of its own that falls into two parts: both parts keep that cutter.

Found by a direct test of the cells of the partition: a part was given everything of its cell but its cutter, so that
both halves of a dumbbell were rounded by the larger cutter of the job, though the job file names the small one.
"""

import math

import pytest
import shapely
from shapely import box

from purfle.fit import let_in_order
from purfle.model.pieces import DrawnArea, FitRule

LARGE, SMALL, SEAM = 3.175, 0.79375, 0.1
DUMBBELL = shapely.union_all([box(0, 0, 20, 20), box(20, 9.85, 50, 10.15), box(50, 0, 70, 20)])
"""Two squares of 20 mm, and between them a neck of 0.3 mm that no cutter leaves standing."""


def test_both_parts_keep_the_cutter_of_their_area() -> None:
    """A square loses (4 - pi) r^2 at its corners (closed form), here with the small radius."""
    drawn = DrawnArea("dumbbell", "holly", (220, 210, 190), DUMBBELL, cutter_radius=SMALL)
    (fit,) = let_in_order([drawn], FitRule(LARGE, SEAM))
    assert [insert.name for insert in fit.inserts] == ["dumbbell", "dumbbell, part 2"]
    assert [fit.radius_of(insert) for insert in fit.inserts] == [SMALL, SMALL]
    assert [radius for _, radius in fit.recess_parts()] == [SMALL, SMALL]
    for piece in fit.pieces.pieces:
        assert 400.0 - piece.region.area == pytest.approx((4 - math.pi) * (SMALL - SEAM / 2) ** 2, rel=0.05)
