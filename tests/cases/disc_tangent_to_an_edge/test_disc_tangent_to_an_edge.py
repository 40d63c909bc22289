"""A disc that touches the edge of the area around it left a neck of no width; the seam beside it opened to 0.165 mm.

Found on E1CE of the colour set (99.87 % of its seam within 0.01 mm). What the opening leaves of the area is two cusps
with one outline, which touches itself where the neck is thinner than the last digits of the second engine. Such an
outline makes no valid polygon, and building areas out of outlines dropped it without a word.
"""

import pytest
import shapely
from shapely import Point, Polygon, box

from purfle.fit import let_in, make_pieces
from purfle.geometry.offsetting import opening, slivers_between
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)
DISC = Point(20.0, 2.8).buffer(2.8, quad_segs=64)
AROUND = box(0.0, 0.0, 40.0, 20.0).difference(DISC)


@pytest.mark.parametrize("lift", [0.0, 1e-9, 1e-7, 1e-6, 1e-5])
def test_both_cusps_are_found_however_thin_the_neck_between_them(lift):
    around = box(0.0, -lift, 40.0, 20.0).difference(DISC)
    body = opening(around, 0.4)
    beside = [one for one in slivers_between(around, body) if one.distance(Point(20.0, 0.0)) < 2.0]
    # the cusp between the disc and its tangent, as far as a disc of 0.4 mm lies against both
    reach = 2.0 * (2.8 * 0.4) ** 0.5
    corner = Polygon([(20.0 - reach, 0.0), (20.0, 2.8), (20.0 + reach, 0.0)])
    cusps = shapely.intersection(corner, around).difference(shapely.union_all([body, DISC])).area
    assert sum(one.area for one in beside) == pytest.approx(cusps, rel=0.05)


def test_the_neck_goes_and_the_seam_is_even():
    areas = (DrawnArea("disc", "holly", (0, 0, 0), DISC), DrawnArea("around", "wenge", (0, 0, 0), AROUND))
    seam = let_in(make_pieces(areas, RULE), RULE).seam
    assert seam.share_within >= 0.999
    assert seam.widest < 0.13
