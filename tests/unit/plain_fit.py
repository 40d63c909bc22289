"""Plain fits for tests of the board and the offcuts: each piece is its own insert and recess, without a seam."""

import shapely
from shapely import Polygon, box

from purfle.board import InlayWish, Spot
from purfle.model.board import Board
from purfle.model.findings import Face
from purfle.model.job import Distance, FittingRule
from purfle.model.pieces import Fit, FitRule, Insert, Piece, Pieces, SeamFigures

BOARD = Board("white oak", 420.0, 260.0, 19.0)
FLAG = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 40), (0, 40)])
"""An L: it has no symmetry, so turning and mirroring both show. Its bounds are 30 x 40."""


def plain_fit(*parts: tuple[str, str, Polygon]) -> Fit:
    """A fit of (name, wood, outline) parts."""
    pieces = tuple(Piece(n, name, wood, (0, 0, 0), region) for n, (name, wood, region) in enumerate(parts, 1))
    inserts = tuple(Insert(p.number, p.name, p.wood, p.colour, p.region) for p in pieces)
    recess = shapely.union_all([part[2] for part in parts])
    domain = box(*recess.bounds)
    made = Pieces(domain, domain.difference(recess), pieces, (), ((0.0, 0.0),), 0.0, 0.0, 0.0)
    return Fit(FitRule(1.5, 0.1), made, inserts, recess, SeamFigures(0.1, (0, 0), 0.1, (1, 2), 1.0, 10.0))


def wish(
    region: Polygon = FLAG, face: Face = "show", spot: Spot | None = None, depth: float = 3.0, name: str = "picture"
) -> InlayWish:
    """One part let in at a spot; the middle of the board if none is given."""
    spot = spot or Spot(Distance("centre", 0.0), Distance("centre", 0.0))
    return InlayWish(name, "picture", plain_fit(("part", "holly", region)), face, spot, depth, 0.5, 0.1)


def magnet(x: float, y: float, depth: float = 3.0, face: Face = "underside", across: float = 10.0) -> FittingRule:
    """A round recess with its middle at (x, y)."""
    return FittingRule(
        "magnet", f"magnet at {x:g}, {y:g}", face, across, across, depth, 0.0, at(x), at(y), open_edge=False
    )


def plate(name: str, place: tuple[float, float], size: tuple[float, float], face: Face = "underside") -> FittingRule:
    """A rectangular recess with its middle at a place, 2 mm deep."""
    return FittingRule("oblong", name, face, *size, 2.0, 0.0, at(place[0]), at(place[1]), open_edge=False)


def hinge(name: str, x: float, depth: float = 2.0) -> FittingRule:
    """A hinge leaf of 50 x 14 whose recess runs out at the back edge, its middle at x."""
    place = at(x), Distance("far_edge", 0.0)
    return FittingRule("hinge", name, "underside", 50.0, 14.0, depth, 0.0, *place, open_edge=True)


def at(amount: float) -> Distance:
    """A distance from the datum edge."""
    return Distance("edge", amount)
