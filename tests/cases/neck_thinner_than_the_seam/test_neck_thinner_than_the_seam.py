"""A neck thinner than the seam, left by what happens after the trimming of tips, is parted: no insert falls apart.

Found in a flag with a coat of arms (flag-icons, `ec`, 90 mm, 1/8 in, 0.1 mm): a place that two pieces contested was
decided in the seventh round, when no tips are trimmed any more, and left a piece 0.08 mm wide in one place. So the
drawing was refused. Here no round trims, so that a drawn neck meets what parts the necks that decisions leave.
"""

import pytest
from shapely import Point, Polygon, box

from purfle.fit import let_in, make_pieces, making
from purfle.geometry.offsetting import shrink
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)
GAP = 0.08


def hourglass():
    """A strip between two large rounds that come within 0.08 mm of each other: the cutter can make all three."""
    upper = Point(20, 10 + GAP / 2).buffer(10, quad_segs=64).intersection(box(0, -20, 40, 8))
    lower = Point(20, -10 - GAP / 2).buffer(10, quad_segs=64).intersection(box(0, -8, 40, 20))
    strip = box(5, -8, 35, 8).difference(upper).difference(lower)
    return (
        DrawnArea("upper", "holly", (0, 0, 0), upper),
        DrawnArea("lower", "wenge", (0, 0, 0), lower),
        DrawnArea("strip", "maple", (0, 0, 0), strip),
    )


@pytest.fixture
def made(monkeypatch):
    monkeypatch.setattr(making, "_TRIM_ROUNDS", 0)
    return make_pieces(hourglass(), RULE)


def test_every_insert_stays_one_when_its_half_of_the_seam_is_off(made):
    left = [shrink(piece.region, RULE.seam / 2) for piece in made.pieces]
    assert all(isinstance(region, Polygon) and not region.is_empty for region in left)
    fit = let_in(made, RULE)
    assert fit.seam.narrowest >= RULE.seam - 0.001
    assert fit.seam.widest <= 2 * RULE.seam


def test_what_was_parted_is_told_with_its_place(made):
    assert sorted(piece.wood for piece in made.pieces) == ["holly", "maple", "maple", "wenge"]
    (told,) = [finding for finding in made.findings if "thinner than 0.8 mm" in finding.what]
    assert told.what.startswith('"strip" is thinner')
    assert "artwork, 20.0 mm from its left end and 0.0 mm from its lower edge" in told.where
    assert "wider" in told.mend
