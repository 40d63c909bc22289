"""Corners of the recess that are chiselled: what the cutter rounds off there goes back to the insert.

    insert                      The ground's closing fills the corner with the cutter's arc, and the insert is
 ___________                    rounded with it. Where the maker takes a chisel to the corner instead, the insert
|        __/ \\  <- corner       keeps it, and the recess is cut round and then squared by hand. Only corners that
|      /      ground            lie between one insert and the ground: elsewhere a second insert would need a
                                hollow corner that no cutter makes.
"""

import math
from dataclasses import dataclass

from shapely import Polygon

from purfle.errors import Fault, FitError
from purfle.fit.cells import Cell, Partition
from purfle.fit.tips import deepest_tip
from purfle.geometry.measuring import depths_beside, furthest_place
from purfle.geometry.offsetting import closing, difference, opening, polygons, union
from purfle.geometry.partition import border_length, near, shared
from purfle.geometry.reaching import parts_beyond
from purfle.tolerances import CLOSED, CLOSING_KEPT, CORNER_MEANT, CORNER_SEEN, TOUCHING

_AROUND = 4.0
"""How far around a corner its cell is looked at, in cutter radii: more than a closing reaches."""


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner that the cutter rounds off: where its point is, what it takes from the insert, and whose that is."""

    point: tuple[float, float]
    part: Polygon
    cell: Cell


def sharpen(partition: Partition) -> tuple[Polygon, ...]:
    """Give back to the inserts the corners that are to be chiselled; what was given back, from left to right.

    Raises FitError where a corner is wished for at a place that has none.
    """
    rule = partition.rule
    if rule.corners == "round" and not any(way == "chisel" for _, way in rule.corner_wishes):
        return ()
    corners = _corners(partition)
    chosen = _chosen(partition, corners)
    for corner in chosen:
        partition.hand_over(corner.part, partition.ground, corner.cell)
    return tuple(sorted((corner.part for corner in chosen), key=lambda part: part.bounds))


def _corners(partition: Partition) -> list[Corner]:
    """Corners that can be chiselled: rounded off to the ground beside one insert only, which stays closed with them."""
    found = []
    for cell in partition.inserts:
        lost = shared(partition.ground.region, partition.drawn.get(cell.wood, Polygon()))
        for part in polygons(lost):
            if border_length(part, cell.region) > TOUCHING and _one_neighbour(partition, cell, part):
                corner = _corner(partition, cell, part)
                found += [] if corner is None else [corner]
    return sorted(found, key=lambda corner: corner.point)


def _one_neighbour(partition: Partition, cell: Cell, part: Polygon) -> bool:
    others = (one for one in partition.inserts if one is not cell)
    return not any(border_length(part, other.region) > TOUCHING for other in others)


def _corner(partition: Partition, cell: Cell, part: Polygon) -> Corner | None:
    """The corner that a lost part makes on its cell, blunted where it would be too sharp; None where it is none."""
    rule = partition.rule
    around = near(cell.region, part, _AROUND * partition.cutter_of(cell))
    whole = union(around, part)
    body = opening(whole, rule.tip / 2.0)
    tips = [tip for tip in polygons(difference(whole, body)) if tip.intersects(part)]
    deep = [tip for tip, d in zip(tips, depths_beside(tips, body, TOUCHING), strict=True) if d > deepest_tip(rule.tip)]
    kept = part
    for tip in deep:
        kept = max(polygons(difference(kept, tip)), key=lambda one: one.area, default=Polygon())
    if kept.is_empty or depths_beside([kept], around, TOUCHING)[0] < CORNER_SEEN:
        return None
    whole = union(around, kept)
    opened = parts_beyond(whole, closing(whole, partition.needed_of(cell)), CLOSING_KEPT)
    if any(depth > CLOSED for depth, beyond in opened if beyond.intersects(kept)):
        return None
    return Corner(furthest_place(kept, around), kept, cell)


def _chosen(partition: Partition, corners: list[Corner]) -> list[Corner]:
    """The corners that are to be chiselled, by the rule and by the wishes for single ones."""
    ways = dict.fromkeys(range(len(corners)), partition.rule.corners)
    faults = []
    for place, way in partition.rule.corner_wishes:
        nearest = min(range(len(corners)), key=lambda one: math.dist(corners[one].point, place), default=None)
        if nearest is None or math.dist(corners[nearest].point, place) > CORNER_MEANT:
            faults.append(_no_corner(partition, place, corners))
        else:
            ways[nearest] = way
    if faults:
        raise FitError.of(faults)
    return [corner for number, corner in enumerate(corners) if ways[number] == "chisel"]


def _no_corner(partition: Partition, place: tuple[float, float], corners: list[Corner]) -> Fault:
    near_by = sorted(corners, key=lambda corner: math.dist(corner.point, place))[:3]
    listed = "; ".join(f"{x:.1f}, {y:.1f} mm" for x, y in (partition.own.place(corner.point) for corner in near_by))
    mend = f"Name a corner that the cutter rounds off; the nearest: {listed}." if listed else "Leave the wish out."
    return Fault("There is no corner to chisel at that place.", partition.where(place), mend)
