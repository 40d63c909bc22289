"""Parts go to the smallest offcut that takes them; what finds no room is told, with what to buy."""

import re
from dataclasses import replace

import pytest
from shapely import MultiPolygon, Point, Polygon, box

from purfle.model.offcuts import OffcutRule, OnOffcuts, Wanted
from purfle.model.shop import Offcut, SoldSizes
from purfle.offcuts import place
from purfle.wood import known_as

RULE = OffcutRule(margin=6.0, between=5.0, from_defect=3.0)
ROOM = 1e-6


def part(number: int, region: Polygon, wood: str = "holly", thickness: float = 3.4, grain: float = 0.0) -> Wanted:
    return Wanted("picture", number, f"part {number}", wood, region, grain, thickness)


def offcut(name: str, length: float, width: float, wood: str = "holly", thickness: float = 3.6) -> Offcut:
    return Offcut(name, wood, box(0, 0, length, width), thickness)


def where(placed: OnOffcuts) -> dict[int, str]:
    return {found.part.number: found.offcut for found in placed.places if not found.spare}


def test_the_smallest_offcut_that_takes_everything_is_used() -> None:
    rack = (offcut("large", 300, 200), offcut("small", 80, 40), offcut("middle", 120, 60))
    placed = place((part(1, box(0, 0, 50, 20)), part(2, box(0, 0, 50, 20))), rack, RULE)
    assert [one.name for one in placed.used] == ["middle"]
    assert where(placed) == {1: "middle", 2: "middle"}
    assert not placed.findings


def test_a_part_that_just_fits_fits() -> None:
    """A board as long and wide as the part with a margin all around it takes it, to a tenth of a millimetre."""
    rack = (offcut("tight", 62.1, 32.1),)
    assert where(place((part(1, box(0, 0, 50, 20)),), rack, RULE)) == {1: "tight"}
    assert place((part(1, box(0, 0, 50, 20)),), (offcut("tight", 61.9, 32.1),), RULE).unplaced


def test_no_single_offcut_is_enough_so_several_are_used_in_rack_order() -> None:
    rack = (offcut("first", 70, 40), offcut("second", 70, 40), offcut("third", 70, 40))
    parts = tuple(part(n, box(0, 0, 50, 20)) for n in (1, 2))
    placed = place(parts, rack, RULE)
    assert [one.name for one in placed.used] == ["first", "second"]
    assert not placed.unplaced


def test_woods_match_by_any_name_and_never_another_wood() -> None:
    rack = (offcut("a", 100, 60, "sugar maple"), offcut("b", 100, 60, "red maple"))
    assert where(place((part(1, box(0, 0, 30, 20), "maple"),), rack, RULE)) == {1: "a"}


def test_too_thin_an_offcut_is_left_on_the_rack() -> None:
    rack = (offcut("thin", 100, 60, thickness=3.3), offcut("thick", 100, 60, thickness=3.4))
    placed = place((part(1, box(0, 0, 30, 20)),), rack, RULE)
    assert where(placed) == {1: "thick"}
    (look,) = placed.findings
    assert look.severity == "look"
    assert look.what == "thick is 3.4 mm thick: only 0.0 mm over the 3.4 mm needed"
    assert (look.where, look.mend) == ("rack, thick", "plane it no thinner than that")


def test_much_too_thick_an_offcut_is_a_look() -> None:
    placed = place((part(1, box(0, 0, 30, 20)),), (offcut("block", 100, 60, thickness=12.0),), RULE)
    (look,) = placed.findings
    assert look.what == "block is 12.0 mm thick: 8.6 mm over the 3.4 mm needed"
    assert look.mend == "plane or saw it to 3.4 mm first"


@pytest.mark.parametrize(
    "rack, why",
    [
        ((), "there is no padauk on the rack"),
        ((offcut("holly", 100, 60),), "there is no padauk on the rack"),
        ((offcut("p", 100, 60, "padauk", 3.0),), "no padauk on the rack is 3.4 mm thick"),
        ((offcut("p", 40, 40, "padauk"),), "no padauk on the rack has room for them"),
        ((offcut("sliver", 100, 5, "padauk"),), "no padauk on the rack has room for them"),
        (
            (offcut("thin", 200, 90, "padauk", 3.0), offcut("small", 40, 40, "padauk")),
            "no padauk on the rack that is 3.4 mm thick has room for them",
        ),
    ],
)
def test_a_wood_that_ran_out_is_a_stop_that_says_why_and_what_to_buy(rack: tuple[Offcut, ...], why: str) -> None:
    placed = place((part(7, box(0, 0, 105, 25), "padauk"),), rack, RULE)
    assert [one.number for one in placed.unplaced] == [7]
    (stop,) = placed.findings
    assert (stop.severity, stop.where, stop.mend) == (
        "stop",
        "rack",
        "buy a board of 120 mm (along its fibres) x 40 mm, 3.5 mm thick at least ([[sold]] names no size of it), "
        "or choose another wood",
    )
    assert stop.what == f"padauk: {why}; without wood: 7 part 7"
    assert placed.to_buy == (
        "padauk, 120 x 40 x 3.5 mm (4 3/4 in x 1 5/8 in x 1/4 in) at least, fibres along its length",
    )


@pytest.mark.parametrize("count, size", [(1, (90, 12)), (6, (50, 20)), (12, (33, 14))])
def test_what_is_to_be_bought_is_enough(count: int, size: tuple[int, int]) -> None:
    """A board of the size that the line names takes all the parts that it was named for."""
    parts = tuple(part(n, box(0, 0, *size), "padauk", grain=90.0) for n in range(1, count + 1))
    (line,) = place(parts, (), RULE).to_buy
    length, width, thickness = map(float, re.findall(r"[\d.]+", line)[:3])
    assert length >= width or count == 1
    bought = Offcut("bought", "padauk", box(0, 0, length, width), thickness)
    assert not place(parts, (bought,), RULE).unplaced


def test_a_block_to_buy_is_thick_enough_for_all_slices() -> None:
    """A slice of 3 mm is planed 0.5 and sawn 0.3; 3 mm of block stay: 6.8 mm for one, 3 + 0.5 + 0.3 + 0.5 more each."""
    block = replace(part(1, box(0, 0, 40, 25)), thickness=6.8)
    for slices, thickness in ((1, "7"), (2, "11.5"), (3, "15.5")):
        rule = replace(RULE, are_blocks=True, slices=slices, slice_over=0.5 - 3.0)
        (line,) = place((block,), (), rule).to_buy
        assert f" x {thickness} mm (" in line


def test_copies_asked_for_open_a_further_offcut() -> None:
    """A small offcut takes two of five; the rest lie on the large one, and none of it is used where one will do."""
    rack = (offcut("small", 55, 35), offcut("large", 200, 100))
    one = part(1, box(0, 0, 20, 20))
    placed = place((one,), rack, replace(RULE, copies=5))
    assert len(placed.places) == 5
    assert {found.offcut for found in placed.places} == {"small", "large"}
    assert not placed.findings
    assert {found.offcut for found in place((one,), rack, RULE).places} == {"small"}
    few = place((one,), rack[:1], replace(RULE, copies=5))
    (look,) = few.findings
    assert look.what == f"no room on the rack for all 5 copies of: 1 part 1 ({len(few.places)})"


def test_what_the_cutter_goes_through_comes_before_a_block() -> None:
    """The block holds less wood, but no cutter goes through it; where nothing else has room it is taken, and told."""
    rack = (offcut("block", 60, 40, thickness=12.7), offcut("thin", 200, 100))
    one = part(1, box(0, 0, 30, 20))
    assert where(place((one,), rack, replace(RULE, reach=11.5))) == {1: "thin"}
    assert where(place((one,), rack, RULE)) == {1: "block"}
    assert where(place((one,), rack[:1], replace(RULE, reach=11.5))) == {1: "block"}


def test_small_parts_get_a_spare_beside_their_original_where_there_is_room() -> None:
    eye, wing = part(1, Point(0, 0).buffer(2)), part(2, box(0, 0, 30, 20))
    placed = place((eye, wing), (offcut("roomy", 100, 60),), RULE)
    assert [(found.part.number, found.spare) for found in placed.places] == [(2, False), (1, False), (1, True)]
    full = place((eye,), (offcut("full", 17, 17),), RULE)
    assert [found.spare for found in full.places] == [False]


def test_knots_are_kept_out() -> None:
    knot = MultiPolygon([Point(50, 30).buffer(10)])
    rack = (replace(offcut("knotty", 100, 60), defects=knot),)
    placed = place(tuple(part(n, box(0, 0, 30, 12)) for n in (1, 2, 3, 4)), rack, RULE)
    assert not placed.unplaced
    assert all(found.region.distance(knot) >= RULE.from_defect - ROOM for found in placed.places)


def test_a_hole_in_an_offcut_is_an_edge_like_any_other() -> None:
    ring = Polygon([(0, 0), (100, 0), (100, 60), (0, 60)], [[(30, 20), (70, 20), (70, 40), (30, 40)]])
    rack = (Offcut("ring", "holly", ring, 3.6),)
    placed = place((part(1, box(0, 0, 80, 7)), part(2, box(0, 0, 80, 7))), rack, RULE)
    assert len(placed.places) == 2
    assert all(found.region.distance(ring.boundary) >= RULE.margin - ROOM for found in placed.places)


def test_a_thick_part_and_a_thin_one_of_one_wood_go_where_each_fits() -> None:
    rack = (offcut("sheet", 100, 60, "sapele", 4.0), offcut("block", 90, 60, "sapele", 9.0))
    thin, thick = part(1, box(0, 0, 60, 30), "sapele"), part(2, box(0, 0, 44, 20), "sapele", 8.4)
    assert where(place((thin, thick), rack, RULE)) == {1: "sheet", 2: "block"}


def test_the_order_of_the_rack_decides_nothing_but_ties() -> None:
    rack = (offcut("a", 300, 200), offcut("b", 80, 40), offcut("c", 120, 60))
    parts = (part(1, box(0, 0, 50, 20)), part(2, box(0, 0, 50, 20)))
    assert where(place(parts, rack, RULE)) == where(place(parts, tuple(reversed(rack)), RULE))


def test_the_same_parts_and_rack_give_the_same_places() -> None:
    parts = tuple(part(n, Point(0, 0).buffer(5 + n)) for n in range(1, 8))
    rack = (offcut("a", 120, 80), offcut("b", 90, 40))
    assert place(parts, rack, RULE).places == place(parts, rack, RULE).places


def test_nothing_wanted_uses_nothing() -> None:
    placed = place((), (offcut("a", 120, 80),), RULE)
    assert (placed.used, placed.places, placed.unplaced, placed.to_buy, placed.findings) == ((), (), (), (), ())


def test_a_very_large_board_is_searched_on_a_coarser_raster() -> None:
    placed = place((part(1, box(0, 0, 30, 20)),), (offcut("sheet", 2440, 1220),), RULE)
    (found,) = [one for one in placed.places if not one.spare]
    assert found.region.bounds[:2] == pytest.approx((6, 6), abs=2)


def test_a_piece_with_a_hole_may_have_another_inside_it() -> None:
    """The wood inside a ring is free too, if both keep their distance."""
    ring = Polygon(Point(0, 0).buffer(30).exterior, [Point(0, 0).buffer(22).exterior.coords])
    placed = place((part(1, ring), part(2, Point(0, 0).buffer(8))), (offcut("tight", 73, 73),), RULE)
    assert not placed.unplaced
    one, other = (found.region for found in placed.places if not found.spare)
    assert one.distance(other) >= RULE.between - ROOM


INCH = 25.4
SOLD = (
    SoldSizes("", (3.0, 5.0), (50.0,), (200.0,)),
    SoldSizes("Padauk", (INCH / 8, INCH / 4), (3 * INCH, 6 * INCH), (6 * INCH, 12 * INCH)),
)


@pytest.mark.parametrize(
    "wood, size, thickness, said",
    [
        ("padauk", (105, 25), 3.4, "152.4 x 76.2 x 6.35 mm (6 in x 3 in x 1/4 in) as sold"),
        ("padauk", (105, 90), 3.0, "152.4 x 152.4 x 3.175 mm (6 in x 6 in x 1/8 in) as sold"),
        ("holly", (105, 25), 3.4, "200 x 50 x 5 mm (7 7/8 in x 1 31/32 in x 13/64 in) as sold"),
        ("padauk", (400, 25), 3.4, "420 x 40 x 3.5 mm (16 5/8 in x 1 5/8 in x 1/4 in) at least"),
        ("padauk", (105, 25), 7.0, "120 x 40 x 7 mm (4 3/4 in x 1 5/8 in x 3/8 in) at least"),
    ],
)
def test_what_is_to_be_bought_is_a_size_that_is_sold(
    wood: str, size: tuple[int, int], thickness: float, said: str
) -> None:
    """The board with the least wood of the sizes of this wood, else of those of any wood; where none will do, that."""
    placed = place((part(7, box(0, 0, *size), wood, thickness),), (), RULE, SOLD)
    assert placed.to_buy == (f"{known_as(wood)}, {said}, fibres along its length",)
    (stop,) = placed.findings
    assert ("the smallest of the sizes sold" in stop.mend) == ("as sold" in said)
    assert ("no board that is sold takes them all" in stop.mend) == ("at least" in said)


def test_a_board_that_is_sold_takes_all_the_parts_that_it_is_named_for() -> None:
    parts = tuple(part(n, box(0, 0, 33, 14), "padauk", 3.0) for n in range(1, 30))
    ((_, (length, width, thickness)),) = place(parts, (), RULE, SOLD).boards_to_buy
    assert length in SOLD[1].lengths
    assert width in SOLD[1].widths
    assert not place(parts, (offcut("bought", length, width, "padauk", thickness),), RULE).unplaced
