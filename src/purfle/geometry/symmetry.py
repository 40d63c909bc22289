"""Mirror lines through one point, evenly turned: found in outlines, and what they make of the wedge between two.

With n mirror lines every figure repeats 2 n times about the point, every second time mirrored (the dihedral group).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.offsetting import Region, free_of_grid, polygonal, union_of
from purfle.tolerances import ALIKE_BY_MIRROR, GRID

_STEP = 0.5
"""Outlines are summed in steps of this length, mm."""
_MOST_LINES = 48
_NOTHING = 1e-3
"""A sum below this share of the greatest possible one is none: rounding, and the steps."""
_OFF_LINE = 2e-3
"""Radians by which the phases of the sums may depart from one mirror line before places are compared."""

Sums = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Symmetry:
    """`lines` mirror lines through `centre`; the first runs `axis` radians off the x axis, the others evenly turned.

    `zone`: whatever has these lines touches it.
    """

    centre: tuple[float, float]
    lines: int
    axis: float
    zone: Region

    @property
    def neighbour(self) -> "Symmetry":
        """The same mirror lines, the next wedge being the first."""
        return replace(self, axis=self.axis + math.pi / self.lines)

    def image(self, region: Region, number: int) -> Region:
        """The image of what lies in the first wedge in wedge `number`, counted from 0 to 2 `lines` - 1."""
        return polygonal(shapely.transform(region, lambda places: self.moved(places, number)))

    def moved(self, places: NDArray[np.float64], number: int) -> NDArray[np.float64]:
        """Places moved from the first wedge to wedge `number`."""
        if number == 0:
            return places
        turn = math.pi / self.lines
        # an odd wedge is the mirror image in the line at its side, an even one is turned only
        mirrored = number % 2 == 1
        angle = 2.0 * self.axis + (number + 1) * turn if mirrored else number * turn
        x, y = (places - self.centre).T
        across = -1.0 if mirrored else 1.0
        cos, sin = math.cos(angle), math.sin(angle)
        return np.column_stack((cos * x - across * sin * y, sin * x + across * cos * y)) + self.centre

    def wedge(self, reach: float) -> Polygon:
        """The first wedge, from the first mirror line on, as far out as `reach`."""
        width = math.pi / self.lines
        angles = self.axis + width * np.linspace(0.0, 1.0, 2 + (self.lines == 1))
        far = 2.0 * reach / math.cos(width / 2.0 if self.lines > 1 else width / 4.0)
        outer = np.column_stack((np.cos(angles), np.sin(angles))) * far + self.centre
        return Polygon([self.centre, *outer])

    def first_of(self, region: Region) -> Region:
        """What of a region lies in the first wedge, its cut off the grid: on the mirror lines to the last digit."""
        left, low, right, high = region.bounds
        corners = ((left, low), (left, high), (right, low), (right, high))
        reach = max(math.dist(self.centre, corner) for corner in corners)
        return polygonal(shapely.intersection(free_of_grid(region), self.wedge(reach + 1.0)))


def symmetry_of(regions: Sequence[Region]) -> Symmetry | None:
    """The most mirror lines about which all outlines of the regions together are alike; None for none, or for rings.

    The sums C_m of r^2 e^(i m t) over the length of the outlines, about their centre of gravity, vanish unless the
    number of lines divides m, and have the phase m times that of a mirror line. It is then tried on all corners.
    """
    rings = shapely.get_rings(shapely.get_parts(np.array(regions, object)))
    if not len(rings):
        return None
    places, lengths = _steps(rings)
    centre = np.average(places, axis=0, weights=lengths)
    sums = _sums(places - centre, lengths)
    told = [m for m in range(1, _MOST_LINES + 1) if abs(sums[m]) > _NOTHING * sums[0].real]
    if not told:
        return None
    outline = shapely.multilinestrings([shapely.linestrings(shapely.get_coordinates(ring)) for ring in rings])
    corners = shapely.get_coordinates(rings)
    at = (float(centre[0]), float(centre[1]))
    most = math.gcd(*told)
    for lines in (one for one in range(most, 0, -1) if most % one == 0):
        for axis in _axes(sums, told, lines):
            found = Symmetry(at, lines, axis, Polygon())
            if all(_alike(found, number, corners, outline) for number in {1, 2 * lines - 1}):
                return replace(found, zone=union_of(list(regions)))
    return None


def _steps(rings: NDArray[np.object_]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles of short steps along rings, and their lengths."""
    corners, ring = shapely.get_coordinates(shapely.segmentize(rings, _STEP), return_index=True)
    along = np.diff(corners, axis=0)
    kept = ring[:-1] == ring[1:]
    return (corners[:-1] + along / 2.0)[kept], np.hypot(along[:, 0], along[:, 1])[kept]


def _sums(places: NDArray[np.float64], lengths: NDArray[np.float64]) -> Sums:
    x, y = places.T
    turn = np.exp(1j * np.arctan2(y, x))
    weight = lengths * (x * x + y * y)
    sums, power = [], np.ones(len(turn), np.complex128)
    for _ in range(_MOST_LINES + 1):
        sums.append((weight * power).sum())
        power = power * turn
    return np.array(sums)


def _axes(sums: Sums, told: list[int], lines: int) -> list[float]:
    """Directions of a first mirror line that the phases of all sums allow, from the x axis on."""
    clearest = max(told, key=lambda m: abs(sums[m]) / m)
    start = float(np.angle(sums[clearest])) / clearest
    clear = [m for m in told if abs(sums[m]) > 10.0 * _NOTHING * sums[0].real] or [clearest]
    found = []
    for number in range(clearest):
        axis = (start + number * math.pi / clearest) % (math.pi / lines)
        off = [abs(math.sin(float(np.angle(sums[m])) - m * axis)) for m in clear]
        if max(off) < _OFF_LINE * max(clear):
            found.append(axis)
    return sorted(set(found))


def _alike(symmetry: Symmetry, number: int, corners: NDArray[np.float64], outline: shapely.Geometry) -> bool:
    """True if every corner of the outlines, moved, lies on an outline."""
    shapely.prepare(outline)
    moved = symmetry.moved(corners, number)
    return bool(shapely.dwithin(outline, shapely.points(moved), ALIKE_BY_MIRROR + GRID).all())
