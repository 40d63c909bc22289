"""Pieces, inserts and recess of small shapes whose answers are known."""

import dataclasses
import json
import math
import re
from dataclasses import replace

import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import translate

from purfle.errors import FitError
from purfle.fit import let_in, make_pieces, pieces_features, wall_findings
from purfle.geometry.offsetting import closing, closing_by_clipper
from purfle.geometry.partition import tiling_of
from purfle.mate import Mate
from purfle.model.pieces import DrawnArea, FitRule, Insert, Pieces

RULE = FitRule(cutter_radius=1.5875, seam=0.1)


def area(name, wood, region):
    return DrawnArea(name, wood, (120, 80, 40), region)


def disc(x, y, radius):
    return Point(x, y).buffer(radius, quad_segs=64)


def petal(number):
    """One of eight petals round a middle, each between two others and pointed at both ends."""
    leaf = disc(0, -5, 11).intersection(disc(0, 5, 11))
    turned = shapely.affinity.rotate(leaf, 45 * number, origin=(0, 0))
    return shapely.affinity.translate(turned, 11 * math.cos(number * math.pi / 4), 11 * math.sin(number * math.pi / 4))


EYE_IN_CAP = (
    area("cap", "wenge", disc(0, 0, 9).difference(disc(2, 1, 1.6))),
    area("eye", "holly", disc(2, 1, 1.6)),
)


def test_pieces_are_the_same_to_the_byte_when_another_process_looked_at_cells_before_their_turn():
    ring = [area(f"petal {n}", "holly" if n % 2 else "wenge", petal(n)) for n in range(8)]
    alone = make_pieces(tuple(ring), RULE)
    with Mate() as mate:
        together = make_pieces(tuple(ring), RULE, mate)
        assert mate.asked > 8 or not mate.is_there
    assert together == alone
    assert bytes_of(together) == bytes_of(alone)


def test_pieces_of_one_drawing_are_the_same_to_the_byte_every_time_where_coordinates_are_nought():
    ring = tuple(area(f"petal {n}", "holly" if n % 2 else "wenge", petal(n)) for n in range(8))
    made = [make_pieces(ring, RULE) for _ in range(4)]
    assert any(0.0 in shapely.get_coordinates(piece.region) for piece in made[0].pieces)
    assert len({bytes_of(one) for one in made}) == 1


def bytes_of(pieces: Pieces) -> bytes:
    """The regions of all pieces and of the ground, the sign of a nought told apart."""
    return b"".join(shapely.to_wkb(region) for region in [*(one.region for one in pieces.pieces), pieces.ground])


def test_a_disc_in_a_disc_keeps_its_area_and_gets_an_even_seam():
    pieces = make_pieces(EYE_IN_CAP, RULE)
    fit = let_in(pieces, RULE)
    assert [piece.name for piece in pieces.pieces] == ["eye", "cap"]
    assert pieces.art_changed < 1e-4
    assert fit.inserts[0].region.area == pytest.approx(math.pi * 1.55**2, rel=2e-3)
    assert fit.recess.area == pytest.approx(math.pi * 9.05**2, rel=1e-3)
    assert fit.seam.narrowest >= 0.1 - 0.001
    assert fit.seam.widest <= 0.1 + 0.001
    assert fit.seam.length == pytest.approx(2 * math.pi * (9 + 1.6), rel=1e-3)


def test_a_hole_just_wider_than_the_cutter_can_be_cut_by_it_once_the_seam_is_taken():
    fit = let_in(make_pieces(EYE_IN_CAP, RULE), RULE)
    cap = next(insert.region for insert in fit.inserts if insert.name == "cap")
    for close in (closing, closing_by_clipper):
        assert len(close(cap, RULE.cutter_radius).interiors) == 1


def test_a_square_is_rounded_by_the_recess_and_the_corner_remnant_is_root_two_less_one_radii():
    pieces = make_pieces((area("tile", "holly", box(0, 0, 30, 30)),), RULE)
    radius = RULE.cutter_radius - RULE.seam / 2
    assert Point(0, 0).distance(pieces.pieces[0].region) == pytest.approx((math.sqrt(2) - 1) * radius, abs=0.004)
    assert pieces.pieces[0].region.area == pytest.approx(900 - (4 - math.pi) * radius**2, abs=0.02)
    assert pieces.lost == ()


def test_two_halves_share_their_edge_and_every_seam_is_as_asked_for():
    halves = (area("left", "holly", box(0, 0, 20, 30)), area("right", "wenge", box(20, 0, 40, 30)))
    pieces = make_pieces(halves, RULE)
    fit = let_in(pieces, RULE)
    left, right = (insert.region for insert in fit.inserts)
    assert left.distance(right) == pytest.approx(0.1, abs=0.001)
    assert len(pieces.junctions) == 2
    assert all(min(abs(x - 20), 99) < 0.01 for x, _ in pieces.junctions)
    # At a junction of right angles the voids meet: a * sqrt(1 + 1/4) seen from the flat side.
    assert fit.seam.widest == pytest.approx(0.1 * math.sqrt(1.25), abs=0.003)


def test_pieces_are_numbered_by_wood_then_from_larger_to_smaller():
    drawn = tuple(
        area(f"{wood} {size}", wood, box(40 * k, 0, 40 * k + size, size))
        for k, (wood, size) in enumerate([("wenge", 10), ("holly", 12), ("wenge", 20), ("holly", 25)])
    )
    names = [(piece.number, piece.name) for piece in make_pieces(drawn, RULE).pieces]
    assert names == [(1, "holly 25"), (2, "holly 12"), (3, "wenge 20"), (4, "wenge 10")]


def test_parts_of_one_area_carry_its_name_on():
    two = shapely.MultiPolygon([box(0, 0, 20, 20), box(40, 0, 50, 10)])
    assert [piece.name for piece in make_pieces((area("fin", "holly", two),), RULE).pieces] == ["fin", "fin, part 2"]


def test_touching_areas_of_one_wood_become_one_piece():
    drawn = (area("big", "holly", box(0, 0, 20, 20)), area("small", "holly", box(20, 5, 30, 15)))
    assert [piece.name for piece in make_pieces(drawn, RULE).pieces] == ["big"]


def test_artwork_too_small_for_any_cutter_is_refused_with_what_where_and_mend():
    with pytest.raises(FitError) as caught:
        make_pieces((area("dot", "holly", disc(0, 0, 0.5)),), RULE)
    assert "too small or too narrow for the cutter" in caught.value.what
    assert "1.0 x 1.0 mm" in caught.value.where
    assert "narrower than 3.175 mm" in caught.value.mend


def test_a_berry_that_loses_its_long_stem_says_so_with_length_and_place():
    berry, stem = disc(0, 0, 8), box(-1, 7, 1, 30)
    (finding,) = make_pieces((area("berry", "padauk", berry.union(stem)),), RULE).findings
    assert finding.severity == "look"
    assert finding.what.startswith('"berry" loses a detail to the cutter, ')
    assert finding.what.endswith("the ground stays")
    assert re.search(r", 2[0-3]\.\d mm long and about 2\.0 mm wide$", finding.where)
    assert "use a smaller cutter" in finding.mend


def test_inserts_stay_as_they_are_where_their_mirror_images_would_narrow_the_seam(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def too_near(inserts: tuple[Insert, ...], _: object) -> tuple[Insert, ...]:
        return tuple(replace(insert, region=insert.region.buffer(0.02)) for insert in inserts)

    pieces = make_pieces((area("tile", "holly", box(0, 0, 30, 30)),), RULE)
    assert pieces.symmetries
    as_they_are = let_in(replace(pieces, symmetries=()), RULE)
    monkeypatch.setattr("purfle.fit.letting_in.symmetrical", too_near)
    fit = let_in(pieces, RULE)
    assert fit.seam.narrowest >= RULE.seam - 0.001
    assert [one.region for one in fit.inserts] == [one.region for one in as_they_are.inserts]


def test_a_detail_no_longer_than_a_rounded_corner_is_no_finding():
    assert make_pieces((area("tile", "holly", box(0, 0, 30, 30)),), RULE).findings == ()


def test_nothing_to_let_in_is_refused():
    with pytest.raises(FitError) as caught:
        make_pieces((), dataclasses.replace(RULE, cutter_radius=0.0))
    assert len(caught.value.faults) == 3
    assert caught.value.what == "there is nothing to let in"


def test_the_limit_of_work_stops_with_a_place_and_a_way_out():
    with pytest.raises(FitError) as caught:
        make_pieces(EYE_IN_CAP, dataclasses.replace(RULE, time_limit_s=0.0))
    assert "within the work of 0 s" in caught.value.what
    assert "mm from its left end" in caught.value.where
    assert "smaller cutter" in caught.value.mend


def test_a_crowd_that_could_not_be_fitted_in_time_is_refused_by_its_counts_before_the_work():
    """Four seconds for the number of 320 dots, forty for their corners and the ground's; 20 of them are made."""
    dots = tuple(area(f"dot {k}", "wenge", disc(12 * (k % 18), 12 * (k // 18), 3)) for k in range(320))
    with pytest.raises(FitError, match=r"320 areas, \d+ corners in all, have to be fitted to one another") as refusal:
        make_pieces(dots, dataclasses.replace(RULE, time_limit_s=10.0))
    assert refusal.value.faults[0].where == "whole artwork, 210.0 x 210.0 mm"
    assert len(make_pieces(dots[:20], dataclasses.replace(RULE, time_limit_s=1.0)).pieces) == 20


def test_areas_around_one_another_in_hundreds_are_refused_before_they_are_compared(monkeypatch):
    """Each ring has all others about it; so many corners about one another as may be are still taken to pieces."""
    rings = [disc(0, 0, 3 * k + 3).difference(disc(0, 0, 3 * k + 1.5)) for k in range(4)]
    areas = tuple(area(f"ring {k}", "wenge", ring) for k, ring in enumerate(rings))
    about = 4 * sum(map(shapely.get_num_coordinates, rings))
    monkeypatch.setattr("purfle.fit.cells.MOST_ABOUT", about - 1)
    with pytest.raises(FitError, match="4 areas lie around one another more often than can be sorted out") as refusal:
        make_pieces(areas, RULE)
    assert refusal.value.faults[0].where == "whole artwork, 24.0 x 24.0 mm"
    monkeypatch.setattr("purfle.fit.cells.MOST_ABOUT", about)
    assert make_pieces(areas, RULE).pieces


def test_a_thin_wall_between_two_recesses_is_a_finding_with_its_place():
    drawn = (area("a", "holly", box(0, 0, 20, 20)), area("b", "wenge", box(21, 0, 40, 20)))
    found = [finding for finding in wall_findings(make_pieces(drawn, RULE), RULE) if "wall of ground" in finding.what]
    assert len(found) == 1
    assert found[0].severity == "look"
    assert "20.5 mm from its left end" in found[0].where


def test_a_seam_wider_than_an_insert_is_refused_by_name():
    pieces = make_pieces((area("rod", "holly", box(0, 0, 30, 3.4)),), FitRule(0.4, 0.1))
    with pytest.raises(FitError) as caught:
        let_in(pieces, FitRule(2.0, 3.5))
    assert '"rod", falls apart' in caught.value.what
    assert "mm from its left end" in caught.value.where
    assert "narrower seam" in caught.value.mend


def test_features_say_what_each_region_is():
    pieces = make_pieces((*EYE_IN_CAP, area("speck", "maple", disc(30, 0, 0.9))), RULE)
    features = json.loads(json.dumps(pieces_features(let_in(pieces, RULE))))
    kinds = [feature["properties"]["kind"] for feature in features]
    assert {kind: kinds.count(kind) for kind in kinds} == {"drawn": 3, "insert": 2, "recess": 1, "lost": 1}
    for feature in features:
        assert feature["type"] == "Feature"
        assert {"piece", "colour", "kind", "cutter_mm"} <= feature["properties"].keys()
        assert feature["properties"]["cutter_mm"] == pytest.approx(3.175)
        assert shapely.geometry.shape(feature["geometry"]).is_valid
    drawn = [shapely.geometry.shape(one["geometry"]) for one in features if one["properties"]["kind"] == "drawn"]
    assert tiling_of(drawn, Polygon(pieces.domain)).area_apart < 1e-6


def test_letters_that_are_gone_are_told_once_for_their_words():
    """In the order of the words, each sign once; what stays and what belongs to other words is told apart."""
    rule = FitRule(1.5875, 0.1)
    slip = box(0, 0, 0.5, 8)
    places = {"letter T": 0, "letter i": 10, "letter i 2": 20, "letter n": 30}
    letters = [
        DrawnArea(name, "holly", (0, 0, 0), translate(slip, x), shared_name=name[:8], words="Tini")
        for name, x in places.items()
    ]
    others = [
        DrawnArea("letter A", "holly", (0, 0, 0), translate(slip, 40), words="A"),
        DrawnArea("disc", "holly", (0, 0, 0), box(50, 0, 70, 20)),
    ]
    told = [one for one in make_pieces((*reversed(letters), *others), rule).findings if "left out" in one.what]
    assert [one.what for one in told] == [
        '"letter A" (4.0 mm2) is too small or too narrow for the cutter: left out',
        '"T", "i" and "n" of "Tini" are too small or too narrow for the cutter: left out',
    ]
    assert told[1].mend == "write them larger or bolder, or use a smaller cutter"


def test_an_opening_that_the_cutter_cannot_leave_says_so_with_what_fills_it():
    """A frame around 4 mm2 of ground, which the cutter of 3.175 mm cannot leave."""
    frame = box(0, 0, 20, 20).difference(box(9, 9, 11, 11))
    made = make_pieces((area("frame", "padauk", frame),), RULE)
    (filled,) = made.findings
    assert filled.severity == "look"
    assert filled.what == (
        'the cutter cannot leave an opening or slot of the ground, 4.0 mm2 in all; "frame" (padauk) fills it'
    )
    assert "10.0 mm from its left end and 10.0 mm from its lower edge" in filled.where


def test_what_is_left_of_an_area_as_a_stub_of_another_is_no_piece_of_its_own():
    """A stem drawn by itself over a disc of its wood: what is left of it is part of the disc."""
    stem = box(-0.45, 12, 0.45, 42)
    made = make_pieces((area("ball", "padauk", disc(0, 0, 14).difference(stem)), area("stem", "padauk", stem)), RULE)
    (finding,) = [one for one in made.findings if one.what.startswith('"stem"')]
    assert [piece.name for piece in made.pieces] == ["ball"]
    assert finding.what.endswith('% of it is left, as part of "ball"')
    assert "about 0.9 mm wide" in finding.where


def test_a_slot_is_told_but_not_beside_what_its_piece_has_lost():
    """A slot 1.5 mm wide and 17 mm deep; and the same in a piece that loses a stem."""
    slotted = box(0, 0, 20, 20).difference(box(9.25, 3, 10.75, 20))
    (slot,) = make_pieces((area("jaw", "padauk", slotted),), RULE).findings
    assert "opening or slot" in slot.what
    stem, counted = make_pieces((area("jaw", "padauk", slotted.union(box(20, 9, 45, 11))),), RULE).findings
    assert stem.what.startswith('"jaw" loses a detail')
    assert (counted.severity, "1 small detail" in counted.what) == ("note", True)


def test_small_details_that_are_lost_are_counted():
    """A square with a tongue 2 mm wide and 4 mm long: a tip to the eye, a detail to the cutter."""
    tile = box(0, 0, 30, 30).union(box(14, 30, 16, 34))
    (counted,) = make_pieces((area("tile", "holly", tile),), RULE).findings
    assert counted.severity == "note"
    said = re.fullmatch(r"the cutter cannot make 1 small detail of the drawing, (.+) mm2 in all", counted.what)
    assert said
    assert 4.0 < float(said[1]) < 8.0, "a round end of it may stay at its foot"
    assert "report.json lists each" in counted.mend


def test_an_opening_that_the_cutter_can_leave_is_not_told():
    frame = box(0, 0, 20, 20).difference(disc(10, 10, 2.5))
    assert make_pieces((area("frame", "padauk", frame),), RULE).findings == ()


def test_an_area_that_falls_into_pieces_says_so_where_its_neck_was():
    """Two squares and a bridge 1 mm wide between them, which no cutter of 3.175 mm leaves in the recess."""
    bell = box(0, 0, 20, 20).union(box(28, 0, 48, 20)).union(box(20, 9.5, 28, 10.5))
    made = make_pieces((area("bell", "padauk", bell),), RULE)
    assert len(made.pieces) == 2
    (parted,) = [one for one in made.findings if "falls into" in one.what]
    assert parted.severity == "look"
    assert parted.what == '"bell" falls into 2 pieces where it is too narrow for the cutter'
    x = float(parted.where.split(" mm from its left")[0].rsplit(" ", 1)[1])
    assert 20.0 < x < 28.0


def test_an_area_drawn_in_two_parts_does_not_fall_into_them():
    two = MultiPolygon([box(0, 0, 20, 20), box(28, 0, 48, 20)])
    made = make_pieces((area("bells", "padauk", two),), RULE)
    assert len(made.pieces) == 2
    assert made.findings == ()
