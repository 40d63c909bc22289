"""What bush and cutter make of a drawn area that lies apart, in words and figures: filled, shorter, parted, or gone.

A piece that is no longer what was drawn says stop: a hole of the drawing is filled, the area falls into several, or
more than `MUCH_CHANGED` of it is another wood now, or a long slot is filled. Rounder corners and shorter tips alone are
to be looked at.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely import Polygon

from purfle.fit.cells import Cell, middle, where
from purfle.geometry.offsetting import Region, difference, intersection, polygons, shrink, union_of
from purfle.model.findings import Finding, Severity
from purfle.model.pieces import Lost
from purfle.tolerances import CLOSED, CORNER_SHORTER, DETAIL_IN_RADII
from purfle.units import in_mm

MUCH_CHANGED = 0.1
"""An area of which a larger share is another wood now is not what was drawn (common practice, no source)."""
_HOLE_FILLED = 0.5
"""A hole of which a larger share is filled counts as filled."""
_LONG_SLOT = 4.0
"""A notch filled deeper than so many of its least radii is a slot, no corner: one of 23 degrees is filled as deep."""
_DRAW_LARGER = "make the artwork larger, draw it simpler there, or use a thinner cutter in a narrower bush"


@dataclass(frozen=True, slots=True)
class Corners:
    """The radii that every piece has to be opened (`outside`) and closed (`inside`) by, half the seam counted in."""

    outside: float
    inside: float


def lost_of(cell: Cell, made: Region, corners: Corners) -> Iterator[Lost]:
    """What a disc as wide as the cutter does not reach, and the ground that bush and cutter fill; no mere corners."""
    for part in polygons(difference(cell.region, made)):
        if _is_detail(part, corners.outside):
            yield Lost(cell.name, cell.wood, part, "narrower than the cutter", "the ground stays")
    for part in polygons(difference(made, cell.region)):
        if _is_detail(part, corners.inside):
            why, wood = "narrower than bush and cutter allow", f'filled with the wood of "{cell.name}"'
            yield Lost(f'the ground in "{cell.name}"', "ground", part, why, wood)


def told_of(cell: Cell, made: Region, corners: Corners) -> Iterator[Finding]:
    """All that is to be known of one area, what says stop first."""
    if made.is_empty:
        what = f'nothing is left of "{cell.name}" ({cell.region.area:.1f} mm2): no disc of '
        yield _told("stop", f"{what}{in_mm(round(2.0 * corners.outside, 3))} fits into it", cell.region, _DRAW_LARGER)
        return
    yield from _holes(cell, made)
    yield from _parted(cell, made)
    yield from _changed(cell, made)
    yield from _shorter(cell, made, corners)
    yield from _notches(cell, made, corners)


def depth_of(part: Polygon, made: Region) -> float:
    """How deep a part reaches at most, in mm, off the outline that is made: a slot from its mouth to its end.

    A part that the outline does not touch, such as a whole hole, reaches over its longer side.
    """
    mouth = shapely.intersection(part, made.boundary.buffer(CLOSED / 2.0))
    if mouth.is_empty:
        x0, y0, x1, y1 = part.bounds
        return float(max(x1 - x0, y1 - y0))
    return float(shapely.distance(shapely.points(shapely.get_coordinates(part)), mouth).max())


def _is_detail(part: Polygon, radius: float) -> bool:
    return not shrink(part, DETAIL_IN_RADII * radius).is_empty


def _holes(cell: Cell, made: Region) -> Iterator[Finding]:
    """Holes of the drawing that are wood now: counters of letters, and rings."""
    for hole in _filled_holes(cell, made):
        x0, y0, x1, y1 = hole.bounds
        size = f"{x1 - x0:.1f} x {y1 - y0:.1f} mm, {hole.area:.1f} mm2"
        what = (
            f'a hole of the drawing in "{cell.name}" is filled with its wood ({size}): bush and cutter cannot leave it'
        )
        mend = 'draw it without the hole, make two pieces of the ring, or let it in with way = "machine"'
        yield _told("stop", what, hole, mend)


def _filled_holes(cell: Cell, made: Region) -> list[Polygon]:
    holes = [Polygon(ring) for part in polygons(cell.region) for ring in part.interiors]
    return [hole for hole in holes if intersection(hole, made).area > _HOLE_FILLED * hole.area]


def _parted(cell: Cell, made: Region) -> Iterator[Finding]:
    """One area, as every cell is, that comes out as several, since what joined them is too narrow."""
    parts = sorted(polygons(made), key=lambda one: (one.area, one.bounds))
    if len(parts) < 2:
        return
    between = difference(cell.region, made)
    what = f'"{cell.name}" falls into {len(parts)} pieces: what joins them is narrower than the cutter '
    what += f"({between.area:.1f} mm2 of it are left out)"
    joint = max(polygons(between), key=lambda one: (one.area, one.bounds), default=parts[0])
    yield _told("stop", what, joint, _DRAW_LARGER)


def _changed(cell: Cell, made: Region) -> Iterator[Finding]:
    """Much of the area, or of the ground about it, is another wood now than in the drawing."""
    gone, more = difference(cell.region, made), difference(made, cell.region)
    share = (gone.area + more.area) / cell.region.area
    if share <= MUCH_CHANGED:
        return
    what = f'"{cell.name}" is not what was drawn: bush and cutter leave out {gone.area:.1f} mm2 and fill '
    what += f"{more.area:.1f} mm2, {100.0 * share:.0f} % of its {cell.region.area:.1f} mm2"
    largest = max([*polygons(gone), *polygons(more)], key=lambda one: (one.area, one.bounds))
    yield _told("stop", what, largest, _DRAW_LARGER)


def _shorter(cell: Cell, made: Region, corners: Corners) -> Iterator[Finding]:
    """Tips that come out shorter, by so much that it is seen."""
    gone = [part for part in polygons(difference(cell.region, made)) if _off(part, made) > CORNER_SHORTER]
    if gone:
        most, area = max(_off(part, made) for part in gone), sum(part.area for part in gone)
        many = "a tip" if len(gone) == 1 else f"{len(gone)} tips"
        what = f'"{cell.name}" has {many} sharper or narrower than the cutter: up to {most:.2f} mm shorter '
        what += f"({area:.1f} mm2), the ground stays"
        mend = f"draw them with a radius of {in_mm(round(corners.outside, 3))}, or use a thinner cutter"
        yield _told("look", what, max(gone, key=lambda one: (one.area, one.bounds)), mend)


def _notches(cell: Cell, made: Region, corners: Corners) -> Iterator[Finding]:
    """Notches and slots tighter than the bush allows; holes are told by themselves."""
    holes = union_of(_filled_holes(cell, made))
    parts = polygons(difference(made, union_of([cell.region, holes])))
    more = [part for part in parts if depth_of(part, made) > CORNER_SHORTER]
    if more:
        most, area = max(depth_of(part, made) for part in more), sum(part.area for part in more)
        many = "a notch" if len(more) == 1 else f"{len(more)} notches"
        radius = in_mm(round(corners.inside, 3))
        what = f'"{cell.name}" has {many} tighter than {radius} of radius, the least that bush and cutter allow: '
        what += f"filled with its wood, up to {most:.2f} mm deep ({area:.1f} mm2)"
        mend = "draw them rounder, make the artwork larger, or use a thinner cutter in a narrower bush"
        severity: Severity = "stop" if most > _LONG_SLOT * corners.inside else "look"
        yield _told(severity, what, max(more, key=lambda one: (one.area, one.bounds)), mend)


def _off(part: Polygon, made: Region) -> float:
    """How far a part that is gone reaches off what is left, mm."""
    places = shapely.points(shapely.get_coordinates(part))
    return float(shapely.distance(places, made).max(initial=0.0)) if not made.is_empty else math.inf


def _told(severity: Severity, what: str, region: Region, mend: str) -> Finding:
    place = middle(region)
    return Finding(severity, what, where(place), mend, "fit", place)
