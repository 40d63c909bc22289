"""Sweeps: every cell takes what its cutter cannot reach, then the cells are put in order again."""

from collections import defaultdict

import shapely
from shapely import Polygon, STRtree

from purfle.fit.cells import Cell, Partition
from purfle.geometry.measuring import depths_beside
from purfle.geometry.offsetting import Region, closing, polygonal, polygons, region_of, shrink, sound, union, union_of
from purfle.geometry.partition import border_length
from purfle.tolerances import CLOSING_KEPT, CLOSING_PLAY, FILM, TOUCHING


def residual(region: Region, closed: Region, kept: float) -> list[tuple[float, Polygon]]:
    """The parts of a closing beyond its region that are deeper than `kept`, with their depth, deepest first.

    Films are left out: a film between two cells belongs to nobody until the cells are noded.
    """
    try:
        beyond = shapely.difference(closed, region)
    except shapely.errors.GEOSException:
        beyond = shapely.difference(sound(closed), sound(region))
    slivers = shapely.get_parts(polygonal(beyond))
    areas = shapely.area(slivers)
    slivers = slivers[(areas > FILM * kept) & (areas > FILM / 2.0 * shapely.length(slivers))].tolist()
    measured = zip(depths_beside(slivers, region, kept).tolist(), slivers, strict=True)
    return sorted((found for found in measured if found[0] > kept), key=lambda found: (-found[0], found[1].bounds))


def sweep(partition: Partition) -> float:
    """Let every cell take what lies in its closing, small ones first and the ground last; the deepest part taken."""
    deepest = 0.0
    small_first = sorted(partition.inserts, key=lambda cell: cell.key)
    for cell in (*small_first, partition.ground):
        if cell.region.is_empty or cell.closed is cell.region:
            continue
        if cell.swept and not open_places(partition, cell, CLOSING_KEPT):
            cell.closed = cell.region
            continue
        cell.swept = True
        taken = residual(cell.region, closing(cell.region, partition.radius), CLOSING_KEPT)
        if not taken:
            continue
        deepest = max(deepest, taken[0][0])
        partition.take(cell, union_of([part for _, part in taken]))
        partition.check_time()
    return deepest


def open_places(partition: Partition, cell: Cell, kept: float) -> list[tuple[float, Polygon]]:
    """Parts that the cell's closing has beyond it, looked for with a radius a hair smaller than what closes them.

    With one and the same radius the chords of each closing would open the next one again: in a place that narrows
    slowly to the cutter's width, half a thousandth moves the end by hundredths, sweep after sweep.
    """
    return residual(cell.region, closing(cell.region, partition.radius - CLOSING_PLAY), kept)


def put_in_order(partition: Partition) -> bool:
    """Split what is apart, join what touches in one wood, dissolve what is too thin; True if anything changed."""
    split = _split(partition)
    joined = _join(partition)
    dissolved = _dissolve_thin(partition)
    filled = _fill_thin_islands(partition)
    return split or joined or dissolved or filled


def too_thin(region: Region, width: float) -> bool:
    """True if no disc of this width fits into the region."""
    return bool(region.is_empty or shrink(region, width / 2.0).is_empty)


def _split(partition: Partition) -> bool:
    inserts: list[Cell] = []
    crumbs: list[Polygon] = []
    changed = False
    for cell in partition.inserts:
        parts = sorted(polygons(cell.region), key=lambda part: (-part.area, part.bounds))
        changed = changed or len(parts) != 1
        if len(parts) == 1:
            inserts.append(cell)
            cell.region = cell.region if isinstance(cell.region, Polygon) else parts[0]
            continue
        kept = parts[:1] if partition.patience < 0 else parts
        crumbs += parts[len(kept) :]
        inserts += [Cell(cell.name, cell.wood, cell.colour, part) for part in kept]
    partition.cells = [partition.ground, *inserts]
    for crumb in crumbs:
        _give_away(partition, crumb, None)
    return changed


def _give_away(partition: Partition, region: Polygon, giver: Cell | None) -> None:
    """Give a region that belongs to nobody any more to the cell with the longest border."""
    beside = partition.neighbours(region, giver if giver is not None else Cell("", "", (0, 0, 0), region))
    taker = beside[0][1] if beside else partition.ground
    taker.region = union(taker.region, region)


def _join(partition: Partition) -> bool:
    """Join cells of one wood that touch along a length; the largest keeps its name."""
    inserts = partition.inserts
    leader = list(range(len(inserts)))

    def first(number: int) -> int:
        while leader[number] != number:
            number = leader[number]
        return number

    ones, others = STRtree([cell.region for cell in inserts]).query(
        [cell.region for cell in inserts], predicate="dwithin", distance=TOUCHING
    )
    for one, other in sorted(zip(ones.tolist(), others.tolist(), strict=True)):
        if one >= other or inserts[one].wood != inserts[other].wood or first(one) == first(other):
            continue
        if border_length(inserts[one].region, inserts[other].region) > 10.0 * TOUCHING:
            leader[max(first(one), first(other))] = min(first(one), first(other))
    groups: dict[int, list[Cell]] = defaultdict(list)
    for number, cell in enumerate(inserts):
        groups[first(number)].append(cell)
    partition.cells = [partition.ground, *(_joined(group) for group in groups.values())]
    return len(groups) != len(inserts)


def _joined(group: list[Cell]) -> Cell:
    if len(group) == 1:
        return group[0]
    largest = max(group, key=lambda cell: cell.key)
    return Cell(largest.name, largest.wood, largest.colour, union_of([cell.region for cell in group]))


def _dissolve_thin(partition: Partition) -> bool:
    """Dissolve cells thinner than can be cut or handled, the smallest first."""
    changed = False
    for cell in sorted(partition.inserts, key=lambda cell: cell.key):
        if cell.sturdy is cell.region:
            continue
        if too_thin(cell.region, partition.rule.thinnest):
            partition.dissolve(cell)
            changed = True
        else:
            cell.sturdy = cell.region
    return changed


def _fill_thin_islands(partition: Partition) -> bool:
    """Fill islands of ground that are too thin to stand."""
    ground = partition.ground
    if ground.sturdy is ground.region:
        return False
    parts = list(polygons(ground.region))
    thin = [part for part in parts if too_thin(part, partition.rule.thinnest)]
    if thin:
        gone = {id(part) for part in thin}
        ground.region = region_of([part for part in parts if id(part) not in gone])
        for part in thin:
            _give_away(partition, part, ground)
    ground.sturdy = ground.region
    return bool(thin)
