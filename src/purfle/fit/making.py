"""Areas to pieces that can be cut: the recipe and the checks at its end."""

from collections import Counter
from collections.abc import Sequence
from itertools import count

import shapely
from shapely import Polygon

from purfle.errors import Fault, FitError
from purfle.fit.cells import GROUND, Cell, Partition, lay_out, middle, needed_radius, where
from purfle.fit.corners import sharpen
from purfle.fit.deciding import decide
from purfle.fit.losses import art_changed, lost_details, lost_names
from purfle.fit.sweeping import put_in_order, residual, sweep
from purfle.fit.tips import trim
from purfle.fit.walls import wall_findings
from purfle.geometry.offsetting import closing, closing_by_clipper, polygons, union_of
from purfle.geometry.partition import junctions_of, smoothed, tiled, tiling_of
from purfle.model.pieces import DrawnArea, FitRule, Piece, Pieces
from purfle.tolerances import CLOSED, CLOSING_KEPT, CONTESTED, FILM

_TRIM_ROUNDS = 6
_ROUNDS_BEFORE_DECIDING = 3
_ROUNDS_UNTIL_STRICT = 9
"""Shallow residuals die down by themselves; only those that have not by now are decided."""
_MOST_ROUNDS = 60
"""Rounds after which what nobody contests is left to noding and to the check behind it."""
_MOST_TILINGS = 4
"""Noding moves vertices by a grid step; what that opens again is swept again, this often at most."""


Beyond = dict[Cell, list[tuple[float, Polygon]]]
"""Parts of its closing beyond a cell, with their depth, deepest first."""


def make_pieces(areas: tuple[DrawnArea, ...], rule: FitRule) -> Pieces:
    """Pieces that this cutter can make, tiling the ground around them, as near to the drawn areas as that allows.

    The order of the areas does not matter. Raises FitError where nothing can be cut, or not in `rule.time_limit_s`.
    """
    _refuse_unusable(areas, rule)
    partition = lay_out(areas, rule)
    for _ in range(_MOST_TILINGS):
        settle(partition)
        _refuse_empty(partition)
        _tile(partition)
        sharpened = sharpen(partition)
        if sharpened:
            _tile(partition)
        beyond = _beyond(partition, sharpened)
        deepest = [max((found[0][0] for found in engine.values()), default=0.0) for engine in beyond]
        if max(deepest) <= CLOSED and all(isinstance(cell.region, Polygon) for cell in partition.inserts):
            return _pieces_of(partition, areas, (deepest[0], deepest[1]), sharpened)
        _take_beyond(partition, beyond)
    raise _not_closed(partition)


def settle(partition: Partition) -> None:
    """Sweep, trim and put in order until nothing is left to do; decide where that does not end by itself.

    It ends: between decisions only so many rounds pass, and decisions use up patience, then pieces.
    """
    visits: Counter[tuple[int, int]] = Counter()
    put_in_order(partition)
    for rounds in count(1):
        trimmed = trim(partition) if rounds <= _TRIM_ROUNDS else 0
        if trimmed:
            put_in_order(partition)
        deepest = sweep(partition)
        changed = put_in_order(partition)
        if deepest == 0.0 and not changed and not trimmed:
            return
        if rounds >= _ROUNDS_BEFORE_DECIDING and rounds % 2 == 1:
            strict = rounds >= _ROUNDS_UNTIL_STRICT
            decided = decide(partition, visits, CLOSING_KEPT if strict else CONTESTED)
            if decided:
                put_in_order(partition)
            elif strict and (not changed or rounds >= _MOST_ROUNDS):
                return


def _beyond(partition: Partition, sharpened: tuple[Polygon, ...] = ()) -> tuple[Beyond, Beyond]:
    """What lies beyond each cell in its closing, by GEOS and by Clipper2; only cells with anything at all.

    Of the ground, `sharpened` corners do not count: they are left to the chisel.
    """
    radius = needed_radius(partition.rule)
    found: tuple[Beyond, Beyond] = ({}, {})
    for cell in partition.cells:
        for engine, close in zip(found, (closing, closing_by_clipper), strict=True):
            reached = union_of([cell.region, *sharpened]) if cell is partition.ground and sharpened else cell.region
            beyond = residual(reached, close(cell.region, radius), CLOSING_KEPT / 2.0)
            if beyond:
                engine[cell] = beyond
    return found


def _take_beyond(partition: Partition, beyond: tuple[Beyond, Beyond]) -> None:
    """Let cells take what either engine still finds, so that the next settling starts from there."""
    for engine in beyond:
        for cell, found in engine.items():
            open_parts = [part for depth, part in found if depth > CLOSED]
            if open_parts:
                partition.take(cell, union_of(open_parts))


def _tile(partition: Partition) -> None:
    """Make the tiling exact; crumbs that noding cut off go to the ground's side again in the next settling."""
    regions = smoothed(tiled([cell.region for cell in partition.cells], partition.domain))
    for cell, region in zip(partition.cells, regions, strict=True):
        cell.become(region, Polygon())
    tiling = tiling_of(regions, partition.domain)
    assert tiling.edges_shared, "pieces do not share their edges"
    assert tiling.area_apart <= FILM * FILM, "pieces do not fill their domain"


def _pieces_of(
    partition: Partition, areas: tuple[DrawnArea, ...], residuals: tuple[float, float], sharpened: tuple[Polygon, ...]
) -> Pieces:
    pieces = _numbered(partition.inserts)
    lost = lost_details(partition, areas)
    walls = wall_findings(partition.ground.region, partition.domain, partition.rule)
    return Pieces(
        partition.domain,
        partition.ground.region,
        pieces,
        lost,
        junctions_of([cell.region for cell in partition.cells]),
        *residuals,
        art_changed(partition),
        (*partition.findings, *lost_names(areas, partition), *walls),
        sharpened,
    )


def _numbered(cells: Sequence[Cell]) -> tuple[Piece, ...]:
    """Pieces by wood, then from larger to smaller. Of several with one name, the largest keeps it."""
    ordered = sorted(cells, key=lambda cell: (cell.wood, -round(cell.region.area, 3), *cell.key[2:]))
    seen: Counter[str] = Counter()
    pieces = []
    for number, cell in enumerate(ordered, 1):
        seen[cell.name] += 1
        name = cell.name if seen[cell.name] == 1 else f"{cell.name}, part {seen[cell.name]}"
        (outline,) = polygons(cell.region)
        pieces.append(Piece(number, name, cell.wood, cell.colour, shapely.normalize(outline)))
    return tuple(pieces)


def _refuse_unusable(areas: tuple[DrawnArea, ...], rule: FitRule) -> None:
    faults = []
    if not areas or all(area.region.is_empty for area in areas):
        faults.append(Fault("there is nothing to let in", "artwork", "give at least one area a wood of its own"))
    if not rule.cutter_radius > 0.0:
        faults.append(Fault("the cutter has no width", "fit rule, cutter_radius", "give the cutter's radius in mm"))
    if not 0.0 <= rule.seam < 2.0 * max(rule.cutter_radius, 0.0):
        faults.append(
            Fault("the seam must be at least 0 and narrower than the cutter", "fit rule, seam", "0.1 mm is usual")
        )
    for area in areas:
        if area.name == GROUND and area.wood == GROUND:
            faults.append(Fault("an area stands for the ground", f'area "{area.name}"', "leave the ground out"))
    if faults:
        raise FitError.of(faults)


def _refuse_empty(partition: Partition) -> None:
    if partition.inserts:
        return
    raise FitError(
        "nothing is left to let in: every area is too small for this cutter",
        f"whole artwork, {_size(partition)}",
        f"make the artwork larger, or use a cutter narrower than {2.0 * partition.rule.cutter_radius:.3f} mm",
    )


def _size(partition: Partition) -> str:
    left, low, right, high = shapely.union_all([*partition.drawn.values()][1:]).bounds
    return f"{right - left:.1f} x {high - low:.1f} mm"


def _not_closed(partition: Partition) -> FitError:
    faults = []
    for engine in _beyond(partition):
        for cell, ((depth, part), *_) in engine.items():
            if depth > CLOSED:
                what = f'"{cell.name}" has a place that the cutter cannot reach, {depth:.3f} mm deep'
                mend = "draw it rounder there, make the artwork larger, or use a smaller cutter"
                faults.append(Fault(what, where(middle(part)), mend))
    first, *rest = faults or [Fault("the pieces do not settle", f"whole artwork, {_size(partition)}", "simplify it")]
    return FitError(first.what, first.where, first.mend, tuple(rest))
