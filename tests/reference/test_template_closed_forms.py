"""Guide bushes against published and derived figures.

Source of the pair with one cutter (Bf = Bm + 2 D: 5/16 in and 1/8 in go with 9/16 in) and of the offset (B - D) / 2:
woodworking trade, second-hand; all other figures are derived from the geometry of round bushes.
"""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, scale, translate

from made_by_hand import small_shop
from purfle.errors import JobFileError, ShopFileError
from purfle.model.shop import Cutter, GuideBush, Machine, Shop
from purfle.model.templates import BushPair, Guide, TemplateWish
from purfle.shop import read_shop
from purfle.templates import (
    bush_wanted,
    corner_of_insert,
    corner_of_recess,
    guides_of,
    insert_width,
    laid_on,
    pairs_of,
    recess_width,
    template_rule,
)

INCH = 25.4


def cutter(diameter: float) -> Cutter:
    return Cutter(1, "the cutter", diameter, 2, 20.0, 30.0, 24000.0)


def guide(bush: float, diameter: float) -> Guide:
    return Guide("a bush", bush, 5.0, cutter(diameter))


def test_five_sixteenths_with_an_eighth_go_with_nine_sixteenths() -> None:
    """The pair of the trade: a bush of 5/16 in and a cutter of 1/8 in want 9/16 in, and leave no seam."""
    assert bush_wanted(guide(5 / 16 * INCH, INCH / 8), cutter(INCH / 8), 0.0) == pytest.approx(9 / 16 * INCH)
    pair = BushPair(guide(9 / 16 * INCH, INCH / 8), guide(5 / 16 * INCH, INCH / 8))
    assert pair.seam == pytest.approx(0.0, abs=1e-12)


def test_a_cutter_of_half_an_inch_in_a_bush_of_one_stays_a_quarter_behind() -> None:
    assert guide(INCH, INCH / 2).offset == INCH / 4


@pytest.mark.parametrize(
    ("recess", "bush", "diameter", "opening"), [(76.2, 16.0, 6.0, 86.2), (120.0, 30.0, 8.0, 142.0)]
)
def test_the_opening_is_wider_than_its_recess_by_bush_less_cutter(
    recess: float, bush: float, diameter: float, opening: float
) -> None:
    assert recess_width(opening, guide(bush, diameter)) == pytest.approx(recess, abs=1e-6)


@pytest.mark.parametrize(
    ("opening", "male", "female", "width"),
    [(90.0, (8.0, 3.0), (14.0, 3.0), 79.0), (100.0, (7.9375, 3.175), (14.2875, 3.175), 88.8875)],
)
def test_one_template_gives_recess_and_insert(
    opening: float, male: tuple[float, float], female: tuple[float, float], width: float
) -> None:
    assert recess_width(opening, guide(*female)) == pytest.approx(width, abs=1e-6)
    assert insert_width(opening, guide(*male)) == pytest.approx(width, abs=1e-6)
    assert BushPair(guide(*female), guide(*male)).seam == pytest.approx(0.0, abs=1e-9)


def test_corners_of_recess_and_insert_from_those_of_the_opening() -> None:
    assert corner_of_recess(10.0, guide(14.0, 3.0)) == 4.5
    assert corner_of_insert(10.0, guide(8.0, 3.0)) == 4.5


@given(st.floats(20.0, 200.0), st.floats(4.0, 30.0), st.floats(1.0, 3.9), st.floats(0.0, 0.5))
def test_what_the_pair_leaves_is_half_the_difference_of_widths(
    opening: float, bush: float, diameter: float, seam: float
) -> None:
    """Law: the bush wanted for a seam leaves that seam on each side, whatever the opening."""
    male = guide(bush, diameter)
    female = guide(bush_wanted(male, cutter(diameter), seam), diameter)
    both = (recess_width(opening, female) - insert_width(opening, male)) / 2.0
    assert both == pytest.approx(seam, abs=1e-9)
    assert BushPair(female, male).seam == pytest.approx(seam, abs=1e-9)


def test_a_disc_cut_with_either_bush_is_as_wide_as_the_closed_form_says() -> None:
    """Shapely alone: the middle of the bush keeps off the wall by its radius, the cutter sweeps about it."""
    opening = shapely.Point(0.0, 0.0).buffer(45.0, quad_segs=256)
    female, male = guide(14.0, 3.0), guide(8.0, 3.0)
    recess = opening.buffer(-7.0, quad_segs=256).buffer(1.5, quad_segs=256)
    insert = opening.buffer(-4.0, quad_segs=256).buffer(-1.5, quad_segs=256)
    assert recess.bounds[2] - recess.bounds[0] == pytest.approx(recess_width(90.0, female), abs=1e-3)
    assert insert.bounds[2] - insert.bounds[0] == pytest.approx(insert_width(90.0, male), abs=1e-3)


BUSHES = (
    GuideBush("5/16 in", 5 / 16 * INCH, INCH / 4, 5.0, collar=9 / 16 * INCH),
    GuideBush("10 mm", 10.0, 8.0, 5.0),
    GuideBush("narrow", 3.0, 2.0, 5.0),
)
WISH = TemplateWish("", "", 6.0, 70.0, 3.0, False, seam_asked=False)


def test_pairs_are_found_among_the_makers_own_bushes_with_their_collars() -> None:
    """Of a bush with a collar and another one only the collar pairs; what the cutter does not pass does not count."""
    guides = guides_of(BUSHES, cutter(INCH / 8))
    assert [one.bush for one in guides] == ["5/16 in", "5/16 in with collar", "10 mm"]
    assert [(one.recess.bush, one.insert.bush) for one in pairs_of(guides)] == [("5/16 in with collar", "5/16 in")]


def shop_of(*bushes: GuideBush) -> Shop:
    machine = Machine("", (1.0, 1.0, 1.0), 1.0, 1.0, 1.0, 1.0, 1.0)
    return Shop((cutter(INCH / 8),), machine, (), guide_bushes=bushes)


def test_without_a_seam_asked_for_the_pair_gives_it() -> None:
    rule = template_rule(WISH, shop_of(*BUSHES), cutter(INCH / 8), 0.0)
    assert (rule.shared, rule.seam) == (True, 0.0)
    assert rule.least_inside == pytest.approx((5 / 16 + 1 / 8) / 2 * INCH)


def test_a_seam_that_no_pair_has_takes_a_template_each() -> None:
    rule = template_rule(replace(WISH, seam_asked=True), shop_of(*BUSHES), cutter(INCH / 8), 0.1)
    assert (rule.shared, rule.seam) == (False, 0.1)
    assert (rule.pair.recess.bush, rule.pair.insert.bush) == ("5/16 in", "5/16 in")


def test_a_shop_without_a_pair_is_told_which_bush_would_make_one() -> None:
    with pytest.raises(JobFileError) as refused:
        template_rule(WISH, shop_of(GuideBush("5/16 in", 5 / 16 * INCH, INCH / 4, 5.0)), cutter(INCH / 8), 0.0)
    assert "no two guide bushes" in refused.value.what
    assert refused.value.where == "fit.seam"
    assert "14.2875 mm" in refused.value.mend


def test_a_bush_longer_than_its_template_is_thick_is_refused() -> None:
    with pytest.raises(JobFileError) as refused:
        template_rule(replace(WISH, thickness=4.0), shop_of(*BUSHES), cutter(INCH / 8), 0.0)
    assert refused.value.where == "templates.thickness"


@pytest.mark.parametrize("shop", [shop_of(), shop_of(BUSHES[2])])
def test_a_shop_without_a_bush_for_the_cutter_is_refused(shop: Shop) -> None:
    with pytest.raises(JobFileError, match="guide bush"):
        template_rule(WISH, shop, cutter(INCH / 8), 0.0)


SHOP = (
    small_shop(stick_out=16)
    + """\
[[guide_bush]]
name = "5/16 in"
outside = "5/16 in"
inside = "1/4 in"
length = 5
collar = "9/16 in"
"""
)


def test_guide_bushes_are_read_from_the_shop_file() -> None:
    assert read_shop(SHOP).guide_bushes == (BUSHES[0],)


@pytest.mark.parametrize(
    ("was", "becomes", "key"),
    [
        ('inside = "1/4 in"', 'inside = "1/2 in"', "inside"),
        ('collar = "9/16 in"', 'collar = "1/4 in"', "collar"),
        ("length = 5", "lenght = 5", "length"),
        ('outside = "5/16 in"\n', "", "outside"),
    ],
)
def test_a_wrong_guide_bush_is_told_with_its_place(was: str, becomes: str, key: str) -> None:
    assert was in SHOP
    with pytest.raises(ShopFileError) as refused:
        read_shop(SHOP.replace(was, becomes))
    assert "[[guide_bush]] 1 (5/16 in)" in refused.value.where
    assert key in str(refused.value)


# --- openings that are alike


def oval(corners: int, first: float) -> shapely.Polygon:
    """An oval of 50 x 34 mm in so many corners, the first one at an angle."""
    turns = [first + 2.0 * math.pi * number / corners for number in range(corners)]
    return shapely.Polygon([(25.0 * math.cos(t), 17.0 * math.sin(t)) for t in turns])


KITE = shapely.Polygon([(0.0, 0.0), (40.0, 0.0), (12.0, 21.0)]).buffer(4.0, quad_segs=32)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.0, 360.0), st.floats(-300.0, 300.0), st.floats(0.0, 1.0), st.sampled_from(["oval", "kite"]))
def test_an_outline_is_found_again_however_it_lies(turn: float, shift: float, first: float, kind: str) -> None:
    """Turned, moved, and with its corners elsewhere on its curve; the pose lays the one on the other."""
    one, same = (oval(400, 0.0), oval(431, first)) if kind == "oval" else (KITE, KITE)
    other = translate(rotate(same, turn, origin=(0.0, 0.0)), shift, -shift)
    pose = laid_on(one, other)
    assert pose is not None
    assert not pose.mirrored
    assert shapely.hausdorff_distance(pose.region(one).exterior, other.exterior) <= 0.004


@settings(deadline=None, max_examples=20)
@given(st.floats(0.0, 360.0))
def test_a_mirror_image_is_not_the_same_template(turn: float) -> None:
    assert laid_on(KITE, rotate(scale(KITE, -1.0, 1.0), turn)) is None


def test_what_is_a_little_larger_is_not_the_same_template() -> None:
    assert laid_on(KITE, KITE.buffer(0.01)) is None
