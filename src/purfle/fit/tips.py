"""Tips and necks: what is so sharp that the seam would open beside it, or so thin that it breaks, is trimmed first.

A tip of angle t between two neighbours leaves a gap of (a/2)(1 + 1/sin(t/2)) in a seam of width a. A tip that lies in
one neighbour only needs no trimming: that neighbour's closing rounds it anyway.
"""

import math
from collections.abc import Callable, Sequence
from typing import Any, TypeAlias

import numpy as np
import shapely
from shapely import LineString, Polygon

from purfle.fit.ahead import Ahead
from purfle.fit.cells import Cell, Partition, called, middle
from purfle.geometry.measuring import depths_beside
from purfle.geometry.offsetting import (
    Region,
    clip,
    difference,
    grow,
    intersection,
    opening,
    polygonal,
    polygons,
    shrink,
    slivers_between,
    union_of,
)
from purfle.geometry.partition import near
from purfle.geometry.reaching import Box, all_at_once, reaches_out, windows
from purfle.tolerances import FILM, QUADRANT_SEGMENTS, SEAM_GOAL_FACTOR, TOUCHING

_ROUND_END_REACH = 8.0
"""How far from a tip a place is looked for where its piece is one radius wide, in radii."""
_MOST_GIVEN = 6.0
"""What goes beyond a round end is at most so large, in squares of the radius; the body of the piece is larger."""
_ROUND_END_STEP = 0.05
"""Places along the edge of the picture, mm apart."""
_OUTLINE_STEP = 0.02
"""Places along the outline of a tip, mm apart."""
_SURROUNDINGS = 6.0
"""Reach of the window around a change in which tips are looked for, in tip widths."""

_ROUND_END_IN_TIPS = 2.5
"""A tip that a cutter of this radius, in tip widths, leaves round, ending at a right angle to the edge, is no tip."""

Tip: TypeAlias = tuple[Polygon, Region, float]
"""A tip or neck, the body that it hangs on, and how far it reaches from that."""


def trim(partition: Partition, necks_only: bool = False) -> int:
    """Give tips and necks of all cells to their neighbours, or necks alone; how many were given."""
    cells = list(partition.cells)
    waiting = [cell for cell in cells if cell.untrimmed != [] and not cell.region.is_empty]
    width, radius = partition.rule.tip, min(map(partition.radius_of, cells))
    round_end = radius if radius < _ROUND_END_IN_TIPS * width else None
    with Ahead(partition.mate, waiting, lambda cell: (cell.region, _boxes(cell), width), tips_of) as ahead:
        return sum(_trim_cell(partition, cell, ahead.of, (necks_only, round_end)) for cell in cells)


def _boxes(cell: Cell) -> tuple[Box, ...] | None:
    return None if cell.untrimmed is None else tuple(cell.untrimmed)


def deepest_tip(width: float) -> float:
    """How far the sharpest tip that may stay reaches beyond the disc of this width in it.

    A seam opens to SEAM_GOAL_FACTOR times its width at an angle t with sin(t/2) = 1 / (2 SEAM_GOAL_FACTOR - 1).
    """
    return width / 2.0 * (2.0 * SEAM_GOAL_FACTOR - 2.0)


def _trim_cell(
    partition: Partition, cell: Cell, tips: Callable[[Cell], list[Tip]], kind: tuple[bool, float | None]
) -> int:
    """`kind`: whether necks alone are given, and the smallest radius of a round end, which is no tip."""
    if cell.region.is_empty or cell.untrimmed == []:
        return 0
    partition.work(cell)
    found = tips(cell)
    cell.untrimmed = []
    necks_only, round_end = kind
    given: dict[Cell, list[Region]] = {}
    for tip in found:
        if necks_only and _contacts(tip) < 2:
            continue
        shares = _shares(partition, cell, tip, round_end)
        if shares:
            partition.given.add((cell.name, cell.wood), tip[0])
        for part, taker in shares:
            given.setdefault(taker, []).append(part)
    for taker, parts in given.items():
        partition.hand_over(union_of(parts), cell, taker)
    return len(given)


def tips_of(region: Region, untrimmed: Sequence[Box] | None, width: float) -> list[Tip]:
    """Tips and necks of a cell, looked for only where it can have changed since it was last trimmed.

    `width`: of the disc that finds a tip or neck.
    """
    return [one for part, inner in _regions_to_trim(region, untrimmed, width) for one in _tips(part, inner, width)]


def _regions_to_trim(region: Region, untrimmed: Sequence[Box] | None, width: float) -> list[tuple[Region, Region]]:
    """Parts of a cell that changed, with some of its surroundings, and the place in each where tips count."""
    if untrimmed is None:
        return [(region, region)]
    boxes = windows(untrimmed, _SURROUNDINGS * width) if untrimmed else []
    if all_at_once(region, boxes):
        return [(region, region)]
    clips = [(clip(region, box), shapely.box(*box)) for box in boxes]
    return [(part, shrink(box, width)) for part, box in clips if not part.is_empty]


def _tips(region: Region, inner: Region, width: float) -> list[Tip]:
    """Tips and necks that lie in the inner place, so that the clipping of the region has not made them."""
    least = deepest_tip(width)
    if not reaches_out(region, width / 2.0, least):
        return []
    body = opening(region, width / 2.0)
    if body.is_empty:
        return []
    tips = [tip for tip in slivers_between(region, body) if tip.area > FILM * tip.length > 2.0 * FILM * least]
    deep = depths_beside(tips, body, TOUCHING).tolist()
    whole = inner is region
    return [
        (tip, body, depth)
        for tip, depth in zip(tips, deep, strict=True)
        if depth > least and (whole or inner.covers(tip))
    ]


def _is_round_end(region: Region, found: Tip, radius: float) -> bool:
    """True if a tip is but the round end that a small cutter leaves: no longer than that, and nowhere sharper.

    Such an end meets the edge of the picture at a right angle, which is sharp enough to be a tip where the disc that
    finds tips is nearly as large as the cutter. So it is looked at with a smaller disc.
    """
    tip, _, depth = found
    if depth > radius or _contacts(found) > 1:
        return False
    width = radius / _ROUND_END_IN_TIPS
    around = near(region, tip, 2.0 * width)
    blunt = opening(around, width / 2.0)
    sharp = [part for part in slivers_between(around, blunt) if part.dwithin(tip, TOUCHING) and part.area > 0.0]
    return not bool((depths_beside(sharp, blunt, TOUCHING) > deepest_tip(width)).any())


def _shares(partition: Partition, cell: Cell, found: Tip, round_end: float | None) -> list[tuple[Region, Cell]]:
    """Which part of a tip or neck goes to which neighbour; nothing for a tip that lies in one neighbour.

    Nothing either for a round end: whether it is one takes longest to find out, and so comes last.
    """
    tip, body, _ = found
    beside = [one for one in partition.neighbours(tip, cell) if one[0] > partition.rule.tip / 8.0]
    is_neck = bool(beside) and _contacts(found) > 1
    if not beside or (len(beside) == 1 and not is_neck):
        return []
    if not is_neck and partition.given.is_back((cell.name, cell.wood), tip):
        return []
    if round_end is not None and not is_neck and _is_round_end(cell.region, found, round_end):
        return []
    first, second = beside[0][1], beside[1][1] if len(beside) > 1 else beside[0][1]
    if is_neck:
        _report_neck(partition, cell, tip, first)
    return [(tip, first)] if is_neck or first is second else _shared_out(partition, cell, tip, body, (first, second))


def _shared_out(
    partition: Partition, cell: Cell, tip: Polygon, body: Region, beside: tuple[Cell, Cell]
) -> list[tuple[Region, Cell]]:
    """Who gets which part of a tip between two neighbours.

    Between an insert and the ground the insert takes all of it, so that the outline of the picture stays as drawn.
    """
    inserts = [one for one in beside if one is not partition.ground]
    if len(inserts) != 1:
        return _halved(tip, body, *beside)
    return [(_beyond_round_end(partition, cell, tip, body, inserts[0]), inserts[0])]


def _beyond_round_end(partition: Partition, cell: Cell, tip: Polygon, body: Region, taker: Cell) -> Region:
    """What of a tip at the edge of the picture goes, so that a clean round end is left.

    edge   ________c___          The taker's cutter leaves the end round by its radius. Round about a place c
            tip  _/ | r          on the edge that stands one radius from the taker, the end runs into the
    taker  _____/___|____        border of the two and meets the edge at a right angle.
    """
    radius = partition.radius_of(taker)
    around = cell.near(tip, _ROUND_END_REACH * radius)
    beside = taker.near(tip, (_ROUND_END_REACH + 2.0) * radius)
    places = _edge_from_tip(around, partition.ground.near(tip, _ROUND_END_REACH * radius), tip, beside)
    if places is None:
        return tip
    shapely.prepare(beside)
    wide = np.flatnonzero(~shapely.dwithin(beside, shapely.points(places), radius))
    if len(wide) == 0 or wide[0] == 0:
        return tip
    # a place just before that one, so that the round end surely reaches the taker and parts the tip from the body
    end = shapely.Point(places[wide[0] - 1]).buffer(radius, quad_segs=QUADRANT_SEGMENTS)
    beyond = [part for part in polygons(difference(around, end)) if part.distance(tip) < TOUCHING]
    gone = polygonal(shapely.union_all([part for part in beyond if part.area < _MOST_GIVEN * radius * radius]))
    left = list(polygons(difference(tip, gone)))
    # a thin strip along the edge would be given by hairs: it goes as a whole
    is_strip = bool((depths_beside(left, body, TOUCHING) > radius).any())
    return tip if gone.is_empty or is_strip else gone


def _edge_from_tip(
    region: Region, ground: Region, tip: Polygon, taker: Region
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]] | None:
    """Places along the stretch at its tip that a region shares with the ground, from its end in the tip on.

    Where both ends lie in the tip, from the one nearer to the taker.
    """
    along = shapely.line_merge(region.boundary.intersection(grow(ground, TOUCHING)))
    lines = [line for line in shapely.get_parts(along) if isinstance(line, LineString)]
    if not lines:
        return None
    nearest = min(lines, key=lambda line: (line.distance(tip), line.distance(taker), -line.length))
    places = shapely.get_coordinates(nearest.segmentize(_ROUND_END_STEP))
    first, last = ((round(end.distance(tip), 3), float(end.distance(taker))) for end in shapely.points(places[[0, -1]]))
    return np.asarray(places if first <= last else places[::-1])


def _report_neck(partition: Partition, cell: Cell, neck: Polygon, taker: Cell) -> None:
    giver, other = called(partition, cell), called(partition, taker)
    what = f"{giver} is thinner than {partition.rule.tip:g} mm there: {other} takes it"
    partition.note("note", what, middle(neck), "draw it wider there if it should hold together")


def _contacts(found: Tip) -> int:
    """How many separate places of a tip hang on its body: 1 for a tip, 2 and more for a neck."""
    tip, body, _ = found
    stretches = _stretches_along(tip, body, 2.0 * TOUCHING)
    return sum(1 for stretch in stretches if shapely.linestrings(stretch).length > 5.0 * TOUCHING)


def _stretches_along(tip: Polygon, other: Region, apart: float) -> list[np.ndarray[Any, np.dtype[np.float64]]]:
    """Stretches of a tip's outline that lie against another region, as places a small step apart."""
    places = shapely.get_coordinates(shapely.segmentize(tip.exterior, _OUTLINE_STEP))[:-1]
    shapely.prepare(other)
    beside = shapely.dwithin(other, shapely.points(places), apart)
    if beside.all() or not beside.any():
        return [places] if beside.any() else []
    start = int(np.flatnonzero(~beside)[0])
    places, beside = np.roll(places, -start, axis=0), np.roll(beside, -start)
    ends = np.flatnonzero(np.diff(beside.astype(int))) + 1
    return [part for part in np.split(places, ends)[1::2] if len(part) > 1]


def _halved(tip: Polygon, body: Region, first: Cell, second: Cell) -> list[tuple[Region, Cell]]:
    """Both halves of a tip, cut along its middle line so that each neighbour gets the half beside it."""
    sides = [_side(tip, cell.near(tip, 1.0)) for cell in (first, second)]
    if any(side is None for side in sides):
        return [(tip, first)]
    one, other = (side for side in sides if side is not None)
    if min(math.dist(one[0], other[0]), math.dist(one[0], other[-1])) > min(
        math.dist(one[-1], other[0]), math.dist(one[-1], other[-1])
    ):
        one = one[::-1]
    if math.dist(one[0], other[-1]) < math.dist(one[0], other[0]):
        other = other[::-1]
    half = Polygon(np.vstack((one, ((one + other) / 2.0)[::-1])))
    half = half if half.is_valid else Polygon(shapely.convex_hull(half))
    given = intersection(tip, half)
    return [(given, first), (difference(tip, given), second)]


def _side(tip: Polygon, neighbour: Region) -> np.ndarray[tuple[int, int], np.dtype[np.float64]] | None:
    """The longest stretch of the tip's outline along a neighbour, as evenly spaced points."""
    stretches = _stretches_along(tip, neighbour, TOUCHING)
    lines = [shapely.linestrings(stretch) for stretch in stretches]
    if not lines:
        return None
    longest = max(lines, key=lambda line: line.length)
    spaced = shapely.line_interpolate_point(longest, np.linspace(0.0, 1.0, 33), normalized=True)
    return np.asarray(shapely.get_coordinates(spaced))
