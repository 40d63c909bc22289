"""Sweeps: every cell takes what its cutter cannot reach, then the cells are put in order again."""

import math
from collections import defaultdict
from collections.abc import Sequence

import shapely
from shapely import Polygon, STRtree

from purfle.fit.ahead import Ahead
from purfle.fit.cells import Bodies, Cell, Partition, called, centre, middle
from purfle.fit.deciding import decide
from purfle.fit.dissolving import dissolve_thin
from purfle.fit.ranking import deepest_first, small_first
from purfle.geometry.coverage import shared_borders, shares_every_vertex, tile_edge_to_edge, union_of_noded
from purfle.geometry.offsetting import Region, closing, polygons, region_of, shrink, union_of
from purfle.geometry.partition import border_length
from purfle.geometry.reaching import SURROUNDINGS, Box, all_at_once, clipped, out_of_reach, parts_beyond, windows
from purfle.hard_stop import busy
from purfle.tolerances import CLOSING_KEPT, CLOSING_PLAY, CLOSING_SLACK, TOUCHING

CRUMB_IN_DISCS, CRUMB_SHARE = 2.0, 0.25
"""A part that a cell falls apart into is a crumb below so many discs of its cutter, or this share of the largest part,
whichever is less."""


def sweep(partition: Partition, returns: int) -> bool:
    """Let every cell take what lies in its closing, small ones first and the ground last; True if any took wood.

    What has come back undiminished `returns` times is not taken once more but decided.
    """
    acted = False
    inserts = small_first(partition.inserts)
    waiting = [cell for cell in inserts if cell.unswept != [] and not cell.region.is_empty]
    with Ahead(partition.mate, waiting, lambda cell: (partition.bodies(cell), _boxes(cell)), to_take) as ahead:
        for cell in (*inserts, partition.ground):
            if cell.region.is_empty or cell.unswept == [] or cell not in partition.cells:
                continue
            partition.work(cell)
            found = ahead.of(cell)
            cell.unswept = []
            acted = _take_or_decide(partition, cell, found, returns) or acted
    return acted


def _boxes(cell: Cell) -> tuple[Box, ...] | None:
    return None if cell.unswept is None else tuple(cell.unswept)


def _take_or_decide(partition: Partition, cell: Cell, found: list[tuple[float, Polygon]], returns: int) -> bool:
    """Take what is not contested, then have the rest decided, the deepest first."""
    quarrels = [partition.remember(cell, depth, centre(part)) for depth, part in found]
    contested = [quarrel.returns >= returns for quarrel in quarrels]
    taken = [part for (_, part), is_contested in zip(found, contested, strict=True) if not is_contested]
    if taken:
        partition.take(cell, union_of(taken))
    acted = bool(taken)
    for (_, part), is_contested, quarrel in zip(found, contested, quarrels, strict=True):
        if is_contested and cell in partition.cells:
            acted = decide(partition, cell, part, quarrel) or acted
    return acted


def to_take(bodies: Bodies, unswept: Sequence[Box] | None) -> list[tuple[float, Polygon]]:
    """What the closing has beyond a cell, looked for only where it can have changed since the last sweep.

    Looked for with a radius a hair smaller than what closes it: with one and the same radius the chords of each closing
    would open the next one again. In a place that narrows slowly to the cutter's width, half a thousandth moves the end
    by hundredths, sweep after sweep.
    """
    parts = [one for whole, needed in bodies for one in _beyond(whole, needed + CLOSING_SLACK, unswept)]
    return deepest_first(parts)


def _beyond(whole: Region, radius: float, about: Sequence[Box] | None) -> list[tuple[float, Polygon]]:
    """What the closing has beyond a region, about some boxes."""
    places = out_of_reach(whole, radius - CLOSING_PLAY, CLOSING_KEPT / 2.0, about)
    if not places:
        return []
    # The closing of a clipped region lies within that of the whole one, so nothing false is found in the boxes.
    boxes = windows(places, SURROUNDINGS * radius)
    clips = [whole] if all_at_once(whole, boxes) else [clipped(whole, box) for box in boxes]
    return [one for clip in clips for one in parts_beyond(clip, closing(clip, radius), CLOSING_KEPT)]


def put_in_order(partition: Partition) -> bool:
    """Split what is apart, join what touches in one wood, dissolve what is too thin; True if anything changed."""
    split = _split(partition)
    joined = _join(partition)
    dissolved = dissolve_thin(partition)
    filled = _fill_thin_islands(partition)
    return split or joined or dissolved or filled


def put_drawn_in_order(partition: Partition) -> None:
    """Join and dissolve cells as drawn, which share every vertex, without an overlay; nothing where they do not."""
    regions = [cell.region for cell in partition.cells]
    noded = all(one.is_valid for one in regions) and tile_edge_to_edge(regions, partition.domain)
    noded = noded or shares_every_vertex(regions)
    busy("joining its areas", lambda: "whole artwork")
    while noded and (_join(partition, noded=True) | dissolve_thin(partition, noded=True)):
        pass


def too_thin(region: Region, width: float) -> bool:
    """True if no disc of this width fits into the region."""
    return bool(region.is_empty or shrink(region, width / 2.0).is_empty)


def _split(partition: Partition) -> bool:
    inserts: list[Cell] = []
    crumbs: list[tuple[Cell, Polygon]] = []
    changed = False
    for cell in partition.inserts:
        parts = sorted(polygons(cell.region), key=lambda part: (-part.area, part.bounds))
        changed = changed or len(parts) != 1
        if len(parts) == 1:
            inserts.append(cell)
            cell.settled = cell.region if isinstance(cell.region, Polygon) else parts[0]
            continue
        kept = parts[:1] if partition.patience < 0 else _worth_keeping(partition, cell, parts)
        crumbs += [(cell, part) for part in parts if part not in kept]
        inserts += [cell.like(part) for part in kept]
        _look_between(partition, parts)
    partition.cells = [partition.ground, *inserts]
    for cell, crumb in crumbs:
        taker = _give_away(partition, crumb, None)
        size = f"{crumb.area:.1f} mm2, left where the cutter took the rest"
        what = f'{called(partition, taker)} takes a crumb of "{cell.name}", {size}'
        partition.note("note", what, middle(crumb), "draw it wider there, or use a smaller cutter")
    return changed


def _look_between(partition: Partition, parts: list[Polygon]) -> None:
    """Have what parts a cell looked at for necks: a closing that bridges a cell may be no wider than a hair there."""
    for part in parts[1:]:
        across = shapely.shortest_line(parts[0], part)
        if across.length < partition.rule.tip:
            left, low, right, high = across.bounds
            for cell in partition.cells:
                if cell.untrimmed is not None and cell.touches(across):
                    cell.untrimmed.append((left, low, right, high))


def _worth_keeping(partition: Partition, cell: Cell, parts: list[Polygon]) -> list[Polygon]:
    """The parts of a cell that fell apart, but for crumbs: what is left of a stem or line that the cutter took away.

    What is too thin for a piece is dissolved with all that is.
    """
    disc = math.pi * partition.cutter_of(cell) ** 2
    crumb = min(CRUMB_IN_DISCS * disc, CRUMB_SHARE * parts[0].area) if parts else 0.0
    return [part for part in parts if part.area >= crumb or too_thin(part, partition.rule.thinnest)]


def _give_away(partition: Partition, region: Polygon, giver: Cell | None) -> Cell:
    """Give a region that belongs to nobody any more to the cell with the longest border; that cell."""
    beside = partition.neighbours(region, giver if giver is not None else Cell("", "", (0, 0, 0), region))
    taker = beside[0][1] if beside else partition.ground
    taker.gain(region)
    return taker


def _join(partition: Partition, noded: bool = False) -> bool:
    """Join cells of one wood that touch along a length; the largest keeps its name. `noded`: as drawn."""
    inserts = partition.inserts
    if not inserts:
        return False
    leader = list(range(len(inserts)))

    def first(number: int) -> int:
        while leader[number] != number:
            number = leader[number]
        return number

    borders = shared_borders([cell.region for cell in inserts]) if noded else None
    for one, other in _may_touch(inserts):
        if first(one) != first(other) and _border(inserts, one, other, borders) > 10.0 * TOUCHING:
            leader[max(first(one), first(other))] = min(first(one), first(other))
    for cell in inserts:
        cell.joined = cell.region
    groups: dict[int, list[Cell]] = defaultdict(list)
    for number, cell in enumerate(inserts):
        groups[first(number)].append(cell)
    joined = [cell for group in groups.values() for cell in _joined(partition, group, noded)]
    partition.cells = [partition.ground, *joined]
    return len(joined) != len(inserts)


def _may_touch(inserts: list[Cell]) -> list[tuple[int, int]]:
    """Pairs of cells of one wood whose boxes touch, of which one at least has changed since this was last asked."""
    tree = STRtree([cell.region for cell in inserts])
    changed = [number for number, cell in enumerate(inserts) if cell.joined is not cell.region]
    grown = [windows([inserts[number].region.bounds], TOUCHING)[0] for number in changed]
    ones, others = tree.query([shapely.box(*box) for box in grown]) if changed else ((), ())
    pairs = {tuple(sorted((changed[one], int(other)))) for one, other in zip(ones, others, strict=True)}
    return sorted((one, other) for one, other in pairs if one != other and _are_one(inserts[one], inserts[other]))


def _border(inserts: list[Cell], one: int, other: int, borders: dict[int, dict[int, float]] | None) -> float:
    if borders is not None:
        return borders[one].get(other, 0.0)
    return border_length(inserts[one].region, inserts[other].region)


def _joined(partition: Partition, group: list[Cell], noded: bool) -> list[Cell]:
    """The cells as one; a film between them is welded. As they were if they hold together in no place."""
    if len(group) == 1:
        return group
    whole = (union_of_noded if noded else union_of)([cell.region for cell in group])
    if not isinstance(whole, Polygon):
        whole = closing(whole, 2.0 * TOUCHING)
    if not isinstance(whole, Polygon):
        return group
    largest = max(group, key=lambda cell: cell.key)
    one_rules = any(cell.cutter is not None for cell in group)
    finest = min(partition.cutter_of(cell) for cell in group) if one_rules else None
    return [Cell(largest.name, largest.wood, largest.colour, whole, apart=largest.apart, cutter=finest)]


def _are_one(one: Cell, other: Cell) -> bool:
    """True if two cells are joined where they touch: of one wood, and not parts that are kept apart."""
    return one.wood == other.wood and one.apart == other.apart


def _fill_thin_islands(partition: Partition) -> bool:
    """Fill islands of ground that are too thin to stand."""
    ground = partition.ground
    islands = sorted(polygons(ground.region), key=lambda part: -part.area)[1:]
    waiting = [part for part in islands if shapely.to_wkb(part) not in partition.standing]
    thin = [part for part in waiting if too_thin(part, partition.rule.thinnest)]
    partition.standing |= {shapely.to_wkb(part) for part in waiting}
    if thin:
        gone = region_of(thin)
        ground.become(region_of([part for part in polygons(ground.region) if not gone.covers(part)]), gone)
        for part in thin:
            _give_away(partition, part, ground)
    return bool(thin)
