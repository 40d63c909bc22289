"""What an outline file says, whatever its format: the lines of one set-up by name, and the outline of its stock."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.errors import Fault
from purfle.proof.regions import even_odd
from purfle.proof.shelf import FURTHEST, MEND
from purfle.tolerances import ARC_RADII, PROOF_FLAT, SAME_OUTLINE

Ring = list[tuple[float, float]]
MOST_POINTS = 100_000
"""An arc that needs more points than this is no arc of a part."""


@dataclass(frozen=True, slots=True)
class Outlines:
    """One outline file as read, in the set-up frame. `kinds`: "recess" or "part" by line id, where the file says so."""

    file: str
    lines: dict[str, BaseGeometry]
    kinds: dict[str, str]
    stock: BaseGeometry


def held_once(outlines: Outlines, other: Outlines) -> Outlines:
    """The same outlines; a line that the other file has too, corner for corner, is held as the other's region.

    What follows is then worked out once for both, and "the same" is seen without looking at a corner again.
    """
    lines = {
        name: other.lines[name]
        if name in other.lines and region.equals_exact(other.lines[name], SAME_OUTLINE)
        else region
        for name, region in outlines.lines.items()
    }
    return replace(outlines, lines=lines)


class Refused(Exception):
    """Why a line of an outline file cannot be used."""


def bend(ring: Ring, end: tuple[float, float], angle: float) -> None:
    """Add a circular stretch to the ring: to `end`, turning by `angle` (radians, counter-clockwise positive)."""
    x0, y0 = ring[-1]
    x1, y1 = end
    chord = math.hypot(x1 - x0, y1 - y0)
    if angle == 0 or chord == 0:
        ring.append(end)
        return
    radius = chord / 2 / math.sin(abs(angle) / 2)
    # the centre lies off the middle of the chord, to its left for a left turn of less than a half circle
    off = chord / 2 / math.tan(angle / 2)
    cx = (x0 + x1) / 2 - off * (y1 - y0) / chord
    cy = (y0 + y1) / 2 + off * (x1 - x0) / chord
    # the step whose middle stands off its chord by the flattening: r (1 - cos(step / 2))
    step = 4 * math.asin(math.sqrt(min(1.0, PROOF_FLAT / radius) / 2))
    count = max(1, math.ceil(abs(angle) / step))
    if count > MOST_POINTS:
        raise Refused(f"an arc has a radius of {radius:.0f} mm")
    begin = math.atan2(y0 - cy, x0 - cx)
    for index in range(1, count):
        now = begin + angle * index / count
        ring.append((cx + radius * math.cos(now), cy + radius * math.sin(now)))
    ring.append(end)


def near(value: float) -> float:
    """A place of an outline file, refused where no shop is that large."""
    if not abs(value) <= FURTHEST:
        raise Refused(f"a place at {value:g} mm is beyond any shop")
    return value


def angle_of(chord: float, radius: float, large: bool) -> float | None:
    """The angle (radians) of a stretch of a circle over a chord; None where the radius is too small for the chord."""
    if chord / 2 > radius + ARC_RADII:
        return None
    angle = 2 * math.asin(min(1.0, chord / 2 / radius))
    return 2 * math.pi - angle if large else angle


def regions(rings: dict[str, list[Ring]], file: str, faults: list[Fault]) -> dict[str, BaseGeometry]:
    """The region of each line from its rings; rings that cross are faults."""
    found: dict[str, BaseGeometry] = {}
    for name, of_line in rings.items():
        region = even_odd([_without_twins(ring) for ring in of_line])
        if region is None:
            faults.append(Fault("the outline crosses itself", f"{file}, line '{name}'", MEND))
        else:
            found[name] = region
    return found


def off_stock(lines: dict[str, BaseGeometry], stock: BaseGeometry, file: str) -> list[Fault]:
    """Lines that reach further off the stock than the stock is long: no cutter goes there, the file is damaged."""
    left, low, right, high = stock.bounds
    away = max(right - left, high - low)
    found = []
    for name, region in lines.items():
        x0, y0, x1, y1 = region.bounds
        if x0 < left - away or y0 < low - away or x1 > right + away or y1 > high + away:
            found.append(Fault("the outline lies far off its stock", f"{file}, line '{name}'", MEND))
    return found


def _without_twins(ring: Ring) -> NDArray[np.float64]:
    points = np.array(ring, np.float64)
    keep = np.concatenate([[True], (points[1:] != points[:-1]).any(axis=1)])
    return points[keep] if keep.sum() >= 3 else np.array([(0.0, 0.0), (0.0, 0.0), (0.0, 0.0)])
