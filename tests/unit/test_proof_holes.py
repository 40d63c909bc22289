"""The dry fit refuses holes of the assembly card that come through, or meet a recess as its files cut it."""

from dataclasses import replace

import pytest
from shapely import box

from purfle.proof.holes import HoleOnCard, Hollow, check_holes

HOLE = HoleOnCard(1, "screw of foot", "underside", (50.0, 50.0), 4.0, 14.0, False, "foot")
ABOVE = Hollow("inlay 'picture'", "show", box(40, 40, 60, 60), 3.0)
PLATE = Hollow("fitting 1 (foot)", "underside", box(30, 30, 70, 70), 2.0, "foot")


def test_a_hole_with_wood_beyond_it_passes() -> None:
    assert check_holes((HOLE,), [ABOVE, PLATE], 19.0) == []


@pytest.mark.parametrize(
    ("change", "recess", "words"),
    [
        ({"depth": 19.0}, PLATE, "comes through 19.00 mm of board"),
        ({"depth": 16.0}, ABOVE, "screw of foot runs into inlay 'picture' on the show"),
        ({"fitting": "other"}, PLATE, "runs into fitting 1 (foot) on the underside"),
        ({"through": True, "depth": 19.0}, ABOVE, "runs into inlay 'picture' on the show"),
    ],
)
def test_a_damaged_hole_is_refused_with_its_place(change: dict[str, object], recess: Hollow, words: str) -> None:
    (stop,) = check_holes((replace(HOLE, **change),), [recess], 19.0)
    assert stop.severity == "stop"
    assert words in stop.what
    assert stop.where == "hole 1 of the underside (screw of foot), at 50.00, 50.00 mm"
    assert stop.place == (50.0, 50.0)


def test_a_hole_beside_a_recess_meets_nothing() -> None:
    assert check_holes((replace(HOLE, centre=(80.0, 50.0), depth=18.0),), [ABOVE, PLATE], 19.0) == []
