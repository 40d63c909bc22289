"""Screws and inserts that stand so near an edge that they may split the wood, and where they have room to go."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.affinity import translate
from shapely.ops import nearest_points

from purfle.board.clearances import Recess, where_of
from purfle.board.hole_words import place_words
from purfle.model.board import Board, Hole
from purfle.model.findings import Finding
from purfle.tolerances import SAME_PLACE
from purfle.wood import practice

STAGE = "board"
THINNEST = 2.0
"""Thinner screws (mm) are hardly sold (from memory)."""
Spot = tuple[float, float]


def edge_and_end(board: Board, hole: Hole) -> tuple[float, float]:
    """Distance of a hole's middle to the nearest edge, and along the grain to the nearest end, in mm."""
    return tuple(math.dist(hole.centre, at) for at in _nearest(board, hole))  # type: ignore[return-value]


def _nearest(board: Board, hole: Hole) -> tuple[Spot, Spot]:
    """The nearest place of the edge, and the nearest along the grain."""
    outline, reach = board.outline, math.hypot(board.length, board.width)
    turn, middle = math.radians(board.grain), Point(hole.centre)
    along = np.array([math.cos(turn), math.sin(turn)]) * reach
    line = LineString([np.array(hole.centre) - along, np.array(hole.centre) + along])
    edge = nearest_points(outline.boundary, middle)[0]
    crossings = shapely.intersection(outline.boundary, line)
    end = nearest_points(crossings, middle)[0] if not crossings.is_empty else Point(math.inf, math.inf)
    return (edge.x, edge.y), (end.x, end.y)


def near_an_edge(board: Board, hole: Hole, recesses: Sequence[Recess]) -> Iterator[Finding]:
    """Screws and inserts split the wood where they stand too near an edge; screws sooner near the end of its fibres."""
    if hole.is_through:
        return
    edge, end = _nearest(board, hole)
    rules = ((end, "end distance / screw diameter", "the end of the fibres"), (edge, "edge distance", "the edge"))
    for at, item, words in rules if hole.kind == "screw" else rules[1:]:
        distance, ratio = math.dist(hole.centre, at), float(practice("screw", item).low or 0.0)
        least = ratio * hole.body
        if distance < least - SAME_PLACE:
            what = f"{hole.name} stands {distance:.1f} mm from {words}, where it may split the wood"
            what += f"; {least:.1f} mm are usual (from memory)"
            mend = _mend(hole, least - distance, distance / ratio, _has_room(hole, at, least - distance, recesses))
            where = where_of(f"{hole.name}, {hole.face}, {place_words(hole.centre)}", hole.line)
            yield Finding("look", what, where, mend, STAGE, hole.centre, hole.face)
            return


def _mend(hole: Hole, short: float, thinnest: float, has_room: bool) -> str:
    """Inward where its hardware has room, thinner where there is such a thing, else other hardware."""
    ways = [f"move it inward by {short:.1f} mm"] if has_room else []
    if thinnest >= THINNEST:
        ways.append(f"take {'a screw' if hole.kind == 'screw' else 'an insert'} of {thinnest:.1f} mm at most")
    if not has_room:
        ways.append(f"take hardware with room for it {short:.1f} mm further in")
    return ", or ".join(ways)


def _has_room(hole: Hole, edge: Spot, short: float, recesses: Sequence[Recess]) -> bool:
    """Whether a hole moved away from an edge still stands on its hardware. Hardware that lies on the face has room."""
    own = [one.region for one in recesses if one.fitting == hole.fitting and one.face == hole.face]
    if not own:
        return True
    away = np.array(hole.centre) - np.array(edge)
    step = away / max(float(np.hypot(*away)), SAME_PLACE) * short
    moved = translate(hole.room, float(step[0]), float(step[1]))
    return any(bool(shapely.covers(region, moved)) for region in own)
