"""How strong wood is against bending when its fibres do not run along it."""

import math

ACROSS = 0.07
"""Bending strength across the fibres as a share of that along them: 0.04 to 0.10.

Source: Wood Handbook, FPL-GTR-190, ch. 5, on formulas of the Hankinson kind (from memory).
"""
EXPONENT = 1.75
"""Exponent of that formula for bending: 1.5 to 2. Source: as above (the range second-hand)."""


def bending_share(angle: float) -> float:
    """Bending strength at an angle (degrees) to the fibres, as a share of that along them.

    Source: Hankinson's formula, Q / (P sin^n + Q cos^n) with P 1 and Q ACROSS. With the middles of the ranges it gives
    the loss by slope of grain that the handbook prints, 81 % at 1 in 10 and 55 % at 1 in 5 (from memory).
    Valid: any angle, taken to the nearest 0 to 90 degrees.

    >>> [round(bending_share(angle), 2) for angle in (0.0, 11.3, 45.0, 90.0)]
    [1.0, 0.56, 0.12, 0.07]
    """
    turn = math.radians(angle)
    sine, cosine = math.pow(abs(math.sin(turn)), EXPONENT), math.pow(abs(math.cos(turn)), EXPONENT)
    return ACROSS / (sine + ACROSS * cosine)
