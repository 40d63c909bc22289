"""The dry fit refuses holes of the assembly card that come through, or meet a recess as its files cut it."""

from dataclasses import replace

import pytest
from shapely import box

from purfle.proof.holes import HoleOnCard, Hollow, check_holes, check_pairs

BOARD = box(0, 0, 300, 200)
HOLE = HoleOnCard(1, "screw of foot", "underside", (50.0, 50.0), 4.0, 14.0, False, "foot")
ABOVE = Hollow("inlay 'picture'", "show", box(40, 40, 60, 60), 3.0)
PLATE = Hollow("fitting 1 (foot)", "underside", box(30, 30, 70, 70), 2.0, "foot")


def test_a_hole_with_wood_beyond_it_passes() -> None:
    assert check_holes((HOLE,), [ABOVE, PLATE], BOARD, 19.0) == []


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
    (stop,) = check_holes((replace(HOLE, **change),), [recess], BOARD, 19.0)
    assert stop.severity == "stop"
    assert words in stop.what
    assert stop.where == "hole 1 of the underside (screw of foot), at 50.00, 50.00 mm"
    assert stop.place == (50.0, 50.0)


def test_a_hole_beside_a_recess_meets_nothing() -> None:
    assert check_holes((replace(HOLE, centre=(80.0, 50.0), depth=18.0),), [ABOVE, PLATE], BOARD, 19.0) == []


@pytest.mark.parametrize("centre", [(1.5, 50.0), (298.5, 50.0), (50.0, 199.0), (400.0, 50.0)])
def test_a_hole_off_the_board_is_refused(centre: tuple[float, float]) -> None:
    (stop,) = check_holes((replace(HOLE, centre=centre),), [], BOARD, 19.0)
    assert stop.what == "screw of foot does not lie on the board"


@pytest.mark.parametrize(
    ("change", "meets"),
    [
        ({"centre": (53.9, 50.0)}, True),
        ({"centre": (54.1, 50.0)}, False),
        ({"face": "show", "depth": 5.0}, True),
        ({"face": "show", "depth": 4.9}, False),
        ({"face": "show", "depth": 19.0, "through": True}, True),
    ],
)
def test_two_holes_that_meet_are_refused(change: dict[str, object], meets: bool) -> None:
    """Holes of 4 mm, one 14 mm deep in 19 mm: beside each other from 4 mm on, above each other up to 5 mm deep."""
    other = replace(HOLE, number=2, name="bolt", fitting="pull", **change)
    assert [one.what for one in check_pairs((HOLE, other), 19.0)] == [
        "screw of foot and bolt run into each other"
    ] * meets
