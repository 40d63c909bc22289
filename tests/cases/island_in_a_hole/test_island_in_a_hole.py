"""A ring with an island of ground in it: that the ground's hole holds ground again does not mean that it was filled.

Once every silhouette with an island was refused, the whole hole being taken for lost although its gap was wide open.
"""

import pytest
from shapely import Point

from purfle.fit import let_in, make_pieces
from purfle.geometry.reaching import depth_beyond
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def disc(radius):
    return Point(0, 0).buffer(radius, quad_segs=64)


def test_a_ring_round_an_island_is_one_piece_that_is_closed():
    pieces = make_pieces((DrawnArea("ring", "holly", (0, 0, 0), disc(20).difference(disc(12))),), RULE)
    (piece,) = pieces.pieces
    assert len(piece.region.interiors) == 1
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert let_in(pieces, RULE).seam.widest <= 0.102


def test_the_depth_of_a_filled_gap_round_an_island_is_half_its_width():
    """Closed form: the largest disc in a gap of 2 mm between two circles about one centre has a radius of 1 mm."""
    region = disc(20).difference(disc(12)).union(disc(10))
    assert depth_beyond(region, disc(20), 0.002) == pytest.approx(1.0, abs=0.01)
    assert depth_beyond(region, region, 0.002) == 0.0
