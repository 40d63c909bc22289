"""Plane regions for the proof: growing with a guard, rings to regions, and where two regions differ.

The proof has its own, since it may not lean on the code that made what it proves.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.errors import ProgramError
from purfle.tolerances import GRID, NO_WOOD, PROOF_FLAT, SIDE_AS_CUT

_TRIES = (1.0, 1.0 + 1e-5, 1.0 - 1e-5, 1.0 + 1e-4, 1.0 - 1e-4)
"""Radii tried in turn, as shares: where the engine loses a shape, a hair more or less brings it back."""

BENDS_SHARE = 0.01
"""The engine straightens hollow bends by up to this share of the distance: its offsets are out by so much."""
_LONG = 0.5
"""Of an edge longer than this, mm, more than its ends and its middle are measured."""
_MEND = "do not cut with these; make the job again with a seam 0.01 mm wider or narrower, and report them as a fault"

ALIKE = 0.002
"""Two outlines are alike where they differ in no more than this share of their area: enough to name what happened."""


def quadrant_segments(radius: float) -> int:
    """Segments a quarter circle that keep a circle's polyline within the proof's flattening."""
    if abs(radius) <= PROOF_FLAT:
        return 2
    return max(4, math.ceil(math.pi / 4 / math.acos(1 - PROOF_FLAT / abs(radius))))


def grown(region: BaseGeometry, by: float) -> BaseGeometry:
    """The region grown (or, with a negative number, shrunk) by a round distance, its area checked.

    The engine is known to lose shapes silently. The area gained can be no more than the border times the distance,
    with a disc for each ring; the same holds for the area lost.
    """
    if by == 0 or region.is_empty:
        return region
    discs = (
        math.pi
        * by
        * by
        * (len(polygons(region)) if by > 0 else int(shapely.get_num_interior_rings(polygons(region)).sum()))
    )
    most = region.length * abs(by) * (1 + BENDS_SHARE) + discs + GRID
    for share in _TRIES:
        result = region.buffer(by * share, quad_segs=quadrant_segments(by))
        if _sound(region, result, by, most):
            return result
    band = _band(region, abs(by))
    result = region.union(band) if by > 0 else region.difference(band)
    if _sound(region, result, by, most):
        return result
    x, y = region.bounds[:2]
    raise ProgramError("an outline cannot be offset", f"{region.area:.2f} mm2 from {x:.2f}, {y:.2f} mm on", _MEND)


def grown_evenly(region: BaseGeometry, by: float) -> BaseGeometry:
    """The region grown (or shrunk) with every edge measured: put together bit by bit where the engine straightened it.

    For large distances, of which `BENDS_SHARE` is more than a wall may be out.
    """
    result = grown(region, by)
    if by == 0 or result.is_empty:
        return result
    border, outline, off = shapely.boundary(region), shapely.boundary(result), 2.0 * PROOF_FLAT
    # every edge as a whole for what is too near, its ends and middle and the places of long ones for what is too far
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_parts(shapely.segmentize(outline, _LONG))]
    points = shapely.points(np.vstack([np.vstack([its, (its[1:] + its[:-1]) / 2]) for its in rings]))
    shapely.prepare(border)
    near_enough = shapely.dwithin(border, points, abs(by) + off).all()
    if near_enough and not (abs(by) > off and shapely.dwithin(border, outline, abs(by) - off)):
        return result
    band = _band(region, abs(by))
    return region.union(band) if by > 0 else region.difference(band)


def _sound(region: BaseGeometry, result: BaseGeometry, by: float, most: float) -> bool:
    gained = result.area - region.area
    return bool(result.is_valid and (-GRID <= gained <= most if by > 0 else -most <= gained <= GRID))


def _band(region: BaseGeometry, by: float) -> BaseGeometry:
    """All that lies within a distance of the border, put together from single bits: slow, but nothing can be lost."""
    rings, points = shapely.get_parts(shapely.boundary(region)), []
    for ring in rings:
        corners = shapely.get_coordinates(ring)
        points.append(np.stack([corners[:-1], corners[1:]], axis=1))
    bits = shapely.linestrings(np.concatenate(points))
    return shapely.union_all(shapely.buffer(bits, by, quad_segs=quadrant_segments(by)))


def polygons(region: BaseGeometry) -> NDArray[np.object_]:
    """The polygons of any geometry; lines and points fall away."""
    parts: NDArray[np.object_] = shapely.get_parts(region)
    wanted: NDArray[np.object_] = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    return wanted


def only_wood(region: BaseGeometry) -> BaseGeometry:
    """The region without scraps that are no wood."""
    parts = polygons(region)
    return MultiPolygon(list(parts[shapely.area(parts) > NO_WOOD]))


def even_odd(rings: list[NDArray[np.float64]]) -> BaseGeometry | None:
    """The region between rings by the even-odd rule; None where a ring crosses itself or two rings cross."""
    faces = [Polygon(ring) for ring in rings]
    if not faces or not all(face.is_valid and face.area > 0 for face in faces):
        return None
    faces.sort(key=lambda face: -float(face.area))
    region: BaseGeometry = faces[0]
    for face in faces[1:]:
        if shapely.crosses(face.exterior, shapely.boundary(region)):
            return None
        region = region.symmetric_difference(face)
    return region if region.is_valid else None


@dataclass(frozen=True, slots=True)
class Difference:
    """Where one region is not the other: `short` of it, and `over` it; both without scraps that are no wood."""

    short: BaseGeometry
    over: BaseGeometry

    @property
    def nothing(self) -> bool:
        """True where the two are the same."""
        return bool(self.short.is_empty and self.over.is_empty)

    @property
    def worst(self) -> tuple[float, float]:
        """A place in the largest spot that differs."""
        parts = np.concatenate([polygons(self.short), polygons(self.over)])
        return inside(parts[int(np.argmax(shapely.area(parts)))])


def inside(region: BaseGeometry) -> tuple[float, float]:
    """A place in the region."""
    place: Point = region.representative_point()
    return float(place.x), float(place.y)


class Sandwich:
    """A wanted region between itself grown and itself shrunk by a tolerance, to compare others with it."""

    __slots__ = ("_grown", "_shrunk", "wanted")

    def __init__(self, wanted: BaseGeometry, tolerance: float) -> None:
        self.wanted = wanted
        self._grown = grown(wanted, tolerance)
        self._shrunk = grown(wanted, -tolerance)

    def difference(self, least: BaseGeometry, most: BaseGeometry | None = None) -> Difference:
        """Where `least` leaves some of the wanted region out, and where `most` reaches beyond it."""
        beyond = least if most is None else most
        return Difference(_outside(self._shrunk, least), _outside(beyond, self._grown))


def _outside(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """The wood of a region that lies outside another; what is wholly inside takes no overlay to see."""
    shapely.prepare(other)
    return MultiPolygon() if shapely.covers(other, region) else only_wood(region.difference(other))


def likeness(read: BaseGeometry, wanted: BaseGeometry) -> str:
    """What became of an outline, in words, where that can be seen: mirrored, resized, moved; else nothing."""
    if read.is_empty or wanted.is_empty or read.area <= NO_WOOD:
        return "nothing of it is there"
    a, b = read.centroid, wanted.centroid
    centred = shapely.transform(read, lambda xy: xy - [a.x, a.y])
    aim = shapely.transform(wanted, lambda xy: xy - [b.x, b.y])
    size = math.sqrt(read.area / wanted.area)
    as_it_is = float(centred.symmetric_difference(aim).area)
    words = {
        "mirrored": shapely.transform(centred, lambda xy: xy * [-1.0, 1.0]),
        "mirrored top to bottom": shapely.transform(centred, lambda xy: xy * [1.0, -1.0]),
        f"{size:.4g} times its size": shapely.transform(centred, lambda xy: xy / size),
    }
    misfit = {word: float(shape.symmetric_difference(aim).area) for word, shape in words.items()}
    best = min(misfit, key=lambda word: misfit[word])
    if misfit[best] < as_it_is / 4 and misfit[best] < ALIKE * wanted.area:
        return f"it is {best}"
    if as_it_is < ALIKE * wanted.area and math.hypot(a.x - b.x, a.y - b.y) > SIDE_AS_CUT:
        return f"it is moved by {a.x - b.x:.3f}, {a.y - b.y:.3f} mm"
    return ""
