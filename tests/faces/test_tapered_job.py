"""Jobs with tapered walls from the job file to the dry fit, and what their proof catches."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from made_by_hand import small_shop
from purfle import job as flow
from purfle import proof
from purfle.errors import JobFileError, ProgramError, PurfleError, ShopFileError
from purfle.model.job import JobResult
from purfle.sheets import cutting_cards, finish, show_face
from purfle.sheets.assembly_drawing import steps_of
from purfle.sheets.pattern_outlines import patterns_of
from purfle.sheets.style import Style
from shifted_files import later_aside

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text())
SHOP = (
    small_shop(stick_out=16)
    + """\
[[cutter]]
number = 3
name = "60 degree V"
diameter = 12.7
angle = 60
flutes = 2
cutting_length = 10
stick_out = 20
max_speed = 24000
[[offcut]]
name = "holly block"
wood = "holly"
outline = "120 x 80 mm"
thickness = 8
"""
)
JOB = """
[job]
name = "Door"
units = "UNITS"
[board]
wood = "black walnut"
length = "100 mm"
width = "70 mm"
thickness = "18 mm"
[fit]
walls = "tapered"
cutter = "1/8 in straight"
v_cutter = "60 degree V"
glue_room = "0.5 mm"
[[shape]]
kind = "diamond"
length = "40 mm"
width = "24 mm"
wood = "holly"
depth = "3 mm"
from_left = "30 mm"
from_front = "35 mm"
FACE
[[shape]]
kind = "disc"
diameter = "14 mm"
wood = "holly"
depth = "3 mm"
from_left = "75 mm"
from_front = "35 mm"
FACE
"""


def folder_of(folder: Path, job: str = JOB, shop: str = SHOP, face: str = "show") -> Path:
    """A job folder with these texts."""
    folder.mkdir(exist_ok=True)
    (folder / "shop.toml").write_text(shop)
    (folder / "job.toml").write_text(job.replace("UNITS", "mm").replace("FACE", f'face = "{face}"'))
    return folder


Made = tuple[JobResult, dict[str, bytes]]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The job on the show face."""
    return flow.make(folder_of(tmp_path_factory.mktemp("door")))


def test_a_design_with_tapered_walls_is_proven_from_its_files(made: Made) -> None:
    """Both inserts turned over into their recesses; the seam closed; the report as its schema says."""
    result, files = made
    assert result.proof is not None
    assert result.proof.findings == ()
    assert result.proof.proven
    (seam,) = result.proof.seams
    assert (seam.inlay, seam.kind, seam.drawn) == ("design", "programs", 0.0)
    assert seam.widest <= 0.02
    assert result.proof.least_wood_left == pytest.approx(15.0, abs=0.01)
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    (inlay,) = report["inlays"]
    walls = {"half_angle_deg": 30.0, "tip_radius_mm": 0.0, "sink_mm": 2.5, "glue_room_mm": 0.5, "saw_room_mm": 1.0}
    assert inlay["tapered"] == walls
    assert inlay["insert_thickness_mm"] == 2.5 + 1.0 + 2.0


def test_corners_stay_as_sharp_as_drawn(made: Made) -> None:
    """The diamond has its four corners, which a straight cutter would have rounded by its radius."""
    result, _ = made
    diamond = max(result.layout.inlays[0].fit.inserts, key=lambda one: one.region.area)
    assert diamond.region.area == pytest.approx(40.0 * 24.0 / 2.0, rel=1e-6)
    assert len(diamond.region.exterior.coords) == 5


def test_inserts_lie_turned_over_on_plates_with_programs_of_their_own(made: Made) -> None:
    """Each insert is a mirror image within its plate; straight and tapered walls are cut by programs apart."""
    result, files = made
    card = json.loads(files["assembly.json"])
    (inlay,) = card["inlays"]
    assert {part["plate"] for part in inlay["parts"]} == {f"{part['line']}-plate" for part in inlay["parts"]}
    assert all(part["to_board"]["mirrored"] for part in inlay["parts"])
    offcut = next(one for one in card["set_ups"] if one["stock"] == "holly block")
    assert [(one["cutter"], one["tapered"]) for one in offcut["programs"]] == [(1, True), (3, True), (1, False)]
    for place in result.on_offcuts.places:
        assert place.region.contains(place.insert)


def test_the_underside_is_mirrored_back(tmp_path: Path) -> None:
    """Seen from below, the design lies as asked; its inserts are not mirrored then: they are turned over twice."""
    result, files = flow.make(folder_of(tmp_path, face="underside"))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    parts = json.loads(files["assembly.json"])["inlays"][0]["parts"]
    assert not any(part["to_board"]["mirrored"] for part in parts)


def test_a_job_in_inches_and_a_blunt_tip(tmp_path: Path) -> None:
    """Programs in inches are proven too; a flat at the tip rounds the corners, and what it leaves below is told."""
    shop = SHOP.replace("angle = 60", 'angle = 60\ntip_width = "0.1 mm"')
    (tmp_path / "shop.toml").write_text(shop)
    (tmp_path / "job.toml").write_text(JOB.replace("UNITS", "inch").replace("FACE", ""))
    result, files = flow.make(tmp_path)
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert any("in corners or ridges below the face" in one.what for one in result.proof.findings)
    assert all(b"\nG20" in data or b"G17 G20" in data for name, data in files.items() if name.endswith(".nc"))
    diamond = max(result.layout.inlays[0].fit.inserts, key=lambda one: one.region.area)
    assert len(diamond.region.exterior.coords) > 12


def test_keys_and_hardware_stay_straight_beside_it(tmp_path: Path) -> None:
    """A butterfly key with its own seam and a magnet share the set-up; each kind of wall is proven by its own means."""
    more = """
[[butterfly_key]]
wood = "holly"
face = "show"
length = 24
end_width = 12
waist_width = 5
depth = 5
from_left = 75
from_front = 12
[[fitting]]
kind = "magnet"
face = "show"
diameter = 8
depth = 3
from_left = 90
from_front = 60
"""
    job = JOB.replace('glue_room = "0.5 mm"', 'glue_room = "0.5 mm"\nseam = "0.1 mm"\nproud = "0.4 mm"')
    result, _ = flow.make(folder_of(tmp_path, job + more))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert {seam.inlay for seam in result.proof.seams} == {"design", "butterfly key"}


# --- areas that touch

SAPELE = """
[[offcut]]
name = "sapele block"
wood = "sapele"
outline = "120 x 80 mm"
thickness = 8
"""
EYE = """
[[shape]]
kind = "disc"
diameter = "8 mm"
wood = "sapele"
depth = "3 mm"
from_left = "24 mm"
from_front = "35 mm"
FACE
"""


@pytest.fixture(scope="module")
def touching(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A diamond of holly, a disc of sapele over its tip and one within it."""
    job = JOB.replace('from_left = "75 mm"', 'from_left = "52 mm"').replace(
        '"14 mm"\nwood = "holly"', '"14 mm"\nwood = "sapele"'
    )
    return flow.make(folder_of(tmp_path_factory.mktemp("eye"), job + EYE, SHOP + SAPELE))


def test_areas_that_touch_are_let_in_one_after_the_other(touching: Made) -> None:
    """The diamond first; both discs when it is glued in and level, their recess in a set-up of its own, as deep."""
    result, files = touching
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    assert [(one.inlay, one.widest <= 0.02) for one in result.proof.seams] == [
        ("design", True),
        ("design, order 2", True),
    ]
    first, later = result.layout.inlays
    assert ([one.name for one in first.fit.inserts], [one.name for one in later.fit.inserts]) == (
        ["diamond"],
        ["disc 2", "disc"],
    )
    assert (first.depth, later.depth, later.into) == (3.0, 3.0, "design")
    assert [(one.stock, one.order) for one in result.cutting.set_ups][-1] == ("board", 2)
    assert result.proof.least_wood_left == pytest.approx(15.0, abs=0.01)
    (told,) = [one for one in result.findings if "areas touch" in one.what]
    assert told.what == (
        "areas touch, so they are let in in 2 goes: each when the one before is glued in and level. Later: disc 2, disc"
    )
    assert "to let all in at once" in told.mend
    jsonschema.validate(json.loads(files["report.json"]), SCHEMA)


@pytest.mark.parametrize(("by", "told"), [(4.0, True), (0.01, False)])
def test_a_later_recess_that_takes_what_is_to_be_seen_is_caught(touching: Made, by: float, told: bool) -> None:
    """Moved in all its files alike, with its inserts: only what lies below it says that it lies wrong."""
    files = later_aside(touching[1], by)
    assert files is not None
    found = [one for one in proof.dry_fit(files).findings if "what is to be seen of" in one.what]
    assert bool(found) == told
    assert all(one.severity == "stop" and one.place is not None and ".svg, at" in found[0].where for one in found)


def test_what_is_let_in_first_reaches_under_what_comes_later(touching: Made) -> None:
    """No thread of ground shows where the later recess is cut a little aside; what is seen is what was drawn."""
    first, later = (inlay.fit for inlay in touching[0].layout.inlays)
    eye = min(later.inserts, key=lambda one: one.region.area).region
    assert first.recess.intersection(eye).area == pytest.approx(np.pi * (4.0**2 - 3.5**2), rel=0.01)
    diamond, disc = 40.0 * 24.0 / 2.0, max(one.region.area for one in later.inserts)
    seen = first.recess.difference(later.recess).area
    assert disc == pytest.approx(np.pi * 7.0**2, rel=0.001)
    assert diamond - np.pi * 16.0 - disc < seen < diamond - np.pi * 16.0
    assert first.recess.union(later.recess).area == pytest.approx(seen + later.recess.area)


def test_sheets_say_what_has_to_be_in_before(touching: Made) -> None:
    """The card of the later recess, and what its pieces lie against."""
    result = touching[0]
    cards = [card for card in cutting_cards.data(result, Style("mm", "a4")) if "order 2" in card["sub"]]
    assert len(cards) == 2
    assert all("all pieces of the set-ups before" in str(card["first"]) for card in cards)
    assert all("beside the pieces that are in" in str(card["caution"]) for card in cards)
    lies = {step.part.insert.name: step.against for step in steps_of(result)}
    assert lies == {"diamond": ("board",), "disc": ("1", "board"), "disc 2": ("1",)}


def test_a_card_with_another_cutter_asks_for_the_zero_anew(touching: Made) -> None:
    """Its tip lies elsewhere in height: with tapered walls that shifts every line."""
    result = touching[0]
    anew = ["zero in height again" in str(card["caution"]) for card in cutting_cards.data(result, Style("mm", "a4"))]
    assert anew == [number > 0 for set_up in result.cutting.set_ups for number in range(len(set_up.programs))]
    assert True in anew
    assert False in anew


def test_sheets_never_run_a_number_into_a_size(touching: Made) -> None:
    """'picture, order 2 1 3/32' reads as 2 1 3/32."""
    (page,) = show_face.data(touching[0], Style("inch", "letter"))
    cards = cutting_cards.data(touching[0], Style("inch", "letter"))
    assert "order 2, " in str(page["notes"])
    assert any("order 2, " in str(card["bench"]) for card in cards)
    assert not re.search(r"order 2 \d", str(page) + str([card["bench"] for card in cards]))


def test_no_sheet_says_that_tapered_walls_have_one_depth(touching: Made) -> None:
    """Full depth wants 2 * 3.0 * tan 30 degrees of width: 3.5 mm."""
    (page,) = show_face.data(touching[0], Style("mm", "a4"))
    assert "one depth throughout" not in str(page)
    assert "less where it is narrower than 3.5 and in corners" in str(page["notes"])


def test_the_lines_of_a_picture_of_several_orders_are_those_of_all_its_pieces(touching: Made) -> None:
    """They bound the whole picture, so its size is that one, and its middle line is none to stay inside of."""
    result, style = touching[0], Style("mm", "a4")
    (page,) = show_face.data(result, style)
    lines = {mark.name: mark for mark in result.layout.marks}
    ends = [float(lines[f"{side} end of the design"].from_b or 0.0) for side in ("left", "right")]
    sides = [float(lines[f"{side} of the design"].from_a or 0.0) for side in ("foot", "top")]
    whole = f"{style.length(ends[1] - ends[0])} × {style.length(sides[1] - sides[0])}"
    assert re.search(rf"{whole}\W+ in all".replace(" × ", r"\S+×\S+"), str(page["notes"]).replace("\\xa0", "_"))
    cards = cutting_cards.data(result, style)
    assert any("design, first: " in str(card["bench"]) for card in cards), "a card speaks of its own recess alone"
    titles = {one.title.split(", recess")[0] for one in patterns_of(result, style, style.across)}
    assert titles >= {"design, first", "design, order 2"}
    cautions = [str(card["caution"]) for card in cards]
    inside = next(found[1] for one in cautions if (found := re.search(r"pencil lines ([\d, and]+), to", one)))
    assert str(lines["centre line"].number) not in re.findall(r"\d", inside)
    assert len(re.findall(r"\d", inside)) == 4


def test_the_sheet_says_before_which_recesses_to_level(touching: Made) -> None:
    """Once before each later order, and at the end."""
    said = str(finish.data(touching[0], Style("mm", "a4"))["proud"])
    assert "Level twice" in said
    assert "is cut; ', 'and at the end, when all is in" in said


def test_a_later_recess_that_is_cut_too_early_is_told(touching: Made) -> None:
    """Its set-up moved to the front of the card."""
    files = dict(touching[1])
    card = json.loads(files["assembly.json"])
    card["set_ups"].insert(0, card["set_ups"].pop())
    files["assembly.json"] = json.dumps(card).encode()
    (told,) = [one for one in proof.dry_fit(files).findings if one.severity == "stop"]
    assert told.what == "the recess for 'design, order 2' is cut before 'design', into which it is let, can be glued in"
    assert "set-up 4 stands before set-up 1" in told.where


PICTURE = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="20mm" viewBox="0 0 60 20">
<rect x="0" y="0" width="40" height="20" fill="#f2ead8"/>
<rect x="40" y="5" width="20" height="10" fill="#7a3b20"/></svg>"""
OF_PICTURE = """
[job]
name = "Flag"
units = "mm"
[board]
wood = "black walnut"
length = "100 mm"
width = "70 mm"
thickness = "18 mm"
[fit]
walls = "tapered"
cutter = "1/8 in straight"
v_cutter = "60 degree V"
[picture]
file = "flag.svg"
height = "20 mm"
depth = "3 mm"
mirrored = true
measured_to = "end"
face = "FACE"
from_left = "12 mm"
from_front = "15 mm"
"""


@pytest.mark.parametrize("face", ["show", "underside"])
def test_a_picture_of_several_orders_stands_where_it_is_measured_to(tmp_path: Path, face: str) -> None:
    """Mirrored, the area that comes later is the left end: the whole picture is measured, not its first order."""
    (tmp_path / "flag.svg").write_text(PICTURE)
    (tmp_path / "shop.toml").write_text(SHOP + SAPELE)
    (tmp_path / "job.toml").write_text(OF_PICTURE.replace("FACE", face))
    result, _ = flow.make(tmp_path)
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    first, later = result.layout.inlays
    assert later.recess.bounds == pytest.approx((12.0, 20.0, 32.0, 30.0), abs=0.01)
    assert first.recess.bounds == pytest.approx((31.5, 15.0, 72.0, 35.0), abs=0.01)


def test_inserts_of_two_orders_lie_on_one_offcut(tmp_path: Path) -> None:
    """A disc of sapele that lies apart and one within the diamond: neither's plate is a stray cut to the other."""
    job = JOB.replace('"14 mm"\nwood = "holly"', '"14 mm"\nwood = "sapele"') + EYE
    result, _ = flow.make(folder_of(tmp_path, job, SHOP + SAPELE))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    orders = {inlay.name: inlay.order for inlay in result.layout.inlays}
    of_sapele = {orders[one.part.inlay] for one in result.on_offcuts.places if one.offcut == "sapele block"}
    assert of_sapele == {1, 2}


def test_one_ring_alone_is_proven(tmp_path: Path) -> None:
    """A recess of one part with an island in it."""
    ring = """
[[stringing]]
width = "6 mm"
along = "circle"
diameter = "30 mm"
wood = "holly"
depth = "3 mm"
centred = true
"""
    result, _ = flow.make(folder_of(tmp_path, JOB.partition("[[shape]]")[0] + ring))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]


# --- what the proof catches

Damage = Callable[[dict[str, bytes]], str]


def program(files: dict[str, bytes], part: str) -> str:
    """The name of the one program with this in its name."""
    (name,) = [name for name in files if name.endswith(".nc") and part in name]
    return name


def moved(files: dict[str, bytes], part: str, change: Callable[[list[str]], None]) -> str:
    """A program whose lines are changed."""
    name = program(files, part)
    lines = files[name].decode().split("\n")
    change(lines)
    files[name] = "\n".join(lines).encode()
    return name


def at_depth(lines: list[str], least: float) -> list[int]:
    """Lines of moves that say a depth beyond this."""
    found = []
    for number, line in enumerate(lines):
        said = re.search(r"Z(-[0-9.]+)", line)
        if said and line.startswith("G1") and -float(said[1]) > least:
            found.append(number)
    return found


def add(line: str, letter: str, amount: float) -> str:
    """The line with one of its words changed by an amount."""
    return re.sub(rf"{letter}(-?[0-9.]+)", lambda word: f"{letter}{float(word[1]) + amount:.4f}", line)


def deeper_walls(files: dict[str, bytes]) -> str:
    """Every depth of the V cutter in the recess 0.06 mm deeper."""

    def change(lines: list[str]) -> None:
        lines[:] = [add(line, "Z", -0.06) if "Z-" in line else line for line in lines]

    return moved(files, "show-face-tapered-cutter-3", change)


def one_place_aside(files: dict[str, bytes]) -> str:
    """One place of the trail of an insert 0.4 mm aside: the wall there is off by more than 0.03 mm."""

    def change(lines: list[str]) -> None:
        at = [n for n in range(len(lines)) if re.fullmatch(r"G1 X\S+ Y\S+", lines[n])]
        places = np.array([re.findall(r"[XY](\S+)", lines[n]) for n in at], float)
        gone = np.abs(np.diff(places, axis=0))
        # where the trail runs along y, before and after, a place moved along x leaves the wall
        along_y = np.minimum(gone[:-1, 1] - 3 * gone[:-1, 0], gone[1:, 1] - 3 * gone[1:, 0])
        there = at[1 + int(along_y.argmax())]
        lines[there] = add(lines[there], "X", 0.4)

    return moved(files, "holly-block-tapered-cutter-3", change)


def a_trip_less(files: dict[str, bytes]) -> str:
    """The last trip of the V cutter in the recess left out."""

    def change(lines: list[str]) -> None:
        starts = [n for n, line in enumerate(lines) if line.startswith("G0 X")]
        ends = [n for n in range(starts[-1], len(lines)) if lines[n].startswith("M5")]
        del lines[starts[-1] : ends[0]]

    moved(files, "show-face-tapered-cutter-3", change)
    return "disc"


def bottom_too_high(files: dict[str, bytes]) -> str:
    """The bottom of the recess cleared 0.5 mm less deep: the insert would stand on it."""

    def change(lines: list[str]) -> None:
        lines[:] = [line.replace("Z-3.0000", "Z-2.4000").replace("Z-3 ", "Z-2.4 ") for line in lines]
        lines[:] = [re.sub(r"Z-3(\.0+)?(?=\s|$)", "Z-2.4", line) for line in lines]

    return moved(files, "show-face-tapered-cutter-1", change)


def bottom_too_wide(files: dict[str, bytes]) -> str:
    """All of the clearing 0.2 mm to the right: it cuts into a wall."""

    def change(lines: list[str]) -> None:
        lines[:] = [add(line, "X", 0.2) if line.startswith("G") else line for line in lines]

    return moved(files, "show-face-tapered-cutter-1", change)


def another_angle(files: dict[str, bytes]) -> str:
    """The card's V cutter of 50 degrees instead of 60."""
    files["assembly.json"] = files["assembly.json"].replace(b'"half_angle": 30.0', b'"half_angle": 25.0')
    return "header"


def cutters_swapped(files: dict[str, bytes]) -> str:
    """The program of the V cutter asks for the straight one."""
    return moved(files, "show-face-tapered-cutter-3", lambda lines: lines.__setitem__(lines.index("T3"), "T1"))


def plate_not_loose(files: dict[str, bytes]) -> str:
    """The plates are not cut through."""

    def change(lines: list[str]) -> None:
        lines[:] = [re.sub(r"Z-8\.3\d*", "Z-7", line) for line in lines]

    return moved(files, "holly-block-cutter-1", change)


def insert_as_seen(files: dict[str, bytes]) -> str:
    """The insert not turned over: its pose on the card without its mirror."""
    card = json.loads(files["assembly.json"])
    card["inlays"][0]["parts"][0]["to_board"]["mirrored"] = False
    files["assembly.json"] = json.dumps(card).encode()
    return "part"


def thinner_stock(files: dict[str, bytes]) -> str:
    """An offcut of 4.2 mm, which leaves 0.7 mm for the plate."""
    card = json.loads(files["assembly.json"])
    block = next(one for one in card["set_ups"] if one["stock"] == "holly block")
    block["thickness"] = 4.2
    for line in block["lines"]:
        line["depth"] = line["depth"] if line["tapered"] else 4.2
    files["assembly.json"] = json.dumps(card).encode()
    return "holly block"


def outline_larger(files: dict[str, bytes]) -> str:
    """The outlines of the parts 1 % larger in the SVG file."""
    (name,) = [name for name in files if name.endswith(".svg") and "parts" in name]
    text = files[name].decode()
    head, _, rest = text.partition('<g id="parts"')
    larger = re.sub(r"(?<=[ML ,])(-?[0-9]+\.[0-9]+)", lambda one: f"{float(one[1]) * 1.01:.4f}", rest)
    files[name] = (head + '<g id="parts"' + larger).encode()
    return name


def no_v_program(files: dict[str, bytes]) -> str:
    """The program of the V cutter is gone."""
    name = program(files, "show-face-tapered-cutter-3")
    del files[name]
    return name


def card_without_it(files: dict[str, bytes]) -> str:
    """The card no longer lists the programs of tapered walls in the recess."""
    card = json.loads(files["assembly.json"])
    set_up = next(one for one in card["set_ups"] if one["stock"] == "board")
    set_up["programs"] = [one for one in set_up["programs"] if not one["tapered"]]
    files["assembly.json"] = json.dumps(card).encode()
    return "set-up 1"


def beside_the_plates(files: dict[str, bytes]) -> str:
    """A slot of 10 mm in the offcut where no plate lies, as deep as the clearing's first pass goes."""
    programs = [one for set_up in json.loads(files["assembly.json"])["set_ups"] for one in set_up["programs"]]
    depth = next(one["depths"][0] for one in programs if "holly-block-tapered-cutter-1" in one["file"])

    def change(lines: list[str]) -> None:
        first = next(n for n, line in enumerate(lines) if line.startswith("G0 X"))
        safe = next(line for line in lines if line.startswith("G0 Z"))
        lines[first:first] = ["G0 X110 Y70", "G0 Z1", f"G1 X100 Z-{depth:.4f} F400", f"G1 X110 Z-{depth:.4f}", safe]

    return moved(files, "holly-block-tapered-cutter-1", change)


DAMAGES: list[Damage] = [
    beside_the_plates,
    deeper_walls,
    one_place_aside,
    a_trip_less,
    bottom_too_high,
    bottom_too_wide,
    another_angle,
    cutters_swapped,
    plate_not_loose,
    insert_as_seen,
    thinner_stock,
    outline_larger,
    no_v_program,
    card_without_it,
]


@pytest.mark.parametrize("damage", DAMAGES)
def test_damage_is_caught_and_its_place_named(made: Made, damage: Damage) -> None:
    """The files are changed, then read back: never proven, and a stop or refusal names the file, part or set-up."""
    before = made[1]
    files = dict(before)
    place = damage(files)
    assert files != before
    try:
        found = proof.dry_fit(files)
    except ProgramError as refusal:
        told = [f"{fault.what}; {fault.where}; {fault.mend}" for fault in refusal.faults]
    else:
        assert not found.proven
        told = [f"{one.what}; {one.where}; {one.mend}" for one in found.findings if one.severity == "stop"]
    assert any(place in words for words in told), told


# --- what is refused


@pytest.mark.parametrize(
    ("change", "error", "what", "mend"),
    [
        (("v_cutter = \"60 degree V\"", "v_cutter = \"90 degree V\""), ShopFileError, "no V cutter '90", "60 degree V"),
        (("v_cutter = \"60 degree V\"\n", ""), JobFileError, "v_cutter is missing", "v_cutter = "),
        (("walls = \"tapered\"", "walls = \"tapered\"\nseam = 0.1"), JobFileError, "seam says nothing", "Take"),
        (("[fit]", "[order]\n\"disc\" = \"beside\"\n[fit]"), JobFileError, "[order] says nothing", "straight"),
        (("walls = \"tapered\"", "walls = \"sloping\""), JobFileError, "walls", "tapered"),
        (("depth = \"3 mm\"", "depth = \"0.4 mm\""), JobFileError, "no room for an insert", "deeper"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told(
    tmp_path: Path, change: tuple[str, str], error: type[PurfleError], what: str, mend: str
) -> None:
    """One clear refusal each, with what and how to mend."""
    with pytest.raises(error) as caught:
        flow.make(folder_of(tmp_path, JOB.replace(*change)))
    assert any(what in fault.what and mend in fault.mend for fault in caught.value.faults), caught.value.faults


def test_a_shop_without_a_v_cutter_says_how_to_add_one(tmp_path: Path) -> None:
    """The V cutter's table taken out of the shop file."""
    start, rest = SHOP.index("[[cutter]]\nnumber = 3"), SHOP.index("[[offcut]]")
    with pytest.raises(ShopFileError) as caught:
        flow.make(folder_of(tmp_path, shop=SHOP[:start] + SHOP[rest:]))
    (fault,) = caught.value.faults
    assert fault.what == "there is no V cutter in the shop"
    assert "angle = 60" in fault.mend


def test_edges_longer_than_the_angle_allows_are_a_slip(tmp_path: Path) -> None:
    """A V of 60 degrees 12.7 mm wide is 12.7 / 2 / tan 30 = 11.0 mm high (closed form)."""
    with pytest.raises(ShopFileError, match="do not fit a V") as caught:
        flow.make(folder_of(tmp_path, shop=SHOP.replace("cutting_length = 10", "cutting_length = 14")))
    assert "11.0 mm deep" in caught.value.faults[0].mend


def test_an_offcut_too_thin_for_a_plate_is_not_used(tmp_path: Path) -> None:
    """2.5 mm of sink, 1 of saw room and a plate of 2 want 5.5 mm of wood."""
    result, _ = flow.make(folder_of(tmp_path, shop=SHOP.replace("thickness = 8", "thickness = 5.2")))
    assert len(result.on_offcuts.unplaced) == 2
    assert any(one.severity == "stop" for one in result.findings)


def test_places_without_wood_are_told_by_the_plan_alone(tmp_path: Path) -> None:
    """The plan says what to buy; that the files lack these inserts follows from it and is no fault of theirs."""
    result, _ = flow.make(folder_of(tmp_path, shop=SHOP.replace("thickness = 8", "thickness = 5.2")))
    assert result.proof is not None
    assert not result.proof.proven
    (empty,) = result.proof.findings
    assert empty.what == "2 places of the picture stay empty: no part is cut for them"
    assert [one.stage for one in flow.said_once(result) if one.severity == "stop"] == ["offcuts"]


def test_plates_are_freed_by_the_last_program_alone(made: Made) -> None:
    """7.3 of 7.0 mm goes through; bottoms and walls, 3.5 deep, are done before, so nothing loose is cut."""
    result, files = made
    set_up = next(one for one in result.cutting.set_ups if one.stock != "board")
    through = [any(p.depth > set_up.thickness for p in one.passes) for one in set_up.programs]
    assert through == [False, False, True]
    cards = [card for card in cutting_cards.data(result, Style("mm", "a4")) if "parts" in card["sub"]]
    assert ["0.3 mm into the sacrificial board" in str(card["facts"]) for card in cards] == through
    deep = [p.number for p in set_up.programs[2].passes if p.depth > set_up.thickness]
    assert deep == [set_up.programs[2].passes[-1].number]  # roughing leaves a skin
    assert f"'Pass {deep[0]}'" in str(cards[2]["facts"])
    assert not any("lie loose since" in str(card["caution"]) for card in cards)
    heads = [" ".join(files[one.file].decode().split("\n")[:30]) for one in set_up.programs]
    assert ["0.3 mm into the sacrificial" in head.replace(") (", " ") for head in heads] == through


def test_walls_cut_on_plates_that_lie_loose_are_told(made: Made) -> None:
    """The card with the V cutter's program last, as if it were run after the plates are freed: look, not stop."""
    files = dict(made[1])
    card = json.loads(files["assembly.json"])
    offcut = next(one for one in card["set_ups"] if one["stock"] == "holly block")
    offcut["programs"].append(offcut["programs"].pop(1))
    files["assembly.json"] = json.dumps(card).encode()
    (told,) = proof.dry_fit(files).findings
    assert told.severity == "look"
    assert told.what == "walls are cut on plates that lie loose: tape alone holds them"
    assert "holly-block-tapered-cutter-3" in told.where
    assert "holly-block-cutter-1" in told.mend
