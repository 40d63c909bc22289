"""Where a design as made departs from its drawing, measured on what comes to lie where and on nothing else.

    what is gone of a corner of angle t, its cutter having the radius r; s = sin(t/2)

        reaches  d = r (1/s - 1)          beyond what is left
        holds a disc of  q = r (1 - s) / (1 + s),   so  d/q = 1 + 1/s

A slot of width w and length l that is filled reaches l beyond what is left and holds a disc of w/2: d/q = 2 l/w.
Source: plane geometry (closed form).
"""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.fit.cells import GROUND, Cell, cells_of, middle
from purfle.geometry.measuring import (
    Places,
    depths_beside,
    distances_to_outline,
    inscribed_radius,
    samples_along,
)
from purfle.geometry.offsetting import Region, difference, polygons, union_of
from purfle.geometry.partition import near, shared, without
from purfle.geometry.reaching import out_of_reach
from purfle.model.cutter_choice import Departure, DepartureKind, Fidelity
from purfle.model.pieces import DrawnArea, Fit
from purfle.tolerances import CORNER_SHORTER, SEEN_ON_A_RULE, SIDE_AS_CUT, TOUCHING

_STEP = 0.25
"""Outlines are compared at places no further apart than this, mm."""
_AROUND = 15.0
"""How far round a departure what is left of its wood is looked for, mm."""
_GONE = 0.95
"""An area of which so large a share is gone shows nothing any more; the rest is films."""
_WIDE, _SLENDER = 0.7, 6.8
"""q/r and d/q of a corner of 20 degrees: what holds a larger disc, or is more slender, is a detail and no corner."""
_WIDEST_INSIDE = 12.7
"""An inside corner rounder than this, mm, is none to any cutter."""
_HALVINGS = 6
"""How often the interval that holds the tightest inside radius is halved."""

Surface = dict[str, Region]
"""What lies open of each wood; the ground under its own name."""


def fidelity_of(areas: Sequence[DrawnArea], fits: Sequence[Fit]) -> Fidelity:
    """How true a design comes out: what is lost, what is shorter, how much changed wood, how far outlines moved.

    `fits`: of all orders of letting in, the first one first.
    """
    cells = cells_of(areas)
    drawn = _with_ground({cell.wood: [] for cell in cells} | _by_wood(cells), fits)
    made = _with_ground(_laid(fits), fits)
    gone = {wood: without(region, made.get(wood, shapely.Polygon())) for wood, region in drawn.items()}
    departures = tuple(_departures(cells, (gone, made), fits[0].rule.cutter_radius))
    moves, weights, places = _moves(drawn, made, [one.region for one in departures if one.kind != "corner"])
    furthest = int(moves.argmax())
    changed = float(sum(region.area for region in gone.values()))
    return Fidelity(
        departures,
        sum(len(fit.inserts) for fit in fits),
        changed,
        changed / sum(cell.region.area for cell in cells),
        float(moves[furthest]),
        (float(places[furthest, 0]), float(places[furthest, 1])),
        float(np.sqrt(np.average(moves**2, weights=weights))),
        inside_radius(fits),
    )


def drawn_woods(areas: Sequence[DrawnArea]) -> tuple[tuple[str, Region], ...]:
    """What a drawing shows of each wood, by name; where areas overlap the smaller one lies on top."""
    return tuple((wood, union_of(regions)) for wood, regions in _by_wood(cells_of(areas)).items())


def _by_wood(cells: Sequence[Cell]) -> dict[str, list[Region]]:
    return {wood: [cell.region for cell in cells if cell.wood == wood] for wood in sorted({c.wood for c in cells})}


def _laid(fits: Sequence[Fit]) -> dict[str, list[Region]]:
    """What comes to lie open of each wood, seams overlooked: a later order lies over the earlier ones."""
    found: dict[str, list[Region]] = {}
    above: Region = shapely.Polygon()
    for fit in reversed(fits):
        pieces = fit.pieces.pieces
        for piece in pieces:
            shown = piece.region if above.is_empty else without(piece.region, above)
            found.setdefault(piece.wood, []).append(shown)
        above = union_of([above, *(piece.region for piece in pieces)])
    return dict(sorted(found.items()))


def _with_ground(woods: dict[str, list[Region]], fits: Sequence[Fit]) -> Surface:
    """Each wood as one region, and what they leave of the ground."""
    surface = {wood: union_of(regions) for wood, regions in woods.items()}
    surface[GROUND] = difference(fits[0].pieces.domain, union_of(list(surface.values())))
    return surface


# --- what is gone


def _departures(cells: Sequence[Cell], surfaces: tuple[Surface, Surface], radius: float) -> Iterator[Departure]:
    """Every part of an area, and of the ground, that is gone and can be seen: areas, details, corners."""
    gone, made = surfaces
    found = []
    for name, wood, region in [(GROUND, GROUND, None), *((cell.name, cell.wood, cell.region) for cell in cells)]:
        away = gone[wood] if region is None else shared(region, gone[wood])
        for part in polygons(away):
            kind, depth = _kind(part, near(made.get(wood, shapely.Polygon()), part, _AROUND), radius)
            if region is not None and part.area > _GONE * region.area:
                kind, depth = "area", inscribed_radius(part, CORNER_SHORTER / 20.0)
            if kind is not None:
                found.append(Departure(kind, name, wood, part, depth, middle(part), _lies_at(part, made)))
    order = {"area": 0, "detail": 1, "corner": 2}
    yield from sorted(found, key=lambda one: (order[one.kind], -one.depth, one.place))


def _kind(part: shapely.Polygon, left: Region, radius: float) -> tuple[DepartureKind | None, float]:
    """What a part that is gone was to its wood, and how far it reached beyond what is left of that."""
    if part.area < CORNER_SHORTER * TOUCHING:
        return None, 0.0
    disc = inscribed_radius(part, CORNER_SHORTER / 20.0)
    depth = disc if left.is_empty else float(depths_beside([part], left, TOUCHING)[0])
    if depth < CORNER_SHORTER:
        return None, depth
    is_detail = depth > SEEN_ON_A_RULE and (disc > _WIDE * radius or depth > _SLENDER * disc)
    return ("detail" if is_detail else "corner"), depth


def _lies_at(part: shapely.Polygon, made: Surface) -> str:
    """The wood that lies where a part is gone."""
    return max(made, key=lambda wood: (float(shared(part, near(made[wood], part, 1.0)).area), wood))


# --- how far outlines moved


def _moves(
    drawn: Surface, made: Surface, lost: list[Region]
) -> tuple[NDArray[np.float64], NDArray[np.float64], Places]:
    """How far the drawn outline of each wood stands from the made one, at places along it, with their lengths.

    Places on lost details are left out: what is gone has not moved.
    """
    found = []
    away = union_of(lost)
    shapely.prepare(away)
    for wood, region in drawn.items():
        if wood != GROUND and not made.get(wood, shapely.Polygon()).is_empty:
            places, lengths = samples_along(region.boundary, _STEP)
            kept = ~shapely.dwithin(away, shapely.points(places), TOUCHING) if lost else np.ones(len(places), bool)
            found.append((distances_to_outline(made[wood], places[kept]), lengths[kept], places[kept]))
    moves, lengths, places = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return (moves, lengths, places) if len(moves) else (np.zeros(1), np.ones(1), np.zeros((1, 2)))


# --- the tightest inside corner


def inside_radius(fits: Sequence[Fit]) -> float | None:
    """Radius of the tightest inside corner of all recesses and inserts, to about a tenth of a millimetre.

    Never less than the radius of the finest cutter of all inserts; None where a cutter of an inch reaches everything.
    """
    bodies = [*(insert.region for fit in fits for insert in fit.inserts)]
    bodies += [difference(fit.pieces.domain, fit.recess) for fit in fits]
    reached, missed = min(fit.radius_of(insert) for fit in fits for insert in fit.inserts), _WIDEST_INSIDE
    tight = [body for body in bodies if _has_corner(body, missed)]
    if not tight or reached >= missed:
        return None
    for _ in range(_HALVINGS):
        radius = (reached + missed) / 2.0
        narrower = [body for body in tight if _has_corner(body, radius)]
        reached, missed = (reached, radius) if narrower else (radius, missed)
        tight = narrower or tight
    return reached


def _has_corner(body: Region, radius: float) -> bool:
    return bool(out_of_reach(body, radius, SIDE_AS_CUT, None))
