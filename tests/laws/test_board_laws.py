"""Laws of placing: they hold for every board, design and place."""

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import translate

from purfle.board import InlayWish, Spot, lay_out
from purfle.geometry.pose import UNDERSIDE
from purfle.model.board import Board
from purfle.model.findings import Face
from purfle.model.job import Distance, FittingRule
from purfle.model.pieces import Fit, FitRule, Insert, Piece, Pieces, SeamFigures

FLAG = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 40), (0, 40)])
NEAR = 1e-6
faces = st.sampled_from(["show", "underside"])
angles = st.floats(-360, 360)
shifts = st.floats(-200, 200)


def fit_of(region: Polygon) -> Fit:
    piece = Piece(1, "part", "holly", (0, 0, 0), region)
    insert = Insert(1, "part", "holly", (0, 0, 0), region)
    domain = box(*region.bounds)
    made = Pieces(domain, domain.difference(region), (piece,), (), (), 0.0, 0.0, 0.0)
    return Fit(FitRule(1.5, 0.1), made, (insert,), region, SeamFigures(0.1, (0, 0), 0.1, (0, 0), 1.0, 1.0))


def inlay(region: Polygon, face: Face, spot: Spot):  # type: ignore[no-untyped-def]
    wish = InlayWish("picture", "picture", fit_of(region), face, spot, 3.0, 0.5, 0.1)
    return lay_out(Board("oak", 400, 300, 20), (wish,), (), 4.0).inlays[0]


@settings(deadline=None, derandomize=True, max_examples=60)
@given(faces, angles, shifts, shifts, st.booleans())
def test_where_the_artwork_sits_in_its_own_frame_makes_no_difference(
    face: Face, angle: float, x: float, y: float, mirrored: bool
) -> None:
    spot = Spot(Distance("centre", 5.0), Distance("edge", 140.0), angle=angle, mirrored=mirrored)
    one = inlay(FLAG, face, spot).recess
    other = inlay(translate(FLAG, x, y), face, spot).recess
    assert shapely.hausdorff_distance(one, other) < NEAR


@settings(deadline=None, derandomize=True, max_examples=60)
@given(angles, st.booleans())
def test_the_same_wish_seen_on_its_own_face_looks_the_same_on_both_faces(angle: float, mirrored: bool) -> None:
    spot = Spot(Distance("centre", 0.0), Distance("centre", 0.0), angle=angle, mirrored=mirrored)
    above = inlay(FLAG, "show", spot).recess
    below = UNDERSIDE.region(inlay(FLAG, "underside", spot).recess)
    assert shapely.hausdorff_distance(above, translate(below, 0, 300)) < NEAR


@settings(deadline=None, derandomize=True, max_examples=60)
@given(faces, angles, st.booleans())
def test_placing_keeps_size_and_shape(face: Face, angle: float, mirrored: bool) -> None:
    spot = Spot(Distance("centre", 0.0), Distance("centre", 0.0), angle=angle, mirrored=mirrored)
    placed = inlay(FLAG, face, spot)
    assert abs(placed.recess.area - FLAG.area) < NEAR
    turned_over = placed.pose.mirrored != mirrored
    back = placed.pose.inverse().region(placed.recess)
    assert shapely.hausdorff_distance(back, placed.fit.recess) < NEAR
    assert placed.pose.mirrored is (face == "underside")
    # seen from the show face the flag is a mirror image if it was mirrored or lies below, not if both
    orientation = shapely.get_coordinates(placed.pose.region(placed.fit.inserts[0].region.exterior))
    assert (shapely.LinearRing(orientation).is_ccw == shapely.LinearRing(FLAG.exterior.coords).is_ccw) != turned_over


@settings(deadline=None, derandomize=True, max_examples=60)
@given(st.floats(20, 380), st.floats(20, 280), st.floats(1, 9), st.floats(1, 9), st.floats(20, 380))
def test_wood_left_never_exceeds_what_one_recess_leaves_and_never_counts_less_than_both(
    x: float, y: float, above: float, below: float, other_x: float
) -> None:
    rules = (
        FittingRule("round", "a", "show", 20, 20, above, 0, Distance("edge", x), Distance("edge", y), False),
        FittingRule("round", "b", "underside", 20, 20, below, 0, Distance("edge", other_x), Distance("edge", y), False),
    )
    layout = lay_out(Board("oak", 400, 300, 20), (), rules, 4.0)
    for left, depth in zip(layout.wood_left, (above, below), strict=True):
        assert 20 - above - below - NEAR <= left.left <= 20 - depth + NEAR
        if abs(x - other_x) > 20 + 20:
            assert abs(left.left - (20 - depth)) < NEAR
