"""From smoothed arcs to areas that tile the frame, proven on every run.

Where smoothed arcs touch, both keep to their own pixel edges inside a disc around the place. The disc grows until they
no longer touch. At worst all arcs keep to their pixel edges, and then none can touch another (`corridors.py`).
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.artwork.arc_graph import ArcGraph, Chain
from purfle.artwork.bundles import Floats
from purfle.artwork.junctions import placed_junctions
from purfle.artwork.strands import Course, Line, Strand, lines_of, strand_of
from purfle.model.artwork import OUTSIDE, Arc
from purfle.tolerances import SUM_OF_AREAS

Flags = NDArray[np.bool_]

FIRST_DISC_PX = 3.0
MOST_ROUNDS = 30
"""A disc doubles each round: after a third of them it covers any picture."""


class BrokenTiling(AssertionError):
    """A fault of Purfle's own: the areas do not tile the frame."""


@dataclass(frozen=True, slots=True)
class Tiling:
    """Arcs and faces (by face number), y up. `roughened`: share of the boundary that keeps to its pixel edges."""

    arcs: tuple[Arc, ...]
    faces: tuple[Polygon, ...]
    roughened: float


def tile(graph: ArcGraph, moved: Floats, noise: float, contrast: Floats | None = None) -> Tiling:
    """Smooth every arc, prove that arcs meet only in shared junctions, and put the faces together.

    `contrast` (k, k): how far apart the colours of two labels are, in levels; None: far.
    """
    strands = [strand_of(graph, chain, moved, (noise, _contrast_of(graph, chain, contrast))) for chain in graph.chains]
    lines, roughened = _smooth(graph, strands)
    height, width = graph.faces.shape
    flipped = [_y_up(line.points, height) for line in lines]
    curves = [tuple(_y_up(curve, height) for curve in line.curves) for line in lines]
    arcs = tuple(
        Arc(points, chain.left, chain.right, fitted)
        for points, chain, fitted in zip(flipped, graph.chains, curves, strict=True)
    )
    faces = tuple(_polygon(rings) for rings in _rings(graph.chains, flipped, len(graph.labels_of)))
    total = float(sum(face.area for face in faces))
    if abs(total - width * height) > SUM_OF_AREAS * width * height:
        raise BrokenTiling(f"areas sum to {total!r}, the frame is {width * height}")
    return Tiling(arcs, faces, roughened)


def _contrast_of(graph: ArcGraph, chain: Chain, contrast: Floats | None) -> float:
    if contrast is None or chain.on_frame:
        return np.inf
    return float(contrast[graph.labels_of[chain.left], graph.labels_of[chain.right]])


def _smooth(graph: ArcGraph, strands: list[Strand]) -> tuple[list[Line], float]:
    junctions = placed_junctions(graph, strands)
    rough = [np.zeros(len(strand.raw), bool) for strand in strands]
    lines = _lines(graph, [_course(graph, strand, junctions, None) for strand in strands])
    discs: list[tuple[float, float, float]] = []
    for turn in range(MOST_ROUNDS):
        places = _touches(graph.chains, lines)
        if len(places) == 0:
            places = _misplaced(graph, lines)
        if len(places) == 0:
            share = sum(int(flags.sum()) for flags in rough) / max(sum(len(flags) for flags in rough), 1)
            return lines, share
        discs = _grown(discs, places, turn)
        reverted = _inside(graph.junctions, discs)
        shifted = reverted & (junctions != graph.junctions).any(axis=1)
        junctions = np.where(reverted[:, None], graph.junctions, junctions)
        changed: list[int] = []
        for number, strand in enumerate(strands):
            flags = _inside(strand.raw, discs)
            chain = strand.chain
            at_shifted = not chain.closed and bool(shifted[chain.start] or shifted[chain.end])
            if at_shifted or (flags != rough[number]).any():
                rough[number] = flags
                changed.append(number)
        fresh = _lines(graph, [_course(graph, strands[number], junctions, rough[number]) for number in changed])
        for number, line in zip(changed, fresh, strict=True):
            lines[number] = line
    raise BrokenTiling("arcs still touch when all of them keep to their pixel edges")


def _course(graph: ArcGraph, strand: Strand, junctions: Floats, rough: Flags | None) -> Course:
    chain = strand.chain
    if chain.closed:
        return Course(strand, None, None, rough)
    raw = graph.junctions[[chain.start, chain.end]]
    return Course(strand, junctions[chain.start], junctions[chain.end], rough, raw)


def _lines(graph: ArcGraph, courses: list[Course]) -> list[Line]:
    """The line of each arc; the frame's own stretches follow it exactly."""
    fitted = iter(lines_of([course for course in courses if not course.strand.chain.on_frame]))
    return [
        _frame_line(course.strand.raw, course.start, course.end, graph.faces.shape)
        if course.strand.chain.on_frame
        else next(fitted)
        for course in courses
    ]


def _frame_line(raw: Floats, start: Floats | None, end: Floats | None, shape: tuple[int, ...]) -> Line:
    """A stretch of the frame: its ends and the frame's corners between them, exactly."""
    if start is None or end is None:
        points = np.concatenate([raw, raw[:1]])
    else:
        points = np.concatenate([start[None], raw, end[None]])
    height, width = shape
    turns = np.nonzero((np.diff(points, axis=0) != 0.0).all(axis=1))[0]
    corners = []
    for turn in turns:
        (x0, y0), (x1, y1) = points[turn], points[turn + 1]
        both = ((x0, y1), (x1, y0))
        corners.append(next(corner for corner in both if corner[0] in (0.0, width) and corner[1] in (0.0, height)))
    if start is None or end is None:
        line = np.array([*corners, corners[0]], np.float64)
    else:
        line = np.array([start, *corners, end], np.float64)
    return Line(line, tuple(line[number : number + 2] for number in range(len(line) - 1)))


def _touches(chains: tuple[Chain, ...], lines: list[Line]) -> Floats:
    """Places (n, 2) where an arc touches itself, or another arc anywhere but in a junction of both."""
    shapes = shapely.linestrings(
        np.concatenate([line.points for line in lines]),
        indices=np.repeat(np.arange(len(lines)), [len(line.points) for line in lines]),
    )
    places: list[Floats] = []
    for number in np.nonzero(~shapely.is_simple(shapes))[0].tolist():
        places.append(_self_touches(shapes[number]))
    tree = shapely.STRtree(shapes)
    first, second = tree.query(shapes, predicate="intersects")
    once = first < second
    first, second = first[once], second[once]
    common = shapely.intersection(shapes[first], shapes[second])
    for one, other, meeting in zip(first.tolist(), second.tolist(), common, strict=True):
        shared = {chains[one].start, chains[one].end} & {chains[other].start, chains[other].end} - {-1}
        allowed = [lines[one].points[0 if chains[one].start == junction else -1] for junction in shared]
        points = shapely.get_coordinates(meeting)
        lies_along = shapely.length(meeting) > 0.0
        legal = np.array([any((point == at).all() for at in allowed) for point in points], bool)
        if lies_along or not legal.all():
            places.append(points if lies_along else points[~legal])
    return np.concatenate(places) if places else np.zeros((0, 2))


def _self_touches(shape: shapely.LineString) -> Floats:
    ends = np.concatenate([shapely.get_coordinates(part)[[0, -1]] for part in shapely.get_parts(shapely.node(shape))])
    places, count = np.unique(ends, axis=0, return_counts=True)
    crossed = places[count > 2]
    return crossed if len(crossed) else shapely.get_coordinates(shape)


def _grown(discs: list[tuple[float, float, float]], places: Floats, turn: int) -> list[tuple[float, float, float]]:
    """Discs around all places; where one was not enough it doubles."""
    grown = list(discs)
    # places in one neighbourhood share a disc
    for x, y in np.unique(np.round(places), axis=0).tolist():
        old = [radius for u, v, radius in discs if np.hypot(u - x, v - y) < radius + 1.0]
        grown.append((x, y, max([2.0 * radius for radius in old], default=FIRST_DISC_PX * 1.3**turn)))
    return grown


def _inside(points: Floats, discs: list[tuple[float, float, float]]) -> Flags:
    if len(points) == 0:
        return np.zeros(0, bool)
    found = np.zeros(len(points), bool)
    for x, y, radius in discs:
        found |= np.hypot(points[:, 0] - x, points[:, 1] - y) < radius
    return found


def _y_up(line: Floats, height: int) -> Floats:
    return np.stack([line[:, 0], height - line[:, 1]], axis=1)


def _misplaced(graph: ArcGraph, lines: list[Line]) -> Floats:
    """Places of faces that came out inside out: arcs that leave a junction in the wrong order, rings in the wrong face.

    None of them touches, so only the faces show it.
    """
    height = graph.faces.shape[0]
    flipped = [_y_up(line.points, height) for line in lines]
    places: list[Floats] = []
    for number, rings in enumerate(_rings(graph.chains, flipped, len(graph.labels_of))):
        if _outer(rings) is None or not _polygon(rings).is_valid:
            mine = [chain for chain in graph.chains if number in (chain.left, chain.right)]
            ends = [graph.junctions[end] for chain in mine for end in (chain.start, chain.end) if end >= 0]
            closed = [graph.raw[chain.crossings] for chain in mine if chain.closed]
            places += [end[None] for end in ends] + closed
    return np.concatenate(places) if places else np.zeros((0, 2))


def _rings(chains: tuple[Chain, ...], lines: list[Floats], count: int) -> list[list[Floats]]:
    """The rings of each face, put together from its arcs; each arc is walked with the face on its left."""
    around: list[list[tuple[int, int, Floats]]] = [[] for _ in range(count)]
    for chain, line in zip(chains, lines, strict=True):
        if chain.left != OUTSIDE:
            around[chain.left].append((chain.start, chain.end, line))
        if chain.right != OUTSIDE:
            around[chain.right].append((chain.end, chain.start, line[::-1]))
    return [_rings_of(arcs) for arcs in around]


def _rings_of(arcs: list[tuple[int, int, Floats]]) -> list[Floats]:
    rings = [line for start, _, line in arcs if start < 0]
    # at a junction all faces differ, so each face leaves every junction by one arc only
    leaving = {start: (end, line) for start, end, line in arcs if start >= 0}
    while leaving:
        first = min(leaving)
        here, parts = first, []
        while True:
            here, line = leaving.pop(here)
            parts.append(line[:-1])
            if here == first:
                break
        ring = np.concatenate(parts)
        rings.append(np.concatenate([ring, ring[:1]]))
    return rings


def _outer(rings: list[Floats]) -> int | None:
    """Which ring is the outer one: the only one that runs counter-clockwise. None where that is not so."""
    outer = [number for number, ring in enumerate(rings) if _signed_area(ring) > 0.0]
    return outer[0] if len(outer) == 1 else None


def _polygon(rings: list[Floats]) -> Polygon:
    outer = _outer(rings)
    if outer is None:
        raise BrokenTiling("a face without one outer ring")
    return Polygon(rings[outer], [ring for number, ring in enumerate(rings) if number != outer])


def _signed_area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() / 2.0)
