"""What the maker laid on an offcut stays where it was laid; what cannot lie there is told, and laid like all others."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from purfle.errors import JobFileError
from purfle.files.job_toml import load_job
from purfle.model.findings import Finding
from purfle.model.offcuts import Laid, OffcutRule, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts import place

RULE = OffcutRule(margin=6.0, between=5.0, from_defect=3.0)
KNOT = MultiPolygon([Point(100, 50).buffer(5)])
RACK = (
    Offcut("large", "holly", box(0, 0, 200, 100), 3.6, defects=KNOT),
    Offcut("small", "holly", box(0, 0, 90, 50), 3.6),
    Offcut("dark", "wenge", box(0, 0, 90, 50), 3.6),
)


OBLONG = box(0, 0, 40, 20)


def part(number: int, name: str, region: Polygon = OBLONG, grain: float = 0.0) -> Wanted:
    return Wanted("picture", number, name, "holly", region, grain, 3.4)


WING, BILL = part(1, "wing"), part(2, "bill", box(0, 0, 20, 6))


def laid(*by_hand: Laid) -> OffcutRule:
    return replace(RULE, laid=by_hand)


def the_stop(by_hand: Laid, *more: Laid) -> Finding:
    """The one stop that laying gives; all parts have wood all the same."""
    placed = place((WING, BILL), RACK, laid(by_hand, *more))
    assert not placed.unplaced
    (stop,) = [one for one in placed.findings if one.severity == "stop"]
    return stop


def test_a_part_lies_where_and_how_it_was_laid_and_the_others_around_it() -> None:
    placed = place((WING, BILL), RACK, laid(Laid("wing", "Large", (150.0, 40.0), 180.0)))
    lies = {one.part.name: one for one in placed.places if not one.spare}
    left, low, right, high = lies["wing"].region.bounds
    assert ((left + right) / 2, (low + high) / 2) == pytest.approx((150.0, 40.0))
    assert (lies["wing"].offcut, lies["wing"].pose.angle) == ("large", 180.0)
    assert lies["bill"].region.distance(lies["wing"].region) >= RULE.between or lies["bill"].offcut != "large"
    assert placed.findings == ()


def test_without_a_turn_the_fibres_run_along_those_of_the_offcut() -> None:
    rack = (replace(RACK[0], grain=90.0),)
    placed = place((part(1, "wing", grain=30.0),), rack, laid(Laid("1", "large", (40.0, 40.0))))
    (one,) = [one for one in placed.places if not one.spare]
    assert one.pose.direction(30.0) % 180.0 == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("by_hand", "what", "mend"),
    [
        (Laid("wing", "large", (150.0, 12.0)), "4.0 mm too near to the edge", "move it"),
        (Laid("wing", "large", (100.0, 50.0)), "too near to a defect", "move it"),
        (Laid("wing", "large", (10.0, 50.0)), "over the edge of the offcut, along 20.0 mm", "move it"),
        (Laid("wing", "dark", (45.0, 25.0)), '"wing" is of American holly, the offcut of wenge', "its own wood"),
        (Laid("wing", "larch", (45.0, 25.0)), 'there is no offcut "larch"', "large, small, dark"),
        (Laid("win", "large", (45.0, 25.0)), 'no part is called "win"', "wing, bill"),
    ],
)
def test_what_cannot_lie_there_is_told_with_the_reason(by_hand: Laid, what: str, mend: str) -> None:
    stop = the_stop(by_hand)
    assert what in stop.what
    assert mend in stop.mend
    assert stop.where == f"rack, {by_hand.offcut}, {by_hand.piece}"


def test_two_parts_too_near_to_each_other_are_told_with_what_is_missing() -> None:
    stop = the_stop(Laid("wing", "large", (40.0, 30.0)), Laid("bill", "large", (40.0, 45.0)))
    assert stop.what.startswith('"bill" lies 3.0 mm too near to "wing"')


def test_one_part_laid_twice_is_told() -> None:
    stop = the_stop(Laid("wing", "large", (40.0, 30.0)), Laid("wing", "small", (40.0, 25.0)))
    assert '"wing" is laid twice' in stop.what


def test_a_name_that_several_parts_have_asks_for_the_number() -> None:
    twins = (WING, part(2, "wing"))
    placed = place(twins, RACK, laid(Laid("wing", "large", (40.0, 30.0))))
    (stop,) = [one for one in placed.findings if one.severity == "stop"]
    assert stop.what.startswith('"wing" is the name of 2 parts')
    assert "(1, 2)" in stop.mend
    by_number = place(twins, RACK, laid(Laid("2", "large", (150.0, 30.0))))
    assert [one.part.number for one in by_number.places if one.offcut == "large" and not one.spare] == [2]


def test_a_turn_off_the_grain_is_the_makers_and_looked_at() -> None:
    placed = place((WING,), RACK, laid(Laid("wing", "large", (50.0, 50.0), 90.0)))
    (look,) = placed.findings
    assert (look.severity, look.what) == ("look", '"wing" lies 90 degrees off the grain that was asked for')


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(8, 40), st.floats(5, 15)), min_size=1, max_size=5), st.floats(0, 180))
def test_what_lies_already_can_be_laid_by_hand_just_there(sizes: list[tuple[float, float]], grain: float) -> None:
    """Every place that is found is one that the maker may choose: laying all by hand changes nothing."""
    parts = tuple(part(n, f"part {n}", box(0, 0, *size), grain) for n, size in enumerate(sizes, 1))
    found = place(parts, RACK, replace(RULE, spares_below=0.0))
    by_hand = tuple(_as_laid(one.part.number, one.offcut, one.region, one.pose.angle) for one in found.places)
    again = place(parts, RACK, replace(RULE, spares_below=0.0, laid=by_hand))
    assert not [one for one in again.findings if one.severity == "stop" and "laid elsewhere" in one.what]
    regions = {one.part.number: one.region for one in again.places}
    for one in found.places:
        assert shapely.hausdorff_distance(regions[one.part.number], one.region) < 1e-6


def _as_laid(number: int, offcut: str, region: Polygon, angle: float) -> Laid:
    left, low, right, high = region.bounds
    return Laid(str(number), offcut, ((left + right) / 2, (low + high) / 2), angle)


def test_the_job_file_says_it_in_its_own_unit(tmp_path: Path) -> None:
    _write(tmp_path, '[[laid]]\npiece = 1\noffcut = "large"\nfrom_left = "2 in"\nfrom_bottom = 30\nangle = 180\n')
    assert load_job(tmp_path).laid == (Laid("1", "large", (50.8, 30.0), 180.0),)


def test_a_wrong_key_and_a_missing_one_are_told_at_once(tmp_path: Path) -> None:
    _write(tmp_path, '[[laid]]\npiece = "disc"\noffcut = "large"\nfrom_lefft = 20\n')
    with pytest.raises(JobFileError) as refusal:
        load_job(tmp_path)
    told = [fault.what + fault.mend for fault in refusal.value.faults]
    assert any("from_lefft" in one and "from_left" in one for one in told)
    assert any("from_bottom" in one for one in told)


def _write(folder: Path, more: str) -> None:
    board = (
        '[job]\nname = "Lid"\nunits = "mm"\n\n[board]\nwood = "white oak"\nlength = 300\nwidth = 200\nthickness = 19\n'
    )
    disc = '[[shape]]\nkind = "disc"\ndiameter = 40\nwood = "holly"\ndepth = 3\ncentred = true\n'
    fit = '[fit]\nseam = 0.1\ncutter = "1/8 in straight"\n'
    (folder / "job.toml").write_text("\n".join((board, disc, fit, more)), encoding="utf-8")
