"""Chip loads of straight cutters in wood: the table, and a place to start for one cutter."""

import csv
from functools import cache
from importlib.resources import files
from typing import Literal

import numpy as np

Hardness = Literal["hardwood", "softwood"]
LIGHT_MACHINE = 0.5
"""A small light machine starts at about half of a chart made for stiff ones (from memory)."""
SMALLEST_OF_CHART = 3.175
"""Below this diameter the cutter maker's chart has no row; rows from memory stand in."""


@cache
def chip_load_rows() -> tuple[dict[str, str], ...]:
    """All rows of the table, in file order. Don't change them: they are shared."""
    text = files("purfle.shop").joinpath("data", "chipload.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def chip_load(diameter: float, hardness: Hardness) -> tuple[float, str]:
    """A chip load to start with (mm an edge) for a cutter of this diameter, and where it comes from.

    From 1/8 in: the low figure of the chart, halved for a light machine; below: the middle of the figures from memory.
    Between two rows on a straight line; beyond the ends of the table the figure of the end row.

    Source: cutter maker's chip-load chart for solid carbide spiral router cutters, at a depth of 1 D.
    Valid: diameter 0.8 to 12.7 mm; depth per pass up to one diameter. The cutter maker's own figures win.

    >>> chip_load(6.35, "hardwood")[0]
    0.0635
    """
    table = sorted({*_chart(hardness), *_memory(hardness)})
    diameters, loads = zip(*table, strict=True)
    chart = f"cutter maker's chip-load chart, {hardness}, low figure halved for a light machine (from memory)"
    source = chart if diameter > 0.999 * SMALLEST_OF_CHART else f"from memory, small cutters in {hardness}"
    return float(np.interp(diameter, diameters, loads)), source


def deep_share(diameters: float) -> float:
    """What is left of a chart's chip load in a pass so many diameters deep: 1 up to one, 3/4 at two, 1/2 from three on.

    Source: the chip-load chart's own note (3/4 at two, half at three diameters); a straight line between.

    >>> deep_share(2.0), deep_share(3.0)
    (0.75, 0.5)
    """
    return float(np.interp(diameters, (1.0, 3.0), (1.0, 0.5)))


@cache
def most_rim_speed(diameter: float) -> tuple[float, float]:
    """The highest speed of a rim (m/s) and of turning (rpm) that a table of router cutters has for a diameter (mm).

    Beyond the table's largest its last row stands in.
    Source: router cutter speed table by diameter (one page; tables differ between makers).
    """
    text = files("purfle.shop").joinpath("data", "rpm_by_diameter.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    row = next((row for row in rows if diameter <= float(row["diameter_mm_to"])), rows[-1])
    return float(row["rim_speed_at_max_m_s"]), float(row["max_rpm"])


def _chart(hardness: Hardness) -> list[tuple[float, float]]:
    rows = [row for row in chip_load_rows() if row["source"] == "AST" and row["material"] == hardness]
    return [(float(row["diameter_mm"]), LIGHT_MACHINE * float(row["low_mm"])) for row in rows]


def _memory(hardness: Hardness) -> list[tuple[float, float]]:
    rows = [row for row in chip_load_rows() if row["source"] == "MEM" and row["material"] == hardness]
    middle = [(float(row["diameter_mm"]), (float(row["low_mm"]) + float(row["high_mm"])) / 2) for row in rows]
    return [(diameter, load) for diameter, load in middle if diameter < SMALLEST_OF_CHART]
