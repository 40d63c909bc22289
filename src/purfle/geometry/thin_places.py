"""Where a region is thin: necks and walls, tips left out; and how thick it is there, measured along normals."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.offsetting import Region, difference, grow, intersection, opening, polygons, slivers_between
from purfle.tolerances import FILM, TOUCHING

_STEP = 0.5
"""Places along a wall, mm apart."""


@dataclass(frozen=True, slots=True)
class ThinPlace:
    """A part of a region that discs of some width don't reach: `part`, and the `body` that it hangs on."""

    part: Polygon
    body: Region

    def is_parted_by(self, chord: LineString) -> bool:
        """True if a cut along the chord leaves body on both its sides, so that it does not cut off a mere tip."""
        if self.body.is_empty or not self.part.dwithin(self.body, 2.0 * TOUCHING):
            return True
        sides = polygons(difference(self.part, _cut(chord)))
        return sum(1 for side in sides if side.dwithin(self.body, 2.0 * TOUCHING)) > 1


def _cut(chord: LineString) -> Polygon:
    """A slit along the chord, a little longer than that, so that it surely parts."""
    (x0, y0), (x1, y1) = chord.coords
    along = np.array([x1 - x0, y1 - y0]) / chord.length
    beyond, beside = along * 10.0 * TOUCHING, np.array([-along[1], along[0]]) * 2.0 * TOUCHING
    first, last = np.array([x0, y0]) - beyond, np.array([x1, y1]) + beyond
    return Polygon([first - beside, last - beside, last + beside, first + beside])


def thin_places(region: Region, width: float) -> list[ThinPlace]:
    """Every neck or wall of a region that is thinner than `width`, and every part that is thin all over.

    A tip, which hangs on the rest in one place only, is none.
    """
    body = opening(region, width / 2.0)
    found = [part for part in slivers_between(region, body) if part.area > TOUCHING * part.length]
    return [ThinPlace(part, body) for part in found if _hangs_on(part, body) != 1]


def _hangs_on(part: Polygon, body: Region) -> int:
    """In how many separate places a part touches the body."""
    near = grow(part, 2.0 * TOUCHING)
    return sum(1 for one in polygons(intersection(near, body)) if one.length > 10.0 * TOUCHING)


def chords_across(part: Polygon, outside: BaseGeometry, longest: float) -> list[LineString]:
    """From places where a part lies against what is outside, straight across it until the outside is met again.

    The shortest first; those longer than `longest` are left out.
    """
    places, inward = _places_along(part)
    shapely.prepare(outside)
    behind, ahead = (places + side * 10.0 * TOUCHING * inward for side in (-1.0, 1.0))
    beside = shapely.contains_xy(outside, behind) & ~shapely.contains_xy(outside, ahead)
    places, inward = places[beside], inward[beside]
    starts = ahead[beside]
    rays = shapely.linestrings(np.stack((starts, places + inward * longest), axis=1))
    met = shapely.intersection(rays, outside)
    hit = np.flatnonzero(~shapely.is_empty(met))
    way = shapely.distance(shapely.points(places[hit]), met[hit])
    order = np.argsort(np.round(way, 6), kind="stable")
    return [LineString([places[n], places[n] + inward[n] * far]) for n, far in zip(hit[order], way[order], strict=True)]


def _places_along(part: Polygon) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places in the middle of short steps along all rings of a polygon, and the direction inward at each."""
    places, inward = [], []
    for ring in shapely.get_rings(shapely.orient_polygons(part)):
        corners = shapely.get_coordinates(shapely.segmentize(ring, _STEP))
        along = np.diff(corners, axis=0)
        length = np.hypot(along[:, 0], along[:, 1])
        kept = length > FILM
        places.append((corners[:-1] + along / 2.0)[kept])
        inward.append(np.column_stack((-along[:, 1], along[:, 0]))[kept] / length[kept, None])
    return np.vstack(places), np.vstack(inward)
