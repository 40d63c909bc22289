"""Numbers and names of pieces: by wood, from larger to smaller, those of one size as they lie.

Pieces of one wood and size are what a symmetrical design repeats. Those that lie about a middle, such as the points of
a star, are counted clockwise from the top; those in rows from the left, the upper rows first.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from purfle.fit.cells import Cell
from purfle.fit.own_place import UPRIGHT, OwnPlace
from purfle.geometry.offsetting import polygons
from purfle.model.pieces import Piece

_ONE_SIZE = 0.995
"""Pieces of one wood are of one size down to this share of the largest; mirror images differ by less."""
_ABOUT_A_MIDDLE = 0.25
"""Pieces lie about their middle if none is nearer to it than this share of the farthest one."""
_IN_A_ROW = 0.2
"""They lie in a row if they spread less than this share as far across it as along it."""
_AT_ONE_HEIGHT = 2.0
"""Pieces whose middles differ by less than about this, mm, in height are in one row."""
_JUST_PAST = 0.01
"""What lies exactly where the count begins (radians) comes last, whatever the rounding."""


def numbered(cells: Sequence[Cell], own: OwnPlace = UPRIGHT) -> tuple[Piece, ...]:
    """Pieces in their order, counted from 1, as they are turned in the artwork. Of several with one name, the first
    keeps it.
    """
    cells = [replace(cell, settled=own.upright(cell.region), waiting=[], box=None) for cell in cells]
    by_size = sorted(cells, key=lambda cell: (cell.wood, -round(cell.region.area, 3), *cell.key[2:]))
    classes: list[list[Cell]] = []
    for cell in by_size:
        alike = classes[-1] if classes else []
        same = alike and alike[0].wood == cell.wood and cell.region.area >= _ONE_SIZE * alike[0].region.area
        if same:
            alike.append(cell)
        else:
            classes.append([cell])
    seen: Counter[str] = Counter()
    pieces = []
    for number, cell in enumerate((cell for alike in classes for cell in _as_they_lie(alike)), 1):
        seen[cell.name] += 1
        name = cell.name if seen[cell.name] == 1 else f"{cell.name}, part {seen[cell.name]}"
        (outline,) = polygons(cell.region)
        pieces.append(Piece(number, name, cell.wood, cell.colour, shapely.normalize(outline), cell.cutter))
    return tuple(pieces)


def _as_they_lie(alike: list[Cell]) -> list[Cell]:
    """Cells of one wood and size in the order in which a maker counts them."""
    if len(alike) == 1:
        return alike
    places = np.array([(cell.region.centroid.x, cell.region.centroid.y) for cell in alike])
    off = places - places.mean(axis=0)
    far = np.hypot(*off.T)
    spread = np.linalg.svd(off, compute_uv=False)
    if far.min() > _ABOUT_A_MIDDLE * far.max() and spread[-1] > _IN_A_ROW * spread[0]:
        # the first one is that about the top: the count begins half a step before it
        start = math.pi / len(alike) - _JUST_PAST
        ranks = [((math.atan2(x, y) + start) % (2.0 * math.pi), 0.0) for x, y in off.tolist()]
    else:
        ranks = [(-float(round(y / _AT_ONE_HEIGHT)), round(x, 3)) for x, y in off.tolist()]
    return [alike[number] for number in sorted(range(len(alike)), key=lambda number: ranks[number])]
