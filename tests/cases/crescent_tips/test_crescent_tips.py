"""A crescent against its disc: its tips run out to nothing, are trimmed, and the seam stays narrow beside them."""

import pytest
from shapely import Point

from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


@pytest.mark.parametrize("shift", [3.0, 6.0, 9.0])
def test_the_seam_beside_trimmed_tips_stays_narrow(shift):
    full, moved = Point(0, 0).buffer(15, quad_segs=64), Point(shift, 0).buffer(14, quad_segs=64)
    drawn = (
        DrawnArea("moon", "holly", (0, 0, 0), full.difference(moved)),
        DrawnArea("night", "wenge", (0, 0, 0), moved),
    )
    pieces = make_pieces(drawn, RULE)
    seam = let_in(pieces, RULE).seam
    assert [piece.name for piece in pieces.pieces] == ["moon", "night"]
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert seam.narrowest >= 0.099
    assert seam.widest <= 0.13
    assert seam.share_within >= 0.999


def test_the_tips_are_trimmed_and_the_disc_takes_what_they_leave():
    """Where the circles cross (closed form) no holly is left within a mm; what is lost is less than a detail each."""
    full, moved = Point(0, 0).buffer(15, quad_segs=64), Point(6, 0).buffer(14, quad_segs=64)
    moon = DrawnArea("moon", "holly", (0, 0, 0), full.difference(moved))
    pieces = make_pieces((moon, DrawnArea("night", "wenge", (0, 0, 0), moved)), RULE)
    (horned,) = (piece.region for piece in pieces.pieces if piece.name == "moon")
    x = (15**2 - 14**2 + 6**2) / (2 * 6)
    for tip in (Point(x, (15**2 - x**2) ** 0.5), Point(x, -((15**2 - x**2) ** 0.5))):
        assert moon.region.distance(tip) < 0.01
        assert horned.distance(tip) > 1.0
        assert not horned.intersects(tip.buffer(1.0))
    assert horned.area > 0.97 * moon.region.area
    assert pieces.art_changed < 0.02
