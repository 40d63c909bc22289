"""Bodies of wood that grow: the board and the inserts, each about its own middle, along and across its fibres."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.geometry.pose import Pose
from purfle.model.season import FLAT, QUARTER
from purfle.wood import Species, growth_across, growth_along

Reals = NDArray[np.float64]
STEP = 1.0
"""The outline of an insert is looked at in steps of this many mm."""


@dataclass(frozen=True)
class Body:
    """A piece of wood in the board frame. `grain` in degrees; `rings` None where nothing says how it was cut."""

    species: Species
    region: Polygon
    grain: float
    rings: float | None

    @cached_property
    def fibres(self) -> Reals:
        """A unit vector along its fibres."""
        turn = math.radians(self.grain)
        return np.array([math.cos(turn), math.sin(turn)])

    @cached_property
    def middle(self) -> Reals:
        """The middle of its extents along and across its fibres: where it stays when it grows."""
        x0, y0, x1, y1 = self._upright
        middle = Pose(self.grain).points(np.array([[(x0 + x1) / 2.0, (y0 + y1) / 2.0]]))
        return np.asarray(middle[0], np.float64)

    @property
    def sizes(self) -> tuple[float, float]:
        """Its size along its fibres and across them, mm."""
        x0, y0, x1, y1 = self._upright
        return x1 - x0, y1 - y0

    def growth(self, moisture: tuple[float, float]) -> tuple[float, list[float]]:
        """Growth along its fibres, and across them: one share, or where the rings are not known one of each way."""
        ways = [FLAT, QUARTER] if self.rings is None else [self.rings]
        across = [growth_across(self.species, rings, moisture).share for rings in ways]
        return growth_along(moisture).share, across

    def strains(self, moisture: tuple[float, float]) -> list[Reals]:
        """Its growth from one moisture to another as tensors in the board frame, one for each way it may be cut.

        Source: growth along u and across it, g_l u u^T + g_c (1 - u u^T).
        """
        along, across = self.growth(moisture)
        own = np.outer(self.fibres, self.fibres)
        return [along * own + one * (np.eye(2) - own) for one in across]

    @cached_property
    def _upright(self) -> tuple[float, float, float, float]:
        """Its bounds with its fibres turned along x."""
        x0, y0, x1, y1 = shapely.transform(self.region, Pose(-self.grain).points).bounds
        return x0, y0, x1, y1


@dataclass(frozen=True, slots=True)
class Sides:
    """Places on the outline of an insert, the direction out of it there, and the body across the seam (-1: ground)."""

    places: Reals
    outward: Reals
    across: NDArray[np.int64]


def sides_of(bodies: list[Body | None], seam: float) -> list[Sides | None]:
    """The sides of every insert of one inlay; None for one that is left out. Neighbours that are left out move with
    the ground.
    """
    known = [number for number, body in enumerate(bodies) if body is not None]
    tree = shapely.STRtree([body.region for body in bodies if body is not None])
    sides: list[Sides | None] = []
    for body in bodies:
        if body is None:
            sides.append(None)
            continue
        places, outward = outline(body.region)
        beyond = shapely.points(places + outward * (seam + NEAR))
        across = np.full(len(places), -1, np.int64)
        found, hit = tree.query(beyond, predicate="intersects")
        for place, other in zip(found.tolist(), hit.tolist(), strict=True):
            if bodies[known[other]] is not body:
                across[place] = known[other]
        sides.append(Sides(places, outward, across))
    return sides


NEAR = 0.03
"""So far (mm) beyond the seam a point lies within what is across it."""


def outline(region: Polygon) -> tuple[Reals, Reals]:
    """Places along the rings of a region, no further apart than STEP, and the unit vectors out of it there."""
    places, outward = [], []
    turned = shapely.orient_polygons(region)
    for ring in (turned.exterior, *turned.interiors):
        corners = shapely.get_coordinates(shapely.segmentize(ring, STEP))
        ways = np.diff(corners, axis=0)
        long = np.hypot(ways[:, 0], ways[:, 1])
        kept = long > 0.0
        ways, long = ways[kept], long[kept]
        places.append((corners[:-1] + np.diff(corners, axis=0) / 2.0)[kept])
        outward.append(np.column_stack([ways[:, 1], -ways[:, 0]]) / long[:, None])
    return np.concatenate(places), np.concatenate(outward)


def off_grain(one: float, other: float) -> float:
    """The angle between two directions of fibres, 0 to 90 degrees.

    >>> off_grain(170.0, 10.0)
    20.0
    """
    turn = abs(one - other) % 180.0
    return min(turn, 180.0 - turn)
