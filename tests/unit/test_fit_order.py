"""The order of letting in: who goes over whom by the rule, and what the job can ask for instead."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from purfle.errors import FitError, JobFileError
from purfle.fit import let_in_order
from purfle.fit.ordering import Wish, order_of
from purfle.model.pieces import DrawnArea, Fit, FitRule
from purfle.units import retold

RULE = FitRule(1.5875, 0.1)
COLOUR = (200, 200, 200)


def disc(x: float, y: float, radius: float) -> Polygon:
    return Point(x, y).buffer(radius, quad_segs=48)


def area(name: str, region: Polygon, wood: str = "holly") -> DrawnArea:
    return DrawnArea(name, wood, COLOUR, region)


def target(*radii: float) -> list[DrawnArea]:
    """Rings about one middle, the outermost first, the last one a disc."""
    discs = [disc(0, 0, radius) for radius in radii]
    rings = [one.difference(inner) for one, inner in zip(discs, [*discs[1:], Polygon()], strict=True)]
    return [area(f"ring {n}", ring, ("wenge", "holly")[n % 2]) for n, ring in enumerate(rings)]


HEAD = box(0, 0, 40, 20)
EYE = disc(12, 10, 3)


def head_with(eye: Polygon, *others: DrawnArea) -> list[DrawnArea]:
    rest = HEAD.difference(shapely.union_all([eye, *(one.region for one in others)]))
    return [area("head", rest, "wenge"), area("eye", eye), *others]


def ways(areas: list[DrawnArea], wishes: tuple[Wish, ...] = ()) -> dict[str, str]:
    return {choice.name: choice.way for choice in order_of(areas, RULE, wishes).choices}


def test_an_eye_goes_over_and_its_host_is_made_without_the_hole() -> None:
    """Two orders; the host covers what the eye covers; the eye knows its host; numbers run through."""
    first, second = let_in_order(head_with(EYE), RULE)
    (head,), (eye,) = first.inserts, second.inserts
    assert (head.number, head.hosts, eye.number, eye.hosts) == (1, (), 2, (1,))
    assert (first.order, second.order) == (1, 2)
    assert len(head.region.interiors) == 0
    assert head.region.contains(eye.region)
    # corners as round as the ground's closing leaves them: (4 - pi) r^2 less in all
    assert head.region.area == pytest.approx(39.9 * 19.9 - (4 - math.pi) * 1.4905**2, rel=5e-5)
    assert eye.region.area == pytest.approx(math.pi * 2.95**2, rel=1e-3)
    assert [(c.name, c.way, c.by) for c in first.choices] == [("eye", "over", "rule")]
    assert second.choices == ()


def test_the_joint_of_an_over_piece_is_as_wide_as_every_other() -> None:
    """Radii of insert and recess in closed form: half the seam off either side of the drawn circle."""
    _, second = let_in_order(head_with(EYE), RULE)
    assert second.recess.area == pytest.approx(math.pi * 3.05**2, rel=1e-3)
    away = shapely.distance(second.inserts[0].region, shapely.points(shapely.get_coordinates(second.recess.exterior)))
    assert away.min() == pytest.approx(0.1, abs=0.001)
    assert away.max() == pytest.approx(0.1, abs=0.001)


def test_no_recess_keeps_an_island() -> None:
    for fit in let_in_order(target(30, 22, 14, 6), RULE):
        assert sum(len(part.interiors) for part in shapely.get_parts(fit.recess)) == 0


def test_a_spot_in_a_spot_in_an_insert_has_order_three() -> None:
    fits = let_in_order(target(24, 15, 6), RULE)
    assert [fit.order for fit in fits] == [1, 2, 3]
    assert [insert.hosts for fit in fits for insert in fit.inserts] == [(), (1,), (2,)]
    radii = [math.sqrt(insert.region.area / math.pi) for fit in fits for insert in fit.inserts]
    assert radii == pytest.approx([23.95, 14.95, 5.95], abs=0.003)


def test_what_meets_two_pieces_or_the_ground_stays_beside() -> None:
    """A dot across the joint of two boards, one at the edge of the design, and a ring that shows the ground within."""
    dot = disc(20, 10, 3)
    left, right = box(0, 0, 20, 20).difference(dot), box(20, 0, 40, 20).difference(dot)
    assert ways([area("left", left), area("right", right, "wenge"), area("dot", dot, "padauk")]) == {}
    at_edge = disc(0, 10, 4)
    assert ways([area("head", HEAD.difference(at_edge)), area("edge", at_edge, "wenge")]) == {}
    ring = disc(20, 10, 8).difference(disc(20, 10, 5))
    assert ways([area("head", HEAD.difference(disc(20, 10, 8))), area("ring", ring, "wenge")]) == {}


def test_a_spot_whose_corners_a_cutter_would_take_stays_beside_and_says_how_much_it_would_lose() -> None:
    """A square of side s loses (4 - pi) r^2 of s^2: 5.6 % at 6 mm, 0.1 % at 38 mm with r = 1.5375."""
    small = [
        area("host", box(-30, -30, 30, 30).difference(box(-3, -3, 3, 3))),
        area("tile", box(-3, -3, 3, 3), "wenge"),
    ]
    (choice,) = order_of(small, RULE).choices
    assert (choice.way, choice.by) == ("beside", "rule")
    assert choice.why == 'its outline meets "host" alone, but a recess of its own would lose 6 % of it'
    large = [area("host", box(-30, -30, 30, 30).difference(box(-19, -19, 19, 19))), area("tile", box(-19, -19, 19, 19))]
    assert ways(large) == {"tile": "over"}


def test_pieces_inside_a_spot_go_with_it_side_by_side() -> None:
    """An eye of two halves within a white: the white goes over, the halves meet each other and lie beside it."""
    white = disc(20, 10, 8)
    left, right = box(15, 7, 20, 13), box(20, 7, 25, 13)
    areas = [
        area("head", HEAD.difference(white), "wenge"),
        area("white", white.difference(shapely.union(left, right))),
        area("left", left, "maple"),
        area("right", right, "padauk"),
    ]
    fits = let_in_order(areas, RULE)
    assert [[insert.name for insert in fit.inserts] for fit in fits] == [["head"], ["white", "left", "right"]]
    assert all(insert.hosts == (1,) for insert in fits[1].inserts)


def test_the_job_can_put_an_eye_beside_by_name_or_by_point() -> None:
    for which in ("eye", (12.0, 10.0)):
        (only,) = let_in_order(head_with(EYE), RULE, ((which, "beside"),))
        assert [(c.name, c.way, c.by) for c in only.choices] == [("eye", "beside", "job")]
        assert sorted(insert.name for insert in only.inserts) == ["eye", "head"]
        assert len(next(i for i in only.inserts if i.name == "head").region.interiors) == 1


def test_a_name_outranks_a_point() -> None:
    assert ways(head_with(EYE), (("eye", "over"), ((12.0, 10.0), "beside"))) == {"eye": "over"}


def test_the_job_can_let_a_tile_over_whose_corners_get_round() -> None:
    """A square of 6 mm: by the rule beside, by wish over; the ground rounds its corners by r less half the seam."""
    tile = box(-3, -3, 3, 3)
    areas = [area("host", box(-30, -30, 30, 30).difference(tile)), area("tile", tile, "wenge")]
    first, second = let_in_order(areas, RULE, (("tile", "over"),))
    assert [(choice.way, choice.by) for choice in first.choices] == [("over", "job")]
    assert second.inserts[0].region.area == pytest.approx(5.9**2 - (4 - math.pi) * 1.4905**2, rel=1e-3)


def test_a_dot_over_a_joint_is_refused() -> None:
    dot = disc(20, 10, 3)
    left, right = box(0, 0, 20, 20).difference(dot), box(20, 0, 40, 20).difference(dot)
    with pytest.raises(JobFileError) as error:
        order_of([area("left", left), area("right", right), area("dot", dot)], RULE, (("dot", "over"),))
    (fault,) = error.value.faults
    assert fault.what == '"dot" cannot be let in over another: its outline meets "left" and "right", ' + (
        "and one host has to surround it"
    )
    assert fault.where == 'job.toml, order."dot"'
    assert '"beside"' in fault.mend


@pytest.mark.parametrize(
    "wishes, what, where, mend",
    [
        ((("ear", "over"),), 'no area is meant by "ear"', "order", "name one of the areas (eye, head)"),
        ((((90.0, 90.0), "over"),), "no area is meant by 90.0, 90.0 mm", "order", "a point inside one"),
        ((("head", "over"),), '"head" cannot be let in over another: its outline meets the board', "order", '"beside"'),
    ],
)
def test_a_wish_that_cannot_be_is_refused(wishes: tuple[Wish, ...], what: str, where: str, mend: str) -> None:
    with pytest.raises(JobFileError) as error:
        let_in_order(head_with(EYE), RULE, wishes)
    (fault,) = error.value.faults
    assert what in fault.what
    assert where in fault.where
    assert mend in fault.mend


def test_areas_without_a_spot_come_back_as_they_are() -> None:
    areas = [area("left", box(0, 0, 20, 20)), area("right", box(20, 0, 40, 20), "wenge")]
    order = order_of(areas, RULE)
    assert order.layers == (tuple(areas),)
    assert order.choices == ()


def test_the_order_of_the_areas_does_not_matter() -> None:
    areas = target(24, 15, 6)
    one, other = let_in_order(areas, RULE), let_in_order(areas[::-1], RULE)
    assert [told(fit) for fit in one] == [told(fit) for fit in other]


def told(fit: Fit) -> list[tuple[int, str, tuple[int, ...], bytes]]:
    return [(i.number, i.name, i.hosts, shapely.to_wkb(shapely.normalize(i.region))) for i in fit.inserts]


def rimmed(radius: float) -> list[DrawnArea]:
    """A dot of radius 4 in a rim of another wood, in a block."""
    dot, rim = disc(0, 0, 4), disc(0, 0, radius)
    block = box(-20, -20, 20, 20).difference(rim)
    return [area("block", block, "maple"), area("rim", rim.difference(dot), "wenge"), area("dot", dot)]


def test_a_rim_too_thin_to_stand_is_not_left_by_the_rule() -> None:
    """The recess has radius 4.05, the rim's insert 4.85: 0.79 mm would stand where 0.8 mm must; 5.0 leaves enough."""
    first, *_ = let_in_order(rimmed(4.9), RULE)
    dot = next(choice for choice in first.choices if choice.name == "dot")
    assert (dot.way, dot.by) == ("beside", "rule")
    assert dot.why == "let in over, only 0.8 mm of its host would be left beside it"
    assert [[i.name for i in fit.inserts] for fit in let_in_order(rimmed(5.0), RULE)] == [["block"], ["rim"], ["dot"]]


def test_a_thin_rim_that_the_job_asks_for_is_worth_a_look() -> None:
    first, *_ = let_in_order(rimmed(4.5), RULE, (("dot", "over"),))
    (finding,) = [found for found in first.pieces.findings if "host" in found.what]
    assert finding.severity == "look"
    assert 'only 0.4 mm of the host is left beside "dot"' in finding.what
    assert finding.where.startswith("artwork, 0.0 mm from its left end")
    assert '"dot" = "beside"' in finding.mend


def test_a_wish_that_finds_no_wood_is_refused_with_its_name() -> None:
    """The host is a strip that no piece keeps, so the dot has nothing to lie in."""
    dot = disc(0, 0, 2.0)
    strip = box(-2.05, -2.05, 2.05, 2.05).difference(dot)
    with pytest.raises(FitError) as error:
        let_in_order(
            [area("strip", strip, "wenge"), area("dot", dot)], FitRule(1.5875, 0.1, thinnest=5.0), (("dot", "over"),)
        )
    assert error.value.faults


@settings(max_examples=10, deadline=None, derandomize=True, phases=[Phase.explicit, Phase.generate])
@given(st.lists(st.tuples(st.floats(4, 36), st.floats(4, 26), st.floats(1.2, 3.5)), min_size=1, max_size=4))
def test_every_spot_lies_in_the_wood_of_one_host_and_no_later_recess_keeps_an_island(
    spots: list[tuple[float, float, float]],
) -> None:
    """Whatever dots lie in a plate: each recess of a later order lies in one insert before it, with wood to spare."""
    found: list[DrawnArea] = []
    for x, y, radius in spots:
        dot = disc(round(x, 2), round(y, 2), round(radius, 2)).intersection(box(0, 0, 40, 30))
        if not any(one.region.intersects(dot) for one in found):
            found.append(area(f"dot {len(found)}", dot, ("holly", "maple")[len(found) % 2]))
    rest = box(0, 0, 40, 30).difference(shapely.union_all([one.region for one in found]))
    fits = let_in_order([area("plate", rest, "wenge"), *found], RULE)
    for below, fit in pairwise(fits):
        hosts = {insert.number: insert.region for insert in below.inserts}
        for part in shapely.get_parts(fit.recess):
            (host,) = next(insert.hosts for insert in fit.inserts if part.contains(insert.region))
            assert hosts[host].contains(part)
            assert part.distance(hosts[host].boundary) >= RULE.thinnest
            assert not part.interiors


def test_an_area_whose_own_cutter_is_fine_enough_is_told_what_is_not() -> None:
    """A slip within a host is lost to the host's cutter, though its own would make it: not the slip has to change."""
    slip = box(-6, -1, 6, 1)
    inside = [
        area("host", box(-30, -30, 30, 30).difference(slip)),
        replace(area("slip", slip, "wenge"), cutter_radius=0.7),
    ]
    (fit,) = let_in_order(inside, RULE, (("slip", "beside"),))
    (told,) = [one for one in fit.pieces.findings if "left out" in one.what]
    assert told.what == '"slip" (24.0 mm2) is left out: a cutter of 3.175 mm cannot shape it beside its neighbours'
    assert told.mend == (
        'give its neighbours a smaller cutter too, or let it in over what surrounds it: [order] "slip" = "over"'
    )
    bare = [area("host", box(-30, -30, 30, 30)), area("slip", box(60, 0, 72, 2), "wenge")]
    (fit,) = let_in_order(bare, RULE)
    (told,) = [one for one in fit.pieces.findings if "left out" in one.what]
    assert told.mend == "draw it larger, or use a smaller cutter"


def test_points_in_inches_come_back_as_they_were_written() -> None:
    """0.7, 1.99 in is 17.78, 50.546 mm; told in inches it is what the maker wrote."""
    with pytest.raises(JobFileError) as refusal:
        order_of([area("host", box(-30, -30, 3, 3))], RULE, (((0.7 * 25.4, 1.99 * 25.4), "over"),))
    assert retold(refusal.value.what, "inch") == "no area is meant by 0.7, 1.99 in"
