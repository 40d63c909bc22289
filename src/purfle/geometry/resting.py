"""Where on an outline a round cutter surely can rest: a quick look that needs no offset.

    outline  ____p____      p: a place on the outline; c: the middle of a cutter that would touch it there
                 |
                 c          |c - p| <= radius + depth,   d(c) > radius

d(c) is the distance of c from the region. A cutter with its middle in c stands clear of the region and comes within the
depth of p. And any region grown by the radius holds p and not c, so that its outline crosses the way from p to c: no
engine's grown outline can leave p out of reach by more than the depth. The reverse does not hold: a place for which
none of the middles tried will do may be within reach all the same, and has to be looked at by an offset.
Source: plane geometry (closed form).
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.geometry.measuring import Places, are_within
from purfle.geometry.offsetting import Region

_WAY_OUT, _CLEAR = 0.8, 0.02
"""How far beyond the radius a middle stands off its place, and off the region at least, in depths."""
_NEARLY = 0.98
"""How far beyond the radius another place's middle may stand off a place, in depths."""
_NEIGHBOURS = 8
"""The middles of so many places before and behind are tried: beside a notch of a grid step normals say nothing."""


@dataclass(frozen=True, slots=True)
class Outline:
    """Places along the outline of a region, and the directions out of it there: of both edges, and between them."""

    places: Places
    before: Places
    behind: Places

    @classmethod
    def of(cls, region: Region, step: float) -> "Outline":
        """The vertices of a region, and places between those that are further apart than a step."""
        rings = shapely.get_rings(shapely.get_parts(shapely.segmentize(shapely.orient_polygons(region), step)))
        places, ring = shapely.get_coordinates(rings, return_index=True)
        first = np.flatnonzero(ring[:-1] == ring[1:])
        along = places[first + 1] - places[first]
        length = np.maximum(np.hypot(along[:, 0], along[:, 1]), np.finfo(np.float64).tiny)
        outward = np.column_stack((along[:, 1], -along[:, 0])) / length[:, None]
        starts = np.flatnonzero(np.diff(ring[first], prepend=-1))
        ends = np.append(starts[1:], len(first)) - 1
        earlier = np.arange(len(first)) - 1
        earlier[starts] = ends
        return cls(places[first], outward[earlier], outward)

    def restless(self, region: Region, radius: float, depth: float) -> NDArray[np.int64]:
        """The places for which no cutter was found that surely touches them within a depth."""
        between = self.before + self.behind
        between /= np.maximum(np.hypot(between[:, 0], between[:, 1]), np.finfo(np.float64).tiny)[:, None]
        middles = self.places + (radius + _WAY_OUT * depth) * between
        blocked = are_within(region, middles, radius + _CLEAR * depth)
        for outward in (self.before, self.behind):
            left = np.flatnonzero(blocked)
            middles[left] = self.places[left] + (radius + _WAY_OUT * depth) * outward[left]
            blocked[left] = are_within(region, middles[left], radius + _CLEAR * depth)
        left = np.flatnonzero(blocked)
        for step in (way * number for number in range(1, _NEIGHBOURS + 1) for way in (-1, 1)):
            beside = (left + step) % len(self.places)
            apart = np.hypot(*(middles[beside] - self.places[left]).T)
            left = left[blocked[beside] | (apart > radius + _NEARLY * depth)]
        return left
