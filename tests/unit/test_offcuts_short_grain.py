"""A thin part is short grain when its fibres run across it: width and angle as drawn."""

import pytest
from shapely import Polygon, box, union_all

import purfle.offcuts.short_grain
from purfle.errors import PurfleError
from purfle.model.offcuts import OffcutRule, ShortGrain, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts import place

RULE = OffcutRule(margin=6.0, between=5.0, from_defect=3.0)
RACK = (Offcut("rack", "holly", box(0, 0, 200, 120), 3.6),)


def short(region: Polygon, grain: float) -> tuple[ShortGrain, ...]:
    return place((Wanted("picture", 5, "feathers", "holly", region, grain, 3.4),), RACK, RULE).short_grain


def hook(width: float) -> Polygon:
    """A body of 40 x 20 with a finger 12 long standing up from it."""
    finger = union_all([box(0, 0, 40, 20), box(18, 20, 18 + width, 32)])
    assert isinstance(finger, Polygon)
    return finger


@pytest.mark.parametrize("width", [1.0, 1.5, 1.9])
def test_a_finger_across_the_fibres_is_told_with_its_width_and_angle(width: float) -> None:
    (found,) = short(hook(width), 0.0)
    assert (found.inlay, found.number, found.name) == ("picture", 5, "feathers")
    assert found.width == pytest.approx(width, abs=0.1)
    assert found.angle == pytest.approx(90.0, abs=6.0)
    assert found.place[0] == pytest.approx(18 + width / 2, abs=0.2)
    assert 20 <= found.place[1] <= 32


def test_the_same_finger_along_the_fibres_is_sound() -> None:
    assert short(hook(1.5), 90.0) == ()


@pytest.mark.parametrize("grain, told", [(130.0, 0), (50.0, 0), (30.0, 1), (150.0, 1)])
def test_beyond_45_degrees_between_finger_and_fibres_it_is_told(grain: float, told: int) -> None:
    assert len(short(hook(1.5), grain)) == told


def test_a_finger_of_2_5_mm_is_stout_enough() -> None:
    assert short(hook(2.5), 0.0) == ()


def test_short_grain_is_a_finding_to_look_at() -> None:
    wanted = Wanted("picture", 5, "feathers", "holly", hook(1.5), 0.0, 3.4)
    (look,) = [found for found in place((wanted,), RACK, RULE).findings if "fibres" in found.what]
    assert look.severity == "look"
    assert look.what.startswith("piece 5 feathers has a part 1.5 mm wide with its fibres at ")
    assert (look.where, look.mend) == ("picture, piece 5", "back it with tape, or turn its grain")


def test_sharp_corners_alone_are_no_short_grain() -> None:
    assert short(box(0, 0, 40, 20), 0.0) == ()


def test_a_stout_stroke_with_ends_rounded_by_the_cutter_is_no_short_grain() -> None:
    """The opening leaves films round such ends, which are thin and long and lie across the fibres; nothing snaps."""
    stroke = box(0, 0, 30, 2.9).buffer(-0.8).buffer(0.8)
    assert short(union_all([stroke, box(4, 0, 8, 20)]), 0.0) == ()


def test_an_outline_that_cannot_be_opened_is_told_and_placed_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Offsetting refuses what its two engines disagree about; that must not stop the job, nor pass unseen."""

    def refuse(*_: object) -> None:
        raise PurfleError("an outline cannot be offset by 1.0 mm", "outline", "simplify the outline there")

    monkeypatch.setattr(purfle.offcuts.short_grain, "opening", refuse)
    placed = place((Wanted("picture", 5, "urchin", "holly", box(0, 0, 40, 20), 0.0, 3.4),), RACK, RULE)
    assert len(placed.places) == 1
    assert placed.short_grain == ()
    (look,) = placed.findings
    assert look.severity == "look"
    assert look.what == ("piece 5 urchin was not looked through for short grain: an outline cannot be offset by 1.0 mm")
    assert (look.where, look.mend) == ("picture, piece 5", "simplify the outline there")
