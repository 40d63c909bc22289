"""How different two colours look: CIELAB and the CIEDE2000 difference."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
D65_WHITE = np.array([0.95047, 1.0, 1.08883])
SRGB_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
"""Linear sRGB to CIE XYZ. Source: IEC 61966-2-1."""


def lab_of(colours: NDArray[np.generic]) -> Floats:
    """CIELAB (D65, 2 degrees) of sRGB colours (..., 3) of 0 to 255.

    Source: IEC 61966-2-1 (transfer curve), CIE 15 (CIELAB).
    """
    coded = np.asarray(colours, np.float64) / 255.0
    linear = np.where(coded <= 0.04045, coded / 12.92, ((np.maximum(coded, 0.0) + 0.055) / 1.055) ** 2.4)
    ratio = linear @ SRGB_TO_XYZ.T / D65_WHITE
    edge = 6.0 / 29.0
    bent = np.where(ratio > edge**3, np.cbrt(ratio), ratio / (3.0 * edge**2) + 4.0 / 29.0)
    x, y, z = bent[..., 0], bent[..., 1], bent[..., 2]
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def ciede2000(first: Floats, second: Floats) -> Floats:
    """The CIEDE2000 difference of CIELAB colours (..., 3), all weighting factors 1.

    Source: Sharma, Wu, Dalal, The CIEDE2000 color-difference formula, Color Res. Appl. 30 (2005) 21-30.
    Valid: made for small differences; order of larger ones is still usable.
    """
    light1, a1, b1 = np.moveaxis(np.asarray(first, np.float64), -1, 0)
    light2, a2, b2 = np.moveaxis(np.asarray(second, np.float64), -1, 0)
    mean7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2.0) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean7 / (mean7 + 25.0**7))
    chroma1, chroma2 = np.hypot(a1 * stretch, b1), np.hypot(a2 * stretch, b2)
    hue1 = np.degrees(np.arctan2(b1, a1 * stretch)) % 360.0
    hue2 = np.degrees(np.arctan2(b2, a2 * stretch)) % 360.0
    turn, hue = _hue_difference_and_mean(hue1, hue2, chroma1 * chroma2 == 0.0)
    d_hue = 2.0 * np.sqrt(chroma1 * chroma2) * np.sin(np.radians(turn / 2.0))
    light, chroma = (light1 + light2) / 2.0, (chroma1 + chroma2) / 2.0
    in_light = (light2 - light1) / (1.0 + 0.015 * (light - 50.0) ** 2 / np.sqrt(20.0 + (light - 50.0) ** 2))
    in_chroma = (chroma2 - chroma1) / (1.0 + 0.045 * chroma)
    in_hue = d_hue / (1.0 + 0.015 * chroma * _hue_weight(hue))
    blue = 60.0 * np.exp(-(((hue - 275.0) / 25.0) ** 2))
    tilt = -2.0 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7)) * np.sin(np.radians(blue))
    squared = in_light**2 + in_chroma**2 + in_hue**2 + tilt * in_chroma * in_hue
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


def _hue_difference_and_mean(hue1: Floats, hue2: Floats, grey: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """The signed turn from one hue to the other the short way round, and the hue halfway (their sum if one is grey)."""
    plain = hue2 - hue1
    turn = np.where(plain > 180.0, plain - 360.0, np.where(plain < -180.0, plain + 360.0, plain))
    total = hue1 + hue2
    far = np.where(total < 360.0, total + 360.0, total - 360.0)
    mean = np.where(np.abs(plain) <= 180.0, total, far) / 2.0
    return np.where(grey, 0.0, turn), np.where(grey, total, mean)


def _hue_weight(hue: Floats) -> Floats:
    turns = ((1.0, 30.0, -0.17), (2.0, 0.0, 0.24), (3.0, -6.0, 0.32), (4.0, 63.0, -0.20))
    weight = np.ones_like(hue)
    for times, shift, share in turns:
        weight = weight + share * np.cos(np.radians(times * hue - shift))
    return weight
