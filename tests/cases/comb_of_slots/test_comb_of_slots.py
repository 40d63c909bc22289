"""A comb whose slots are narrower than the cutter: they are filled, and listed as lost."""

from shapely import box
from shapely.ops import unary_union

from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def comb(slot):
    back = box(0, 20, 8 * (4 + slot), 26)
    return unary_union([back, *(box(k * (4 + slot), 0, k * (4 + slot) + 4, 21) for k in range(8))])


def test_slots_that_the_cutter_cannot_enter_are_filled_and_listed_as_lost_ground():
    pieces = make_pieces((DrawnArea("comb", "holly", (0, 0, 0), comb(1.6)),), RULE)
    assert len(pieces.pieces) == 1
    lost = [one for one in pieces.lost if one.name == "ground"]
    assert len(lost) == 7
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert all(one.instead == '"comb" (holly) fills it' for one in lost)
    assert let_in(pieces, RULE).seam.narrowest >= 0.099


def test_slots_that_the_cutter_can_enter_stay():
    pieces = make_pieces((DrawnArea("comb", "holly", (0, 0, 0), comb(3.4)),), RULE)
    assert [one.name for one in pieces.lost] == []
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert pieces.art_changed < 0.02
