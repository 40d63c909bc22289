"""Speed, feed and what the cutter bends: figures to start with, each with its source."""

import math

from purfle.model.cutting import CuttingFigures
from purfle.model.shop import Cutter, Machine
from purfle.shop.chip_loads import chip_load

STIFFNESS_OF_CARBIDE = 600_000.0
"""Young's modulus of solid carbide, N/mm2 (from memory, 550 to 650 GPa)."""
CORE_SHARE = 0.8
"""A fluted cutter bends like a round bar of this share of its diameter (from memory, 0.75 to 0.85)."""
FORCE_OF_CUTTING = 40.0
"""Force an edge meets in hardwood, N for each mm2 of chip section (from memory, 20 to 70)."""
PLUNGE_SHARE = 0.33
"""Plunging feed as a share of the feed (from memory, 0.25 to 0.5)."""
THINNEST_CHIP = 0.01
"""An edge that takes less than this rubs and burns instead of cutting (from memory)."""


def figures_for(cutter: Cutter, machine: Machine, depth: float) -> CuttingFigures:
    """Speed within the cutter's and the machine's, feed from the chip load within the machine's, bending at the tip.

    `depth` (mm) is the deepest cut that the cutter takes at once. The wood counts as hardwood, whose chip loads are the
    smaller ones. The thinner chip of a light side cut is not made up for by more feed, and its force is counted as if
    it were a full one: the figures stay on the careful side.

    Source: F = n z c, from memory. Valid: depth per pass up to one diameter.
    """
    speed = min(cutter.max_speed, machine.speed)
    wished, source = chip_load(cutter.diameter, "hardwood")
    feed = speed * cutter.flutes * wished
    if feed > machine.max_feed:
        feed = machine.max_feed
        source += "; held back by the machine's largest feed"
    chip = feed / (speed * cutter.flutes)
    bent = deflection(depth * chip * FORCE_OF_CUTTING, cutter.stick_out, CORE_SHARE * cutter.diameter)
    return CuttingFigures(speed, feed, PLUNGE_SHARE * feed, chip, source, bent)


def deflection(force: float, length: float, diameter: float, stiffness: float = STIFFNESS_OF_CARBIDE) -> float:
    """How far the tip of a round bar bends (mm) under a force (N) at its end, held at the other.

    Source: cantilever with a load at its tip, F l^3 / (3 E I) with I = pi d^4 / 64 (closed form).
    Valid: mm, N, N/mm2; small bending. A fluted cutter counts as a bar of 0.8 of its diameter.

    >>> round(deflection(10.0, 12.0, 3.175), 6)
    0.001925
    """
    return force * length**3 / (3.0 * stiffness * math.pi * diameter**4 / 64.0)
