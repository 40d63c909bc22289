"""Where the edge of the cutter runs out of the wood and short fibres have nothing behind them.

The cutter turns clockwise and stands beside the wood, so its edge runs along a wall with the wood on its left,
whichever way round the cutter travels. Where the wall ends in a corner the edge runs out of the wood there. On a wall
across the grain it pushes the last fibres outwards: long ones bend and come back, short ones break off.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString, Polygon

from purfle.cutting.lines import Named
from purfle.geometry.offsetting import Region, difference, polygons
from purfle.geometry.pose import Polyline
from purfle.model.findings import Finding
from purfle.tolerances import CORNER_SEEN, PATH_JOIN
from purfle.wood import practice

SHARPER = math.radians(45.0)
"""A corner of the wood at which its outline turns by more than this ends a wall."""
MOST_NAMED = 3
"""So many lines of a set-up are named; the others are counted."""
BEFORE = 1.0
"""Fibres that end on the wall so far before a corner are looked at, mm (no source)."""

Place = tuple[float, float]


def short_corners(region: Region, grain: float, is_part: bool) -> list[Place]:
    """Corners of the wood where short fibres stand unbacked. The wood is the region of a part, else all beside it.

    `grain`: of the wood, in degrees, in the frame of the region.
    """
    plain = shapely.simplify(region, CORNER_SEEN)
    found: list[Place] = []
    for polygon in polygons(plain):
        oriented = shapely.orient_polygons(polygon, exterior_cw=not is_part)
        for ring in (oriented.exterior, *oriented.interiors):
            found += [
                (x, y)
                for x, y, fibre in _ends_of_walls(np.asarray(ring.coords)[:, :2], math.radians(grain))
                if (not plain.covers(fibre) if is_part else plain.intersects(fibre))
            ]
    return found


def _across() -> float:
    """A wall at more than this to the fibres (radians) lies across them."""
    return math.radians(float(practice("fit", "short grain: slope").typical or 0.0))


def _short() -> float:
    """Fibres below this are short, mm."""
    return float(practice("fit", "short grain: least width").typical or 0.0)


def _ends_of_walls(ring: Polyline, grain: float) -> Iterator[tuple[float, float, LineString]]:
    """Where walls across the grain end in a corner of the wood on the left; the fibre just before, if it were long."""
    across, short = _across(), _short()
    sides = np.diff(ring, axis=0)
    ways = np.arctan2(sides[:, 1], sides[:, 0])
    for index, way in enumerate(ways.tolist()):
        turned = math.remainder(float(ways[(index + 1) % len(ways)]) - way, math.tau)
        to_grain = abs(math.remainder(way - grain, math.pi))
        if turned <= SHARPER or to_grain <= across:
            continue
        along = np.array([math.cos(way), math.sin(way)])
        fibre = np.array([math.cos(grain), math.sin(grain)])
        fibre *= 1.0 if along[0] * fibre[1] - along[1] * fibre[0] > 0.0 else -1.0
        corner = ring[index + 1]
        foot = corner - min(BEFORE, math.hypot(*sides[index]) / 2.0) * along
        yield float(corner[0]), float(corner[1]), LineString([foot + PATH_JOIN * fibre, foot + short * fibre])


def _corners_of(named: Named, grain: float | None) -> list[Place]:
    """The corners at risk of one line, in the stock or in the inserts that it is cut into."""
    region = named.line.region
    if grain is not None:
        return short_corners(region, grain, is_part=named.line.kind == "part")
    found = [
        place
        for host, its in named.fibres
        for place in short_corners(region, its, is_part=False)
        if shapely.dwithin(host, shapely.Point(place), BEFORE)
    ]
    return list(dict.fromkeys(found))


def tear_out_findings(lines: Sequence[Named], wood: tuple[Polygon, float | None], title: str) -> Iterator[Finding]:
    """What may break out in one set-up; `wood` is its outline and the direction of its fibres in degrees.

    Without a direction what is cut into are inserts, whose fibres the lines know.
    """
    outline, grain = wood
    at_risk = [(named, _corners_of(named, grain)) for named in lines]
    at_risk = [(named, corners) for named, corners in at_risk if corners]
    if at_risk:
        count = sum(len(corners) for _, corners in at_risk)
        corners = "a corner" if count == 1 else f"{count} corners"
        names = "; ".join(named.name for named, _ in at_risk[:MOST_NAMED])
        names += f" and {len(at_risk) - MOST_NAMED} more" if len(at_risk) > MOST_NAMED else ""
        x, y = at_risk[0][1][0]
        what = f"the cutter's edge runs out of short grain at {corners}: {names}"
        where = f"{title}: the first at x {x:.1f} mm, y {y:.1f} mm from the program's zero"
        yield Finding("look", what, where, "harden such corners with thin glue before the last pass", "cutting")
    if grain is None:
        return
    recesses = [named for named in lines if named.line.kind == "recess"]
    open_ones = [one.name for one in recesses if _breaks_an_edge(one.line.region, outline, grain)]
    if open_ones:
        what = f"the cutter runs out over an edge of the board across its fibres: {', '.join(open_ones)}"
        mend = "clamp a strip of wood against that edge, level with the top, and let the cutter run into it"
        yield Finding("look", what, title, mend, "cutting")


def _breaks_an_edge(region: Region, outline: Polygon, grain: float) -> bool:
    """True if the region runs out over an edge that lies more along the fibres than across them."""
    if difference(region, outline).is_empty:
        return False
    crossed = shapely.get_parts(shapely.intersection(outline.exterior, region))
    for piece in crossed:
        ends = shapely.get_coordinates(piece)[[0, -1]]
        way = math.atan2(*(ends[1] - ends[0])[::-1])
        if piece.length > PATH_JOIN and abs(math.remainder(way - math.radians(grain), math.pi)) <= _across():
            return True
    return False
