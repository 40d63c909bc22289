"""The tolerance stack against closed forms, and against random numbers that know nothing of its formulas."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from purfle.chances import Stack, by_hand, chances_of, even_share, widest_seam
from purfle.shop.trial import BY_HAND_ERROR
from sample import tern_result

BARE = Stack(0.1, 0.1, 0.03, 0.0, 0.0, 0.0, 0.0, (0.0,))
JOBS = 200_000


@pytest.mark.parametrize("seam, chance", [(0.05, 1.0), (0.01, 0.0)])
def test_without_any_error_a_seam_goes_in_or_does_not(seam: float, chance: float) -> None:
    stack = replace(BARE, narrowest=seam, widest=seam)
    assert by_hand(stack) == pytest.approx(chance)
    assert widest_seam(stack) == pytest.approx(seam, abs=2e-4)


@pytest.mark.parametrize("cause", ["shared", "goes_in_spread"])
def test_one_shared_cause_alone_is_one_normal_share(cause: str) -> None:
    """P = Phi((a - h) / T), and the width that 95 of 100 stay below is a + 1.645 T."""
    stack = replace(BARE, narrowest=0.05, widest=0.05, **{cause: 0.016})
    assert by_hand(stack) == pytest.approx(NormalDist().cdf(0.02 / 0.016), abs=2e-3)
    if cause == "shared":
        assert widest_seam(stack) == pytest.approx(0.05 + 0.016 * NormalDist().inv_cdf(0.95), abs=3e-4)


def test_two_walls_alone_are_a_triangle() -> None:
    """Sides of three parts without swelling: twelve triangles within 0.02, 1 - (2 - x/0.01)^2 / 8 to the twelfth."""
    stack = replace(BARE, narrowest=0.05, widest=0.05, wall=0.01, swelling=(0.0, 0.0, 0.0))
    side = 0.02 - 0.01 * math.sqrt(8.0 * (1.0 - 0.95 ** (1.0 / 12.0)))
    assert widest_seam(stack) == pytest.approx(0.05 + side, abs=1e-4)


@pytest.mark.parametrize("reaches", [(0.5, 0.5), (1.0, 0.2, 0.7), (0.01, 0.01, 0.01, 0.01, 0.004), (0.02, 0.02, 1e-6)])
def test_the_share_of_even_sums_is_that_of_random_ones(reaches: tuple[float, ...]) -> None:
    random = np.random.default_rng(5)
    sums = sum(random.uniform(-reach, reach, JOBS) for reach in reaches)
    x = np.linspace(-1.1, 1.1, 41) * sum(reaches)
    (found,) = even_share(x, [np.array([[reach]]) for reach in reaches])
    counted = np.array([float((sums < one).mean()) for one in x])
    assert np.abs(found - counted).max() < 0.004


@pytest.mark.parametrize("seam", [0.04, 0.06, 0.1])
@pytest.mark.parametrize("reach, swing, path", [(0.02, 0.02, 0.008), (0.01, 0.03, 0.02), (0.03, 0.0, 0.005)])
@pytest.mark.parametrize("parts", [1, 7])
def test_random_jobs_come_out_as_reckoned(seam: float, reach: float, swing: float, path: float, parts: int) -> None:
    """Run-out is alike likely over its width, not normal; both sides across the grain share their swelling."""
    random = np.random.default_rng(11)
    half_swelling = np.linspace(0.0, 0.025, parts)
    wider = random.normal(0.0, path, JOBS) + random.uniform(0.0, swing, JOBS)
    goes_in = random.normal(0.03, BY_HAND_ERROR, JOBS)
    fits, widest = np.ones(JOBS, bool), np.full(JOBS, -1.0)
    for half in half_swelling:
        swollen = random.uniform(-half, half, JOBS) if half else np.zeros(JOBS)
        for across in (0.0, 1.0):
            walls = random.uniform(-reach, reach, (4, JOBS))
            # recess: two walls, part: two walls; + opens the seam
            sides = [seam + wider + walls[k] + walls[k + 1] - across * swollen for k in (0, 2)]
            fits &= (sides[0] + sides[1]) / 2.0 >= goes_in
            widest = np.maximum(widest, np.maximum(sides[0], sides[1]))
    shared = math.hypot(path, swing / math.sqrt(12.0))
    stack = Stack(seam, seam, 0.03, swing / 2.0, shared, BY_HAND_ERROR, reach, tuple(half_swelling.tolist()))
    assert by_hand(stack) == pytest.approx(float(fits.mean()), abs=0.01)
    assert widest_seam(stack) == pytest.approx(float(np.quantile(widest, 0.95)), abs=0.003)


def test_a_wider_seam_never_goes_in_less_likely_and_a_surer_cutter_never_widens_it() -> None:
    stack = Stack(0.05, 0.05, 0.03, 0.01, 0.02, 0.015, 0.01, (0.01, 0.02))
    chances = [by_hand(replace(stack, narrowest=seam)) for seam in (0.02, 0.04, 0.06, 0.1, 0.2)]
    assert chances == sorted(chances)
    widths = [widest_seam(replace(stack, shared=shared)) for shared in (0.0, 0.01, 0.02, 0.04)]
    assert widths == sorted(widths)


def test_what_nobody_measured_is_said_and_what_a_trial_found_is_used() -> None:
    result = tern_result()
    job, shop = result.job, result.shop
    usual = chances_of(job, shop, result.layout.inlays, result.on_offcuts)
    assert [chance.inlay for chance in usual] == [inlay.name for inlay in result.layout.inlays]
    assert all(cause.is_assumed for chance in usual for cause in chance.causes)
    known = [
        replace(cutter, path_width=cutter.diameter, path_width_error=0.004, goes_in=0.02, fit_trial="2026-11-30")
        for cutter in shop.cutters
    ]
    machine = replace(shop.machine, run_out=0.01, repeatability=0.01)
    measured = replace(shop, cutters=tuple(known), machine=machine)
    wish = replace(job.fit, moisture=0.2)
    sure = chances_of(replace(job, fit=wish), measured, result.layout.inlays, result.on_offcuts)
    assert not any(cause.is_assumed for chance in sure for cause in chance.causes)
    assert [cause.source for cause in sure[0].causes][:2] == ["fit trial", "as the shop says"]
    assert sure[0].goes_in == 0.02
    for before, after in zip(usual, sure, strict=True):
        assert after.by_hand >= before.by_hand
        assert after.widest < before.widest


def test_a_wide_part_across_its_grain_swells_more() -> None:
    """Half of W C m, over sqrt 3: the largest part of the picture rules."""
    result = tern_result()
    chance = chances_of(result.job, result.shop, result.layout.inlays, result.on_offcuts)[0]
    moisture = next(cause for cause in chance.causes if cause.name.startswith("moisture"))
    wide = max(
        max(one.region.bounds[2] - one.region.bounds[0], one.region.bounds[3] - one.region.bounds[1])
        for one in result.layout.inlays[0].fit.inserts
    )
    assert 0.0 < moisture.spread <= 0.004 * wide * 0.5 / math.sqrt(3.0) / 2.0
