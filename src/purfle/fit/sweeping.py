"""Sweeps: every cell takes what its cutter cannot reach, then the cells are put in order again."""

from collections import defaultdict

import shapely
from shapely import Polygon, STRtree

from purfle.fit.cells import Box, Cell, Partition, windows
from purfle.geometry.measuring import depths_beside, inscribed_centre
from purfle.geometry.offsetting import Region, closing, polygonal, polygons, region_of, shrink, sound, union, union_of
from purfle.geometry.partition import border_length
from purfle.tolerances import CLOSING_KEPT, CLOSING_PLAY, FILM, TOUCHING

_WORTH_WINDOWS = 0.5
"""Share of a cell's box from which on windows cost more than they save."""


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
        if cell.region.is_empty or cell.unswept == []:
            continue
        taken = _to_take(partition, cell)
        cell.unswept = []
        if taken:
            deepest = max(deepest, taken[0][0])
            partition.take(cell, union_of([part for _, part in taken]))
        partition.check_time()
    return deepest


def open_places(partition: Partition, cell: Cell, kept: float) -> list[tuple[float, Polygon]]:
    """Parts that the cell's closing has beyond it, looked for with a radius a hair smaller than what closes them.

    With one and the same radius the chords of each closing would open the next one again: in a place that narrows
    slowly to the cutter's width, half a thousandth moves the end by hundredths, sweep after sweep.
    """
    return _beyond(partition, cell, partition.radius - CLOSING_PLAY, kept)


def _to_take(partition: Partition, cell: Cell) -> list[tuple[float, Polygon]]:
    if cell.unswept is None:
        return _beyond(partition, cell, partition.radius, CLOSING_KEPT)
    places = open_places(partition, cell, CLOSING_KEPT)
    if not places:
        return []
    # what is open is closed with the full radius, and looked for only about the places that are open
    boxes = windows([part.bounds for _, part in places], _reach(partition.radius))
    return _beyond_in(cell.region, boxes, partition.radius, CLOSING_KEPT)


def _reach(radius: float) -> float:
    """How far around a change a closing must be looked at: it depends on two radii, and changes as far again."""
    return 4.0 * radius + 1.0


def _beyond(partition: Partition, cell: Cell, radius: float, kept: float) -> list[tuple[float, Polygon]]:
    """What the closing has beyond the cell, looked for only where it can have changed since the last sweep.

    A closing depends on what lies within two radii. The closing of a clipped region lies within that of the whole
    one, so nothing false is found; what a window cuts off is found by the next sweep.
    """
    if cell.unswept is None:
        return residual(cell.region, closing(cell.region, radius), kept)
    boxes = windows(cell.unswept, _reach(radius)) if cell.unswept else []
    return _beyond_in(cell.region, boxes, radius, kept)


def _beyond_in(whole: Region, boxes: list[Box], radius: float, kept: float) -> list[tuple[float, Polygon]]:
    """What the closing has beyond a region, in some boxes; in all of it where the boxes are most of it."""
    left, low, right, high = whole.bounds
    if sum((box[2] - box[0]) * (box[3] - box[1]) for box in boxes) > _WORTH_WINDOWS * (right - left) * (high - low):
        return residual(whole, closing(whole, radius), kept)
    clips = [polygonal(whole.intersection(shapely.box(*box))) for box in boxes]
    found = [one for clip in clips if not clip.is_empty for one in residual(clip, closing(clip, radius), kept)]
    return sorted(found, key=lambda one: (-one[0], one[1].bounds))


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
        inserts += [cell.like(part) for part in kept]
    partition.cells = [partition.ground, *inserts]
    for crumb in crumbs:
        _give_away(partition, crumb, None)
    return changed


def _give_away(partition: Partition, region: Polygon, giver: Cell | None) -> None:
    """Give a region that belongs to nobody any more to the cell with the longest border."""
    beside = partition.neighbours(region, giver if giver is not None else Cell("", "", (0, 0, 0), region))
    taker = beside[0][1] if beside else partition.ground
    taker.become(union(taker.region, region), region)


def _join(partition: Partition) -> bool:
    """Join cells of one wood that touch along a length; the largest keeps its name."""
    inserts = partition.inserts
    if not inserts:
        return False
    leader = list(range(len(inserts)))

    def first(number: int) -> int:
        while leader[number] != number:
            number = leader[number]
        return number

    ones, others = STRtree([cell.region for cell in inserts]).query(
        [cell.region for cell in inserts], predicate="dwithin", distance=TOUCHING
    )
    for one, other in sorted(zip(ones.tolist(), others.tolist(), strict=True)):
        if one >= other or not _are_one(inserts[one], inserts[other]) or first(one) == first(other):
            continue
        if border_length(inserts[one].region, inserts[other].region) > 10.0 * TOUCHING:
            leader[max(first(one), first(other))] = min(first(one), first(other))
    groups: dict[int, list[Cell]] = defaultdict(list)
    for number, cell in enumerate(inserts):
        groups[first(number)].append(cell)
    joined = [cell for group in groups.values() for cell in _joined(group)]
    partition.cells = [partition.ground, *joined]
    return len(joined) != len(inserts)


def _joined(group: list[Cell]) -> list[Cell]:
    """The cells as one; a film between them is welded. As they were if they hold together in no place."""
    if len(group) == 1:
        return group
    whole = union_of([cell.region for cell in group])
    if not isinstance(whole, Polygon):
        whole = closing(whole, 2.0 * TOUCHING)
    if not isinstance(whole, Polygon):
        return group
    largest = max(group, key=lambda cell: cell.key)
    return [Cell(largest.name, largest.wood, largest.colour, whole, apart=largest.apart)]


def _are_one(one: Cell, other: Cell) -> bool:
    """True if two cells are joined where they touch: of one wood, and not parts that are kept apart."""
    return one.wood == other.wood and one.apart == other.apart


def _dissolve_thin(partition: Partition) -> bool:
    """Dissolve cells thinner than can be cut or handled, the smallest first."""
    changed = False
    for cell in sorted(partition.inserts, key=lambda cell: cell.key):
        if not _is_sturdy(cell, partition.rule.thinnest):
            partition.dissolve(cell)
            changed = True
    return changed


def _is_sturdy(cell: Cell, width: float) -> bool:
    """True if a disc of this width fits into the cell: the disc of the last time if it still does."""
    if cell.sturdy is not None and _room_at(cell.region, cell.sturdy) >= width / 2.0:
        return True
    largest = max(polygons(cell.region), key=lambda part: part.area, default=None)
    if largest is None:
        return False
    cell.sturdy = inscribed_centre(largest, width / 50.0)
    return _room_at(cell.region, cell.sturdy) >= width / 2.0


def _room_at(region: Region, place: tuple[float, float]) -> float:
    """Radius of the disc about a place that lies in the region, 0 outside it."""
    inside = shapely.contains_xy(region, *place)
    return float(region.boundary.distance(shapely.Point(place))) if inside else 0.0


def _fill_thin_islands(partition: Partition) -> bool:
    """Fill islands of ground that are too thin to stand."""
    ground = partition.ground
    islands = sorted(polygons(ground.region), key=lambda part: -part.area)[1:]
    thin = [part for part in islands if too_thin(part, partition.rule.thinnest)]
    if thin:
        gone = region_of(thin)
        ground.become(region_of([part for part in polygons(ground.region) if not gone.covers(part)]), gone)
        for part in thin:
            _give_away(partition, part, ground)
    return bool(thin)
