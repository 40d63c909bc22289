"""job.toml: forgiving in notation, strict in meaning, every fault at once with its line and its mend."""

import contextlib
import os
import shutil
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from purfle.errors import FolderError, JobFileError, PurfleError, ShopFileError
from purfle.files.job_folder import read_job_folder
from purfle.files.job_toml import change_number, first_job_text, load_job, shop_file, slug_of
from purfle.model.job import Distance

TERN = Path(__file__).parents[2] / "examples" / "tern-lid"
PLAIN = """\
[job]
name = "Box"
units = "mm"
[board]
wood = "black walnut"
length = 300
width = "200 mm"
thickness = "3/4 in"
[picture]
file = "bird.png"
height = "3 1/2 in"
centred = true
depth = 3
[fit]
seam = 0.1
cutter = "1/8 in straight"
"""


def job_in(folder: Path, text: str = PLAIN) -> Path:
    """A job folder with this text; its picture is bytes that nobody reads here."""
    folder.mkdir(exist_ok=True)
    (folder / "bird.png").write_bytes(b"not looked at")
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder


def faults(folder: Path, text: str) -> list[tuple[str, str, str]]:
    """What, where and mend of every fault of this text."""
    with pytest.raises(JobFileError) as refusal:
        load_job(job_in(folder, text))
    return [(fault.what, fault.where, fault.mend) for fault in refusal.value.faults]


def changed(old: str, new: str) -> str:
    """The plain job with one line changed; the line has to be there."""
    assert PLAIN.count(old) == 1
    return PLAIN.replace(old, new)


def test_the_tern_lid_says_what_its_maker_means() -> None:
    job = load_job(TERN)
    assert (job.name, job.slug, job.unit, job.paper) == ("Tern lid", "tern-lid", "mm", "a4")
    assert (job.board.length, job.board.width, job.board.thickness) == (420.0, 260.0, 19.0)
    # centred along A, its foot 74 mm from A and 118 mm high: its middle lies 133 mm from A
    assert job.picture.to_middle
    assert (job.picture.along_a, job.picture.along_b) == (Distance("centre", 0.0), Distance("edge", 133.0))
    assert len(job.picture.woods) == len(job.picture.names) == 14
    assert {wood for _, wood in job.picture.woods} == {"holly", "wenge", "padauk", "maple", "sapele"}
    hinge, other, magnet, _ = job.fittings
    assert (hinge.along_a, hinge.along_b) == (Distance("edge", 70.0), Distance("far_edge", 7.0))
    assert other.along_a == Distance("far_edge", 70.0)  # 420 - 45 - 25: from 325 to 375 along A
    assert (magnet.length, magnet.width, magnet.depth) == (10.0, 10.0, 3.2)
    assert job.keys[0].angle == 90.0
    assert job.shop_file == TERN / "shop.toml"


def test_a_length_may_be_written_in_any_unit_and_bare_in_that_of_the_job(tmp_path: Path) -> None:
    job = load_job(job_in(tmp_path))
    assert (job.board.length, job.board.width, job.board.thickness) == (300.0, 200.0, 19.05)
    assert job.picture.height == 88.9
    text = changed('units = "mm"', 'units = "inch"').replace("300", "12").replace("= 3\n", "= 0.125\n")
    inches = load_job(job_in(tmp_path, text.replace("seam = 0.1", "seam = 0.004")))
    assert (inches.board.length, inches.picture.depth, inches.cutting.unit) == (304.8, 3.175, "inch")


@pytest.mark.parametrize(
    ("old", "new", "what", "where", "mend"),
    [
        (
            "height =",
            "hieght =",
            "hieght is not known here",
            "job.toml, line 11, picture.hieght",
            "Use height, or take it out.",
        ),
        ("[fit]", "[fitt]", "fitt is not known here", "job.toml, line 14, fitt", "Use fit, or take it out."),
        (
            "length = 300",
            "",
            "length is missing in [board]",
            "job.toml, line 4, board.length",
            "Add a line length = ...",
        ),
        (
            "length = 300",
            "length = true",
            "length cannot be true",
            "job.toml, line 6, board.length",
            'Write a length in quotes, such as length = "89 mm" or length = "3 1/2 in".',
        ),
        (
            "length = 300",
            'length = "300 mn"',
            '"300 mn": mn is not a unit of length',
            "job.toml, line 6, board.length",
            "Write a number with its unit",
        ),
        ("length = 300", "length = 0", "length cannot be 0", "job.toml, line 6, board.length", "more than nothing"),
        ("length = 300", "length = -3", "length cannot be -3", "job.toml, line 6, board.length", "more than nothing"),
        ("length = 300", "length = nan", '"nan" is not a length', "job.toml, line 6, board.length", "Write a number"),
        (
            "depth = 3",
            "depth = 30",
            "depth goes through the board",
            "job.toml, line 13, picture.depth",
            "Use less than",
        ),
        ("seam = 0.1", "seam = 4", "seam cannot be 4", "job.toml, line 15, fit.seam", "Use 0.02 mm to 1 mm."),
        (
            'units = "mm"',
            'units = "inches"',
            'units cannot be "inches"',
            "job.toml, line 3, job.units",
            "Use inch (known are mm, inch, inch-decimal).",
        ),
        ('name = "Box"', "name = 7", "name cannot be 7", "job.toml, line 2, job.name", "Write words in quotes."),
        (
            'name = "Box"',
            'name = ""',
            "name has to be 1 to 120 printable signs",
            "job.toml, line 2, job.name",
            "Write, for instance,",
        ),
        (
            'file = "bird.png"',
            'file = "brid.png"',
            'There is no file "brid.png" in the job folder',
            "job.toml, line 10, picture.file",
            "Use one of those that lie there: bird.png.",
        ),
        (
            'file = "bird.png"',
            'file = "../bird.png"',
            'file "../bird.png" leaves the job folder',
            "job.toml, line 10, picture.file",
            "Copy the picture into the job folder",
        ),
        (
            'file = "bird.png"',
            'file = "/etc/hostname"',
            'file "/etc/hostname" leaves the job folder',
            "job.toml, line 10, picture.file",
            "Copy the picture into the job folder",
        ),
        (
            "centred = true",
            'from_left = "20 mm"',
            "It is not said where it stands along B",
            "job.toml, line 9, picture.from_front",
            "centred = true",
        ),
        (
            "centred = true",
            "centred = true\nfrom_left = 3\nfrom_right = 5",
            "from_left and from_right both say where it stands along A",
            "job.toml, line 14, picture.from_right",
            "Keep one of from_left and from_right.",
        ),
        (
            "centred = true",
            "from_centre = [1]",
            "from_centre has to be two lengths",
            "job.toml, line 12, picture.from_centre",
            'from_centre = ["12 mm", "-5 mm"]',
        ),
        (
            "centred = true",
            "from_right = 3\nfrom_front = 5",
            "With from_right, it is not known yet where the ends of the design will lie",
            "job.toml, line 12, picture.from_right",
            'measured_to = "middle"',
        ),
        (
            "[fit]",
            '[woods]\n"#f5e" = "holly"\n"boody" = "maple"\n[fit]',
            'No area is named "boody"',
            "job.toml, line 16, woods.boody",
            "Use a colour such as",
        ),
        (
            "[fit]",
            '[names]\n"body" = "3, 4"\n[woods]\n"boddy" = "maple"\n[fit]',
            'No area is named "boddy"',
            "job.toml, line 17, woods.boddy",
            "Use body;",
        ),
        (
            "[fit]",
            '[woods]\n"#f5efe" = "holly"\n[fit]',
            "#f5efe is not a colour",
            "job.toml, line 15, woods.#f5efe",
            "Write # and six signs",
        ),
        (
            "[fit]",
            "[[woods]]\n[fit]",
            "woods cannot be a repeated table",
            "job.toml, line 14, woods",
            "a table that starts with [woods]",
        ),
        (
            "[fit]",
            '[fitting]\nkind = "hinge"\n[fit]',
            "fitting cannot be a table",
            "job.toml, line 14, fitting",
            "each one starts with [[fitting]]",
        ),
        (
            "[fit]",
            '[[fitting]]\nkind = "hing"\nface = "show"\nlength=1\nwidth=1\ndepth=1\ncentred=true\n[fit]',
            'kind cannot be "hing"',
            "job.toml, line 15, fitting[1].kind",
            "Use hinge (known are hinge, magnet, round, oblong, threaded insert, foot plate, ferrule, cable hole, "
            "drawer pull).",
        ),
    ],
)
def test_a_slip_is_told_with_its_line_and_its_mend(
    tmp_path: Path, old: str, new: str, what: str, where: str, mend: str
) -> None:
    told = faults(tmp_path, changed(old, new))
    assert any(w == what and (p == where or p.startswith(where)) and mend in m for w, p, m in told), told


def test_all_slips_of_a_file_are_told_at_once(tmp_path: Path) -> None:
    text = changed('name = "Box"', "nmae = 1").replace("length = 300", 'length = "long"').replace("seam = 0.1", "")
    told = faults(tmp_path, text.replace('"bird.png"', '"gone.png"'))
    assert [what for what, _, _ in told] == [
        "name is missing in [job]",
        "nmae is not known here",
        '"long" is not a length',
        'There is no file "gone.png" in the job folder',
        "seam is missing in [fit]",
    ]


def test_every_name_of_no_wood_or_of_several_is_told_with_its_line(tmp_path: Path) -> None:
    text = changed('wood = "black walnut"', 'wood = "cherrry"') + '[woods]\n"#f0f0f0" = "oak"\n"10, 20" = "holly"\n'
    first, second = faults(tmp_path, text)
    assert first == (
        "'cherrry' is no wood that Purfle knows",
        "job.toml, line 5, board.wood",
        "nearest known: black cherry",
    )
    assert second[:2] == ("'oak' is the name of 4 woods", "job.toml, line 18, woods.#f0f0f0")
    assert second[2].startswith("say which: northern red oak, white oak")


def test_an_offcut_of_no_known_wood_is_told_with_its_name(tmp_path: Path) -> None:
    folder = job_in(tmp_path / "box")
    text = (TERN / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(text.replace('"holly"', '"hollly"', 1), encoding="utf-8")
    with pytest.raises(ShopFileError) as refusal:
        read_job_folder(folder)
    assert refusal.value.what == "'hollly' is no wood that Purfle knows"
    line = (folder / "shop.toml").read_text(encoding="utf-8").split('"hollly"')[0].count("\n") + 1
    assert refusal.value.where.startswith(f"shop.toml, line {line}, offcut '")
    assert refusal.value.mend == "nearest known: American holly"


def test_a_decimal_comma_without_quotes_is_shown_as_it_is_written(tmp_path: Path) -> None:
    what, where, mend = faults(tmp_path, changed("depth = 3", "depth = 3,5"))[0]
    assert what.startswith("job.toml is not TOML")
    assert where.startswith("job.toml, line 13")
    assert mend == 'A number with a comma stands in quotes, such as "3,5 mm"; or write 3.5.'


def test_a_key_that_stands_twice_is_named(tmp_path: Path) -> None:
    what, where, mend = faults(tmp_path, changed('name = "Box"', 'name = "Box"\nname = "Chest"'))[0]
    assert (what, mend) == ("name stands twice in its table", "Take one of the lines of name out.")
    assert where.startswith("job.toml, line 3")


def test_half_a_count_is_answered_with_both_neighbours(tmp_path: Path) -> None:
    """Nobody knows which of them was meant."""
    _, _, mend = faults(tmp_path, changed("[fit]", '[cutting]\nholding = "tabs"\ntabs = 2.5\n[fit]'))[0]
    assert mend == "Use 2 or 3."


def test_what_is_no_toml_is_told_with_its_line(tmp_path: Path) -> None:
    what, where, mend = faults(tmp_path, changed('name = "Box"', "name = Box"))[0]
    assert what.startswith("job.toml is not TOML")
    assert where == "job.toml, line 2, column 8"
    assert "Words stand in quotes" in mend


@pytest.mark.parametrize("data", [b"", b"[[[[", b"\xff\xfe[job]", b"a = " + b"[" * 100_000, b"#" * 2_000_000, b"\0"])
def test_no_file_whatever_breaks_the_reading(tmp_path: Path, data: bytes) -> None:
    job_in(tmp_path)
    (tmp_path / "job.toml").write_bytes(data)
    with pytest.raises(JobFileError) as refusal:
        load_job(tmp_path)
    assert all(fault.what and fault.where.startswith("job.toml") and fault.mend for fault in refusal.value.faults)


def test_a_folder_without_a_job_says_how_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(JobFileError) as refusal:
        load_job(tmp_path)
    assert (refusal.value.what, refusal.value.where) == ("There is no job.toml in this folder", str(tmp_path))
    assert "purfle new" in refusal.value.mend
    with pytest.raises(FolderError) as missing:
        load_job(tmp_path / "nowhere")
    assert missing.value.what == "There is no such job folder or job file"
    assert missing.value.where == str(tmp_path / "nowhere")
    assert "Check the name" in missing.value.mend
    with pytest.raises(JobFileError) as picture:
        load_job(TERN / "tern.jpg")
    assert picture.value.what == "This is a picture or drawing, not a job"
    assert picture.value.where == str(TERN / "tern.jpg")
    assert picture.value.mend == "Make a job of it with: purfle new FOLDER tern.jpg"


@pytest.mark.skipif(os.name == "nt", reason="links need rights of their own there")
def test_a_link_does_not_lead_out_of_the_job_folder(tmp_path: Path) -> None:
    outside = tmp_path / "outside.png"
    outside.write_bytes(b"x")
    folder = job_in(tmp_path / "job")
    (folder / "bird.png").unlink()
    (folder / "bird.png").symlink_to(outside)
    with pytest.raises(JobFileError) as refusal:
        load_job(folder)
    assert refusal.value.what == 'file "bird.png" leaves the job folder'


def test_the_change_number_follows_job_shop_and_picture(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    shutil.copytree(TERN, folder, ignore=shutil.ignore_patterns("out"))
    seen = {load_job(folder).change}
    assert load_job(folder).change in seen
    for name in ("job.toml", "shop.toml", "tern.jpg"):
        with (folder / name).open("ab") as file:
            file.write(b"\n")
        seen.add(load_job(folder).change)
    assert len(seen) == 4
    assert all(len(change) == 6 and int(change, 16) >= 0 for change in seen)


@given(st.lists(st.binary(max_size=4), min_size=2, max_size=4), st.data())
@settings(deadline=None, derandomize=True, max_examples=60)
def test_the_change_number_knows_where_one_file_ends(parts: list[bytes], data: st.DataObject) -> None:
    whole = b"".join(parts)
    cut = data.draw(st.integers(0, len(whole)))
    other = [whole[:cut], whole[cut:]]
    if other != parts:
        assert change_number(other) != change_number(parts)


def test_the_nearest_shop_file_serves_the_job(tmp_path: Path) -> None:
    folder = job_in(tmp_path / "job")
    assert shop_file(folder).is_file()
    assert shop_file(folder).parent.name == "first"
    (tmp_path / "shop.toml").write_text("")
    assert shop_file(folder) == tmp_path / "shop.toml"
    (folder / "shop.toml").write_text("")
    assert shop_file(folder) == folder / "shop.toml"


PLACES = [
    ("centred = true\nfrom_front = 20", 0.0, Distance("centre", 0.0), Distance("edge", 64.45), True),
    ("centred = true\nfrom_back = 20", 0.0, Distance("centre", 0.0), Distance("far_edge", 64.45), True),
    ("centred = true\nfrom_left = 20", 0.0, Distance("edge", 20.0), Distance("edge", 55.55), False),
    ("from_left = 20\nfrom_back = 30", 0.0, Distance("edge", 20.0), Distance("edge", 81.1), False),
    ("from_left = 20\nfrom_front = 30", 30.0, Distance("edge", 20.0), Distance("edge", 30.0), False),
    ("from_centre = '2; -3,5'", 30.0, Distance("centre", 2.0), Distance("centre", -3.5), True),
    (
        "from_right = 2\nfrom_back = 3\nmeasured_to = 'middle'",
        30.0,
        Distance("far_edge", 2.0),
        Distance("far_edge", 3.0),
        True,
    ),
]


@pytest.mark.parametrize(("places", "angle", "along_a", "along_b", "to_middle"), PLACES)
def test_a_place_means_the_same_however_it_is_measured(
    tmp_path: Path, places: str, angle: float, along_a: Distance, along_b: Distance, to_middle: bool
) -> None:
    """On a board 200 mm wide with a design 88.9 mm high."""
    rule = load_job(job_in(tmp_path, changed("centred = true", f"{places}\nangle = {angle}"))).picture
    assert rule.to_middle == to_middle
    for found, wanted in ((rule.along_a, along_a), (rule.along_b, along_b)):
        assert found.datum == wanted.datum
        assert found.amount == pytest.approx(wanted.amount, abs=1e-9)


AWKWARD = ['Möwe & "Meer"', "🐦", "a # b", "back\\slash", "it's", "${name}", "tab\there"]


@pytest.mark.parametrize("unit", ["mm", "inch", "inch-decimal"])
@pytest.mark.parametrize("name", AWKWARD)
def test_a_first_job_works_as_it_is(tmp_path: Path, name: str, unit: str) -> None:
    job = load_job(job_in(tmp_path, first_job_text(name, "bird.png", unit)))  # type: ignore[arg-type]
    assert job.name == " ".join(name.split())
    assert job.unit == unit
    assert job.picture.file.name == "bird.png"


def test_a_first_job_shows_every_key_that_its_comments_name(tmp_path: Path) -> None:
    """The commented tables are themselves a job that works, once the comment sign is taken away."""
    text = first_job_text("Box", "bird.png")
    live = text.replace("# [[", "[[").replace('# "', '"')
    lines = []
    inside = False
    for line in live.split("\n"):
        inside = inside or line.startswith("[[")
        lines.append(line.removeprefix("# ") if inside and line != "#" else line)
    job = load_job(job_in(tmp_path, "\n".join(lines)))
    assert len(job.fittings) == 2
    assert len(job.keys) == 1
    assert len(job.picture.woods) == 2


@given(st.text(max_size=40))
@settings(deadline=None, derandomize=True, max_examples=200)
def test_a_slug_is_a_file_name_everywhere(name: str) -> None:
    slug = slug_of(name)
    assert slug
    assert set(slug) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert slug_of(slug) == slug


WORDS = st.sampled_from(
    ["300", '"3 in"', "true", "[]", "{}", '""', "-1", "1e999", "nan", '"x"', "1979-05-27", "[[1], 2]"]
)


@given(st.lists(st.tuples(st.integers(0, 15), WORDS), min_size=1, max_size=4))
@settings(deadline=None, derandomize=True, max_examples=150)
def test_no_wrong_value_is_ever_more_than_a_fault(
    tmp_path_factory: pytest.TempPathFactory, slips: list[tuple[int, str]]
) -> None:
    lines = PLAIN.split("\n")
    for place, word in slips:
        if "=" in lines[place]:
            lines[place] = lines[place].split("=")[0] + "= " + word
    tomllib.loads("\n".join(lines))
    folder = tmp_path_factory.mktemp("job")
    with contextlib.suppress(PurfleError):  # anything else that is raised fails this test
        assert load_job(job_in(folder, "\n".join(lines))).change


def test_a_place_of_the_picture_can_be_ground(tmp_path: Path) -> None:
    """In px from the upper left corner; what is no place, or stands beside a ground colour, is told with its line."""
    text = PLAIN.replace("depth = 3", 'depth = 3\nground_at = "12, 80.5 px"')
    picture = load_job(job_in(tmp_path, text)).picture
    assert picture is not None
    assert picture.ground_at == (12.0, 80.5)
    wrong = PLAIN.replace("depth = 3", 'depth = 3\nground_at = "left"\nground_colour = "#ffffff"')
    first, second = faults(tmp_path, wrong)
    assert first[0] == "ground_at has to be a place in the picture, in px"
    assert first[2] == 'Write ground_at = "12, 80": px from the upper left corner of the picture.'
    assert second[0] == "ground_colour and ground_at both say what the ground is"


def test_both_files_are_told_of_together_each_with_its_line(tmp_path: Path) -> None:
    """A slip in job.toml does not hide one in shop.toml; a cutter that is not there is told where it is named."""
    folder = job_in(tmp_path / "box", PLAIN.replace("length = 300", 'length = "long"'))
    shop = (TERN / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(shop.replace("flutes         = 2", "flutes         = 0", 1), encoding="utf-8")
    with pytest.raises(JobFileError) as refusal:
        read_job_folder(folder)
    slip, other = refusal.value.faults
    assert slip.where == "job.toml, line 6, board.length"
    line = shop.split("\n").index("flutes         = 2") + 1
    assert other.where.startswith(f"shop.toml, line {line}, [[cutter]] 1 (")
    job_in(folder, PLAIN + '\n[cutters]\n"eye" = "1/9 in straight"\n')
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    with pytest.raises(JobFileError) as refusal:
        read_job_folder(folder)
    found = [(fault.what, fault.where) for fault in refusal.value.faults]
    line = PLAIN.count("\n") + 3
    assert ("there is no cutter '1/9 in straight' in the shop", f"job.toml, line {line}, cutters.eye") in found


def test_a_cutter_that_the_machine_turns_too_fast_is_refused_where_it_is_named(tmp_path: Path) -> None:
    """Marked 30000 rpm, and a machine that turns no slower than 31000: told with the line of the job."""
    folder = job_in(tmp_path / "box", PLAIN + '\n[cutters]\n"eye" = "1/16 in straight"\n')
    shop = (TERN / "shop.toml").read_text(encoding="utf-8")
    fast = shop.replace("speed        = 24000", "speed = 36000\nslowest_speed = 31000")
    assert fast != shop
    (folder / "shop.toml").write_text(fast, encoding="utf-8")
    with pytest.raises(JobFileError) as refusal:
        read_job_folder(folder)
    told = [(fault.what, fault.where.rpartition(", ")[2]) for fault in refusal.value.faults]
    ends = "is marked 30000 rpm, and small machine turns no slower than 31000"
    assert told == [(f"1/8 in straight {ends}", "fit.cutter"), (f"1/16 in straight {ends}", "cutters.eye")]
    assert all("slowest_speed" in fault.mend for fault in refusal.value.faults)


def test_inches_may_be_written_as_lengths_are(tmp_path: Path) -> None:
    """Bare numbers are inches then; what is refused is told in them."""
    told = faults(tmp_path / "box", PLAIN.replace('units = "mm"', 'units = "in"'))
    assert not [what for what, _, _ in told if "units" in what]
    assert told[0][0] == "depth goes through the board"
    assert told[0][2] == "Use less than 3/4 in; a third of the thickness is common practice."


def test_a_slip_of_the_kind_says_nothing_of_the_diameter(tmp_path: Path) -> None:
    magnet = """
[[fitting]]
kind = "magnit"
face = "underside"
diameter = "10 mm"
depth = "3 mm"
from_left = "50 mm"
from_front = "50 mm"
"""
    assert [what for what, _, _ in faults(tmp_path / "box", PLAIN + magnet)] == ['kind cannot be "magnit"']
