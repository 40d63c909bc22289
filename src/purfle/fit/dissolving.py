"""Cells that are too thin to be cut or handled go to their neighbours, all of them in one go.

One at a time, each of hundreds of specks would be united with the same large neighbour. So it is worked out first who
goes where, from the borders between cells, and every taker is united once with all that it takes.
"""

from collections import defaultdict

import shapely
from shapely import STRtree

from purfle.fit.cells import Cell, Partition
from purfle.geometry.measuring import inscribed_centre
from purfle.geometry.offsetting import Region, polygons, union_of
from purfle.geometry.partition import border_length
from purfle.tolerances import TOUCHING


def dissolve_thin(partition: Partition) -> bool:
    """Dissolve cells thinner than can be cut or handled, the smallest first; True if there were any.

    Each goes to the neighbour with the longest border, together with what it was given before, unless that has made it
    thick enough.
    """
    thin = [cell for cell in partition.inserts if not _is_sturdy(cell, partition.rule.thinnest)]
    if not thin:
        return False
    borders = _borders(partition, thin)
    groups: dict[Cell, list[Cell]] = {cell: [cell] for cell in partition.cells}
    owner: dict[Cell, Cell] = {cell: cell for cell in partition.cells}
    for cell in sorted(thin, key=lambda cell: cell.key):
        if len(groups[cell]) > 1 and _is_sturdy_together(groups[cell], partition.rule.thinnest):
            continue
        taker = _longest_beside(groups[cell], borders, owner) or partition.ground
        groups[taker] += groups.pop(cell)
        owner |= dict.fromkeys(groups[taker], taker)
    _unite(partition, groups)
    return True


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

    def rank(cell: Cell) -> tuple[float, float, str, str, tuple[float, ...]]:
        return round(lengths[cell], 3), cell.region.area, cell.wood, cell.name, cell.region.bounds

    return max(lengths, key=rank, default=None)


def _unite(partition: Partition, groups: dict[Cell, list[Cell]]) -> None:
    for cell, (_, *given) in groups.items():
        if given:
            for one in given:
                cell.gain(one.region)
    partition.cells = [cell for cell in partition.cells if cell in groups]


def _is_sturdy_together(cells: list[Cell], width: float) -> bool:
    return _has_room(union_of([cell.region for cell in cells]), width) is not None


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
