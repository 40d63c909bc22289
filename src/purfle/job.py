"""The flow, read as a recipe: the only place that knows the order of the stages.

`make` takes a job folder and gives every noun made on the way and every file to write; it writes nothing itself.
`prove` is the dry fit alone, from the files of a folder and nothing else.

What draws, what reads drawings, what writes DXF and what compares cutters is loaded where it is needed: mostly in the
mate's process alone. So is what few jobs need: ready artworks, tapered walls, trials.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import perf_counter
from types import MappingProxyType
from typing import TYPE_CHECKING

import shapely
from shapely.geometry.base import BaseGeometry

from purfle import artwork, board, cutting, fit, keys, offcuts, proof, season, traced
from purfle.carrying import carry
from purfle.chances import chances_of
from purfle.errors import JobFileError, PurfleError
from purfle.files import assembly, folder, outline_svg, report, rs274
from purfle.files.job_folder import read_job_folder
from purfle.fitted import finishing_cutters, fit_all, fit_design, fit_rule, template_rule_of
from purfle.geometry.pose import Pose
from purfle.hard_stop import HardStop
from purfle.mate import ALONE, Mate
from purfle.model.artwork import Areas
from purfle.model.board import Board, Layout
from purfle.model.cutting import CuttingPlan, SetUp
from purfle.model.findings import Finding
from purfle.model.job import Job, JobResult, PictureRule, ReadyRule
from purfle.model.offcuts import OffcutRule, OnOffcuts
from purfle.model.pieces import DrawnArea, Fit
from purfle.model.proof import Proof
from purfle.model.shop import Shop
from purfle.reckoning import reckon
from purfle.shop import cutter_named
from purfle.units import LengthUnit, retold
from purfle.wood import find as find_wood
from purfle.wood import know, own_species, woods_told

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from purfle.model.cutter_choice import CutterChoice
    from purfle.sheets import Draft, Pages

Progress = Callable[[str], None]
BOARD_PX = 1500
"""Pixels along a photographed board: as many as the picture of the finished piece shows of it."""
SPARES_BELOW = 100.0
"""Parts of less area (mm2) get a spare where there is room: they are lost or broken first. Common practice."""
FROM_DEFECT = 2.0
"""Room kept between a part and a knot or check of its offcut, mm."""


@dataclass(frozen=True, slots=True)
class Design:
    """What is let in as one: its areas as traced or composed, and the same at true size with their woods.

    `pose`: where it stands on its face; None: as the job's picture says. `read`: of each picture or drawing the areas
    before they were edited.
    """

    areas: Areas
    mm_per_unit: float
    drawn: tuple[DrawnArea, ...]
    findings: tuple[Finding, ...]
    pose: Pose | None = None
    read: tuple[tuple[PictureRule, Areas], ...] = ()


@dataclass(slots=True)
class Clock:
    """Seconds by stage, kept apart from the report so that the report stays the same to the byte."""

    progress: Progress
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Tell the maker what is being done, and note how long it took."""
        self.progress(name)
        start = perf_counter()
        yield
        self.seconds[name] = self.seconds.get(name, 0.0) + perf_counter() - start


def make(
    job_folder: Path, progress: Progress = lambda _: None, mate: Mate = ALONE
) -> tuple[JobResult, dict[str, bytes]]:
    """The whole job: every noun made on the way, and every file by name.

    `mate` draws papers while the files are written and proved; without one everything is done in turn.

    Raises: PurfleError where the input cannot be used. What can be made but should not be cut is a finding.
    """
    return make_of(*read_job_folder(job_folder), progress, mate)


def make_of(
    job: Job,
    shop: Shop,
    progress: Progress = lambda _: None,
    mate: Mate = ALONE,
    beside: Mapping[str, bytes] = MappingProxyType({}),
) -> tuple[JobResult, dict[str, bytes]]:
    """The same of a job and a shop that have been read. Findings and faults come in the unit of the job.

    `beside`: files that go with the others and are listed in the report (what each cutter makes).
    """
    mate.tell(know, own_species(shop.woods))
    try:
        return _made(job, shop, Clock(progress), mate, beside)
    except PurfleError as refusal:
        raise refusal.reworded(telling(job, shop)) from refusal


def _made(
    job: Job, shop: Shop, clock: Clock, mate: Mate, beside: Mapping[str, bytes]
) -> tuple[JobResult, dict[str, bytes]]:
    """The recipe itself."""
    tell = telling(job, shop)
    if job.board.photograph is None:
        mate.ask(prepare_board, job.board)
    stop = HardStop()
    with clock.stage("finding areas"):
        edged, edges = board_with_edges(job.board)
        job = replace(job, board=edged)
        design = design_of(job, shop, stop)
        job = with_height(job, design)
        doubts = [mate.ask(traced.doubts_drawn, *one, job.unit) for one in pictures_read(job, design)]
    with clock.stage("making pieces that can be cut"), stop:
        fits = fit_all(job, shop, design.drawn, mate)
    with clock.stage("placing on the board"):
        wishes = board.wishes_of(job, fits, design.pose)
        layout = board.lay_out(job.board, wishes, job.fittings, job.least_left, mate)
        offcuts_filled = mate.share(place_on_offcuts, job, shop, layout)
        on_board = cutting.board_clampings(job, layout, shop)
        faces = [one for one in on_board if one.order == 1]
        outlines = [mate.ask(outlines_of, job, cutting.bare_set_up(job, shop, one)) for one in faces]
    with clock.stage("placing on the offcuts"):
        on_offcuts = offcuts_filled()
        on_board = cutting.with_fibres(on_board, layout, on_offcuts)
        clampings = cutting.in_order(on_board, cutting.offcut_clampings(job, layout, on_offcuts, shop))
        on_offcuts = held(layout, on_offcuts, clampings)
    seasons, key_figures = season.reckon(job, shop, layout, on_offcuts), keys.figures_of_keys(job, layout, on_offcuts)
    carrying, carried = carry(layout, job.carrying)
    found = (*design.findings, *edges, *findings_of(layout, on_offcuts), *keys.findings_of_keys(key_figures))
    found += (*(seasons.findings if seasons else ()), *carried)
    placed = JobResult(job, shop, design.areas, design.mm_per_unit, layout, on_offcuts, CuttingPlan(()), None, found)
    placed = replace(placed, findings=_told(found, tell), board_picture=board_picture_of(job.board))
    placed = replace(placed, seasons=seasons, keys=key_figures, carrying=carrying)
    outlines += [mate.ask(outlines_of, job, cutting.bare_set_up(job, shop, one)) for one in clampings[len(faces) :]]
    pictures, early = mate.ask(pictures_of, placed), mate.keep(sheets_before_the_plan, placed)
    chances = mate.share(chances_of, job, shop, layout.inlays, on_offcuts)
    with clock.stage("planning the cuts"):
        plan = planned(job, shop, (layout, on_offcuts), clampings, mate)
    result = reckoned(replace(placed, cutting=plan, findings=_told((*found, *plan.findings), tell), chances=chances()))
    papers = mate.ask(papers_of, replace(placed, reckoning=result.reckoning))
    draft = mate.keep(draft_of, result, early)
    mate.ask(rehearse, draft)
    with clock.stage("writing programs and outlines"):
        files = {name: text for set_up in plan.set_ups for name, text in programs_of(job, set_up).items()}
        files |= template_files(job, plan)
        files |= {name: text for drawn in outlines for name, text in drawn().items()}
        files["assembly.json"] = assembly.card_bytes(job, shop, layout, on_offcuts, plan)
    with clock.stage("dry fit, read back from the files"):
        result = replace(result, proof=proved(files, tell, mate))
    with clock.stage("drawing bench sheets"):
        drawn_sheets = mate.ask(sheets_of, draft, result.proof)
        files |= pictures() | papers()
        files |= {name: data for drawn in doubts for name, data in drawn().items()}
        files[f"{job.slug}-bench-sheets.pdf"] = drawn_sheets()
    files |= beside
    files["report.json"] = report.report_bytes(result, files)
    files["timings.json"] = json.dumps({k: round(v, 3) for k, v in clock.seconds.items()}, indent=1).encode()
    return result, files


def pieces_of(job: Job, shop: Shop, progress: Progress = lambda _: None) -> tuple[tuple[Fit, ...], tuple[Finding, ...]]:
    """The pieces of a job alone, as `make` has them: the fit of each order of letting in, keys left out, and what was
    found.
    """
    know(own_species(shop.woods))
    tell = telling(job, shop)
    try:
        progress("finding areas")
        stop = HardStop()
        design = design_of(job, shop, stop)
        progress("making pieces that can be cut")
        drawn, _ = finishing_cutters(job, shop, design.drawn)
        with stop:
            fits = fit_design(job, shop, drawn)
    except PurfleError as refusal:
        raise refusal.reworded(tell) from refusal
    made = [finding for one in fits for finding in one.pieces.findings]
    walls = fit.wall_findings(fits[0].pieces, fits[0].rule)
    return fits, _told((*design.findings, *made, *walls), tell)


def choose_cutters(
    job: Job, shop: Shop, progress: Progress = lambda _: None, mate: Mate = ALONE
) -> "tuple[CutterChoice, dict[str, bytes]]":
    """What each cutter of the shop makes of the design, which to take, and the files that show it.

    What `progress` raises stops the work; `mate` may have several hands.
    """
    from purfle import cutter_choice

    mate.tell(know, own_species(shop.woods))
    tell = telling(job, shop)
    if job.cutting.way != "machine":
        what = "cutters are compared for a machine alone; this job is cut by hand"
        raise JobFileError(what, "job.toml, cutting.way", 'leave out --cutters, or say way = "machine"')
    try:
        drawn, _ = finishing_cutters(job, shop, design_of(job, shop).drawn)
        question = cutter_choice.question_of(job, shop, drawn)
        choice = cutter_choice.choose_cutters(question, shop.cutters, progress, mate)
    except PurfleError as refusal:
        raise refusal.reworded(tell) from refusal
    progress("drawing what each cutter makes")
    choice = cutter_choice.reworded(choice, tell)
    return choice, cutter_choice.files_of_choice(choice, (job.name, job.change), job.unit, job.paper)


def prove(made_folder: Path) -> tuple[Proof, LengthUnit]:
    """The dry fit alone, from the files in a folder and nothing else; and the unit that its maker measures in."""
    files = folder.read_folder(made_folder)
    unit = report.unit_of(files)
    return proved(files, lambda text: retold(text, unit)), unit


def proved(files: Mapping[str, bytes], tell: Callable[[str], str], mate: Mate = ALONE) -> Proof:
    """The dry fit, its findings told as the maker measures."""
    found = proof.dry_fit(files, mate)
    return replace(found, findings=_told(found.findings, tell))


def _told(findings: Iterable[Finding], tell: Callable[[str], str]) -> tuple[Finding, ...]:
    return tuple(one.reworded(tell) for one in findings)


def telling(job: Job, shop: Shop) -> Callable[[str], str]:
    """How a text is told in this job: lengths in its unit, woods by the maker's words, own names left as they are."""
    names = [job.name, str(job.folder), *([shop.machine.name] if shop.machine.is_there else [])]
    names += [cutter.name for cutter in shop.cutters] + [offcut.name for offcut in shop.offcuts]
    names += [fitting.name for fitting in job.fittings] + [key.name for key in job.keys]
    for one in job.artworks:
        names += [one.name] if isinstance(one, ReadyRule) else [one.file.name, *(name for _, name in one.names)]
    woods = [offcut.wood for offcut in shop.offcuts] + [job.board.wood, *(key.wood for key in job.keys)]
    return lambda text: retold(woods_told(text, woods), job.unit, names)


FOLLOWS = "first mend what is told of the board and its fittings; this may follow from it"


def said_once(result: JobResult) -> tuple[Finding, ...]:
    """What is told of a job: all that the plan found, and what the dry fit found beyond that.

    A place for which no part is cut, since the plan found no wood for it, is told by the plan, which says what to buy.
    Where things are not placed as they can be, what the dry fit finds may follow from that and is mended with it.
    """
    stopped = {one.stage for one in result.findings if one.severity == "stop"}
    proven = result.proof.findings if result.proof else ()
    left = tuple(one for one in proven if not ("offcuts" in stopped and proof.is_empty_place(one)))
    if "board" in stopped:
        left = tuple(replace(one, mend=FOLLOWS) if one.severity == "stop" else one for one in left)
    return (*result.findings, *left)


def stops(result: JobResult) -> tuple[Finding, ...]:
    """Every finding that says stop, the proof's included."""
    proven = result.proof.findings if result.proof else ()
    return tuple(f for f in (*result.findings, *proven) if f.severity == "stop")


def design_of(job: Job, shop: Shop, stop: HardStop | None = None) -> Design:
    """The design of the job's one picture, or of all its artworks together; drawings read in what `stop` leaves."""
    if job.picture is None:
        return composed(job, shop, stop)
    read = traced.areas_as_read(job.picture, stop)
    areas = traced.edited(job.picture, read)
    _refuse_taken(job, areas)
    mm_per_unit = traced.scale_of(job.picture, areas)
    drawn, findings = woods_of(job, shop, areas, mm_per_unit)
    seen = artwork.symmetry_seen(areas, mm_per_unit) if areas.unit == "px" and not job.picture.edits.symmetry else ()
    findings = (*artwork.doubts_at_size(areas, mm_per_unit), *seen, *findings, *_strips_told(job, shop, areas, drawn))
    return Design(areas, mm_per_unit, drawn, findings, read=((job.picture, read),))


def _strips_told(job: Job, shop: Shop, areas: Areas, design: Sequence[DrawnArea]) -> tuple[Finding, ...]:
    """How wide stringing made of drawn lines comes out under the cutter that finishes it."""
    scale, rule = traced.scale_of(_picture_of(job), areas), fit_rule(job, shop)
    wishes = sorted(job.cutters, key=lambda wish: isinstance(wish[0], str))
    told = []
    for strip in [area for area in areas.areas if area.wood]:
        (drawn,) = [area for area in design if area.name == strip.name]
        names = [job.fit.cutter, *(name for which, name in wishes if _means(which, drawn))]
        radius = cutter_named(shop, names[-1]).radius
        told.append(artwork.strip_told(strip.name, strip.width * scale, replace(rule, cutter_radius=radius)))
    return tuple(told)


def _means(which: tuple[float, float] | str, area: DrawnArea) -> bool:
    return area.name == which if isinstance(which, str) else bool(area.region.covers(shapely.Point(which)))


def _refuse_taken(job: Job, areas: Areas) -> None:
    """Names in [cutters] and [order] whose areas an edit took."""
    gone = dict(areas.gone)
    asked = [("cutters", which) for which, _ in job.cutters] + [("order", which) for which, _ in job.order]
    faults = [
        artwork.taken(which, gone[which], f'job.toml, {table}."{which}"')
        for table, which in asked
        if isinstance(which, str) and which in gone
    ]
    if faults:
        raise JobFileError.of(faults)


def with_height(job: Job, design: Design) -> Job:
    """The job with the height of its one picture, where that was left to the sheet it is drawn on."""
    if job.picture is None or job.picture.height:
        return job
    height = design.mm_per_unit * artwork.design_size(design.areas)[1]
    picture = replace(job.picture, height=height)
    return replace(job, picture=picture, artworks=(picture,))


def composed(job: Job, shop: Shop, stop: HardStop | None = None) -> Design:
    """All artworks where they stand on the board, the later ones of the file over the earlier ones."""
    laid: list[DrawnArea] = []
    findings: list[Finding] = []
    read: list[tuple[PictureRule, Areas]] = []
    for rule in job.artworks:
        if isinstance(rule, PictureRule):
            alone = design_of(replace(job, picture=rule), shop, stop)
            drawn, frame = alone.drawn, _frame_of(alone.drawn)
            findings += alone.findings
            read += alone.read
        else:
            drawn, frame, noted = ready_areas(rule)
            findings += noted
        pose = board.place_artwork(job.board, rule, frame)
        laid += [replace(area, region=pose.region(area.region)) for area in drawn]
    with stop or HardStop():
        whole = artwork.compose(laid)
    pose = Pose(0.0, *whole.place)
    return Design(whole.tiling, 1.0, whole.areas, (*findings, *whole.findings), pose, tuple(read))


def pictures_read(job: Job, design: Design) -> list[tuple[str, PictureRule, Areas]]:
    """Every picture of pixels with its areas as traced, and the file that its doubts are drawn in."""
    pixels = [(rule, areas) for rule, areas in design.read if areas.unit == "px"]
    ends = [""] if len(pixels) == 1 else [f"-{number}" for number in range(1, len(pixels) + 1)]
    return [(f"{job.slug}-doubts{end}.svg", *one) for end, one in zip(ends, pixels, strict=True)]


def _frame_of(drawn: tuple[DrawnArea, ...]) -> BaseGeometry:
    return shapely.box(*shapely.total_bounds([area.region for area in drawn]))


def ready_areas(rule: ReadyRule) -> tuple[tuple[DrawnArea, ...], BaseGeometry, tuple[Finding, ...]]:
    """The areas of a ready artwork, what its place is measured to, and what was noticed."""
    from purfle.artwork.ready import draw_ready, findings_of_ready

    made = draw_ready(rule.form, len(rule.woods))
    woods = [find_wood(name) for name in rule.woods]
    areas = []
    for part in made.parts:
        wood = woods[part.wood]
        name = part.name if rule.kind == "lettering" else f"{rule.name} {part.name}".strip()
        words = rule.name if rule.kind == "lettering" else ""
        areas.append(DrawnArea(name, wood.id, wood.look.fresh, part.region, apart=True, words=words))
    return tuple(areas), made.frame, findings_of_ready(rule)


def woods_of(
    job: Job, shop: Shop, areas: Areas, mm_per_unit: float
) -> tuple[tuple[DrawnArea, ...], tuple[Finding, ...]]:
    """Each area at true size with its wood: as the job says, else the nearest colour on the rack."""
    picture_rule = _picture_of(job)
    assigned = tuple((which, find_wood(name).id) for which, name in picture_rule.woods)
    rack = {find_wood(offcut.wood).id for offcut in shop.offcuts}
    # inlays of the board's own wood would not be seen, so only the job itself can ask for them
    meant = traced.woods_of_layers(picture_rule, areas, rack)
    asked = {wood for _, wood in assigned} | {area.wood for area in areas.areas} | set(meant.values())
    rack -= {find_wood(job.board.wood).id} - asked
    woods = [(name, find_wood(name).look.fresh) for name in sorted(rack)]
    chosen = artwork.choose_woods(areas, mm_per_unit, woods, assigned, meant)
    return chosen.areas, chosen.findings


def _picture_of(job: Job) -> PictureRule:
    """The one picture of a job that is not composed."""
    assert job.picture is not None, "a job of several artworks is composed"
    return job.picture


def place_on_offcuts(job: Job, shop: Shop, layout: Layout) -> OnOffcuts:
    """Every insert and key on an offcut of its wood, along its grain."""
    rack = tuple(replace(offcut, wood=find_wood(offcut.wood).id) for offcut in shop.offcuts)
    grain = job.picture.grain if job.picture else job.grain
    parts = offcuts.wanted_parts(layout, grain, cutting.block_over(job, shop))
    found = [offcuts.place(parts, rack, rule, shop.sold) for rule in _offcut_rules(job, shop)[:1]]
    if found[0].unplaced:
        found += [offcuts.place(parts, rack, rule, shop.sold) for rule in _offcut_rules(job, shop)[1:]]
    return min(found, key=lambda one: len(one.unplaced))


def _offcut_rules(job: Job, shop: Shop) -> list[OffcutRule]:
    """Room round parts: as asked for; first that of tabs, or with templates of pins beside the groove, then its own."""
    usual = OffcutRule(job.margin, job.between, FROM_DEFECT, spares_below=SPARES_BELOW, laid=job.laid)
    usual = replace(usual, copies=job.cutting.copies)
    if job.cutting.holding == "sawn free":  # copies are slices of the block, and spares too
        more = cutting.next_slice_over(job)
        usual = replace(usual, are_blocks=True, copies=1, slices=job.cutting.copies, slice_over=more)
        usual = replace(usual, spares_below=0.0) if job.cutting.copies > 1 else usual
    elif job.cutting.way == "machine":
        named = [cutter_named(shop, name) for name in (job.fit.cutter, *(name for _, name in job.cutters))]
        usual = replace(usual, reach=cutting.reach_of(named) - job.cutting.through)
    if job.cutting.holding == "tabs":  # first with wood between the grooves of two parts, which their tabs lead to
        wide = max(cutter_named(shop, name).width for name in (job.fit.cutter, *(name for _, name in job.cutters)))
        margin, between = cutting.room_for_tabs(wide)
        return [replace(usual, margin=max(job.margin, margin), between=max(job.between, between)), usual]
    templates = template_rule_of(job, shop)
    if templates is None:
        return [usual]
    from purfle.templates import room_for_groove, room_for_pins

    rooms = [room_for_pins(templates), room_for_groove(templates)]
    return [replace(usual, margin=max(job.margin, room), between=max(job.between, room)) for room in rooms]


def machine_files(job: Job, shop: Shop, layout: Layout, on_offcuts: OnOffcuts, plan: CuttingPlan) -> dict[str, bytes]:
    """Programs, outlines and the assembly card, by file name."""
    files: dict[str, bytes] = {}
    for set_up in plan.set_ups:
        files |= {**programs_of(job, set_up), **outlines_of(job, set_up)}
    files |= template_files(job, plan)
    files["assembly.json"] = assembly.card_bytes(job, shop, layout, on_offcuts, plan)
    return files


def planned(
    job: Job, shop: Shop, placed: tuple[Layout, OnOffcuts], clampings: Sequence[cutting.Clamping], mate: Mate
) -> CuttingPlan:
    """The plan of all clampings, whichever way they are cut."""
    templates = template_rule_of(job, shop)
    if templates is not None:
        from purfle.cutting.by_template import plan_with_templates

        return plan_with_templates(job, shop, templates, placed, clampings)
    if job.cutting.way in ("guided router", "knife and saw"):
        from purfle.cutting.by_outline import plan_along_outlines

        return plan_along_outlines(job, shop, clampings)
    shared = [mate.share(cutting.plan_set_up, job, shop, one) for one in clampings]
    # a mate that has drawn all that it can by now begins with the first, so this process begins with the last
    return cutting.plan_of(job, shop, [one() for one in reversed(shared)][::-1])


def template_files(job: Job, plan: CuttingPlan) -> dict[str, bytes]:
    """The outlines of templates, by file name; none where the job is cut without."""
    if not plan.templates:
        return {}
    from purfle.files import outline_dxf
    from purfle.files.outline_rings import template_sheet

    files: dict[str, bytes] = {}
    for template in plan.templates:
        sheet = template_sheet(template)
        files[f"{template.file}.svg"] = outline_svg.write_sheet_svg(job.name, sheet)
        files[f"{template.file}.dxf"] = outline_dxf.write_sheet_dxf(job.name, sheet)
    return files


def programs_of(job: Job, set_up: SetUp) -> dict[str, bytes]:
    """The programs of one set-up, by file name."""
    return {one.file: rs274.write_program(job, set_up, one).encode("ascii") for one in set_up.programs}


def outlines_of(job: Job, set_up: SetUp) -> dict[str, bytes]:
    """The outline files of one set-up, by file name. What its programs are is not asked."""
    from purfle.files import outline_dxf

    stem = f"{job.slug}-{set_up.slug}"
    return {
        f"{stem}.svg": outline_svg.write_outline_svg(job.name, set_up),
        f"{stem}.dxf": outline_dxf.write_outline_dxf(job.name, set_up),
    }


def board_picture_of(bare: Board) -> "NDArray[np.uint8] | None":
    """The show face as photographed, seen from straight above, where the job has a photograph of it."""
    if bare.photograph is None:
        return None
    from purfle.artwork.photograph import board_seen
    from purfle.files import picture

    seen = picture.read_picture(bare.photograph.file)
    return board_seen(seen, bare.photograph, (bare.length, bare.width), BOARD_PX)


def board_with_edges(bare: Board) -> tuple[Board, tuple[Finding, ...]]:
    """The board with the outline that its photograph shows, where the job asks for it; what was noticed on the way."""
    if not bare.edges_seen or bare.photograph is None:
        return bare, ()
    from purfle.artwork.board_edge import edge_seen
    from purfle.files import picture

    seen = edge_seen(picture.read_picture(bare.photograph.file), bare)
    return replace(bare, shape=seen.outline), seen.findings


def prepare_board(bare: Board) -> None:
    """What the picture of the finished piece needs of the bare board, worked out ahead."""
    from purfle import sheets

    sheets.prepare_board(bare)


def pictures_of(result: JobResult) -> dict[str, bytes]:
    """The picture of the finished piece, by file name."""
    from purfle import sheets

    job = result.job
    return {
        f"{job.slug}-finished.svg": sheets.finished_picture(result),
        f"{job.slug}-finished.png": sheets.finished_picture_png(result),
        **{f"{job.slug}-thickness{end}": data for end, data in sheets.thickness_pictures(result).items()},
    }


def reckoned(result: JobResult) -> JobResult:
    """The job with its time and money; a fit trial has none."""
    return result if result.job.trial else replace(result, reckoning=reckon(result))


def papers_of(result: JobResult) -> dict[str, bytes]:
    """Time and money for the shop, and the quote for its customer, by file name; none of a fit trial."""
    from purfle import sheets

    return sheets.papers_of(result, result.job.unit, result.job.paper)


def sheets_before_the_plan(result: JobResult) -> "dict[str, Pages]":
    """The pages of those bench sheets that say nothing of the cutting, by sheet."""
    from purfle import sheets

    return sheets.draw_before_the_plan(result, result.job.unit, result.job.paper)


def draft_of(result: JobResult, drawn: "Mapping[str, Pages]") -> "Draft":
    """The bench sheets drawn but for what the dry fit finds; those `drawn` before are taken as they are."""
    from purfle import sheets

    return sheets.draft_of(result, result.job.unit, result.job.paper, drawn)


def rehearse(draft: "Draft") -> None:
    """Sets the sheets once already: setting them again with a little more then takes a moment."""
    from purfle import sheets

    sheets.rehearse(draft)


def sheets_of(draft: "Draft", proven: Proof | None) -> bytes:
    """The bench sheets with what the dry fit found."""
    from purfle import sheets

    return sheets.sheets_of(draft, proven)


def held(layout: Layout, on_offcuts: OnOffcuts, clampings: Sequence[cutting.Clamping]) -> OnOffcuts:
    """The parts on their offcuts as the clampings hold them: the tabs of each, the blocks that they are sawn off."""
    tabs = {named.line.id: named.line.tabs for one in clampings if one.stock != "board" for named in one.lines}
    ids = cutting.part_ids(layout, on_offcuts.places)
    places = [replace(place, tabs=tabs.get(name, ())) for place, name in zip(on_offcuts.places, ids, strict=True)]
    blocks = tuple((one.stock, one.sawing) for one in clampings if one.sawing is not None)
    return replace(on_offcuts, places=tuple(places), blocks=blocks)


def findings_of(layout: Layout, on_offcuts: OnOffcuts) -> tuple[Finding, ...]:
    """What the stages noticed up to the offcuts, in the order of the flow."""
    fits = [finding for inlay in layout.inlays for finding in inlay.fit.pieces.findings]
    return (*fits, *layout.findings, *on_offcuts.findings)
