"""Jobs cut by a position-guided hand router, from the job file to the dry fit, and what their proof catches."""

import json
import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import jsonschema
import pytest
import shapely

from made_by_hand import Files, Made, job_folder, small_shop, what_is_found
from purfle import job as flow
from purfle import proof
from purfle.errors import JobFileError
from purfle.sheets import outline_cards, show_face
from purfle.sheets.style import Style

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text())
SHOP = (
    small_shop()
    + """[[offcut]]
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
way = "guided router"
[fit]
cutter = "1/8 in straight"
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
kind = "rectangle"
length = "30 mm"
width = "30 mm"
wood = "padauk"
depth = "3 mm"
from_left = "75 mm"
from_front = "45 mm"
FACE
[[shape]]
kind = "disc"
diameter = "12 mm"
wood = "padauk"
depth = "3 mm"
from_left = "45 mm"
from_front = "45 mm"
FACE
[[fitting]]
kind = "hinge"
face = "underside"
length = "30 mm"
width = "12 mm"
depth = "2 mm"
measured_to = "end"
from_left = "45 mm"
from_back = "0 mm"
open_edge = true
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
    """Two pieces side by side, a disc let in over one of them, a hinge and a magnet on the underside."""
    return flow.make(folder_of(tmp_path_factory.mktemp("halves"), job_text()))


def test_a_job_for_a_guided_router_is_proven_from_outlines_and_passes(made: Made) -> None:
    """Seams as drawn by passes, SVG and DXF; the report as its schema says; no program is written."""
    result, files = made
    assert result.proof is not None
    assert result.proof.findings == ()
    assert result.proof.proven
    assert {(seam.inlay, seam.kind) for seam in result.proof.seams} == {
        (inlay, kind) for inlay in ("design", "disc") for kind in ("passes", "svg", "dxf")
    }
    assert all(abs(seam.narrowest - 0.1) < 0.005 for seam in result.proof.seams)
    report = json.loads(files["report.json"])
    jsonschema.validate(report, SCHEMA)
    assert report["inputs"]["cutting"]["way"] == "guided router"
    assert report["proven"] is True
    assert not [name for name in files if name.endswith(".nc")]


def test_passes_stay_off_the_line_but_the_last(made: Made) -> None:
    """Roughing 0.1 mm off in levels of half a diameter at most, then once along the line at full depth."""
    result, _ = made
    for set_up in result.cutting.set_ups:
        for line in set_up.lines:
            steps = [step for step in set_up.steps if step.line == line.id]
            depth = line.depth + (0.3 if line.kind == "part" else 0.0)
            assert [step.kind for step in steps] == ["roughing"] * (len(steps) - 1) + ["last"]
            assert {step.off_line for step in steps[:-1]} == {0.1}
            assert (steps[-1].off_line, steps[-1].depth) == (0.0, depth)
            levels = [0.0, *(step.depth for step in steps[:-1])]
            assert levels[-1] == depth
            most = max(after - before for before, after in pairwise(levels))
            assert most <= 0.5 * 3.175 + 1e-9


def test_the_card_says_which_pass_frees_a_part(made: Made) -> None:
    """Roughing goes to full depth too, so the part is loose one pass before the last."""
    result, _ = made
    set_up = next(one for one in result.cutting.set_ups if one.stock != "board")
    card = next(one for one in outline_cards.data(result, Style("mm", "a4")) if set_up.title in one["sub"])
    rows = [row for section in card["table"]["sections"] for row in section["rows"]]
    number = next(row[0]["big"] for row in rows if float(row[2]["big"]) > set_up.thickness)
    assert number == rows[-2][0]["big"]
    assert f"Pass {number} goes through the wood" in str(card["facts"])
    assert "The last pass frees" not in str(card["facts"])


def test_what_is_set_out_are_the_ends_of_the_inserts(made: Made) -> None:
    """As sheet 2 says: the recess in the outline files reaches a seam, 0.1 mm, further."""
    result, _ = made
    left = next(one.from_b for one in result.layout.marks if one.name.startswith("left end"))
    inlay = next(one for one in result.layout.inlays if one.name == "design")
    assert left is not None
    assert left - inlay.recess.bounds[0] == pytest.approx(0.1, abs=0.005)
    page = show_face.data(result, Style("mm", "a4"))[0]
    assert "the recess reaches a seam, 0.10, further" in str(page["notes"])


def test_the_underside_and_inches_are_proven_too(tmp_path: Path) -> None:
    job = job_text("underside", "inch").replace('from_front = "15 mm"', 'from_front = "12 mm"')
    result, _ = flow.make(folder_of(tmp_path, job))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]


def test_a_slot_as_wide_as_the_cutter_is_followed_without_the_allowance(tmp_path: Path) -> None:
    """No cutter passes 0.1 mm off both walls of it: roughing goes along the line itself."""
    job = re.sub(r"(?s)\[\[shape\]\].*?\[\[fitting\]\]", "[[shape]]\nSHAPE\n[[fitting]]", job_text(), count=1)
    shape = 'kind = "rectangle"\nlength = 40\nwidth = 3.15\nwood = "holly"\ndepth = 3\nfrom_left = 60\nfrom_front = 45'
    result, _ = flow.make(folder_of(tmp_path, job.replace("SHAPE", shape)))
    assert result.proof is not None
    assert result.proof.proven, [one.what for one in result.proof.findings]
    (recess,) = [one for one in result.cutting.set_ups if one.stock == "board" and one.face == "show"]
    assert max(step.off_line for step in recess.steps) < 0.1


@pytest.mark.parametrize(
    ("change", "what", "where"),
    [
        (('way = "guided router"', 'way = "guided router"\nramp_angle = 3'), "ramp_angle says", "cutting.ramp_angle"),
        (('way = "guided router"', 'way = "guided router"\nclearing = "x"'), "clearing says", "cutting.clearing"),
        (('seam = "0.1 mm"\n', ""), "seam is missing", "fit.seam"),
        (("[fit]\n", '[cutters]\ndisc = "1/8 in straight"\n[fit]\n'), "[cutters] says", "cutters"),
        (("[fit]\n", "[templates]\npin = 3\n[fit]\n"), "[templates] says", "templates"),
    ],
)
def test_what_says_nothing_of_a_guided_router_is_refused(
    change: tuple[str, str], what: str, where: str, tmp_path: Path
) -> None:
    assert change[0] in job_text()
    with pytest.raises(JobFileError) as refused:
        flow.make(folder_of(tmp_path, job_text().replace(*change)))
    assert what in refused.value.what
    assert where in refused.value.where
    assert refused.value.mend


def test_a_cutter_too_short_stops_the_job(tmp_path: Path) -> None:
    result, _ = flow.make(folder_of(tmp_path, job_text(), SHOP.replace("cutting_length = 12", "cutting_length = 3.1")))
    assert {one.what for one in flow.stops(result) if one.stage == "cutting"} == {
        "1/8 in straight cuts 3.1 mm deep, 3.2 mm are needed",
        "1/8 in straight cuts 3.1 mm deep, 3.9 mm are needed",
    }


# --- what the proof catches

Damage = Callable[[Files], str]


def card_with(files: Files, change: Callable[[dict], None]) -> None:
    """The assembly card changed."""
    card = json.loads(files["assembly.json"])
    change(card)
    files["assembly.json"] = json.dumps(card).encode()


def steps_of(card: dict, line: str) -> tuple[dict, list[dict]]:
    (set_up,) = [one for one in card["set_ups"] if any(step["line"] == line for step in one["steps"])]
    return set_up, [step for step in set_up["steps"] if step["line"] == line]


def named(files: Files, part: str, ending: str) -> str:
    (name,) = [name for name in files if part in name and name.endswith(ending)]
    return name


def shifted(files: Files, file: str, line: str, by: float) -> None:
    """A whole line of an SVG moved to the right."""
    text = files[file].decode()
    path = re.search(rf'<path id="{line}" d="([^"]*)"', text)
    assert path

    def moved(match: re.Match[str]) -> str:
        letter, numbers = match[1], [float(x) for x in match[2].split()]
        if letter in "ML":
            numbers[0] += by
        elif letter == "A":
            numbers[5] += by
        return letter + " ".join(f"{x:.7f}" for x in numbers)

    files[file] = text.replace(path[1], re.sub(r"([MLA])([^MLAZ]*)", moved, path[1])).encode()


def dxf_shifted(files: Files, file: str, line: str, by: float) -> None:
    """A whole line of a DXF moved to the right."""
    rows = files[file].decode("cp1252").splitlines()
    begins = [n for n in range(0, len(rows) - 1, 2) if rows[n].strip() == "0" and rows[n + 1] == "LWPOLYLINE"]
    for start, end in zip(begins, [*begins[1:], len(rows)], strict=True):
        if line in [row.strip() for row in rows[start:end]]:
            for n in range(start, end, 2):
                if rows[n].strip() == "10":
                    rows[n + 1] = f"{float(rows[n + 1]) + by:.5f}"
    files[file] = "\n".join([*rows, ""]).encode("cp1252")


def an_svg_line_moved(files: Files) -> str:
    name = named(files, "parts-holly", ".svg")
    shifted(files, name, "piece-1", 0.03)
    return name


def a_dxf_line_moved(files: Files) -> str:
    name = named(files, "recess-show-face", ".dxf")
    dxf_shifted(files, name, "recess-1", 0.03)
    return name


def a_recess_moved_in_both(files: Files) -> str:
    shifted(files, named(files, "recess-show-face", ".svg"), "recess-1", 0.06)
    dxf_shifted(files, named(files, "recess-show-face", ".dxf"), "recess-1", 0.06)
    return "inlay 'design'"


def a_magnet_moved_in_both(files: Files) -> str:
    shifted(files, named(files, "fittings-underside", ".svg"), "magnet-2", 0.2)
    dxf_shifted(files, named(files, "fittings-underside", ".dxf"), "magnet-2", 0.2)
    return "magnet-2"


def an_svg_mirrored(files: Files) -> str:
    name = named(files, "parts-holly", ".svg")
    files[name] = files[name].replace(b"matrix(1 0 0 -1", b"matrix(-1 0 0 -1")
    return name


def an_svg_at_another_scale(files: Files) -> str:
    name = named(files, "recess-show-face", ".svg")
    files[name] = re.sub(rb'width="([0-9.]+)mm"', rb'width="100mm"', files[name], count=1)
    return name


def a_file_missing(files: Files) -> str:
    name = named(files, "parts-padauk", ".dxf")
    del files[name]
    return name


def the_last_pass_off_the_line(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "recess-1")[1][-1].update(off_line=0.03))
    return "recess-1"


def the_last_pass_left_out(files: Files) -> str:
    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "piece-1")
        set_up["steps"].remove(steps[-1])

    card_with(files, change)
    return "piece-1"


def the_deepest_roughing_left_out(files: Files) -> str:
    """The middle of the recess would stay standing."""

    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "recess-1")
        set_up["steps"].remove(steps[-2])

    card_with(files, change)
    return "recess-1"


def a_recess_too_deep(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "recess-1")[1][-1].update(depth=3.06))
    return "recess-1"


def a_part_not_cut_through(files: Files) -> str:
    def change(card: dict) -> None:
        for step in steps_of(card, "piece-1")[1]:
            step["depth"] = min(step["depth"], 3.5)

    card_with(files, change)
    return "piece-1"


def a_part_cut_into_the_bench(files: Files) -> str:
    card_with(files, lambda card: steps_of(card, "piece-1")[1][-1].update(depth=5.0))
    return "piece-1"


def passes_in_another_order(files: Files) -> str:
    def change(card: dict) -> None:
        _, steps = steps_of(card, "piece-1")
        steps[0]["depth"], steps[1]["depth"] = steps[1]["depth"], steps[0]["depth"]

    card_with(files, change)
    return "piece-1"


def no_pass_for_a_line(files: Files) -> str:
    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "hinge-1")
        set_up["steps"] = [step for step in set_up["steps"] if step not in steps]

    card_with(files, change)
    return "hinge-1"


def a_wider_cutter(files: Files) -> str:
    """Corners of the recess come out rounder than the insert's."""
    card_with(files, lambda card: card["cutters"][0].update(diameter=3.6))
    return "recess-1"


def a_cutter_with_short_edges(files: Files) -> str:
    card_with(files, lambda card: card["cutters"][0].update(cutting_length=2.9))
    return "recess-1"


def a_part_put_elsewhere(files: Files) -> str:
    def change(card: dict) -> None:
        (design,) = [one for one in card["inlays"] if one["name"] == "design"]
        design["parts"][0]["to_board"]["x"] += 0.06

    card_with(files, change)
    return "design"


def parts_too_near(files: Files) -> str:
    """In both files a piece comes so near to another that its groove cuts into it."""
    for move, ending in ((shifted, ".svg"), (dxf_shifted, ".dxf")):
        file = named(files, "parts-padauk", ending)
        move(files, file, "piece-3", -12.0)
    return "piece-3"


DAMAGES: tuple[Damage, ...] = (
    an_svg_line_moved,
    a_dxf_line_moved,
    a_recess_moved_in_both,
    a_magnet_moved_in_both,
    an_svg_mirrored,
    an_svg_at_another_scale,
    a_file_missing,
    the_last_pass_off_the_line,
    the_last_pass_left_out,
    the_deepest_roughing_left_out,
    a_recess_too_deep,
    a_part_not_cut_through,
    a_part_cut_into_the_bench,
    passes_in_another_order,
    no_pass_for_a_line,
    a_wider_cutter,
    a_cutter_with_short_edges,
    a_part_put_elsewhere,
    parts_too_near,
)


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.__name__)
def test_damage_is_caught_and_its_place_named(damage: Damage, made: Made) -> None:
    """Not proven, and a finding that says stop (or the refusal) names the file, the line or the inlay."""
    files = dict(made[1])
    place = damage(files)
    stops, faults = what_is_found(files)
    assert any(place in where or place in what for what, where, _ in [*stops, *faults]), (stops, faults)
    assert all(mend for _, _, mend in [*stops, *faults])


def test_a_pass_that_takes_too_much_at_once_is_told(made: Made) -> None:
    """The wood comes out the same, but no hand holds it."""
    files = dict(made[1])

    def change(card: dict) -> None:
        set_up, steps = steps_of(card, "piece-1")
        for step in steps[:-2]:
            set_up["steps"].remove(step)

    card_with(files, change)
    found = proof.dry_fit(files)
    (told,) = [one for one in found.findings if "at once" in one.what]
    assert told.severity == "look"
    assert "piece-1" in told.where


def test_the_passes_against_shapely_alone(made: Made) -> None:
    """A rounded corner of the cutter's radius in every recess: what passes leave equals opening the outline by it."""
    result, _ = made
    for set_up in result.cutting.set_ups:
        for line in set_up.lines:
            radius = 3.175 / 2.0 - 1e-4
            sign = -1.0 if line.kind == "recess" else 1.0
            cut = line.region.buffer(sign * radius, quad_segs=128).buffer(-sign * radius, quad_segs=128)
            on_stock = set_up.outline
            off = shapely.symmetric_difference(cut.intersection(on_stock), line.region.intersection(on_stock))
            assert off.buffer(-0.006).is_empty
