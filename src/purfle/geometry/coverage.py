"""Regions that share every vertex along their common borders: borders and unions of such without any overlay.

What is noded once needs no noding again: two regions touch where they have an edge in common, and are united by
dropping it. That takes time in proportion to the vertices, however many regions there are.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.offsetting import Region, polygonal
from purfle.tolerances import GRID, SUM_OF_AREAS, TOUCHING

_MANY, _LARGE = 300, 50_000
"""With fewer regions than that, and fewer vertices, pairs of neighbours are compared sooner than edges are sorted."""


def shares_every_vertex(regions: Sequence[Region]) -> bool:
    """True if the regions are valid and neither overlap nor gape, and neighbours share every vertex."""
    every = np.array(regions, object)
    return bool(shapely.is_valid(every).all() and shapely.coverage_is_valid(every))


def tile_edge_to_edge(regions: Sequence[Region], domain: Polygon) -> bool:
    """True if valid regions tile a domain and share every edge within it; False also for few small regions.

    Where each edge but those of the domain has one that runs the other way, as many regions hold every place of the
    domain: crossing an edge leaves one and enters one. One of them does if their areas sum up to that of the domain.
    Looking at each pair of neighbours instead compares a ground with all of its islands, each with all of the ground.
    """
    if len(regions) < _MANY and shapely.get_num_coordinates(np.array(regions, object)).sum() < _LARGE:
        return False
    parts = shapely.orient_polygons(shapely.get_parts(np.array(regions, object)))
    starts, ends, _ = _edges(parts.tolist())
    edges = np.hstack((starts, ends)) + 0.0  # a nought has no sign here
    back = edges[:, [2, 3, 0, 1]]
    forth, back = (one[np.lexsort(one.T[::-1])] for one in (edges, back))
    _, number, count = np.unique(np.vstack((forth, back)), axis=0, return_index=True, return_counts=True)
    single = np.vstack((forth, back))[number[count != 2]]
    once = len(np.unique(forth, axis=0)) == len(forth)
    on_frame = shapely.covers(domain.exterior, shapely.linestrings(single.reshape(-1, 2, 2))).all()
    apart = abs(float(shapely.area(parts).sum()) - domain.area)
    return bool(once and on_frame and not domain.interiors and apart <= SUM_OF_AREAS * domain.area)


def noded_on_grid(regions: Sequence[Region]) -> tuple[Region, ...] | None:
    """The same regions with their vertices on the precision grid, sharing every vertex again.

    None where they don't share every vertex now. What is no wider than the grid may come out empty.
    """
    rounded = _rounded(regions) if regions and shares_every_vertex(regions) else None
    return rounded if rounded is None or shares_every_vertex(rounded) else _noded_again(regions)


def noded_without_slits(regions: Sequence[Region]) -> tuple[tuple[Region, ...] | None, bool]:
    """The same as `noded_on_grid`, and True where they are known to have no slits that `without_slits` would close.

    Both are looked for at once: in large drawings each look takes a second.
    """
    rounded = _rounded(regions) if regions and shares_every_vertex(regions) else None
    if rounded is None:
        return None, False
    every = np.array(rounded, object)
    if shapely.is_valid(every).all() and _has_no_slits(every):
        return rounded, True
    return rounded if shares_every_vertex(rounded) else _noded_again(regions), False


def _rounded(regions: Sequence[Region]) -> tuple[Region, ...]:
    """One step of the grid moves a vertex of two neighbours alike."""
    return tuple(polygonal(region) for region in shapely.set_precision(list(regions), GRID, mode="pointwise"))


def _noded_again(regions: Sequence[Region]) -> tuple[Region, ...] | None:
    """Regions noded on the grid, where rounding makes their outlines cross."""
    lines = shapely.union_all(shapely.boundary(np.array(regions, object)), grid_size=GRID)
    faces = shapely.get_parts(shapely.polygonize(list(shapely.get_parts(lines))))
    owners = np.full(len(faces), -1)
    found, holders = shapely.STRtree(list(regions)).query(shapely.point_on_surface(faces), predicate="intersects")
    first = np.lexsort((holders, found))[::-1]
    owners[found[first]] = holders[first]
    noded = tuple(union_of_noded(faces[owners == number].tolist()) for number in range(len(regions)))
    return noded if shares_every_vertex(noded) else None


def without_slits(regions: Sequence[Region]) -> Sequence[Region]:
    """Regions that share every vertex, slits between them closed that are no wider than regions that touch.

    What is drawn with two outlines beside each other, or turned by some degrees, leaves slits of a grid step or two.
    """
    every = np.array(regions, object)
    if not len(every) or _has_no_slits(every):
        return regions
    closed = shapely.coverage_clean(every, snapping_distance=TOUCHING)
    noded = noded_on_grid([polygonal(region) for region in closed])
    return regions if noded is None else noded


def _has_no_slits(every: NDArray[np.object_]) -> bool:
    return bool(shapely.coverage_is_valid(every, gap_width=2.0 * TOUCHING))


def edge_matched(regions: Sequence[Region]) -> tuple[Region, ...] | None:
    """Regions that may gape or overlap by what regions do that touch, made to share every vertex; None if they do not.

    What is no wider than that may come out empty.
    """
    try:
        closed = shapely.coverage_clean(_snapped(regions), snapping_distance=TOUCHING, gap_width=TOUCHING)
    except shapely.errors.GEOSException:
        return None
    return noded_on_grid([polygonal(region) for region in closed])


def _snapped(regions: Sequence[Region]) -> list[Region]:
    """Regions with a vertex wherever a vertex of another one lies on their outline, or nearly."""
    made = list(regions)
    for number, region in enumerate(regions):
        others = np.array(made[:number] + made[number + 1 :], object)
        edge = region.boundary
        shapely.prepare(edge)
        places = shapely.points(shapely.get_coordinates(others[shapely.dwithin(edge, others, TOUCHING)]))
        about = np.unique(shapely.get_coordinates(places[shapely.dwithin(edge, places, TOUCHING)]), axis=0)
        snapped = polygonal(shapely.snap(region, shapely.multipoints(about), TOUCHING)) if len(about) else region
        made[number] = snapped if snapped.is_valid and not snapped.is_empty else region
    return made


def union_of_noded(regions: Sequence[Region]) -> Region:
    """All regions together; valid for regions that share every vertex. Empty for none."""
    if len(regions) < 2:
        return polygonal(regions[0]) if regions else Polygon()
    return polygonal(shapely.coverage_union_all(list(regions)))


def shared_borders(regions: Sequence[Region]) -> dict[int, dict[int, float]]:
    """For each region the length of its border with each of the others; valid for regions that share every vertex."""
    starts, ends, owners = _edges(regions)
    swapped = (starts[:, 0] > ends[:, 0]) | ((starts[:, 0] == ends[:, 0]) & (starts[:, 1] > ends[:, 1]))
    edges = np.where(swapped[:, None], np.hstack((ends, starts)), np.hstack((starts, ends)))
    order = np.lexsort(edges.T[::-1])
    edges, owners = edges[order], owners[order]
    twins = np.flatnonzero((edges[1:] == edges[:-1]).all(axis=1))
    lengths = np.hypot(*(edges[twins, 2:] - edges[twins, :2]).T)
    borders: dict[int, dict[int, float]] = {number: {} for number in range(len(regions))}
    for one, other, length in zip(owners[twins].tolist(), owners[twins + 1].tolist(), lengths.tolist(), strict=True):
        borders[one][other] = borders[one].get(other, 0.0) + length
        borders[other][one] = borders[other].get(one, 0.0) + length
    return borders


def _edges(
    regions: Sequence[Region],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Starts and ends of all edges, and the number of the region that each belongs to."""
    parts, part_of = shapely.get_parts(np.array(regions, object), return_index=True)
    rings, ring_of = shapely.get_rings(parts, return_index=True)
    places, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[:-1] == ring[1:]
    return places[:-1][same], places[1:][same], part_of[ring_of[ring[:-1][same]]]
