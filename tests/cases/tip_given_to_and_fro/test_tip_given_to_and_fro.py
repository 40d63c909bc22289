"""A flag with a triangle at its side: at two of its corners, tips went from wood to wood and back in every round.

Each corner has a tip of the triangle and one of its neighbour. Given away, each makes the other again, so that all nine
rounds of trimming were gone through. Now a tip that is back as it was given is left.
"""

import pytest
from shapely import Polygon

from purfle.fit import let_in, make_pieces, making
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def flag(deep: float) -> tuple[DrawnArea, ...]:
    """90 x 67.5 mm in three woods; the triangle reaches in by so much."""
    return (
        DrawnArea("triangle", "padauk", (255, 0, 0), Polygon([(0, 0), (0, 67.5), (deep, 33.75)])),
        DrawnArea("upper", "wenge", (0, 99, 0), Polygon([(0, 67.5), (90, 67.5), (90, 33.75), (deep, 33.75)])),
        DrawnArea("lower", "holly", (255, 255, 0), Polygon([(0, 0), (deep, 33.75), (90, 33.75), (90, 0)])),
    )


@pytest.mark.parametrize("deep", [25.0, 33.0, 40.0])
def test_tips_that_come_back_are_left(deep, monkeypatch):
    """Few rounds of trimming, the last of which finds nothing to give; the seam is as narrow as it was."""
    rounds: list[int] = []

    def counted(*words, **named):
        rounds.append(trim(*words, **named))
        return rounds[-1]

    trim = making.trim
    monkeypatch.setattr(making, "trim", counted)
    pieces = make_pieces(flag(deep), RULE)
    seam = let_in(pieces, RULE).seam
    assert len(rounds) <= 6
    assert rounds[-1] == 0
    assert len(pieces.pieces) == 3
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert pieces.art_changed < 0.001
    assert seam.narrowest >= 0.099
    assert seam.widest <= 0.12
