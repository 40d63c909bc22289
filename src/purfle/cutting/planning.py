"""The cutting plan: set-ups in the order they are done, each with its lines, programs and times."""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from shapely import Polygon

from purfle.cutting.checks import part_findings, rule_findings, set_up_findings
from purfle.cutting.choosing import CHANGE_MINUTES, larger_cutters
from purfle.cutting.figures import figures_for
from purfle.cutting.lines import Named, fitting_line, inlay_line, part_ids, part_line, recess_ids
from purfle.cutting.passes import Work, clearing_passes, numbered, part_passes, recess_passes
from purfle.errors import Fault, FitError, JobFileError
from purfle.geometry.pose import SHOW, UNDERSIDE
from purfle.model.board import Board, Fitting, Inlay, Layout
from purfle.model.cutting import CuttingPlan, Pass, Program, SetUp
from purfle.model.findings import FACES, Face, Finding
from purfle.model.job import Job
from purfle.model.offcuts import OnOffcuts
from purfle.model.shop import Cutter, Machine, Offcut, Shop
from purfle.units import figure

BOARD_MINUTES = 10.0
"""To clamp the board, fit the cutter and find the zero (common practice, no source)."""
OFFCUT_MINUTES = 8.0
"""To tape an offcut down and find the zero (common practice, no source)."""
_LEVELLED_FIRST = "Levelling took wood off, so find its top anew."


@dataclass(slots=True)
class _Planner:
    """What every set-up needs, and what has been found so far."""

    job: Job
    shop: Shop
    cutter: Cutter
    seam: float | None
    clearing: Cutter | None
    set_ups: list[SetUp] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def plan(job: Job, layout: Layout, on_offcuts: OnOffcuts, shop: Shop) -> CuttingPlan:
    """All set-ups in the order they are done: show face, underside, then one for each offcut that is used.

    What is let into inserts comes last, a set-up for each order and face: by then those are glued in and levelled.

    The cutter that finishes the fit (`job.fit.cutter`) cuts everything; a larger one cuts a fitting where it leaves the
    same shape and is worth the change, and the one that the job names for clearing goes before it in recesses of
    inlays. A set-up with nothing to cut is left out.
    Raises: JobFileError where the shop has no such cutter; FitError where a recess is narrower than the cutter.
    """
    cutter = _cutter(shop, job.fit.cutter, "fit.cutter")
    seams = [inlay.fit.rule.seam for inlay in layout.inlays]
    planner = _Planner(job, shop, cutter, min(seams, default=None), _clearing(job, shop, cutter))
    for face in FACES:
        _plan_face(planner, layout, face)
    ids = part_ids(layout, on_offcuts.places)
    for offcut in on_offcuts.used:
        parts = [
            part_line(place, line_id, offcut.thickness)
            for place, line_id in zip(on_offcuts.places, ids, strict=True)
            if place.offcut == offcut.name
        ]
        _plan_offcut(planner, offcut, parts)
    for order in range(2, 1 + max((inlay.order for inlay in layout.inlays), default=1)):
        for face in FACES:
            _plan_over(planner, layout, face, order)
    if planner.faults:
        raise FitError.of(planner.faults)
    general = rule_findings(job.cutting, cutter, shop.machine) if planner.set_ups else ()
    return CuttingPlan(tuple(planner.set_ups), (*general, *planner.findings))


def _cutter(shop: Shop, name: str, key: str) -> Cutter:
    for cutter in shop.cutters:
        if cutter.name == name:
            return cutter
    names = ", ".join(cutter.name for cutter in shop.cutters) or "none"
    raise JobFileError(f"the shop has no cutter named {name}", key, f"name one of the shop's cutters: {names}")


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


def _plan_face(planner: _Planner, layout: Layout, face: Face) -> None:
    inlays = [inlay for inlay in layout.inlays if inlay.face == face and inlay.order == 1]
    fittings = [fitting for fitting in layout.fittings if fitting.face == face]
    frame = SHOW if face == "show" else UNDERSIDE
    recesses = _inlay_lines(planner, layout, face, 1)
    # with a larger cutter to clear them, recesses are cut apart from fittings of the same depth
    groups: dict[Cutter, list[Named]] = {planner.cutter: [] if planner.clearing else list(recesses)}
    for cutter, named in _fitting_lines(planner, fittings, layout.board, face):
        groups.setdefault(cutter, []).append(named)
        planner.findings += _chisel_note(named)
    lines = [*(recesses if planner.clearing else ()), *(named for group in groups.values() for named in group)]
    if lines and not planner.faults:
        title = f"{_face_words(inlays, len(fittings))}, {'show face' if face == 'show' else 'underside'}"
        outline = frame.region(layout.board.outline)
        stock = _Stock("board", title, face, outline, layout.board.thickness, _board_holding(face), BOARD_MINUTES)
        passes = _cleared_and_finished(planner, recesses) if planner.clearing else {}
        for cutter, group in groups.items():
            if group:
                passes[cutter] = passes.get(cutter, []) + _recess_groups(planner, cutter, group)
        _add_set_up(planner, stock, lines, passes)


def _plan_over(planner: _Planner, layout: Layout, face: Face, order: int) -> None:
    """The recesses that are cut into inserts of the order before, when those are glued in and levelled."""
    lines = _inlay_lines(planner, layout, face, order)
    if lines and not planner.faults:
        names = [inlay.name for inlay in layout.inlays if inlay.face == face and inlay.order == order]
        title = f"recess for {names[0]}" if len(names) == 1 else f"recesses of order {order}"
        words = f"{title}, {'show face' if face == 'show' else 'underside'}"
        outline = (SHOW if face == "show" else UNDERSIDE).region(layout.board.outline)
        holding = f"{_board_holding(face)} {_LEVELLED_FIRST}"
        stock = _Stock("board", words, face, outline, layout.board.thickness, holding, BOARD_MINUTES, order)
        _add_set_up(planner, stock, lines, _cleared_and_finished(planner, lines))


def _inlay_lines(planner: _Planner, layout: Layout, face: Face, order: int) -> list[Named]:
    lines: list[Named] = []
    for inlay, line_id in zip(layout.inlays, recess_ids(layout), strict=True):
        if inlay.face == face and inlay.order == order:
            frame = SHOW if face == "show" else UNDERSIDE
            named, findings, faults = inlay_line(inlay, line_id, frame, planner.cutter.radius)
            lines.append(named)
            planner.findings += [*findings, *_chisel_note(named)]
            planner.faults += faults
    return lines


def _fitting_lines(
    planner: _Planner, fittings: Sequence[Fitting], board: Board, face: Face
) -> Iterator[tuple[Cutter, Named]]:
    """The line of each fitting and the cutter that cuts it."""
    frame = SHOW if face == "show" else UNDERSIDE
    lines: list[Named] = []
    for fitting in fittings:
        named, faults = fitting_line(fitting, frame, board.outline, planner.cutter.radius)
        lines.append(named)
        planner.faults += faults
    if planner.faults:
        return
    larger = larger_cutters(lines, planner.cutter, planner.shop, planner.job.cutting)
    for fitting, named in zip(fittings, lines, strict=True):
        cutter = larger.get(named.line.id, planner.cutter)
        if cutter is not planner.cutter:  # at an open edge it has to run out further
            named, _ = fitting_line(fitting, frame, board.outline, cutter.radius)
        yield cutter, named


def _cleared_and_finished(planner: _Planner, lines: Sequence[Named]) -> dict[Cutter, list[Pass]]:
    """The passes of recesses by cutter, in running order: first the one that clears, if it can go anywhere."""
    clearing, finishing = planner.clearing, planner.cutter
    if clearing is None:
        return {finishing: _recess_groups(planner, finishing, lines)}
    first: list[Pass] = []
    then: list[Pass] = []
    for depth in dict.fromkeys(named.line.depth for named in lines):
        group = [named for named in lines if named.line.depth == depth]
        regions, name = [named.line.region for named in group], _names(group)
        passes, cleared = clearing_passes(regions, name, _work(planner, clearing, depth))
        first += passes
        then += recess_passes(regions, name, _work(planner, finishing, depth), cleared if passes else None)
    by_cutter = {clearing: first, finishing: then}
    return {cutter: passes for cutter, passes in by_cutter.items() if passes}


def _recess_groups(planner: _Planner, cutter: Cutter, lines: Sequence[Named]) -> list[Pass]:
    """The passes of each group of lines of equal depth, in the order in which the depths first stand."""
    passes: list[Pass] = []
    for depth in dict.fromkeys(named.line.depth for named in lines):
        group = [named for named in lines if named.line.depth == depth]
        work = _work(planner, cutter, depth)
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
    pictures = sum(inlay.kind == "picture" for inlay in inlays)
    keys = len(inlays) - pictures
    words = [
        (pictures, "recess", "recesses"),
        (keys, "key recess", "key recesses"),
        (fittings, "fitting", "fittings"),
    ]
    return " and ".join(one if count == 1 else many for count, one, many in words if count)


def _board_holding(face: Face) -> str:
    up = "Show face up" if face == "show" else "Underside up, the board turned over about edge A"
    return (
        f"{up}. Clamp the board flat, clamps clear of the path; edge A along x. "
        "Zero at the datum corner, on top of the wood."
    )


# --- the offcuts


def _plan_offcut(planner: _Planner, offcut: Offcut, parts: Sequence[Named]) -> None:
    if not parts or planner.faults:
        return
    through = planner.job.cutting.through
    work = _work(planner, planner.cutter, offcut.thickness + through)
    passes = part_passes([_polygon(named) for named in parts], offcut.name, work)
    holding = (
        "Double-sided tape over the whole offcut, on a flat sacrificial board: the cutter goes "
        f"{figure(through, planner.job.unit, 'depth')} into it. Zero at the lower left corner of the offcut's bounds, "
        "on top of the wood."
    )
    title = f"parts, {offcut.name}"
    planner.findings += part_findings(parts, planner.cutter.radius, title)
    stock = _Stock(offcut.name, title, "show", offcut.outline, offcut.thickness, holding, OFFCUT_MINUTES)
    _add_set_up(planner, stock, parts, {planner.cutter: passes})


def _polygon(named: Named) -> Polygon:
    region = named.line.region
    return region if isinstance(region, Polygon) else region.geoms[0]


# --- set-ups


@dataclass(frozen=True, slots=True)
class _Stock:
    """What lies on the machine, and how."""

    name: str
    title: str
    face: Face
    outline: Polygon
    thickness: float
    holding: str
    minutes: float
    order: int = 1


def _work(planner: _Planner, cutter: Cutter, depth: float) -> Work:
    rule = planner.job.cutting
    return Work(cutter, rule, depth, figure(rule.allowance, planner.job.unit, "depth"))


def _add_set_up(
    planner: _Planner, stock: _Stock, lines: Sequence[Named], passes: Mapping[Cutter, Sequence[Pass]]
) -> None:
    number = len(planner.set_ups) + 1
    slug = f"{number}-{_slug(stock.title)}"
    machine = planner.shop.machine
    stem = f"{planner.job.slug}-{slug}"
    programs = tuple(
        _program(stem if len(passes) == 1 else f"{stem}-cutter-{cutter.number}", cutter, some, machine)
        for cutter, some in passes.items()
    )
    set_up = SetUp(
        number,
        stock.title,
        slug,
        stock.name,
        stock.face,
        stock.outline,
        stock.thickness,
        tuple(named.line for named in lines),
        programs,
        stock.holding,
        machine.safe_height,
        stock.minutes + (len(programs) - 1) * CHANGE_MINUTES,
        stock.order,
    )
    planner.set_ups.append(set_up)
    planner.findings += set_up_findings(set_up, machine, planner.seam)


def _program(stem: str, cutter: Cutter, passes: Sequence[Pass], machine: Machine) -> Program:
    figures = figures_for(cutter, machine, max(one.depth for one in passes))
    counted = numbered(passes, figures, machine)
    return Program(f"{stem}.nc", cutter, counted, figures, sum(one.minutes for one in counted))


def _names(group: Sequence[Named]) -> str:
    return ", ".join(named.name for named in group)


def _slug(title: str) -> str:
    """The title as a plain file name: small letters, figures and single dashes."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
