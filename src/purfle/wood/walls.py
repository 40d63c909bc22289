"""How thick a wall of wood must be that is left standing between two recesses, or between a recess and an edge.

Source: common practice, no source. A wall stands on the floor of the recesses and is as high as the shallower one is
deep. Pushed from the side it breaks at its foot, so the thickness that it needs grows with its height. Where it runs
along the grain, long fibres carry the push to both its ends; where it runs across the grain, each fibre in it is no
longer than the wall is thick (short grain), and nothing holds it but its foot: twice the thickness.
"""

import math

from purfle.tolerances import THINNEST_WALL
from purfle.wood.practice import practice

ALONG_SHARE = 0.25
"""Thickness to height of a wall that runs along the grain (common practice, no source)."""
ACROSS_SHARE = 0.5
"""Thickness to height of a wall that runs across the grain (common practice, no source)."""

_HALVINGS = 40


def least_wall(height: float, off_grain: float = 0.0) -> float:
    """The least thickness, mm, of a wall of this height whose length runs `off_grain` degrees off the fibres.

    Between along and across it goes with the square of the sine, as strength at an angle to the grain does in
    Hankinson's formula (Wood Handbook, from memory). Never below THINNEST_WALL along the grain; across it never below
    the practice table's "short grain: least width" (both from memory).

    Valid: height >= 0; any angle, taken to the nearest 0 to 90 degrees.

    >>> least_wall(3.0), least_wall(3.0, 90.0), least_wall(8.0), least_wall(8.0, 90.0)
    (1.5, 2.0, 2.0, 4.0)
    """
    across = math.sin(math.radians(off_grain)) ** 2
    return max(_floor(across), _share(across) * height)


def least_ridge(height: float, off_grain: float, slope: float) -> float:
    """The least thickness at its top, mm, of a ridge that grows thicker downward by `slope` for each mm of height.

    Pressed sideways at its top, a wedge bends most where it is twice as thick as at the top, or at its foot if that
    comes first (bending stress: z / (t + slope z)^2, largest at z = t / slope; derived here). There it has to be as
    thick as a wall from there up. No slope: `least_wall`. Valid: height >= 0, slope >= 0.

    >>> least_ridge(3.0, 0.0, 0.0), round(least_ridge(3.0, 0.0, 1.1547), 3), round(least_ridge(3.0, 90.0, 1.1547), 3)
    (1.5, 0.75, 1.0)
    """
    if slope == 0.0:
        return least_wall(height, off_grain)
    low, high = 0.0, least_wall(height, off_grain)
    for _ in range(_HALVINGS):
        top = (low + high) / 2.0
        worst = min(height, top / slope)
        low, high = (low, top) if top + slope * worst >= least_wall(worst, off_grain) else (top, high)
    return high


def highest_wall(thickness: float, off_grain: float = 0.0) -> float:
    """The greatest height at which a wall of this thickness stands; 0 where it is too thin at any height.

    >>> highest_wall(2.0), highest_wall(2.0, 90.0), highest_wall(1.0)
    (8.0, 4.0, 0.0)
    """
    across = math.sin(math.radians(off_grain)) ** 2
    return thickness / _share(across) if thickness >= _floor(across) else 0.0


def _share(across: float) -> float:
    return ALONG_SHARE + (ACROSS_SHARE - ALONG_SHARE) * across


def _floor(across: float) -> float:
    short_grain = practice("fit", "short grain: least width").typical
    assert isinstance(short_grain, float)
    return THINNEST_WALL + (short_grain - THINNEST_WALL) * across
