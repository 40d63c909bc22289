"""Walls of ground that are left between recesses: closing does not see them, so they are looked for."""

from shapely import Polygon

from purfle.fit.cells import middle, where
from purfle.geometry.offsetting import Region, difference, grow
from purfle.geometry.thin_places import thin_places
from purfle.model.findings import Finding
from purfle.model.pieces import FitRule, Pieces
from purfle.tolerances import THINNEST_WALL


def shrunk_ground(ground: Region, domain: Polygon, half: float) -> Region:
    """The ground less its half of the seam, its outer edge left where it is."""
    return difference(domain, grow(difference(domain, ground), half))


def wall_findings(pieces: Pieces, rule: FitRule) -> tuple[Finding, ...]:
    """A finding for each wall or island of ground that is so thin that it breaks out at any depth.

    For pieces without a board: on a board the depth of the recesses and the grain count too (`purfle.board`).
    """
    standing = shrunk_ground(pieces.ground, pieces.domain, rule.seam / 2.0)
    return tuple(
        Finding(
            "look",
            f"a wall of ground between two recesses is thinner than {THINNEST_WALL:g} mm and may break out",
            where(middle(thin.part)),
            "draw the areas further apart or let them touch, or cut with light passes and glue the wall first",
            "fit",
        )
        for thin in thin_places(standing, THINNEST_WALL)
    )
