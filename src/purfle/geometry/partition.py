"""Regions that tile a domain: made exact by noding all their boundaries once.

Working on single regions leaves their shared boundaries apart by up to the precision grid. `tiled` puts all boundaries
into one drawing, finds its faces, and hands each face to one region: afterwards neighbours share every vertex.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from purfle.geometry.coverage import tile_edge_to_edge
from purfle.geometry.measuring import samples_along
from purfle.geometry.offsetting import Region, clip, difference, intersection, polygonal, polygons, region_of, shrink
from purfle.hard_stop import busy
from purfle.tolerances import FILM, GRID, TOUCHING, ZIGZAG

_BORDER_STEP = 0.5
"""A border is measured in stretches no longer than this."""


def tiled(regions: Sequence[Region], domain: Polygon) -> tuple[Region, ...]:
    """The same regions, in the same order, tiling the domain exactly; a face that nobody claims goes to a neighbour.

    Valid: regions overlap or gape by no more than a film; larger gaps are filled all the same, larger overlaps go to
    the earlier region.
    """
    busy("fitting its pieces together", lambda: "whole artwork")
    lines = [shapely.set_precision(region.boundary, GRID) for region in (*regions, domain)]
    noded = shapely.union_all(lines, grid_size=GRID)
    faces = [face for face in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(noded)))) if face.area > 0.0]
    faces = [face for face in faces if shapely.contains_xy(domain, *_inside(face))]
    owners = _owners(faces, regions)
    _adopt(faces, owners)
    held: list[list[Polygon]] = [[] for _ in regions]
    for face, owner in zip(faces, owners, strict=True):
        if owner >= 0:
            held[owner].append(face)
    return tuple(polygonal(shapely.union_all(its)) for its in held)


def smoothed(regions: Sequence[Region]) -> tuple[Region, ...]:
    """Regions that tile, without the zigzags of a grid step or two that overlays leave; edges stay shared.

    Such zigzags turn back on themselves; the second engine takes some of them for round ends of a line. Coordinates of
    nought lose the sign that an overlay leaves them by chance, so that the same drawing gives the same bytes.
    """
    plain = shapely.transform(shapely.coverage_simplify(list(regions), ZIGZAG), lambda places: places + 0.0)
    return tuple(polygonal(region) for region in plain)


@dataclass(frozen=True, slots=True)
class Tiling:
    """How exactly regions tile a domain: area missed or claimed beyond it, area claimed twice, edges all shared."""

    area_apart: float
    area_twice: float
    edges_shared: bool


def tiling_of(regions: Sequence[Region], domain: Polygon) -> Tiling:
    """How exactly these regions tile the domain."""
    every = list(regions)
    edges_shared = tile_edge_to_edge(every, domain) or bool(shapely.coverage_is_valid(every))
    # where they share every edge, dropping those needs no noding
    whole = shapely.coverage_union_all(every) if edges_shared else shapely.union_all(every)
    return Tiling(
        float(shapely.symmetric_difference(domain, whole).area),
        float(sum(region.area for region in every) - whole.area),
        edges_shared,
    )


def junctions_of(regions: Sequence[Region]) -> tuple[tuple[float, float], ...]:
    """Places where three or more of these regions meet, from left to right.

    Valid: regions that share every vertex, as `tiled` leaves them.
    """
    places, owners = shapely.get_coordinates(np.array(regions, object), return_index=True)
    if not len(places):
        return ()
    order = np.lexsort((owners, places[:, 1], places[:, 0]))
    places, owners = places[order], owners[order]
    is_new = np.append(True, (places[1:] != places[:-1]).any(axis=1))
    is_owner = is_new | np.append(True, owners[1:] != owners[:-1])
    starts = np.flatnonzero(is_new)
    meeting = starts[np.add.reduceat(is_owner.astype(np.int64), starts) >= 3]
    return tuple((x, y) for x, y in places[meeting].tolist())


def border_length(first: Region, second: Region) -> float:
    """Length along which two regions lie against each other, films between them overlooked."""
    if first.is_empty or not boxes_near(first, [second])[0]:
        return 0.0
    first, second = sorted((first, second), key=shapely.get_num_coordinates)
    middles, lengths = border_samples(first)
    shapely.prepare(second)
    return float(lengths[shapely.dwithin(second, shapely.points(middles), TOUCHING)].sum())


def border_samples(region: Region) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places along the outline of a region, and the length of border that each stands for."""
    return samples_along(region.boundary, _BORDER_STEP)


def boxes_near(region: Region, others: Sequence[Region], reach: float = TOUCHING) -> NDArray[np.bool_]:
    """Which of the others have a bounding box that comes within `reach` of that of the region."""
    left, low, right, high = region.bounds
    bounds = shapely.bounds(np.array(others))
    apart = (bounds[:, :2] > (right + reach, high + reach)) | (bounds[:, 2:] < (left - reach, low - reach))
    return np.asarray(~apart.any(axis=1) & ~np.isnan(bounds).any(axis=1))


def within_reach(regions: Sequence[Region], reach: float) -> list[list[int]]:
    """The regions in groups: from each one to some other of its group it is no further than `reach`.

    From the largest on, each looks for those only that no group has yet: in a crowded drawing one look finds most.
    """
    every, bounds = np.array(regions, object), shapely.bounds(np.array(regions, object))
    group = np.full(len(regions), -1)
    largest_first = np.argsort(-shapely.area(every), kind="stable").tolist()
    for number, start in enumerate(largest_first):
        waiting = [start] if group[start] < 0 else []
        while waiting:
            one = waiting.pop()
            group[one] = number
            free = np.flatnonzero(group < 0)
            left, low, right, high = bounds[one]
            about = np.all((bounds[free, :2] <= (right + reach, high + reach)), axis=1)
            about &= np.all((bounds[free, 2:] >= (left - reach, low - reach)), axis=1)
            shapely.prepare(every[one])
            found = free[about][shapely.dwithin(every[one], every[free[about]], reach)]
            group[found] = number
            waiting += found.tolist()
    return [np.flatnonzero(group == number).tolist() for number in dict.fromkeys(group.tolist())]


def in_parts(region: Region, most: int = 1000) -> list[Region]:
    """The region cut in half, and in half again, until no part has more than so many vertices."""
    if shapely.get_num_coordinates(region) <= most:
        return [] if region.is_empty else [region]
    left, low, right, high = region.bounds
    x, y = (left + right) / 2.0, (low + high) / 2.0
    wide = right - left > high - low
    halves = ((left, low, x, high), (x, low, right, high)) if wide else ((left, low, right, y), (left, y, right, high))
    if max(right - left, high - low) < GRID:
        return [region]
    return [part for half in halves for part in in_parts(clip(region, half), most)]


def near(region: Region, place: Region, reach: float) -> Region:
    """What of a region lies in the bounding box of a place grown by `reach`."""
    left, low, right, high = place.bounds
    return clip(region, (left - reach, low - reach, right + reach, high + reach))


def without(region: Region, taken: Region) -> Region:
    """The region less what was taken, films dropped."""
    left = difference(region, taken)
    whole = [part for part in polygons(left) if part.area > FILM * part.length]
    return left if len(whole) == shapely.get_num_geometries(left) else region_of(whole)


def shared(region: Region, other: Region) -> Region:
    """What two regions share, films dropped."""
    return region_of([part for part in polygons(intersection(region, other)) if part.area > FILM * part.length])


def _inside(face: Polygon) -> tuple[float, float]:
    place = face.representative_point()
    return place.x, place.y


def _owners(faces: list[Polygon], regions: Sequence[Region]) -> list[int]:
    """The first region that holds each face; -1 where none does, or where the face is but a film."""
    owners = [-1] * len(faces)
    places: NDArray[np.object_] = np.array([face.representative_point() for face in faces])
    found, holders = STRtree(list(regions)).query(places, predicate="intersects")
    for face, holder in sorted(zip(found.tolist(), holders.tolist(), strict=True), reverse=True):
        owners[face] = holder
    for number, face in enumerate(faces):
        if face.area < FILM * face.length and shrink(face, FILM).is_empty:
            owners[number] = -1
    return owners


def _adopt(faces: list[Polygon], owners: list[int]) -> None:
    """Give every face without an owner to the owner of the face that it shares the longest border with."""
    tree = STRtree(faces)
    waiting = [number for number, owner in enumerate(owners) if owner < 0]
    while waiting:
        chosen = {number: _best_owner(number, faces, owners, tree) for number in waiting}
        settled = {number: owner for number, owner in chosen.items() if owner >= 0}
        if not settled:
            break
        for number, owner in settled.items():
            owners[number] = owner
        waiting = [number for number in waiting if number not in settled]


def _best_owner(number: int, faces: list[Polygon], owners: list[int], tree: STRtree) -> int:
    borders: dict[int, float] = {}
    for other in sorted(tree.query(faces[number], predicate="intersects").tolist()):
        if other != number and owners[other] >= 0:
            length = faces[number].boundary.intersection(faces[other].boundary).length
            borders[owners[other]] = borders.get(owners[other], 0.0) + length
    return max(borders, key=lambda owner: (borders[owner], -owner)) if borders else -1
