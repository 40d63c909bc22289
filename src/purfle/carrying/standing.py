"""What a board stands on: lines across it or feet; and where it tips when somebody leans on it."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPoint, Polygon

from purfle.model.board import Board, Layout
from purfle.model.carrying import Axis, CarryWish, Place, Tipping
from purfle.model.findings import Finding

SAME_LINE = 10.0
"""Feet whose places along the span differ by no more (mm) stand on one line."""
FLAT = 1e-6
"""A polygon of feet of less area (mm2) holds nothing."""
FOOT_PLATE = "foot plate"


@dataclass(frozen=True, slots=True)
class Standing:
    """The axis of the span, the board's ends on it, the lines that hold it, and the places of its feet if it has any.

    `hull`: the region that the weight has to stay over.
    """

    axis: Axis
    ends: tuple[float, float]
    lines: tuple[float, ...]
    feet: tuple[Place, ...]
    hull: Polygon
    is_rectangle: bool

    @property
    def middle(self) -> float:
        """Half way between the outermost lines."""
        return (self.lines[0] + self.lines[-1]) / 2.0

    @property
    def unknown_tipping(self) -> Tipping:
        """Stands for what has not been reckoned yet."""
        return Tipping((0.0, 0.0), math.inf, ((0.0, 0.0), (0.0, 0.0)))


def standing_of(layout: Layout, wish: CarryWish | None) -> tuple[Standing | None, tuple[Finding, ...]]:
    """What the board stands on; None where the job says nothing of it, or what it says holds nothing."""
    asked = wish or CarryWish()
    feet = asked.feet or _feet_among(layout)
    if asked.supports:
        standing = _on_lines(layout.board, asked)
    elif len(feet) >= 2:
        standing = _on_feet(layout.board, asked, feet)
    else:
        if wish is None:
            return None, ()
        return None, (_fault("it is not said what the board stands on", "add supports or feet to [carrying]"),)
    outside = [place for place in standing.feet if not layout.board.outline.covers(shapely.Point(place))]
    off = [line for line in standing.lines if not standing.ends[0] <= line <= standing.ends[1]]
    if outside or off:
        x, y = outside[0] if outside else (off[0], off[0])
        where = f"a foot at {x:.1f} mm and {y:.1f} mm" if outside else f"a support at {x:.1f} mm"
        return None, (_fault(f"{where} lies beyond the board", "measure it from the datum edges, inwards"),)
    if len(standing.lines) < 2 or standing.hull.area < FLAT:
        return None, (_fault("all that the board stands on lies on one line", "give it feet on both sides"),)
    if not standing.hull.covers(layout.board.outline.centroid):
        return None, (_fault("the board falls over by itself", "set its feet round its middle", "look"),)
    return standing, ()


def _fault(what: str, mend: str, severity: str = "look") -> Finding:
    return Finding("look" if severity == "look" else "note", what, "board", mend, "carrying")


def _feet_among(layout: Layout) -> tuple[Place, ...]:
    """The middles of foot plates in the underside."""
    return tuple(one.centre for one in layout.fittings if one.kind == FOOT_PLATE and one.face == "underside")


def _on_lines(board: Board, asked: CarryWish) -> Standing:
    axis: Axis = asked.along or "A"
    x0, y0, x1, y1 = board.outline.bounds
    ends = (x0, x1) if axis == "A" else (y0, y1)
    lines = tuple(sorted(asked.supports))
    low, high = lines[0], lines[-1]
    strip = shapely.box(low, y0 - 1.0, high, y1 + 1.0) if axis == "A" else shapely.box(x0 - 1.0, low, x1 + 1.0, high)
    hull = strip.intersection(board.outline).convex_hull
    hull = hull if isinstance(hull, Polygon) else Polygon()
    return Standing(axis, ends, lines, (), hull, board.shape is None)


def _on_feet(board: Board, asked: CarryWish, feet: tuple[Place, ...]) -> Standing:
    """The span runs where the feet stand furthest apart, unless the job says it."""
    across = np.ptp(np.array(feet), axis=0)
    axis: Axis = asked.along or ("A" if across[0] >= across[1] else "B")
    x0, y0, x1, y1 = board.outline.bounds
    which = 0 if axis == "A" else 1
    lines: list[list[float]] = []
    for at in sorted(place[which] for place in feet):
        if lines and at - lines[-1][0] <= SAME_LINE:
            lines[-1].append(at)
        else:
            lines.append([at])
    hull = MultiPoint(feet).convex_hull
    return Standing(
        axis=axis,
        ends=(x0, x1) if axis == "A" else (y0, y1),
        lines=tuple(sum(some) / len(some) for some in lines),
        feet=feet,
        hull=hull if isinstance(hull, Polygon) else Polygon(),
        is_rectangle=board.shape is None,
    )


def tipping_of(board: Board, standing: Standing, weight: float) -> Tipping:
    """The place where the least weight tips the board, over which line: moments about each side of what it stands on.

    Source: P x = W d, x and d how far the hand and the board's middle lie beyond and within that line (closed form).
    """
    middle = board.outline.centroid
    corners = np.asarray(board.outline.exterior.coords)
    ring = np.asarray(shapely.geometry.polygon.orient(standing.hull).exterior.coords)
    worst = standing.unknown_tipping
    for start, end in pairwise(ring):
        ahead = (end - start) / np.hypot(*(end - start))
        outwards = np.array([ahead[1], -ahead[0]])
        beyond = (corners - start) @ outwards
        far, within = int(np.argmax(beyond)), float((start - (middle.x, middle.y)) @ outwards)
        if beyond[far] > FLAT and (tips := weight * within / float(beyond[far])) < worst.weight:
            place = (float(corners[far][0]), float(corners[far][1]))
            worst = Tipping(place, tips, ((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))))
    return worst
