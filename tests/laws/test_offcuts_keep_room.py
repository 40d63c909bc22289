"""Whatever the parts and the offcuts, every place keeps its room and its grain: checked on the outlines themselves."""

import math

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from purfle.model.offcuts import OffcutRule, OnOffcuts, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts import place

NEAR = 1e-6


@st.composite
def stars(draw: st.DrawFn, least: float, most: float) -> Polygon:
    """A polygon around a middle: any number of corners, convex or not, never crossing itself."""
    radii = draw(st.lists(st.floats(least, most), min_size=3, max_size=9))
    turns = [2 * math.pi * n / len(radii) for n in range(len(radii))]
    return Polygon([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True)])


@st.composite
def wanted(draw: st.DrawFn) -> Wanted:
    region = draw(
        st.one_of(stars(3.0, 25.0), st.builds(box, *map(st.just, (0, 0)), st.floats(3, 60), st.floats(2, 20)))
    )
    wood = draw(st.sampled_from(["holly", "wenge"]))
    thickness = draw(st.sampled_from([3.0, 8.0]))
    return Wanted("picture", 1, "part", wood, region, draw(st.floats(0, 180)), thickness)


@st.composite
def racks(draw: st.DrawFn) -> tuple[Offcut, ...]:
    offcuts = []
    for number in range(draw(st.integers(1, 3))):
        outline = draw(
            st.one_of(stars(40.0, 90.0), st.builds(box, *map(st.just, (0, 0)), st.floats(30, 150), st.floats(30, 90)))
        )
        outline = shapely.transform(outline, lambda xy: xy - xy.min(axis=0))
        inside = outline.representative_point()
        defects = MultiPolygon([Point(inside.x, inside.y).buffer(draw(st.floats(1, 8)))])
        offcuts.append(
            Offcut(
                f"offcut {number}",
                draw(st.sampled_from(["holly", "wenge"])),
                outline,
                draw(st.sampled_from([4.0, 9.0])),
                draw(st.floats(0, 180)),
                defects if draw(st.booleans()) else MultiPolygon(),
            )
        )
    return tuple(offcuts)


rules = st.builds(
    OffcutRule,
    margin=st.floats(0, 8),
    between=st.floats(0, 6),
    from_defect=st.floats(0, 4),
    grain_tolerance=st.sampled_from([0.0, 10.0]),
    step=st.just(2.0),
    spares_below=st.just(60.0),
)


def assert_room(placed: OnOffcuts, rack: tuple[Offcut, ...], rule: OffcutRule) -> None:
    for offcut in rack:
        here = [found for found in placed.places if found.offcut == offcut.name]
        for n, found in enumerate(here):
            region = found.region
            assert offcut.outline.buffer(NEAR).covers(region)
            assert region.distance(offcut.outline.boundary) >= rule.margin - NEAR
            assert offcut.defects.is_empty or region.distance(offcut.defects) >= rule.from_defect - NEAR
            assert region.intersection(offcut.defects).area < NEAR
            for other in here[:n]:
                assert region.distance(other.region) >= rule.between - NEAR
                assert region.intersection(other.region).area < NEAR


def assert_kept(placed: OnOffcuts, parts: tuple[Wanted, ...], rack: tuple[Offcut, ...], rule: OffcutRule) -> None:
    by_name = {offcut.name: offcut for offcut in rack}
    for found in placed.places:
        offcut = by_name[found.offcut]
        assert offcut.wood == found.part.wood
        assert offcut.thickness >= found.part.thickness
        assert not found.pose.mirrored
        off = (found.pose.direction(found.part.grain) - offcut.grain) % 180.0
        assert min(off, 180.0 - off) <= rule.grain_tolerance + NEAR
        assert abs(found.region.area - found.part.region.area) < NEAR * 1000
    originals = [id(found.part) for found in placed.places if not found.spare]
    assert sorted(originals + [id(part) for part in placed.unplaced]) == sorted(map(id, parts))


@settings(deadline=None, derandomize=True, max_examples=25)
@given(st.lists(wanted(), min_size=1, max_size=6), racks(), rules)
def test_parts_never_overlap_and_keep_all_room_and_their_grain(
    parts: list[Wanted], rack: tuple[Offcut, ...], rule: OffcutRule
) -> None:
    placed = place(tuple(parts), rack, rule)
    assert_room(placed, rack, rule)
    assert_kept(placed, tuple(parts), rack, rule)
    assert [offcut.name for offcut in placed.used] == [
        offcut.name for offcut in rack if any(found.offcut == offcut.name for found in placed.places)
    ]
    assert len(placed.to_buy) == len({(part.wood, part.thickness) for part in placed.unplaced})


@settings(deadline=None, derandomize=True, max_examples=15)
@given(stars(5.0, 20.0), st.floats(-300, 300), st.floats(-300, 300))
def test_where_the_artwork_sits_in_its_own_frame_makes_no_difference(region: Polygon, x: float, y: float) -> None:
    rule = OffcutRule(4.0, 4.0, 2.0)
    rack = (Offcut("rack", "holly", box(0, 0, 90, 70), 4.0),)
    moved = shapely.transform(region, lambda xy: xy + np.array([x, y]))
    one, other = (
        place((Wanted("picture", 1, "part", "holly", shape, 0.0, 3.0),), rack, rule) for shape in (region, moved)
    )
    assert len(one.places) == len(other.places)
    for here, there in zip(one.places, other.places, strict=True):
        assert shapely.hausdorff_distance(here.region, there.region) < 2 * rule.step


def test_a_part_that_fits_either_way_round_is_laid_as_it_stands_wherever_its_artwork_sits() -> None:
    """A part ends about the same place turned by 180 degrees: rounding far from the origin must not turn it."""
    rule, rack = OffcutRule(4.0, 4.0, 2.0), (Offcut("rack", "holly", box(0, 0, 90, 70), 4.0),)
    for x, y in np.random.default_rng(5).uniform(-300.0, 300.0, (40, 2)).tolist():
        wedge = Polygon([(x, y), (x + 21.3, y + 0.1), (x + 20.9, y + 13.7)])
        (found,) = place((Wanted("picture", 1, "part", "holly", wedge, 0.0, 3.0),), rack, rule).places
        assert found.pose.angle == 0.0
