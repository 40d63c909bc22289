"""Corners of the recess that are squared by hand: the insert stays sharp, what the cutter leaves is listed.

Closed forms: a round cutter of radius r leaves r^2 (1 - pi/4) of a right angle, from r before its point on.
"""

import json
import math
from dataclasses import replace

import pytest
import shapely
from shapely import Polygon, box

from proof_fixture import card, job_files
from purfle import job
from purfle.errors import FitError
from purfle.files.assembly import reach_of_corner
from purfle.files.job_toml import first_job_text
from purfle.fit import let_in, make_pieces
from purfle.geometry.partition import tiling_of
from purfle.model.pieces import DrawnArea, FitRule
from purfle.proof import dry_fit
from purfle.shop import first_shop_text

ROUND = FitRule(1.5875, 0.1)
CHISEL = replace(ROUND, corners="chisel")
RADIUS = ROUND.cutter_radius - ROUND.seam / 2.0 + 0.003


def area(name, wood, region):
    return DrawnArea(name, wood, (90, 60, 30), region)


def star(tips, outer, inner):
    turns = [math.pi * k / tips for k in range(2 * tips)]
    reach = [outer if k % 2 == 0 else inner for k in range(2 * tips)]
    return Polygon([(r * math.cos(t), r * math.sin(t)) for r, t in zip(reach, turns, strict=True)])


TILE = (area("tile", "holly", box(0, 0, 30, 20)),)


def test_a_chiselled_rectangle_is_as_drawn_and_its_four_remnants_are_what_the_cutter_leaves():
    pieces = make_pieces(TILE, CHISEL)
    assert pieces.pieces[0].region.area == pytest.approx(600.0, abs=1e-3)
    assert [part.area for part in pieces.chiselled] == pytest.approx([RADIUS**2 * (1 - math.pi / 4)] * 4, rel=0.01)
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert tiling_of([pieces.ground, pieces.pieces[0].region], pieces.domain).area_apart < 1e-6


def test_without_the_wish_corners_are_round_and_nothing_is_left_to_the_chisel():
    pieces = make_pieces(TILE, ROUND)
    assert pieces.chiselled == ()
    assert pieces.pieces[0].region.area == pytest.approx(600.0 - (4 - math.pi) * RADIUS**2, abs=0.02)


def test_the_seam_at_a_chiselled_right_angle_opens_as_two_half_seams_do():
    seam = let_in(make_pieces(TILE, CHISEL), CHISEL).seam
    assert seam.narrowest >= 0.1 - 0.001
    assert seam.widest == pytest.approx(0.05 * (1 + math.sqrt(2)), abs=0.002)


@pytest.mark.parametrize(("general", "wish", "count"), [("round", "chisel", 1), ("chisel", "round", 3)])
def test_a_single_corner_is_chosen_by_a_place_near_it(general, wish, count):
    rule = replace(ROUND, corners=general, corner_wishes=(((29.0, 19.5), wish),))
    pieces = make_pieces(TILE, rule)
    assert len(pieces.chiselled) == count
    at_the_place = [part for part in pieces.chiselled if part.distance(shapely.Point(30, 20)) < 0.01]
    assert len(at_the_place) == (wish == "chisel")


def test_a_wish_for_a_corner_where_there_is_none_names_the_nearest_ones():
    with pytest.raises(FitError) as refusal:
        make_pieces(TILE, replace(ROUND, corner_wishes=(((15.0, 20.0), "chisel"),)))
    (fault,) = refusal.value.faults
    assert fault.what == "There is no corner to chisel at that place."
    assert fault.where.startswith("artwork, 15.0 mm from its left end and 20.0 mm")
    assert "30.0, 20.0 mm" in fault.mend


def test_a_needle_tip_is_blunted_so_that_it_neither_breaks_nor_opens_the_seam():
    drawn = star(16, 30, 18)
    pieces = make_pieces((area("star", "holly", drawn),), CHISEL)
    rounded = make_pieces((area("star", "holly", drawn),), ROUND)
    reach = shapely.distance(
        shapely.Point(0, 0), shapely.points(shapely.get_coordinates(pieces.pieces[0].region))
    ).max()
    assert len(pieces.chiselled) == 16
    assert pieces.pieces[0].region.area > rounded.pieces[0].region.area
    assert reach < 30.0
    assert let_in(pieces, CHISEL).seam.widest <= 0.2


def test_a_corner_between_two_inserts_stays_round_since_no_cutter_makes_the_second_one_hollow():
    inside = box(10, 6, 20, 14)
    areas = (area("frame", "wenge", box(0, 0, 30, 20).difference(inside)), area("tile", "holly", inside))
    pieces = make_pieces(areas, CHISEL)
    assert len(pieces.chiselled) == 4
    tile = next(piece for piece in pieces.pieces if piece.name == "tile")
    assert tile.region.area == pytest.approx(80.0 - (4 - math.pi) * RADIUS**2, abs=0.02)


DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
<path d="M0 0 H30 V20 H12 V8 H0 Z" fill="#f5efe1"/></svg>"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("corners")
    (folder / "corner.svg").write_text(DRAWING)
    text = first_job_text("corner", "corner.svg").replace('"90 mm"', '"20 mm"')
    (folder / "job.toml").write_text(text.replace("[fit]\n", '[fit]\ncorners = "chisel"\n'))
    (folder / "shop.toml").write_text(first_shop_text())
    return job.make(folder)


def test_the_whole_job_is_proven_and_its_card_lists_the_five_corners(made):
    result, files = made
    assert result.proof.proven
    corners = json.loads(files["assembly.json"])["inlays"][0]["chisel"]
    assert len(corners) == 5
    assert all(0 < corner["reach"] <= 2 * ROUND.cutter_radius for corner in corners)
    assert sum(len(line.remnants) for line in result.cutting.set_ups[0].lines) == 5


@pytest.mark.parametrize("kept", [0, 4])
def test_a_corner_that_the_card_leaves_out_is_wood_in_the_way_of_the_insert(made, kept):
    _, files = made
    on_card = json.loads(files["assembly.json"])
    del on_card["inlays"][0]["chisel"][kept:]
    proof = dry_fit({**files, "assembly.json": json.dumps(on_card).encode()})
    assert not proof.proven
    assert any(finding.severity == "stop" and "inlay" in finding.where for finding in proof.findings)


def test_a_corner_larger_than_a_cutter_leaves_is_refused():
    on_card = card()
    on_card["inlays"][0]["chisel"] = [{"x": 60.0, "y": 60.0, "reach": 9.0}]
    proof = dry_fit({**job_files(), "assembly.json": json.dumps(on_card).encode()})
    (finding,) = proof.findings
    assert finding.what == "9.00 mm about a corner are left to the chisel; a cutter leaves 6.38 mm at most"
    assert finding.where == "inlay 'moon', the board at 60.00, 60.00 mm"
    assert finding.mend == "write the files again from the job"


def test_a_corner_said_to_reach_further_than_wood_stands_is_refused_with_its_place(made):
    _, files = made
    told = json.loads(files["assembly.json"])
    corner = told["inlays"][0]["chisel"][0]
    corner["reach"] += 2.4
    proof = dry_fit({**files, "assembly.json": json.dumps(told).encode()})
    (stop,) = (one for one in proof.findings if one.severity == "stop")
    assert not proof.proven
    assert stop.what.startswith(
        f"{corner['reach']:.2f} mm about a corner are left to the chisel; wood stands there for"
    )
    assert f"the board at {corner['x']:.2f}, {corner['y']:.2f} mm" in stop.where


def test_a_film_along_a_wall_makes_no_corner_reach_further():
    corner = box(0, 0, 3, 3).difference(shapely.Point(3, 3).buffer(3, quad_segs=64))
    film = box(0, 0, 16, 0.005)
    assert reach_of_corner(shapely.Point(0, 0), corner) == pytest.approx(3.0, abs=1e-6)
    assert 2.7 < reach_of_corner(shapely.Point(0, 0), shapely.union(corner, film)) < 3.3
