"""What is left between recesses, edges and the other face; each doubt is a finding with its place."""

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely.ops import nearest_points

from purfle.board.live_edges import ToEdge, not_straight_where_open, over_live_edge, to_live_edge
from purfle.board.placing import in_board
from purfle.board.walls import Cut, direction_in_words, wall_findings
from purfle.errors import Fault
from purfle.model.board import Board, Fitting, Inlay, WoodLeft
from purfle.model.findings import FACES, Face, Finding
from purfle.model.pieces import Region
from purfle.tolerances import SAME_PLACE
from purfle.units import in_mm
from purfle.wood import least_wall, practice

Point = tuple[float, float]
MOST_TAKEN = 0.5
"""Share of the thickness that a recess may take. Source: practice table, 'board left under a recess', from memory."""
STAGE = "board"
MOVE_IT = "move it, or make it smaller"


@dataclass(frozen=True, slots=True)
class Recess:
    """One recess of either face, whatever goes into it. `label` is unique on the board; `region` in the board frame.

    `slope`: how far its walls go inward for each mm of depth, 0 for upright ones. `fitting`: the name of the hardware
    that it is for, empty for inlays; `line`: where the job file speaks of that, 0: nowhere.
    """

    label: str
    face: Face
    region: Region
    depth: float
    kind: str
    open_edge: bool
    slope: float = 0.0
    fitting: str = ""
    line: int = 0


def recesses_of(inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...]) -> tuple[Recess, ...]:
    """All recesses of the board: inlays first. A name that occurs twice gets its number behind it.

    A recess that is cut into inserts lies within theirs, so it leaves no less of the board: `hosts` looks at it.
    """
    inlays = in_board(inlays)
    named = [*((inlay.name, inlay.name) for inlay in inlays), *((f.name, f"{f.name} {f.number}") for f in fittings)]
    names = [name for name, _ in named]
    labels = [name if names.count(name) == 1 else longer for name, longer in named]
    slopes = [inlay.fit.walls.slope if inlay.fit.walls is not None else 0.0 for inlay in inlays]
    cut: list[tuple[Face, Region, float, str, bool, float, str, int]]
    cut = [(i.face, i.recess, i.depth, i.kind, False, by, "", 0) for i, by in zip(inlays, slopes, strict=True)]
    cut += [(f.face, f.wanted, f.depth, f.kind, f.open_edge, 0.0, f.name, f.line) for f in fittings]
    return tuple(Recess(label, *rest) for label, rest in zip(labels, cut, strict=True))


def where_of(words: str, *lines: int) -> str:
    """A place in words, with the lines of the job file where they are known.

    >>> where_of("left hinge", 12), where_of("left hinge", 0), where_of("two hinges", 12, 20)
    ('left hinge, job.toml line 12', 'left hinge', 'two hinges, job.toml lines 12 and 20')
    """
    known = [str(line) for line in dict.fromkeys(lines) if line]
    return f"{words}, job.toml line{'s' * (len(known) > 1)} {' and '.join(known)}" if known else words


def faults_of(board: Board, recesses: tuple[Recess, ...]) -> list[Fault]:
    """What cannot be cut at all: off the board, without depth or through it, or short of the edge it runs out over."""
    over_edges = [(recess, over) for recess in recesses if (over := _over_the_edge(board, recess))]
    faults = [_off_together(group) for group in _by_table(over_edges)]
    for recess in recesses:
        if not 0 < recess.depth < board.thickness:
            what = f"a recess {in_mm(recess.depth)} deep cannot be cut into {in_mm(board.thickness)}"
            faults.append(
                Fault(
                    what,
                    where_of(recess.label, recess.line),
                    f"give a depth above 0 and below {in_mm(board.thickness)}",
                )
            )
        short = min(distance for distance, _, _ in _to_straight_edges(board, recess.region, False))
        if recess.open_edge and board.shape is not None:
            faults += not_straight_where_open(board, recess.label, recess.region)
        if recess.open_edge and not _over_the_edge(board, recess) and short > SAME_PLACE:
            what = f"{recess.label} shall run out over an edge, but ends {short:.1f} mm before it"
            faults.append(Fault(what, where_of(recess.label, recess.line), "give 0 as its distance from that edge"))
    return faults


def off_board(board: Board, recesses: tuple[Recess, ...]) -> frozenset[str]:
    """The names of fittings that do not lie on the board."""
    return frozenset(one.fitting for one in recesses if one.fitting and _over_the_edge(board, one))


Over = tuple[Recess, str]


def _by_table(over: list[Over]) -> list[list[Over]]:
    """Recesses over an edge, those that one table of the job file asks for together."""
    groups: dict[object, list[Over]] = {}
    for recess, words in over:
        groups.setdefault(recess.line or recess.label, []).append((recess, words))
    return list(groups.values())


def _off_together(group: list[Over]) -> Fault:
    (first, words), many = group[0], len(group)
    if many == 1:
        return Fault(f"{first.label} does not lie on the board", where_of(words, first.line), MOVE_IT)
    labels = [recess.label for recess, _ in group]
    places = "; ".join(f"{recess.label} {over}" for recess, over in group)
    what = f"{', '.join(labels[:-1])} and {labels[-1]} do not lie on the board"
    return Fault(what, where_of(places, first.line), "move them, or make them smaller")


def _over_the_edge(board: Board, recess: Recess) -> str:
    """By how much it stands over which edge, in words; empty if it lies on the board."""
    if board.shape is not None and not recess.open_edge:
        return over_live_edge(board.shape, recess.region)
    left, low, right, high = recess.region.bounds
    over = {
        "left edge B": -left,
        "front edge A": -low,
        "right edge": right - board.length,
        "back edge": high - board.width,
    }
    # a recess that may run out touches an edge, any other must keep off it
    least = SAME_PLACE if recess.open_edge else -SAME_PLACE
    return ", ".join(
        f"{amount:.1f} mm over the {edge}" if amount > SAME_PLACE else f"touching the {edge}"
        for edge, amount in over.items()
        if amount > least
    )


def findings_of(board: Board, recesses: tuple[Recess, ...], least_left: float) -> list[Finding]:
    """What the maker must mend (stop) or decide (look)."""
    findings = [found for one in recesses for found in _alone(board, one, least_left)]
    for one, other in combinations(recesses, 2):
        findings += _same_face(one, other) if one.face == other.face else _both_faces(board, one, other, least_left)
    return findings


def walls_between(board: Board, recesses: tuple[Recess, ...]) -> list[Finding]:
    """The walls between recesses of one face that are too thin."""
    findings: list[Finding] = []
    for face in FACES:
        cuts = [Cut(one.label, one.region, one.depth, one.slope) for one in recesses if one.face == face]
        findings += wall_findings(board, face, cuts)
    return findings


def _alone(board: Board, recess: Recess, least_left: float) -> list[Finding]:
    findings: list[Finding] = []
    left = board.thickness - recess.depth
    middle = _inside(recess.region)
    if left < least_left:
        what = f"only {left:.1f} mm of wood is left under {recess.label}, and {in_mm(least_left)} is asked for"
        where = where_of(recess.label, recess.line)
        findings.append(Finding("stop", what, where, "cut it less deep", STAGE, middle, recess.face))
    share = recess.depth / board.thickness
    most = float(practice("key", "butterfly key depth as share").high or 1) if recess.kind == "key" else MOST_TAKEN
    if share > most:
        what = f"{recess.label} takes {share:.0%} of the thickness; {most:.0%} is the most by custom"
        findings.append(
            Finding("look", what, recess.label, "cut it less deep, or take a thicker board", STAGE, middle, recess.face)
        )
    return [*findings, *_near_an_edge(board, recess)]


def _near_an_edge(board: Board, recess: Recess) -> list[Finding]:
    """What is left to the edge at which that is least of what it should be: by custom, and as a wall of its height."""
    custom = float(practice("recess", "inlay edge to board edge/end").low or 0)
    short: list[tuple[float, Finding]] = []
    for distance, place, along in _to_edges(board, recess.region, recess.open_edge):
        runs = abs((along - board.grain + 90.0) % 180.0 - 90.0)
        near = max(custom, least_wall(recess.depth, runs))
        if distance < near:
            wall = f", as a wall {in_mm(recess.depth)} high {direction_in_words(runs)}" if near > custom else ""
            what = f"{recess.label} leaves {distance:.1f} mm to the edge, which may break out below {near:.1f} mm{wall}"
            mend = f"move it inward by {near - distance:.1f} mm" + (", or cut it less deep" if wall else "")
            short.append((distance / near, Finding("look", what, recess.label, mend, STAGE, place, recess.face)))
    return [min(short, key=lambda one: one[0])[1]] if short else []


def _same_face(one: Recess, other: Recess) -> list[Finding]:
    if _apart(one.region, other.region) > SAME_PLACE:
        return []
    distance = one.region.distance(other.region)
    where = where_of(f"{one.label} and {other.label}, {one.face}", one.line, other.line)
    if distance <= SAME_PLACE:
        what = f"{one.label} and {other.label} run into each other"
        place = _inside(one.region.intersection(other.region))
        return [Finding("stop", what, where, "move one of them", STAGE, place, one.face)]
    return []


def _both_faces(board: Board, one: Recess, other: Recess, least_left: float) -> list[Finding]:
    if _apart(one.region, other.region) > max(least_left, 0.0):
        return []
    wood, place = wood_between(board, one, other)
    if wood >= least_left:
        return []
    where = where_of(f"{one.label} ({one.face}) and {other.label} ({other.face})", one.line, other.line)
    if wood <= 0:
        what = f"{one.label} and {other.label} meet inside the board"
    else:
        between = f"between {one.label} and {other.label}"
        what = f"only {wood:.1f} mm of wood is left {between}; {in_mm(least_left)} is asked for"
    return [Finding("stop", what, where, "move one of them, or cut less deep", STAGE, place)]


def wood_between(board: Board, one: Recess, other: Recess) -> tuple[float, Point]:
    """Wood left between two recesses of opposite faces, and where.

    Where they overlap in plan it is what both depths leave of the thickness (less than 0: they meet). Beside each
    other it is the straight way from the bottom edge of one to that of the other.
    """
    below = board.thickness - one.depth - other.depth
    beside = float(one.region.distance(other.region))
    if beside <= SAME_PLACE:
        return below, _inside(one.region.intersection(other.region))
    return math.hypot(beside, max(below, 0.0)), _between(one.region, other.region)


def wood_left(board: Board, recesses: tuple[Recess, ...]) -> tuple[WoodLeft, ...]:
    """The least wood left at each recess: to the other face, or to what is cut from there."""
    return tuple(_least_left(board, one, recesses) for one in recesses)


def _least_left(board: Board, one: Recess, recesses: tuple[Recess, ...]) -> WoodLeft:
    least = WoodLeft(one.label, board.thickness - one.depth, _inside(one.region), "the other face")
    for other in recesses:
        # what stands further off than that, by the boxes around both, need not be measured
        if other.face != one.face and _apart(one.region, other.region) <= max(least.left, 0.0):
            wood, place = wood_between(board, one, other)
            if wood < least.left:
                least = WoodLeft(one.label, wood, place, other.label)
    return least


def _apart(one: Region, other: Region) -> float:
    """How far apart two regions are at least: the distance of the boxes around them."""
    (x0, y0, x1, y1), (u0, v0, u1, v1) = one.bounds, other.bounds
    return math.hypot(max(u0 - x1, x0 - u1, 0.0), max(v0 - y1, y0 - v1, 0.0))


def nearest_across(recesses: tuple[Recess, ...]) -> tuple[tuple[str, str, float], ...]:
    """For each recess the nearest one of the other face and their distance in plan (0 where they overlap)."""
    nearest: list[tuple[str, str, float]] = []
    for one in recesses:
        ways = [(float(one.region.distance(it.region)), it.label) for it in recesses if it.face != one.face]
        if ways:
            distance, label = min(ways)
            nearest.append((one.label, label, distance))
    return tuple(nearest)


def _to_edges(board: Board, region: Region, open_edge: bool) -> list[ToEdge]:
    """The same, for a board with edges of any shape the nearest place alone."""
    if board.shape is not None:
        return to_live_edge(board, region, open_edge)
    return _to_straight_edges(board, region, open_edge)


def _to_straight_edges(board: Board, region: Region, open_edge: bool) -> list[ToEdge]:
    """For each edge the distance to it, where on the region, and how the edge runs, in degrees.

    Edges that the region runs out over don't count if `open_edge`.
    """
    corners = shapely.get_coordinates(region)
    x, y = corners.T
    ways = np.stack([x, y, board.length - x, board.width - y])
    found: list[ToEdge] = []
    for way, runs in zip(ways, (90.0, 0.0, 90.0, 0.0), strict=True):
        nearest = corners[int(way.argmin())]
        if not open_edge or way.min() > SAME_PLACE:
            found.append((float(way.min()), (float(nearest[0]), float(nearest[1])), runs))
    return found


def _inside(region: Region) -> Point:
    """The middle of the largest part of a region if it lies inside, else a place well inside; of a line, one on it."""
    largest = max(shapely.get_parts(region), key=lambda part: (part.area, part.length))
    middle = largest.centroid if largest.contains(largest.centroid) else largest.representative_point()
    return float(middle.x), float(middle.y)


def _between(one: Region, other: Region) -> Point:
    a, b = nearest_points(one, other)
    return (a.x + b.x) / 2, (a.y + b.y) / 2
