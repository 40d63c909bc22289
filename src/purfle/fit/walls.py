"""Walls of ground that are left between recesses: closing does not see them, so they are looked for."""

from shapely import Polygon

from purfle.fit.cells import middle, where
from purfle.geometry.offsetting import Region, difference, grow, intersection, opening, polygons, slivers_between
from purfle.model.findings import Finding
from purfle.model.pieces import FitRule
from purfle.tolerances import THINNEST_WALL, TOUCHING


def shrunk_ground(ground: Region, domain: Polygon, half: float) -> Region:
    """The ground less its half of the seam, its outer edge left where it is."""
    return difference(domain, grow(difference(domain, ground), half))


def wall_findings(ground: Region, domain: Polygon, rule: FitRule) -> tuple[Finding, ...]:
    """A finding for each wall or island of ground that is so thin that it breaks out."""
    standing = shrunk_ground(ground, domain, rule.seam / 2.0)
    body = opening(standing, THINNEST_WALL / 2.0)
    findings = []
    for part in sorted(slivers_between(standing, body), key=lambda part: part.bounds):
        if part.area > TOUCHING * part.length and _is_wall(part, body):
            findings.append(
                Finding(
                    "look",
                    f"a wall of ground between two recesses is thinner than {THINNEST_WALL:g} mm and may break out",
                    where(middle(part)),
                    "draw the areas further apart or let them touch, or cut with light passes and glue the wall first",
                    "fit",
                )
            )
    return tuple(findings)


def _is_wall(part: Polygon, body: Region) -> bool:
    contacts = [one for one in polygons(intersection(grow(part, 2.0 * TOUCHING), body)) if one.length > 10 * TOUCHING]
    return len(contacts) != 1
