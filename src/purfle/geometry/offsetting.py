"""The one guarded door to offsetting and to overlays on the precision grid.

Nothing else in the project calls a buffer. Two engines stand behind the door, GEOS (through shapely) and Clipper2
(through manifold3d). GEOS is the faster one, yet it has returned an EMPTY result for a sound polygon of 225 mm2, and an
inset that kept 25 mm2 which it had to remove; it raised nothing. So each result is measured against the outline that
it came from, and what fails is done again: with a radius that differs in the fifth figure, then by the other engine.

How a result is measured. Let B be the boundary of the region and d the distance.

    every vertex of the result stands d from B            (nothing kept that had to go, nothing grown too far)
    a place a little nearer than d to B, or a little
    further from all of B, lies on its side of the result (nothing lost: an EMPTY result fails here)
    the area has grown (shrunk) at least as Brunn and Minkowski say
"""

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeAlias

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, JoinType
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.errors import PurfleError
from purfle.hard_stop import busy
from purfle.tolerances import FILM, GRID, OFFSET_ARC, OFFSET_PERTURBED, OFFSET_PLACE, QUADRANT_SEGMENTS

Region: TypeAlias = Polygon | MultiPolygon
_PLACES_AN_OUTLINE = 32
"""Places measured of one outline at least, if it has so many, spread evenly; more cost time."""
_WIDEST_STEP = 24
"""Of a long outline every twenty-fourth place at least is measured: a fault loses or keeps a stretch, not a place."""
_PLACES_A_RING = 4
"""Places measured of each ring at least, so that no small ring goes unseen."""


def grow(region: Region, distance: float) -> Region:
    """The region and everything within `distance` of it, with round corners.

    Valid: distance >= 0; region valid. Arcs are inscribed: the result stands off the true one by at most
    distance * (1 - cos(pi / 4 / QUADRANT_SEGMENTS)), 0.0005 mm at 1.6 mm.
    """
    return _offset(region, distance, 1)


def shrink(region: Region, distance: float) -> Region:
    """What remains of the region at least `distance` inside its boundary; empty where it is too thin.

    Valid: distance >= 0; region valid.
    """
    return _offset(region, distance, -1)


def even_offset(region: Region, distance: float) -> Region:
    """The region grown, or shrunk by a negative distance, every edge of the result measured and not some of them.

    The first engine straightens hollow bends of what it offsets by up to a hundredth of the distance: 0.015 mm of the
    wall along a contour 2 mm from it. Where it has, the second engine's result is taken.
    Raises: PurfleError where that is out too.
    """
    result = grow(region, distance) if distance > 0.0 else shrink(region, -distance)
    if distance == 0.0 or _edges_stand_off(result, region, abs(distance)):
        return result
    second = _by_clipper(region, distance)
    if _edges_stand_off(second, region, abs(distance)):
        return second
    raise PurfleError(
        f"an outline cannot be offset by {abs(distance):.4f} mm: both ways of computing it are out somewhere",
        f"outline within {_bounds_text(region)}",
        "simplify the outline there, or change the size of the artwork a little",
    )


def _edges_stand_off(result: Region, region: Region, distance: float) -> bool:
    """True if corners and middles of the edges of an offset lie at its distance from the outline."""
    off = OFFSET_PLACE + 2.0 * distance * (1.0 - math.cos(math.pi / 4.0 / QUADRANT_SEGMENTS))
    rings = [ring for part in polygons(result) for ring in (part.exterior, *part.interiors)]
    corners = [shapely.get_coordinates(ring) for ring in rings]
    places = [np.vstack([its, (its[1:] + its[:-1]) / 2.0]) for its in corners]
    if not places:
        return True
    away = shapely.distance(region.boundary, shapely.points(np.vstack(places)))
    return bool((np.abs(away - distance) <= off).all())


def swift_offset(region: Region, distance: float) -> Region:
    """The region grown, or shrunk by a negative distance, by the first engine and NOT measured.

    For looking only: where nothing is found the later check by both engines stands behind it, and what is found has to
    be worked out again with measured offsets.
    """
    return _by_geos(region, distance)


def closing(region: Region, radius: float) -> Region:
    """The region with everything filled that a round cutter of this radius cannot reach from outside.

    Source: morphological closing, Serra, Image Analysis and Mathematical Morphology (1982), from memory.
    Valid: radius >= 0. The result contains the region up to the error of the arcs.
    """
    return shrink(grow(region, radius), radius)


def opening(region: Region, radius: float) -> Region:
    """The part of the region that discs of this radius cover while they stay inside it.

    Valid: radius >= 0. The result lies in the region up to the error of the arcs.
    """
    return grow(shrink(region, radius), radius)


def growth_by_clipper(region: Region, radius: float) -> Region:
    """The region grown by the second engine alone, Clipper2, not measured."""
    return _by_clipper(region, radius)


def shrunk_by_clipper(region: Region, radius: float, box: tuple[float, float, float, float]) -> Region:
    """What lies of a region in a box, shrunk by the second engine alone, Clipper2, not measured."""
    left, low, right, high = box
    frame = CrossSection.square((right - left, high - low)).translate((left, low))
    return _region_of_solid(_offset_solid(_solid(region) ^ frame, -radius))


def closing_by_clipper(region: Region, radius: float) -> Region:
    """The closing by the second engine alone, Clipper2: for checks that must not lean on the first."""
    return _by_clipper(_by_clipper(region, radius), -radius)


def difference(first: Region, second: Region) -> Region:
    """What of the first region lies outside the second, on the precision grid."""
    return _overlay(shapely.difference, first, second)


def slivers_between(larger: Region, smaller: Region) -> list[Polygon]:
    """What of a region lies outside another one whose edges run a hair beside its own, films left out.

    Each sliver overlaps the smaller region by less than a film, so that both together leave no gap. By the second
    engine: where nearly all edges lie side by side the first one takes ten times as long.
    """
    if larger.is_empty:
        return []
    _busy(larger)
    solid = _solid(larger)
    thick = solid - _solid(smaller).offset(FILM, JoinType.Miter)
    back = thick.offset(1.5 * FILM, JoinType.Miter) ^ solid
    parts = list(polygons(_region_of_solid(back)))
    order = np.lexsort(shapely.bounds(np.array(parts, object)).T[::-1]) if len(parts) > 1 else range(len(parts))
    return [parts[number] for number in order]


def union(first: Region, second: Region) -> Region:
    """Both regions together, on the precision grid."""
    return _overlay(shapely.union, first, second)


def intersection(first: Region, second: Region) -> Region:
    """What both regions share, on the precision grid."""
    return _overlay(shapely.intersection, first, second)


def clip(region: Region, box: tuple[float, float, float, float]) -> Region:
    """What of a region lies in a box (left, low, right, high), off the precision grid."""
    frame = shapely.box(*box)
    try:
        return polygonal(shapely.intersection(region, frame))
    except shapely.errors.GEOSException:
        return polygonal(shapely.intersection(sound(region), frame))


def union_of(regions: list[Region] | tuple[Region, ...]) -> Region:
    """All regions together, on the precision grid; empty for none."""
    if len(regions) > 1 and _are_apart(regions):
        # each is put on the grid by itself, five times as fast as noding all of them together
        parts = np.array([part for region in regions for part in polygons(region)], object)
        return polygonal(free_of_grid(shapely.set_precision(shapely.multipolygons(parts), GRID)))
    try:
        return polygonal(shapely.union_all(regions, grid_size=GRID))
    except shapely.errors.GEOSException:
        return polygonal(shapely.union_all([sound(region) for region in regions], grid_size=GRID))


def _are_apart(regions: list[Region] | tuple[Region, ...]) -> bool:
    """True if the boxes of regions lie more than the precision grid apart, and each region is valid."""
    every = np.array(regions, object)
    boxes = shapely.box(*(shapely.bounds(every) + np.array((-GRID, -GRID, GRID, GRID))).T)
    return len(shapely.STRtree(boxes).query(boxes)[0]) == len(boxes) and bool(shapely.is_valid(every).all())


def together(regions: list[Region]) -> Region:
    """All regions together, off the precision grid: where many overlap, noding them on the grid can take minutes."""
    if len(regions) == 1:
        return regions[0]
    try:
        return polygonal(shapely.union_all(regions))
    except shapely.errors.GEOSException:
        return polygonal(shapely.union_all([sound(region) for region in regions]))


def on_grid(region: Region) -> Region:
    """The region with its vertices on the precision grid, valid."""
    return free_of_grid(shapely.set_precision(sound(region), GRID))


def sound(region: BaseGeometry) -> Region:
    """The region itself if valid, else its valid form."""
    return polygonal(region if region.is_valid else shapely.make_valid(region))


def polygonal(geometry: BaseGeometry) -> Region:
    """The polygons of a geometry and nothing else; an empty Polygon if it has none."""
    if isinstance(geometry, Polygon | MultiPolygon):
        return geometry
    return region_of(list(polygons(geometry)))


def region_of(parts: list[Polygon]) -> Region:
    """One region made of polygons that do not overlap; an empty Polygon for none."""
    if len(parts) < 2:
        return parts[0] if parts else Polygon()
    whole: MultiPolygon = shapely.multipolygons(np.array(parts, object))
    return whole


def polygons(geometry: BaseGeometry) -> Iterator[Polygon]:
    """Each polygon of a geometry that has an area, collections taken apart."""
    if isinstance(geometry, Polygon):
        return iter([geometry] if geometry.area > 0.0 else [])
    parts = shapely.get_parts(geometry)
    if isinstance(geometry, MultiPolygon):
        return iter(parts[shapely.area(parts) > 0.0].tolist())
    return (one for part in parts if isinstance(part, Polygon) or hasattr(part, "geoms") for one in polygons(part))


def _overlay(operation: Callable[..., BaseGeometry], first: Region, second: Region) -> Region:
    _busy(second)
    try:
        return polygonal(operation(first, second, grid_size=GRID))
    except shapely.errors.GEOSException:  # a side that touches itself: sound it, then once more
        return polygonal(operation(sound(first), sound(second), grid_size=GRID))


def _offset(region: Region, distance: float, sign: int) -> Region:
    if not math.isfinite(distance) or distance < 0.0:
        raise ValueError(f"an offset needs a finite distance of 0 or more, not {distance}")
    if region.is_empty or distance == 0.0:
        return polygonal(region)
    _busy(region)
    first = None
    for factor in (1.0, *OFFSET_PERTURBED):
        result = _by_geos(region, sign * distance * factor)
        if _is_offset(result, region, distance, sign):
            return result
        first = result if first is None else first
    second = _by_clipper(region, sign * distance)
    # A region that touches itself can fail the measuring although its offset is right: then both engines agree.
    if _is_offset(second, region, distance, sign) or (first is not None and _agree(first, second)):
        return second
    raise PurfleError(
        f"an outline cannot be offset by {distance:.4f} mm: two ways of computing it disagree",
        f"outline within {_bounds_text(region)}",
        "simplify the outline there, or change the size of the artwork a little",
    )


def _busy(region: Region) -> None:
    busy("working out its pieces", lambda: f"artwork, {_bounds_text(region)}")


_TOLD: ContextVar[Callable[[Region], Region]] = ContextVar("told", default=lambda region: region)


@contextmanager
def told_by(way: Callable[[Region], Region]) -> Iterator[None]:
    """Tell places of regions as those of what `way` makes of them: of a design that is worked out at another place."""
    outer = _TOLD.set(way)
    try:
        yield
    finally:
        _TOLD.reset(outer)


def _bounds_text(region: Region) -> str:
    left, low, right, high = _TOLD.get()(region).bounds
    return f"x {left:.1f} to {right:.1f} mm, y {low:.1f} to {high:.1f} mm"


def _by_geos(region: Region, distance: float) -> Region:
    return polygonal(free_of_grid(region).buffer(distance, quad_segs=QUADRANT_SEGMENTS))


def free_of_grid(region: BaseGeometry) -> Region:
    """The same region without the grid that it was put on: the first engine would offset it on that, and wrongly."""
    on_none = shapely.get_precision(region) == 0.0
    return polygonal(region if on_none else shapely.set_precision(region, 0.0, mode="pointwise"))


def _by_clipper(region: Region, distance: float) -> Region:
    if region.is_empty:
        return Polygon()
    _busy(region)
    return _region_of_solid(_offset_solid(_solid(region), distance))


def _offset_solid(solid: CrossSection, distance: float) -> CrossSection:
    segments = math.ceil(math.pi / math.acos(max(0.0, 1.0 - OFFSET_ARC / max(abs(distance), OFFSET_ARC))))
    return solid.offset(distance, JoinType.Round, circular_segments=segments)


def _region_of_solid(solid: CrossSection) -> Region:
    """What the second engine gives as a region. Its outlines run left about wood, right about holes."""
    outlines = [ring for ring in solid.to_polygons() if len(ring) > 2]
    if not outlines:
        return Polygon()
    owners = np.repeat(np.arange(len(outlines)), [len(ring) for ring in outlines])
    rings = shapely.linearrings(np.concatenate(outlines), indices=owners)
    parts = shapely.polygons(rings)
    are_sound = bool(shapely.is_valid(parts).all())
    if shapely.is_ccw(rings).all():
        # an outline may touch itself where a region is thinner than the last digits of the engine
        return region_of(parts.tolist() if are_sound else [one for part in parts for one in polygons(sound(part))])
    lines = shapely.geometrycollections(rings)
    return polygonal(shapely.build_area(lines if are_sound else shapely.node(lines)))


def _solid(region: Region) -> CrossSection:
    """A region as the second engine wants it."""
    return CrossSection([ring[:-1] for ring in _rings(region)], FillRule.EvenOdd)


def _agree(first: Region, second: Region) -> bool:
    apart = shapely.symmetric_difference(sound(first), sound(second)).area
    return bool(apart <= OFFSET_PLACE * (first.length + second.length))


def _is_offset(result: Region, region: Region, distance: float, sign: int) -> bool:
    off = OFFSET_PLACE + 2.0 * distance * (1.0 - math.cos(math.pi / 4.0 / QUADRANT_SEGMENTS))
    edge = region.boundary
    shapely.prepare(edge)
    return (
        _area_fits(result, region, distance, sign)
        and _vertices_stand_off(result, edge, distance, off)
        and _nothing_lost(result, region, edge, (sign * distance, off))
    )


def _area_fits(result: Region, region: Region, distance: float, sign: int) -> bool:
    small, large = (region, result) if sign > 0 else (result, region)
    if small.is_empty:
        return True
    least = (math.sqrt(small.area) + math.sqrt(math.pi) * distance * math.cos(math.pi / 4 / QUADRANT_SEGMENTS)) ** 2
    return bool(large.area >= least - OFFSET_PLACE * large.length)


def _vertices_stand_off(result: Region, edge: BaseGeometry, distance: float, off: float) -> bool:
    if result.is_empty:
        return True
    vertices, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(result)), return_index=True)
    chosen = shapely.points(vertices[_spread(ring)])
    # dwithin is ten times faster than distance on a prepared outline
    too_near = shapely.dwithin(edge, chosen, distance - off) if distance > off else np.zeros(1, np.bool_)
    return bool(shapely.dwithin(edge, chosen, distance + off).all() and not too_near.any())


def _nothing_lost(result: Region, region: Region, edge: BaseGeometry, way: tuple[float, float]) -> bool:
    """True if the places a little nearer than the distance, and a little further, lie on their sides of the result."""
    signed, off = way
    sign = math.copysign(1.0, signed)
    middles, outward = _beside_edges(region)
    nearer = middles + outward * (signed - sign * off)
    further = middles + outward * (signed + sign * off)
    free = ~shapely.dwithin(edge, shapely.points(further), abs(signed) + off - GRID / 100.0)
    shapely.prepare(region)
    free &= shapely.contains_xy(region, further) == (sign < 0.0)  # not through a neck or a slot to its other side
    shapely.prepare(result)
    near_inside = shapely.contains_xy(result, nearer)
    far_inside = shapely.contains_xy(result, further[free])
    return bool(near_inside.all() and not far_inside.any() if sign > 0 else far_inside.all() and not near_inside.any())


def _beside_edges(region: Region) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles of edges, spread over all rings, and the unit vector to the outside of the region at each."""
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(region)))
    ends, ring = shapely.get_coordinates(rings, return_index=True)
    starts = np.flatnonzero(ring[:-1] == ring[1:])
    along = ends[starts + 1] - ends[starts]
    length = np.hypot(along[:, 0], along[:, 1])
    kept = length > GRID
    chosen = np.flatnonzero(kept)[_spread(ring[starts[kept]])]
    starts, along, length = starts[chosen], along[chosen], length[chosen]
    return ends[starts] + along / 2.0, np.column_stack((along[:, 1], -along[:, 0])) / length[:, None]


def _spread(ring: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Evenly chosen places of all rings together, and a few of each ring so that no small one goes unseen."""
    chosen = np.zeros(len(ring), np.bool_)
    chosen[:: min(max(1, len(ring) // _PLACES_AN_OUTLINE), _WIDEST_STEP)] = True
    starts = np.flatnonzero(np.diff(ring, prepend=-1))
    ends = np.append(starts[1:], len(ring))
    for number in range(_PLACES_A_RING):
        chosen[np.minimum(starts + number, ends - 1)] = True
    return chosen


def _rings(region: Region) -> list[NDArray[np.float64]]:
    """Closed rings, exteriors and holes, as arrays of points."""
    places, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(region)), return_index=True)
    return np.split(places, np.flatnonzero(np.diff(ring)) + 1) if len(places) else []
