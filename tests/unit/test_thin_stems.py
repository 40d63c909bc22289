"""Slots and stems too thin for a disc of a detail are told: a long one by itself, short ones with the small details."""

import pytest
from shapely import box, union_all

from purfle.fit import make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def made(region):
    return make_pieces((DrawnArea("body", "holly", (0, 0, 0), region),), RULE)


@pytest.mark.parametrize("width", [0.3, 0.6, 0.9, 1.05])
def test_a_long_thin_slot_is_named_with_its_place_and_length(width):
    pieces = made(box(0, 0, 40, 20).difference(box(10, 10 - width / 2, 40, 10 + width / 2)))
    (lost,) = pieces.lost
    assert (lost.name, lost.region.area) == ("ground", pytest.approx(30.0 * width, abs=0.2))
    (told,) = pieces.findings
    assert told.severity == "look"
    assert "an opening or slot of the ground" in told.what
    assert "25.0 mm from its left end and 10.0 mm from its lower edge, 30.0 mm long" in told.where


@pytest.mark.parametrize("width", [0.3, 0.6, 0.9, 1.05])
def test_a_long_thin_stem_is_named_with_its_place_and_length(width):
    pieces = made(union_all([box(0, 0, 20, 20), box(20, 10 - width / 2, 50, 10 + width / 2)]))
    (lost,) = pieces.lost
    assert (lost.name, lost.region.area) == ("body", pytest.approx(30.0 * width, rel=0.05))
    (told,) = pieces.findings
    assert told.severity == "look"
    assert '"body" loses a detail to the cutter' in told.what
    assert "29." in told.where.rsplit(",", 1)[1]


def test_a_short_thin_slot_counts_with_the_small_details():
    pieces = made(box(0, 0, 40, 20).difference(box(36, 9.6, 40, 10.4)))
    assert [lost.name for lost in pieces.lost] == ["ground"]
    (told,) = pieces.findings
    assert (told.severity, told.what[:41]) == ("note", "the cutter cannot make 1 small detail of ")


@pytest.mark.parametrize("width", [0.05, 0.09])
def test_a_slot_finer_than_the_seam_shows_nothing_and_is_not_told(width):
    pieces = made(box(0, 0, 40, 20).difference(box(10, 10 - width / 2, 40, 10 + width / 2)))
    assert pieces.lost == ()
    assert pieces.findings == ()


def test_rounded_corners_are_no_stems():
    assert made(box(0, 0, 40, 20).difference(box(30, 10, 40, 20))).lost == ()
