"""How much a wood grows or shrinks across and along its fibres between two moistures, whatever way it was cut."""

import math
from functools import cache

from purfle.errors import PurfleError
from purfle.model.season import Growth
from purfle.wood.movement import FIBRE_SATURATION, movement_small, movement_wide
from purfle.wood.species import Figure, Species

CHANGE_ALONG = 0.00005
"""Share of its length by which wood grows along its fibres for 1 % of moisture, from shrinkage of 0.1 to 0.2 %.

Source: Wood Handbook, FPL-GTR-190, ch. 4 (the shrinkage second-hand, the coefficient derived).
"""
SMALL = (6.0, 14.0)
"""Moistures (%) between which the coefficients of change hold. Source: Wood Handbook, FPL-GTR-190, ch. 13."""


@cache
def growth_across(species: Species, rings: float, moisture: tuple[float, float]) -> Growth:
    """Growth across the fibres, in the plane of the face, from the first moisture (%) to the second.

    `rings`: angle of the growth rings to the face in degrees, 0 flat-sawn to 90 quarter-sawn. Within 6 to 14 % by
    Eq. (13-2) of the Wood Handbook, beyond by Eq. (13-3), its form from memory. Between flat and quarter the figure is
    C_T cos^2 + C_R sin^2, as a strain turns (from memory). Valid: moistures 0 to 30 %, rings 0 to 90 degrees.
    Raises PurfleError where no figure of the wood is known, or a moisture is out of range.

    >>> from purfle.wood.species import find
    >>> growth_across(find("white oak"), 0.0, (6.0, 10.0)).share
    0.0146
    """
    _check(rings, moisture)
    change = _turned(species.change_radial, species.change_tangential, rings)
    if change is not None and all(SMALL[0] <= one <= SMALL[1] for one in moisture):
        return Growth(movement_small(1.0, change.value, moisture), "13-2", change.value, change.source, change.status)
    shrinkage = _turned(species.shrinkage_radial, species.shrinkage_tangential, rings)
    if shrinkage is None and change is not None:
        shrinkage = Figure(shrinkage_from(change.value), "%", change.source, "derived")
    if shrinkage is None:
        mend = f'give its figures in the shop file: [[wood]] name = "{species.common}", source, shrinkage_tangential'
        raise PurfleError(f"no figure of how {species.common} moves is known", f"wood '{species.common}'", mend)
    share = movement_wide(1.0, shrinkage.value, moisture)
    return Growth(share, "13-3", shrinkage.value, shrinkage.source, shrinkage.status)


def growth_along(moisture: tuple[float, float]) -> Growth:
    """Growth along the fibres, of any wood, from the first moisture (%) to the second. Valid: 0 to 30 %."""
    _check(0.0, moisture)
    share = CHANGE_ALONG * (moisture[1] - moisture[0])
    return Growth(share, "along", CHANGE_ALONG, "WH190-4-3", "derived")


def moves(species: Species) -> bool:
    """True if there are figures to reckon its growth with."""
    pairs = (
        (species.change_radial, species.change_tangential),
        (species.shrinkage_radial, species.shrinkage_tangential),
    )
    return any(radial is not None and tangential is not None for radial, tangential in pairs)


def shrinkage_from(change: float) -> float:
    """The shrinkage (%) that belongs to a coefficient of change: `derived_coefficient` the other way round.

    >>> from purfle.wood.movement import derived_coefficient
    >>> round(shrinkage_from(derived_coefficient(7.4)), 6)
    7.4
    """
    return 3000.0 * change / (1.0 + 20.0 * change)


def _turned(radial: Figure | None, tangential: Figure | None, rings: float) -> Figure | None:
    """The figure in the plane of the face; one of both where the rings lie flat or stand upright."""
    if rings == 0.0 and tangential is not None:
        return tangential
    if rings == 90.0 and radial is not None:
        return radial
    if radial is None or tangential is None:
        return None
    upright = math.sin(math.radians(rings)) ** 2
    value = tangential.value + (radial.value - tangential.value) * upright
    return Figure(value, tangential.unit, tangential.source, "derived")


def _check(rings: float, moisture: tuple[float, float]) -> None:
    """Refuse what is no ring angle, and what is no moisture of wood that moves."""
    if not 0.0 <= rings <= 90.0:
        mend = "0 is flat-sawn, 90 quarter-sawn"
        raise PurfleError(f"{rings:g} degrees is no angle of growth rings to a face", "rings", mend)
    for one in moisture:
        if not 0.0 <= one <= FIBRE_SATURATION:
            what = f"wood at {one:g} % of moisture is not what moves"
            if one > FIBRE_SATURATION:
                what = (
                    f"wood at {one:g} % of moisture is wet: above {FIBRE_SATURATION:g} % it neither shrinks nor swells"
                )
            raise PurfleError(what, "moisture", f"give 0 to {FIBRE_SATURATION:g} %; dry wood in a house has 4 to 14 %")
