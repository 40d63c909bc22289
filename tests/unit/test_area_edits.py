"""Edits of areas: what each does, what is told of it, and how a slip is told."""

from pathlib import Path

import pytest
import shapely

from purfle.artwork import areas_of_drawing, choose_woods, edit_areas, restack
from purfle.errors import JobFileError
from purfle.files.job_areas import area_edits
from purfle.files.toml_table import read_toml
from purfle.model.artwork import AreaEdits, Areas, Drawing, PaintedShape, SymmetryWish, Which

DARK, PALE, RED = (40, 30, 20), (240, 230, 210), (180, 40, 30)


def _bird() -> Drawing:
    """A plate of 40 x 30 mm with an eye in it, a bill at its right side, a tuft on top, a crumb in the plate."""
    shapes = (
        PaintedShape("plate", DARK, shapely.box(0.0, 0.0, 40.0, 30.0)),
        PaintedShape("eye", PALE, shapely.box(8.0, 18.0, 12.0, 22.0)),
        PaintedShape("bill", RED, shapely.box(40.0, 10.0, 50.0, 16.0)),
        PaintedShape("tuft", PALE, shapely.box(15.0, 30.0, 25.0, 34.0)),
        PaintedShape("crumb", PALE, shapely.box(30.0, 5.0, 30.9, 5.9)),
    )
    return Drawing(50.0, 34.0, shapes, (), "bird")


def _edited(**edits: object) -> Areas:
    return edit_areas(areas_of_drawing(_bird()), 68.0, AreaEdits(**edits))  # type: ignore[arg-type]


def _size(areas: Areas, name: str) -> float:
    return float(sum(area.region.area for area in areas.areas if area.name == name and area.number not in areas.ground))


def _told(areas: Areas) -> list[str]:
    return [doubt.what for doubt in areas.doubts]


def test_merged_areas_are_one_with_the_name_and_colour_of_the_first() -> None:
    """The sizes add up (closed form), the first name stays, and the report says so."""
    areas = _edited(merge=(("bill", "plate"),))
    assert abs(_size(areas, "bill") - (40 * 30 - 16 - 0.81 + 60)) < 1e-2
    assert [area.colour for area in areas.areas if area.name == "bill"] == [RED]
    assert _told(areas) == ['Merged: "bill" and "plate" are one area, "bill".']


def test_points_are_measured_in_the_finished_design() -> None:
    """The design is drawn 34 mm high and wanted at 68 mm, so a point lies at twice its place in the drawing."""
    assert _size(_edited(to_neighbour=((20.0, 40.0),)), "eye") == 0.0


def test_what_goes_to_a_neighbour_goes_over_the_longest_border() -> None:
    """The bill borders on ground for 26 mm and on the plate for 6, so it becomes ground; the eye becomes plate."""
    areas = _edited(to_neighbour=("bill", "eye"))
    assert _size(areas, "bill") == _size(areas, "eye") == 0.0
    assert abs(_size(areas, "plate") - (40 * 30 - 0.81)) < 1e-2
    assert sorted(_told(areas)) == [
        'Dropped: "bill" belongs to the ground now.',
        'Dropped: "eye" belongs to "plate" now.',
    ]


def test_what_is_dropped_to_the_ground_keeps_the_scale() -> None:
    """Without its tuft the design is 60 mm high instead of 68: its scale stays, and that is told."""
    areas = _edited(to_ground=("tuft", "eye"))
    assert len(areas.ground) == 2
    assert 'Dropped: "tuft" is ground now.' in _told(areas)
    assert _told(areas)[-1] == "The edited design is 60.0 mm high; the height of 68.0 mm is that before the edits."


@pytest.mark.parametrize(("smallest", "narrowest"), [(4.0, 0.0), (0.0, 2.0)])
def test_small_and_narrow_areas_go_to_their_neighbour(smallest: float, narrowest: float) -> None:
    """The crumb has 3.24 mm2 and is 1.8 mm wide at the finished size; all else is larger."""
    areas = _edited(smallest=smallest, narrowest=narrowest)
    assert _size(areas, "crumb") == 0.0
    assert len(areas.areas) == len(areas_of_drawing(_bird()).areas) - 1
    assert _told(areas) == ['Too small: "crumb" (3.24 mm2) belongs to "plate" now.']


def test_a_mirror_line_may_be_given() -> None:
    """About a line 40 mm from the left end, which is 20 mm of the drawing, the left half stays and the bill goes."""
    areas = _edited(symmetry=SymmetryWish(True, 40.0))
    assert _size(areas, "bill") == 0.0
    assert abs(_size(areas, "eye") - 32.0) < 1e-2
    assert "upright line 40.00 mm from its left end (given): the left half is kept" in _told(areas)[0]


def test_shapes_are_stacked_anew() -> None:
    """With the plate over the eye nothing of the eye is left; the crumb, which is not named, stays on top."""
    drawing = restack(_bird(), [("plate", "eye")], 68.0)
    assert {area.name for area in areas_of_drawing(drawing).areas} == {"plate", "bill", "tuft", "crumb", "ground"}
    assert [note.what for note in drawing.not_carried] == ['Stacked anew: "plate" over "eye".']


@pytest.mark.parametrize(
    ("edits", "name", "edit"),
    [
        ({"to_neighbour": ("eye",)}, "eye", "to_neighbour"),
        ({"to_ground": ("bill",)}, "bill", "to_ground"),
        ({"dissolve": ("eye",)}, "eye", "dissolve"),
        ({"merge": (("plate", "bill"),)}, "bill", "merge"),
        ({"smallest": 4.0}, "crumb", "smallest, narrowest"),
        ({"symmetry": SymmetryWish(True, 40.0)}, "bill", "symmetrical"),
    ],
)
def test_a_name_that_an_edit_took_is_told_with_that_edit(edits: dict[str, object], name: str, edit: str) -> None:
    """A wood for it is refused by naming the edit, not by saying that no area was ever called so."""
    areas = _edited(**edits)
    assert (name, edit) in areas.gone
    with pytest.raises(JobFileError) as caught:
        choose_woods(areas, 2.0, [("holly", PALE)], ((name, "holly"),))
    assert caught.value.what == f'{edit} in [areas] took "{name}", so that no area is called so any more.'
    assert caught.value.where == 'wood "holly" for it'


def test_an_edit_of_what_was_dissolved_says_so() -> None:
    with pytest.raises(JobFileError) as caught:
        _edited(dissolve=("eye",), to_ground=("eye",))
    assert caught.value.what == 'dissolve in [areas] took "eye", so that no area is called so any more.'
    assert caught.value.mend == 'Take this line out; or take "eye" out of dissolve, if it is to stay.'


SLIPS: list[tuple[dict[str, object], str, str, str]] = [
    ({"to_ground": ("by",)}, 'No area is called "by".', "[areas] to_ground", "Use bill, crumb, eye, plate or tuft."),
    ({"to_ground": ("pate",)}, 'No area is called "pate".', "[areas] to_ground", "Use plate."),
    (
        {"to_ground": ((90.0, 62.0),)},
        "No area lies at 90.0, 62.0 mm.",
        "[areas] to_ground",
        'The nearest area is "plate"',
    ),
    ({"to_neighbour": ((0, 0, 250),)}, "No area is drawn in #0000fa.", "[areas] to_neighbour", "The colours drawn are"),
    ({"merge": (("eye", "bill"),)}, '"eye" and "bill" do not lie against each', "[areas] merge", 'It lies against "pl'),
    ({"merge": (("eye", (20.0, 40.0)),)}, 'Only one area is named, "eye"', "[areas] merge", "Name another area"),
    (
        {"to_ground": ("eye",), "to_neighbour": ("eye",)},
        '"eye" stands in to_ground and in',
        "[areas]",
        "Keep it in one",
    ),
    ({"to_ground": ("eye", "bill", "plate", "tuft", "crumb")}, "Nothing is left to let in", "[areas]", "Keep one area"),
    ({"symmetry": SymmetryWish(True, 120.0)}, "The mirror line at 120 mm lies", "[areas] mirror_line_at", "100.0 mm"),
    (
        {"to_ground": ("bill",), "symmetry": SymmetryWish(True, 40.0)},
        '"bill" is dropped on the right half, which is given up',
        "[areas] symmetrical",
        "Drop its counterpart on the left half",
    ),
]


@pytest.mark.parametrize(("edits", "what", "where", "mend"), SLIPS)
def test_an_edit_that_meets_nothing_is_told(edits: dict[str, object], what: str, where: str, mend: str) -> None:
    """Each says what is wrong, in which key, and what could be meant."""
    with pytest.raises(JobFileError) as caught:
        _edited(**edits)
    assert what in caught.value.what
    assert where in caught.value.where
    assert mend in caught.value.mend


@pytest.mark.parametrize(
    ("pairs", "what", "mend"),
    [
        ([("eyes", "plate")], 'The drawing has no shape "eyes".', "Use eye."),
        ([("eye", "plate")], '"eye" over "plate" already.', "turn it round"),
        ([("eye", "bill")], '"eye" and "bill" do not overlap.', "neither hides anything"),
        ([("eye", "eye")], "both are one shape", "Name two shapes."),
        ([("plate", "crumb"), ((61.0, 11.0), "plate")], "over", "Take the pair out"),
    ],
)
def test_a_pair_that_cannot_be_stacked_is_told(pairs: list[tuple[Which, Which]], what: str, mend: str) -> None:
    """Unknown, lying so already, apart, one and the same, or speaking against each other."""
    with pytest.raises(JobFileError) as caught:
        restack(_bird(), pairs, 68.0)
    assert what in caught.value.what
    assert caught.value.where == "[areas] on_top"
    assert mend in caught.value.mend


def _read(text: str, drawn: bool = True) -> tuple[AreaEdits, list[tuple[str, str, str]]]:
    top = read_toml(text.encode(), "job.toml")
    top.source.unit = "mm"
    edits = area_edits(top.table("areas"), drawn)
    return edits, [(fault.what, fault.where, fault.mend) for fault in top.source.faults]


def test_the_table_is_read_forgivingly() -> None:
    """One group, one area and sizes in any unit; the same thing written in two ways is the same edit."""
    short = '[areas]\nmerge = ["eye", "12, 4"]\nto_ground = "#fff"\nsmallest = "0.5 sq in"\nsymmetrical = true\n'
    long = '[areas]\nmerge = [["eye", [12, 4]]]\nto_ground = ["#ffffff"]\nsmallest = 322.58\nsymmetrical = "upright"\n'
    assert _read(short) == _read(long)
    assert _read(short)[0] == AreaEdits(
        (), (("eye", (12.0, 4.0)),), ((255, 255, 255),), (), 322.58, 0.0, SymmetryWish(True)
    )


@pytest.mark.parametrize(
    ("line", "what", "mend"),
    [
        ("merge = 3", "merge has to be groups of two areas or more", "Write merge ="),
        ('on_top = ["a", "b", "c"]', "on_top has to be pairs", "Write on_top ="),
        ("to_ground = [4]", "to_ground names no area", 'Write a name ("eye")'),
        ('to_ground = "#12"', '"#12" is not a colour', "six signs"),
        ('smallest = "2 kg"', 'smallest cannot be "2 kg"', 'smallest = "2 mm2"'),
        ('symmetrical = "upwards"', 'symmetrical cannot be "upwards"', "Use upright or level."),
        ('keep = "left"', "keep stands without symmetrical", 'Add symmetrical = "upright"'),
        ('mege = ["a", "b"]', "mege is not known here", "Use merge"),
    ],
)
def test_a_slip_in_the_table_is_told_with_its_line(line: str, what: str, mend: str) -> None:
    """What, the line in the file, and how to write it."""
    _, faults = _read(f"[areas]\n{line}\n")
    assert len(faults) == 1
    assert what in faults[0][0]
    assert f"job.toml, line 2, areas.{line.split()[0]}" == faults[0][1]
    assert mend in faults[0][2]


def test_pictures_have_no_stacking() -> None:
    """on_top in the job of a picture is a fault, since nothing lies over anything in it."""
    _, faults = _read('[areas]\non_top = ["a", "b"]\n', drawn=False)
    assert faults == [
        (
            "on_top is for drawings",
            "job.toml, line 2, areas.on_top",
            "Take it out: in a picture nothing lies over anything else.",
        )
    ]


def test_an_edited_job_is_made_as_it_says(tmp_path: Path) -> None:
    """The whole way from the file: areas of a job with names, merging and dropping carry what it says."""
    from purfle.cli.main import main
    from purfle.files.job_folder import read_job_folder
    from purfle.traced import areas_of

    drawing = Path(__file__).parents[1] / "data" / "acorn.svg"
    assert main(["new", str(tmp_path / "acorn"), str(drawing)]) == 0
    file = tmp_path / "acorn" / "job.toml"
    more = '\n[names]\n"nut" = "light side"\n[areas]\nmerge = ["nut", "shaded side"]\n'
    file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
    areas = areas_of(read_job_folder(tmp_path / "acorn")[0])
    assert sorted(area.name for area in areas.areas if area.number not in areas.ground) == ["cup", "nut"]


def test_a_point_that_speaks_against_a_name_is_told() -> None:
    """The eye is holly by its name and wenge by a point in it: the name counts, and both are told."""
    woods = [("holly", PALE), ("wenge", DARK)]
    said = (("eye", "holly"), ((20.0, 40.0), "wenge"))
    chosen = choose_woods(_edited(), 2.0, woods, said)
    assert [area.wood for area in chosen.areas if area.name == "eye"] == ["holly"]
    (told,) = [one for one in chosen.findings if one.what.startswith("Two woods")]
    assert told.what == 'Two woods are said for "eye": holly by its name, wenge by a point in it. The name counts.'
    assert told.where == "wood for 20.0, 40.0 mm"
    same = choose_woods(_edited(), 2.0, woods, (("eye", "holly"), ((20.0, 40.0), "holly")))
    assert not [one for one in same.findings if one.what.startswith("Two woods")]


def test_a_point_on_bare_board_is_told_with_what_says_so() -> None:
    with pytest.raises(JobFileError) as caught:
        _edited(to_ground=((90.0, 62.0),))
    assert "Bare board lies there; ground_at or ground_colour in [picture] says what that is." in caught.value.mend
