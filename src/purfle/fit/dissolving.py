"""Cells that are too thin to be cut or handled go to their neighbours, all of them in one go.

One at a time, each of hundreds of specks would be united with the same large neighbour. So it is worked out first who
goes where, from the borders between cells, and every taker is united once with all that it takes.

`noded`: cells share every vertex, the ground's too, as drawn. Then borders are told by the edges that cells have in
common, and unions need no overlay: a coat of arms has thousands of details that no cutter shows.
"""

from collections import defaultdict

import shapely
from shapely import STRtree

from purfle.fit.cells import Cell, Partition
from purfle.fit.ranking import foremost, small_first
from purfle.geometry.coverage import shared_borders, union_of_noded
from purfle.geometry.measuring import inscribed_centre
from purfle.geometry.offsetting import Region, polygons, union_of
from purfle.geometry.partition import border_length
from purfle.hard_stop import busy
from purfle.tolerances import TOUCHING


def dissolve_thin(partition: Partition, noded: bool = False) -> bool:
    """Dissolve cells thinner than can be cut or handled, the smallest first; True if there were any.

    Each goes to the neighbour with the longest border, together with what it was given before, unless that has made it
    thick enough.
    """
    thin = [cell for cell in partition.inserts if not _is_sturdy(cell, partition.rule.thinnest)]
    if not thin:
        return False
    busy("giving away what is too thin", lambda: "whole artwork")
    borders = _noded_borders(partition) if noded else _borders(partition, thin)
    unite = union_of_noded if noded else union_of
    groups: dict[Cell, list[Cell]] = {cell: [cell] for cell in partition.cells}
    owner: dict[Cell, Cell] = {cell: cell for cell in partition.cells}
    for cell in small_first(thin):
        if len(groups[cell]) > 1 and _has_room(unite([one.region for one in groups[cell]]), partition.rule.thinnest):
            continue
        taker = _longest_beside(groups[cell], borders, owner) or partition.ground
        groups[taker] += groups.pop(cell)
        owner |= dict.fromkeys(groups[taker], taker)
    _unite(partition, groups, noded)
    return True


def _noded_borders(partition: Partition) -> dict[Cell, dict[Cell, float]]:
    """Length of the border of each cell with each cell beside it, where cells share every vertex."""
    cells = partition.cells
    found = shared_borders([cell.region for cell in cells])
    return {cells[one]: {cells[other]: length for other, length in beside.items()} for one, beside in found.items()}


def _borders(partition: Partition, thin: list[Cell]) -> dict[Cell, dict[Cell, float]]:
    """Length of the border of each thin cell with each cell beside it."""
    tree = STRtree([cell.region for cell in partition.cells])
    found: dict[Cell, dict[Cell, float]] = {}
    for cell in thin:
        beside = sorted(tree.query(cell.region, predicate="dwithin", distance=TOUCHING).tolist())
        others = (partition.cells[number] for number in beside if partition.cells[number] is not cell)
        found[cell] = {other: border_length(cell.region, other.region) for other in others}
    return found


def _longest_beside(group: list[Cell], borders: dict[Cell, dict[Cell, float]], owner: dict[Cell, Cell]) -> Cell | None:
    """The cell, with all that it was given, that a group of cells shares the longest border with."""
    lengths: dict[Cell, float] = defaultdict(float)
    for cell in group:
        for other, length in borders[cell].items():
            if other not in group and length > 0.0:
                lengths[owner[other]] += length
    return foremost([(length, cell) for cell, length in lengths.items()])[1] if lengths else None


def _unite(partition: Partition, groups: dict[Cell, list[Cell]], noded: bool) -> None:
    for cell, (_, *given) in groups.items():
        if given and noded:
            gained = union_of_noded([one.region for one in given])
            cell.become(union_of_noded([cell.region, *(one.region for one in given)]), gained)
        elif given:
            for one in given:
                cell.gain(one.region)
    partition.cells = [cell for cell in partition.cells if cell in groups]


def _is_sturdy(cell: Cell, width: float) -> bool:
    """True if a disc of this width fits into the cell: the disc of the last time if it still does."""
    if cell.sturdy is None or _room_at(cell.region, cell.sturdy) < width / 2.0:
        cell.sturdy = _has_room(cell.region, width)
    return cell.sturdy is not None


def _has_room(region: Region, width: float) -> tuple[float, float] | None:
    """The middle of a disc of this width in a region, if there is room for one."""
    largest = max(polygons(region), key=lambda part: part.area, default=None)
    if largest is None:
        return None
    place = inscribed_centre(largest, width / 50.0)
    return place if _room_at(region, place) >= width / 2.0 else None


def _room_at(region: Region, place: tuple[float, float]) -> float:
    """Radius of the disc about a place that lies in the region, 0 outside it."""
    inside = shapely.contains_xy(region, *place)
    return float(region.boundary.distance(shapely.Point(place))) if inside else 0.0
