"""Feed, chip, rim, bending of cutters and of boards, against published figures and closed forms worked out apart.

`tests/data/cutting_checks.csv` holds them, each with its source.
"""

import csv
import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from purfle import cutting
from purfle.cutting.figures import rim_speed, thickest_chip
from purfle.model.shop import Cutter, Machine
from purfle.shop.chip_loads import chip_load_rows, deep_share, most_rim_speed
from purfle.wood import beams

CHECKS = list(csv.DictReader((Path(__file__).parents[1] / "data" / "cutting_checks.csv").open(encoding="utf-8")))
FOOT = 304.8


def _cutter(**changes: object) -> Cutter:
    known = {"number": 1, "name": "c", "diameter": 3.175, "flutes": 2, "cutting_length": 12.0, "stick_out": 20.0}
    return Cutter(**(known | {"max_speed": 30000.0} | changes))  # type: ignore[arg-type]


MACHINE = Machine("m", (600, 400, 80), 24000, 5000, 8000, 300, 5)


def _feed(rpm: float, flutes: int, chip_mm: float) -> dict[str, float]:
    cutter = _cutter(flutes=flutes, chip_load=chip_mm, speed=rpm)
    return {"feed_mm_min": cutting.figures_for(cutter, MACHINE, 1.5, 1.5).feed}


def _moment(given: dict[str, float]) -> float:
    return beams.second_moment(given["b"], given["h"])


def _overhang(given: dict[str, float]) -> dict[str, float]:
    middle, ends = beams.sag_overhanging(given["w"], (given["L"], given["a"]), given["E"], _moment(given))
    return {"centre_mm": middle, "tip_mm": ends}


WORKED: dict[str, Callable[[dict[str, float]], dict[str, float]]] = {
    "beam_simple_uniform": lambda g: {"sag_mm": beams.sag_even(g["w"], g["l"], g["E"], _moment(g))},
    "beam_simple_mid": lambda g: {"sag_mm": beams.sag_middle(g["P"], g["l"], g["E"], _moment(g))},
    "beam_cantilever_point": lambda g: {"tip_mm": beams.drop_tip(g["P"], g["l"], g["E"], _moment(g))},
    "beam_cantilever_uniform": lambda g: {"tip_mm": beams.drop_even(g["w"], g["l"], g["E"], _moment(g))},
    "beam_overhang": _overhang,
    "cutter_deflection": lambda g: {
        "tip_mm": cutting.deflection(g["F"], g["l"], g["core"] * g["d"], 1000.0 * g["E_GPa"])
    },
    "feed": lambda g: _feed(**g),  # type: ignore[arg-type]
    "chip_depth_factor": lambda g: {"chip": g["chip_1D"] * deep_share(g["depth_in"] / g["D_in"])},
    "surface_speed": lambda g: {"m_s": rim_speed(g["D"], g["rpm"])},
    "rim_speed": lambda g: {"ft_min": 60_000.0 * rim_speed(25.4 * g["D_in"], g["rpm"]) / FOOT},
    "chip_thinning": lambda g: {"h_max": thickest_chip(g["chip"], g["ae_over_D"])},
}


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check["topic"])
def test_figures_agree_with_their_source(check: dict[str, str]) -> None:
    found = WORKED[check["topic"]](json.loads(check["input"]))
    tolerance = check["tolerance"]
    share = float(tolerance[:-1]) / 100.0 if tolerance.endswith("%") else 0.0
    # a figure printed to five decimals is known to half of the last one
    printed = 5e-6 if share else float(tolerance) + 1e-9
    assert found == pytest.approx(json.loads(check["expected"]), rel=share, abs=printed), check["source"]


def test_the_published_chart_is_as_printed() -> None:
    """Chip loads of the cutter maker's chart in thousandths of an inch, hardwood, low and high, 1/8 to 1/2 in."""
    rows = [row for row in chip_load_rows() if row["source"] == "AST" and row["material"] == "hardwood"]
    printed = [("1/8", 2, 4), ("1/4", 5, 7), ("3/8", 13, 15), ("1/2", 17, 19)]
    assert [
        (r["diameter_in"], round(1000 * float(r["low_in"])), round(1000 * float(r["high_in"]))) for r in rows
    ] == printed


@pytest.mark.parametrize("inches, rpm", [(0.5, 24000), (1.0, 24000), (1.5, 20000), (2.25, 16000), (3.0, 12000)])
def test_speeds_by_diameter_are_as_printed(inches: float, rpm: float) -> None:
    """A router cutter speed table by diameter."""
    assert most_rim_speed(25.4 * inches)[1] == rpm


def test_a_cutter_bends_as_its_two_diameters_say() -> None:
    """Virtual work: the sum of F x^2 / (E I) over thin slices, edges at 0.8 of their diameter, then the shank."""
    cutter = _cutter(diameter=1.5875, cutting_length=5.0, stick_out=16.0, shank=3.175)
    x: NDArray[np.float64] = (np.arange(160_000) + 0.5) * 1e-4
    across = np.where(x < 5.0, 0.8 * 1.5875, 3.175)
    summed = float((3.0 * x**2 / (600_000.0 * math.pi * across**4 / 64.0)).sum() * 1e-4)
    assert cutting.bending(3.0, cutter) == pytest.approx(summed, rel=1e-6)


def test_a_board_sags_least_where_middle_and_ends_sag_alike() -> None:
    """At 0.223149 of the length beyond each support (derived, published as 0.2231), not at Bessel's 0.2203."""
    moment = beams.second_moment(400.0, 25.0)

    def worst(share: float) -> float:
        return max(beams.sag_overhanging(0.07, (2400.0, share * 2400.0), 12000.0, moment))

    shares = np.linspace(0.2, 0.25, 50_001)
    assert shares[int(np.argmin([worst(float(one)) for one in shares]))] == pytest.approx(0.223149, abs=2e-6)
    assert worst(0.223149) < worst(0.220308)
