"""Two lobes 0.4 mm apart: one piece is bridged; two pieces of different wood keep a wall that is reported."""

from shapely import Point, box

from purfle.fit import let_in, make_pieces, wall_findings
from purfle.geometry.offsetting import closing, closing_by_clipper
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def lobe(x):
    return Point(x, 0).buffer(8, quad_segs=64)


def test_lobes_of_one_piece_are_bridged_where_the_cutter_does_not_pass():
    heart = lobe(0).union(lobe(16.4)).union(box(0, -9, 16.4, -5))
    pieces = make_pieces((DrawnArea("heart", "holly", (0, 0, 0), heart),), RULE)
    (piece,) = pieces.pieces
    assert piece.region.contains(Point(8.2, 0))
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005


def apart(gap):
    return make_pieces(
        (
            DrawnArea("a", "holly", (0, 0, 0), lobe(0)),
            DrawnArea("b", "wenge", (0, 0, 0), lobe(16 + gap)),
        ),
        RULE,
    )


def test_a_wall_that_can_just_stand_between_two_lobes_of_different_wood_is_reported():
    pieces = apart(1.0)
    assert len(pieces.pieces) == 2
    (finding,) = (*pieces.findings, *wall_findings(pieces, RULE))
    assert "wall of ground" in finding.what
    assert "8.5 mm from its left end" in finding.where
    assert "further apart" in finding.mend


def test_a_wall_that_cannot_stand_is_given_to_a_neighbour_and_reported():
    pieces = apart(0.4)
    assert len(pieces.pieces) == 2
    assert pieces.pieces[0].region.distance(pieces.pieces[1].region) == 0
    assert any("the ground is thinner than 0.8 mm there" in finding.what for finding in pieces.findings)
    outside = pieces.domain.difference(let_in(pieces, RULE).recess)
    for close in (closing, closing_by_clipper):
        assert close(outside, RULE.cutter_radius).difference(outside).area < 0.02
