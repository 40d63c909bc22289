"""The cutting plan: set-ups in the order they are done, each with its lines, programs and times."""

import math
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from shapely import Polygon

from purfle.cutting.checks import part_findings, rule_findings, set_up_findings, where_of
from purfle.cutting.choosing import CHANGE_MINUTES, larger_cutters
from purfle.cutting.figures import figures_of
from purfle.cutting.freeing import part_passes
from purfle.cutting.holding import tab_findings, tape_findings
from purfle.cutting.lines import Named, fibres_of_hosts, fitting_line, inlay_line, part_ids, part_line, recess_ids
from purfle.cutting.passes import Work, clearing_passes, numbered, recess_passes
from purfle.cutting.sawing_free import reach_of, sawing_findings, sawing_of
from purfle.cutting.tabs import with_tabs
from purfle.cutting.tapered_set_ups import insert_line, passes_over, recess_line, tapered_work
from purfle.cutting.tear_out import tear_out_findings
from purfle.errors import Fault, FitError, JobFileError
from purfle.geometry.pose import SHOW, UNDERSIDE, Pose
from purfle.model.board import Board, Fitting, Inlay, Layout
from purfle.model.cutting import CuttingPlan, Pass, Program, SetUp
from purfle.model.findings import FACES, Face, Finding
from purfle.model.job import Job
from purfle.model.offcuts import OnOffcuts, Place, Sawing
from purfle.model.pieces import Region
from purfle.model.shop import Cutter, Machine, Offcut, Shop, VCutter
from purfle.model.tapered import TaperedRule
from purfle.tolerances import SAME_PLACE
from purfle.units import figure

BOARD_MINUTES = 10.0
"""To clamp the board, fit the cutter and find the zero (common practice, no source)."""
OFFCUT_MINUTES = 8.0
"""To tape an offcut down and find the zero (common practice, no source)."""
_LEVELLED_FIRST = "Levelling took wood off, so find its top anew."


@dataclass(frozen=True, slots=True)
class Clamping:
    """One stock as it will lie on the machine and the lines to be cut into it: what a set-up is planned from.

    `groups` are the lines by cutter, in the order in which the cutters run; before them come the recesses `to_clear`,
    which several cutters work on: one that clears, or one that finishes each connected recess. `notes`: what was found
    while drawing them; `seam`: the narrowest of the job. `tapered`: lines whose walls slope, as `walls` say; `sawing`:
    how parts are sawn off. `grain`: of the stock in its frame, degrees; None where inserts are cut into, whose fibres
    the lines know. It can be planned by itself, in any process.
    """

    number: int
    stock: str
    title: str
    face: Face
    outline: Polygon
    thickness: float
    holding: str
    minutes: float
    groups: tuple[tuple[Cutter, tuple[Named, ...]], ...]
    notes: tuple[Finding, ...]
    seam: float | None
    order: int = 1
    to_clear: tuple[Named, ...] = ()
    tapered: tuple[Named, ...] = ()
    walls: TaperedRule | None = None
    sawing: Sawing | None = None
    grain: float | None = None

    @property
    def straight(self) -> tuple[Named, ...]:
        """Its lines whose walls are straight."""
        return (*self.to_clear, *(named for _, group in self.groups for named in group))

    @property
    def lines(self) -> tuple[Named, ...]:
        """All its lines."""
        return (*self.straight, *self.tapered)


@dataclass(slots=True)
class _Drawn:
    """The lines of one face so far, and what has been found."""

    cutter: Cutter
    own: tuple[Cutter, ...]
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def cutter_of(self, radius: float) -> Cutter:
        """The cutter of this radius that the job names, for single areas or keys too; else the usual one."""
        return _of_radius((self.cutter, *self.own), radius)


def plan(job: Job, layout: Layout, on_offcuts: OnOffcuts, shop: Shop) -> CuttingPlan:
    """All set-ups in the order they are done: show face, underside, then one for each offcut that is used.

    What is let into inserts comes last, a set-up for each order and face: by then those are glued in and levelled.

    The cutter that finishes the fit (`job.fit.cutter`) cuts everything; a larger one cuts a fitting where it leaves the
    same shape and is worth the change, and the one that the job names for clearing goes before it in recesses of
    inlays. Where the job names other cutters for single areas or keys, each insert is finished by its own, and each
    connected recess by the smallest of those of its inserts. A set-up with nothing to cut is left out.
    Raises: JobFileError where the shop has no such cutter; FitError where a recess is narrower than the cutter.
    """
    on_board = with_fibres(board_clampings(job, layout, shop), layout, on_offcuts)
    clampings = in_order(on_board, offcut_clampings(job, layout, on_offcuts, shop))
    return plan_of(job, shop, [plan_set_up(job, shop, clamping) for clamping in clampings])


def board_clampings(job: Job, layout: Layout, shop: Shop) -> tuple[Clamping, ...]:
    """The clampings of the board: each face, then each order of what is let into inserts. Numbered from 1.

    Raises: JobFileError where the shop has no such cutter; FitError where a recess is narrower than the cutter.
    """
    cutter = _finishing(job, shop)
    _clearing(job, shop, cutter)
    found: list[Clamping] = []
    faults: list[Fault] = []
    for order in range(1, 1 + max((inlay.order for inlay in layout.inlays), default=1)):
        for face in FACES:
            drawn = _Drawn(cutter, _own(job, shop))
            clamping = _face(job, layout, shop, drawn, (face, order))
            faults += drawn.faults
            found += [clamping] if clamping else []
    if faults:
        raise FitError.of(faults)
    return tuple(replace(one, number=number) for number, one in enumerate(found, 1))


def offcut_clampings(job: Job, layout: Layout, on_offcuts: OnOffcuts, shop: Shop) -> tuple[Clamping, ...]:
    """The clampings of the offcuts that are used. Numbered from 1."""
    ids = part_ids(layout, on_offcuts.places)
    found: list[Clamping] = []
    walls = {inlay.name: inlay.fit.walls for inlay in layout.inlays}
    for offcut in on_offcuts.used:
        its = [one for one in zip(on_offcuts.places, ids, strict=True) if one[0].offcut == offcut.name]
        hanging = [(place, line_id, walls.get(place.part.inlay)) for place, line_id in its]
        tapered = [(insert_line(place, line_id, rule), rule) for place, line_id, rule in hanging if rule]
        if its:
            clamping = replace(_offcut(job, shop, layout, (offcut, its)), number=len(found) + 1)
            rules = [rule for _, rule in tapered]
            lines = tuple(named for named, _ in tapered)
            hung = replace(clamping, tapered=lines, walls=rules[0] if rules else None)
            found.append(replace(hung, grain=offcut.grain))
    return tuple(found)


def with_fibres(board: Sequence[Clamping], layout: Layout, on_offcuts: OnOffcuts) -> tuple[Clamping, ...]:
    """The clampings of the board, the recesses of a later order with the fibres of the inserts that they are cut into.

    Where those lie on the offcuts has to be known.
    """
    return tuple(_over_fibres(one, layout, on_offcuts) if one.order > 1 else one for one in board)


def _over_fibres(clamping: Clamping, layout: Layout, on_offcuts: OnOffcuts) -> Clamping:
    frame = frame_of(clamping.face)

    def cut_into(lines: tuple[Named, ...]) -> tuple[Named, ...]:
        return tuple(replace(one, fibres=fibres_of_hosts(one.line.id, frame, layout, on_offcuts)) for one in lines)

    groups = tuple((cutter, cut_into(lines)) for cutter, lines in clamping.groups)
    return replace(clamping, groups=groups, to_clear=cut_into(clamping.to_clear))


def in_order(board: Sequence[Clamping], offcuts: Sequence[Clamping]) -> tuple[Clamping, ...]:
    """All clampings in the order they are done: both faces, the offcuts, then what is let into inserts."""
    faces, over = [one for one in board if one.order == 1], [one for one in board if one.order > 1]
    return tuple(replace(one, number=number) for number, one in enumerate((*faces, *offcuts, *over), 1))


def plan_set_up(job: Job, shop: Shop, clamping: Clamping) -> tuple[SetUp, tuple[Finding, ...]]:
    """The set-up of one clamping with its programs, and what was found on the way."""
    bare, machine = bare_set_up(job, shop, clamping), shop.machine
    stem = f"{job.slug}-{bare.slug}"
    by_cutter = _passes(job, shop, clamping)
    alone = len(by_cutter) == 1 and not clamping.tapered
    straight = [
        _program(stem if alone else f"{stem}-cutter-{cutter.number}", cutter, passes, machine)
        for cutter, passes in by_cutter.items()
    ]
    tapered = _tapered_programs(job, shop, clamping, stem)
    programs = (*_in_running_order(straight, tapered, frees=_of_parts(clamping)),)
    changes = sum(one.cutter != other.cutter for one, other in pairwise(programs))
    set_up = replace(bare, programs=programs, set_up_minutes=bare.set_up_minutes + changes * CHANGE_MINUTES)
    tight = part_findings(clamping.straight, clamping.title) if _of_parts(clamping) else ()
    return set_up, (
        *clamping.notes,
        *tight,
        *_loose(clamping, set_up),
        *_torn(clamping),
        *set_up_findings(set_up, machine, clamping.seam),
    )


def _torn(clamping: Clamping) -> Iterator[Finding]:
    """Where fibres may break out."""
    yield from tear_out_findings(clamping.straight, (clamping.outline, clamping.grain), clamping.title)


def _loose(clamping: Clamping, set_up: SetUp) -> Iterator[Finding]:
    """Parts that are too small for the tape that alone holds them at last, or whose tabs are too weak."""
    if not _of_parts(clamping) or clamping.sawing is not None:
        return
    for cutter, parts in clamping.groups:
        for program in set_up.programs:
            if program.cutter == cutter and not program.tapered:
                yield from tape_findings(parts, program, where_of(set_up, program))
                yield from tab_findings(parts, program, where_of(set_up, program))


def _tapered_programs(job: Job, shop: Shop, clamping: Clamping, stem: str) -> list[Program]:
    """The programs of tapered walls: the straight cutter on their bottoms, then the V cutter."""
    if not clamping.tapered or clamping.walls is None:
        return []
    work = tapered_work(job, shop, clamping.walls, _finishing(job, shop))
    return [
        replace(_program(f"{stem}-tapered-cutter-{cutter.number}", cutter, passes, shop.machine), tapered=True)
        for cutter, passes in passes_over(clamping.tapered, work).items()
    ]


def _in_running_order(straight: Sequence[Program], tapered: Sequence[Program], frees: bool) -> list[Program]:
    """Bottoms are cleared before walls. What is straight comes between, with as few changes of cutter as can be.

    Where it `frees` plates and parts, it comes last: nothing is cut that tape alone holds.
    """
    flat = [one for one in tapered if not isinstance(one.cutter, VCutter)]
    walls = [one for one in tapered if isinstance(one.cutter, VCutter)]
    return [*flat, *walls, *straight] if frees else [*flat, *straight, *walls]


def bare_set_up(job: Job, shop: Shop, clamping: Clamping) -> SetUp:
    """The set-up of one clamping without its programs: all that its outline files need."""
    return SetUp(
        clamping.number,
        clamping.title,
        f"{clamping.number}-{_slug(clamping.title)}",
        clamping.stock,
        clamping.face,
        clamping.outline,
        clamping.thickness,
        tuple(named.line for named in clamping.lines),
        (),
        clamping.holding,
        shop.machine.safe_height,
        clamping.minutes,
        clamping.order,
        sawing=clamping.sawing,
    )


def plan_of(job: Job, shop: Shop, planned: Sequence[tuple[SetUp, tuple[Finding, ...]]]) -> CuttingPlan:
    """The plan of all set-ups, each with what was found about it."""
    general = rule_findings(job.cutting, _finishing(job, shop), shop.machine) if planned else ()
    return CuttingPlan(
        tuple(set_up for set_up, _ in planned), (*general, *(one for _, found in planned for one in found))
    )


def _finishing(job: Job, shop: Shop) -> Cutter:
    return _cutter(shop, job.fit.cutter, "fit.cutter")


def _cutter(shop: Shop, name: str, key: str) -> Cutter:
    for cutter in shop.cutters:
        if cutter.name == name:
            return cutter
    names = ", ".join(cutter.name for cutter in shop.cutters) or "none"
    raise JobFileError(f"the shop has no cutter named {name}", key, f"name one of the shop's cutters: {names}")


def _own(job: Job, shop: Shop) -> tuple[Cutter, ...]:
    """The cutters that the job names for single areas and keys."""
    return tuple(_cutter(shop, name, "cutters") for name in dict.fromkeys(name for _, name in job.cutters))


def _of_radius(cutters: Sequence[Cutter], radius: float) -> Cutter:
    """The first cutter of a radius, or else the first one."""
    return next((one for one in cutters if math.isclose(one.radius, radius, abs_tol=SAME_PLACE)), cutters[0])


def _finishers(cutters: Sequence[Cutter], layout: Layout) -> dict[tuple[str, int], Cutter]:
    """The cutter that finishes each insert, by inlay and number."""
    return {
        (inlay.name, insert.number): _of_radius(cutters, inlay.fit.radius_of(insert))
        for inlay in layout.inlays
        for insert in inlay.fit.inserts
    }


def _by_cutter(parts: Sequence[Named]) -> tuple[tuple[Cutter, tuple[Named, ...]], ...]:
    """Parts by the cutter that finishes them, the larger cutters first."""
    cutters = {named.cut_by[0][1] for named in parts}
    return tuple(
        (cutter, tuple(named for named in parts if named.cut_by[0][1] == cutter))
        for cutter in sorted(cutters, key=lambda one: (-one.width, one.number))
    )


def _clearing(job: Job, shop: Shop, finishing: Cutter) -> Cutter | None:
    """The cutter that clears before the finishing one, if the job names one."""
    if not job.cutting.clearing:
        return None
    cutter = _cutter(shop, job.cutting.clearing, "cutting.clearing")
    if cutter.width <= finishing.width:
        what = f"{cutter.name} is no wider than {finishing.name}, which finishes: it cannot clear before that"
        raise JobFileError(what, "cutting.clearing", "name a wider cutter, or take the line out")
    return cutter


# --- the board


def _face(job: Job, layout: Layout, shop: Shop, drawn: _Drawn, which: tuple[Face, int]) -> Clamping | None:
    """One face of the board with what is cut into it in one order of letting in; None where that is nothing.

    Of a later order are the recesses cut into inserts of the order before, when those are glued in and levelled.
    """
    face, order = which
    inlays = [inlay for inlay in layout.inlays if inlay.face == face and inlay.order == order]
    fittings = [fitting for fitting in layout.fittings if fitting.face == face] if order == 1 else []
    recesses = _inlay_lines(drawn, layout, face, order)
    # with several cutters for them, recesses are cut apart from fittings of the same depth
    apart = job.cutting.clearing or any(one != drawn.cutter for named in recesses for _, one in named.cut_by)
    to_clear = tuple(recesses) if apart else ()
    groups: dict[Cutter, list[Named]] = {drawn.cutter: [] if to_clear else recesses}
    for cutter, named in _fitting_lines(job, shop, drawn, fittings, layout.board):
        groups.setdefault(cutter, []).append(named)
        drawn.findings += _chisel_note(named)
    tapered = _tapered_lines(layout, face, order)
    if not (to_clear or tapered or any(groups.values())):
        return None
    words = _face_words(inlays, len(fittings)) if order == 1 else _over_words(inlays, order)
    return Clamping(
        0,
        "board",
        f"{words}, {'show face' if face == 'show' else 'underside'}",
        face,
        frame_of(face).region(layout.board.outline),
        layout.board.thickness,
        _board_holding(face) if order == 1 else f"{_board_holding(face)} {_LEVELLED_FIRST}",
        BOARD_MINUTES,
        tuple((cutter, tuple(group)) for cutter, group in groups.items() if group),
        tuple(drawn.findings),
        _narrowest(layout),
        order,
        to_clear,
        tapered,
        next((inlay.fit.walls for inlay in inlays if inlay.fit.walls), None),
        grain=frame_of(face).direction(layout.board.grain) if order == 1 else None,
    )


def _tapered_lines(layout: Layout, face: Face, order: int) -> tuple[Named, ...]:
    """The recesses of one face and order whose walls are tapered."""
    named = zip(layout.inlays, recess_ids(layout), strict=True)
    return tuple(
        recess_line(inlay, line_id, frame_of(face))
        for inlay, line_id in named
        if inlay.face == face and inlay.order == order and inlay.fit.walls is not None
    )


def frame_of(face: Face) -> Pose:
    """From the board frame to that of a set-up on a face."""
    return SHOW if face == "show" else UNDERSIDE


def _narrowest(layout: Layout) -> float | None:
    return min((inlay.fit.rule.seam for inlay in layout.inlays if inlay.fit.walls is None), default=None)


def _inlay_lines(drawn: _Drawn, layout: Layout, face: Face, order: int) -> list[Named]:
    lines: list[Named] = []
    for inlay, line_id in zip(layout.inlays, recess_ids(layout), strict=True):
        if inlay.face == face and inlay.order == order and inlay.fit.walls is None:
            named, findings, faults = inlay_line(inlay, line_id, frame_of(face), drawn.cutter_of)
            lines.append(named)
            drawn.findings += [*findings, *_chisel_note(named)]
            drawn.faults += faults
    return lines


def _fitting_lines(
    job: Job, shop: Shop, drawn: _Drawn, fittings: Sequence[Fitting], board: Board
) -> Iterator[tuple[Cutter, Named]]:
    """The line of each fitting and the cutter that cuts it."""
    lines: list[Named] = []
    for fitting in fittings:
        named, faults = fitting_line(fitting, frame_of(fitting.face), board.rectangle, drawn.cutter.radius)
        lines.append(named)
        drawn.faults += faults
    if drawn.faults:
        return
    by_machine = job.cutting.way == "machine"
    larger = larger_cutters(lines, drawn.cutter, shop, job.cutting) if by_machine else {}
    for fitting, named in zip(fittings, lines, strict=True):
        cutter = larger.get(named.line.id, drawn.cutter)
        if cutter is not drawn.cutter:  # at an open edge it has to run out further
            named, _ = fitting_line(fitting, frame_of(fitting.face), board.rectangle, cutter.radius)
        yield cutter, named


def _passes(job: Job, shop: Shop, clamping: Clamping) -> dict[Cutter, list[Pass]]:
    """The passes by cutter, in running order."""
    passes = _cleared_and_finished(job, shop, clamping.to_clear) if clamping.to_clear else {}
    for cutter, lines in clamping.groups:
        if _of_parts(clamping):
            work = _work(job, cutter, clamping.thickness + job.cutting.through)
            if clamping.sawing is not None:  # nothing goes through, so nothing has to hold a freed part
                whole = replace(job.cutting, through=0.0, skin=0.0)
                work = replace(work, rule=whole, depth=clamping.sawing.depth)
            tabs = [named.line.tabs for named in lines]
            passes[cutter] = part_passes([_polygon(named) for named in lines], clamping.stock, work, tabs)
        else:
            passes[cutter] = passes.get(cutter, []) + _recess_groups(job, cutter, lines)
    return passes


def _cleared_and_finished(job: Job, shop: Shop, lines: Sequence[Named]) -> dict[Cutter, list[Pass]]:
    """The passes of recesses by cutter, in running order: the one that clears, if it has room, then large to small."""
    found: dict[Cutter, list[Pass]] = {}
    clearing = _clearing(job, shop, _finishing(job, shop))
    for depth in dict.fromkeys(named.line.depth for named in lines):
        group = [named for named in lines if named.line.depth == depth]
        for cutter in dict.fromkeys(cutter for named in group for _, cutter in named.cut_by):
            its = [(named, region) for named in group for region, one in named.cut_by if one == cutter]
            regions, name = [region for _, region in its], _names([named for named, _ in its])
            passes: list[Pass] = []
            cleared: Region | None = None
            if clearing is not None and clearing.width > cutter.width:
                passes, cleared = clearing_passes(regions, name, _work(job, clearing, depth))
                found.setdefault(clearing, []).extend(passes)
            finishing = recess_passes(regions, name, _work(job, cutter, depth), cleared if passes else None)
            found.setdefault(cutter, []).extend(finishing)
    ordered = sorted(found, key=lambda one: (one != clearing, -one.width, one.number))
    return {cutter: found[cutter] for cutter in ordered if found[cutter]}


def _of_parts(clamping: Clamping) -> bool:
    return any(named.line.kind == "part" for named in clamping.lines)


def _recess_groups(job: Job, cutter: Cutter, lines: Sequence[Named]) -> list[Pass]:
    """The passes of each group of lines of equal depth, in the order in which the depths first stand."""
    passes: list[Pass] = []
    for depth in dict.fromkeys(named.line.depth for named in lines):
        group = [named for named in lines if named.line.depth == depth]
        work = _work(job, cutter, depth)
        passes += recess_passes([named.line.region for named in group], _names(group), work)
    return passes


def _chisel_note(named: Named) -> list[Finding]:
    count = len(named.line.remnants)
    if count == 0:
        return []
    corners = "1 corner is" if count == 1 else f"{count} corners are"
    what = f"{corners} left round by the cutter: {named.name}"
    return [Finding("note", what, named.name, "square them with a chisel", "cutting")]


def _face_words(inlays: Sequence[Inlay], fittings: int) -> str:
    keys = sum(inlay.kind == "key" for inlay in inlays)
    pictures = len(inlays) - keys
    words = [
        (pictures, "recess", "recesses"),
        (keys, "key recess", "key recesses"),
        (fittings, "fitting", "fittings"),
    ]
    return " and ".join(one if count == 1 else many for count, one, many in words if count)


def _over_words(inlays: Sequence[Inlay], order: int) -> str:
    return f"recess for {inlays[0].name}" if len(inlays) == 1 else f"recesses of order {order}"


def _board_holding(face: Face) -> str:
    up = "Show face up" if face == "show" else "Underside up, the board turned over about edge A"
    return (
        f"{up}. Clamp the board flat, clamps clear of the path; edge A along x. "
        "Zero at the datum corner, on top of the wood."
    )


# --- the offcuts


def _offcut(job: Job, shop: Shop, layout: Layout, on: tuple[Offcut, Sequence[tuple[Place, str]]]) -> Clamping:
    """The clamping of an offcut with what is cut straight out of it: its parts, held as the job says."""
    (offcut, its), cutter = on, _finishing(job, shop)
    finishers = _finishers((cutter, *_own(job, shop)), layout)
    cutters = [finishers.get((place.part.inlay, place.part.number), cutter) for place, _ in its]
    title, notes = f"parts, {offcut.name}", tuple[Finding, ...]()
    sawing, depth = None, offcut.thickness
    if job.cutting.holding == "sawn free":
        sawing = sawing_of(job, shop, [place for place, _ in its], (offcut, cutters))
        depth = sawing.depth
        notes = sawing_findings(sawing, job.cutting, (offcut, reach_of(cutters)), title)
    parts = tuple(part_line(place, name, depth, its_own) for (place, name), its_own in zip(its, cutters, strict=True))
    if job.cutting.holding == "tabs":
        parts, notes = with_tabs(parts, offcut.outline, job.cutting, offcut.thickness, title)
    return Clamping(
        0,
        offcut.name,
        title,
        "show",
        offcut.outline,
        offcut.thickness,
        _offcut_holding(parts, sawing),
        OFFCUT_MINUTES,
        _by_cutter(parts),
        notes,
        _narrowest(layout),
        sawing=sawing,
    )


def _offcut_holding(parts: Sequence[Named], sawing: Sawing | None) -> str:
    held = "Double-sided tape over the whole offcut, on a flat sacrificial board"
    if all(named.line.tabs for named in parts):
        held = "Clamps or tape along the edges of the offcut, on a flat sacrificial board"
    if sawing is not None:
        held = "Clamp the block flat, clamps off the path; the cutter does not go through it"
    return f"{held}. Zero at the lower left corner of the offcut's bounds, on top of the wood."


def _polygon(named: Named) -> Polygon:
    region = named.line.region
    return region if isinstance(region, Polygon) else region.geoms[0]


# --- set-ups


def _work(job: Job, cutter: Cutter, depth: float) -> Work:
    return Work(cutter, job.cutting, depth, figure(job.cutting.allowance, job.unit, "depth"))


def _program(stem: str, cutter: Cutter, passes: Sequence[Pass], machine: Machine) -> Program:
    figures = figures_of(passes, cutter, machine)
    counted = numbered(passes, figures, machine)
    return Program(f"{stem}.nc", cutter, counted, figures, sum(one.minutes for one in counted))


def _names(group: Sequence[Named]) -> str:
    return ", ".join(named.name for named in group)


def _slug(title: str) -> str:
    """The title as a plain file name: small letters, figures and single dashes."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
