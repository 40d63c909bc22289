"""Where arcs meet: the point nearest to the lines fitted to each of them a little way off."""

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.arc_graph import ArcGraph
from purfle.artwork.bundles import Floats
from purfle.artwork.strands import (
    FURTHEST_CORNER_PX,
    FURTHEST_TIP_PX,
    PER_SHARPNESS,
    Strand,
    fitted_line,
    meeting_place,
)

Flags = NDArray[np.bool_]
Line = tuple[Floats, Floats, float]

FURTHEST_PX = 3.5
"""A junction of three agreeing lines moves this far at most from its raw place."""
FURTHEST_DOUBTFUL_PX = 1.6
"""A junction whose lines disagree, or are only two, moves this far at most."""
AGREEING_PX = 0.6
"""Lines agree on a junction when none passes further from it than this."""
FRAME_WEIGHT = 1e4
"""The frame is known exactly: its line outweighs every fitted one."""


def on_frame(graph: ArcGraph) -> Flags:
    """(m, 2): whether each junction lies on a side of constant x, and on one of constant y."""
    height, width = graph.faces.shape
    x, y = graph.junctions[:, 0], graph.junctions[:, 1]
    return np.stack([(x == 0) | (x == width), (y == 0) | (y == height)], axis=1)


def placed_junctions(graph: ArcGraph, strands: list[Strand]) -> Floats:
    """The junctions (m, 2), moved to where their arcs point; those on the frame slide along it."""
    placed = graph.junctions.copy()
    touching: list[list[tuple[Strand, int]]] = [[] for _ in placed]
    for strand in strands:
        if not strand.chain.closed and not strand.chain.on_frame:
            touching[strand.chain.start].append((strand, 1))
            touching[strand.chain.end].append((strand, -1))
    sides = on_frame(graph)
    for number, arcs in enumerate(touching):
        if sides[number].all():
            continue
        raw = graph.junctions[number]
        lines = [line for strand, way in arcs if (line := _line_from(strand.points[::way], raw)) is not None]
        if sides[number].any():
            lines.append((raw, np.array([0.0, 1.0]) if sides[number, 0] else np.array([1.0, 0.0]), FRAME_WEIGHT))
        place = _meeting(lines, raw)
        axis = int(sides[number, 1])
        if sides[number].any():
            place[axis] = raw[axis]
        placed[number] = place
    return placed


def _line_from(points: Floats, junction: Floats) -> Line | None:
    """The line along an arc 2.2 to 6.5 px away from its junction (nearer on a short arc)."""
    nearest, furthest = (2.2, 6.5) if len(points) > 14 else (1.3, 4.6)
    away = np.hypot(*(points - junction).T) if len(points) else np.zeros(0)
    beyond = np.nonzero(away > furthest)[0]
    used = np.zeros(len(points), bool)
    used[: beyond[0] if len(beyond) else len(points)] = True
    used &= away > nearest
    count = int(used.sum())
    if count < 3:
        return None
    middle, direction, off = fitted_line(points[used])
    return middle, direction, count / (0.05 + off)


def _meeting(lines: list[Line], raw: Floats) -> Floats:
    place = meeting_place(lines) if len(lines) >= 2 else None
    if place is None:
        return raw.copy()
    worst = max(abs(float((place - middle) @ np.array([-way[1], way[0]]))) for middle, way, _ in lines)
    limit = _furthest_of_wedge(lines) if len(lines) > 2 and worst < AGREEING_PX else FURTHEST_DOUBTFUL_PX
    return place if float(np.hypot(*(place - raw))) < limit else raw.copy()


def _furthest_of_wedge(lines: list[Line]) -> float:
    """How far a junction may move: further in the tip of a sharp wedge, as corners may."""
    ways = np.array([way for _, way, _ in lines])
    sines = np.abs(ways[:, None, 0] * ways[None, :, 1] - ways[:, None, 1] * ways[None, :, 0])
    sharpest = float(np.arcsin(min(sines[~np.eye(len(ways), dtype=bool)].min(), 1.0))) / 2.0
    tip = FURTHEST_CORNER_PX + PER_SHARPNESS / max(float(np.sin(sharpest)), 0.1)
    return max(FURTHEST_PX, min(tip, FURTHEST_TIP_PX))
