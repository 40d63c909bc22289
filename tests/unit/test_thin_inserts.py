"""Tapered walls: stems, necks and needles of an insert that levelling leaves thin are told; corners are not."""

import math

import pytest
import shapely
from shapely import Point, Polygon, box, union_all

from purfle.fit.tapered_walls import let_in_tapered
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, FitRule
from purfle.model.tapered import TaperedRule

WALLS = TaperedRule(half_angle=30.0, tip_radius=0.0, sink=2.5, glue_room=0.5, saw_room=1.0)
RULE = FitRule(cutter_radius=1.5875, seam=0.0)
BODY = box(0, 0, 20, 20)


def told(region: Polygon) -> list[Finding]:
    """What is told of a design of one area."""
    (fit,) = let_in_tapered([DrawnArea("leaf", "holly", (0, 0, 0), region)], RULE, WALLS)
    return [one for one in fit.pieces.findings if "thick in a narrow place" in one.what]


@pytest.mark.parametrize(
    "region",
    [
        union_all([BODY, box(20, 9.55, 47, 10.45)]),
        union_all([BODY, box(20, 9.55, 28, 10.45), box(28, 0, 48, 20)]),
        box(0, 9.55, 27, 10.45),
    ],
    ids=["stem", "neck", "strip"],
)
def test_a_narrow_place_is_told_with_depth_place_and_mend(region: Polygon) -> None:
    """0.45 mm by tan 30 degrees is 0.78 mm; 1.5 mm want 1.73 mm of width, or a V of 2 atan(0.45 / 1.5)."""
    (one,) = told(region)
    assert f"only {0.45 / math.tan(math.radians(30.0)):.2f} mm thick" in one.what
    assert "walls 0.90 mm apart" in one.what
    assert one.place is not None
    assert region.contains(Point(one.place))
    assert region.boundary.distance(Point(one.place)) == pytest.approx(0.45, abs=0.01)
    assert "wider than 1.7 mm" in one.mend
    assert f"{math.floor(2.0 * math.degrees(math.atan(0.45 / 1.5)))}°" in one.mend


@pytest.mark.parametrize("wide", [1.7, 1.8])
def test_wide_enough_is_where_as_much_is_left_as_custom_asks(wide: float) -> None:
    stem = box(20, 10 - wide / 2, 47, 10 + wide / 2)
    assert bool(told(union_all([BODY, stem]))) == (wide < 2.0 * 1.5 * math.tan(math.radians(30.0)))


def test_corners_of_a_star_are_no_narrow_places_and_a_needle_is_one() -> None:
    """A tip of 36 degrees is thin over less than two widths, one of 12 degrees over five."""
    turns = [math.radians(90.0 + 36.0 * n) for n in range(10)]
    star = Polygon(
        [((20.0, 7.64)[n % 2] * math.cos(t), (20.0, 7.64)[n % 2] * math.sin(t)) for n, t in enumerate(turns)]
    )
    assert told(star) == []
    needle = Polygon([(20, 8), (20, 12), (39, 10)])
    (one,) = told(shapely.union(BODY, needle))
    assert one.place is not None
    assert one.place[0] > 30.0
