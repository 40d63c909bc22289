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
_AT_A_TIME = 20_000
"""So many places are looked at together at most."""
_DISC_SHARE = 0.01
"""A large disc in what is enclosed need be no truer than to this share of its radius: a tenth of the time."""
_FEW_BOXES = 32
"""About more boxes than that, edges are not looked for apart."""
_REACH_IN_FINE_STEPS = 12.0
"""How far another body is looked for at first: a seam has ten fine steps."""


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
    (a filled hole) has all its vertices on the region: the radius of the largest disc in it counts instead, true to a
    quarter of `shallow` or a hundredth of itself.
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
        np.maximum.at(
            deep, owners[far], distances(region, places[far], shapely.bounds(outlines[np.unique(owners[far])]))
        )
    wide = shapely.area(slivers) > shallow * np.maximum(math.pi * shallow, shapely.length(slivers) / 2.0)
    wide[owners[far]] = False  # what stands off by more than that is not enclosed
    if wide.any():
        beside = np.flatnonzero(wide[owners])
        wide[owners[beside[~shapely.dwithin(region, points[beside], FILM)]]] = False
    for number in np.flatnonzero(wide).tolist():
        # the largest disc in a region is no smaller than its area by its outline
        least = slivers[number].area / slivers[number].length
        deep[number] = inscribed_radius(slivers[number], max(shallow / 4.0, _DISC_SHARE * least))
    return deep


def are_within(shape: BaseGeometry, places: Places, reach: float) -> NDArray[np.bool_]:
    """Which places lie within reach of a shape. Some thousands at a time: a point takes ten times a place's memory."""
    shapely.prepare(shape)
    near = np.empty(len(places), np.bool_)
    for start in range(0, len(places), _AT_A_TIME):
        some = slice(start, start + _AT_A_TIME)
        near[some] = shapely.dwithin(shape, shapely.points(places[some]), reach)
    return near


def furthest_place(shape: BaseGeometry, region: BaseGeometry) -> tuple[float, float]:
    """The vertex of a shape that stands furthest from a region beside it."""
    places = shapely.get_coordinates(shape)
    x, y = places[int(shapely.distance(region, shapely.points(places)).argmax())].tolist()
    return float(x), float(y)


def distances(region: BaseGeometry, places: Places, boxes: Places | None = None) -> NDArray[np.float64]:
    """How far each place stands from a region; 0 inside it. Exact: to its nearest edge, found in a tree of edges.

    `boxes` (n, 4) hold all the places. Each should meet the region's outline: then the edges about it will do.
    """
    away = distances_to_outline(region, places, boxes)
    shapely.prepare(region)
    away[shapely.intersects_xy(region, places)] = 0.0
    return away


def distances_to_outline(region: BaseGeometry, places: Places, boxes: Places | None = None) -> NDArray[np.float64]:
    """How far each place stands from the outline of a region, in or out of it. Exact; `boxes` as in `distances`."""
    ends, ring = shapely.get_coordinates(shapely.get_rings(_polygons(region)), return_index=True)
    first = np.flatnonzero(ring[:-1] == ring[1:])
    edges = np.hstack((ends[first], ends[first + 1]))
    if boxes is None or len(boxes) > _FEW_BOXES:
        return _to_nearest(edges, places)
    reach = float(np.hypot(*(boxes[:, 2:] - boxes[:, :2]).T).max())
    low, high = np.minimum(edges[:, :2], edges[:, 2:]), np.maximum(edges[:, :2], edges[:, 2:])
    about = np.zeros(len(edges), np.bool_)
    for box in boxes:
        about |= np.all((low <= box[2:] + reach) & (high >= box[:2] - reach), axis=1)
    away = _to_nearest(edges[about], places)
    if not (away <= reach).all():  # another edge may be nearer
        away[away > reach] = _to_nearest(edges, places[away > reach])
    return away


def _to_nearest(edges: NDArray[np.float64], places: Places) -> NDArray[np.float64]:
    """How far each place stands from the nearest of edges (n, 4); boundless where there is none."""
    away = np.full(len(places), np.inf)
    if len(edges):
        tree = shapely.STRtree(shapely.linestrings(edges.reshape(-1, 2, 2)))
        found, apart = tree.query_nearest(shapely.points(places), return_distance=True, all_matches=False)
        away[found[0]] = apart
    return away


def _polygons(region: BaseGeometry) -> NDArray[np.object_]:
    """The polygons of a polygon, a multipolygon or a collection of both."""
    parts = shapely.get_parts(shapely.get_parts(region))
    return np.asarray(parts)


def samples_along(outline: BaseGeometry, step: float) -> tuple[Places, NDArray[np.float64]]:
    """Places along outlines, every `step` at most, and the length that each stands for."""
    starts, ends = _stretches_along(outline, step)
    return (starts + ends) / 2.0, np.hypot(*(ends - starts).T)


def _stretches_along(outline: BaseGeometry, step: float) -> tuple[Places, Places]:
    """Starts and ends of the straight stretches of outlines, none longer than `step`."""
    ends, line = shapely.get_coordinates(shapely.segmentize(shapely.get_parts(outline), step), return_index=True)
    same = line[:-1] == line[1:]
    return ends[:-1][same], ends[1:][same]


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
    if len(bodies) < 2:
        return Gaps(np.empty((0, 2)), np.empty(0), np.empty(0))
    stretches = [_stretches_along(outline, steps[0]) for outline in outlines]
    owners = np.repeat(np.arange(len(stretches)), [len(starts) for starts, _ in stretches])
    starts, ends = (np.vstack([one[side] for one in stretches]) for side in (0, 1))
    edges = _Edges.of(bodies)
    widths = edges.gaps((starts + ends) / 2.0, owners, _REACH_IN_FINE_STEPS * steps[1])
    coarse = _worth_a_closer_look((starts + ends) / 2.0, widths, owners, watched, steps[0])
    finer_starts, finer_ends, number = _split(starts[coarse], ends[coarse], steps[1])
    finer = (finer_starts + finer_ends) / 2.0
    finer_widths = edges.gaps(finer, owners[coarse][number], _REACH_IN_FINE_STEPS * steps[1])
    return Gaps(
        np.vstack((((starts + ends) / 2.0)[~coarse], finer)),
        np.concatenate((widths[~coarse], finer_widths)),
        np.concatenate((np.hypot(*(ends - starts)[~coarse].T), np.hypot(*(finer_ends - finer_starts).T))),
    )


def _worth_a_closer_look(
    places: Places, widths: NDArray[np.float64], owners: NDArray[np.int64], watched: BaseGeometry, reach: float
) -> NDArray[np.bool_]:
    """Which places lie within reach of a watched place, or of a gap that is uncommon on its outline."""
    # owners come in order, the places of each together
    counts = np.bincount(owners)
    medians = [float(np.median(its)) if len(its) else 0.0 for its in np.split(widths, np.cumsum(counts)[:-1])]
    common = np.repeat(medians, counts)
    odd = np.abs(widths - common) > common * UNCOMMON_GAP + SAME_PLACE
    about = np.vstack((places[odd], shapely.get_coordinates(watched)))
    coarse = np.zeros(len(places), np.bool_)
    if len(about):
        tree = shapely.STRtree(shapely.points(places))
        coarse[tree.query(shapely.points(about), predicate="dwithin", distance=reach)[1]] = True
    return coarse


def _split(starts: Places, ends: Places, step: float) -> tuple[Places, Places, NDArray[np.int64]]:
    """Stretches cut into equal ones no longer than `step`, and the number of the stretch that each is of."""
    parts = np.maximum(np.ceil(np.hypot(*(ends - starts).T) / step), 1.0).astype(np.int64)
    number = np.repeat(np.arange(len(starts)), parts)
    place = np.arange(len(number)) - np.repeat(np.cumsum(parts) - parts, parts)
    along = (ends - starts)[number] / parts[number, None]
    begin = starts[number] + along * place[:, None]
    return begin, begin + along, number


@dataclass(frozen=True, slots=True)
class _Edges:
    """The edges of several bodies in one tree, so that the nearest one of another body is found at once."""

    bodies: Sequence[BaseGeometry]
    starts: Places
    along: Places
    owners: NDArray[np.int64]
    tree: shapely.STRtree

    @classmethod
    def of(cls, bodies: Sequence[BaseGeometry]) -> "_Edges":
        """The edges of bodies, each body's with its number."""
        parts, body = shapely.get_parts(np.array(bodies), return_index=True)
        rings, part = shapely.get_rings(parts, return_index=True)
        ends, ring = shapely.get_coordinates(rings, return_index=True)
        first = np.flatnonzero(ring[:-1] == ring[1:])
        corners = np.stack((ends[first], ends[first + 1]), axis=1).reshape(-1, 2)
        lines = shapely.linestrings(corners, indices=np.repeat(np.arange(len(first)), 2))
        return cls(bodies, ends[first], ends[first + 1] - ends[first], body[part[ring[first]]], shapely.STRtree(lines))

    def gaps(self, places: Places, owners: NDArray[np.int64], reach: float) -> NDArray[np.float64]:
        """How far each place stands from the nearest body that is not its own; 0 in such a body.

        Looked for within `reach`, then four times as far, and so on, where nothing was found.
        """
        apart = np.full(len(places), np.inf)
        waiting = np.arange(len(places))
        while len(waiting):
            for start in range(0, len(waiting), _AT_A_TIME):
                some = waiting[start : start + _AT_A_TIME]
                around = shapely.box(*(places[some] - reach).T, *(places[some] + reach).T)
                place, edge = self.tree.query(around)
                place, edge = (found[self.owners[edge] != owners[some[place]]] for found in (place, edge))
                found = self._apart(places[some[place]], edge)
                np.minimum.at(apart, some[place][found <= reach], found[found <= reach])
            waiting = waiting[np.isinf(apart[waiting])]
            reach *= 4.0
        apart[self._in_another(places, owners)] = 0.0
        return apart

    def _apart(self, places: Places, edge: NDArray[np.int64]) -> NDArray[np.float64]:
        starts, along = self.starts[edge], self.along[edge]
        squared = np.maximum((along * along).sum(axis=1), SAME_PLACE * SAME_PLACE)
        share = np.clip(((places - starts) * along).sum(axis=1) / squared, 0.0, 1.0)
        return np.asarray(np.hypot(*(places - starts - along * share[:, None]).T))

    def _in_another(self, places: Places, owners: NDArray[np.int64]) -> NDArray[np.bool_]:
        inside = np.zeros(len(places), np.bool_)
        boxes = shapely.bounds(np.array(self.bodies))
        from_left = np.argsort(places[:, 0], kind="stable")
        first = np.searchsorted(places[from_left, 0], boxes[:, 0], "left")
        last = np.searchsorted(places[from_left, 0], boxes[:, 2], "right")
        for number, (body, (_, low, _, high)) in enumerate(zip(self.bodies, boxes.tolist(), strict=True)):
            between = from_left[first[number] : last[number]]
            height = places[between, 1]
            about = between[(owners[between] != number) & (height >= low) & (height <= high)]
            shapely.prepare(body)
            inside[about[shapely.intersects_xy(body, places[about])]] = True
        return inside
