"""Pieces are made from the design's own corner, so that where a design lies makes no difference to them.

Everything is worked out on a precision grid. A design that lies elsewhere by a part of a step of that grid would have
its vertices rounded another way, and where pieces contest a place that can decide it. So the design is moved until its
lower left corner is the origin, and what was made of it is moved back to the place of the grid next to that corner.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.geometry.symmetry import Symmetry
from purfle.model.pieces import DrawnArea, FitRule, Lost, Piece, Pieces

_DECIMALS = 7
"""Places are rounded to `tolerances.SAME_PLACE` once they are moved: what moving leaves in the last digits of floats
must not decide to which side a place half way between two of the grid is rounded."""
_GRID_DECIMALS = 4
"""Of `tolerances.GRID`."""

Place = tuple[float, float]
Places = NDArray[np.float64]


def own_corner(areas: Sequence[DrawnArea]) -> Place:
    """The lower left corner of all areas together."""
    left, low, _, _ = shapely.total_bounds([area.region for area in areas]).tolist()
    return left, low


def at_own_corner(areas: Sequence[DrawnArea], rule: FitRule, corner: Place) -> tuple[tuple[DrawnArea, ...], FitRule]:
    """Areas, and the places that the rule names, moved so that a corner becomes the origin."""

    def moved(places: Places) -> Places:
        return np.asarray(np.round(places - corner, _DECIMALS) + 0.0)

    near = [replace(area, region=shapely.transform(area.region, moved)) for area in areas]
    wishes = tuple(((x - corner[0], y - corner[1]), way) for (x, y), way in rule.corner_wishes)
    return tuple(near), replace(rule, corner_wishes=wishes)


def on_grid(corner: Place) -> Place:
    """The place of the precision grid next to a corner."""
    return round(corner[0], _GRID_DECIMALS) + 0.0, round(corner[1], _GRID_DECIMALS) + 0.0


def placed(made: Pieces, corner: Place) -> Pieces:
    """Pieces moved so that their origin comes to lie on a place of the precision grid; they stay on the grid."""
    if corner == (0.0, 0.0):
        return made

    def moved(places: Places) -> Places:
        return np.asarray(np.round(places + corner, _GRID_DECIMALS) + 0.0)

    return replace(
        made,
        domain=shapely.transform(made.domain, moved),
        ground=shapely.transform(made.ground, moved),
        pieces=tuple(_piece(piece, moved) for piece in made.pieces),
        lost=tuple(_lost(lost, corner) for lost in made.lost),
        junctions=tuple((x, y) for x, y in moved(np.array(made.junctions).reshape(-1, 2)).tolist()),
        chiselled=tuple(shapely.transform(part, moved) for part in made.chiselled),
        symmetries=tuple(_symmetry(symmetry, corner) for symmetry in made.symmetries),
    )


def _piece(piece: Piece, moved: Callable[[Places], Places]) -> Piece:
    return replace(piece, region=shapely.transform(piece.region, moved))


def _lost(lost: Lost, corner: Place) -> Lost:
    return replace(lost, region=shapely.transform(lost.region, lambda places: places + corner))


def _symmetry(symmetry: Symmetry, corner: Place) -> Symmetry:
    (x, y), zone = symmetry.centre, shapely.transform(symmetry.zone, lambda places: places + corner)
    return replace(symmetry, centre=(x + corner[0], y + corner[1]), zone=zone)
