"""Four pieces that meet in one point: they stay four, and their corners keep the seam."""

from shapely import box

from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)
QUARTERS = [box(0, 0, 15, 15), box(15, 0, 30, 15), box(15, 15, 30, 30), box(0, 15, 15, 30)]


def crossing(*woods):
    return tuple(
        DrawnArea(f"quarter {k}", wood, (0, 0, 0), quarter)
        for k, (wood, quarter) in enumerate(zip(woods, QUARTERS, strict=True), 1)
    )


def test_four_woods_meet_in_one_point():
    pieces = make_pieces(crossing("holly", "wenge", "maple", "sapele"), RULE)
    assert len(pieces.pieces) == 4
    assert pieces.art_changed < 0.01
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    seam = let_in(pieces, RULE).seam
    assert seam.narrowest >= 0.099
    assert seam.widest <= 0.13


def test_two_woods_crosswise_touch_in_a_point_and_stay_apart():
    pieces = make_pieces(crossing("holly", "wenge", "holly", "wenge"), RULE)
    assert len(pieces.pieces) == 4
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    seam = let_in(pieces, RULE).seam
    assert seam.narrowest >= 0.099
    assert seam.widest <= 0.2
