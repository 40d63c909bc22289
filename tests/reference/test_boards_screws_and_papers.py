"""Boards on two supports, creep, tipping, screws, noise, rounded arcs and paper, against figures that are not ours.

Each with its source; those from memory say so.
"""

import io
import math
import re
from dataclasses import replace

import numpy as np
import pypdf
import pytest
import shapely

from purfle.carrying import carry
from purfle.carrying.standing import Standing, tipping_of
from purfle.cutting import figures
from purfle.files.rs274 import write_program
from purfle.model.board import Board
from purfle.model.carrying import CarryWish
from purfle.model.job import LengthUnit
from purfle.sheets import bench_sheets
from purfle.sheets.safety import allowed_minutes, minutes_by_law
from purfle.wood import is_softwood, pilot_hole, screw_root, withdrawal
from purfle.wood.bending import bend
from sample import bare_result, tern_result

LONG = 2400.0


def slopes(share: float) -> tuple[float, float]:
    """The slope of a bar's ends, and by how much it is shorter end to end for its bending: both per unit of load."""
    half = np.linspace(0.0, share * LONG, 120)
    between = np.linspace(share * LONG, (1.0 - share) * LONG, 400)
    stations = np.unique(np.round(np.concatenate([half, between, LONG - half]), 9))
    first = int(np.argmin(np.abs(stations - share * LONG)))
    cells = len(stations) - 1
    bent = bend(stations, np.full(cells, 6e9), np.full(cells, 0.07), np.zeros(cells + 1), [first, cells - first])
    slope = np.gradient(bent.down, stations, edge_order=2)
    return float(slope[0]), float(np.trapezoid(slope**2, stations) / 2.0)


def test_the_ends_of_a_bar_stay_level_on_its_airy_points() -> None:
    """G. B. Airy 1845: supports 1 / sqrt 3 of the length apart, so 0.211325 of it beyond each, within 1e-5."""
    shares = (0.2110, 0.2116)
    (low, _), (high, _) = (slopes(share) for share in shares)
    assert low * high < 0.0
    level = shares[0] + (shares[1] - shares[0]) * low / (low - high)
    assert level == pytest.approx(0.211325, abs=1e-5)


def test_a_bar_is_shortened_least_on_its_bessel_points() -> None:
    """F. W. Bessel: 0.2203 of the length beyond each support, within 1e-4: where the axis keeps its length best."""
    shares = np.linspace(0.217, 0.224, 15)
    fitted = np.polyfit(shares - 0.22, [1e6 * slopes(float(share))[1] for share in shares], 4)
    turns = np.roots(np.polyder(fitted))
    (least,) = [float(turn.real) for turn in turns if abs(turn.imag) < 1e-12 and abs(turn.real) < 0.004]
    assert 0.22 + least == pytest.approx(0.2203, abs=1e-4)


def test_years_of_load_double_a_sag() -> None:
    """Wood Handbook, FPL-GTR-190, ch. 5: creep of dry wood about equals its first sag: 0.8 mm become 1.6."""
    table = bare_result(1000.0, 600.0).layout
    found, _ = carry(replace(table, inlays=()), CarryWish(supports=(0.0, 1000.0), spread=20.0))
    assert found is not None
    assert 0.8 * found.after_years / found.sag == pytest.approx(1.6, rel=0.3)


def test_a_board_tips_where_moments_say() -> None:
    """By hand: 180 N on supports 900 mm apart, 100 N 250 mm beyond one: 180 x 450 / (100 x 250) = 3.24 times safe."""
    board = Board("black walnut", 1400.0, 300.0, 20.0)
    hull = shapely.box(250.0, 0.0, 1150.0, 300.0)
    standing = Standing("A", (0.0, 1400.0), (250.0, 1150.0), (), hull, True)
    assert tipping_of(board, standing, 180.0).weight / 100.0 == pytest.approx(3.24, rel=1e-3)


def test_a_newton_on_a_square_millimetre_is_a_thousandth_of_a_joule_in_a_cubic_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By definition: at 35 N/mm2 each mm3 takes 0.035 J, so one mm3 a second 0.035 W."""
    monkeypatch.setattr(figures, "FORCE_OF_CUTTING", 35.0)
    assert figures.power_of_cutting(60.0) == pytest.approx(0.035, rel=1e-12)


@pytest.mark.parametrize(
    ("shank", "wood", "pilot"),
    [(3.5, "white oak", 2.1), (4.0, "hard maple", 2.4), (4.0, "white pine", 1.87), (4.5, "white oak", 2.7)],
)
def test_pilot_holes_are_that_share_of_the_root(shank: float, wood: str, pilot: float) -> None:
    """Wood Handbook, ch. 8: root two thirds of the shank; 70 % of it in softwood (second-hand), 90 % in hardwood (from
    memory), within 0.1 mm.
    """
    assert pilot_hole(screw_root(shank), is_softwood(wood)) == pytest.approx(pilot, abs=0.1)


def test_what_pulls_a_screw_out_is_as_in_pounds_and_inches() -> None:
    """Wood Handbook, ch. 8 (second-hand): p = 15,700 G^2 D L in pounds and inches: 1262 lb for No. 8 in 1 in of 0.7."""
    force = withdrawal(0.7, 0.164 * 25.4, 25.4) / 4.4482216
    assert force == pytest.approx(1262.0, abs=1.0)
    assert force == pytest.approx(15_700 * 0.7**2 * 0.164 * 1.0, rel=1e-3)


@pytest.mark.parametrize(("level", "hours"), [(90.0, 8.0), (95.0, 4.0), (100.0, 2.0)])
def test_the_law_halves_hours_for_each_five_decibels(level: float, hours: float) -> None:
    """From memory: OSHA 29 CFR 1910.95, 90 dBA for 8 h, halved for each 5 dB; longer than an ear stands by NIOSH."""
    assert minutes_by_law(level) / 60.0 == pytest.approx(hours)
    assert minutes_by_law(level) > allowed_minutes(level)


@pytest.mark.parametrize(
    ("unit", "word", "rule", "fewer"), [("mm", "G21", 0.002, 0.0028284), ("inch", "G20", 0.0002, 0.00028284)]
)
def test_programs_have_decimals_enough_for_the_rule_of_arcs(
    unit: LengthUnit, word: str, rule: float, fewer: float
) -> None:
    """NISTIR 6556: both radii of an arc within 0.002 mm, 0.0002 in. Rounding a start, an end and a centre may part them
    by 2 sqrt 2 last decimals (derived): too much with three decimals in mm or four in inches, within with one more.
    """
    result = tern_result()
    set_up = result.cutting.set_ups[0]
    job = replace(result.job, cutting=replace(result.job.cutting, unit=unit))
    text = write_program(job, set_up, set_up.programs[0])
    assert word in text
    places = max(len(found) for found in re.findall(r"\b[XYIJ]-?\d+\.(\d+)", text))
    bound = 2.0 * math.sqrt(2.0) * 10.0**-places
    assert bound < rule
    assert 10.0 * bound == pytest.approx(fewer, rel=0.01)
    assert 10.0 * bound > rule


def test_a_sheet_of_a4_is_as_many_points_and_far_below_the_most_a_page_may_be() -> None:
    """ISO 32000-1: a unit is 1/72 in, so 210 x 297 mm are 595.2756 x 841.8898; at most 14,400 of them (5,080 mm)."""
    sheets = pypdf.PdfReader(io.BytesIO(bench_sheets(tern_result("mm", "a4"), "mm", "a4")))
    for page in sheets.pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx((595.2756, 841.8898), abs=1e-4)
        assert max(size) * float(page.user_unit) * 25.4 / 72.0 < 5080.0
    assert 14_400 * 25.4 / 72.0 == 5080.0
