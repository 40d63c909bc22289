"""What is asked for stands where it was asked for, on either face, measured from edges A and B."""

from dataclasses import replace

import pytest
from plain_fit import BOARD, FLAG, at, hinge, magnet, plain_fit, plate, wish
from shapely import box

from purfle.board import Spot, key_wish, lay_out
from purfle.errors import PlacingError
from purfle.geometry.pose import UNDERSIDE
from purfle.model.board import Inlay
from purfle.model.job import Distance, FittingRule, FitWish, KeyRule


def placed(spot: Spot, face: str = "show") -> Inlay:
    return lay_out(BOARD, (wish(face=face, spot=spot),), (), 4.0).inlays[0]  # type: ignore[arg-type]


def bounds(inlay: Inlay) -> tuple[float, ...]:
    return tuple(round(float(value), 9) for value in inlay.recess.bounds)


@pytest.mark.parametrize(
    "along_a, along_b, expected",
    [
        (Distance("centre", 0), Distance("centre", 0), (195, 110, 225, 150)),
        (Distance("edge", 100), Distance("edge", 80), (85, 60, 115, 100)),
        (Distance("far_edge", 100), Distance("far_edge", 80), (305, 160, 335, 200)),
        (Distance("centre", -10), Distance("centre", 25), (185, 135, 215, 175)),
    ],
)
def test_distances_locate_the_middle_from_edge_far_edge_and_centre(
    along_a: Distance, along_b: Distance, expected: tuple[float, ...]
) -> None:
    assert bounds(placed(Spot(along_a, along_b))) == expected


def test_distances_may_locate_the_lower_left_end_instead() -> None:
    assert bounds(placed(Spot(at(100), at(80), to_middle=False))) == (100, 80, 130, 120)


def test_a_turned_design_is_measured_as_it_lies() -> None:
    inlay = placed(Spot(at(100), at(80), to_middle=False, angle=90.0))
    assert bounds(inlay) == (100, 80, 140, 110)
    # the flag's foot (0..30, 0..10) now stands upright at the right end
    assert inlay.recess.equals(box(100, 80, 140, 90).union(box(130, 80, 140, 110)))


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 217.0])
def test_seen_from_below_an_underside_design_reads_as_it_was_drawn(angle: float) -> None:
    """In the underside frame the design is only turned and moved, never mirrored."""
    inlay = placed(Spot(at(150), at(120), angle=angle), "underside")
    seen = inlay.pose.then(UNDERSIDE)
    assert inlay.pose.mirrored
    assert not seen.mirrored
    assert seen.angle % 360 == pytest.approx(angle)
    left, low, right, high = inlay.recess.bounds
    assert ((left + right) / 2, (low + high) / 2) == pytest.approx((150, 120))


def test_on_the_underside_distances_still_run_from_edges_a_and_b() -> None:
    assert bounds(placed(Spot(at(100), at(80), to_middle=False), "underside")) == (100, 80, 130, 120)


def test_a_mirrored_design_is_cut_mirrored_and_never_turned_over() -> None:
    """The inserts themselves change, the pose stays unmirrored on the show face: no insert lies face down."""
    plain = placed(Spot(at(100), at(80)))
    mirrored = placed(Spot(at(100), at(80), mirrored=True))
    assert not mirrored.pose.mirrored
    assert bounds(plain) == bounds(mirrored)
    assert plain.recess.equals(box(85, 60, 115, 70).union(box(85, 60, 95, 100)))
    assert mirrored.recess.equals(box(85, 60, 115, 70).union(box(105, 60, 115, 100)))
    assert mirrored.fit.pieces.pieces[0].region.equals(mirrored.fit.inserts[0].region)
    assert mirrored.fit.pieces.junctions == ((30.0, 0.0),)
    assert mirrored.fit.seam.widest_at == (29.0, 2.0)


def test_a_key_is_placed_by_its_middle_with_its_length_turned_from_edge_a() -> None:
    rule = KeyRule("key", "sapele", "underside", 44, 20, 7, 8, at(382), at(120), 90)
    fit = plain_fit(("key", "sapele", box(0, 0, 44, 20)))
    layout = lay_out(BOARD, (key_wish(fit, rule, FitWish(0.1, "", 0.5, 0.1)),), (), 4.0)
    assert bounds(layout.inlays[0]) == (372, 98, 392, 142)
    assert layout.inlays[0].insert_thickness == pytest.approx(8.4)


def test_a_hinge_runs_out_at_the_back_edge_and_ends_exactly_there() -> None:
    layout = lay_out(BOARD, (), (hinge("hinge", 70),), 4.0)
    fitting = layout.fittings[0]
    assert fitting.wanted.equals(box(45, 246, 95, 260))
    assert (fitting.centre, fitting.size, fitting.open_edge) == ((70, 253), (50, 14), True)


def test_a_recess_placed_across_an_edge_is_cut_off_there_if_it_may_run_out() -> None:
    rule = FittingRule("hinge", "leaf", "underside", 50, 14, 2, 0.2, at(70), Distance("far_edge", 5), True)
    fitting = lay_out(BOARD, (), (rule,), 4.0).fittings[0]
    assert fitting.wanted.bounds == pytest.approx((44.9, 247.9, 95.1, 260))
    assert fitting.size == pytest.approx((50.2, 12.1))


def test_play_is_added_to_a_diameter() -> None:
    rule = FittingRule("magnet", "magnet", "underside", 10, 10, 3, 0.2, at(20), at(15), False)
    fitting = lay_out(BOARD, (), (rule,), 4.0).fittings[0]
    assert fitting.size == pytest.approx((10.2, 10.2))
    assert fitting.wanted.bounds == pytest.approx((14.9, 9.9, 25.1, 20.1))
    assert fitting.centre == (20, 15)


def test_every_recess_off_the_board_is_told_with_edge_and_amount() -> None:
    with pytest.raises(PlacingError) as caught:
        lay_out(
            BOARD, (wish(spot=Spot(at(10), at(130))),), (magnet(418, 15), plate("plate", (210, 258), (20, 10))), 4.0
        )
    told = [(fault.what, fault.where, fault.mend) for fault in caught.value.faults]
    assert told == [
        ("picture does not lie on the board", "5.0 mm over the left edge B", "move it, or make it smaller"),
        ("magnet at 418, 15 does not lie on the board", "3.0 mm over the right edge", "move it, or make it smaller"),
        ("plate does not lie on the board", "3.0 mm over the back edge", "move it, or make it smaller"),
    ]


def test_a_recess_that_only_touches_a_closed_edge_is_refused() -> None:
    with pytest.raises(PlacingError) as caught:
        lay_out(BOARD, (), (plate("plate", (210, 5), (20, 10)),), 4.0)
    assert caught.value.where == "touching the front edge A"


@pytest.mark.parametrize("depth", [19.0, 25.0, 0.0, -1.0])
def test_a_recess_as_deep_as_the_board_or_without_depth_is_refused(depth: float) -> None:
    with pytest.raises(PlacingError) as caught:
        lay_out(BOARD, (wish(depth=depth),), (), 4.0)
    assert caught.value.what == f"a recess {depth:.1f} mm deep cannot be cut into 19.0 mm"
    assert caught.value.where == "picture"
    assert caught.value.mend == "give a depth above 0 and below 19.0 mm"


def test_a_recess_that_shall_run_out_but_ends_before_the_edge_is_refused() -> None:
    rule = FittingRule("hinge", "leaf", "underside", 50, 14, 2, 0, at(70), Distance("far_edge", 10), True)
    with pytest.raises(PlacingError) as caught:
        lay_out(BOARD, (), (rule,), 4.0)
    assert caught.value.what == "leaf shall run out over an edge, but ends 3.0 mm before it"
    assert caught.value.where == "leaf"
    assert caught.value.mend == "give 0 as its distance from that edge"


def test_an_empty_board_lays_out_to_nothing() -> None:
    layout = lay_out(BOARD, (), (), 4.0)
    assert (layout.inlays, layout.fittings, layout.marks, layout.wood_left, layout.findings) == ((), (), (), (), ())
    assert layout.check is None


def test_inlays_without_a_piece_are_refused() -> None:
    empty = replace(wish(), fit=replace(wish().fit, inserts=()))
    with pytest.raises(PlacingError) as caught:
        lay_out(BOARD, (empty,), (), 4.0)
    assert caught.value.what == "picture has no piece to let in"
    assert caught.value.where == "picture"
    assert caught.value.mend == "take it out, or give it an artwork with areas"


def test_the_flag_is_what_the_tests_take_it_for() -> None:
    assert FLAG.bounds == (0, 0, 30, 40)
