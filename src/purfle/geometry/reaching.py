"""What a round cutter cannot reach: the parts of a closing that lie beyond its region, and how deep they are.

An overlay of a closing with its region is the slowest way to find out that they are the same, since nearly all their
edges lie a hair apart. So the vertices of the closing are looked at first: only if some stand off the region,
anything is overlaid.
"""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.measuring import Places, are_within, depths_beside, distances, inscribed_radius
from purfle.geometry.offsetting import (
    Region,
    clip,
    difference,
    growth_by_clipper,
    polygons,
    shrunk_by_clipper,
    slivers_between,
    swift_offset,
)
from purfle.geometry.resting import Outline
from purfle.tolerances import FILM

Box = tuple[float, float, float, float]
"""Bounds: left, low, right, high."""
SURROUNDINGS = 2.1
"""How far around places out of reach the closing is worked out, in radii: a cutter rests on wood so far apart."""
_SLIMMEST = 0.05
"""Area of a sliver by its outline and depth: the filling of a corner has a sixth; less is a film."""
_VERTICES_A_TILE = 2000
"""A region with more vertices is grown in parts by the second engine."""
_VERTICES_WORTH_A_BOX = 500
"""Offsetting, guarding and comparing so many vertices costs about as much as one more box does."""


def parts_beyond(region: Region, closed: Region, kept: float) -> list[tuple[float, Polygon]]:
    """The parts of a closing beyond its region that are deeper than `kept`, with their depth, deepest first.

    Films are left out: a film between two cells belongs to nobody until the cells are noded.
    """
    if not _stands_off(region, closed, kept / 2.0):
        return []
    every = np.array(slivers_between(closed, region), object)
    slivers = every[shapely.area(every) > _SLIMMEST * kept * shapely.length(every)].tolist()
    measured = zip(depths_beside(slivers, region, kept).tolist(), slivers, strict=True)
    return sorted((found for found in measured if found[0] > kept), key=lambda found: (-found[0], found[1].bounds))


def depth_beyond(region: Region, closed: Region, kept: float) -> float:
    """Depth of the deepest part of a closing beyond its region; 0 if it is not deeper than `kept`."""
    vertices = shapely.get_coordinates(closed)
    far = vertices[~are_within(region, vertices, kept)]
    deepest = float(distances(region, far).max()) if len(far) else 0.0
    return max([deepest, *(inscribed_radius(hole, kept / 4.0) for hole in _filled_holes(region, closed))])


def out_of_reach(region: Region, radius: float, depth: float, about: Sequence[Box] | None) -> list[Box]:
    """Where on its outline a round cutter of this radius comes no nearer to a region than `depth`, as small boxes.

    A place is touched by a cutter whose middle stands one radius off it and nowhere nearer to the region: by one on the
    outline of the region grown by the radius. `about`: only places that a cutter can reach together with these boxes.
    """
    places = samples_of_outline(region, radius / 4.0)
    if about is None:
        return _missed(places, swift_offset(region, radius), radius + depth)
    # a cutter at a place reaches so far beyond it, and the wood that it rests on as far again; with a little room
    boxes = windows(about, 2.0 * radius + (radius + depth) + 1.1 * radius) if about else []
    places = places[_within(places, about, 2.0 * radius)]
    if all_at_once(region, boxes):
        return _missed(places, swift_offset(region, radius), radius + depth)
    found = ((places[_within(places, [box], 0.0)], clipped(region, box)) for box in boxes)
    return [one for inside, part in found for one in _missed(inside, swift_offset(part, radius), radius + depth)]


def closed_by_clipper(region: Region, radius: float, depth: float) -> Iterator[tuple[Region, Region]]:
    """The region about each place that a cutter misses by more than `depth`, and its closing, by Clipper2 alone.

    Clipper2 shrinks a grown outline some twenty times as slowly as it grew it. So it grows all of the region and closes
    only what lies about places that the grown outline leaves out of reach: nowhere else can its closing reach beyond
    the region by more than about `depth` (docs/method/pieces.md).
    """
    reach = SURROUNDINGS * radius
    outline = Outline.of(region, radius / 4.0)
    places = outline.places[outline.restless(region, radius, depth)]
    for around in windows(_spots(places), reach) if len(places) else ():
        for tile, inside in _tiles(clipped(region, around), places[_within(places, [around], 0.0)], reach):
            grown = growth_by_clipper(tile, radius)
            missed = _missed(inside, grown, radius + depth)
            for box in windows(missed, reach) if missed else ():
                yield clipped(region, box), shrunk_by_clipper(grown, radius, box)


def _tiles(region: Region, places: Places, reach: float) -> Iterator[tuple[Region, Places]]:
    """Parts of a region with few vertices, each with the places about which it holds all of the region within `reach`.

    The second engine's time grows with its vertices and with how many of them lie side by side.
    """
    low, high = places.min(axis=0, initial=np.inf), places.max(axis=0, initial=-np.inf)
    axis = int(np.argmax(high - low))
    if shapely.get_num_coordinates(region) <= _VERTICES_A_TILE or (high - low)[axis] < 4.0 * reach:
        yield region, places
        return
    is_low = places[:, axis] < (low[axis] + high[axis]) / 2.0
    for half in (places[is_low], places[~is_low]):
        ((left, bottom), (right, top)) = (half.min(axis=0) - reach).tolist(), (half.max(axis=0) + reach).tolist()
        yield from _tiles(clipped(region, (left, bottom, right, top)), half, reach)


def _missed(places: Places, grown: Region, distance: float) -> list[Box]:
    """The places that stand further than a distance from the outline of a grown region, as boxes without size."""
    return _spots(places[~are_within(grown.boundary, places, distance)])


def _spots(places: Places) -> list[Box]:
    """Places as boxes without size."""
    return [(x, y, x, y) for x, y in places.tolist()]


def reaches_out(region: Region, radius: float, depth: float) -> bool:
    """True if the outline of a region stands anywhere further than `depth` off all discs of this radius in it."""
    body = swift_offset(region, -radius)
    if body.is_empty:
        return not region.is_empty
    places = samples_of_outline(region, 4.0 * radius)
    return not are_within(body.boundary, places, radius + depth).all()


def samples_of_outline(region: Region, step: float) -> Places:
    """The vertices of a region, and places between those that are further apart than a step."""
    return np.asarray(shapely.get_coordinates(shapely.segmentize(region.boundary, step)))


def _within(places: Places, boxes: Sequence[Box], reach: float) -> NDArray[np.bool_]:
    """Which places lie in boxes grown by a reach."""
    inside = np.zeros(len(places), np.bool_)
    for left, low, right, high in windows(boxes, reach):
        inside |= np.all((places >= (left, low)) & (places <= (right, high)), axis=1)
    return inside


def windows(boxes: Sequence[Box], reach: float) -> list[Box]:
    """Few boxes that together cover all boxes grown by `reach`, none touching another."""
    grown = np.array(sorted(set(boxes))) + np.array((-reach, -reach, reach, reach))
    while True:
        merged = _merged(grown)
        if len(merged) == len(grown):
            return [(left, low, right, high) for left, low, right, high in sorted(merged.tolist())]
        grown = merged


def _merged(boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each box taken into an earlier one that it touches, if there is one."""
    kept: list[NDArray[np.float64]] = []
    waiting = boxes
    while len(waiting):
        first, rest = waiting[0].copy(), waiting[1:]
        while len(rest):
            touching = np.all((rest[:, :2] <= first[2:]) & (rest[:, 2:] >= first[:2]), axis=1)
            if not touching.any():
                break
            first[:2] = np.minimum(first[:2], rest[touching, :2].min(axis=0))
            first[2:] = np.maximum(first[2:], rest[touching, 2:].max(axis=0))
            rest = rest[~touching]
        kept.append(first)
        waiting = rest
    return np.array(kept)


def all_at_once(region: Region, boxes: list[Box]) -> bool:
    """True if it costs less to work on all of a region than on its part in each box."""
    return int(shapely.get_num_coordinates(region)) < _VERTICES_WORTH_A_BOX * len(boxes)


def clipped(region: Region, box: Box) -> Region:
    """What of a region lies in a box."""
    left, low, right, high = region.bounds
    if box[0] <= left and box[1] <= low and box[2] >= right and box[3] >= high:
        return region
    return clip(region, box)


def _stands_off(region: Region, closed: Region, kept: float) -> bool:
    """True if a vertex of a closing stands off its region, or a hole is gone altogether.

    A rounded corner has a vertex about its middle that stands off by more than half of its depth.
    """
    near = are_within(region, shapely.get_coordinates(closed), kept)
    return not near.all() or bool(_filled_holes(region, closed))


def _filled_holes(region: Region, closed: Region) -> list[Polygon]:
    """Holes of a region of which its closing shows nothing any more."""
    parts = shapely.get_parts(region)
    if not shapely.get_num_interior_rings(parts).any():
        return []
    holes = [Polygon(ring) for part in parts for ring in part.interiors]
    places = shapely.get_coordinates(shapely.point_on_surface(np.array(holes)))
    shapely.prepare(closed)
    seem_filled = shapely.contains_xy(closed, places)
    # a hole may hold an island of the same region: what matters is the gap between them
    gaps = [
        part
        for hole in np.array(holes)[seem_filled].tolist()
        for part in polygons(difference(hole, region))
        if shapely.contains_xy(closed, *shapely.get_coordinates(part.point_on_surface())[0])
    ]
    return [gap for gap in gaps if gap.area > FILM * gap.length]
