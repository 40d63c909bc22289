"""The Tern lid from its JPEG to its files: what issue 2 says must hold of the whole."""

import json
import os
import random
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import shapely
from manifold3d import CrossSection, FillRule, JoinType
from shapely.geometry.base import BaseGeometry

from conftest import CLASP_DRAWING, CLASP_JOB, ROOT, TERN_LID, Made, write_clasp
from outline_reader import put_together, seam_widths
from purfle import fit, job
from purfle.files.report import report_bytes
from purfle.model.job import JobResult
from purfle.model.pieces import Pieces, Region
from purfle.sheets import offcuts
from purfle.sheets.style import Style

CLOSED = 0.005
SEAM_OFF = 0.02
FILM = 0.0005
JUNCTION_REACH = 3.0
"""Beside a junction the seam may be wider for so far (mm): a sharp tip opens slowly."""


def picture_pieces(result: JobResult) -> Pieces:
    return result.layout.inlays[0].fit.pieces


def test_the_report_says_proven_and_keeps_to_its_schema(tern_lid: Made) -> None:
    _, files = tern_lid
    report = json.loads(files["report.json"])
    schema = json.loads((ROOT / "docs" / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(report)
    assert report["proven"] is True
    assert report["proof"]["proven"] is True
    assert [f for f in report["findings"] if f["severity"] == "stop"] == []


def test_it_has_what_the_example_promises(tern_lid: Made) -> None:
    """14 pieces of five woods, one key, two hinges, two magnets."""
    result, files = tern_lid
    picture, key, eye = result.layout.inlays
    inserts = [*picture.fit.inserts, *eye.fit.inserts]
    assert [insert.number for insert in inserts] == list(range(1, 15))
    assert len({insert.wood for insert in inserts}) == 5
    assert (picture.kind, key.kind, eye.kind) == ("picture", "key", "picture")
    assert sorted(fitting.kind for fitting in result.layout.fittings) == ["hinge", "hinge", "magnet", "magnet"]
    card = json.loads(files["assembly.json"])
    names = {insert.name for insert in inserts}
    assert {p["name"] for i in (0, 2) for p in card["inlays"][i]["parts"]} == names
    assert {name for _, name in result.job.picture.names} == names, "every area got the name that its maker gave"
    assert result.on_offcuts.unplaced == ()


def test_the_eye_is_let_into_the_cap_when_that_is_level(tern_lid: Made) -> None:
    """By the rule: its outline meets the cap alone. The cap has no hole; the last set-up cuts into it."""
    result, _ = tern_lid
    picture, _, eye = result.layout.inlays
    cap = next(insert for insert in picture.fit.inserts if insert.name == "cap")
    (spot,) = eye.fit.inserts
    assert (spot.name, spot.hosts, eye.into, eye.order) == ("eye", (cap.number,), "picture", 2)
    assert len(cap.region.interiors) == 0
    assert cap.region.contains(eye.fit.recess)
    last = result.cutting.set_ups[-1]
    assert (last.stock, last.face, last.order, len(last.lines)) == ("board", "show", 2, 1)
    assert all(set_up.order == 1 for set_up in result.cutting.set_ups[:-1])
    assert eye.depth == pytest.approx(0.6 * picture.depth)


def test_every_file_that_the_report_and_the_card_name_exists_and_is_the_one_named(tern_lid: Made) -> None:
    _, files = tern_lid
    report = json.loads(files["report.json"])
    assert {f["name"] for f in report["files"]} == files.keys() - {"report.json", "timings.json"}
    for listed in report["files"]:
        data = files[listed["name"]]
        assert (listed["bytes"], listed["sha256"]) == (len(data), sha256(data).hexdigest())
    card = json.loads(files["assembly.json"])
    for set_up in card["set_ups"]:
        assert {set_up["svg"], set_up["dxf"], *(p["file"] for p in set_up["programs"])} <= files.keys()
    assert len(card["set_ups"]) == 9


def test_the_areas_tile_the_frame_exactly(tern_lid: Made) -> None:
    """Every edge is shared (GEOS coverage check), and the areas add up to the frame but for the rounding of floats."""
    areas = tern_lid[0].areas
    regions = [area.region for area in areas.areas]
    assert shapely.coverage_is_valid(regions)
    frame = areas.width * areas.height
    assert sum(region.area for region in regions) == pytest.approx(frame, rel=1e-9)
    assert shapely.union_all(regions).bounds == (0, 0, areas.width, areas.height)


def test_pieces_and_ground_tile_their_domain_exactly(tern_lid: Made) -> None:
    for inlay in tern_lid[0].layout.inlays:
        pieces = inlay.fit.pieces
        regions: list[Region] = [pieces.ground, *(piece.region for piece in pieces.pieces)]
        assert shapely.coverage_is_valid(regions)
        assert sum(region.area for region in regions) == pytest.approx(pieces.domain.area, rel=1e-9)


def cells(result: JobResult) -> list[tuple[str, Region, float]]:
    """What has to equal its closing, and by which radius: pieces and ground, then the inserts as they are cut."""
    found: list[tuple[str, Region, float]] = []
    for inlay in result.layout.inlays:
        rule = inlay.fit.rule
        small = rule.cutter_radius - rule.seam / 2
        found.append((f"ground of {inlay.name}", inlay.fit.pieces.ground, small))
        found += [(piece.name, piece.region, small) for piece in inlay.fit.pieces.pieces]
        found += [(f"insert {insert.name}", insert.region, rule.cutter_radius) for insert in inlay.fit.inserts]
    return found


def test_everything_equals_its_closing_by_geos(tern_lid: Made) -> None:
    """Closing: grown and shrunk by the radius. What it adds lies within 0.005 mm of the region."""
    for name, region, radius in cells(tern_lid[0]):
        closed = region.buffer(radius, quad_segs=64).buffer(-radius, quad_segs=64)
        assert closed.difference(region.buffer(CLOSED)).area == 0, name
        assert region.difference(closed.buffer(CLOSED)).area == 0, name


def test_everything_equals_its_closing_by_clipper2(tern_lid: Made) -> None:
    """The same by an engine that shares nothing with GEOS (Clipper2, through manifold3d)."""

    def grown(section: CrossSection, by: float) -> CrossSection:
        return section.offset(by, JoinType.Round, circular_segments=256)

    for name, region, radius in cells(tern_lid[0]):
        rings = [np.asarray(ring.coords)[:-1] for ring in shapely.get_rings(region)]
        section = CrossSection(rings, FillRule.EvenOdd)
        assert section.area() == pytest.approx(region.area, rel=1e-6), name
        closed = grown(grown(section, radius), -radius)
        assert (closed - grown(section, CLOSED)).area() < 1e-6, name
        assert (section - grown(closed, CLOSED)).area() < 1e-6, name


def test_the_recess_can_be_cut_by_its_cutter(tern_lid: Made) -> None:
    """A region that a round cutter can clear equals its opening: shrunk and grown by the radius."""
    for inlay in tern_lid[0].layout.inlays:
        radius = inlay.fit.rule.cutter_radius
        opened = inlay.fit.recess.buffer(-radius, quad_segs=64).buffer(radius + CLOSED, quad_segs=64)
        assert inlay.fit.recess.difference(opened).area == 0, inlay.name


def test_the_seam_read_back_by_the_proof_is_as_drawn_but_at_junctions(tern_lid: Made) -> None:
    result, _ = tern_lid
    assert result.proof
    kinds = [(inlay.name, kind) for inlay in result.layout.inlays for kind in ("programs", "svg", "dxf")]
    assert [(seam.inlay, seam.kind) for seam in result.proof.seams] == kinds
    for seam in result.proof.seams:
        assert seam.drawn == 0.1
        assert seam.narrowest >= seam.drawn - SEAM_OFF
        assert seam.interference_area == 0
        listed = [width for _, _, width in seam.wide_places]
        assert max(listed, default=seam.widest) == pytest.approx(seam.widest, abs=1e-6)
        if seam.widest > seam.drawn + SEAM_OFF:
            assert listed
        for x, y, _ in seam.wide_places:
            assert near_junction(result, seam.inlay, x, y), (seam.kind, x, y)


def near_junction(result: JobResult, name: str, x: float, y: float) -> bool:
    inlay = next(i for i in result.layout.inlays if i.name == name)
    places = [shapely.Point(inlay.pose.point(*place)) for place in inlay.fit.pieces.junctions]
    return any(place.distance(shapely.Point(x, y)) < JUNCTION_REACH for place in places)


def test_the_seam_measured_from_the_svg_files_is_as_drawn_but_at_junctions(tern_lid: Made) -> None:
    """Parts put together by the tests' own reader; the seam sampled every 0.2 mm and at every corner."""
    result, files = tern_lid
    for name, (recess, parts) in put_together(files).items():
        places, widths = seam_widths(recess, list(parts.values()), 0.2)
        assert widths.min() >= 0.1 - SEAM_OFF
        assert np.median(widths) == pytest.approx(0.1, abs=0.001)
        wide = places[widths > 0.1 + SEAM_OFF]
        assert [tuple(place) for place in wide.tolist() if not near_junction(result, name, *place)] == []
        whole = shapely.union_all(list(parts.values()))
        assert whole.area == pytest.approx(sum(part.area for part in parts.values()), rel=1e-12), "no part overlaps"


def by_command(folder: Path, out: Path, seed: str) -> dict[str, bytes]:
    """The files of a job made in a process of its own, by the command."""
    command = [sys.executable, "-m", "purfle.cli", "make", str(folder), "--out", str(out)]
    done = subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    return {path.name: path.read_bytes() for path in out.iterdir() if not path.name.startswith(".")}


def test_same_input_same_bytes_in_another_process(tern_lid: Made, tmp_path: Path) -> None:
    """Another seed for hashes, and papers drawn in a second process: every file but timings.json is the same."""
    _, files = tern_lid
    again = by_command(TERN_LID, tmp_path / "again", "1")
    assert again.keys() == files.keys()
    assert [name for name in files if name != "timings.json" and again[name] != files[name]] == []


def shapes(pieces: Pieces) -> list[tuple[object, ...]]:
    """Numbers, names, woods and outlines to the byte."""
    found = [(p.number, p.name, p.wood, shapely.to_wkb(p.region)) for p in pieces.pieces]
    return [*found, (shapely.to_wkb(pieces.ground), pieces.junctions, pieces.art_changed)]


def test_another_order_of_areas_gives_the_same_pieces_and_recess(tern_lid: Made) -> None:
    """[names] and [woods] from the last to the first, then the areas shuffled: the same to the byte."""
    result, _ = tern_lid
    rule = replace(result.job.picture, woods=result.job.picture.woods[::-1], names=result.job.picture.names[::-1])
    drawn, _ = job.woods_of(replace(result.job, picture=rule), result.shop, result.areas, result.mm_per_unit)
    shuffled = random.Random(20).sample(drawn, len(drawn))
    assert shuffled != list(drawn)
    inlay = result.layout.inlays[0]
    again = fit.let_in_order(tuple(shuffled), inlay.fit.rule)[0]
    assert shapes(again.pieces) == shapes(inlay.fit.pieces)
    assert shapely.to_wkb(again.recess) == shapely.to_wkb(inlay.fit.recess)
    assert [shapely.to_wkb(i.region) for i in again.inserts] == [shapely.to_wkb(i.region) for i in inlay.fit.inserts]


def without_change(result: JobResult, files: dict[str, bytes]) -> dict[str, bytes]:
    """Files without the change number. Sheets print it within compressed pages, and the report sums up the sheets."""
    change = result.job.change.encode()
    kept = {n: d.replace(change, b"CHANGE") for n, d in files.items() if not n.endswith((".pdf", "timings.json"))}
    kept["report.json"] = report_bytes(result, {}).replace(change, b"CHANGE")
    return kept


def test_another_order_in_job_file_and_drawing_gives_the_same_files(clasp: Made, tmp_path: Path) -> None:
    """Only the change number differs, since it is the fingerprint of what was typed."""
    result, files = clasp
    woods = [line for line in CLASP_JOB.splitlines() if line.startswith(('"leaf"', '"shade"', '"dot"'))]
    text = CLASP_JOB.replace("\n".join(woods), "\n".join(woods[::-1]))
    leaf, shade = (line for line in CLASP_DRAWING.splitlines() if line.startswith("<path"))
    drawing = CLASP_DRAWING.replace(f"{leaf}\n{shade}", f"{shade}\n{leaf}")
    assert (text, drawing) != (CLASP_JOB, CLASP_DRAWING)
    again, made = job.make(write_clasp(tmp_path / "other order", text, drawing))
    assert again.job.change != result.job.change
    first, second = without_change(result, files), without_change(again, made)
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []


def test_the_regions_of_the_plan_are_those_of_the_files(tern_lid: Made) -> None:
    """The SVG of each inlay, read by the tests' own lines, is the recess and the inserts of the fit in their places."""
    result, files = tern_lid
    for inlay in result.layout.inlays:
        recess, parts = put_together(files)[inlay.name]
        assert same(recess, inlay.recess)
        inserts = {insert.number: inlay.pose.region(insert.region) for insert in inlay.fit.inserts}
        assert parts.keys() == inserts.keys()
        for number, part in parts.items():
            assert same(part, inserts[number]), number


def same(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Neither reaches more than 0.005 mm beyond the other, films of less than 0.0005 mm2 overlooked."""
    return bool(max(a.difference(b.buffer(CLOSED)).area for a, b in ((one, other), (other, one))) < FILM)


def test_the_areas_are_drawn_over_their_picture(tern_lid: Made, clasp: Made) -> None:
    """As `purfle areas --doubts` draws them, at the finished size; drawings have nothing doubtful of this kind."""
    text = tern_lid[1]["tern-lid-doubts.svg"].decode("utf-8")
    assert text.startswith("<svg")
    assert "Borders are expected to be right within" in text
    assert "mm on average at this size" in text
    assert [name for name in clasp[1] if "doubts" in name] == []


@pytest.mark.parametrize(
    "style", [Style("mm", "a4"), Style("inch", "letter"), Style("mm", "letter"), Style("inch", "a4")]
)
def test_the_offcuts_take_one_sheet_whose_list_of_names_closes_it(tern_lid: Made, style: Style) -> None:
    """Room for numbers clear of each other is made by a smaller scale, not by a page of names alone."""
    (page,) = offcuts.data(tern_lid[0], style)
    assert page["drawing"]
    assert page["lists"]
    assert not any("No room" in str(note) for note in page["notes"])


def test_its_bill_and_wing_tips_and_its_seasons_are_in_the_report(tern_lid: Made) -> None:
    """Width, angle to the grain and best grain of what breaks first; every insert through the year; its key."""
    report = json.loads(tern_lid[1]["report.json"])
    thin = {one["name"]: one for one in report["offcuts"]["thin_parts"]}
    for name in ("bill", "near wing tip", "far wing tip"):
        assert 0.5 < thin[name]["width_mm"] < 4.0 < thin[name]["length_mm"]
        assert thin[name]["off_grain_deg"] < 20.0
        assert 0.4 < thin[name]["strength_share"] <= 1.0
    seasons = report["seasons"]
    assert len(seasons["inserts"]) == sum(len(inlay["inserts"]) for inlay in report["inlays"])
    assert seasons["board_across"]["grows_most_mm"] == pytest.approx(260.0 * 2.5 * 0.00365)
    assert {one["rings_deg"] for one in seasons["inserts"]} == {0.0}
    assert [one["name"] for one in report["keys"]] == ["butterfly key"]
