"""Distances and widths of plane regions, measured without any offsetting."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.tolerances import FILM, SAME_PLACE, UNCOMMON_GAP

Places = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gaps:
    """Gaps sampled along outlines: `places` (n, 2), `widths` (n,), and `lengths` (n,) that the samples stand for."""

    places: Places
    widths: NDArray[np.float64]
    lengths: NDArray[np.float64]


def inscribed_radius(region: Polygon | MultiPolygon, tolerance: float) -> float:
    """Radius of the largest disc that lies in the region, 0 for an empty one."""
    parts = [part for part in shapely.get_parts(region) if part.area > 0.0]
    return max((float(shapely.maximum_inscribed_circle(part, tolerance).length) for part in parts), default=0.0)


def inscribed_centre(region: Polygon, tolerance: float) -> tuple[float, float]:
    """Centre of the largest disc that lies in the region."""
    x, y = shapely.get_coordinates(shapely.maximum_inscribed_circle(region, tolerance))[0].tolist()
    return float(x), float(y)


def depths_beside(
    slivers: Sequence[Polygon], region: BaseGeometry, shallow: float, step: float = 0.2
) -> NDArray[np.float64]:
    """How far each sliver beside a region reaches away from it.

    Largest distance of any vertex from the region, a vertex every `step` at least. A sliver that the region encloses
    (a filled hole) has all its vertices on the region: the radius of the largest disc in it counts instead.
    """
    if not slivers:
        return np.empty(0)
    # The outlines, not the polygons: densifying a polygon mends it first, which has emptied thin slivers.
    outlines = shapely.segmentize(shapely.boundary(np.array(slivers)), step)
    places, owners = shapely.get_coordinates(outlines, return_index=True)
    deep = np.zeros(len(slivers))
    points = shapely.points(places)
    shapely.prepare(region)
    # most places are shallow, and dwithin is ten times faster than distance: only the others are measured
    far = ~shapely.dwithin(region, points, shallow)
    if far.any():
        np.maximum.at(deep, owners[far], distances(region, places[far]))
    off = np.zeros(len(slivers), np.bool_)
    off[owners[~shapely.dwithin(region, points, FILM)]] = True
    wide = shapely.area(slivers) > shallow * np.maximum(math.pi * shallow, shapely.length(slivers) / 2.0)
    for number in np.flatnonzero(wide & ~off).tolist():
        deep[number] = inscribed_radius(slivers[number], shallow / 4.0)
    return deep


def furthest_place(shape: BaseGeometry, region: BaseGeometry) -> tuple[float, float]:
    """The vertex of a shape that stands furthest from a region beside it."""
    places = shapely.get_coordinates(shape)
    x, y = places[int(shapely.distance(region, shapely.points(places)).argmax())].tolist()
    return float(x), float(y)


def distances(region: BaseGeometry, places: Places) -> NDArray[np.float64]:
    """How far each place stands from a region; 0 inside it. Exact: to its nearest edge, found in a tree of edges."""
    away = distances_to_outline(region, places)
    shapely.prepare(region)
    away[shapely.intersects_xy(region, places)] = 0.0
    return away


def distances_to_outline(region: BaseGeometry, places: Places) -> NDArray[np.float64]:
    """How far each place stands from the outline of a region, inside it or outside. Exact, as `distances`."""
    ends, ring = shapely.get_coordinates(shapely.get_rings(_polygons(region)), return_index=True)
    first = np.flatnonzero(ring[:-1] == ring[1:])
    corners = np.stack((ends[first], ends[first + 1]), axis=1).reshape(-1, 2)
    edges = shapely.linestrings(corners, indices=np.repeat(np.arange(len(first)), 2))
    found, apart = shapely.STRtree(edges).query_nearest(shapely.points(places), return_distance=True, all_matches=False)
    away = np.zeros(len(places))
    away[found[0]] = apart
    return away


def _polygons(region: BaseGeometry) -> NDArray[np.object_]:
    """The polygons of a polygon, a multipolygon or a collection of both."""
    parts = shapely.get_parts(shapely.get_parts(region))
    return np.asarray(parts)


def samples_along(outline: BaseGeometry, step: float) -> tuple[Places, NDArray[np.float64]]:
    """Places along outlines, every `step` at most, and the length that each stands for."""
    ends, line = shapely.get_coordinates(shapely.segmentize(shapely.get_parts(outline), step), return_index=True)
    same = line[:-1] == line[1:]
    middles = ((ends[:-1] + ends[1:]) / 2.0)[same]
    return middles, np.hypot(*(ends[1:] - ends[:-1]).T)[same]


def gaps_between(
    bodies: Sequence[BaseGeometry],
    outlines: Sequence[BaseGeometry],
    steps: tuple[float, float],
    watched: BaseGeometry,
) -> Gaps:
    """The gap from each outline to the nearest body that is not its own, sampled along all outlines.

    `outlines[k]` belongs to `bodies[k]`. Samples stand every `steps[0]`, and every `steps[1]` near the watched places
    and near every uncommon gap.
    """
    tree = shapely.STRtree(list(bodies))
    found = []
    for number, outline in enumerate(outlines):
        close = tree.query(bodies[number], predicate="dwithin", distance=4.0 * steps[0]).tolist()
        others = [bodies[one] for one in sorted(close) if one != number]
        others = others or [body for one, body in enumerate(bodies) if one != number]
        if others and not outline.is_empty:
            found.append(_gaps_of(outline, shapely.GeometryCollection(others), steps, watched))
    if not found:
        return Gaps(np.empty((0, 2)), np.empty(0), np.empty(0))
    places, widths, lengths = zip(*found, strict=True)
    return Gaps(np.vstack(places), np.concatenate(widths), np.concatenate(lengths))


Sampled = tuple[Places, NDArray[np.float64], NDArray[np.float64]]


def _gaps_of(outline: BaseGeometry, others: BaseGeometry, steps: tuple[float, float], watched: BaseGeometry) -> Sampled:
    """Places, widths and lengths along one outline, with finer samples in place of those where it is worth it."""
    step, fine = steps
    places, lengths = samples_along(outline, step)
    widths = distances(others, places)
    common = np.median(widths)
    odd = np.abs(widths - common) > common * UNCOMMON_GAP + SAME_PLACE
    around = shapely.union_all([shapely.multipoints(places[odd]), watched])
    if around.is_empty:
        return places, widths, lengths
    shapely.prepare(around)
    coarse = shapely.dwithin(around, shapely.points(places), step)
    finer, finer_lengths = _finer(outline, places[coarse], (step, fine))
    replaced = shapely.dwithin(around, shapely.points(finer), step)
    kept, finer, finer_lengths = ~coarse, finer[replaced], finer_lengths[replaced]
    finer_widths = distances(others, finer)
    return (
        np.vstack((places[kept], finer)),
        np.concatenate((widths[kept], finer_widths)),
        np.concatenate((lengths[kept], finer_lengths)),
    )


def _finer(outline: BaseGeometry, places: Places, steps: tuple[float, float]) -> tuple[Places, NDArray[np.float64]]:
    """Fine samples of the stretches of an outline near some places."""
    if len(places) == 0:
        return np.empty((0, 2)), np.empty(0)
    step, fine = steps
    boxes = shapely.box(*(places - 1.5 * step).T, *(places + 1.5 * step).T)
    return samples_along(shapely.intersection(outline, shapely.union_all(boxes)), fine)
