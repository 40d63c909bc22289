"""Pieces are made from the design's own corner and in its own direction: how it lies and is turned makes no difference.

Everything is worked out on a precision grid. A design that lies elsewhere by a part of a step of that grid, or is
turned, would have its vertices rounded another way, and where pieces contest a place that can decide it. So the design
is turned to its own direction and moved until its lower left corner is the origin; what was made of it is turned back,
and moved to the place of the grid next to the corner that the design has in the artwork.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.offsetting import Region, polygonal, polygons, region_of
from purfle.geometry.own_turn import Turn, own_turn
from purfle.geometry.symmetry import Symmetry
from purfle.model.pieces import DrawnArea, FitRule, Piece, Pieces

_DECIMALS = 7
"""Places are rounded to `tolerances.SAME_PLACE` once they are moved: what moving leaves in the last digits of floats
must not decide to which side a place half way between two of the grid is rounded."""
_GRID_DECIMALS = 4
"""Of `tolerances.GRID`."""

Place = tuple[float, float]
Places = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OwnPlace:
    """Where a design lies in the artwork and how it is turned there.

    `corner`: its lower left corner in the artwork, `size`: its width and height there. `turn`: what brings it to its
    own direction; `turned_corner`: its lower left corner then, seen from `corner`.
    """

    corner: Place = (0.0, 0.0)
    size: Place = (0.0, 0.0)
    turn: Turn = Turn()
    turned_corner: Place = (0.0, 0.0)

    @classmethod
    def of(cls, areas: Sequence[DrawnArea]) -> "OwnPlace":
        """That of all areas together."""
        regions = [area.region for area in areas]
        left, low, right, high = shapely.total_bounds(regions).tolist()
        turn = own_turn(regions)
        if turn.is_none:
            return cls((left, low), (right - left, high - low))
        turned = turn.points(shapely.get_coordinates(regions) - (left, low)).min(axis=0).tolist()
        return cls((left, low), (right - left, high - low), turn, (turned[0], turned[1]))

    @property
    def is_upright(self) -> bool:
        """True if the design has its own direction in the artwork."""
        return self.turn.is_none

    def inward(self, places: Places) -> Places:
        """Places of the artwork, as those of the design in its own direction, its lower left corner the origin."""
        seen = places - np.array(self.corner)
        if not self.is_upright:
            seen = self.turn.points(seen) - np.array(self.turned_corner)
        return np.asarray(np.round(seen, _DECIMALS) + 0.0)

    def turned_back(self, places: Places) -> Places:
        """Places of the design in its own direction, as it is turned in the artwork, seen from its corner there."""
        if self.is_upright:
            return places
        decimals = _DECIMALS if self.turn.quarters is None else _GRID_DECIMALS
        seen = self.turn.back(places + np.round(self.turned_corner, decimals))
        return np.asarray(np.round(seen, decimals) + 0.0)

    def outward(self, places: Places) -> Places:
        """Places of the design as places of the artwork. They stay on the grid where it is turned by quarters."""
        decimals = _GRID_DECIMALS if self.turn.quarters is not None else _DECIMALS
        return np.asarray(np.round(self.turned_back(places) + self.corner_on_grid, decimals) + 0.0)

    def place(self, place: Place) -> Place:
        """A place of the design as a place of the artwork, off the grid."""
        x, y = (self.turned_back(np.array([place])) + self.corner_on_grid)[0].tolist()
        return x, y

    def upright(self, region: Region) -> Region:
        """A region of the design as it is turned in the artwork, seen from the design's corner there."""
        return region if self.is_upright else polygonal(shapely.transform(region, self.turned_back))

    def in_artwork(self, region: BaseGeometry) -> Region:
        """A region of the design where it lies in the artwork, off the grid."""
        return polygonal(shapely.transform(region, lambda places: self.turned_back(places) + self.corner_on_grid))

    @property
    def corner_on_grid(self) -> Places:
        """The place of the precision grid next to the design's corner."""
        return np.round(self.corner, _GRID_DECIMALS) + 0.0


UPRIGHT = OwnPlace()
"""That of a design which lies at the origin in its own direction."""


def at_own_place(areas: Sequence[DrawnArea], rule: FitRule, own: OwnPlace) -> tuple[tuple[DrawnArea, ...], FitRule]:
    """Areas, and the places that the rule names, turned and moved to their own place."""
    near = [replace(area, region=shapely.transform(area.region, own.inward)) for area in areas]
    wishes = tuple((_moved(own, place), way) for place, way in rule.corner_wishes)
    return tuple(near), replace(rule, corner_wishes=wishes)


def _moved(own: OwnPlace, place: Place) -> Place:
    x, y = own.inward(np.array([place]))[0].tolist()
    return x, y


def placed(made: Pieces, own: OwnPlace) -> Pieces:
    """Pieces that were made at their own place, where they lie in the artwork. The pieces alone are turned already."""
    if own.is_upright and not own.corner_on_grid.any():
        return made

    def shifted(places: Places) -> Places:
        decimals = _GRID_DECIMALS if own.turn.quarters is not None else _DECIMALS
        return np.asarray(np.round(places + own.corner_on_grid, decimals) + 0.0)

    domain, ground = _framed(made, own)
    junctions = own.outward(np.array(made.junctions).reshape(-1, 2)).tolist()
    chiselled = [shapely.transform(part, own.outward) for part in made.chiselled]
    return replace(
        made,
        domain=shapely.transform(domain, shifted),
        ground=shapely.transform(ground, shifted),
        pieces=tuple(_piece(piece, shifted) for piece in made.pieces),
        lost=tuple(replace(lost, region=own.in_artwork(lost.region)) for lost in made.lost),
        junctions=tuple((x, y) for x, y in (junctions if own.is_upright else sorted(junctions))),
        chiselled=tuple(chiselled if own.is_upright else sorted(chiselled, key=lambda part: part.bounds)),
        symmetries=tuple(_symmetry(symmetry, own) for symmetry in made.symmetries),
    )


def _framed(made: Pieces, own: OwnPlace) -> tuple[Polygon, Region]:
    """The domain and the ground as they are turned in the artwork; the domain is an upright box there too."""
    if own.is_upright:
        return made.domain, made.ground
    margin = -made.domain.bounds[0]
    (width, height), edge = own.size, made.domain.bounds
    domain = shapely.box(-margin, -margin, round(width, 3) + margin, round(height, 3) + margin)
    parts = []
    for part in polygons(made.ground):
        turned = shapely.transform(part, own.turned_back)
        parts.append(Polygon(domain.exterior, turned.interiors) if part.bounds == edge else turned)
    return domain, polygonal(shapely.normalize(region_of(parts)))


def _piece(piece: Piece, moved: Callable[[Places], Places]) -> Piece:
    return replace(piece, region=shapely.transform(piece.region, moved))


def _symmetry(symmetry: Symmetry, own: OwnPlace) -> Symmetry:
    """The same mirror lines in the artwork; the first wedge is the image of the first."""
    angle = symmetry.axis
    if own.turn.mirrored:
        angle = -angle - math.pi / symmetry.lines
    axis = angle if own.is_upright else angle - own.turn.angle
    return replace(symmetry, centre=own.place(symmetry.centre), axis=axis, zone=own.in_artwork(symmetry.zone))
