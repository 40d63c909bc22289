"""The map of the thickness left: the board taken apart by what is cut and drilled from both faces, exactly."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry

from purfle.board.clearances import MOST_TAKEN, Recess, where_of
from purfle.geometry.offsetting import difference, intersection, polygonal, polygons, union_of
from purfle.model.board import Board, Hole, ThicknessLeft
from purfle.model.findings import FACES, Face, Finding
from purfle.model.pieces import Region
from purfle.tolerances import NO_WOOD, SAME_PLACE
from purfle.units import in_mm

DEPTH_DECIMALS = 3
"""Depths that agree to a micrometre are one."""


@dataclass(frozen=True, slots=True)
class _Level:
    """All of one face that is cut to one depth, and by what."""

    depth: float
    region: Region
    names: tuple[str, ...]


def thickness_map(board: Board, recesses: Sequence[Recess], holes: Sequence[Hole]) -> tuple[ThicknessLeft, ...]:
    """What is left of the board everywhere, thinnest first: parts that cover its face and do not overlap.

    The overlay of what is cut from the show face with what is cut from the underside; where several things of one face
    lie over each other, the deepest counts. A recess with tapered walls counts at its full depth over all of its
    opening, and a hole at the diameter of what goes into it: both leave no more than is said.
    """
    above, below = (_levels(recesses, holes, face) for face in FACES)
    found: dict[tuple[float, tuple[str, ...]], list[BaseGeometry]] = {}
    whole = polygonal(board.outline)
    untouched: list[_Level] = []
    for levels in (above, below):
        rest = difference(whole, union_of([level.region for level in levels])) if levels else whole
        untouched.append(_Level(0.0, rest, ()))
    for one in (*above, untouched[0]):
        for other in (*below, untouched[1]):
            if shapely.box(*one.region.bounds).intersects(shapely.box(*other.region.bounds)):
                both = intersection(intersection(one.region, other.region), whole)
                if both.area > NO_WOOD:
                    left = round(max(0.0, board.thickness - one.depth - other.depth), DEPTH_DECIMALS)
                    found.setdefault((left, (*one.names, *other.names)), []).append(both)
    parts = [_part(left, names, union_of(regions)) for (left, names), regions in found.items()]
    return tuple(sorted(parts, key=lambda part: (part.left, part.place)))


def _part(left: float, names: tuple[str, ...], region: Region) -> ThicknessLeft:
    largest = max(polygons(region), key=lambda one: one.area)
    place = shapely.maximum_inscribed_circle(largest).coords[0]
    return ThicknessLeft(left, region, (float(place[0]), float(place[1])), names)


def _levels(recesses: Sequence[Recess], holes: Sequence[Hole], face: Face) -> list[_Level]:
    """What is cut from one face by its depth, the deepest first, each without what is deeper."""
    cut: dict[float, list[tuple[str, BaseGeometry]]] = {}
    for recess in recesses:
        if recess.face == face:
            cut.setdefault(round(recess.depth, DEPTH_DECIMALS), []).append((recess.label, recess.region))
    for hole in holes:
        if hole.face == face:
            cut.setdefault(round(hole.depth, DEPTH_DECIMALS), []).append((hole.name, hole.room))
    levels: list[_Level] = []
    gone: list[Region] = []
    for depth in sorted(cut, reverse=True):
        region = union_of([one for _, one in cut[depth]])
        free = difference(region, union_of(gone)) if gone else region
        if free.area > NO_WOOD:
            # by name, so that the map can say what is cut there
            levels += _by_name(depth, cut[depth], free)
        gone.append(region)
    return levels


def _by_name(depth: float, cut: Sequence[tuple[str, BaseGeometry]], free: Region) -> list[_Level]:
    """The level taken apart by what cuts it; what two share is the first one's."""
    found: list[_Level] = []
    for name, region in cut:
        own = intersection(polygonal(region), free)
        for before in found:
            own = difference(own, before.region) if own.intersects(before.region) else own
        if own.area > NO_WOOD:
            found.append(_Level(depth, own, (name,)))
    return found


def taken_findings(board: Board, recesses: Sequence[Recess]) -> list[Finding]:
    """Where recesses of both faces together take more of the thickness than is usual, and neither does alone."""
    most = MOST_TAKEN * board.thickness
    found: list[Finding] = []
    for one, other in combinations(recesses, 2):
        taken = one.depth + other.depth
        if one.face == other.face or taken <= most + SAME_PLACE or max(one.depth, other.depth) > most:
            continue
        if taken >= board.thickness or not shapely.box(*one.region.bounds).intersects(
            shapely.box(*other.region.bounds)
        ):
            continue
        both = shapely.intersection(one.region, other.region)
        if both.area > NO_WOOD:
            place = both.representative_point()
            over = in_mm(round(taken - most, 1))
            what = f"{one.label} and {other.label} together take {taken / board.thickness:.0%} of the thickness"
            what += f"; {MOST_TAKEN:.0%} is the most by custom"
            where = where_of(f"{one.label} ({one.face}) and {other.label} ({other.face})", one.line, other.line)
            mend = f"cut one of them less deep by {over}, move one of them, or take a board thicker by "
            mend += in_mm(round(taken / MOST_TAKEN - board.thickness, 1))
            found.append(Finding("look", what, where, mend, "board", (place.x, place.y)))
    return found
