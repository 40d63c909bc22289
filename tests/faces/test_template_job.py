"""Jobs cut by a hand router along templates, from the job file to the dry fit, and what their proof catches."""

import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pypdf
import pytest
import shapely

from made_by_hand import Files, Made, job_folder, small_shop, what_is_found
from purfle import job as flow
from purfle import proof
from purfle.errors import FitError, JobFileError, ProgramError, PurfleError
from purfle.files.job_folder import read_job_folder

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text())
SHOP = (
    small_shop(stick_out=25)
    + """[[guide_bush]]
name = "5/16 in"
outside = "5/16 in"
inside = "1/4 in"
length = 5
collar = "9/16 in"
[[offcut]]
name = "holly"
wood = "holly"
outline = "190 x 130 mm"
thickness = 3.6
[[offcut]]
name = "sapele"
wood = "sapele"
outline = "120 x 80 mm"
thickness = 8
"""
)
JOB = """
[job]
name = "Star table"
units = "UNITS"
[board]
wood = "black walnut"
length = "300 mm"
width = "200 mm"
thickness = "19 mm"
[cutting]
way = "templates"
[fit]
cutter = "1/8 in straight"
proud = "0.4 mm"
glue_room = "0.15 mm"
SEAM
[[shape]]
kind = "star"
points = 5
diameter = "80 mm"
waist = "46 mm"
woods = ["holly"]
depth = "3 mm"
from_left = "90 mm"
from_front = "100 mm"
FACE
[[shape]]
kind = "disc"
diameter = "30 mm"
wood = "holly"
depth = "3 mm"
from_left = "200 mm"
from_front = "100 mm"
FACE
"""
MORE = """
[[butterfly_key]]
wood = "sapele"
face = "underside"
length = "44 mm"
end_width = "24 mm"
waist_width = "10 mm"
depth = "7 mm"
from_right = "40 mm"
from_front = "60 mm"
angle = 90
[[fitting]]
kind = "magnet"
face = "underside"
diameter = "10 mm"
depth = "3.2 mm"
from_left = "20 mm"
from_front = "15 mm"
[[fitting]]
kind = "magnet"
face = "underside"
diameter = "10 mm"
depth = "3.2 mm"
from_right = "20 mm"
from_front = "15 mm"
"""


def job_text(more: str = "", seam: str = "", face: str = "show", units: str = "mm") -> str:
    text = JOB.replace("UNITS", units).replace("SEAM", seam).replace("FACE", f'face = "{face}"')
    return text + more


def folder_of(folder: Path, job: str, shop: str = SHOP) -> Path:
    return job_folder(folder, job, shop)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The job with a key and magnets on the underside."""
    return flow.make(folder_of(tmp_path_factory.mktemp("star"), job_text(MORE)))


def test_a_job_with_templates_is_proven_from_their_files(made: Made) -> None:
    """One template for each recess and its insert; no seam, as the pair leaves none; the report as its schema says."""
    result, files = made
    assert result.proof is not None
    assert result.proof.findings == ()
    assert result.proof.proven
    assert {(seam.inlay, seam.kind) for seam in result.proof.seams} == {
        (inlay, kind) for inlay in ("design", "butterfly key") for kind in ("templates", "svg", "dxf")
    }
    assert all(seam.drawn == 0.0 and seam.widest <= 0.01 for seam in result.proof.seams)
    assert result.proof.least_wood_left == pytest.approx(12.0, abs=0.01)
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    assert report["inputs"]["cutting"]["way"] == "templates"
    assert report["proven"] is True
    assert not [name for name in files if name.endswith(".nc")]


def test_one_template_serves_recess_and_insert_and_whatever_is_alike(made: Made) -> None:
    """Star, disc and key have one each for both; two magnets of one size share theirs."""
    result, _ = made
    uses = {
        one.name: sorted(
            (s.stock, guide.guide.bush)
            for s in result.cutting.set_ups
            for guide in s.guides
            if guide.template == one.number
        )
        for one in result.cutting.templates
    }
    with_collar = "5/16 in with collar"
    assert uses == {
        "star": [("board", with_collar), ("holly", "5/16 in")],
        "disc": [("board", with_collar), ("holly", "5/16 in")],
        "butterfly key": [("board", with_collar), ("sapele", "5/16 in")],
        "magnet and 1 more": [("board", with_collar), ("board", with_collar)],
    }


def test_openings_have_the_sizes_of_the_closed_forms(made: Made) -> None:
    """T = R + (Bf - Df): the disc's opening and the magnet's."""
    result, _ = made
    widths = {one.name: one.opening.bounds[2] - one.opening.bounds[0] for one in result.cutting.templates}
    assert widths["disc"] == pytest.approx(30.0 + (9 / 16 - 1 / 8) * 25.4, abs=0.01)
    assert widths["magnet and 1 more"] == pytest.approx(10.0 + (9 / 16 - 1 / 8) * 25.4, abs=0.01)


def test_pins_are_drilled_where_nobody_looks(made: Made, tmp_path: Path) -> None:
    """In offcuts and the underside; into the show face only where the job allows it."""
    result, _ = made
    pinned = {(one.stock, one.face): {guide.pinned for guide in one.guides} for one in result.cutting.set_ups}
    assert pinned == {
        ("board", "show"): {False},
        ("board", "underside"): {True},
        ("holly", "show"): {True},
        ("sapele", "show"): {True},
    }
    everywhere = job_text('[templates]\npin_holes = "everywhere"\n')
    other, _ = flow.make(folder_of(tmp_path, everywhere))
    assert other.proof is not None
    assert other.proof.proven
    assert {guide.pinned for one in other.cutting.set_ups for guide in one.guides} == {True}


def test_inside_corners_are_as_round_as_the_bush_makes_them(made: Made) -> None:
    """Notches of the star: (Bm + Dm) / 2 of radius at least, so closing by that leaves the insert as it is."""
    result, _ = made
    star = max(result.layout.inlays[0].fit.inserts, key=lambda one: one.region.area).region
    across = (5 / 16 + 1 / 8) / 2 * 25.4
    closed = star.buffer(across, quad_segs=64).buffer(-across, quad_segs=64)
    assert shapely.hausdorff_distance(closed.boundary, star.boundary) < 0.005
    tighter = star.buffer(1.5 * across, quad_segs=64).buffer(-1.5 * across, quad_segs=64)
    assert shapely.hausdorff_distance(tighter.boundary, star.boundary) > 0.1


def test_the_underside_is_not_mirrored_twice(tmp_path: Path) -> None:
    """Seen from below the design lies as asked; templates lie face up on board and offcut alike."""
    result, files = flow.make(folder_of(tmp_path, job_text(face="underside")))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    card = json.loads(files["assembly.json"])
    assert not any(guide["to_set_up"]["mirrored"] for one in card["set_ups"] for guide in one["guides"])


def test_a_seam_that_the_pair_has_not_takes_templates_of_their_own(tmp_path: Path) -> None:
    """Proven at the seam asked for, with a word about saws; inch sheets on letter paper go with it."""
    job = job_text(seam='seam = "0.004 in"', units="inch")
    result, files = flow.make(folder_of(tmp_path, job))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert {round(seam.drawn, 6) for seam in result.proof.seams} == {0.1016}
    assert {round(seam.narrowest, 2) for seam in result.proof.seams} == {0.1}
    assert len(result.cutting.templates) == 4
    assert any("templates of their own" in one.what for one in result.findings)
    jsonschema.validate(json.loads(files["report.json"]), SCHEMA)


def test_alike_pieces_share_one_template_though_they_are_turned(tmp_path: Path) -> None:
    """Four ovals round a middle, each turned by a quarter more: one template, four places."""
    shapes = ""
    for x, y, angle in ((60, 100, 0), (150, 60, 90), (240, 100, 180), (150, 140, 35)):
        shapes += (
            f'[[shape]]\nkind = "oval"\nlength = 40\nwidth = 24\nwood = "holly"\ndepth = 3\nangle = {angle}\n'
            f"from_left = {x}\nfrom_front = {y}\n"
        )
    text = re.sub(r"(?s)\[\[shape\]\].*", shapes, job_text())
    shop = SHOP.replace('"190 x 130 mm"', '"300 x 130 mm"')
    result, _ = flow.make(folder_of(tmp_path, text, shop))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert len(result.cutting.templates) == 1
    assert sum(len(one.guides) for one in result.cutting.set_ups) == 8


def test_what_bush_and_cutter_cannot_do_is_told_with_its_place(tmp_path: Path) -> None:
    """A star with narrow notches: they are filled, its tips shortened, both with how far and what to do."""
    job = job_text().replace('waist = "46 mm"', 'waist = "24 mm"').replace("points = 5", "points = 6")
    result, _ = flow.make(folder_of(tmp_path, job))
    told = {one.what.split(":")[0]: one for one in result.findings if one.stage == "fit"}
    (notches,) = [one for what, one in told.items() if "notches tighter than 5.556 mm" in what]
    assert notches.severity == "look"
    assert "mm from its left end" in notches.where
    assert "narrower bush" in notches.mend
    assert result.proof is not None
    assert result.proof.proven


def test_a_pair_without_a_seam_is_told_to_be_eased(made: Made, tmp_path: Path) -> None:
    """0.00 goes in by force alone: a look with how to ease it, words on sheet 7; 0.05 mm needs none."""
    result, files = made
    (told,) = [one for one in result.findings if "does not go in by hand" in one.what]
    assert (told.severity, told.where) == ("look", "fit.seam")
    assert "file or sandpaper" in told.mend
    assert "once eased ?" in sheet(files, "Dry fit")
    wider, files = flow.make(folder_of(tmp_path, job_text(seam='seam = "0.05 mm"')))
    assert not [one for one in wider.findings if "does not go in by hand" in one.what]
    assert "if as cut ?" in sheet(files, "Dry fit")


def test_a_template_says_which_face_lies_up(made: Made) -> None:
    """A template turned over would cut mirrored: each says on its pattern at true size which face is up."""
    result, files = made
    assert sheet(files, "Templates at true size").count("this face up") == len(result.cutting.templates)


def test_a_cutter_too_wide_for_some_bushes_is_told_with_them(tmp_path: Path) -> None:
    """1/2 in goes through the wide bush alone, which makes no pair: the narrow one is named with its inside."""
    wide = '[[guide_bush]]\nname = "3/4 in"\noutside = "3/4 in"\ninside = "5/8 in"\nlength = 5\n'
    shop = SHOP.replace('"1/8 in', '"1/2 in').replace("[[guide_bush]]", f"{wide}[[guide_bush]]", 1)
    with pytest.raises(JobFileError) as refused:
        flow.make(folder_of(tmp_path, job_text().replace('"1/8 in', '"1/2 in'), shop))
    assert "it does not pass through 5/16 in (6.35 mm inside)" in refused.value.what
    assert "thinner cutter" in refused.value.mend


def sheet(files: dict[str, bytes], title: str) -> str:
    """The words of the first bench sheet with a title."""
    (name,) = [name for name in files if name.endswith("bench-sheets.pdf")]
    texts = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(files[name])).pages]
    return next(text for text in texts if title in text[:60])


def test_letters_with_serifs_come_out_rounder(tmp_path: Path) -> None:
    """Ends that closing would bridge too thinly for the cutter are shortened and told, and all is proven."""
    letters = '[[lettering]]\ntext = "TALE"\nheight = 60\nweight = "bold"\nwood = "holly"\ndepth = 3\n'
    letters += "from_left = 30\nfrom_front = 70\n"
    job = re.sub(r"(?s)\[\[shape\]\].*", letters, job_text())
    result, _ = flow.make(folder_of(tmp_path, job, SHOP.replace('"190 x 130 mm"', '"400 x 200 mm"')))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert {one.name for one in result.layout.inlays[0].fit.inserts} == {f"letter {sign}" for sign in "TALE"}
    assert any("shorter" in one.what and "letter E" in one.what for one in result.findings)


@pytest.mark.parametrize(
    ("d", "stop", "lost"),
    [
        ("M2 2H62V62H2Z M28 28H36V36H28Z", r"a hole of the drawing in .* is filled .*\(8.0 x 8.0 mm, 64.0 mm2\)", 64.0),
        ("M2 2H62V62H2Z M30 8H34V38H30Z", r"a hole of the drawing in .* is filled", 120.0),
        ("M2 2H62V62H35V8H29V62H2Z", r"filled with its wood, up to 5\d\.\d\d mm deep \(31\d\.\d mm2\)", 316.0),
        ("M2 2H22V30H42V2H62V62H42V32H22V62H2Z", r"falls into 2 pieces", 40.0),
        ("M2 2H32V30H60V31.5H32V62H2Z", r"", 42.0),
    ],
    ids=["hole", "narrow hole", "slot", "two of one", "stem"],
)
def test_what_is_not_as_drawn_any_more_says_stop(d: str, stop: str, lost: float, tmp_path: Path) -> None:
    """Told with its true area and depth, and as a detail lost: the dry fit compares with lines that have it already."""
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">'
    drawing += f'<path fill="#f5efe1" fill-rule="evenodd" d="{d}"/></svg>'
    picture = '[picture]\nfile = "a.svg"\nheight = 60\ndepth = 3\ncentred = true\n'
    folder = folder_of(tmp_path, re.sub(r"(?s)\[\[shape\]\].*", picture, job_text()))
    (folder / "a.svg").write_text(drawing)
    result, _ = flow.make(folder)
    stops = [one.what for one in flow.stops(result)]
    assert any(re.search(stop, what) for what in stops) if stop else not stops, stops
    found = [one.region.area for one in result.layout.inlays[0].fit.pieces.lost]
    assert any(area == pytest.approx(lost, rel=0.1) for area in found), found


def test_letters_too_fine_for_the_bush_say_stop(tmp_path: Path) -> None:
    """The counter of an A of 50 mm is filled, an N of 25 mm loses its legs; each with the share that changed."""
    for text, height, stop in (("A", 50, "is filled with its wood"), ("N", 25, "is not what was drawn")):
        letters = f'[[lettering]]\ntext = "{text}"\nheight = {height}\nweight = "bold"\nwood = "holly"\ndepth = 3\n'
        job = re.sub(r"(?s)\[\[shape\]\].*", f"{letters}from_left = 30\nfrom_front = 70\n", job_text())
        result, _ = flow.make(folder_of(tmp_path, job))
        assert any(stop in one.what for one in flow.stops(result)), text
        changed = result.layout.inlays[0].fit.pieces.art_changed
        assert any(f"{100.0 * changed:.0f} % of its" in one.what for one in flow.stops(result))


@pytest.mark.parametrize(
    ("change", "error", "what", "where"),
    [
        (lambda job: job.replace('from_left = "200 mm"', 'from_left = "125 mm"'), FitError, "touch", "mm from"),
        (
            lambda job: job.replace('kind = "disc"', 'kind = "oval"\nlength = 30\nwidth = 2').replace(
                'diameter = "30 mm"\n', ""
            ),
            None,
            "",
            "",
        ),
        (
            lambda job: job.replace('proud = "0.4 mm"', 'walls = "tapered"\nv_cutter = "x"'),
            JobFileError,
            "walls says",
            "fit.walls",
        ),
        (
            lambda job: job.replace('proud = "0.4 mm"', 'corners = "chisel"'),
            JobFileError,
            "corners says",
            "fit.corners",
        ),
        (
            lambda job: job.replace('way = "templates"', 'way = "templates"\nclearing = "x"'),
            JobFileError,
            "clearing says",
            "cutting.clearing",
        ),
        (
            lambda job: job.replace('way = "templates"', 'way = "template"'),
            JobFileError,
            "way cannot be",
            "cutting.way",
        ),
        (
            lambda job: (
                job.replace('way = "templates"\n', "").replace("[fit]", '[fit]\nseam = "0.1 mm"')
                + "[templates]\npin = 3\n"
            ),
            JobFileError,
            "[templates] says",
            "templates",
        ),
        (
            lambda job: job + '[templates]\nrecess_bush = "1 in"\n',
            JobFileError,
            "no guide bush",
            "templates.recess_bush",
        ),
        (lambda job: job + "[templates]\nthickness = 4\n", JobFileError, "only 4.0 mm thick", "templates.thickness"),
        (lambda job: job + "[templates]\nbush = 4\n", JobFileError, "bush is not known", "templates.bush"),
    ],
)
def test_what_templates_cannot_do_is_refused(
    change: Callable[[str], str], error: type[PurfleError] | None, what: str, where: str, tmp_path: Path
) -> None:
    folder = folder_of(tmp_path, change(job_text()))
    if error is None:
        result, _ = flow.make(folder)
        assert any(
            "narrower than the cutter" in lost.why for inlay in result.layout.inlays for lost in inlay.fit.pieces.lost
        )
        return
    with pytest.raises(error) as refused:
        flow.make(folder)
    assert what in refused.value.what
    assert where in refused.value.where
    assert refused.value.mend


def test_a_ring_is_refused_since_its_island_would_fall_out(tmp_path: Path) -> None:
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">'
    drawing += '<path fill="#f5efe1" fill-rule="evenodd" d="M2 2H78V78H2Z M20 20H60V60H20Z"/></svg>'
    picture = '[picture]\nfile = "ring.svg"\nheight = 76\ndepth = 3\ncentred = true\n'
    folder = folder_of(tmp_path, re.sub(r"(?s)\[\[shape\]\].*", picture, job_text()))
    (folder / "ring.svg").write_text(drawing)
    with pytest.raises(FitError) as refused:
        flow.make(folder)
    assert "island" in refused.value.what
    assert "artwork" in refused.value.where


def test_a_cutter_too_short_to_reach_through_the_template_stops_the_job(tmp_path: Path) -> None:
    result, _ = flow.make(folder_of(tmp_path, job_text(), SHOP.replace("stick_out = 25", "stick_out = 8")))
    stops = {one.what for one in flow.stops(result)}
    assert stops
    assert all("sticks out 8.0 mm" in stop for stop in stops)


def test_the_same_job_gives_the_same_bytes(made: Made, tmp_path: Path) -> None:
    """Made again with another folder: every file for the bench but the clock's, to the byte."""
    _, files = made
    _, again = flow.make(folder_of(tmp_path, job_text(MORE)))
    assert {name: data for name, data in files.items() if name != "timings.json"} == {
        name: data for name, data in again.items() if name != "timings.json"
    }


MACHINE = SHOP[SHOP.index("[machine]") : SHOP.index("[[cutter]]")]
BY_HAND = 'machine = "none"\n' + SHOP.replace(MACHINE, "")


def test_a_shop_without_a_machine_cuts_by_hand(tmp_path: Path) -> None:
    """The card has none, and the job is proven like any other; for a machine it is refused with what to say."""
    result, files = flow.make(folder_of(tmp_path, job_text(), BY_HAND))
    assert json.loads(files["assembly.json"])["machine"] is None
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    by_machine = job_text(seam='seam = "0.1 mm"').replace('way = "templates"\n', "")
    folder_of(tmp_path, by_machine, BY_HAND)
    with pytest.raises(JobFileError) as refused:
        read_job_folder(tmp_path)
    assert (refused.value.what, refused.value.where) == ("there is no machine in the shop", "job.toml, cutting.way")
    assert 'way = "templates"' in refused.value.mend


def test_pins_keep_clear_of_recesses_on_the_other_face(tmp_path: Path) -> None:
    """A recess on the show face, right above a place beside the key: no pin is drilled up into it."""
    text = job_text(MORE).replace('from_left = "200 mm"', 'from_left = "258 mm"').replace('"100 mm"', '"88 mm"')
    result, _ = flow.make(folder_of(tmp_path, text))
    show, underside = [one for one in result.cutting.set_ups if one.stock == "board"]
    above = shapely.union_all([line.region for line in show.lines])
    pinned = [guide for guide in underside.guides if guide.pinned]
    assert pinned
    for guide in pinned:
        used = result.cutting.templates[guide.template - 1]
        for pin in used.pins:
            x, y = guide.pose.point(*pin)
            assert shapely.distance(above, shapely.Point(x, -y)) > used.pin / 2.0
    assert len(pinned) < len(underside.guides)


def test_the_rosette_table_needs_two_templates() -> None:
    """The example: sixteen petals share one template, recesses and inserts, whichever way they are turned."""
    result, files = flow.make(ROOT / "examples" / "rosette-table")
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert [one.where for one in result.findings] == ["fit.seam"]  # the pair leaves none: inserts are eased
    assert [one.name for one in result.cutting.templates] == ["petal 13 and 15 more", "eye"]
    assert sum(len(one.guides) for one in result.cutting.set_ups) == 34
    assert len([name for name in files if "-template-" in name]) == 4


# --- what the proof catches

Damage = Callable[[Files], str]


def card_with(files: Files, change: Callable[[dict], None]) -> None:
    """The assembly card changed."""
    card = json.loads(files["assembly.json"])
    change(card)
    files["assembly.json"] = json.dumps(card).encode()


def template(files: Files, name: str, kind: str) -> str:
    """The file of the template for something."""
    card = json.loads(files["assembly.json"])
    (number,) = [one["number"] for one in card["templates"] if one["name"] == name]
    return f"star-table-template-{number}.{kind}"


def place_moved(files: Files, file: str, line: str, by: float) -> None:
    """One corner of a line of an SVG moved to the right."""
    text = files[file].decode()
    path = re.search(rf'<path id="{line}" d="([^"]*)"', text)
    assert path
    d = re.sub(r"(M)(-?[0-9.]+)", lambda m: f"M{float(m[2]) + by:.5f}", path[1], count=1)
    files[file] = text.replace(path[1], d).encode()


def shifted(files: Files, file: str, line: str, by: float, up: float = 0.0) -> None:
    """A whole line of an SVG moved to the right, and up."""
    text = files[file].decode()
    path = re.search(rf'<path id="{line}" d="([^"]*)"', text)
    assert path

    def moved(match: re.Match[str]) -> str:
        letter, numbers = match[1], [float(x) for x in match[2].split()]
        if letter in "MLA":
            numbers[-2] += by
            numbers[-1] += up
        return letter + " ".join(f"{x:.7f}" for x in numbers)

    d = re.sub(r"([MLA])([^MLAZ]*)", moved, path[1])
    files[file] = text.replace(path[1], d).encode()


def dxf_shifted(files: Files, file: str, line: str, by: float, up: float = 0.0) -> None:
    """A whole line of a DXF moved to the right, and up."""
    rows = files[file].decode("cp1252").splitlines()
    entities = [n for n in range(0, len(rows) - 1, 2) if rows[n].strip() == "0" and rows[n + 1] == "LWPOLYLINE"]
    for start, end in zip(entities, [*entities[1:], len(rows)], strict=True):
        if line in [row.strip() for row in rows[start:end]]:
            for n in range(start, end, 2):
                if rows[n].strip() in ("10", "20"):
                    rows[n + 1] = f"{float(rows[n + 1]) + (by if rows[n].strip() == '10' else up):.5f}"
    files[file] = "\n".join([*rows, ""]).encode("cp1252")


def an_opening_in_the_svg_moved(files: Files) -> str:
    name = template(files, "star", "svg")
    shifted(files, name, "opening", 0.03)
    return name


def a_corner_of_an_opening_in_the_svg_moved(files: Files) -> str:
    name = template(files, "star", "svg")
    place_moved(files, name, "opening", 0.4)
    return name


def an_opening_in_the_dxf_moved(files: Files) -> str:
    name = template(files, "disc", "dxf")
    dxf_shifted(files, name, "opening", 0.03)
    return name


def an_opening_in_both_files_moved(files: Files) -> str:
    shifted(files, template(files, "disc", "svg"), "opening", 0.05)
    dxf_shifted(files, template(files, "disc", "dxf"), "opening", 0.05)
    return template(files, "disc", "svg")


def a_template_printed_larger(files: Files) -> str:
    name = template(files, "star", "svg")
    files[name] = re.sub(
        rb'width="([0-9.]+)mm"', lambda m: f'width="{float(m[1]) * 1.01:.4f}mm"'.encode(), files[name], count=1
    )
    return name


def a_template_mirrored(files: Files) -> str:
    name = template(files, "star", "svg")
    files[name] = files[name].replace(b"matrix(1 0 0 -1", b"matrix(-1 0 0 -1")
    return name


def an_opening_lost(files: Files) -> str:
    name = template(files, "disc", "svg")
    files[name] = re.sub(rb'<path id="opening"[^>]*/>', b"", files[name])
    return name


def an_island_in_an_opening(files: Files) -> str:
    name = template(files, "disc", "svg")
    files[name] = files[name].replace(b'<path id="opening" d="', b'<path id="opening" d="M-2 -2 L2 -2 L2 2 L-2 2 Z ', 1)
    return name


def a_pin_moved_in_the_svg(files: Files) -> str:
    name = template(files, "disc", "svg")
    shifted(files, name, "pin-1", 0.2)
    return name


def pins_moved_into_the_part(files: Files) -> str:
    """Both files agree on a hole in the middle of the opening: the template breaks, the pin goes into the insert."""
    (disc,) = [one for one in json.loads(files["report.json"])["cutting"]["templates"] if one["name"] == "disc"]
    x, y = disc["pins_mm"][0]
    for kind, move in (("svg", shifted), ("dxf", dxf_shifted)):
        move(files, template(files, "disc", kind), "pin-1", -x, -y)
    return "template"


def a_pin_too_wide(files: Files) -> str:
    card_with(files, lambda card: card["templates"][0].update(pin=4.0))
    return "template-1"


def pins_off_the_offcut(files: Files) -> str:
    """The template lies so on the offcut that a pin finds no wood: the outline of the stock is cut there."""

    def change(card: dict) -> None:
        for one in card["set_ups"]:
            for guide in one["guides"]:
                if one["stock"] == "sapele":
                    guide["to_set_up"]["x"] -= 20.0

    card_with(files, change)
    return "sapele"


def guide_of(card: dict, stock: str, line: str) -> dict:
    (found,) = [
        guide for one in card["set_ups"] if one["stock"] == stock for guide in one["guides"] if guide["line"] == line
    ]
    return found


def a_wider_bush_in_the_recess(files: Files) -> str:
    def change(card: dict) -> None:
        for one in card["set_ups"]:
            if one["face"] == "show" and one["stock"] == "board":
                for guide in one["guides"]:
                    guide["bush"]["outside"] += 0.1

    card_with(files, change)
    return "recess-1"


def the_bush_of_the_recess_at_the_insert(files: Files) -> str:
    card_with(files, lambda card: guide_of(card, "holly", "piece-1")["bush"].update(outside=14.2875))
    return "piece-1"


def a_bush_narrower_than_its_cutter(files: Files) -> str:
    card_with(files, lambda card: guide_of(card, "holly", "piece-1")["bush"].update(outside=3.0))
    return "piece-1"


def another_cutter(files: Files) -> str:
    card_with(files, lambda card: card["cutters"][0].update(diameter=3.0))
    return "recess"


def a_template_laid_aside(files: Files) -> str:
    def change(card: dict) -> None:
        guide_of(card, "board", "recess-2")["to_set_up"]["x"] += 0.1

    card_with(files, change)
    return "recess-2"


def a_template_laid_turned(files: Files) -> str:
    def change(card: dict) -> None:
        guide_of(card, "holly", "piece-1")["to_set_up"]["angle"] += 0.5

    card_with(files, change)
    return "piece-1"


def a_template_laid_face_down(files: Files) -> str:
    card_with(files, lambda card: guide_of(card, "holly", "piece-1")["to_set_up"].update(mirrored=True))
    return "piece-1"


def templates_swapped(files: Files) -> str:
    def change(card: dict) -> None:
        one, other = guide_of(card, "holly", "piece-1"), guide_of(card, "holly", "piece-2")
        one["template"], other["template"] = other["template"], one["template"]

    card_with(files, change)
    return "piece-1"


def steps_of(card: dict, line: str) -> tuple[dict, list[dict]]:
    (set_up,) = [one for one in card["set_ups"] if any(step["line"] == line for step in one["steps"])]
    return set_up, [step for step in set_up["steps"] if step["line"] == line]


def the_last_pass_left_out(files: Files) -> str:
    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "recess-1")
        set_up["steps"].remove(steps[-1])

    card_with(files, change)
    return "recess-1"


def a_recess_too_deep(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "recess-1")[1][-1].update(depth=3.06))
    return "recess-1"


def a_part_not_cut_through(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "piece-1")[1][-1].update(depth=3.5))
    return "piece-1"


def a_part_cut_into_the_bench(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "piece-1")[1][-1].update(depth=5.5))
    return "piece-1"


def passes_in_another_order(files: Files) -> str:
    def change(card: dict) -> None:
        _, steps = steps_of(card, "piece-1")
        steps[0]["depth"], steps[1]["depth"] = steps[1]["depth"], steps[0]["depth"]

    card_with(files, change)
    return "piece-1"


def a_pass_off_the_line(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "recess-1")[1][0].update(off_line=0.1))
    return "recess-1"


def no_pass_for_a_line(files: Files) -> str:
    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "magnet-1")
        set_up["steps"] = [step for step in set_up["steps"] if step not in steps]

    card_with(files, change)
    return "magnet-1"


def no_guide_for_a_line(files: Files) -> str:
    def change(card: dict) -> None:
        guide = guide_of(card, "board", "magnet-1")
        for one in card["set_ups"]:
            one["guides"] = [other for other in one["guides"] if other != guide]

    card_with(files, change)
    return "magnet-1"


def a_recess_less_in_its_line(files: Files) -> str:
    """Of a design with two recesses one is not guided: it would not be cut."""

    def change(card: dict) -> None:
        (set_up,) = [one for one in card["set_ups"] if one["stock"] == "board" and one["face"] == "show"]
        del set_up["guides"][0]

    card_with(files, change)
    return "recess-1"


def a_finished_line_in_the_svg_moved(files: Files) -> str:
    (name,) = [name for name in files if "parts-holly" in name and name.endswith(".svg")]
    shifted(files, name, "piece-2", 0.03)
    return name


def a_finished_line_in_the_dxf_moved(files: Files) -> str:
    (name,) = [name for name in files if "recess-show-face" in name and name.endswith(".dxf")]
    dxf_shifted(files, name, "recess-1", 0.03)
    return name


def a_part_put_elsewhere(files: Files) -> str:
    def change(card: dict) -> None:
        (design,) = [one for one in card["inlays"] if one["name"] == "design"]
        design["parts"][0]["to_board"]["x"] += 0.06

    card_with(files, change)
    return "design"


def a_file_missing(files: Files) -> str:
    name = template(files, "star", "dxf")
    del files[name]
    return name


def no_template_file_at_all(files: Files) -> str:
    for name in [template(files, "star", kind) for kind in ("svg", "dxf")]:
        del files[name]
    return "piece-1"


def a_cutter_with_short_edges(files: Files) -> str:
    card_with(files, lambda card: card["cutters"][0].update(cutting_length=3.0))
    return "recess-2"


DAMAGES: tuple[Damage, ...] = (
    an_opening_in_the_svg_moved,
    a_corner_of_an_opening_in_the_svg_moved,
    an_opening_in_the_dxf_moved,
    an_opening_in_both_files_moved,
    a_template_printed_larger,
    a_template_mirrored,
    an_opening_lost,
    an_island_in_an_opening,
    a_pin_moved_in_the_svg,
    pins_moved_into_the_part,
    a_pin_too_wide,
    pins_off_the_offcut,
    a_wider_bush_in_the_recess,
    the_bush_of_the_recess_at_the_insert,
    a_bush_narrower_than_its_cutter,
    another_cutter,
    a_template_laid_aside,
    a_template_laid_turned,
    a_template_laid_face_down,
    templates_swapped,
    the_last_pass_left_out,
    a_recess_too_deep,
    a_part_not_cut_through,
    a_part_cut_into_the_bench,
    passes_in_another_order,
    a_pass_off_the_line,
    no_pass_for_a_line,
    no_guide_for_a_line,
    a_recess_less_in_its_line,
    a_finished_line_in_the_svg_moved,
    a_finished_line_in_the_dxf_moved,
    a_part_put_elsewhere,
    a_file_missing,
    no_template_file_at_all,
    a_cutter_with_short_edges,
)


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.__name__)
def test_damage_is_caught_and_its_place_named(damage: Damage, made: Made) -> None:
    """Not proven, and a finding that says stop (or the refusal) names the file, the line or the template."""
    files = dict(made[1])
    named = damage(files)
    stops, faults = what_is_found(files)
    assert any(named in where or named in what for what, where, _ in [*stops, *faults]), (stops, faults)
    assert all(mend for _, _, mend in [*stops, *faults])


@pytest.mark.parametrize("by", [0.02, 0.05, 0.2, 1.0, -0.02, -0.3])
@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_every_shift_of_an_opening_from_two_hundredths_on_is_caught(kind: str, by: float, made: Made) -> None:
    for name in ("star", "disc", "butterfly key", "magnet and 1 more"):
        files = dict(made[1])
        (shifted if kind == "svg" else dxf_shifted)(files, template(files, name, kind), "opening", by)
        assert not proof.dry_fit(files).proven, (name, kind, by)


def test_a_card_that_mixes_the_ways_is_refused(made: Made) -> None:
    files = dict(made[1])
    card_with(files, lambda card: card.update(way="machine"))
    with pytest.raises(ProgramError, match="not cut the way"):
        proof.dry_fit(files)


def test_the_sweep_of_bush_and_cutter_against_shapely_alone(made: Made) -> None:
    """What the proof reads back is what a plain erosion by the bush and growth by the cutter give."""
    result, _ = made
    for set_up in result.cutting.set_ups:
        for guide in set_up.guides:
            opening = guide.pose.region(result.cutting.templates[guide.template - 1].opening)
            room = opening.buffer(-guide.guide.outside / 2.0, quad_segs=128)
            sign = 1.0 if set_up.stock == "board" else -1.0
            cut = room.buffer(sign * guide.guide.cutter.width / 2.0, quad_segs=128)
            (line,) = [line for line in set_up.lines if line.id == guide.line]
            part = max(shapely.get_parts(line.region), key=lambda one: one.intersection(cut).area)
            assert shapely.hausdorff_distance(part.boundary, cut.boundary) < 0.012
