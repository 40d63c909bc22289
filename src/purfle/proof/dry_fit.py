"""The dry fit, as a recipe: read every file, sweep, compare, put together, look at both faces."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

import numpy as np

from purfle.errors import Fault, ProgramError
from purfle.mate import ALONE, Mate
from purfle.model.findings import Finding
from purfle.model.proof import ProgramReadBack, Proof, SeamReadBack
from purfle.proof.assembling import check_inlay
from purfle.proof.card import Card, CutterOnCard, SetUpOnCard, read_card
from purfle.proof.cones import Cone, ConeRun
from purfle.proof.cuts import Outlined, SetUpCut, cut_set_up
from purfle.proof.empty_places import is_empty_place
from purfle.proof.faces import check_fitting, hollows, wood_left
from purfle.proof.found import look, stop
from purfle.proof.holes import Hollow, check_holes, check_pairs
from purfle.proof.hosts import check_hosts
from purfle.proof.motion import Run, check_motion, check_v_motion
from purfle.proof.outlines import Outlines, held_once
from purfle.proof.outlines_dxf import read_dxf
from purfle.proof.outlines_svg import read_svg
from purfle.proof.program import Reading, read_program
from purfle.proof.shelf import CARD
from purfle.proof.skin import check_skin
from purfle.proof.sweep import Way, flatten
from purfle.proof.tabs import check_tabs
from purfle.proof.walls import Accounts, Walls, check_walls
from purfle.tolerances import DEPTH_LISTED

if TYPE_CHECKING:
    from purfle.proof.by_hand import Templates
    from purfle.proof.tapered_inlays import Runs

_WIDTH = re.compile(r"(?:diameter|groove|width)\D{0,16}?([0-9]*\.?[0-9]+)\s*(mm|in)\b", re.IGNORECASE)
_ANGLE = re.compile(r"V cutter of ([0-9]*\.?[0-9]+) degrees", re.IGNORECASE)
SAME_ANGLE = 0.05
"""A V cutter's angle in degrees is written with a decimal or two."""
MEND = "write the files again from the job; do not cut with this one"
_UNITS = {"mm": 1.0, "in": 25.4}


def dry_fit(files: Mapping[str, bytes], mate: Mate = ALONE) -> Proof:
    """What the files in the folder say when they are read back and the parts put together without wood.

    `files` holds everything in the output folder by name, the assembly card among them; a `mate` takes set-ups off this
    process. Raises ProgramError where the card, a program or an outline file cannot be read; whatever can be computed
    is a finding.
    """
    if CARD not in files:
        raise ProgramError("the assembly card is missing", CARD, "point at the folder that the job was written into")
    card = read_card(files[CARD])
    findings = _missing(card, files)
    templates = _templates(card, files, findings)
    accounts, programs, runs = _read_set_ups(card, (files, templates), findings, mate)
    seams: list[SeamReadBack] = []
    tapered: list[Hollow] = []
    empty: list[str] = []
    for inlay in card.inlays:
        if inlay.walls is not None:
            from purfle.proof.tapered_inlays import check_tapered  # few jobs have tapered walls

            put_in = check_tapered(card, inlay, accounts, runs)
            seams += [put_in.seam] if put_in.seam else []
            findings += put_in.findings
            tapered += [put_in.hollow] if put_in.hollow else []
            continue
        of_inlay, found = check_inlay(card, inlay, accounts)
        seams += of_inlay
        findings += found
        empty += [inlay.name] if any(map(is_empty_place, found)) else []
    findings += check_hosts(card, accounts, empty)
    cuts = {number: account.cut for number, account in accounts.items() if account.cut is not None}
    for fitting in card.fittings:
        if fitting.set_up in cuts:
            findings += check_fitting(card, fitting, cuts[fitting.set_up])
    cut_out = [*hollows(card, cuts), *tapered]
    least, found = wood_left(card, cut_out)
    findings += [*found, *check_holes(card.holes, cut_out, card.board, card.thickness)]
    findings += check_pairs(card.holes, card.thickness)
    proven = bool(seams or card.fittings) and not any(finding.severity == "stop" for finding in findings)
    return Proof(proven, tuple(seams), tuple(programs), least, tuple(findings))


def _missing(card: Card, files: Mapping[str, bytes]) -> list[Finding]:
    """Files that the card names and the folder lacks; programs in the folder that the card does not know."""
    found = []
    listed = set()
    for set_up in card.set_ups:
        for name in (*(program.file for program in set_up.programs), set_up.svg, set_up.dxf):
            listed.add(name)
            if name not in files:
                where = f"{name}, set-up {set_up.number} ({set_up.title})"
                found.append(stop(f"the file '{name}' is missing", where, "write the files again from the job"))
    endings = {PurePosixPath(p.file).suffix for set_up in card.set_ups for p in set_up.programs}
    for name in sorted(files.keys() - listed):
        if PurePosixPath(name).suffix in endings - {""}:
            what = "a program lies in the folder that does not belong to this job"
            found.append(look(what, name, "take it away, or write the files into an empty folder"))
    if not card.set_ups:
        found.append(stop("the card has no set-up: nothing is cut", CARD, "write the files again from the job"))
    return found


@dataclass(frozen=True, slots=True)
class _SetUpRead:
    """One set-up read back: what its files say, what was found, its programs; `faults` where one cannot be read."""

    account: Accounts
    findings: tuple[Finding, ...]
    programs: tuple[ProgramReadBack, ...]
    faults: tuple[Fault, ...]
    runs: tuple[ConeRun, ...] = ()


def _read_set_ups(
    card: Card, said: "tuple[Mapping[str, bytes], Templates]", findings: list[Finding], mate: Mate
) -> tuple[dict[int, Accounts], list[ProgramReadBack], "Runs"]:
    """Every set-up read, swept and compared; everything unreadable is said at once."""
    files, templates = said
    asked = [mate.share(_read_set_up, card, one, _files_of(one, files), templates) for one in reversed(card.set_ups)]
    # the first set-up is the largest by far: this process begins with that one, the mate with the last
    read = [one() for one in reversed(asked)]
    faults = [fault for one in read for fault in one.faults]
    if faults:
        raise ProgramError.of(faults)
    findings += [found for one in read for found in one.findings]
    accounts = {one.account.set_up.number: one.account for one in read}
    runs = {one.account.set_up.number: one.runs for one in read if one.runs}
    return accounts, [program for one in read for program in one.programs], runs


def _templates(card: Card, files: Mapping[str, bytes], findings: list[Finding]) -> "Templates":
    """The templates of a job that is cut by hand along them."""
    if not card.templates:
        return {}
    from purfle.proof.by_hand import read_templates

    return read_templates(card, files, findings)


def _files_of(set_up: SetUpOnCard, files: Mapping[str, bytes]) -> dict[str, bytes]:
    names = (*(program.file for program in set_up.programs), set_up.svg, set_up.dxf)
    return {name: files[name] for name in names if name in files}


def _read_set_up(card: Card, set_up: SetUpOnCard, files: Mapping[str, bytes], templates: "Templates") -> _SetUpRead:
    """Read the files of one set-up, then sweep and compare, unless one of them cannot be read."""
    faults: list[Fault] = []
    findings: list[Finding] = []
    readings, svg, dxf = _read_files(set_up, files, faults)
    if faults:
        return _SetUpRead(Accounts(set_up, None, svg, dxf, {}), (), (), tuple(faults))
    poses = {(part.set_up, part.line): part.to_board for inlay in card.inlays for part in inlay.parts}
    to_board = {line.id: poses.get((set_up.number, line.id), set_up.to_board) for line in set_up.lines}
    if card.way != "machine":
        account = Accounts(set_up, _cut_by_hand(card, set_up, (svg, dxf), templates, findings), svg, dxf, to_board)
        return _SetUpRead(account, (*findings, *check_walls(account).findings), (), ())
    straight = replace(
        set_up,
        lines=tuple(line for line in set_up.lines if not line.tapered),
        programs=tuple(program for program in set_up.programs if not program.tapered),
    )
    findings += _uncut(set_up)
    runs = _moved(card, set_up, readings, findings) if readings else ()
    cut = _cut(card, straight, readings, _outlines(straight, svg, dxf), findings)
    account = Accounts(set_up, cut, svg, dxf, to_board)
    walls = check_walls(account)
    findings += check_skin(cut, _outlines(straight, svg, dxf)) if cut else []
    if cut and cut.tabbed:
        findings += check_tabs(straight, cut.tabbed, ", ".join(program.file for program in straight.programs))
    programs = [*(_read_back(cut, walls) if cut else ()), *map(_tapered_back, runs)]
    return _SetUpRead(account, (*findings, *walls.findings), tuple(programs), (), runs)


def _cut_by_hand(
    card: Card,
    set_up: SetUpOnCard,
    files: tuple[Outlines | None, Outlines | None],
    templates: "Templates",
    findings: list[Finding],
) -> SetUpCut | None:
    """The set-up as it is cut by hand; the finished lines of its files say which account is the odd one out."""
    from purfle.proof.along_outlines import cut_along
    from purfle.proof.by_hand import cut_by_hand

    outlines = {kind: one for kind, one in zip(("svg", "dxf"), files, strict=True) if one is not None}
    if card.way != "templates":
        return cut_along(card, set_up, outlines, findings)
    return cut_by_hand(card, set_up, outlines, templates, findings)


def _uncut(set_up: SetUpOnCard) -> list[Finding]:
    """Lines of one kind of wall want programs of that kind."""
    found = []
    for tapered, words in ((False, "straight"), (True, "tapered")):
        lines = [line.id for line in set_up.lines if line.tapered == tapered]
        if lines and not any(program.tapered == tapered for program in set_up.programs):
            what = f"no program cuts the {words} walls of {', '.join(lines)}"
            where = f"set-up {set_up.number} ({set_up.title})"
            found.append(stop(what, where, "write the files again from the job"))
    return found


def _outlines(set_up: SetUpOnCard, svg: Outlines | None, dxf: Outlines | None) -> Outlined:
    files = [outlines.lines for outlines in (svg, dxf) if outlines]
    found = {line.id: [lines[line.id] for lines in files if line.id in lines] for line in set_up.lines}
    return {
        name: tuple(regions[:1] if regions[0] is regions[-1] else regions) if regions else ()
        for name, regions in found.items()
    }


def _read_files(
    set_up: SetUpOnCard, files: Mapping[str, bytes], faults: list[Fault]
) -> tuple[tuple[Reading, ...] | None, Outlines | None, Outlines | None]:
    """Programs (None if one is missing), SVG and DXF of one set-up; what cannot be read goes to `faults`."""
    readings: list[Reading] = []
    svg = dxf = None
    for program in set_up.programs:
        try:
            if program.file in files:
                readings.append(read_program(program.file, files[program.file]))
        except ProgramError as error:
            faults.extend(error.faults)
    try:
        svg = read_svg(set_up.svg, files[set_up.svg], set_up.number) if set_up.svg in files else None
    except ProgramError as error:
        faults.extend(error.faults)
    try:
        dxf = read_dxf(set_up.dxf, files[set_up.dxf], set_up.number) if set_up.dxf in files else None
    except ProgramError as error:
        faults.extend(error.faults)
    if svg and dxf:
        dxf = held_once(dxf, svg)
    return (tuple(readings) if len(readings) == len(set_up.programs) else None), svg, dxf


def _moved(
    card: Card, set_up: SetUpOnCard, readings: tuple[Reading, ...], findings: list[Finding]
) -> tuple[ConeRun, ...]:
    """How every program of a set-up moves, in running order; those that work on tapered walls, with their cutters."""
    runs: list[ConeRun] = []
    ways: list[Way] = []
    for reading, entry in zip(readings, set_up.programs, strict=True):
        findings += _cutter(card, reading, entry.cutter)
        if reading.cutter not in card.cutters:
            return ()
        cutter = card.cutters[reading.cutter]
        if cutter.is_v and not entry.tapered:
            what = f"asks for the V cutter {cutter.name} on straight walls"
            findings.append(stop(what, f"{reading.file}, T word", MEND))
        way = flatten(reading, cutter.tip_radius if cutter.is_v else cutter.diameter / 2)
        run = Run(reading, way, entry, set_up, tuple(ways))
        findings += check_v_motion(run, card) if cutter.is_v else check_motion(run, card)
        ways += [] if cutter.is_v else [way]
        if entry.tapered:
            runs.append(ConeRun.of(reading, _cone(cutter)))
    return tuple(runs)


def _cone(cutter: CutterOnCard) -> Cone:
    if cutter.is_v:
        return Cone(cutter.tip_radius, math.tan(math.radians(cutter.half_angle)), cutter.cutting_length)
    return Cone(cutter.diameter / 2, 0.0, cutter.cutting_length)


def _cut(
    card: Card,
    set_up: SetUpOnCard,
    readings: tuple[Reading, ...] | None,
    outlines: Outlined,
    findings: list[Finding],
) -> SetUpCut | None:
    """Sweep the programs of straight walls in a set-up, each with the cutter that it asks for."""
    names = {program.file for program in set_up.programs}
    readings = tuple(reading for reading in readings or () if reading.file in names)
    if not readings or any(reading.cutter not in card.cutters for reading in readings):
        return None
    ways = tuple(flatten(reading, card.cutters[reading.cutter].diameter / 2) for reading in readings)
    try:
        return cut_set_up(set_up, readings, ways, outlines)
    except ProgramError as error:
        # everything else can still be told, so this is a finding and not the end
        findings += [stop(fault.what, fault.where, fault.mend) for fault in error.faults]
        return None


def _cutter(card: Card, reading: Reading, on_card: int) -> list[Finding]:
    """The cutter must be the same in the program's T word, in its header and on the card."""
    mend = "write the files again from the job; do not cut with this one"
    if reading.cutter not in card.cutters:
        return [stop(f"asks for cutter {reading.cutter}, which is not on the card", f"{reading.file}, T word", mend)]
    found = []
    cutter = card.cutters[reading.cutter]
    if reading.cutter != on_card:
        what = f"asks for cutter {reading.cutter} ({cutter.name}); the card says cutter {on_card}"
        found.append(stop(what, f"{reading.file}, T word", mend))
    for comment in reading.comments:
        if cutter.is_v:
            found += _v_header(reading, cutter, comment)
            continue
        said = _WIDTH.search(comment)
        if said and abs(float(said[1]) * _UNITS[said[2].lower()] - cutter.diameter) > DEPTH_LISTED:
            is_wide = f"cutter {cutter.number} is {cutter.diameter:.3f} mm wide"
            what = f"its header says a cutter of {said[1]} {said[2]}; {is_wide}"
            found.append(stop(what, f"{reading.file}, header", mend))
    return found


def _v_header(reading: Reading, cutter: CutterOnCard, comment: str) -> list[Finding]:
    """The angle that a header gives must be that of the V cutter on the card."""
    said = _ANGLE.search(comment)
    if said is None or abs(float(said[1]) - 2.0 * cutter.half_angle) <= SAME_ANGLE:
        return []
    what = f"its header says a V cutter of {said[1]} degrees; cutter {cutter.number} has {2.0 * cutter.half_angle:g}"
    return [stop(what, f"{reading.file}, header", MEND)]


def _tapered_back(run: ConeRun) -> ProgramReadBack:
    """The figures of a program of tapered walls; what it leaves or gouges is told by sections, not by area."""
    lengths = np.linalg.norm(run.way.end - run.way.start, axis=1)[run.reading.kind[run.way.move] != 0]
    metres = float(lengths.sum()) / 1000
    return ProgramReadBack(
        run.reading.file, run.reading.cutter, run.reading.deepest, metres, len(run.reading.kind), 0.0, 0.0
    )


def _read_back(cut: SetUpCut, walls: Walls) -> list[ProgramReadBack]:
    """The figures of each program. What is left uncut is put down to the last one: it was to finish the walls."""
    found = []
    last = len(cut.readings) - 1
    for index, (reading, way) in enumerate(zip(cut.readings, cut.ways, strict=True)):
        lengths = np.linalg.norm(way.end - way.start, axis=1)[reading.kind[way.move] != 0]
        found.append(
            ProgramReadBack(
                file=reading.file,
                cutter=reading.cutter,
                deepest=reading.deepest,
                metres=float(lengths.sum()) / 1000,
                moves=len(reading.kind),
                uncut_area=walls.uncut if index == last else 0.0,
                gouged_area=walls.gouged[index],
            )
        )
    return found
