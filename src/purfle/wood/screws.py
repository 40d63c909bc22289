"""Wood screws: the root of their thread, the pilot hole that they ask for, and what pulls them out.

Source: Wood Handbook (FPL-GTR-190), chapter 8, "Wood Screws": a root diameter of about two thirds of the shank; lead
holes of about 70 % of the root in softwood (confirmed second-hand) and about 90 % in hardwood (from memory).
"""

import math
import re

from purfle.wood.own import OWN
from purfle.wood.practice import practice
from purfle.wood.species import find
from purfle.wood.tables import rows

CONIFERS = re.compile(
    "abies|agathis|araucaria|callitropsis|cedrus|chamaecyparis|cupressus|juniperus|larix|picea|pinus|pseudotsuga|"
    "sequoia|taxodium|taxus|thuja|tsuga"
)
"""Genera of softwoods: what bears cones (or, yew, berries), whatever its hardness."""
NEWTONS = 108.25
"""Wood Handbook Eq. 8-10 for lead-holed screws in side grain, N and mm (read second-hand): p = 108.25 G^2 D L."""
MOIST = 1.12
"""Weight at 12 % of moisture over dry weight (definition)."""
SAFE_SHARE = 6.0
"""What pulls a screw out, by so much, is what it is loaded with for good: a factor of 5 to 6, from memory."""


def is_softwood(wood: str) -> bool:
    """True for the wood of conifers, by its botanical name; a wood of the maker's own without one counts as hardwood.

    >>> is_softwood("white pine"), is_softwood("balsa")
    (True, False)
    """
    genus = find(wood).botanical.partition(" ")[0].casefold()
    return CONIFERS.fullmatch(genus) is not None


def screw_root(shank: float) -> float:
    """The root diameter of a screw of this shank, both in one unit, where its maker does not say.

    >>> round(screw_root(3.5), 2)
    2.33
    """
    return shank * float(practice("screw", "root diameter").typical or 0.0)


def pilot_hole(root: float, softwood: bool) -> float:
    """The diameter of the hole drilled first for a screw with this root diameter, in the same unit.

    >>> round(pilot_hole(screw_root(3.5), softwood=False), 2), round(pilot_hole(screw_root(4.0), softwood=True), 2)
    (2.1, 1.87)
    """
    kind = "softwood" if softwood else "hardwood"
    return root * float(practice("screw", f"pilot (lead) hole / root diameter, {kind}").typical or 0.0)


def withdrawal(gravity: float, shank: float, length: float) -> float:
    """The force in N that pulls a screw out of side grain at once; divide it by 5 to 6 before anything hangs on it.

    `gravity`: oven-dry weight over volume at 12 %, without unit. `shank`, and `length` of thread in the wood, in mm.
    Valid for lead-holed screws square to the grain; in end grain three quarters of it or less (Wood Handbook).

    >>> round(withdrawal(0.7, 0.164 * 25.4, 25.4) / 4.4482)
    1262
    """
    return NEWTONS * gravity**2 * shank * length


def gravity_of(wood: str) -> float | None:
    """Specific gravity of a wood, oven-dry weight over volume at 12 % moisture; None where nobody gives it.

    Where only that over green volume is published, the volume at 12 % follows from the shrinkage: three fifths of it
    are done by then (30 % to 12 % of moisture, Wood Handbook Eq. 4-7; derived). A density of the maker's own is that at
    12 %: for each kg of dry wood there are 0.12 kg of water in it.
    """
    species = find(wood)
    row = next((row for row in rows("wood") if row["id"] == species.id), None)
    if species.density is not None and (row is None or species.density.status == OWN):
        return species.density.value / (1000.0 * MOIST)
    if row is None:
        return None
    gravity, shrinkage = float(row["sg"]), float(row["shrink_V_pct"] or math.nan)
    if row["sg_volume_basis"] != "green" or math.isnan(shrinkage):
        return gravity
    return gravity / (1.0 - 0.6 * shrinkage / 100.0)
