"""Fittings by their maker's measurements: what the job file asks for, where several stand, which holes are drilled."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from plain_fit import BOARD, wish
from shapely import box

from purfle.board import lay_out
from purfle.errors import JobFileError, PlacingError
from purfle.files.job_toml import load_job
from purfle.model.board import Board, Layout
from purfle.model.findings import Finding
from purfle.model.job import Distance, FittingRule, InsertRule, ScrewRule
from purfle.wood import gravity_of, pilot_hole, screw_root, withdrawal

HEAD = """\
[job]
name = "Stand"
units = "mm"
[board]
wood = "white ash"
length = 400
width = 300
thickness = 22
[[shape]]
kind = "disc"
name = "eye"
diameter = 40
wood = "wenge"
centred = true
depth = 3
[fit]
seam = 0.1
cutter = "1/8 in straight"
"""
FOOT = """\
[[fitting]]
kind = "foot plate"
name = "foot"
face = "underside"
diameter = 50
thickness = 2
[fitting.places]
pattern = "circle"
count = 3
diameter = 220
[fitting.screws]
shank = 4
length = 16
circle = 38
count = 4
first = 45
[fitting.insert]
root = 8.5
outside = 11
length = 12
"""
LEAST = 4.0


def fittings(folder: Path, text: str) -> tuple[FittingRule, ...]:
    folder.mkdir(exist_ok=True)
    (folder / "job.toml").write_text(HEAD + text, encoding="utf-8")
    return load_job(folder).fittings


def fault(folder: Path, text: str) -> tuple[str, str, str]:
    """What, where and mend of the one fault of a job with these fittings."""
    with pytest.raises(JobFileError) as refusal:
        fittings(folder, text)
    (one,) = refusal.value.faults
    return one.what, one.where, one.mend


def stops(layout: Layout) -> list[Finding]:
    return [finding for finding in layout.findings if finding.severity == "stop"]


def told(layout: Layout, word: str) -> list[Finding]:
    return [finding for finding in layout.findings if word in finding.what]


def plate(x: float, y: float, screw: ScrewRule | None, **more: object) -> FittingRule:
    """A foot plate 50 mm round and 2 mm thick, let in flush, screwed as asked."""
    rule = FittingRule(
        "foot plate",
        "foot",
        "underside",
        50.0,
        50.0,
        2.0,
        0.0,
        Distance("edge", x),
        Distance("edge", y),
        False,
        thickness=2.0,
        is_disc=True,
        screws=screw,
        line=7,
    )
    return replace(rule, **more)


def screw(length: float, *places: tuple[float, float]) -> ScrewRule:
    return ScrewRule(4.0, screw_root(4.0), length, None, places or ((0.0, 19.0),))


def test_three_feet_on_a_circle_stand_at_thirds_of_it_and_are_drilled_alike(tmp_path: Path) -> None:
    rules = fittings(tmp_path, FOOT)
    assert [rule.name for rule in rules] == ["foot 1", "foot 2", "foot 3"]
    assert (rules[0].depth, rules[0].thickness, rules[0].is_disc, rules[0].line) == (2.0, 2.0, True, 19)
    middles = [(rule.along_a.amount, rule.along_b.amount) for rule in rules]
    for number, middle in enumerate(middles):
        turn = math.radians(90 + 120 * number)
        assert middle == pytest.approx((200 + 110 * math.cos(turn), 150 + 110 * math.sin(turn)))
    # each foot is the first one turned about the middle of the board: so are its screws
    share = 0.5**0.5  # 45 degrees from A, where the first foot lies at 90 degrees
    for rule in rules:
        x, y = rule.along_a.amount - 200, rule.along_b.amount - 150
        outward = [(dx * x + dy * y) / 110 / 19 for dx, dy in rule.screws.places]
        assert outward == pytest.approx([share, share, -share, -share])


def test_pairs_rows_and_corners_mirror_what_the_fitting_says(tmp_path: Path) -> None:
    magnet = '[[fitting]]\nkind = "magnet"\nface = "underside"\ndiameter = 10\nthickness = 3\nsunk = 0.2\n'
    where = "from_left = 20\nfrom_front = 15\n[fitting.places]\n"
    pair = fittings(tmp_path / "pair", magnet + where + 'pattern = "pair"\nmirrored = "left and right"\n')
    assert [(one.along_a, one.along_b) for one in pair] == [
        (Distance("edge", 20.0), Distance("edge", 15.0)),
        (Distance("far_edge", 20.0), Distance("edge", 15.0)),
    ]
    assert pair[0].depth == pytest.approx(3.2)
    back = fittings(tmp_path / "back", magnet + where + 'pattern = "pair"\nmirrored = "front and back"\n')
    assert [one.along_b for one in back] == [Distance("edge", 15.0), Distance("far_edge", 15.0)]
    corners = fittings(tmp_path / "corners", magnet + where + 'pattern = "corners"\n')
    assert [(one.along_a.datum, one.along_b.datum) for one in corners] == [
        ("edge", "edge"),
        ("far_edge", "edge"),
        ("edge", "far_edge"),
        ("far_edge", "far_edge"),
    ]
    row = magnet + 'from_front = 15\n[fitting.places]\npattern = "row"\nalong = "A"\ncount = 5\nfrom_ends = 20\n'
    rules = fittings(tmp_path / "row", row)
    assert [one.along_a.amount for one in rules] == [20.0, 110.0, 200.0, 290.0, 380.0]
    assert {one.along_b for one in rules} == {Distance("edge", 15.0)}


def test_a_pair_of_hinges_with_knuckles_runs_out_over_the_back_edge(tmp_path: Path) -> None:
    hinge = (
        '[[fitting]]\nkind = "hinge"\nname = "hinge"\nface = "underside"\nlength = 50\nwidth = 14\nthickness = 2\n'
        'knuckle = 5\nfrom_left = 80\nfrom_back = 0\n[fitting.places]\npattern = "pair"\nmirrored = "left and right"\n'
        '[fitting.screws]\nshank = 3\nlength = 12\nat = [["-18 mm", 0], ["18 mm", 0]]\n'
    )
    rules = fittings(tmp_path, hinge)
    layout = lay_out(replace(BOARD, length=400.0, width=300.0), (), rules, LEAST)
    assert [one.wanted.bounds for one in layout.fittings] == [(55, 286, 105, 300), (295, 286, 345, 300)]
    assert all(one.open_edge and one.knuckle == 5.0 for one in layout.fittings)
    assert [hole.centre for hole in layout.holes] == [(62, 293), (98, 293), (302, 293), (338, 293)]


def test_a_pilot_hole_reaches_the_point_of_its_screw_and_is_nine_tenths_of_its_root() -> None:
    """Outside figures: rows K121, K122, K124 of the check values (Wood Handbook chapter 8; the 90 % from memory)."""
    assert pilot_hole(screw_root(3.5), softwood=False) == pytest.approx(2.1, abs=0.1)
    assert pilot_hole(screw_root(4.0), softwood=True) == pytest.approx(1.87, abs=0.1)
    layout = lay_out(BOARD, (), (plate(100, 100, screw(14.0)),), LEAST)
    (hole,) = layout.holes
    assert hole.drill == pytest.approx(2.4, abs=0.1)
    # flush with the plate, the point lies its length below the face: 19 - 14 = 5 mm are left
    assert (hole.depth, hole.floor, hole.left) == (14.0, 2.0, 5.0)
    assert (hole.name, hole.centre) == ("screw of foot", (100.0, 119.0))
    assert not stops(layout)


def test_withdrawal_is_the_published_formula_and_told_where_asked() -> None:
    """Row K125: 1262 lb for G 0.7, a number 8 screw one inch deep (Wood Handbook chapter 8, read second-hand)."""
    assert withdrawal(0.7, 0.164 * 25.4, 25.4) / 4.4482216 == pytest.approx(1262, abs=1)
    asked = plate(100, 100, replace(screw(14.0), withdrawal=True))
    (note,) = told(lay_out(BOARD, (), (asked,), LEAST), "pulls them out")
    force = withdrawal(gravity_of(BOARD.wood), 4.0, 12.0)
    assert f"{force:.0f} N" in note.what
    assert f"{force / 6:.0f} N" in note.what
    assert not told(lay_out(BOARD, (), (plate(100, 100, screw(14.0)),), LEAST), "pulls")


@pytest.mark.parametrize(
    ("length", "severity", "words"),
    [
        (25.0, "stop", "screw of foot comes through the board"),
        (17.5, "stop", "only 1.5 mm of wood is left between the point of screw of foot and the other face"),
        (16.5, "look", "only 2.5 mm of wood is left between the point of screw of foot and the other face"),
    ],
)
def test_a_screw_through_or_nearly_through_the_board_says_where_and_what_to_change(
    length: float, severity: str, words: str
) -> None:
    layout = lay_out(BOARD, (), (plate(100, 100, screw(length)),), LEAST)
    (finding,) = told(layout, "screw of foot")
    assert finding.severity == severity
    assert finding.what.startswith(words)
    assert finding.where == "screw of foot, underside, 100.0 mm from B and 119.0 mm from A, job.toml line 7"
    shorter = length - 16.0
    assert f"a shorter screw, by {shorter:.1f} mm at least" in finding.mend
    assert f"a board thicker by {shorter:.1f} mm" in finding.mend


def test_a_screw_into_the_recess_of_an_inlay_on_the_other_face_is_a_stop_with_its_name() -> None:
    inlay = wish(box(0, 0, 60, 60), depth=5.0)  # about the middle of the board, 210, 130
    layout = lay_out(BOARD, (inlay,), (plate(210, 130, screw(15.0, (0.0, 0.0))),), 0.5)
    found = [one for one in stops(layout) if "screw" in one.what]
    assert [one.what for one in found] == ["screw of foot runs into picture on the other face"]
    assert "move it from under there" in found[0].mend
    beside = lay_out(BOARD, (inlay,), (plate(290, 130, screw(15.0, (0.0, 0.0))),), 0.5)
    assert not [one for one in beside.findings if "picture" in one.what]


def test_holes_keep_off_recesses_and_each_other() -> None:
    pull = FittingRule("cable hole", "cable", "show", 0, 0, 0, 0, Distance("edge", 100), Distance("edge", 100), False)
    through = ScrewRule(20.0, 20.0, 0.0, 20.0, ((0.0, 0.0),), is_through=True)
    layout = lay_out(BOARD, (), (replace(pull, screws=through), plate(110, 100, None)), LEAST)
    (stop,) = stops(layout)
    assert stop.what == "cable and foot run into each other"
    two = lay_out(BOARD, (), (plate(100, 100, screw(12.0)), plate(160, 100, screw(12.0, (-19, 0), (-21, 0)))), LEAST)
    assert ["run into each other" in one.what for one in stops(two)] == [True]


def test_screws_near_an_edge_or_an_end_are_looked_at_by_the_direction_of_the_grain() -> None:
    """Three diameters to an edge along the fibres, seven to their ends (practice table, from memory)."""
    board = Board(BOARD.wood, 420.0, 260.0, 19.0)
    # 26 mm from the right end, where 28 are usual; the same from the back edge is enough
    layout = lay_out(board, (), (plate(394, 130, screw(12.0, (0.0, 0.0))),), LEAST)
    (look,) = told(layout, "may split")
    assert "26.0 mm from the end of the fibres" in look.what
    assert "28.0 mm are usual" in look.what
    assert not told(lay_out(board, (), (plate(200, 234, screw(12.0, (0.0, 0.0))),), LEAST), "may split")
    turned = replace(board, grain=90.0)
    assert told(lay_out(turned, (), (plate(200, 234, screw(12.0, (0.0, 0.0))),), LEAST), "may split")


def test_what_lies_off_the_board_or_is_deeper_than_it_is_told_with_its_line() -> None:
    insert = FittingRule(
        "threaded insert", "nut", "underside", 0, 0, 0, 0, Distance("edge", 3), Distance("edge", 50), False
    )
    insert = replace(insert, insert=InsertRule(8.5, 11.0, 13.0), line=31)
    with pytest.raises(PlacingError) as refusal:
        lay_out(BOARD, (), (insert,), LEAST)
    assert refusal.value.what == "nut does not lie on the board"
    assert refusal.value.where == "nut, underside, job.toml line 31"
    deep = replace(insert, along_a=Distance("edge", 60), insert=InsertRule(8.5, 11.0, 24.0))
    (stop,) = stops(lay_out(BOARD, (), (deep,), LEAST))
    assert stop.what == "nut comes through the board"
    with pytest.raises(PlacingError) as refusal:
        lay_out(BOARD, (), (plate(100, 100, screw(1.5)),), LEAST)
    assert refusal.value.what == "screw of foot does not reach the wood through its hardware"
    with pytest.raises(PlacingError) as refusal:
        lay_out(BOARD, (), (plate(410, 100, None),), LEAST)
    assert refusal.value.what == "foot does not lie on the board"
    assert refusal.value.where == "15.0 mm over the right edge, job.toml line 7"


BAD = [
    (FOOT.replace("diameter = 50", "diameter = -50"), "diameter cannot be -50", "fitting[1].diameter", "more than"),
    (
        FOOT.replace("thickness = 2", "thickness = 30"),
        "go through the board",
        "fitting[1].thickness",
        "less than 22 mm",
    ),
    (FOOT.replace("shank = 4", "shank = 400"), "shank cannot be 400", "fitting[1].screws.shank", "20 mm at most"),
    (FOOT.replace("shank = 4", "shank = 4\nroot = 5"), "root is more than shank", "screws.root", "two thirds"),
    (FOOT.replace("circle = 38", "circle = 60"), "Screw 1 does not lie on its fitting", "screws.circle", "inward"),
    (FOOT.replace("circle = 38", "circle = 3"), "Screw 2 runs into another one", "screws.circle", "of their own"),
    (FOOT.replace("circle = 38\ncount = 4", "count = 4"), "not said where the screws stand", "screws", "circle"),
    (FOOT.replace("count = 3", "count = 2.5"), "count has to be a whole number", "places.count", "Use 2"),
    (FOOT.replace("count = 3", "count = 0"), "count cannot be 0", "places.count", "2 to 60"),
    (
        FOOT.replace('"circle"\n', '"ring"\n'),
        'pattern cannot be "ring"',
        "places.pattern",
        "pair, row, corners or circle",
    ),
    (FOOT.replace("root = 8.5", "root = 12"), "outside is less than root", "insert.outside", "thread"),
    (FOOT.replace("length = 16", "lenght = 16\nlength = 16"), "lenght is not known here", "screws.lenght", "length"),
]


@pytest.mark.parametrize(("text", "what", "key", "mend"), BAD)
def test_a_slip_in_a_fitting_is_told_with_its_line_and_its_mend(
    tmp_path: Path, text: str, what: str, key: str, mend: str
) -> None:
    assert text != FOOT
    said, where, way = fault(tmp_path, text)
    assert what in said
    assert where.startswith("job.toml, line ")
    assert key in where
    assert mend in way


def inserts_at(*places: tuple[float, float]) -> tuple[FittingRule, ...]:
    """Threaded inserts of the underside, no plate over them."""
    return tuple(
        FittingRule(
            "threaded insert",
            f"nut {number}",
            "underside",
            0,
            0,
            0,
            0,
            Distance("edge", x),
            Distance("edge", y),
            False,
            insert=InsertRule(8.5, 11.0, 13.0),
        )
        for number, (x, y) in enumerate(places, 1)
    )


def test_holes_alone_are_told_apart_from_a_mirrored_set_by_the_check_distance() -> None:
    """Set out end for end on purpose: no hole lies at the check distance any more."""
    places = [(60.0, 60.0), (360.0, 60.0), (120.0, 200.0)]
    check = lay_out(BOARD, (), inserts_at(*places), LEAST).check
    assert check is not None
    assert (check.name, check.from_b) == ("check: middle of nut 3", 120.0)
    mirrored = lay_out(BOARD, (), inserts_at(*((420.0 - x, y) for x, y in places)), LEAST)
    assert not [hole for hole in mirrored.holes if abs(hole.centre[0] - check.from_b) < 1.0]


def test_four_inserts_at_the_corners_have_no_check_and_say_so() -> None:
    layout = lay_out(BOARD, (), inserts_at((60, 60), (360, 60), (60, 200), (360, 200)), LEAST)
    assert layout.check is None
    (look,) = layout.findings
    assert "no distance proves how the board lies" in look.what


def test_holes_are_numbered_row_by_row_from_a_each_row_from_b() -> None:
    layout = lay_out(BOARD, (), inserts_at((360, 200), (60, 60), (60, 200), (360, 60)), LEAST)
    assert [(hole.number, hole.centre) for hole in layout.holes] == [
        (1, (60, 60)),
        (2, (360, 60)),
        (3, (60, 200)),
        (4, (360, 200)),
    ]


def test_corners_of_a_rectangular_plate_that_the_cutter_leaves_are_chisel_work() -> None:
    from purfle.cutting.lines import fitting_line
    from purfle.geometry.pose import UNDERSIDE

    square = replace(plate(100, 100, None), is_disc=False, length=60.0, width=40.0)
    (fitting,) = lay_out(BOARD, (), (square,), LEAST).fittings
    named, faults = fitting_line(fitting, UNDERSIDE, BOARD.rectangle, 1.5875)
    assert not faults
    assert (named.line.id, len(named.line.remnants)) == ("foot-plate-1", 4)
    # each is what a quarter circle leaves of its square
    left = 1.5875**2 * (1 - math.pi / 4)
    assert [one.area for one in named.line.remnants] == pytest.approx([left] * 4, rel=0.02)
