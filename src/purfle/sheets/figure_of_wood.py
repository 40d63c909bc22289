"""The figure of a wood in light and dark, computed: fibres, growth rings, pores, ribbons, stripes. No photograph.

All patterns come from one table of fixed noise, so that the same board always looks the same.

Places are given by two fields of numbers that need only have a common size: where the grain runs along a side of the
picture, `along` is a row and `across` a column, and most of the work is done on these alone.
"""

import zlib
from collections.abc import Callable
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.wood import Look

Field = NDArray[np.float32]
HEART_APART, RING_WIDE = 190.0, 3.6
"""Distance between the middles of two boards' arches; width of a growth ring. In mm."""
_TABLE = 256
"""Cells along the side of the noise table, which repeats without a seam."""


def tone(along: Field, across: Field, look: Look, name: str) -> Field:
    """Lightness of a wood's surface about 1.0 at places given in mm along and across its grain.

    `name` makes two pieces of one wood differ.
    """
    start = float(zlib.crc32(name.encode()) % 9973)
    along, across = along + start * 3.1, across + start * 1.7
    strength = 0.03 + 0.55 * look.contrast
    fibres = 0.6 * noise(along / 9.0, across / 0.22, 1) + 0.4 * noise(along / 26.0, across / 0.7, 2)
    clouds = noise(along / 90.0, across / 14.0, 3)
    pattern = _PATTERNS.get(look.grain, _fine)(along, across)
    return np.asarray(1.0 + strength * (0.3 * fibres + 0.22 * clouds + 0.75 * pattern), np.float32)


def noise(x: Field, y: Field, number: int) -> Field:
    """Noise between -1 and 1, one cell a unit."""
    shift = number * 37.31
    x, y = _within(x + np.float32(shift), _TABLE), _within(y + np.float32(shift * 1.7), _TABLE)
    x, y = (np.ascontiguousarray(field) for field in np.broadcast_arrays(x, y))
    mapped = cv2.remap(_noise_table(), x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
    return np.asarray(mapped, np.float32)


def smooth_noise(x: Field, y: Field, number: int) -> Field:
    """Noise without kinks, for what bends growth rings."""
    return noise(_eased(x), _eased(y), number)


def _within(x: Field, period: float) -> Field:
    """The remainder by a period; several times as fast as the general one."""
    return np.asarray(x - np.float32(period) * np.floor(x * np.float32(1.0 / period)), np.float32)


def _eased(x: Field) -> Field:
    whole = np.floor(x)
    part = x - whole
    return np.asarray(whole + part * part * (3.0 - 2.0 * part), np.float32)


@cache
def _noise_table() -> Field:
    """Fixed values between -1 and 1, from an integer hash; one cell more each way, so that the edges meet."""
    cells = np.arange(_TABLE * _TABLE, dtype=np.uint64)
    mixed = (cells * np.uint64(0x9E3779B1) + np.uint64(0x7F4A7C15)) & np.uint64(0xFFFFFFFF)
    mixed ^= mixed >> np.uint64(15)
    mixed = (mixed * np.uint64(0x85EBCA77)) & np.uint64(0xFFFFFFFF)
    mixed ^= mixed >> np.uint64(13)
    table = (mixed.astype(np.float64) / 2**31 - 1.0).astype(np.float32).reshape(_TABLE, _TABLE)
    return np.pad(table, ((0, 1), (0, 1)), mode="wrap")


def _fine(along: Field, across: Field) -> Field:
    return 0.5 * noise(along / 60.0, across / 3.0, 5)


def ring_depth(along: Field) -> Field:
    """How deep the heart of the tree lies below the surface at a place along the board, in mm."""
    return np.asarray(46.0 - 30.0 * np.cos(along / 190.0), np.float32)


def _rings(along: Field, across: Field) -> Field:
    """Growth rings of a flat-sawn board: arches along its middle, straight at its sides, pores in the early wood."""
    wander = 7.0 * smooth_noise(along / 170.0, across / 70.0, 6) + 1.2 * smooth_noise(along / 45.0, across / 12.0, 7)
    heart = _within(across + wander, HEART_APART) - HEART_APART / 2
    radius = np.hypot(heart, ring_depth(along) + wander) / RING_WIDE
    spread = _within(radius, 1.0)
    late = np.where(spread < 0.9, spread / 0.9, (1.0 - spread) / 0.1) ** 2
    pores = _dashes(along, across, 3.2, 0.34) * (spread < 0.35)
    return np.asarray(0.35 - 0.95 * late - 0.9 * pores, np.float32)


def _pores(along: Field, across: Field) -> Field:
    return np.asarray(0.3 * noise(along / 70.0, across / 4.0, 8) - 1.3 * _dashes(along, across, 3.6, 0.3), np.float32)


def _ribbon(along: Field, across: Field) -> Field:
    """Interlocked grain: bands that catch the light in turn, with their fine dashes."""
    wander = 3.0 * noise(along / 80.0, across / 30.0, 9)
    bands = np.sin((across + wander) * (2 * np.pi / 9.0)) * (0.7 + 0.3 * noise(along / 30.0, across / 9.0, 10))
    return np.asarray(0.55 * bands - 0.6 * _dashes(along, across, 2.6, 0.25), np.float32)


def _stripes(along: Field, across: Field) -> Field:
    """Strong dark lines, close and uneven, and pale ones between."""
    wander = 1.2 * noise(along / 60.0, across / 20.0, 11)
    bent = np.asarray(across + wander, np.float32)
    lines = noise(along / 120.0, bent / 0.55, 12) + 0.6 * noise(along / 200.0, bent / 1.7, 13)
    return np.asarray(np.clip(lines, -1.0, 1.0), np.float32)


def _dashes(along: Field, across: Field, long: float, wide: float) -> Field:
    """Open pores: short dark dashes along the grain, 0 to 1."""
    return np.asarray(np.clip(noise(along / long, across / wide, 14) * 2.2 - 1.0, 0.0, 1.0), np.float32)


_PATTERNS: dict[str, Callable[[Field, Field], Field]] = {
    "fine": _fine,
    "rings": _rings,
    "pores": _pores,
    "ribbon": _ribbon,
    "stripes": _stripes,
}
