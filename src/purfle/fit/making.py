"""Areas to pieces that can be cut: the recipe and the checks at its end."""

import contextlib
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import Polygon

from purfle.errors import Fault, FitError
from purfle.fit.ahead import Ahead
from purfle.fit.cells import GROUND, Bodies, Cell, Partition, lay_out, middle
from purfle.fit.corners import sharpen
from purfle.fit.given_tips import GivenTips
from purfle.fit.losses import losses_of
from purfle.fit.numbering import numbered
from purfle.fit.own_place import OwnPlace, at_own_place, placed
from purfle.fit.sweeping import put_drawn_in_order, put_in_order, sweep, too_thin
from purfle.fit.symmetry import alike_in_cutters, findings_once, make_symmetrical, symmetries_of
from purfle.fit.tips import trim
from purfle.geometry.offsetting import Region, closing, shrink, told_by, union, union_of
from purfle.geometry.partition import junctions_of, smoothed, tiled, tiling_of
from purfle.geometry.reaching import closed_by_clipper, depth_beyond, parts_beyond
from purfle.geometry.symmetry import Symmetry
from purfle.hard_stop import busy
from purfle.mate import ALONE, Mate
from purfle.model.pieces import DrawnArea, FitRule, Pieces
from purfle.tolerances import CLOSED, CLOSING_KEPT, FILM
from purfle.units import in_mm

_TRIM_ROUNDS = 6
_MOST_TRIMMED_AGAIN = 3
"""Tips that decisions leave are trimmed where nothing is left to sweep, so often at most."""
_MOST_RETURNS = 6
"""A place that came back undiminished so often is decided."""
_ROUNDS_OF_PATIENCE = 6
"""After so many rounds one return less is waited for; in the end every open place is decided."""
_MOST_ROUNDS = 400
"""Rounds after which what still moves is left to noding and to the check behind it."""
_MOST_MIRRORINGS = 2
"""What mirroring opens beside a mirror line is swept again, this often at most."""
_MOST_NAMED = 6
"""So many areas are named where nothing is left to let in."""
_DENSEST = 0.25
"""Outlines lie no closer to one another, on average over the artwork, than this share of the thinnest piece."""
_FEW_CELLS, _CELLS_A_SECOND, _VERTICES_A_SECOND = 300, 80, 4_000
"""In a crowd, which is more areas than a drawing of the open sets has at this step, so many areas as large as the
cutter are fitted in a second at best, or so many of their vertices and the ground's (bench/growth.py, hostile.py)."""
_FINELY_DRAWN = 60_000
"""From so many corners of areas on it costs more to lay them out than to look whether any has room for a piece: the
open sets have 51,000 at most."""
_MOST_TILINGS = 4
"""Noding moves vertices by a grid step; what that opens again is swept again, this often at most."""


Depths = dict[Cell, tuple[float, float]]
"""Depth of what lies beyond each cell in its closing, by either engine."""


def make_pieces(areas: tuple[DrawnArea, ...], rule: FitRule, mate: Mate = ALONE) -> Pieces:
    """Pieces that this cutter can make, tiling the ground around them, as near to the drawn areas as that allows.

    The order of the areas does not matter, nor where they lie and how they are turned: moved, turned or mirrored, the
    pieces go with them and stay the same. Raises FitError where nothing can be cut, or not in `rule.time_limit_s`. With
    or without a `mate` the pieces are the same.
    """
    _refuse_unusable(areas, rule)
    _refuse_thin(areas, rule)
    own = OwnPlace.of(areas)
    with told_by(own.in_artwork):
        return placed(_made(*at_own_place(areas, rule, own), own, mate), own)


def _made(areas: tuple[DrawnArea, ...], rule: FitRule, own: OwnPlace, mate: Mate) -> Pieces:
    """Pieces of areas at their own place; `own`: where that is in the artwork. Pieces alone are turned back."""
    partition = lay_out(areas, rule, mate, own)
    symmetries = symmetries_of(partition)
    unlike = [one for one in symmetries if not alike_in_cutters(partition, one)]
    _tell_cutters(partition, unlike)
    symmetries = tuple(one for one in symmetries if one not in unlike)
    if symmetries:
        partition.vertices_left *= 2  # what is settled again for its mirror images' sake must not refuse a drawing
        with contextlib.suppress(FitError):
            made = _settled(partition, areas, symmetries)
            if _hold_together(made, rule):
                return made
        partition = lay_out(areas, rule, mate, own)
        _tell_cutters(partition, unlike)
        _tell_unlike(partition, symmetries[-1])
    return _settled(partition, areas, ())


def _settled(partition: Partition, areas: tuple[DrawnArea, ...], symmetries: tuple[Symmetry, ...]) -> Pieces:
    """Pieces of a partition as drawn, symmetrical as far as they can be."""
    put_drawn_in_order(partition)
    _refuse_empty(partition)
    _refuse_crowd(partition)
    for number in range(_MOST_TILINGS + (_MOST_MIRRORINGS if symmetries else 0)):
        settle(partition)
        _refuse_empty(partition)
        if symmetries and number == _MOST_MIRRORINGS:
            _tell_unlike(partition, symmetries[-1])
            symmetries = ()
        if symmetries:
            symmetries = tuple(one.neighbour for one in symmetries) if number else symmetries
            make_symmetrical(partition, symmetries)
        _tile(partition)
        sharpened = sharpen(partition)
        if sharpened:
            _tile(partition)
        depths = _depths(partition, sharpened)
        by_geos, by_clipper = (max(found) for found in zip(*depths.values(), strict=True))
        if max(by_geos, by_clipper) <= CLOSED and all(isinstance(cell.region, Polygon) for cell in partition.inserts):
            partition.findings = findings_once(partition, symmetries)
            made = _pieces_of(partition, areas, (by_geos, by_clipper), sharpened)
            return replace(made, symmetries=symmetries)
        _take_beyond(partition, depths)
    raise _not_closed(partition)


def _hold_together(made: Pieces, rule: FitRule) -> bool:
    """True if each piece stays one when its half of the seam is off: an image may leave it a film to hang on."""
    left = [shrink(piece.region, rule.seam / 2.0) for piece in made.pieces] if made.symmetries else []
    return all(isinstance(region, Polygon) and not region.is_empty for region in left)


def _tell_cutters(partition: Partition, unlike: Sequence[Symmetry]) -> None:
    for one in unlike[-1:]:
        what = "the drawing is its own mirror image, but its finishing cutters are not, nor are its pieces"
        partition.note("note", what, one.centre, "give areas that are mirror images of each other the same cutter")


def _tell_unlike(partition: Partition, symmetry: Symmetry) -> None:
    what = "the drawing is its own mirror image, but its pieces are so only nearly: some could not be cut otherwise"
    partition.note("note", what, symmetry.centre, "draw what lies on the mirror line a little wider")


def settle(partition: Partition) -> None:
    """Sweep, trim and put in order until nothing is left to do; decide where that does not end by itself.

    It ends: tips are trimmed in the first rounds, and in some where nothing is left to sweep; after some more, every
    open place is decided; every decision uses up patience, and then a piece.
    """
    put_in_order(partition)
    again = _MOST_TRIMMED_AGAIN
    for rounds in range(_MOST_ROUNDS):
        trimmed = trim(partition) if rounds < _TRIM_ROUNDS else 0
        if trimmed:
            put_in_order(partition)
        acted = sweep(partition, max(_MOST_RETURNS - rounds // _ROUNDS_OF_PATIENCE, 0))
        changed = put_in_order(partition)
        if acted or changed or trimmed:
            continue
        if again == _MOST_TRIMMED_AGAIN:
            partition.given = GivenTips()  # once more, now that all beside them is settled
        if not _trim_again(partition, necks_only=again <= 0):
            return
        again -= 1


def _trim_again(partition: Partition, necks_only: bool) -> bool:
    """Give tips and necks that decisions made after the trimming to their neighbours; True if there were any.

    Tips are trimmed a few times. Each neck after that uses up patience; without any left, splitting drops the smaller
    parts. So this ends too.
    """
    given = trim(partition, necks_only)
    if given:
        partition.patience -= given if necks_only else 0
        put_in_order(partition)
    return given > 0


def _depths(partition: Partition, sharpened: tuple[Polygon, ...]) -> Depths:
    """How deep what lies beyond each cell in its closing is, by GEOS and by Clipper2, each engine on its own.

    Of the ground, `sharpened` corners do not count: they are left to the chisel.
    """
    chiselled = union_of(sharpened)
    large_last = sorted(partition.cells, key=lambda cell: int(shapely.get_num_coordinates(cell.region)))

    def words(cell: Cell) -> tuple[Bodies, Region]:
        return partition.bodies(cell), chiselled if cell is partition.ground else Polygon()

    with Ahead(partition.mate, large_last, words, depths_of) as ahead:
        found = {cell: ahead.of(cell) for cell in large_last}
    return {cell: found[cell] for cell in partition.cells}


def depths_of(bodies: Bodies, left_out: Region) -> tuple[float, float]:
    """How deep what lies beyond bodies in their closings is, by GEOS and by Clipper2; `left_out` does not count."""
    kept = CLOSING_KEPT / 2.0
    whole = [(region, closing(region, radius)) for region, radius in bodies]
    parts = [one for region, radius in bodies for one in closed_by_clipper(region, radius, kept)]
    by_geos, by_clipper = (
        max((depth_beyond(_with(part, left_out), closed, kept) for part, closed in pairs), default=0.0)
        for pairs in (whole, parts)
    )
    return by_geos, by_clipper


def _with(region: Region, more: Region) -> Region:
    return region if more.is_empty else union(region, more)


def _beyond(partition: Partition, cell: Cell) -> list[tuple[float, Polygon]]:
    """What either engine finds beyond a cell in its closing, deepest first."""
    bodies = partition.bodies(cell)
    closed = [(region, closing(region, radius)) for region, radius in bodies]
    closed += [one for body in bodies for one in closed_by_clipper(*body, CLOSING_KEPT / 2.0)]
    return sorted(
        (one for part, each in closed for one in parts_beyond(part, each, CLOSED)), key=lambda found: -found[0]
    )


def _take_beyond(partition: Partition, depths: Depths) -> None:
    """Let cells take what either engine still finds, so that the next settling starts from there."""
    for cell, found in depths.items():
        if max(found) > CLOSED and cell in partition.cells:
            parts = [part for _, part in _beyond(partition, cell)]
            if parts:
                partition.take(cell, union_of(parts))


def _tile(partition: Partition) -> None:
    """Make the tiling exact; crumbs that noding cut off go to the ground's side again in the next settling."""
    regions = smoothed(tiled([cell.region for cell in partition.cells], partition.domain))
    for cell, region in zip(partition.cells, regions, strict=True):
        cell.become(region, Polygon())
    tiling = tiling_of(regions, partition.domain)
    if not tiling.edges_shared or tiling.area_apart > FILM * FILM:
        raise FitError(
            "the pieces do not tile their ground exactly",
            f"whole artwork, {_size(partition)}",
            "change the size of the artwork a little, or simplify it",
        )


def _pieces_of(
    partition: Partition, areas: tuple[DrawnArea, ...], residuals: tuple[float, float], sharpened: tuple[Polygon, ...]
) -> Pieces:
    pieces = numbered(partition.inserts, partition.own)
    losses = losses_of(partition, areas)
    return Pieces(
        partition.domain,
        partition.ground.region,
        pieces,
        losses.lost,
        junctions_of([cell.region for cell in partition.cells]),
        *residuals,
        losses.art_changed,
        (*partition.findings, *losses.findings),
        sharpened,
    )


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
    raise _nothing_left(partition.names, _size(partition), partition.widest)


def _refuse_thin(areas: tuple[DrawnArea, ...], rule: FitRule) -> None:
    """Refuse finely drawn areas that are too thin for a piece, all of them together, before they are laid out."""
    regions = [area.region for area in areas]
    if shapely.get_num_coordinates(regions).sum() < _FINELY_DRAWN:
        return
    busy("laying out its areas", lambda: "whole artwork")
    largest = max(regions, key=lambda region: region.area)
    if too_thin(largest, rule.thinnest) and too_thin(union_of(regions), rule.thinnest):
        left, low, right, high = shapely.total_bounds(regions).tolist()
        widest = max(rule.cutter_radius, *(area.cutter_radius or 0.0 for area in areas))
        names = tuple(sorted({area.name or area.wood for area in areas}))
        raise _nothing_left(names, f"{right - left:.1f} x {high - low:.1f} mm", widest)


def _nothing_left(names: tuple[str, ...], size: str, widest_radius: float) -> FitError:
    """The refusal of areas none of which can be a piece. `size`: of the artwork, in words."""
    known = ", ".join(f'"{name}"' for name in names[:_MOST_NAMED])
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    too = "it is" if len(names) == 1 else "each of them is"
    widest = in_mm(2.0 * widest_radius)
    return FitError(
        f"nothing is left to let in of {known}{more}: {too} too small or too narrow for the cutter",
        f"{size} in all",
        f"draw them larger, or use a cutter narrower than {widest}, for single areas in [cutters]",
    )


def _refuse_crowd(partition: Partition) -> None:
    """Refuse what could surely not be worked on in the time that there is: counted, like all work.

    That is so many areas; and outlines that lie side by side so closely, all over the artwork, that offsetting them
    would take minutes. What is too thin for a piece has gone to its neighbours before.
    """
    left, low, right, high = shapely.total_bounds([cell.region for cell in partition.inserts]).tolist()
    apart = (right - left) * (high - low) / sum(cell.region.length for cell in partition.inserts)
    if apart < _DENSEST * partition.rule.thinnest:
        raise FitError(
            f"its outlines lie {apart:.3f} mm apart on average: nothing so fine can be cut",
            f"whole artwork, {_size(partition)}",
            f"draw it without what is thinner than {partition.rule.thinnest:g} mm, or make it larger",
        )
    limit, count = partition.rule.time_limit_s, len(partition.inserts)
    vertices = int(shapely.get_num_coordinates([cell.region for cell in partition.cells]).sum())
    if count > _FEW_CELLS and count / _CELLS_A_SECOND + vertices / _VERTICES_A_SECOND > limit:
        raise FitError(
            f"no set of pieces was found within the work of {limit:g} s: "
            f"{count} areas, {vertices} corners in all, have to be fitted to one another",
            f"whole artwork, {_size(partition)}",
            "let in a part of it by itself, or leave the smallest areas out",
        )


def _size(partition: Partition) -> str:
    drawn = [partition.own.upright(one) for one in [*partition.drawn.values()][1:]]
    left, low, right, high = shapely.total_bounds(drawn).tolist()
    return f"{right - left:.1f} x {high - low:.1f} mm"


def _not_closed(partition: Partition) -> FitError:
    faults = []
    for cell in partition.cells:
        for depth, part in _beyond(partition, cell)[:1]:
            what = f'"{cell.name}" has a place that the cutter cannot reach, {depth:.3f} mm deep'
            mend = "draw it rounder there, make the artwork larger, or use a smaller cutter"
            faults.append(Fault(what, partition.where(middle(part)), mend))
    first, *rest = faults or [Fault("the pieces do not settle", f"whole artwork, {_size(partition)}", "simplify it")]
    return FitError(first.what, first.where, first.mend, tuple(rest))
