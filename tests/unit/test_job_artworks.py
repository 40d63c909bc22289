"""Ready artworks and several artworks in the job file: what is read, in which order, and what is refused."""

from pathlib import Path

import pytest

from purfle.errors import JobFileError
from purfle.files.job_toml import load_job
from purfle.model.job import Distance, PictureRule, ReadyRule
from purfle.model.ready import (
    Banding,
    Disc,
    Fan,
    FrameTrack,
    Lettering,
    Rectangle,
    RingTrack,
    Star,
    StraightTrack,
    Stringing,
)

HEAD = """
[job]
name = "Tray"
units = "mm"
[board]
wood = "black walnut"
length = 300
width = 200
thickness = 18
[fit]
seam = 0.1
cutter = "1/8 in straight"
"""
DOT = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><rect width="9" height="9" fill="#704020"/></svg>'
)


def read(folder: Path, text: str) -> tuple[PictureRule | ReadyRule, ...]:
    """The artworks of a job."""
    (folder / "job.toml").write_text(HEAD + text, encoding="utf-8")
    return load_job(folder).artworks


def ready(folder: Path, text: str) -> ReadyRule:
    """The one ready artwork of a job."""
    (rule,) = read(folder, text)
    assert isinstance(rule, ReadyRule)
    return rule


def refused(folder: Path, text: str) -> JobFileError:
    """The refusal of a job."""
    with pytest.raises(JobFileError) as refusal:
        read(folder, text)
    return refusal.value


COMMON = 'depth = 3\ncentred = true\nwood = "holly"\n'


def test_shapes_are_read_with_their_sizes(tmp_path: Path) -> None:
    """Each kind has sizes of its own, with units; two woods split the points of a star."""
    assert ready(tmp_path, '[[shape]]\nkind = "disc"\ndiameter = "2 in"\n' + COMMON).form == Disc(50.8)
    rectangle = '[[shape]]\nkind = "rectangle"\nlength = 80\nwidth = "5 cm"\ncorner_radius = 6\n'
    assert ready(tmp_path, rectangle + COMMON).form == Rectangle(80.0, 50.0, 6.0)
    star = '[[shape]]\nkind = "star"\ndiameter = 90\npoints = 8\ndepth = 3\ncentred = true\n'
    assert ready(tmp_path, star + 'wood = "holly"').form == Star(90.0, 8, 45.0, halved=False)
    rule = ready(tmp_path, star + 'waist = 30\nwoods = ["holly", "padauk"]\nname = "compass"')
    assert (rule.form, rule.woods, rule.name) == (Star(90.0, 8, 30.0), ("holly", "padauk"), "compass")
    fan = '[[shape]]\nkind = "fan"\nradius = 40\nblades = 7\nspread = 120\nhub = 5\nscalloped = true\n'
    assert ready(tmp_path, fan + COMMON).form == Fan(40.0, 7, 120.0, 5.0, True)


def test_places_are_those_of_the_middle_unless_said_otherwise(tmp_path: Path) -> None:
    """A shape is measured to its middle, lettering to its end and base line; both can be changed."""
    disc = '[[shape]]\nkind = "disc"\ndiameter = 20\ndepth = 3\nwood = "holly"\nfrom_left = 40\nfrom_back = 30\n'
    rule = ready(tmp_path, disc)
    assert (rule.along_a, rule.along_b, rule.to_middle) == (Distance("edge", 40.0), Distance("far_edge", 30.0), True)
    assert not ready(tmp_path, disc + 'measured_to = "end"').to_middle
    words = ready(tmp_path, '[[lettering]]\ntext = "AM"\nheight = 20\nweight = "bold"\nspacing = "-0.5 mm"\n' + COMMON)
    assert isinstance(words.form, Lettering)
    assert [letter.sign for letter in words.form.letters] == ["A", "M"]
    assert (words.form.spacing, words.to_middle, words.name) == (-0.5, False, "AM")
    assert words.files[0].name.startswith("SourceSerifPro-Bold.")


def test_stringing_by_the_edges_needs_no_place(tmp_path: Path) -> None:
    """What runs along the edges of the board stands where they say, its outer side at the distance given."""
    edges = '[[stringing]]\nwidth = 2\nfrom_edge = 10\ndepth = 3\nwood = "holly"\n'
    rule = ready(tmp_path, edges + 'along = "edges"\nlongest = 90')
    assert rule.form == Stringing(FrameTrack(280.0, 180.0), 2.0, 90.0)
    assert (rule.along_a, rule.along_b) == (Distance("centre", 0.0), Distance("centre", 0.0))
    right = ready(tmp_path, edges + 'along = "right"')
    assert right.form == Stringing(StraightTrack(180.0), 2.0)
    assert (right.along_a, right.along_b, right.angle) == (Distance("far_edge", 11.0), Distance("centre", 0.0), 90.0)
    back = ready(tmp_path, edges + 'along = "back"')
    assert (back.along_a, back.along_b, back.angle) == (Distance("centre", 0.0), Distance("far_edge", 11.0), 0.0)
    ring = ready(tmp_path, '[[stringing]]\nalong = "circle"\ndiameter = 60\nwidth = 2\n' + COMMON)
    assert ring.form == Stringing(RingTrack(60.0), 2.0)


def test_banding_has_its_blocks_and_lines(tmp_path: Path) -> None:
    """The wood of the plain lines comes last."""
    text = '[[banding]]\nalong = "frame"\nsize = [120, 80]\nwidth = 6\nblock = 8\ndepth = 3\ncentred = true\n'
    rule = ready(tmp_path, text + 'woods = ["holly", "wenge"]\nline = 1\nline_wood = "maple"')
    assert (rule.form, rule.woods) == (Banding(FrameTrack(120.0, 80.0), 6.0, 8.0, 1.0), ("holly", "wenge", "maple"))


def test_artworks_come_in_the_order_of_the_file(tmp_path: Path) -> None:
    """Tables of several kinds stay in the order in which they stand, since later ones lie over earlier ones."""
    (tmp_path / "dot.svg").write_text(DOT)
    disc = '[[shape]]\nkind = "disc"\ndiameter = {}\n' + COMMON
    ring = '[[stringing]]\nalong = "circle"\ndiameter = 60\nwidth = 2\n' + COMMON
    picture = (
        '[[picture]]\nfile = "dot.svg"\nheight = 9\ndepth = 3\ncentred = true\n[picture.woods]\n"#704020" = "wenge"\n'
    )
    rules = read(tmp_path, disc.format(20) + ring + picture + disc.format(5) + picture)
    kinds = [rule.kind if isinstance(rule, ReadyRule) else "picture" for rule in rules]
    assert kinds == ["shape", "stringing", "picture", "shape", "picture"]
    assert [rule.woods for rule in rules if isinstance(rule, PictureRule)] == [((((112, 64, 32), "wenge"),))] * 2
    assert load_job(tmp_path).picture is None
    alone = read(tmp_path, picture)
    assert load_job(tmp_path).picture is alone[0] or load_job(tmp_path).picture == alone[0]


def test_a_table_that_nobody_knows_is_dropped_without_a_word(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """Fonts made with common tools hold FFTM, which cannot be taken in part; the letters are the same without it."""
    from fontTools.ttLib import TTFont
    from fontTools.ttLib.tables.DefaultTable import DefaultTable

    from purfle.files.fonts import BUNDLED, find_font, letters_of

    face = find_font(BUNDLED, 400)
    font = TTFont(face.file, fontNumber=max(face.number, 0))
    font["FFTM"] = DefaultTable("FFTM")
    font["FFTM"].data = bytes(28)
    font.save(tmp_path / "mine.otf")
    assert "FFTM" in TTFont(tmp_path / "mine.otf")
    mine = find_font("mine.otf", 400, folder=tmp_path)
    for with_it, without in zip(letters_of(mine, "Ag", 20.0), letters_of(face, "Ag", 20.0), strict=True):
        assert with_it.region.equals(without.region)
    assert caplog.records == []


def test_a_font_is_part_of_the_change_number(tmp_path: Path) -> None:
    """Another font file of the same name gives another change number."""
    from purfle.files.fonts import BUNDLED, find_font

    text = f'[[lettering]]\ntext = "A"\nheight = 20\nfont = "mine.otf"\n{COMMON}'
    changes = []
    for weight in (400, 700):
        (tmp_path / "mine.otf").write_bytes(find_font(BUNDLED, weight).file.read_bytes())
        find_font.__globals__["_faces"].cache_clear()
        read(tmp_path, text)
        changes.append(load_job(tmp_path).change)
    assert changes[0] != changes[1]


@pytest.mark.parametrize(
    ("text", "what", "where", "mend"),
    [
        ("", "Nothing is said of what is let in", "job.toml, picture", "[[shape]]"),
        (
            '[[shape]]\nkind = "disk"\ndiameter = 9\n' + COMMON,
            'kind cannot be "disk"',
            "line 14, shape[1].kind",
            "Use disc (known are disc, oval,",
        ),
        (
            '[[shape]]\nkind = "star"\ndiameter = 80\n' + COMMON,
            "points is missing in [shape[1]]",
            "shape[1].points",
            "Add a line points = 3 to 64",
        ),
        (
            '[[shape]]\nkind = "star"\ndiameter = 80\npoints = 5\nwaist = 80\n' + COMMON,
            "The waist is as wide as the star",
            "shape[1].waist",
            "less than diameter",
        ),
        (
            '[[shape]]\nkind = "disc"\ndiameter = 80\ndepth = 3\ncentred = true\nwoods = ["holly", "wenge"]\n',
            "woods has 2 woods",
            "shape[1].woods",
            "This takes 1 at most.",
        ),
        (
            '[[shape]]\nkind = "rectangle"\nlength = 80\nwidth = 20\ncorner_radius = 11\n' + COMMON,
            "corner_radius is more than half of the shorter side",
            "shape[1].corner_radius",
            "Make it smaller.",
        ),
        (
            '[[stringing]]\nalong = "edges"\nwidth = 2\nfrom_edge = 99\nwood = "holly"\ndepth = 3\n',
            "The strip is too wide for what it runs along",
            "stringing[1].from_edge",
            "Make width smaller",
        ),
        (
            '[[stringing]]\nalong = "frame"\nwidth = 2\n' + COMMON,
            "size is missing in [stringing[1]]",
            "stringing[1].size",
            'size = ["120 mm", "80 mm"]',
        ),
        (
            '[[banding]]\nalong = "line"\nlength = 90\nwidth = 4\nblock = 5\nline = 2\nline_wood = "maple"\n' + COMMON,
            "The two lines leave no room for the blocks",
            "banding[1].line",
            "Make line narrower",
        ),
        (
            '[[banding]]\nalong = "line"\nlength = 90\nwidth = 4\nblock = 0\n' + COMMON,
            "block cannot be 0",
            "banding[1].block",
            "Use a length of more than nothing, 1000 mm at most.",
        ),
        (
            '[[lettering]]\ntext = "A"\nheight = 20\nfont = "Sorce Serif Pro"\n' + COMMON,
            'There is no font "Sorce Serif Pro"',
            "lettering[1].font",
            "Source Serif Pro",
        ),
        (
            '[[lettering]]\ntext = "猫"\nheight = 20\n' + COMMON,
            'Source Serif Pro has no "猫"',
            "lettering[1].text",
            "Use another font, or other letters.",
        ),
        (
            '[[lettering]]\ntext = "A"\nheight = 20\nfont = "../evil.ttf"\n' + COMMON,
            'There is no font file "../evil.ttf" in the job folder',
            "lettering[1].font",
            "Copy the font file into the job folder",
        ),
        (
            '[[shape]]\nkind = "disc"\ndiameter = 80\n'
            + COMMON
            + '[[shape]]\nkind = "disc"\ndiameter = 8\nface = "underside"\n'
            + COMMON,
            "shape[2] has another face than shape[1]",
            "shape[2].face",
            "All artworks of a job share one face",
        ),
        (
            '[[shape]]\nkind = "disc"\ndiameter = 80\n' + COMMON + '[woods]\n"2, 3" = "holly"\n',
            "It is not said which picture [woods] speaks of",
            "woods",
            "Take it out.",
        ),
    ],
)
def test_slips_are_told_with_place_and_way_out(tmp_path: Path, text: str, what: str, where: str, mend: str) -> None:
    """Each slip is one fault that names the key and says what to write."""
    faults = refused(tmp_path, text).faults
    assert len(faults) == 1, [str(fault) for fault in faults]
    assert faults[0].what.startswith(what)
    assert where in faults[0].where
    assert mend in faults[0].mend
