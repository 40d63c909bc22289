"""Greys for woods, so that a sheet reads in black and white."""

from collections.abc import Iterable

from purfle.wood import look_of

DARKEST, PALEST = 0x2C, 0xFF

DARK = 0xA0
"""Tints below this grey (of 255) are dark."""


def tints(woods: Iterable[str]) -> dict[str, str]:
    """A grey for each wood, in the order of their own lightness, spread from near black to white.

    One wood alone is a pale grey.
    """
    light = {wood: _lightness(wood) for wood in sorted(set(woods))}
    if len(light) < 2:
        return dict.fromkeys(light, "#dedede")
    least, most = min(light.values()), max(light.values())
    span = (most - least) or 1.0
    shades = {wood: round(DARKEST + (PALEST - DARKEST) * (value - least) / span) for wood, value in light.items()}
    return {wood: f"#{shade:02x}{shade:02x}{shade:02x}" for wood, shade in shades.items()}


def _lightness(wood: str) -> float:
    """Relative luminance of its finished colour. Source: ITU-R BT.709 weights, here on gamma-coded values."""
    red, green, blue = look_of(wood).finished
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def is_dark(tint: str) -> bool:
    """True for a tint on which black figures are hard to read."""
    return int(tint[1:3], 16) < DARK
