"""The curves that the tip of a V cutter runs along: axis, contour at full depth, and the rest of the bottom.

axis      the medial axis, as deep as the walls on both sides are far away, down to full depth
contour   where full depth is reached first, all round
rest      on the bottom, what the flat cutter has not reached: contours further in, and the axis between them
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from purfle.geometry.folds import unfolded
from purfle.geometry.medial_axis import MedialAxis, above, axis_around, below, cut_at, medial_axis
from purfle.geometry.offsetting import (
    Region,
    closing,
    difference,
    even_offset,
    grow,
    polygonal,
    polygons,
    region_of,
    shrink,
)
from purfle.model.tapered import TaperedRule
from purfle.tapered.bridges import bridged
from purfle.tapered.law import spacing_for
from purfle.tolerances import AXIS_FLAT, AXIS_PRUNED, FILM, OFFSET_PLACE, ON_CONTOUR, SAME_PLACE

CUSP_SHARE = 0.5
"""Cusps on the bottom are as high as this share of the glue room, at most, so that the insert never meets one."""
BESIDE_INSERT = 1.0
"""The plate is cleared this much wider around an insert than the flat cutter needs (common practice, no source)."""
HIGHEST_CUSP = 0.25
"""And no higher than this (common practice, no source): higher ones hold too much glue."""


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """Curves to be cut: places (n, 3) as x, y, depth; edges (m, 2). `bottom`: where the tip may go at full depth.

    `floor`: what is to be level at full depth; `cleared`: what of it the flat cutter takes, with its middle in `room`.
    """

    places: NDArray[np.float64]
    edges: NDArray[np.int64]
    full_depth: float
    bottom: Region
    floor: Region
    cleared: Region
    room: Region


@dataclass(frozen=True, slots=True, eq=False)
class _Side:
    """One side of the wall: its axis, how far from the wall full depth is reached, how deep the tip is at the wall."""

    axis: MedialAxis
    reach: float
    shallowest: float
    rule: TaperedRule

    @property
    def depth_at_reach(self) -> float:
        return self.shallowest + (self.reach - self.rule.tip_radius) / self.rule.slope

    def deep(self, distance: NDArray[np.float64]) -> NDArray[np.float64]:
        """Depth of the tip at a distance from the wall."""
        tip = self.rule.tip_radius
        return self.shallowest + np.clip(distance - tip, 0.0, self.reach - tip) / self.rule.slope


def recess_curves(outline: Region, rule: TaperedRule, flat_radius: float | None) -> Curves:
    """The curves of a recess. `flat_radius`: of the straight cutter that clears before, None without one.

    Valid: outline rounded by the tip's radius (`law.rounded`). An empty outline has no curves.
    """
    if outline.is_empty:
        return _none(rule.recess_depth)
    wide = rule.recess_depth * rule.slope
    axis = medial_axis(outline, AXIS_FLAT, AXIS_PRUNED)
    side = _Side(axis, wide + rule.tip_radius, 0.0, rule)
    floor = shrink(outline, wide)
    bottom = even_offset(outline, -side.reach)
    return _curves(side, bottom.boundary, (bottom, floor), flat_radius, spacing_of(rule))


def insert_curves(outline: Region, rule: TaperedRule, flat_radius: float, around: float) -> Curves:
    """The curves around an insert, in the frame of its stock (`outline` mirrored), as far out as `around`.

    Valid: outline rounded by the tip's radius; around >= saw room * tau + 2 * flat_radius. An empty outline has no
    curves.
    """
    if outline.is_empty:
        return _none(rule.insert_depth)
    wide = rule.saw_room * rule.slope
    axis = axis_around(outline, around, AXIS_FLAT, AXIS_PRUNED)
    side = _Side(axis, wide + rule.tip_radius, rule.sink, rule)
    plate = plate_of(outline, around)
    floor = difference(plate, grow(outline, wide))
    within = even_offset(outline, side.reach)
    bottom = difference(shrink(plate, flat_radius), within)
    return _curves(side, within.boundary, (bottom, floor), flat_radius, spacing_of(rule))


def _none(full_depth: float) -> Curves:
    nothing = shapely.Polygon()
    return Curves(np.empty((0, 3)), np.empty((0, 2), np.int64), full_depth, nothing, nothing, nothing, nothing)


def plate_reach(rule: TaperedRule, flat_radius: float) -> float:
    """How far around an insert its plate reaches: the flat cutter runs around it, with some room."""
    return rule.saw_room * rule.slope + 2.0 * flat_radius + BESIDE_INSERT


def plate_of(outline: Region, around: float) -> Region:
    """What is cleared around an insert and then cut loose with it: all within `around`, holes and nooks filled.

    Its own outline has no corner that a cutter as wide as `around` could not follow.
    """
    grown = closing(grow(outline, around), around)
    return unfolded(polygonal(shapely.union_all([shapely.Polygon(part.exterior) for part in polygons(grown)])))


def spacing_of(rule: TaperedRule) -> float:
    """How far apart the ways of the tip on the bottom are."""
    return spacing_for(min(CUSP_SHARE * rule.glue_room, HIGHEST_CUSP), rule)


def _curves(
    side: _Side, wall: BaseGeometry, bottoms: tuple[Region, Region], flat_radius: float | None, spacing: float
) -> Curves:
    bottom, floor = bottoms
    room = shrink(floor, flat_radius) if flat_radius is not None else shapely.Polygon()
    cleared = grow(room, flat_radius) if flat_radius is not None else room
    needed = _needed(bottom, cleared, spacing / 2.0)
    levels = [] if needed.is_empty else _levels(bottom, needed, spacing)
    # at the middle of a rounded corner the wall is a tip's radius away, less the error of its chords
    upper = above(below(side.axis, side.reach), max(0.0, side.rule.tip_radius - OFFSET_PLACE))
    places = np.column_stack([upper.places[:, :2], side.deep(upper.places[:, 2])])
    net = _Net(side.depth_at_reach)
    net.add(places, upper.edges)
    full = upper.places[:, 2] >= side.reach - SAME_PLACE
    ends = [places[full][:, :2]]
    if not needed.is_empty:
        rest = _rest_of_axis(side, needed, [side.reach + spacing * k for k in range(1, len(levels) + 1)])
        net.add_level(rest.places[:, :2], rest.edges)
        ends.append(rest.places[:, :2])
    on_contours = np.vstack(ends)
    net.add_lines(_lines(wall), on_contours)
    for level in levels:
        net.add_lines(level, on_contours)
    places, edges = bridged(*net.joined(), bottom, 1.5 * spacing)
    return Curves(places, edges, side.depth_at_reach, bottom, floor, cleared, room)


def _needed(bottom: Region, cleared: Region, beside: float) -> Region:
    """What of the bottom neither the flat cutter nor the tip on the contour has taken, but for films."""
    left = difference(shrink(bottom, beside), cleared)
    return region_of([part for part in polygons(left) if part.area > FILM * part.length])


def _levels(bottom: Region, needed: Region, spacing: float) -> list[list[LineString]]:
    """Contours further in, as far as they pass what is needed."""
    near = grow(needed, spacing / 2.0)
    levels: list[list[LineString]] = []
    while True:
        bottom_now = shrink(bottom, spacing * (len(levels) + 1))
        lines = _lines(shapely.intersection(bottom_now.boundary, near))
        if not lines and not bottom_now.intersects(needed):
            return levels
        levels.append(lines)


def _rest_of_axis(side: _Side, needed: Region, distances: list[float]) -> MedialAxis:
    """The deeper part of the axis where it runs through what is needed, with a place at every contour."""
    deep = cut_at(above(side.axis, side.reach), distances)
    if not len(deep.edges):
        return deep
    lines = shapely.linestrings(deep.places[deep.edges][:, :, :2])
    shapely.prepare(needed)
    return _no_further(deep, deep.edges[shapely.intersects(needed, lines)], needed)


def _no_further(axis: MedialAxis, edges: NDArray[np.int64], needed: Region) -> MedialAxis:
    """Edges of an axis, each from its end nearer to the wall as far as it runs through what is needed.

    In a notch of straight sides one edge runs out to where the axis ends, far beyond the plate.
    """
    nearer = np.argsort(axis.places[edges][:, :, 2], axis=1, kind="stable")
    edges = np.take_along_axis(edges, nearer, axis=1)
    places, trimmed = [axis.places], edges.copy()
    count = len(axis.places)
    for number, (start, end) in enumerate(axis.places[edges]):
        within = shapely.get_coordinates(shapely.intersection(needed, shapely.linestrings([start[:2], end[:2]])))
        way = end - start
        length = float(np.hypot(*way[:2]))
        share = float(((within - start[:2]) @ way[:2]).max()) / length**2 if length else 1.0
        if share * length < length - SAME_PLACE:
            places.append((start + share * way)[None, :])
            trimmed[number, 1], count = count, count + 1
    return MedialAxis(np.vstack(places), trimmed)


def _lines(geometry: BaseGeometry) -> list[LineString]:
    """The unbroken lines of a geometry, those joined that only end at each other."""
    parts = [part for part in shapely.get_parts(geometry) if isinstance(part, LineString) and part.length > ON_CONTOUR]
    if not parts:
        return []
    merged = shapely.line_merge(shapely.multilinestrings(parts))
    return [part for part in shapely.get_parts(merged) if isinstance(part, LineString)]


class _Net:
    """Places and edges put together; what lies in one place is one place."""

    def __init__(self, full_depth: float) -> None:
        self._full_depth = full_depth
        self._places: list[NDArray[np.float64]] = []
        self._edges: list[NDArray[np.int64]] = []
        self._count = 0

    def add(self, places: NDArray[np.float64], edges: NDArray[np.int64]) -> None:
        self._places.append(places)
        self._edges.append(edges + self._count)
        self._count += len(places)

    def add_level(self, places: NDArray[np.float64], edges: NDArray[np.int64]) -> None:
        """Places at full depth."""
        self.add(np.column_stack([places, np.full(len(places), self._full_depth)]), edges)

    def add_lines(self, lines: list[LineString], ends: NDArray[np.float64]) -> None:
        """Lines at full depth, led through those ends that lie on them."""
        if not lines:
            return
        # bit by bit, for a search among whole lines goes along each of them
        corners, owner = shapely.get_coordinates(lines, return_index=True)
        bits = np.flatnonzero(owner[1:] == owner[:-1])
        tree = shapely.STRtree(shapely.linestrings(np.stack([corners[bits], corners[bits + 1]], axis=1)))
        found, bit = tree.query(shapely.points(ends), predicate="dwithin", distance=ON_CONTOUR)
        line = owner[bits[bit]]
        for number, one in enumerate(lines):
            places = _through(one, ends[np.unique(found[line == number])])
            count = np.arange(len(places) - 1, dtype=np.int64)
            self.add_level(places, np.column_stack([count, count + 1]))

    def joined(self) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """All of it, each place once, no edge without length or twice."""
        places, edges = np.vstack(self._places), np.vstack(self._edges)
        grid = np.round(places / (10.0 * SAME_PLACE)).astype(np.int64)
        _, first, joined = np.unique(grid, axis=0, return_index=True, return_inverse=True)
        pairs = np.sort(joined.ravel()[edges], axis=1)
        pairs = np.unique(pairs[pairs[:, 0] != pairs[:, 1]], axis=0)
        return places[first], pairs


def _through(line: LineString, ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """The places of a line and, where they belong on it, the ends; places that all but lie on an end give way to it."""
    places = np.asarray(shapely.get_coordinates(line), np.float64)
    if not len(ends):
        return places
    where = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    at = shapely.line_locate_point(line, shapely.points(ends))
    closed = bool((places[0] == places[-1]).all())
    near = np.abs(where[:, None] - at[None, :]).min(axis=1) < ON_CONTOUR
    if closed:  # one end of a ring stands for both
        first_is_near = np.minimum(at, where[-1] - at).min() < ON_CONTOUR
        near[[0, -1]] = first_is_near
    else:
        near[[0, -1]] = False
    every = np.vstack([places[~near], ends])
    order = np.argsort(np.concatenate([where[~near], at]), kind="stable")
    way = every[order]
    return np.vstack([way, way[:1]]) if closed and near[0] else way
