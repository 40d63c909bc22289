"""Boards whose edges are not all straight: how far a recess is from them, and where hardware may run out over one."""

import math
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from purfle.errors import Fault
from purfle.model.board import Board
from purfle.model.findings import Finding
from purfle.model.pieces import Region
from purfle.tolerances import SAME_PLACE, SEEN_ON_A_RULE
from purfle.units import in_mm

FEWEST_OF_A_CIRCLE = 32
"""Fewer corners than this are an outline of their own."""
ToEdge = tuple[float, tuple[float, float], float]
"""Distance to an edge, where on the recess, and how the edge runs there, in degrees."""


def over_live_edge(outline: Polygon, region: Region) -> str:
    """By how much a recess stands over the outline of its board, in words; empty if it lies within it."""
    beyond = shapely.difference(region, outline)
    if beyond.is_empty:
        return "touching the edge of the board" if region.distance(outline.boundary) <= SAME_PLACE else ""
    corners = shapely.get_coordinates(beyond)
    away = shapely.distance(shapely.points(corners), outline)
    x, y = corners[int(away.argmax())]
    return f"{in_mm(round(float(away.max()), 1))} over the edge of the board, at {x:.1f}, {y:.1f} mm"


def to_live_edge(board: Board, region: Region, open_edge: bool) -> list[ToEdge]:
    """The nearest place of the outline; a straight stretch that the region runs out over does not count."""
    edge: BaseGeometry = board.outline.boundary
    if open_edge:
        edge = shapely.difference(edge, shapely.union_all(_strips_touched(board, region)))
    bits = np.array([bit for line in shapely.get_parts(edge) for bit in _bits(line)])
    if not len(bits):
        return []
    away = shapely.distance(bits, region)
    nearest = bits[int(away.argmin())]
    (x0, y0), (x1, y1) = nearest.coords
    place = nearest_points(region, nearest)[0]
    return [(float(away.min()), (place.x, place.y), math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0)]


def not_straight_where_open(board: Board, label: str, region: Region) -> list[Fault]:
    """A fault where hardware that runs out over an edge meets one that is not straight there."""
    left, low, right, high = region.bounds
    edge = board.outline.boundary
    faults = []
    for strip in _strips_touched(board, region):
        here = shapely.intersection(strip, box(left, low, right, high).buffer(SEEN_ON_A_RULE, join_style="mitre"))
        stretch = shapely.intersection(edge, here)
        x0, y0, x1, y1 = stretch.bounds if not stretch.is_empty else (0.0, 0.0, 0.0, 0.0)
        if max(x1 - x0, y1 - y0) < max(_along(strip, region)) - SEEN_ON_A_RULE:
            what = f"{label} shall run out over an edge that is not straight there"
            mend = "move it to a straight stretch on A, B or a line across from them, or let it in from within"
            faults.append(Fault(what, label, mend))
    return faults


def live_edges_finding(board: Board) -> Finding:
    """What to know before anything is measured on a board with such edges."""
    if is_disc(board):
        return _round_board()
    x, y = shapely.shortest_line(shapely.Point(0.0, 0.0), board.outline).coords[1]
    off = math.hypot(x, y)
    what = "not every edge of this board is straight: A and B are the lines that touch it in front and on the left"
    return Finding(
        "look",
        f"{what}; their corner lies {in_mm(round(off, 1))} off the wood" if off > SEEN_ON_A_RULE else what,
        "board",
        "clamp a straight edge along A and one along B, square to it, and measure from those; look at the lower edge "
        "too, since a live edge seldom runs square through the wood",
        "board",
        (0.0, 0.0),
    )


def is_disc(board: Board) -> bool:
    """True for a board whose outline is a circle that touches all four of its lines."""
    radius, outline = board.length / 2, board.outline
    away = np.hypot(*(shapely.get_coordinates(outline) - radius).T)
    is_one = bool(np.abs(away - radius).max() < SEEN_ON_A_RULE) and len(away) > FEWEST_OF_A_CIRCLE
    return is_one and abs(board.length - board.width) < SAME_PLACE


def _round_board() -> Finding:
    what = "this board is round: A and B are the lines that touch it in front and on the left"
    mend = "leave the blank square until everything is set out, cut and drilled from A and B, then saw it round"
    mend += "; where it is round already, clamp a straight edge along A and one along B, square to it"
    return Finding("look", what, "board", mend, "board", (0.0, 0.0))


def _strips_touched(board: Board, region: Region) -> list[Polygon]:
    """Along each side of the board's rectangle that the region touches: where the outline has to run."""
    left, low, right, high = region.bounds
    long, wide, deep = board.length, board.width, SEEN_ON_A_RULE
    sides = (
        (left, box(-deep, -deep, deep, wide + deep)),
        (low, box(-deep, -deep, long + deep, deep)),
        (long - right, box(long - deep, -deep, long + deep, wide + deep)),
        (wide - high, box(-deep, wide - deep, long + deep, wide + deep)),
    )
    return [strip for away, strip in sides if away <= SAME_PLACE]


def _along(strip: Polygon, region: Region) -> tuple[float, float]:
    """How long a region is along a strip: (along A, 0) or (0, along B)."""
    x0, y0, x1, y1 = strip.bounds
    left, low, right, high = region.bounds
    return (right - left, 0.0) if x1 - x0 > y1 - y0 else (0.0, high - low)


def _bits(line: BaseGeometry) -> list[LineString]:
    """The straight bits of a line, none without length."""
    return [LineString(pair) for pair in pairwise(shapely.get_coordinates(line)) if math.dist(*pair) > SAME_PLACE]
