"""Jobs for knife, chisel and fret saw, from the job file to the dry fit, and what their proof catches."""

import io
import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pypdf
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from made_by_hand import Files, Made, job_folder, small_shop, what_is_found
from purfle import job as flow
from purfle.errors import JobFileError, ShopFileError
from purfle.sheets.pattern_outlines import patterns_of
from purfle.sheets.style import Style
from purfle.shop import read_shop
from purfle.shop.sawing import sawing_angle, seam_of_tilt

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text())
SHOP = (
    small_shop(machine="none")
    + """[[saw]]
name = "fret saw"
groove = "0.35 mm"
[[offcut]]
name = "holly"
wood = "holly"
outline = "120 x 60 mm"
thickness = 3.6
[[offcut]]
name = "padauk"
wood = "padauk"
outline = "120 x 60 mm"
thickness = 3.6
"""
)
JOB = """
[job]
name = "Two halves"
units = "UNITS"
[board]
wood = "black walnut"
length = "160 mm"
width = "90 mm"
thickness = "19 mm"
[cutting]
way = "knife and saw"
[fit]
saw = "fret saw"
seam = "0.1 mm"
proud = "0.4 mm"
glue_room = "0.15 mm"
[[shape]]
kind = "rectangle"
length = "30 mm"
width = "30 mm"
wood = "holly"
depth = "3 mm"
from_left = "45 mm"
from_front = "45 mm"
FACE
[[shape]]
kind = "diamond"
length = "40 mm"
width = "30 mm"
wood = "padauk"
depth = "3 mm"
from_left = "80 mm"
from_front = "45 mm"
FACE
[[fitting]]
kind = "magnet"
face = "underside"
diameter = "10 mm"
depth = "3.2 mm"
from_left = "20 mm"
from_front = "15 mm"
"""


def job_text(face: str = "show", units: str = "mm") -> str:
    return JOB.replace("UNITS", units).replace("FACE", f'face = "{face}"')


def folder_of(folder: Path, job: str, shop: str = SHOP) -> Path:
    return job_folder(folder, job, shop)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A square and a diamond that runs into it, a magnet on the underside."""
    return flow.make(folder_of(tmp_path_factory.mktemp("halves"), job_text()))


def test_patterns_are_proven_to_go_together(made: Made) -> None:
    result, files = made
    assert result.proof is not None
    assert result.proof.findings == ()
    assert result.proof.proven
    assert {(seam.inlay, seam.kind) for seam in result.proof.seams} == {
        ("design", kind) for kind in ("patterns", "svg", "dxf")
    }
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    assert report["inputs"]["cutting"]["way"] == "knife and saw"
    assert not [name for name in files if name.endswith(".nc")]


def test_corners_are_as_sharp_as_the_saw_makes_them(made: Made) -> None:
    """Half the groove is the tightest corner: the square comes within a tenth of a mm of its own."""
    result, _ = made
    square = min(result.layout.inlays[0].fit.inserts, key=lambda one: one.region.bounds[0]).region
    left, low = square.bounds[:2]
    assert square.distance(shapely.Point(left, low)) < 0.1


def test_parts_are_sawn_off_their_line_and_filed_to_it(made: Made) -> None:
    """0.3 mm are left for the file; recesses are chopped and pared on the line."""
    result, _ = made
    for set_up in result.cutting.set_ups:
        off = 0.0 if set_up.stock == "board" else 0.3
        for line in set_up.lines:
            steps = [(step.kind, step.off_line, step.depth) for step in set_up.steps if step.line == line.id]
            assert steps == [("roughing", off, line.depth), ("last", 0.0, line.depth)]


def test_underside_and_inches_are_proven_too(tmp_path: Path) -> None:
    result, _ = flow.make(folder_of(tmp_path, job_text("underside", "inch")))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]


@pytest.mark.parametrize(
    ("change", "what", "where"),
    [
        (
            ('way = "knife and saw"', 'way = "knife and saw"\ndepth_per_pass = 0.5'),
            "says nothing of a saw",
            "depth_per_pass",
        ),
        (('way = "knife and saw"', 'way = "knife and saw"\nclearing = "x"'), "clearing says", "cutting.clearing"),
        (('saw = "fret saw"', 'cutter = "1/8 in straight"'), "saw is missing", "fit.saw"),
        (('saw = "fret saw"', 'saw = "1/8 in straight"'), "there is no saw '1/8 in straight'", "fit.saw"),
        (('saw = "fret saw"', 'saw = "fret saw"\ncorners = "chisel"'), "corners says nothing", "fit.corners"),
        (("[fit]\n", '[cutters]\nsquare = "x"\n[fit]\n'), "[cutters] says", "cutters"),
    ],
)
def test_what_says_nothing_of_a_saw_is_refused(change: tuple[str, str], what: str, where: str, tmp_path: Path) -> None:
    assert change[0] in job_text()
    with pytest.raises(JobFileError) as refused:
        flow.make(folder_of(tmp_path, job_text().replace(*change)))
    assert what in refused.value.what
    assert where in refused.value.where
    assert refused.value.mend


def test_a_shop_without_a_saw_is_told(tmp_path: Path) -> None:
    shop = SHOP.replace('[[saw]]\nname = "fret saw"\ngroove = "0.35 mm"\n', "")
    with pytest.raises(JobFileError, match="no saw in the shop"):
        flow.make(folder_of(tmp_path, job_text(), shop))


def test_a_wrong_saw_is_told_with_its_place() -> None:
    with pytest.raises(ShopFileError) as refused:
        read_shop(SHOP.replace('groove = "0.35 mm"', 'groove = "35 mm"'))
    assert "[[saw]] 1 (fret saw), key 'groove'" in refused.value.where


def test_a_shop_of_saws_alone_will_do(tmp_path: Path) -> None:
    """No machine and no cutter: what is sawn needs neither."""
    shop = 'machine = "none"\n' + SHOP[: SHOP.index("[machine]")] + SHOP[SHOP.index("[[saw]]") :]
    result, _ = flow.make(folder_of(tmp_path, job_text(), shop))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]


@pytest.mark.parametrize(("groove", "unit", "figure"), [("0.35 mm", "mm", "0.48"), ("1.2 mm", "inch", "0.035")])
def test_dashes_lie_in_the_middle_of_the_groove(groove: str, unit: str, figure: str, tmp_path: Path) -> None:
    """On the paper as on the card: a blade that keeps to the dashes leaves 0.3 mm for the file, and none of it off."""
    result, files = flow.make(folder_of(tmp_path, job_text(units=unit), SHOP.replace("0.35 mm", groove)))
    style = Style("mm", "a4")
    off = {p.label: p.saw_line for p in patterns_of(result, style, style.across) if p.label}
    sawn = [one for one in result.cutting.set_ups if one.stock != "board"]
    middles = {one.cutters[0].radius + step.off_line for one in sawn for step in one.steps if step.kind == "roughing"}
    assert set(off.values()) == middles
    assert sorted(middles) == [pytest.approx(0.3 + float(groove.split()[0]) / 2.0)]
    pages = sheet_texts(files)
    (paper,) = [page for page in pages if "Patterns at true size" in page]
    assert f"on the dashes, {figure} " in paper
    cards = [page for page in pages if "Card for knife and saw" in page and "cut loose" in page]
    assert len(cards) == 2
    assert all(f" {figure} " in card for card in cards)


def test_sheets_speak_of_knife_and_saw_alone(made: Made) -> None:
    """No router's noise, no spindle; the drawing on a card is that of its passes."""
    safety, *_ = [page for page in sheet_texts(made[1]) if page.startswith("9 Safety") or "Safety" in page[:40]]
    assert not re.search("router|dBA|Spindle|spindle|whenever it runs", safety)
    assert "away from yourself" in safety
    assert "Blade tight" in safety
    cards = [page for page in sheet_texts(made[1]) if "Card for knife and saw" in page and "cut loose" in page]
    assert all("sawn upright, then filed" in card for card in cards)


def sheet_texts(files: Files) -> list[str]:
    (name,) = [name for name in files if name.endswith("bench-sheets.pdf")]
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(files[name])).pages]


# --- the sawing angle


@given(st.floats(0.1, 1.0), st.floats(1.01, 20.0))
def test_at_the_sawing_angle_no_gap_is_left(groove: float, times: float) -> None:
    """Law: asin(groove / thickness) closes the seam, upright leaves the groove, beyond it the insert does not go in."""
    thickness = groove * times
    angle = sawing_angle(groove, thickness)
    assert angle is not None
    assert seam_of_tilt(groove, thickness, angle) == pytest.approx(0.0, abs=1e-9)
    assert seam_of_tilt(groove, thickness, 0.0) == groove
    assert seam_of_tilt(groove, thickness, min(89.0, angle + 1.0)) < 0.0


@pytest.mark.parametrize(("groove", "thickness"), [(0.35, 3.6), (0.4, 1.5), (0.25, 6.0)])
def test_the_sawing_angle_in_cross_section(groove: float, thickness: float) -> None:
    """Shapely alone: two sheets, a slanted strip as wide as the groove taken out, the upper insert dropped down."""
    angle = sawing_angle(groove, thickness)
    assert angle is not None
    tilt = math.radians(angle)
    along, across = (math.sin(tilt), math.cos(tilt)), (math.cos(tilt), -math.sin(tilt))
    far, half = 10.0 * thickness, groove / 2.0
    ends = [(s * far * along[0], s * far * along[1]) for s in (-1, 1)]
    corners = [
        (x + side * half * across[0], y + side * half * across[1])
        for side, pair in ((-1, ends), (1, ends[::-1]))
        for x, y in pair
    ]
    strip = shapely.Polygon(corners)
    upper = shapely.box(-50, thickness, 50, 2 * thickness).difference(strip)
    lower = shapely.box(-50, 0, 50, thickness).difference(strip)
    insert = min(upper.geoms, key=lambda one: one.bounds[0])
    ground = max(lower.geoms, key=lambda one: one.bounds[0])
    dropped = shapely.transform(insert, lambda xy: xy - (0.0, thickness))
    assert dropped.intersection(ground).area < 1e-9
    assert shapely.box(-50, 0, 50, thickness).difference(shapely.union_all([dropped, ground]).buffer(1e-9)).area < 1e-6


def test_a_groove_wider_than_the_sheet_has_no_angle() -> None:
    assert sawing_angle(0.6, 0.6) is None


# --- what the proof catches


def card_with(files: Files, change: Callable[[dict], None]) -> None:
    card = json.loads(files["assembly.json"])
    change(card)
    files["assembly.json"] = json.dumps(card).encode()


def steps_of(card: dict, line: str) -> tuple[dict, list[dict]]:
    (set_up,) = [one for one in card["set_ups"] if any(step["line"] == line for step in one["steps"])]
    return set_up, [step for step in set_up["steps"] if step["line"] == line]


def an_svg_line_moved(files: Files) -> str:
    (name,) = [name for name in files if "parts-holly" in name and name.endswith(".svg")]
    text = files[name].decode()
    d = re.search(r'<path id="piece-\d" d="([^"]*)"', text)
    assert d
    files[name] = text.replace(
        d[1], re.sub(r"M(-?[0-9.]+)", lambda m: f"M{float(m[1]) - 0.3:.5f}", d[1], count=1)
    ).encode()
    return name


def a_part_not_sawn_through(files: Files) -> str:
    card_with(files, lambda card: [step.update(depth=3.0) for step in steps_of(card, "piece-1")[1]] and None)
    return "piece-1"


def a_part_not_filed(files: Files) -> str:
    """0.3 mm too large all round."""

    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "piece-1")
        set_up["steps"].remove(steps[1])

    card_with(files, change)
    return "piece-1"


def a_recess_too_shallow(files: Files) -> str:
    card_with(files, lambda card: [step.update(depth=2.9) for step in steps_of(card, "recess-1")[1]] and None)
    return "recess-1"


def a_recess_not_chopped(files: Files) -> str:
    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "recess-1")
        set_up["steps"].remove(steps[0])

    card_with(files, change)
    return "recess-1"


def a_part_put_elsewhere(files: Files) -> str:
    def change(card: dict) -> None:
        card["inlays"][0]["parts"][0]["to_board"]["y"] += 0.06

    card_with(files, change)
    return "design"


DAMAGES = (
    an_svg_line_moved,
    a_part_not_sawn_through,
    a_part_not_filed,
    a_recess_too_shallow,
    a_recess_not_chopped,
    a_part_put_elsewhere,
)


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.__name__)
def test_damage_is_caught_and_its_place_named(damage: Callable[[Files], str], made: Made) -> None:
    files = dict(made[1])
    place = damage(files)
    stops, faults = what_is_found(files)
    told = [*stops, *faults]
    assert any(place in where or place in what for what, where, _ in told), told
    assert all(mend for _, _, mend in told)
