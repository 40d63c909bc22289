"""A stem with a bead on it, too thin for the cutter but for the bead: what is left is no piece, and that is said."""

import shapely
from shapely import Point, box

from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)
BODY = box(0, 0, 30, 20)
STEM = box(30, 9.7, 48, 10.3)


def made(bead: float):
    """A body of 30 x 20 mm, from it a stem of 0.6 mm, and a bead of this radius at its end."""
    whole = shapely.union_all([BODY, STEM, Point(48, 10).buffer(bead, quad_segs=32)])
    return make_pieces((DrawnArea("leaf", "holly", (0, 0, 0), whole),), RULE)


def test_a_crumb_is_dropped_and_told_with_its_size_and_place() -> None:
    """A bead of 3 mm, as wide as the cutter, is less than two of its discs."""
    pieces = made(1.5)
    assert [piece.name for piece in pieces.pieces] == ["leaf"]
    (crumb,) = [finding for finding in pieces.findings if "crumb" in finding.what]
    assert crumb.what.startswith('the ground takes a crumb of "leaf", 7.')
    assert crumb.where.startswith("artwork, 4")
    assert crumb.mend == "draw it wider there, or use a smaller cutter"
    assert any(one.name == "leaf" and one.instead == "the ground stays" for one in pieces.lost)
    assert let_in(pieces, RULE).recess.bounds[2] < 31.0


def test_what_is_large_enough_stays_a_piece() -> None:
    """A bead of 8 mm is no crumb: it becomes a part of its own."""
    pieces = made(4.0)
    assert [piece.name for piece in pieces.pieces] == ["leaf", "leaf, part 2"]
    assert not any("crumb" in finding.what for finding in pieces.findings)
