"""Mirror lines: halves of regions, their mirror images, and which regions are mirror images of one another.

A half and its mirror image go together without a seam: where a region crosses the line it gets a vertex exactly on it,
computed alike for every region that has this edge.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from purfle.geometry.offsetting import Region, polygonal, polygons, region_of
from purfle.geometry.pose import Polyline
from purfle.tolerances import SAME_PLACE

_BEYOND = 1.0
"""The box of a half reaches this far beyond what it is to hold."""


@dataclass(frozen=True, slots=True)
class MirrorLine:
    """An upright line x = `at`, or a level one y = `at`.

    >>> MirrorLine(True, 10.0).points(np.array([[4.0, 1.0]])).tolist()
    [[16.0, 1.0]]
    """

    upright: bool
    at: float

    @property
    def axis(self) -> int:
        """The coordinate that changes: 0 or 1."""
        return 0 if self.upright else 1

    def points(self, xy: Polyline) -> Polyline:
        """The mirror images of (n, 2) points; what lies on the line stays where it is, to the bit."""
        mirrored = np.array(xy, np.float64)
        mirrored[:, self.axis] = 2.0 * self.at - mirrored[:, self.axis]
        return mirrored

    def region(self, region: Region) -> Region:
        """The mirror image of a region."""
        return polygonal(shapely.transform(region, self.points))

    def half(self, region: Region, upper: bool = False) -> Region:
        """What of a region lies left of the line (below a level one), or on the other side if `upper`."""
        ready = shapely.transform(_with_crossings(region, self), self._snapped)
        left, low, right, high = region.bounds
        ends = [left - _BEYOND, low - _BEYOND, right + _BEYOND, high + _BEYOND]
        side = self.axis + (0 if upper else 2)
        ends[side] = self.at
        if ends[self.axis] >= ends[self.axis + 2]:
            return Polygon()
        return polygonal(shapely.intersection(ready, shapely.box(*ends)))

    def _snapped(self, xy: Polyline) -> Polyline:
        on_line = np.abs(xy[:, self.axis] - self.at) < SAME_PLACE
        snapped = xy.copy()
        snapped[on_line, self.axis] = self.at
        return snapped

    def touched_by(self, half: Region) -> bool:
        """True if a half lies against the line along a length."""
        rings = shapely.get_rings(shapely.get_parts(half))
        ends, ring = shapely.get_coordinates(rings, return_index=True)
        on_line = ends[:, self.axis] == self.at
        return bool((on_line[:-1] & on_line[1:] & (ring[:-1] == ring[1:])).any())


def _with_crossings(region: Region, line: MirrorLine) -> Region:
    """The region with a vertex wherever an edge crosses the line."""
    parts = []
    for part in polygons(region):
        exterior, *holes = (_ring_with_crossings(shapely.get_coordinates(ring), line) for ring in _rings(part))
        parts.append(Polygon(exterior, holes))
    return region_of(parts)


def _rings(part: Polygon) -> list[shapely.LinearRing]:
    return [part.exterior, *part.interiors]


def _ring_with_crossings(ring: Polyline, line: MirrorLine) -> Polyline:
    across, along = line.axis, 1 - line.axis
    off = ring[:, across] - line.at
    crossed = np.flatnonzero(off[:-1] * off[1:] < 0.0)
    if len(crossed) == 0:
        return ring
    # from the left end to the right one, so that both regions at an edge find the same place
    first, second = ring[crossed], ring[crossed + 1]
    turned = (off[crossed] > 0.0)[:, None]
    start, end = np.where(turned, second, first), np.where(turned, first, second)
    share = (line.at - start[:, across]) / (end[:, across] - start[:, across])
    places = np.empty((len(crossed), 2))
    places[:, across] = line.at
    places[:, along] = start[:, along] + share * (end[:, along] - start[:, along])
    return np.insert(ring, crossed + 1, places, axis=0)


def joined(half: Region, image: Region) -> Region:
    """A half and a mirror image that lies against it, as one; they share every vertex on the line."""
    return polygonal(shapely.coverage_union_all([*polygons(half), *polygons(image)]))
