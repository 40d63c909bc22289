"""The fit of a design with tapered walls: inserts and recess are one outline, and the seam closes as they go together.

A V cutter follows corners of any angle, so nothing is closed by its radius: only the flat at its tip rounds, and what
is thinner than that goes. Each insert sinks into a recess of its own, so areas that touch are let in one after the
other, the larger one first: it reaches a little under the later one, whose recess is cut when it is glued and level.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import shapely

from purfle.errors import FitError
from purfle.fit.cells import Cell, cells_of, middle, where
from purfle.fit.thin_inserts import thin_insert_findings
from purfle.geometry.folds import unfolded
from purfle.geometry.offsetting import (
    Region,
    difference,
    grow,
    intersection,
    polygons,
    region_of,
    shrink,
    union,
    union_of,
)
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, Fit, FitRule, Insert, Lost, Piece, Pieces, SeamFigures
from purfle.model.tapered import TaperedRule
from purfle.tapered import rounded
from purfle.tolerances import GRID, TOUCHING
from purfle.units import in_mm

AROUND = 10.0
"""The ground is shown so much further out than the design, mm."""
WORTH_TELLING = 0.05
"""What the tip takes off a design is told from this area on, mm2."""
NARROWEST = 0.2
"""What is nowhere wider than this, mm, is no insert: it would be cut 0.2 mm deep and go in levelling (common practice,
no source). Drawings have such slivers where two outlines all but meet."""
LAPS = (0.5, 0.25, 0.1, 0.0)
"""How far an area reaches under a later one that it touches, mm: so that no thread of ground shows between them where
the later recess is cut a little aside (common practice, no source). The first that keeps areas of one order apart."""
GROUND_KEPT = 0.5
"""Areas of one order that reach under a later one keep so much ground between them, or what they were drawn with."""


def let_in_tapered(drawn: Sequence[DrawnArea], rule: FitRule, walls: TaperedRule) -> tuple[Fit, ...]:
    """Inserts and recess of a design whose walls are tapered, as outlines at the finished face; a fit for each order.

    Areas of one order lie apart. Numbers run through all orders. Raises FitError where no area is wider than the tip.
    """
    cells = sorted(cells_of(drawn), key=lambda one: (one.region.bounds, one.wood, one.name))
    cells, slivers = _without_slivers(cells)
    orders = in_orders(cells) if cells else []
    fits: list[Fit] = []
    for its, regions in zip(orders, reaching_under(orders), strict=True):
        start = sum(len(fit.inserts) for fit in fits)
        fit = _fit(its, regions, (rule, walls), (start, len(fits) + 1))
        fits += [fit] if fit is not None else []
    if not fits:
        mend = "draw it larger, or take a V cutter with a sharper tip"
        raise FitError(f"No area is as wide as the V cutter's tip, or as {in_mm(NARROWEST)}.", "artwork", mend)
    first = fits[0].pieces
    told = replace(first, lost=(*first.lost, *slivers), findings=(*first.findings, *_told(slivers)))
    return _told_of_orders((replace(fits[0], pieces=told), *fits[1:]), orders)


def _without_slivers(cells: Sequence[Cell]) -> tuple[list[Cell], list[Lost]]:
    """The cells without parts that are no inserts, so that none of them asks for an order of its own; those parts."""
    kept: list[Cell] = []
    lost: list[Lost] = []
    for cell in cells:
        parts = {part: shrink(part, NARROWEST / 2.0).is_empty for part in polygons(cell.region)}
        why = f"narrower than {in_mm(NARROWEST)}"
        lost += [Lost(cell.name, cell.wood, part, why, "the ground stays") for part, thin in parts.items() if thin]
        wide = [part for part, thin in parts.items() if not thin]
        kept += [replace(cell, settled=region_of(wide), waiting=[], joined=None, box=None)] if wide else []
    return kept, [one for one in lost if one.region.area > WORTH_TELLING]


def in_orders(cells: Sequence[Cell]) -> list[list[Cell]]:
    """The cells by the order in which they are let in: no two of one order touch, the largest of all comes first."""
    regions = [cell.region for cell in cells]
    touching: list[set[int]] = [set() for _ in cells]
    for one, other in shapely.STRtree(regions).query(regions, predicate="dwithin", distance=TOUCHING).T.tolist():
        if one != other:
            touching[one].add(other)
    order: dict[int, int] = {}
    for number in sorted(range(len(cells)), key=lambda one: (-regions[one].area, one)):
        taken = {order[other] for other in touching[number] if other in order}
        order[number] = next(free for free in range(len(cells)) if free not in taken)
    count = max(order.values(), default=-1) + 1
    return [[cells[one] for one in range(len(cells)) if order[one] == level] for level in range(count)]


def reaching_under(orders: Sequence[Sequence[Cell]]) -> list[list[Region]]:
    """The regions of all cells by order, each with the lap by which it reaches under later ones that it touches."""
    for lap in LAPS:
        found = [
            [_lapped(cell, [one for later in orders[level + 1 :] for one in later], lap) for cell in its]
            for level, its in enumerate(orders)
        ]
        if all(_keep_apart(its, regions) for its, regions in zip(orders, found, strict=True)):
            break
    return found


def _lapped(cell: Cell, later: Sequence[Cell], lap: float) -> Region:
    beside = [one.region for one in later if one.region.distance(cell.region) <= TOUCHING]
    if not beside or not lap:
        return cell.region
    return union(cell.region, intersection(grow(cell.region, lap), union_of(beside)))


def _keep_apart(cells: Sequence[Cell], regions: Sequence[Region]) -> bool:
    drawn = [cell.region for cell in cells]
    return all(
        regions[one].distance(regions[other]) >= min(GROUND_KEPT, drawn[one].distance(drawn[other])) - GRID
        for one, other in combinations(range(len(cells)), 2)
    )


def _fit(
    cells: Sequence[Cell], regions: Sequence[Region], rules: tuple[FitRule, TaperedRule], place: tuple[int, int]
) -> Fit | None:
    """The fit of one order; None where the tip leaves nothing of it. `place`: how many inserts come before, order."""
    (rule, walls), (start, order) = rules, place
    pieces: list[Piece] = []
    lost: list[Lost] = []
    for cell, region in zip(cells, regions, strict=True):
        round_one = unfolded(rounded(region, walls.tip_radius))
        parts = sorted(polygons(round_one), key=lambda part: part.bounds)
        for number, part in enumerate(parts):
            name = cell.name if number == 0 else f"{cell.name}, part {number + 1}"
            pieces.append(Piece(start + len(pieces) + 1, name, cell.wood, cell.colour, part))
        gone = [part for part in polygons(difference(cell.region, round_one)) if part.area > WORTH_TELLING]
        why = "narrower than the V cutter's tip"
        lost += [Lost(cell.name, cell.wood, part, why, "the ground stays") for part in gone]
    if not pieces:
        return None
    recess, wanted = union_of([piece.region for piece in pieces]), union_of(list(regions))
    made, inserts = _pieces(tuple(pieces), wanted, recess, lost), _inserts(pieces)
    made = replace(made, findings=(*made.findings, *thin_insert_findings(inserts, walls)))
    return Fit(rule, made, inserts, recess, _seam(recess), walls=walls, order=order)


def _told_of_orders(fits: tuple[Fit, ...], orders: Sequence[Sequence[Cell]]) -> tuple[Fit, ...]:
    """Says with the first that several are let in one after the other."""
    if len(fits) == 1:
        return fits
    later = [cell.name for its in orders[1:] for cell in its]
    goes = f"{len(fits)} goes: each when the one before is glued in and level"
    what = f"areas touch, so they are let in in {goes}. Later: {', '.join(dict.fromkeys(later))}"
    place = middle(orders[1][0].region)
    mend = 'leave ground between them, merge them in [areas], or take walls = "straight", to let all in at once'
    first = fits[0].pieces
    told = Finding("look", what, where(place), mend, "fit", place)
    return (replace(fits[0], pieces=replace(first, findings=(*first.findings, told))), *fits[1:])


def _inserts(pieces: Sequence[Piece]) -> tuple[Insert, ...]:
    return tuple(Insert(one.number, one.name, one.wood, one.colour, one.region) for one in pieces)


def _pieces(pieces: tuple[Piece, ...], wanted: Region, recess: Region, lost: Sequence[Lost]) -> Pieces:
    """The same as pieces in their ground; no closing applies, so none is off."""
    left, low, right, high = wanted.bounds
    domain = shapely.box(left - AROUND, low - AROUND, right + AROUND, high + AROUND)
    changed = shapely.symmetric_difference(wanted, recess).area / wanted.area
    return Pieces(domain, difference(domain, recess), pieces, tuple(lost), (), 0.0, 0.0, changed, _told(lost))


def _told(lost: Sequence[Lost]) -> tuple[Finding, ...]:
    found = []
    for name in dict.fromkeys(one.name for one in lost):
        its = [one for one in lost if one.name == name]
        area = sum(one.region.area for one in its)
        what = f'"{name}" loses {area:.2f} mm2 that is {its[0].why}; the ground stays'
        place = middle(max((one.region for one in its), key=lambda region: region.area))
        sharper = "take a V cutter with a sharper tip, or " if "tip" in its[0].why else ""
        mend = f"{sharper}draw it wider there"
        found.append(Finding("look", what, where(place), mend, "fit", place))
    return tuple(found)


def _seam(recess: Region) -> SeamFigures:
    """Drawn without a seam: recess and inserts are one outline."""
    place = next(polygons(recess)).exterior.coords[0]
    spot = (float(place[0]), float(place[1]))
    return SeamFigures(0.0, spot, 0.0, spot, 1.0, float(recess.boundary.length))
