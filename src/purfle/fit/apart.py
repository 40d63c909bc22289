"""The fit of a design whose inserts lie apart, each in a recess of its own, cut by a hand router along templates.

Nothing is contested between neighbours, but outside and inside corners have limits of their own: the recess takes no
sharper corner than its cutter (half the cutter's width), the insert no tighter inside corner than bush and cutter
allow (`TemplateRule.least_inside`). So each piece is opened by the one radius and closed by the other.
"""

import math
from collections.abc import Sequence

import shapely
from shapely import Polygon

from purfle.errors import Fault, FitError
from purfle.fit.apart_told import Corners, lost_of, told_of
from purfle.fit.cells import Cell, cells_of, middle, where
from purfle.fit.letting_in import let_in
from purfle.fit.making import depths_of
from purfle.geometry.folds import unfolded
from purfle.geometry.offsetting import Region, closing, difference, grow, opening, polygons, shrink, union_of
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, Fit, FitRule, Lost, Piece, Pieces
from purfle.tolerances import CLOSED, CLOSING_SLACK, TOUCHING
from purfle.units import in_mm

AROUND = 10.0
"""The ground is shown so much further out than the design, mm."""
_ROUNDS, _PATIENCE = 16, 3
"""Opening and closing disturb each other less from round to round; most outlines need two. After some rounds what comes
and goes is decided."""


def let_in_apart(drawn: Sequence[DrawnArea], rule: FitRule, least_inside: float) -> Fit:
    """Inserts and recess of a design whose areas lie apart. `least_inside`: tightest inside corner of an insert, mm.

    Raises FitError with every two areas that touch, every island within one, and where nothing is left to let in.
    """
    cells = sorted(cells_of(drawn), key=lambda one: (one.region.bounds, one.wood, one.name))
    refuse_touching(cells, "cut with templates", 'let them in with way = "machine"')
    half = rule.seam / 2.0
    corners = Corners(max(0.0, rule.cutter_radius - half), max(0.0, least_inside - half))
    pieces: list[Piece] = []
    lost: list[Lost] = []
    findings: list[Finding] = []
    for cell in cells:
        made = smoothed(cell.region, corners)
        for number, part in enumerate(sorted(polygons(made), key=lambda one: one.bounds)):
            name = cell.name if number == 0 else f"{cell.name}, part {number + 1}"
            pieces.append(Piece(len(pieces) + 1, name, cell.wood, cell.colour, part))
        lost += lost_of(cell, made, corners)
        findings += told_of(cell, made, corners)
    _refuse_empty(pieces, cells, corners)
    _refuse_islands(pieces)
    _refuse_grown_together(pieces, half)
    return let_in(_pieces(tuple(pieces), cells, corners, (tuple(lost), tuple(findings))), rule)


def smoothed(region: Region, corners: Corners) -> Region:
    """The region opened by one radius and closed by the other; what a disc of the first does not fit into is gone."""
    outside, inside = corners.outside + CLOSING_SLACK, corners.inside + CLOSING_SLACK
    for number in range(_ROUNDS):
        opened = opening(region, outside)
        region = union_of([closing(part, inside) for part in polygons(opened)])
        if region.is_empty or max(_residuals(region, corners)) <= CLOSED / 2.0:
            return unfolded(region)
        if number >= _PATIENCE:
            region = _unbridged(opened, region, (outside, min(inside, outside * (number - _PATIENCE + 1))))
    by = max(_residuals(region, corners))
    raise FitError(
        f"an outline cannot be made with this bush and cutter: {by:.3f} mm of it are in the way of one or the other",
        where(middle(region)),
        "draw it simpler there, make the artwork larger, or use a thinner cutter",
    )


def _unbridged(opened: Region, closed: Region, reach: tuple[float, float]) -> Region:
    """What opening leaves less what lies about the bridges that closing throws from one end to another.

    Where two ends of a piece come near to each other, closing joins them by a bridge that is too thin for the cutter,
    and opening takes it away again. So the ends are shortened, more from round to round, until they are too far apart
    for one. `reach`: the radius of the opening, and how far about a bridge is taken.
    """
    bridges = difference(closed, opening(closed, reach[0]))
    about = [grow(part, reach[1]) for part in polygons(bridges) if not shrink(part, CLOSED / 2.0).is_empty]
    return difference(opened, union_of(about)) if about else closed


def _residuals(region: Region, corners: Corners) -> tuple[float, float]:
    """How deep what lies beyond the region, and beyond its ground, in their closings is: by GEOS and by Clipper2."""
    inside = [depths_of([(part, corners.inside)], Polygon()) for part in polygons(region)]
    left, low, right, high = region.bounds
    around = 4.0 * corners.outside
    box = shapely.box(left - around, low - around, right + around, high + around)
    outside = depths_of([(difference(box, region), corners.outside)], Polygon())
    by_geos, by_clipper = zip(*inside, outside, strict=True)
    return max(by_geos), max(by_clipper)


def refuse_touching(cells: Sequence[Cell], way: str, mend: str) -> None:
    """Two areas that touch would share a wall; only one of them can have it. `way`, `mend`: words of who refuses."""
    regions = [cell.region for cell in cells]
    tree = shapely.STRtree(regions)
    faults = []
    for one, other in tree.query(regions, predicate="dwithin", distance=TOUCHING).T.tolist():
        if one < other:
            place = shapely.shortest_line(regions[one], regions[other]).coords[0]
            what = f'"{cells[one].name}" and "{cells[other].name}" touch: {way} each needs ground around it'
            mends = f"leave ground between them, merge them in [areas], or {mend}"
            faults.append(Fault(what, where(place), mends))
    if faults:
        raise FitError.of(faults)


def _refuse_empty(pieces: Sequence[Piece], cells: Sequence[Cell], corners: Corners) -> None:
    if pieces:
        return
    names = ", ".join(f'"{name}"' for name in sorted({cell.name for cell in cells})[:6])
    raise FitError(
        f"nothing is left to let in of {names}: no disc of {in_mm(round(2.0 * corners.outside, 3))} fits into it",
        "artwork",
        "draw it larger, or use a thinner cutter",
    )


def _refuse_islands(pieces: Sequence[Piece]) -> None:
    """A hole of a piece is an island of the template: nothing would hold it."""
    faults = [
        Fault(
            f'"{piece.name}" has an island of ground in it: no template could hold its own island there',
            where(middle(Polygon(ring))),
            'fill it in the drawing, make two pieces of the ring, or let it in with way = "machine"',
        )
        for piece in pieces
        for ring in piece.region.interiors
    ]
    if faults:
        raise FitError.of(faults)


def _refuse_grown_together(pieces: Sequence[Piece], half: float) -> None:
    """Filled notches must not come so near to a neighbour that the recesses run into one."""
    regions = [piece.region for piece in pieces]
    faults = []
    for one, other in shapely.STRtree(regions).query(regions, predicate="dwithin", distance=2.0 * half + TOUCHING).T:
        if one < other:
            place = shapely.shortest_line(regions[one], regions[other]).coords[0]
            what = f'the recesses of "{pieces[one].name}" and "{pieces[other].name}" run into each other'
            faults.append(Fault(what, where(place), "leave more ground between them, or use a thinner cutter"))
    if faults:
        raise FitError.of(faults)


def _pieces(
    pieces: tuple[Piece, ...],
    cells: Sequence[Cell],
    corners: Corners,
    told: tuple[tuple[Lost, ...], tuple[Finding, ...]],
) -> Pieces:
    """The same as pieces in their ground."""
    wanted, recess = union_of([cell.region for cell in cells]), union_of([piece.region for piece in pieces])
    left, low, right, high = wanted.bounds
    # on whole mm, so that its edge is that of the ground to the last digit
    edges = (math.floor(left - AROUND), math.floor(low - AROUND), math.ceil(right + AROUND), math.ceil(high + AROUND))
    domain = shapely.box(*edges)
    changed = float(shapely.symmetric_difference(wanted, recess).area) / wanted.area
    residuals = [_residuals(piece.region, corners) for piece in pieces]
    by_geos, by_clipper = (max(found) for found in zip(*residuals, strict=True))
    ground = difference(domain, recess)
    return Pieces(domain, ground, pieces, told[0], (), by_geos, by_clipper, changed, told[1])
