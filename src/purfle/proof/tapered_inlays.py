"""Inlays with tapered walls, from the files of a folder: each insert turned over into its recess.

The programs of tapered walls are apart from all others. What they take away is known by sections at several depths
(`tapered`), each insert with its recess; here they are found, paired, and looked through for wood that is cut where
there is no line.
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.errors import ProgramError
from purfle.geometry.pose import Pose
from purfle.model.findings import Finding
from purfle.model.proof import SeamReadBack
from purfle.model.tapered import PLATE
from purfle.proof.assembling import all_cut_are_placed
from purfle.proof.at_fault import cut_away
from purfle.proof.card import Card, InlayOnCard, PartOnCard
from purfle.proof.cones import ConeRun, cone_section
from purfle.proof.empty_places import tell_empty
from purfle.proof.found import look, stop
from purfle.proof.holes import Hollow
from purfle.proof.regions import Sandwich, grown, inside, polygons
from purfle.proof.shelf import CARD
from purfle.proof.tapered import TaperedFit, TaperedPair, TaperedSide, fit_tapered
from purfle.proof.walls import Accounts
from purfle.tolerances import DEPTH_AS_CUT, JUST_BELOW, NO_WOOD, OUTLINES_AGREE, TAPERED_AS_CUT

_MEND = "write the files again from the job; do not cut with these"
Runs = dict[int, tuple[ConeRun, ...]]
"""The programs of tapered walls by set-up, in running order."""


@dataclass(frozen=True, slots=True)
class TaperedInlay:
    """An inlay with tapered walls put together: its seam, what was found, what it takes out of the board."""

    seam: SeamReadBack | None
    findings: tuple[Finding, ...]
    hollow: Hollow | None


def check_tapered(card: Card, inlay: InlayOnCard, accounts: dict[int, Accounts], runs: Runs) -> TaperedInlay:
    """Every insert against its recess, at every depth; every place of it filled; nothing cut beside the lines."""
    account = accounts[inlay.set_up]
    regions = [region for line in inlay.lines if (region := _outline(account, line)) is not None]
    cut = runs.get(inlay.set_up, ())
    where = f"inlay '{inlay.name}', set-up {inlay.set_up}"
    if len(regions) < len(inlay.lines) or not cut:
        where += _files(account, missing_lines=len(regions) < len(inlay.lines))
        return TaperedInlay(None, (stop("the recess with tapered walls is not cut", where, _MEND),), None)
    recess = shapely.union_all(regions)
    rooms = polygons(recess)
    findings: list[Finding] = [*_beside_lines(account, cut), *_plates(card, inlay, accounts)]
    for number in sorted({part.set_up for part in inlay.parts}):
        # an offcut may hold inserts of several orders: what concerns all of it is told with the first of them
        if inlay is next(one for one in card.inlays if number in _hanging(one)):
            findings += _loose(card, number)
            findings += _beside_plates(card, accounts[number], runs.get(number, ()))
    fits: list[tuple[TaperedFit, int]] = []
    filled: set[int] = set()
    for part in inlay.parts:
        found = _put_in(card, inlay, part, accounts, (rooms, cut, runs.get(part.set_up, ())))
        findings += found.findings
        fits += [(found.fit, found.room)] if found.fit is not None else []
        filled |= {found.room} if not part.spare else set()
    bare = [account.set_up.to_board.region(rooms[number]) for number in sorted(set(range(len(rooms))) - filled)]
    if bare and all_cut_are_placed(card, accounts) and not any(one.severity == "stop" for one in findings):
        findings.append(tell_empty(inlay.name, shapely.union_all(bare)))
    else:
        # a part that is cut, or lies wrong, leaves a place empty too: then the files are at fault, not a want of wood
        what = f"no part lies in a place of '{inlay.name}'"
        findings += [stop(what, f"{where}, {CARD}, {_on_board(inside(one))}", _MEND, inside(one)) for one in bare]
    deepest = max(run.reading.deepest for run in cut)
    hollow = Hollow(f"inlay '{inlay.name}'", inlay.face, account.set_up.to_board.region(recess), deepest)
    return TaperedInlay(_seam(inlay, account, [fit for fit, _ in fits], recess), tuple(findings), hollow)


@dataclass(frozen=True, slots=True)
class _PutIn:
    fit: TaperedFit | None
    room: int
    findings: tuple[Finding, ...]


def _put_in(
    card: Card,
    inlay: InlayOnCard,
    part: PartOnCard,
    accounts: dict[int, Accounts],
    place: tuple["np.ndarray[tuple[int], np.dtype[np.object_]]", tuple[ConeRun, ...], tuple[ConeRun, ...]],
) -> _PutIn:
    """One insert turned over into the room that it lies in; `place`: all rooms, their programs, those of the insert."""
    rooms, cut, around = place
    where = f"inlay '{inlay.name}', {part.label}, line '{part.line}' of set-up {part.set_up}"
    outline = _outline(accounts[part.set_up], part.line)
    if outline is None or not around:
        where += _files(accounts[part.set_up], missing_lines=outline is None)
        return _PutIn(None, -1, (stop("the insert with tapered walls is not cut", where, _MEND),))
    to_recess = part.to_board.then(accounts[inlay.set_up].set_up.to_board.inverse())
    lies = to_recess.region(outline)
    room = int(np.argmax(shapely.area(shapely.intersection(rooms, lies))))
    spot = accounts[inlay.set_up].set_up.to_board.point(*inside(lies))
    if not to_recess.mirrored:
        what = "the insert would lie with its finished face down"
        return _PutIn(None, room, (stop(what, f"{where}, {CARD}, {_on_board(spot)}", _MEND, spot),))
    off = Sandwich(rooms[room], OUTLINES_AGREE).difference(lies)
    if not off.nothing:
        spot = accounts[inlay.set_up].set_up.to_board.point(*off.worst)
        what = "the insert's outline is not that of the place that it lies in"
        return _PutIn(None, room, (stop(what, f"{where}, {CARD}, {_on_board(spot)}", _MEND, spot),))
    assert inlay.walls is not None
    sides = (
        TaperedSide(f"the recess for {part.label}", rooms[room], cut),
        TaperedSide(part.label, outline, around),
    )
    try:
        fit = fit_tapered(TaperedPair(inlay.walls, *sides, to_recess))
    except ProgramError as lost:
        return _PutIn(None, room, tuple(stop(one.what, one.where, one.mend) for one in lost.faults))
    to_board = accounts[inlay.set_up].set_up.to_board
    found = tuple(
        replace(one, where=f"{where}: {one.where}", place=None if one.place is None else to_board.point(*one.place))
        for one in fit.findings
    )
    return _PutIn(fit, room, found)


def _on_board(place: tuple[float, float]) -> str:
    return f"at {place[0]:.2f}, {place[1]:.2f} mm on the board"


def _files(account: Accounts, missing_lines: bool) -> str:
    """The files at fault where something is not cut: those of the outlines, or else the programs."""
    set_up = account.set_up
    programs = ", ".join(program.file for program in set_up.programs if program.tapered)
    return f": {set_up.svg}, {set_up.dxf}" if missing_lines else f": {programs or CARD}"


def _outline(account: Accounts, line: str) -> BaseGeometry | None:
    """The outline of a line by its files, which were held against each other."""
    for kind in ("svg", "dxf"):
        region = account.region(kind, line)
        if region is not None and not region.is_empty:
            return region
    return None


def _beside_lines(account: Accounts, cut: tuple[ConeRun, ...]) -> list[Finding]:
    """What the programs of tapered walls cut into the board where none of their lines is."""
    lines = [line.id for line in account.set_up.lines if line.tapered]
    return _stray(account, cut, lines, account.set_up.to_board)


def _hanging(inlay: InlayOnCard) -> set[int]:
    """The set-ups in which inserts of an inlay hang on plates."""
    return {part.set_up for part in inlay.parts if part.plate}


def _beside_plates(card: Card, account: Accounts, cut: tuple[ConeRun, ...]) -> list[Finding]:
    """What they cut into an offcut beside the plates: other parts may lie there."""
    number = account.set_up.number
    plates = [part.plate for one in card.inlays for part in one.parts if part.set_up == number and part.plate]
    return _stray(account, cut, plates, None)


def _stray(account: Accounts, cut: tuple[ConeRun, ...], lines: list[str], to_board: Pose | None) -> list[Finding]:
    """What is cut at the face beside some lines of a set-up."""
    regions = [region for line in lines if (region := _outline(account, line)) is not None]
    top = shapely.union_all([cone_section(run, JUST_BELOW) for run in cut]).intersection(account.set_up.outline)
    beside = top.difference(grown(shapely.union_all(regions), TAPERED_AS_CUT))
    worst = max(polygons(beside), key=lambda part: float(part.area), default=Polygon())
    if worst.area <= NO_WOOD:
        return []
    place = inside(worst)
    what = f"the program cuts {beside.area:.3f} mm2 of wood where there is no line"
    spot = f"at {place[0]:.2f}, {place[1]:.2f} mm of set-up {account.set_up.number}"
    where = f"{cut_away(cut, place, JUST_BELOW)}, {spot}"
    return [stop(what, where, _MEND, to_board.point(*place) if to_board else None)]


def _plates(card: Card, inlay: InlayOnCard, accounts: dict[int, Accounts]) -> list[Finding]:
    """An insert hangs on what is left of its offcut below it: that has to hold, and to be there."""
    assert inlay.walls is not None
    found = []
    for part in inlay.parts:
        outline = _outline(accounts[part.set_up], part.line)
        spot = None if outline is None else part.to_board.point(*inside(outline))
        left = card.set_up(part.set_up).thickness - inlay.walls.insert_depth
        where = f"inlay '{inlay.name}', {part.label}, from {card.set_up(part.set_up).stock}"
        mend = "take a thicker offcut, or less saw room, and write the files again"
        if left < PLATE / 2.0:
            found.append(stop(f"the insert hangs on {left:.2f} mm of wood: it would come loose", where, mend, spot))
        elif left < PLATE - DEPTH_AS_CUT:
            found.append(look(f"the insert hangs on only {left:.2f} mm of wood", where, mend, spot))
    return found


def _loose(card: Card, number: int) -> list[Finding]:
    """A program of tapered walls that runs after one that cuts the plates loose."""
    set_up = card.set_up(number)
    freed = ""
    for program in set_up.programs:
        if freed and program.tapered:
            what = "walls are cut on plates that lie loose: tape alone holds them"
            return [look(what, f"set-up {number}, {program.file}", f"run {freed} last in this set-up")]
        if max(program.depths, default=0.0) > set_up.thickness + JUST_BELOW:
            freed = freed or program.file
    return []


def _seam(inlay: InlayOnCard, account: Accounts, fits: list[TaperedFit], recess: BaseGeometry) -> SeamReadBack | None:
    """The seam at the face: drawn as none, widest where it opens most."""
    if not fits:
        return None
    widest = max(fits, key=lambda fit: fit.seam)
    place = account.set_up.to_board.point(*widest.seam_at)
    return SeamReadBack(
        inlay=inlay.name,
        kind="programs",
        drawn=0.0,
        narrowest=0.0,
        narrowest_at=place,
        widest=widest.seam,
        widest_at=place,
        share_within=1.0,
        length=float(recess.boundary.length),
        wide_places=(),
        interference_area=0.0,
    )
