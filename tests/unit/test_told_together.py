"""What is wrong with several alike fittings or screws is told once, with all of it; advice can be followed."""

from dataclasses import replace
from pathlib import Path

import pytest
from plain_fit import BOARD
from test_fittings import FOOT, HEAD, LEAST, fittings, plate, screw, told

from purfle.board import lay_out
from purfle.errors import JobFileError, PlacingError
from purfle.files.job_toml import load_job
from purfle.model.job import Distance, FittingRule
from purfle.sheets.style import Style


def test_six_feet_off_the_board_are_one_fault_and_their_screws_follow_from_it(tmp_path: Path) -> None:
    rules = fittings(tmp_path, FOOT.replace("count = 3\ndiameter = 220", "count = 6\ndiameter = 700"))
    with pytest.raises(PlacingError) as refusal:
        lay_out(replace(BOARD, length=400.0, width=300.0), (), rules, LEAST)
    (fault,) = refusal.value.faults
    assert fault.what == "foot 1, foot 2, foot 3, foot 4, foot 5 and foot 6 do not lie on the board"
    assert "foot 4 225.0 mm over the front edge A" in fault.where
    assert fault.mend == "move them, or make them smaller"


def test_a_screw_too_long_is_told_beside_a_fitting_off_the_board() -> None:
    rules = (plate(410, 100, None), replace(plate(100, 100, screw(25.0)), line=20))
    with pytest.raises(PlacingError) as refusal:
        lay_out(BOARD, (), rules, LEAST)
    off, through = refusal.value.faults
    assert off.what == "foot 1 does not lie on the board"
    assert through.what == "screw of foot comes through the board"


def test_alike_screws_of_one_fitting_are_told_once_with_the_length_that_is_sold() -> None:
    layout = lay_out(BOARD, (), (plate(100, 100, screw(25.0, (-19, 0), (19, 0), (0, 19))),), LEAST)
    (finding,) = told(layout, "comes through")
    assert finding.what == "each of 3 screws of foot comes through the board"
    assert finding.where.startswith("screw 1 of foot and 2 more, underside")
    assert "by 9.0 mm at least (16 mm is sold)" in finding.mend
    shorter = lay_out(BOARD, (), (plate(100, 100, screw(16.0, (-19, 0), (19, 0), (0, 19))),), LEAST)
    assert not [one for one in shorter.findings if one.severity == "stop"]


def leaf(width: float, from_back: float) -> FittingRule:
    """A hinge of one screw in the middle of its leaf, near the back edge."""
    place = Distance("far_edge", from_back)
    rule = FittingRule(
        "hinge", "hinge", "underside", 50.0, width, 2.0, 0.0, Distance("edge", 200.0), place, True, thickness=2.0
    )
    return replace(rule, screws=replace(screw(12.0, (0.0, 0.0)), shank=3.0), line=9)


@pytest.mark.parametrize(
    ("width", "middle", "mend"),
    [
        (14.0, 7.0, "move it inward by 2.0 mm, or take a screw of 2.3 mm at most"),
        (13.0, 6.5, "move it inward by 2.5 mm, or take a screw of 2.2 mm at most"),
        (8.0, 4.0, "take hardware with room for it 5.0 mm further in"),
    ],
)
def test_a_screw_near_the_edge_is_told_what_its_leaf_has_room_for(width: float, middle: float, mend: str) -> None:
    """Three diameters of 3 mm are usual to an edge (from memory): 9 mm."""
    (look,) = told(lay_out(BOARD, (), (leaf(width, middle),), LEAST), "may split")
    assert look.mend == mend
    assert look.face == "underside"


@pytest.mark.parametrize(
    ("kind", "advice"),
    [("pul", "Use hinge, magnet"), ("insert", "Use threaded insert"), ("latch", "Use hinge, magnet")],
)
def test_an_unknown_kind_of_fitting_is_one_fault_and_nothing_follows(tmp_path: Path, kind: str, advice: str) -> None:
    keys = "root = 8.5\noutside = 11\nlength = 12\nfrom_left = 100\nfrom_front = 70\n"
    text = f'[[fitting]]\nkind = "{kind}"\nface = "show"\n{keys}'
    (tmp_path / "job.toml").write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(JobFileError) as refusal:
        load_job(tmp_path)
    (fault,) = refusal.value.faults
    assert fault.what == f'kind cannot be "{kind}"'
    assert advice in fault.mend


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("thickness = 22", 'thickness = "22 m"', 'thickness cannot be "22 m"'),
        ("length = 400", 'length = "40 m"', 'length cannot be "40 m"'),
        ("thickness = 22", 'thickness = 22\nrings = "rift"', 'rings cannot be "rift"'),
    ],
)
def test_absurd_boards_are_refused(tmp_path: Path, old: str, new: str, what: str) -> None:
    (tmp_path / "job.toml").write_text(HEAD.replace(old, new), encoding="utf-8")
    with pytest.raises(JobFileError) as refusal:
        load_job(tmp_path)
    assert [fault.what for fault in refusal.value.faults] == [what]


def test_wood_that_is_wet_is_told_to_dry(tmp_path: Path) -> None:
    season = '[season]\nshop = "heated house, temperate"\nplace = "heated house, temperate"\nparts_moisture = 9\n'
    (tmp_path / "job.toml").write_text(f"{HEAD}{season}board_moisture = 35\n", encoding="utf-8")
    with pytest.raises(JobFileError) as refusal:
        load_job(tmp_path)
    (fault,) = refusal.value.faults
    assert fault.what.startswith("wood at 35 % of moisture is wet")
    assert fault.mend.startswith("let it dry first")


def test_a_drill_for_an_insert_is_never_narrower_than_its_root() -> None:
    """8.5 mm are 21.4 64ths of an inch: the drill is 22 of them, 8.73 mm."""
    assert Style("inch", "letter").drill(8.5) == "11/32"
    assert Style("inch", "letter").length(8.5) == "21/64"
    assert Style("inch", "letter").drill(22 / 64 * 25.4) == "11/32"
