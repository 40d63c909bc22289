"""The holes that fittings are held by: where they are drilled, how wide and how deep, and what is left round them."""

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from shapely import Point
from shapely.ops import nearest_points

from purfle.board.clearances import Recess, where_of
from purfle.board.hole_words import place_words, sold_below, told_together
from purfle.board.near_edges import near_an_edge
from purfle.board.placing import middle_of
from purfle.errors import Fault
from purfle.model.board import Board, Hole, HoleKind
from purfle.model.findings import FACES, Face, Finding
from purfle.model.job import FittingRule, ScrewRule
from purfle.tolerances import SAME_PLACE
from purfle.units import in_mm
from purfle.wood import gravity_of, is_softwood, pilot_hole, practice, withdrawal
from purfle.wood.screws import SAFE_SHARE

STAGE = "board"
POUND_FORCE = 4.4482216
"""N in one pound of force."""
Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Cover:
    """Wood left beyond the bottom of a hole: how much, where, and against what; less than 0: it comes through."""

    left: float
    place: Spot
    against: str


def holes_of(board: Board, rules: Sequence[FittingRule]) -> tuple[Hole, ...]:
    """Every hole of all fittings, numbered on each face in the order in which they are marked: row by row from A."""
    found = [hole for rule in rules for hole in _of_fitting(board, rule)]
    numbered: list[Hole] = []
    for face in FACES:
        ordered = sorted((h for h in found if h.face == face), key=lambda h: (round(h.centre[1], 3), h.centre[0]))
        numbered += [replace(hole, number=number) for number, hole in enumerate(ordered, 1)]
    return tuple(numbered)


def _of_fitting(board: Board, rule: FittingRule) -> Iterator[Hole]:
    x, y = middle_of(board, rule)
    if rule.insert is not None:
        own = rule.kind == "threaded insert"
        name = rule.name if own else f"insert of {rule.name}"
        depth = rule.depth + rule.insert.depth
        insert = Hole(0, "threaded insert", name, rule.name, rule.face, (x, y), rule.insert.root, 0.0, depth)
        yield replace(insert, body=rule.insert.outside, floor=rule.depth, line=rule.line)
    if rule.screws is None:
        return
    screws, many = rule.screws, len(rule.screws.places) > 1
    kind: HoleKind = "screw" if not screws.is_through else "cable hole" if rule.kind == "cable hole" else "bolt"
    for number, (dx, dy) in enumerate(screws.places, 1):
        own = kind == "cable hole"
        name = rule.name if own else f"screw {number} of {rule.name}" if many else f"screw of {rule.name}"
        drill, depth = _drilled(board, rule, screws)
        made = Hole(0, kind, name, rule.name, rule.face, (x + dx, y + dy), drill, screws.shank, depth)
        yield replace(made, floor=rule.depth, is_through=screws.is_through, line=rule.line, long=screws.length)


def _drilled(board: Board, rule: FittingRule, screws: ScrewRule) -> tuple[float, float]:
    """Diameter and depth of a screw's hole. Its head is flush with the hardware; the hole ends where its point does."""
    if screws.is_through:
        return screws.shank, board.thickness
    drill = screws.pilot if screws.pilot is not None else pilot_hole(screws.root, is_softwood(board.wood))
    return drill, rule.depth - rule.thickness + screws.length


def with_cover(board: Board, holes: tuple[Hole, ...], recesses: Sequence[Recess]) -> tuple[Hole, ...]:
    """The holes with the wood that is left beyond each."""
    return tuple(
        hole if hole.is_through else replace(hole, left=cover_of(board, hole, recesses, holes).left) for hole in holes
    )


def hole_faults(board: Board, holes: Sequence[Hole], off: Collection[str] = ()) -> list[Fault]:
    """Holes that cannot be drilled at all: off the board, or with a screw that does not reach the wood.

    `off`: fittings that are told as off the board already, so that their holes need no word of their own.
    """
    found: list[tuple[Hole, Finding]] = []
    for hole in holes:
        where = where_of(f"{hole.name}, {hole.face}", hole.line)
        if hole.fitting not in off and not board.outline.contains(hole.room):
            what = f"{hole.name} does not lie on the board"
            found.append((hole, Finding("stop", what, where, "move it inward", STAGE)))
        elif hole.depth <= hole.floor + SAME_PLACE:
            what, mend = f"{hole.name} does not reach the wood", "take a longer screw, or check the thickness"
            found.append(
                (hole, Finding("stop", f"{what} through its hardware", where, f"{mend} of the hardware", STAGE))
            )
    return faults_told(told_together(found))


def through_faults(board: Board, holes: Sequence[Hole]) -> list[Fault]:
    """Screws and inserts that come through the board wherever they stand: told with what else is off it."""
    deep = [(hole, one) for hole in holes for one in _covered(board, hole, (), ()) if one.severity == "stop"]
    return faults_told(told_together([one for one in deep if one[0].depth >= board.thickness]))


def faults_told(findings: Sequence[Finding]) -> list[Fault]:
    """The same as faults of the input."""
    return [Fault(one.what, one.where, one.mend) for one in findings]


def hole_findings(board: Board, holes: Sequence[Hole], recesses: Sequence[Recess]) -> list[Finding]:
    """What the maker must mend or decide about holes: what they come through, meet, or stand too near to."""
    covered = [(hole, one) for hole in holes for one in _covered(board, hole, holes, recesses)]
    found = [*told_together(covered), *(one for hole in holes for one in _met(hole, recesses))]
    for one, other in combinations(holes, 2):
        found += _run_together(one, other)
    return found + told_together([(hole, one) for hole in holes for one in near_an_edge(board, hole, recesses)])


def cover_of(board: Board, hole: Hole, recesses: Sequence[Recess], holes: Sequence[Hole] = ()) -> Cover:
    """The least wood beyond the bottom of a hole: to the other face, or to what is cut or drilled from there."""
    below = board.thickness - hole.depth
    least = Cover(below, hole.centre, "the other face")
    others = [(one.label, one.region, one.depth) for one in recesses if one.face != hole.face]
    others += [(one.name, one.room, one.depth) for one in holes if one.face != hole.face]
    for label, region, depth in others:
        beside, between = float(hole.room.distance(region)), below - depth
        left = between if beside <= SAME_PLACE else math.hypot(beside, max(between, 0.0))
        if left < least.left:
            near = nearest_points(hole.room, region)[0] if beside > SAME_PLACE else Point(hole.centre)
            least = Cover(left, (near.x, near.y), label)
    return least


def _covered(board: Board, hole: Hole, holes: Sequence[Hole], recesses: Sequence[Recess]) -> Iterator[Finding]:
    if hole.is_through:
        return
    figure = practice("screw", "least cover between")
    least, typical = float(figure.low or 0.0), float(figure.typical or 0.0)
    cover = cover_of(board, hole, recesses, holes)
    if cover.left >= typical:
        return
    over = in_mm(round(typical - cover.left, 1))
    bottom = "the point of" if hole.kind == "screw" else "the bottom of"
    where = where_of(f"{hole.name}, {hole.face}, {place_words(cover.place)}", hole.line)
    other = cover.against == "the other face"
    if cover.left <= 0.0:
        into = "comes through the board" if other else f"runs into {cover.against} on the other face"
        what = f"{hole.name} {into}"
    else:
        against = "the other face" if other else f"{cover.against} on the other face"
        what = f"only {cover.left:.1f} mm of wood is left between {bottom} {hole.name} and {against}"
        what += f"; {in_mm(least if cover.left < least else typical)} are usual (from memory)"
    away = "" if other else ", move it from under there"
    shorter = "a shorter screw" if hole.kind == "screw" else "a shorter insert"
    sold = sold_below(hole.long, typical - cover.left, hole.long - hole.depth + hole.floor)
    mend = f"take {shorter}, by {over} at least{sold}{away}, or a board thicker by {over}"
    yield Finding("stop" if cover.left < least else "look", what, where, mend, STAGE, cover.place, hole.face)


def _met(hole: Hole, recesses: Sequence[Recess]) -> Iterator[Finding]:
    """Recesses that a hole runs into: any of its face but its fitting's; those of the other that it goes through."""
    for recess in recesses:
        if recess.fitting == hole.fitting or (recess.face != hole.face and not hole.is_through):
            continue
        if hole.is_through and recess.kind in ("round", "oblong") and recess.region.contains(hole.room):
            continue  # hardware sunk round the mouth of a cable hole
        if hole.room.distance(recess.region) <= SAME_PLACE:
            what = f"{hole.name} and {recess.label} run into each other"
            where = where_of(f"{hole.name}, {hole.face}, {place_words(hole.centre)}", hole.line, recess.line)
            yield Finding("stop", what, where, "move one of them", STAGE, hole.centre, hole.face)


def _run_together(one: Hole, other: Hole) -> Iterator[Finding]:
    """Two holes of one face, or one right through and any other, that meet in plan."""
    if one.face != other.face and not (one.is_through or other.is_through):
        return
    if math.dist(one.centre, other.centre) <= (max(one.drill, one.body) + max(other.drill, other.body)) / 2:
        what = f"{one.name} and {other.name} run into each other"
        where = where_of(f"{one.name} and {other.name}, {one.face}, {place_words(one.centre)}", one.line, other.line)
        yield Finding("stop", what, where, "move one of them", STAGE, one.centre, one.face)


def withdrawal_notes(board: Board, rules: Sequence[FittingRule], holes: Sequence[Hole]) -> list[Finding]:
    """What pulls the screws of a fitting out, where that is asked for: at once, and what to count on."""
    notes: list[Finding] = []
    for rule in rules:
        if rule.screws is None or not rule.screws.withdrawal:
            continue
        its = [hole for hole in holes if hole.fitting == rule.name and hole.kind == "screw"]
        gravity, where = gravity_of(board.wood), where_of(f"{rule.name}, {rule.face}", rule.line)
        if gravity is None:
            what = f"what pulls the screws of {rule.name} out is not reckoned: nobody gives the density of {board.wood}"
            notes.append(Finding("note", what, where, "give density in its [[wood]] of the shop file", STAGE))
            continue
        force = sum(withdrawal(gravity, rule.screws.shank, one.depth - one.floor) for one in its)
        safe = force / SAFE_SHARE
        what = (
            f"{len(its)} {'screw' if len(its) == 1 else 'screws'} of {rule.name}: {_force(force)} pulls them out of "
            f"side grain at once; count on {_force(safe)} for good"
        )
        mend = "Wood Handbook chapter 8; a sixth of it for good, from memory; in end grain expect less"
        notes.append(Finding("note", what, where, mend, STAGE))
    return notes


def _force(newtons: float) -> str:
    return f"{newtons:.0f} N ({newtons / POUND_FORCE:.0f} lbf)"


def of_face(holes: Sequence[Hole], face: Face) -> tuple[Hole, ...]:
    """The holes of one face, in their order."""
    return tuple(hole for hole in holes if hole.face == face)
