"""Thin parts of pieces and butterfly keys: width, angle, strength, the grain that serves best; what is usual."""

import math
from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box, union_all

from purfle import wood
from purfle.geometry.pose import Pose
from purfle.keys import figures_of_keys, findings_of_keys
from purfle.model.keys import KeyFigures
from purfle.model.offcuts import Wanted
from purfle.offcuts.thin_parts import thin_parts_of
from purfle.sheets import thin_parts as sheet
from purfle.sheets.style import Style
from sample import tern_result

SLOPES = [(20, 0.93), (15, 0.89), (10, 0.81), (5, 0.55)]


@pytest.mark.parametrize("slope, share", SLOPES)
def test_strength_off_the_grain_is_as_the_handbook_prints_it(slope: int, share: float) -> None:
    """From memory: Wood Handbook, ch. 5, modulus of rupture by slope of grain, 1 in so many."""
    assert wood.bending_share(math.degrees(math.atan(1.0 / slope))) == pytest.approx(share, abs=0.015)


def test_strength_runs_from_that_along_to_that_across() -> None:
    assert wood.bending_share(0.0) == 1.0
    assert wood.bending_share(90.0) == pytest.approx(0.07)
    falling = [wood.bending_share(float(angle)) for angle in range(0, 91, 5)]
    assert falling == sorted(falling, reverse=True)


def finger(width: float, turned: float) -> Polygon:
    """A body of 40 x 20 with a finger 12 long standing up from it, all of it turned."""
    made = union_all([box(0, 0, 40, 20), box(18, 20, 18 + width, 32)])
    turned_one = affinity.rotate(made, turned, origin=(0, 0))
    assert isinstance(turned_one, Polygon)
    return turned_one


def wanted(region: Polygon) -> Wanted:
    return Wanted("picture", 5, "tern", "holly", region, 0.0, 3.4)


@pytest.mark.parametrize("width, turned, grain", [(1.5, 0.0, 0.0), (3.0, 25.0, 40.0), (2.2, 130.0, 100.0)])
def test_a_finger_is_told_with_its_width_its_angle_and_what_it_bears(width: float, turned: float, grain: float) -> None:
    (found,) = thin_parts_of(wanted(finger(width, turned)), grain)
    off = abs(turned + 90.0 - grain) % 180.0
    off = min(off, 180.0 - off)
    assert (found.inlay, found.number, found.name) == ("picture", 5, "tern")
    assert found.width == pytest.approx(width, abs=0.15)
    assert found.length == pytest.approx(12.0, abs=2.0)
    assert found.angle == pytest.approx(off, abs=2.0)
    assert found.share == pytest.approx(wood.bending_share(found.angle))
    assert found.best == pytest.approx((turned + 90.0) % 180.0, abs=2.0)
    assert found.best_share == pytest.approx(1.0, abs=0.03)


def test_of_two_fingers_the_longer_and_thinner_says_how_the_fibres_should_run() -> None:
    """What bears least at its end decides: strength by width squared by length."""
    both = union_all([box(0, 0, 40, 20), box(18, 20, 20, 44), box(40, 8, 46, 11)])
    assert isinstance(both, Polygon)
    found = thin_parts_of(wanted(both), 0.0)
    assert len(found) == 2
    assert {one.best for one in found} == {found[0].best}
    assert 45.0 < found[0].best < 135.0  # nearer to the long one, which stands up
    bears = [one.best_share * one.width**2 / one.length for one in found]
    for grain in range(0, 180, 5):
        shares = [wood.bending_share(abs(way - grain)) for way in (90.0, 0.0)]
        lengths = sorted(((one.length, one.width) for one in found), reverse=True)
        other = [share * width**2 / length for share, (length, width) in zip(shares, lengths, strict=True)]
        assert min(other) <= min(bears) * 1.05


def test_a_stout_piece_and_one_whose_fibres_run_well_want_nothing() -> None:
    assert thin_parts_of(wanted(box(0, 0, 40, 20)), 0.0) == ()
    (along,) = thin_parts_of(wanted(finger(2.0, 0.0)), 90.0)
    assert along.best == pytest.approx(90.0)
    assert along.share == pytest.approx(1.0, abs=0.05)


def test_what_hangs_on_a_plate_is_told_in_the_frame_of_the_artwork() -> None:
    """With tapered walls an insert lies turned over, left and right swapped; its place and best grain do not."""
    region = finger(2.0, 30.0)
    flat = thin_parts_of(wanted(region), 10.0)
    over = Pose(180.0, mirrored=True)
    hung = replace(wanted(over.region(region.buffer(3.0))), hangs=over.region(region))
    turned = thin_parts_of(hung, over.direction(10.0))
    assert turned[0].angle == pytest.approx(flat[0].angle, abs=1e-6)
    assert turned[0].best == pytest.approx(flat[0].best, abs=0.2)
    assert turned[0].place == pytest.approx(flat[0].place, abs=0.1)


USUAL = KeyFigures("key", 1, 60.0, 10.0, 0.55, 0.3, 76.0, 0.0, 90.0, None)


def test_a_key_as_is_usual_is_not_told() -> None:
    assert findings_of_keys((USUAL, replace(USUAL, to_next=120.0))) == ()


@pytest.mark.parametrize(
    "change, severity, what, source",
    [
        ({"off_grain": 20.0}, "look", "its waist is short grain", "common practice, no source"),
        ({"across": 10.0}, "look", "it holds none", "across the crack"),
        ({"depth": 4.0, "depth_share": 0.2}, "look", "4.0 mm deep, 20 % of the board", "furniture maker"),
        ({"length": 90.0}, "look", "90.0 mm long", "Rogowski"),
        ({"waist_share": 0.1}, "note", "10 % of its length", "bench notes"),
        ({"flare": 60.0}, "note", "at 60 degrees", "bench notes"),
        ({"to_next": 350.0}, "look", "350 mm away", "from memory"),
        ({"to_next": 40.0}, "note", "40 mm away", "from memory"),
    ],
)
def test_a_key_that_is_off_what_is_usual_is_told_with_the_source(
    change: dict[str, float], severity: str, what: str, source: str
) -> None:
    (found,) = findings_of_keys((replace(USUAL, **change),))  # type: ignore[arg-type]
    assert (found.severity, found.where) == (severity, "key")
    assert what in found.what
    assert source in found.mend


def test_figures_of_a_key_are_those_of_its_drawing() -> None:
    result = tern_result()
    (key,) = figures_of_keys(result.job, result.layout, result.on_offcuts)
    (rule,) = result.job.keys
    assert key.length == rule.length
    assert key.depth_share == pytest.approx(rule.depth / result.job.board.thickness)
    side = math.degrees(math.atan(rule.length / 2.0 / ((rule.end_width - rule.waist_width) / 2.0)))
    assert key.flare == pytest.approx(side)
    assert (key.off_grain, key.to_next) == (pytest.approx(0.0), None)
    assert key.across == pytest.approx(90.0)


def test_keys_beside_each_other_are_one_crack_s() -> None:
    """Two keys 150 mm apart across their length; one that lies in line with them is none of its crack."""
    result = tern_result()
    (key,) = [inlay for inlay in result.layout.inlays if inlay.kind == "key"]
    (rule,) = result.job.keys
    way = math.radians(key.pose.direction(0.0))
    beside = replace(
        key,
        name="beside",
        pose=replace(key.pose, x=key.pose.x - 150 * math.sin(way), y=key.pose.y + 150 * math.cos(way)),
    )
    ahead = replace(
        key, name="ahead", pose=replace(key.pose, x=key.pose.x + 90 * math.cos(way), y=key.pose.y + 90 * math.sin(way))
    )
    rules = tuple(replace(rule, name=name) for name in (rule.name, "beside", "ahead"))
    layout = replace(result.layout, inlays=(key, beside, ahead))
    told = figures_of_keys(replace(result.job, keys=rules), layout, result.on_offcuts)
    assert told[0].to_next == pytest.approx(150.0)
    assert told[1].to_next == pytest.approx(150.0)
    assert told[2].to_next is None


@pytest.mark.parametrize("style, along", [(Style("mm", "a4"), 1.0), (Style("inch", "letter"), 145.038)])
def test_the_page_says_strength_in_the_maker_s_unit(style: Style, along: float) -> None:
    result = tern_result()
    thin = thin_parts_of(wanted(finger(2.0, 0.0)), 60.0)
    (inlay, number) = next((i.name, p.number) for i in result.layout.inlays for p in i.fit.inserts)
    thin = tuple(replace(one, inlay=inlay, number=number) for one in thin)
    keys = figures_of_keys(result.job, result.layout, result.on_offcuts)
    made = replace(result, keys=keys, on_offcuts=replace(result.on_offcuts, thin=thin))
    (page,) = sheet.data(made, style)
    row = page["thin"]["rows"][0]
    holly = wood.find("holly").bending_strength
    assert holly is not None
    step = 1.0 if along == 1.0 else 100.0
    assert row[5][0] == {"b": f"{round(holly.value * along * thin[0].share / step) * step:.0f}"}
    assert row[4] == f"{thin[0].angle:.0f}°"
    assert page["keys"]["rows"][0][1] == keys[0].inlay
    assert sheet.data(replace(result, keys=(), on_offcuts=replace(result.on_offcuts, thin=())), style) == []


def test_the_direction_told_is_the_one_that_the_job_file_takes() -> None:
    """A part of the underside whose grain is set to what the page says has its fibres just so."""
    from purfle.offcuts.parts import wanted_parts

    result = tern_result()
    for inlay in result.layout.inlays:
        insert = inlay.fit.inserts[0]
        told = sheet.grain_on_face(inlay, 37.0)
        parts = wanted_parts(replace(result.layout, inlays=(inlay,)), ((insert.name, told),))
        got = next(part.grain for part in parts if part.number == insert.number)
        assert abs((got - 37.0 + 90.0) % 180.0 - 90.0) <= 0.5
