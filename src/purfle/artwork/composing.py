"""Several artworks on one face -> one tiling: where they overlap, the later one lies over the earlier one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import translate

from purfle.artwork.drawing import areas_of_drawing
from purfle.model.artwork import Areas, Drawing, PaintedShape
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea
from purfle.tolerances import GRID, SAME_PLACE

DIGITS = 9
"""Decimals of a mm that are meant: a board of 10 m leaves three more to rounding."""


@dataclass(frozen=True, slots=True)
class Composed:
    """All artworks of a job as one design, mm, origin at its lower left corner, which lies at `place` on the face.

    `tiling` holds the same areas with the ground between them.
    """

    areas: tuple[DrawnArea, ...]
    place: tuple[float, float]
    tiling: Areas
    findings: tuple[Finding, ...]


def compose(artworks: Sequence[DrawnArea]) -> Composed:
    """One design of the areas of all artworks, which lie in one frame, from the lowest to the topmost.

    Promises: the result does not overlap; names differ; what lies wholly under later artworks is named in a finding.
    Raises: DrawingError where nothing has any area.
    """
    named, start = _from_their_corner(told_apart(artworks))
    painted = tuple(PaintedShape(area.name, area.colour, area.region) for area in named)
    tiling = areas_of_drawing(Drawing(0.0, 0.0, painted, (), "the artworks"))
    shown = [area for area in tiling.areas if area.number not in tiling.ground]
    left, low, _, _ = shapely.total_bounds([area.region for area in shown])
    whole = {area.name: area for area in named}
    areas = tuple(replace(whole[area.name], region=translate(area.region, -float(left), -float(low))) for area in shown)
    corner = shapely.total_bounds(np.array([shapely.set_precision(area.region, GRID) for area in named], object))
    hidden = [area for area in named if area.name not in {one.name for one in shown}]
    place = (start[0] + float(corner[0]), start[1] + float(corner[1]))
    return Composed(areas, place, tiling, tuple(_hidden(area) for area in hidden))


def _from_their_corner(areas: Sequence[DrawnArea]) -> tuple[list[DrawnArea], tuple[float, float]]:
    """The areas as seen from a place of the grid at or below their lower left corner, and that place.

    Far from the origin coordinates have fewer digits. What lies half-way between two places of the grid must not go to
    one or the other for that: so the origin moves to the corner, and digits that hold rounding alone are cut off,
    before anything is snapped.
    """
    low = shapely.total_bounds([area.region for area in areas])[:2]
    start = np.floor((low + SAME_PLACE) / GRID) * GRID
    moved = [
        replace(area, region=shapely.transform(area.region, lambda places: np.round(places - start, DIGITS)))
        for area in areas
    ]
    return moved, (float(start[0]), float(start[1]))


def told_apart(areas: Sequence[DrawnArea]) -> list[DrawnArea]:
    """The areas with names that differ: "letter E", "letter E 2"; what they were called before is their shared name."""
    taken: set[str] = set()
    result = []
    for area in areas:
        name, count = area.name, 1
        while name in taken:
            count += 1
            name = f"{area.name} {count}"
        taken.add(name)
        result.append(replace(area, name=name, shared_name=area.name))
    return result


def _hidden(area: DrawnArea) -> Finding:
    what = f'"{area.name}" lies wholly under what comes later in the job file, so that nothing of it is made.'
    return Finding("look", what, area.name, "Move it, take it out, or put it later in the file.", "artwork")
