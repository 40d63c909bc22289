"""The fit of a design with tapered walls: inserts and recess are one outline, and the seam closes as they go together.

A V cutter follows corners of any angle, so nothing is closed by its radius: only the flat at its tip rounds, and what
is thinner than that goes. Each insert sinks into a recess of its own, so the areas of a design have to lie apart.
"""

from collections.abc import Sequence

import shapely
from shapely import Polygon

from purfle.errors import FitError
from purfle.fit.apart import refuse_touching
from purfle.fit.cells import cells_of, middle, where
from purfle.geometry.offsetting import Region, difference, polygons, union_of
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, Fit, FitRule, Insert, Lost, Piece, Pieces, SeamFigures
from purfle.model.tapered import TaperedRule
from purfle.tapered import rounded

AROUND = 10.0
"""The ground is shown so much further out than the design, mm."""
WORTH_TELLING = 0.05
"""What the tip takes off a design is told from this area on, mm2."""


def let_in_tapered(drawn: Sequence[DrawnArea], rule: FitRule, walls: TaperedRule) -> Fit:
    """Inserts and recess of a design whose walls are tapered, as outlines at the finished face.

    Raises FitError with every two areas that touch, and where no area is wider than the tip.
    """
    cells = sorted(cells_of(drawn), key=lambda one: (one.region.bounds, one.wood, one.name))
    refuse_touching(cells, "with tapered walls", 'let them in with walls = "straight"')
    pieces: list[Piece] = []
    lost: list[Lost] = []
    for area in cells:
        round_one = rounded(area.region, walls.tip_radius)
        parts = sorted(polygons(round_one), key=lambda part: part.bounds)
        for number, part in enumerate(parts):
            name = area.name if number == 0 else f"{area.name}, part {number + 1}"
            pieces.append(Piece(len(pieces) + 1, name, area.wood, area.colour, part))
        gone = [part for part in polygons(difference(area.region, round_one)) if part.area > WORTH_TELLING]
        why = "narrower than the V cutter's tip"
        lost += [Lost(area.name, area.wood, part, why, "the ground stays") for part in gone]
    if not pieces:
        mend = "draw it larger, or take a V cutter with a sharper tip"
        raise FitError("No area is wide enough for the V cutter's tip.", "artwork", mend)
    recess = union_of([piece.region for piece in pieces])
    wanted = union_of([cell.region for cell in cells])
    return Fit(rule, _pieces(tuple(pieces), wanted, recess, lost), _inserts(pieces), recess, _seam(recess), walls=walls)


def _inserts(pieces: Sequence[Piece]) -> tuple[Insert, ...]:
    return tuple(Insert(one.number, one.name, one.wood, one.colour, one.region) for one in pieces)


def _pieces(pieces: tuple[Piece, ...], wanted: Region, recess: Region, lost: Sequence[Lost]) -> Pieces:
    """The same as pieces in their ground; no closing applies, so none is off."""
    left, low, right, high = wanted.bounds
    domain = shapely.box(left - AROUND, low - AROUND, right + AROUND, high + AROUND)
    changed = shapely.symmetric_difference(wanted, recess).area / wanted.area
    return Pieces(domain, difference(domain, recess), pieces, tuple(lost), (), 0.0, 0.0, changed, _told(lost))


def _told(lost: Sequence[Lost]) -> tuple[Finding, ...]:
    found = []
    for name in dict.fromkeys(one.name for one in lost):
        its = [one for one in lost if one.name == name]
        area = sum(one.region.area for one in its)
        what = f'"{name}" loses {area:.2f} mm2 to the flat at the V cutter\'s tip; the ground stays'
        place = middle(max((one.region for one in its), key=lambda region: region.area))
        mend = "take a V cutter with a sharper tip, or draw it wider there"
        found.append(Finding("look", what, where(place), mend, "fit", place))
    return tuple(found)


def _seam(recess: Region) -> SeamFigures:
    """Drawn without a seam: recess and inserts are one outline."""
    place = recess.boundary.coords[0] if isinstance(recess, Polygon) else recess.geoms[0].exterior.coords[0]
    spot = (float(place[0]), float(place[1]))
    return SeamFigures(0.0, spot, 0.0, spot, 1.0, float(recess.boundary.length))
