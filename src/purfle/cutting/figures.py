"""Speed, feed, and what the cutter meets and bends by: figures to start with, each with its source."""

import math
from collections.abc import Sequence

from purfle.errors import FitError
from purfle.model.cutting import CuttingFigures, Pass
from purfle.model.shop import Cutter, Machine
from purfle.shop.chip_loads import chip_load, deep_share

STIFFNESS_OF_CARBIDE = 600_000.0
"""Young's modulus of solid carbide, N/mm2 (from memory, 550 to 650 GPa)."""
CORE_SHARE = 0.8
"""The edges of a cutter bend like a round bar of this share of its diameter (from memory, 0.75 to 0.85)."""
FORCE_OF_CUTTING = 40.0
"""Force an edge meets in hardwood, N for each mm2 of chip section (from memory, 20 to 70)."""
PLUNGE_SHARE = 0.33
"""Plunging feed as a share of the feed (from memory, 0.25 to 0.5)."""
THINNEST_CHIP = 0.01
"""An edge that takes less than this rubs and burns instead of cutting (from memory)."""


def figures_for(cutter: Cutter, machine: Machine, depth: float, bite: float) -> CuttingFigures:
    """Speed within the cutter's and the machine's, feed from the chip load within the machine's, force, power, bending.

    `depth` (mm) is the deepest cut that the cutter takes at once, with the allowance as its width; `bite` the deepest
    that it takes at its full width. The wood counts as hardwood, whose chip loads are the smaller ones. The thinner
    chip of a light side cut is not made up for by more feed, and its force is counted as if it were a full one: the
    figures stay on the careful side.

    Raises: FitError where the machine turns faster than is marked on the cutter, however slowly it turns.
    Source: F = n z c, from memory. Valid: depth per pass up to three diameters.
    """
    speed = _speed(cutter, machine)
    wished, source = _chip(cutter, bite)
    feed = speed * cutter.flutes * wished
    if feed > machine.max_feed:
        feed = machine.max_feed
        source += "; held back by the machine's largest feed"
    chip = feed / (speed * cutter.flutes)
    force = depth * chip * FORCE_OF_CUTTING
    return CuttingFigures(
        speed,
        feed,
        PLUNGE_SHARE * feed,
        chip,
        source,
        bending(force, cutter),
        force,
        power_of_cutting(cutter.width * bite * feed),
        rim_speed(cutter.diameter, speed),
    )


def figures_of(passes: Sequence[Pass], cutter: Cutter, machine: Machine) -> CuttingFigures:
    """The figures of the passes of one cutter, in running order. Raises as `figures_for` does."""
    return figures_for(cutter, machine, max(one.depth for one in passes), deepest_bite(passes))


def deepest_bite(passes: Sequence[Pass]) -> float:
    """How deep (mm) the cutter goes into wood that no roughing pass before it has taken, at most.

    In a recess the last pass takes no more than the allowance; around parts it goes through the skin too.
    """
    deepest, reached = 0.0, 0.0
    for one in passes:
        if one.kind == "spring":
            continue
        if one.kind == "last":
            deepest, reached = max(deepest, one.depth - reached), 0.0
            continue
        reached = reached if one.depth > reached else 0.0
        deepest, reached = max(deepest, one.depth - reached), one.depth
    return deepest or max(one.depth for one in passes)


def refuse_too_fast(cutter: Cutter, machine: Machine) -> None:
    """FitError where the machine turns faster than is marked on the cutter, however slowly it turns."""
    if not machine.turns_slowly_enough(cutter):
        what = f"{cutter.name} is marked {cutter.max_speed:.0f} rpm; {machine.name} turns no slower than "
        mend = "take a cutter that may turn so fast; if the machine turns slower, correct its slowest_speed"
        raise FitError(f"{what}{machine.slowest_speed:.0f} rpm", cutter.name, mend)


def _speed(cutter: Cutter, machine: Machine) -> float:
    refuse_too_fast(cutter, machine)
    wished = min(cutter.speed or cutter.max_speed, cutter.max_speed, machine.speed)
    return max(wished, machine.slowest_speed)


def _chip(cutter: Cutter, bite: float) -> tuple[float, str]:
    """The chip load to aim at, and where it is from: the cutter maker's where the shop has it, else the table's."""
    if cutter.chip_load is not None:
        return cutter.chip_load, "as the shop says of this cutter"
    load, source = chip_load(cutter.diameter, "hardwood")
    share = deep_share(bite / cutter.diameter)
    return share * load, source if share == 1.0 else f"{source}; {share:.2g} of it, for passes so deep"


def bending(force: float, cutter: Cutter) -> float:
    """How far the tip of a cutter bends (mm) under a force (N) at its tip: a bar of two diameters.

    Its edges count as a bar of `CORE_SHARE` of their diameter, what sticks out above them as one of the shank's.

    Source: integral of F x^2 / (E I) from the tip up, I of each part (closed form); E and the share from memory.
    """
    edges = min(cutter.cutting_length, cutter.stick_out)
    shank = cutter.shank or cutter.diameter
    above = deflection(force, cutter.stick_out, shank) - deflection(force, edges, shank)
    return deflection(force, edges, CORE_SHARE * cutter.diameter) + above


def deflection(force: float, length: float, diameter: float, stiffness: float = STIFFNESS_OF_CARBIDE) -> float:
    """How far the tip of a round bar bends (mm) under a force (N) at its end, held at the other.

    Source: cantilever with a load at its tip, F l^3 / (3 E I) with I = pi d^4 / 64 (closed form).
    Valid: mm, N, N/mm2; small bending.

    >>> round(deflection(10.0, 12.0, 3.175), 6)
    0.001925
    """
    return force * length**3 / (3.0 * stiffness * math.pi * diameter**4 / 64.0)


def power_of_cutting(volume: float) -> float:
    """Power at the cutter (W) to cut so much wood in a minute (mm3).

    Source: P = k V, k = `FORCE_OF_CUTTING` as J for each 1000 mm3 (from memory); what the spindle loses comes on top.

    >>> power_of_cutting(60_000.0)
    40.0
    """
    return FORCE_OF_CUTTING * volume / 60_000.0


def rim_speed(diameter: float, speed: float) -> float:
    """Speed of a cutter's rim (m/s) at a diameter (mm) and a speed (rpm): pi d n.

    >>> round(rim_speed(3.175, 24000.0), 4)
    3.9898
    """
    return math.pi * diameter * speed / 60_000.0


def thickest_chip(chip: float, share: float) -> float:
    """The thickest that a chip gets (mm) where the cut takes a share of the diameter; below one half less than `chip`.

    Source: 2 c sqrt(r - r^2), the height of a chord's chip for an edge on a circle (closed form).

    >>> round(thickest_chip(0.08, 0.04), 5)
    0.03135
    """
    return chip if share >= 0.5 else 2.0 * chip * math.sqrt(share - share**2)
