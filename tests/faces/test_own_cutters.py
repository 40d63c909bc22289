"""Other finishing cutters for single areas: fit, plan, card and dry fit of a job with two of them agree."""

import math
from collections.abc import Callable
from pathlib import Path

import pytest
import shapely
from shapely import Polygon, box
from test_cutters import CUTTER, JOB, SHOP

from purfle import job as flow
from purfle import proof
from purfle.artwork import by_place
from purfle.errors import JobFileError
from purfle.files.job_folder import read_job_folder
from purfle.fit import let_in_order
from purfle.fitted import finishing_cutters
from purfle.geometry.offsetting import closing, closing_by_clipper
from purfle.model.job import JobResult
from purfle.model.pieces import DrawnArea, Fit, FitRule
from purfle.tolerances import CLOSED

LARGE, SMALL, SEAM = 3.175, 1.5875, 0.1
SHAPE = """
[[shape]]
kind = "rectangle"
name = "{name}"
length = "1/2 in"
width = "1/2 in"
wood = "holly"
depth = "1/8 in"
from_centre = ["{along_a} in", "0 in"]
"""


def area(name: str, region: Polygon, radius: float | None = None) -> DrawnArea:
    return DrawnArea(name, "holly", (220, 210, 190), region, apart=True, cutter_radius=radius)


def fitted(*areas: DrawnArea) -> Fit:
    (fit,) = let_in_order(areas, FitRule(LARGE, SEAM))
    return fit


def filled(region: Polygon, radius: float) -> float:
    """How deep the closing by a disc reaches beyond a region, by both engines."""
    beyond = [close(region, radius).difference(region) for close in (closing, closing_by_clipper)]
    return max(max((2 * part.area / part.length for part in shapely.get_parts(one)), default=0.0) for one in beyond)


def corner_loss(fit: Fit, name: str, drawn: Polygon) -> float:
    (piece,) = (one for one in fit.pieces.pieces if one.name == name)
    return float(drawn.area - piece.region.area)


def test_recesses_that_are_apart_are_each_finished_by_their_own_cutter() -> None:
    """A square loses (4 - pi) r^2 at its corners (closed form), each with the radius of its own cutter."""
    one, other = box(0, 0, 20, 20), box(40, 0, 60, 20)
    fit = fitted(area("fine", one, SMALL), area("plain", other))
    for name, drawn, cutter in (("fine", one, SMALL), ("plain", other, LARGE)):
        assert corner_loss(fit, name, drawn) == pytest.approx((4 - math.pi) * (cutter - SEAM / 2) ** 2, rel=0.02)
    assert sorted(radius for _, radius in fit.recess_parts()) == [SMALL, LARGE]
    assert {one.name: fit.radius_of(one) for one in fit.inserts} == {"fine": SMALL, "plain": LARGE}


def test_in_a_shared_recess_the_smallest_cutter_decides_and_each_insert_keeps_to_its_own() -> None:
    """Outer corners of both are as tight as the small cutter leaves the recess; inside corners of an insert are as
    tight as its own cutter can follow, and its neighbour gives way."""
    plain = box(0, 0, 40, 30).difference(box(30, 10, 40, 20))
    fine = box(30, 10, 50, 20)
    fit = fitted(area("plain", plain), area("fine", fine, SMALL))
    (recess,) = fit.recess_parts()
    assert recess[1] == SMALL
    by_name = {one.name: one for one in fit.inserts}
    for name, cutter in (("plain", LARGE), ("fine", SMALL)):
        assert fit.radius_of(by_name[name]) == cutter
        assert filled(by_name[name].region, cutter) < 2 * CLOSED
    ground = fit.pieces.domain.difference(fit.recess)
    assert filled(ground, SMALL) < 2 * CLOSED
    assert filled(ground, LARGE) > 0.1
    outer = (SMALL - SEAM / 2) * (math.sqrt(2) - 1)
    inner = (LARGE - SEAM / 2) * (math.sqrt(2) - 1)
    pieces = {one.name: one.region for one in fit.pieces.pieces}
    assert shapely.Point(0, 0).distance(pieces["plain"]) == pytest.approx(outer, abs=0.01)
    assert shapely.Point(30, 10).distance(pieces["fine"]) == pytest.approx(inner, abs=0.01)
    assert fit.seam.narrowest >= SEAM - 0.001


def test_a_finer_cutter_for_all_is_the_same_as_that_cutter_in_the_rule() -> None:
    areas = [("one", box(0, 0, 20, 20)), ("two", box(20, 4, 35, 15))]
    own = fitted(*(area(name, region, SMALL) for name, region in areas))
    (ruled,) = let_in_order([area(name, region) for name, region in areas], FitRule(SMALL, SEAM))
    for first, second in zip(own.inserts, ruled.inserts, strict=True):
        assert first.region.symmetric_difference(second.region).area < 1e-6
    assert own.recess.symmetric_difference(ruled.recess).area < 1e-6


@pytest.fixture
def two_cutters(tmp_path: Path) -> Path:
    """A tile with a lug let into its edge, one recess; a pad apart. The lug asks for the smaller cutter."""
    (tmp_path / "shop.toml").write_text(SHOP + CUTTER.format(number=9, name="1/16 in", long="3/8 in"))
    shapes = SHAPE.format(name="lug", along_a="0.75") + SHAPE.format(name="pad", along_a="-1.5")
    own = '[offcuts]\nbetween = "0.3 in"\n[cutters]\n"lug" = "1/8 in"\n'
    (tmp_path / "job.toml").write_text(JOB.replace('cutter = "1/8 in"', 'cutter = "1/4 in"') + shapes + own)
    return tmp_path


def test_a_job_with_two_finishing_cutters_is_proven(two_cutters: Path) -> None:
    """Each program holds what its cutter finishes: the shared recess and the lug the small one, all else the large."""
    result, _ = flow.make(two_cutters)
    assert result.proof is not None
    assert result.proof.proven, [finding.what for finding in result.proof.findings]
    (inlay,) = result.layout.inlays
    radii = {one.name: inlay.fit.radius_of(one) for one in inlay.fit.inserts}
    assert radii == {"tile": LARGE, "pad": LARGE, "lug": SMALL}
    recess, parts = result.cutting.set_ups
    for set_up in (recess, parts):
        assert [program.cutter.name for program in set_up.programs] == ["1/4 in", "1/8 in"]
        assert all({one.kind for one in program.passes} == {"roughing", "last"} for program in set_up.programs)
    assert recess.set_up_minutes == pytest.approx(13.0)


def tampered(made: tuple[JobResult, dict[str, bytes]], set_up: int, change: Callable[[str], str]) -> list[str]:
    """What the dry fit says when the small cutter's program of a set-up was tampered with."""
    result, files = made
    name = result.cutting.set_ups[set_up].programs[1].file
    before = files[name].decode("ascii")
    assert change(before) != before
    found = proof.dry_fit({**files, name: change(before).encode("ascii")})
    assert not found.proven
    return [one.what for one in found.findings if one.severity == "stop"]


@pytest.mark.parametrize("set_up", [0, 1], ids=["recess", "parts"])
@pytest.mark.parametrize("other", ["1", "9"], ids=["larger", "not on the card"])
def test_another_cutter_in_a_finishing_program_is_caught(two_cutters: Path, set_up: int, other: str) -> None:
    """By its number, and by what it leaves, if it is one of the job's."""
    made = flow.make(two_cutters)
    said = tampered(made, set_up, lambda text: text.replace("T2\n", f"T{other}\n"))
    if other == "1":
        assert "asks for cutter 1 (1/4 in); the card says cutter 2" in said
        assert any("the wall of" in what and "gouged" in what for what in said)
    else:
        assert "asks for cutter 9, which is not on the card" in said


def test_a_wish_that_meets_nothing_is_refused(two_cutters: Path) -> None:
    """Every one of them, with the names there are; and a cutter that the shop does not have."""
    text = (two_cutters / "job.toml").read_text()
    (two_cutters / "job.toml").write_text(text + '"lag" = "1/8 in"\n"3 in, 0.1 in" = "1/8 in"\n')
    with pytest.raises(JobFileError) as refusal:
        flow.make(two_cutters)
    by_point, by_name = refusal.value.faults
    assert by_point.what == "no area and no key is meant by 3, 0.1 in"
    assert by_name.what == 'no area and no key is meant by "lag"'
    assert by_name.where == 'job.toml, cutters."lag"'
    assert by_name.mend.startswith("name one of these (lug, pad, tile), or a point inside an area")


WINGS = """<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40">
<path id="left" d="M1 2 L20 2 L20 22 L8 20 Z" fill="#f2ead8"/>
<path id="right" d="M49 2 L30 2 L30 22 L42 20 Z" fill="#f2ead8"/>
<path id="body" d="M1 26 L49 26 L49 36 L1 36 Z" fill="#41312a"/>
</svg>
"""
PICTURE = """
[picture]
file = "wings.svg"
height = "34 mm"
centred = true
depth = "1/8 in"
[woods]
"left" = "holly"
"right" = "holly"
"body" = "holly"
[areas]
symmetrical = "upright"
[cutters]
"""


def winged(folder: Path, cutters: str) -> tuple[Fit, ...]:
    """The fits of two wings above a body, made symmetrical, with cutters of their own."""
    (folder / "shop.toml").write_text(SHOP + CUTTER.format(number=9, name="1/16 in", long="3/8 in"))
    (folder / "wings.svg").write_text(WINGS)
    head = JOB[: JOB.index("[[shape]]")].replace('cutter = "1/8 in"', 'cutter = "1/4 in"')
    (folder / "job.toml").write_text(head + PICTURE + cutters)
    job, shop = flow.read_job_folder(folder)
    return flow.pieces_of(job, shop)[0]


def mirrored(region: Polygon, about: float) -> Polygon:
    return shapely.transform(region, lambda xy: xy * (-1.0, 1.0) + (2.0 * about, 0.0))


@pytest.mark.parametrize("named", ['"left" = "1/8 in"', '"right" = "1/8 in"', '"2 mm, 30 mm" = "1/8 in"'])
def test_mirror_images_are_finished_by_one_cutter(tmp_path: Path, named: str) -> None:
    """In a design made symmetrical the other wing gets the cutter of the one that is named, and its shape."""
    (fit,) = winged(tmp_path, named)
    by_name = {one.name: one for one in fit.inserts}
    assert fit.radius_of(by_name["left"]) == fit.radius_of(by_name["right"]) == SMALL
    assert fit.radius_of(by_name["body"]) == LARGE
    left, _, right, _ = shapely.total_bounds([one.region for one in fit.inserts])
    image = mirrored(by_name["left"].region, (left + right) / 2)
    assert shapely.hausdorff_distance(image, by_name["right"].region) < 0.003
    assert not any("mirror image" in finding.what for finding in fit.pieces.findings)


def test_mirror_images_with_two_cutters_are_refused(tmp_path: Path) -> None:
    with pytest.raises(JobFileError) as refusal:
        winged(tmp_path, '"left" = "1/8 in"\n"right" = "1/4 in"\n')
    (fault,) = refusal.value.faults
    assert fault.what == '"left" and its mirror image "right" are given different cutters'
    assert fault.where == "job.toml, cutters"
    assert fault.mend.startswith("Give both the same one")


def test_a_drawing_with_unlike_cutters_says_why_its_pieces_are_not_alike() -> None:
    """Where nobody asked for symmetry, one side alone may have a cutter of its own; that is noted."""
    one, other = area("one", box(0, 0, 20, 20), SMALL), area("other", box(30, 0, 50, 20))
    notes = [finding.what for finding in fitted(one, other).pieces.findings]
    assert notes == ["the drawing is its own mirror image, but its finishing cutters are not, nor are its pieces"]
    both = [area(name, region, SMALL) for name, region in (("one", one.region), ("other", other.region))]
    assert fitted(*both).pieces.symmetries


def test_a_name_that_artworks_share_means_all_of_them(two_cutters: Path) -> None:
    """Three shapes called "pad": [cutters] and [order] "pad" hold for all, "pad 2" outranks it for that one alone."""
    shapes = "".join(SHAPE.format(name="pad", along_a=at) for at in ("-2", "-1.4", "2"))
    own = '[offcuts]\nbetween = "0.3 in"\n[cutters]\n"pad" = "1/8 in"\n"pad 2" = "1/16 in"\n[order]\n"pad" = "beside"\n'
    (two_cutters / "job.toml").write_text(JOB.replace('cutter = "1/8 in"', 'cutter = "1/4 in"') + shapes + own)
    job, shop = read_job_folder(two_cutters)
    drawn = flow.design_of(job, shop).drawn
    areas, _ = finishing_cutters(job, shop, drawn)
    radii = {area.name: area.cutter_radius for area in areas if area.cutter_radius is not None}
    assert radii == {"pad": SMALL, "pad 2": SMALL / 2, "pad 3": SMALL}
    assert {which for which, _ in by_place(job.order, drawn)} == {"pad", "pad 2", "pad 3"}
