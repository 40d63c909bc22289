"""Every insert becomes a part with the thickness it needs and the direction of its fibres."""

import pytest
from plain_fit import BOARD, at, plain_fit
from shapely import Polygon, box
from shapely.affinity import rotate

from purfle.board import InlayWish, Spot, lay_out
from purfle.errors import PlacingError
from purfle.model.board import Board, Layout
from purfle.model.findings import Face
from purfle.offcuts import wanted_parts

BLADE = rotate(box(0, 0, 40, 6), 30)
DISC = Polygon([(0, 0), (10, 0), (10, 10), (0, 10)])


def layout(
    board: Board = BOARD,
    face: Face = "show",
    angle: float = 0.0,
    kind: str = "picture",
    depth: float = 3.0,
    blade: Polygon = BLADE,
) -> Layout:
    fit = plain_fit(("blade", "holly", blade), ("disc", "wenge", DISC))
    spot = Spot(at(200), at(130), angle=angle)
    wish = InlayWish("inlay", kind, fit, face, spot, depth, 0.5, 0.1)  # type: ignore[arg-type]
    return lay_out(board, (wish,), (), 4.0)


def grains(made: Layout, grain: tuple[tuple[str, float], ...] = ()) -> dict[str, float]:
    return {part.name: round(part.grain, 6) for part in wanted_parts(made, grain)}


def test_a_part_is_as_thick_as_its_recess_is_deep_less_glue_room_plus_proud() -> None:
    parts = wanted_parts(layout(depth=3.0), ())
    assert [part.thickness for part in parts] == pytest.approx([3.4, 3.4])
    assert [(part.inlay, part.number, part.name, part.wood) for part in parts] == [
        ("inlay", 1, "blade", "holly"),
        ("inlay", 2, "disc", "wenge"),
    ]


def test_fibres_run_along_a_slender_piece_and_else_along_those_of_the_board() -> None:
    assert grains(layout()) == {"blade": 30.0, "disc": 0.0}
    assert grains(layout(Board("oak", 420, 260, 19, grain=90.0))) == {"blade": 30.0, "disc": 90.0}


def test_a_length_a_little_off_a_straight_angle_is_taken_for_it() -> None:
    """The smallest rectangle lies along one short side of the outline of a petal, not along its length."""
    for angle in (30.2, 29.8):
        assert grains(layout(blade=rotate(box(0, 0, 40, 6), angle)))["blade"] == 30.0


def test_in_a_turned_design_the_fibres_still_lie_along_those_of_the_board() -> None:
    """The design is turned by 20 degrees, so along the board is at -20 in its own frame."""
    assert grains(layout(angle=20.0)) == {"blade": 30.0, "disc": 160.0}


def test_a_named_direction_counts_from_edge_a_as_seen_on_the_face() -> None:
    assert grains(layout(), (("blade", 45.0),)) == {"blade": 45.0, "disc": 0.0}
    assert grains(layout(angle=20.0), (("blade", 45.0),))["blade"] == 25.0
    assert grains(layout(face="underside"), (("blade", 45.0),))["blade"] == 45.0
    assert grains(layout(face="underside", angle=20.0), (("blade", 45.0),))["blade"] == 25.0


def test_the_board_grain_below_is_seen_mirrored() -> None:
    """Fibres at 30 degrees seen from above lie at 150 seen from below."""
    board = Board("oak", 420, 260, 19, grain=30.0)
    assert grains(layout(board, "underside"))["disc"] == 150.0


def test_a_key_has_its_fibres_along_its_length_however_stout() -> None:
    fit = plain_fit(("key", "sapele", box(0, 0, 24, 20)))
    wish = InlayWish("key", "key", fit, "underside", Spot(at(200), at(130), angle=90.0), 6.0, 0.5, 0.1)
    assert [part.grain for part in wanted_parts(lay_out(BOARD, (wish,), (), 4.0), ())] == [0.0]


def test_a_grain_for_no_piece_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(PlacingError) as caught:
        wanted_parts(layout(), (("blad", 45.0), ("moon", 3.0)))
    told = [(fault.what, fault.where, fault.mend) for fault in caught.value.faults]
    assert told == [
        ("no piece is called 'blad'", "grain of 'blad'", "perhaps 'blade' is meant"),
        ("no piece is called 'moon'", "grain of 'moon'", "pieces are: blade, disc"),
    ]
