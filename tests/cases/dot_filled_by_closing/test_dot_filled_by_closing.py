"""A dot in a piece, smaller than the cutter: the closing of the piece around fills it, and the drawing says so."""

import pytest
from shapely import Point

from purfle.fit import make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def dotted(radius):
    dot = Point(0, 0).buffer(radius, quad_segs=64)
    cap = Point(0, 0).buffer(12, quad_segs=64).difference(dot)
    return DrawnArea("cap", "wenge", (0, 0, 0), cap), DrawnArea("eye", "holly", (0, 0, 0), dot)


@pytest.mark.parametrize(("radius", "stays"), [(1.45, False), (1.56, True)])
def test_a_dot_stays_only_if_the_cutter_goes_into_its_hole_once_the_seam_is_taken(radius, stays):
    names = [piece.name for piece in make_pieces(dotted(radius), RULE).pieces]
    assert ("eye" in names) is stays


def test_a_dot_that_was_filled_is_listed_and_to_be_looked_at():
    pieces = make_pieces(dotted(1.2), RULE)
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    (lost,) = pieces.lost
    assert (lost.name, lost.wood, lost.instead) == ("eye", "holly", '"cap" (wenge) fills it')
    (finding,) = pieces.findings
    assert finding.severity == "look"
    assert '"eye"' in finding.what
    assert "artwork, " in finding.where
    assert "smaller cutter" in finding.mend
