"""Corners of a recess that the cutter leaves round and the maker pares to the insert: no claim is made for them.

What the card calls a corner must be no more than a round cutter leaves of one, and reach no further than wood is left
standing about it. Within its reach the recess counts as pared to the inserts, a seam away; everywhere else as cut.
"""

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.proof.card import CornerOnCard, InlayOnCard
from purfle.proof.found import stop
from purfle.proof.regions import grown, polygons
from purfle.proof.walls import Accounts
from purfle.tolerances import SIDE_AS_CUT

SHARPEST = 28.0
"""Degrees of the sharpest corner that is left to a chisel; a cutter of radius r ends r / tan(half of it) before it."""

Sizes = tuple[BaseGeometry, BaseGeometry]


def pared(inlay: InlayOnCard, recess: Sizes, parts: list[Sizes]) -> Sizes:
    """The recess at its least and at its most, its corners pared to the parts that go into it."""
    if not inlay.chisel:
        return recess
    zones = shapely.union_all([shapely.Point(one.place).buffer(one.reach) for one in inlay.chisel])
    least, most = (_about(zones, [sizes[which] for sizes in parts], inlay.seam) for which in (0, 1))
    return recess[0].union(most), recess[1].union(least)


def check_corners(inlay: InlayOnCard, accounts: Accounts) -> list[Finding]:
    """A stop for each corner on the card that is larger than what the smallest cutter of the recess leaves."""
    if accounts.cut is None or not inlay.chisel:
        return []
    most = accounts.cut.smallest_radius / math.tan(math.radians(SHARPEST / 2.0)) + SIDE_AS_CUT
    return [_too_large(inlay, corner, most) for corner in inlay.chisel if corner.reach > most]


def check_reaches(inlay: InlayOnCard, least: BaseGeometry, parts: list[Sizes], radius: float) -> list[Finding]:
    """A stop for each corner on the card that reaches further than wood is left of it by a cutter of this radius.

    `least`: the recess as cut. Wood runs out along both walls of a corner: where it is thinner than walls may be off
    it is not seen, so a corner may be said to reach further by three times as much.
    """
    thin = 2.0 * SIDE_AS_CUT
    unseen = 3.0 * math.sqrt(2.0 * radius * thin)
    found = []
    for corner in inlay.chisel:
        point = shapely.Point(corner.place)
        zone = point.buffer(corner.reach)
        left = grown(_about(zone, [most for _, most in parts], inlay.seam).difference(least), -thin / 2.0)
        pieces = polygons(left)
        nearest = pieces[int(np.argmin(shapely.distance(pieces, point)))] if len(pieces) else point
        stands = float(shapely.hausdorff_distance(point, nearest))
        if corner.reach > stands + unseen:
            found.append(_nothing_there(inlay, corner, stands))
    return found


def _nothing_there(inlay: InlayOnCard, corner: CornerOnCard, stands: float) -> Finding:
    x, y = corner.place
    what = f"{corner.reach:.2f} mm about a corner are left to the chisel; wood stands there for {stands:.2f} mm only"
    where = f"inlay '{inlay.name}', the board at {x:.2f}, {y:.2f} mm"
    return stop(what, where, "write the files again from the job", corner.place)


def _about(zones: BaseGeometry, parts: list[BaseGeometry], seam: float) -> BaseGeometry:
    near = grown(zones, 2.0 * seam)
    return grown(shapely.union_all([part.intersection(near) for part in parts]), seam).intersection(zones)


def _too_large(inlay: InlayOnCard, corner: CornerOnCard, most: float) -> Finding:
    x, y = corner.place
    what = f"{corner.reach:.2f} mm about a corner are left to the chisel; a cutter leaves {most:.2f} mm at most"
    where = f"inlay '{inlay.name}', the board at {x:.2f}, {y:.2f} mm"
    return stop(what, where, "write the files again from the job", corner.place)
