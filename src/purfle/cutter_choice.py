"""Which cutter to use: what each one in the shop makes of a design, how long it takes, and the set to take.

Every cutter is tried on its own, in worker processes where there are any; the results are the same without them. A
cutter that cannot make the design gives its reason and stops no other.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from shapely import Polygon

from purfle import artwork, board, cutting, fit
from purfle.errors import Fault, FitError, ShopFileError, TooLongError
from purfle.files.cutters_json import CUTTERS_FILE, cutters_bytes
from purfle.fit.departures import drawn_woods, fidelity_of
from purfle.geometry.offsetting import union_of
from purfle.hard_stop import HardStop
from purfle.mate import ALONE, Mate
from purfle.model.cutter_choice import Clearing, CutterChoice, CutterSet, CutterTrial
from purfle.model.cutting import CuttingRule
from purfle.model.job import Job, Paper
from purfle.model.pieces import DrawnArea, Fit, FitRule, Region, Way
from purfle.model.shop import Cutter, Machine, Shop
from purfle.shop import cutter_named
from purfle.tolerances import SAME_PLACE
from purfle.units import LengthUnit, in_mm
from purfle.wood import find as find_wood

Progress = Callable[[str], None]
WORTH_A_LARGER_CUTTER = 0.005
"""Share of the drawing that a larger finishing cutter may change beyond what the truest one changes: about what the
points of its tips come to (common practice, no source)."""
RULE = (
    "Finish with the largest cutter that changes no more of the drawing than the truest one does, but for half a "
    "percent; clear before it with the larger one that saves the most time, if any does with its change counted."
)
MOST_KEPT = 6
"""So many areas with a cutter of their own are named."""
PLANED_OFF = 0.6
"""Inserts of a drawing without a job are cut out of wood so much thicker than the recess is deep (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class CutterQuestion:
    """What is asked of every cutter. `rule`: the fit but for the cutter. `wishes`: how single areas are let in.

    `depths` of the recesses by order of letting in, the last one for all later orders. `thicknesses`: of the wood that
    inserts are cut out of, by wood; `thickness` of any other wood. `chosen`: the cutter that the job names. `own`:
    those that it names for single areas, which keep them whatever finishes the others.
    """

    areas: tuple[DrawnArea, ...]
    rule: FitRule
    depths: tuple[float, ...]
    thickness: float
    thicknesses: tuple[tuple[str, float], ...]
    cutting: CuttingRule
    machine: Machine
    wishes: tuple[tuple[tuple[float, float] | str, Way], ...] = ()
    chosen: str = ""
    own: tuple[Cutter, ...] = ()


def question_of(job: Job, shop: Shop, drawn: tuple[DrawnArea, ...]) -> CutterQuestion:
    """What a job asks of every cutter: its seam, its depths, the thicknesses of its rack.

    `drawn`: the areas, those that the job gives another finishing cutter with its radius.
    """
    wish = job.fit
    first = job.artworks[0].depth if job.picture is None else job.picture.depth
    over = board.OVER_DEPTH * first if wish.over_depth is None else wish.over_depth
    insert = first - wish.glue_room + wish.proud
    rack: dict[str, list[float]] = {}
    for offcut in shop.offcuts:
        rack.setdefault(find_wood(offcut.wood).id, []).append(offcut.thickness)
    thick = tuple((wood, _thinnest(found, insert)) for wood, found in sorted(rack.items()))
    named = cutter_named(shop, wish.cutter)
    rule = FitRule(named.radius, wish.seam, corners=wish.corners, corner_wishes=wish.corner_wishes)
    asked = CutterQuestion(drawn, rule, (first, over), insert, thick, job.cutting, shop.machine)
    own = {name: cutter_named(shop, name) for _, name in job.cutters}
    wishes = tuple(artwork.by_place(job.order, drawn))
    return replace(asked, wishes=wishes, chosen=named.name, own=tuple(own.values()))


def question_of_drawing(drawn: tuple[DrawnArea, ...], rule: FitRule, depth: float, shop: Shop) -> CutterQuestion:
    """What a drawing without a job asks of every cutter, cut as is usual."""
    thick = depth + PLANED_OFF
    return CutterQuestion(drawn, rule, (depth, board.OVER_DEPTH * depth), thick, (), CuttingRule(), shop.machine)


def _thinnest(found: Sequence[float], needed: float) -> float:
    """The thinnest stock that is thick enough, or else the thickest."""
    enough = [one for one in found if one >= needed]
    return min(enough) if enough else max(found)


def choose_cutters(
    question: CutterQuestion, cutters: Sequence[Cutter], progress: Progress = lambda _: None, mate: Mate = ALONE
) -> CutterChoice:
    """Every cutter tried on the design, every set of one or two of them, and the set to take.

    What `progress` raises stops the work.
    """
    if not question.machine.is_there:
        mend = 'put a [machine] in place of machine = "none": minutes are those of a machine'
        raise ShopFileError("there is no machine in the shop to compare cutters for", "shop.toml, key 'machine'", mend)
    ordered = sorted(cutters, key=lambda one: (-one.width, one.number))
    usable = tuple(one for one in ordered if question.machine.turns_slowly_enough(one))
    asked = [mate.ask(try_cutter, question, cutter, usable) for cutter in ordered]
    trials = []
    for number, (cutter, answer) in enumerate(zip(ordered, asked, strict=True), 1):
        progress(f"trying {cutter.name}, {number} of {len(ordered)} cutters")
        trials.append(answer())
    sets = sets_of(trials)
    taken = recommended(sets)
    why = _why(taken, sets) if taken else "No cutter in the shop makes this design."
    drawn = drawn_woods(question.areas)
    kept = _kept(question)
    return CutterChoice(tuple(trials), sets, taken, why, RULE, drawn, question.depths[0], question.chosen, kept)


def _kept(question: CutterQuestion) -> str:
    """What every row has in common: the areas that the job gives a cutter of their own."""
    named = sorted({area.name or area.wood for area in question.areas if area.cutter_radius is not None})
    if not named:
        return ""
    called = ", ".join(f'"{name}"' for name in named[:MOST_KEPT])
    more = f" and {len(named) - MOST_KEPT} more" if len(named) > MOST_KEPT else ""
    keeps = (
        "keeps the cutter that [cutters] gives it" if len(named) == 1 else "keep the cutters that [cutters] gives them"
    )
    return f"In every row {called}{more} {keeps}; the cutter of the row finishes all the others."


def try_cutter(question: CutterQuestion, cutter: Cutter, others: tuple[Cutter, ...] = ()) -> CutterTrial:
    """What one cutter makes of the design, and how long it takes alone and after each larger one."""
    rule = replace(question.rule, cutter_radius=cutter.radius)
    try:
        cutting.refuse_too_fast(cutter, question.machine)
        with HardStop(ends=False):
            fits = fit.let_in_order(question.areas, rule, question.wishes)
            fidelity = fidelity_of(question.areas, fits)
    except (FitError, TooLongError) as refusal:
        return CutterTrial(cutter, refused=refusal.faults)
    tasks = _tasks(question, fits, cutter)
    short = [words for one, task in tasks.items() if (words := _too_short(task, one, one == cutter))]
    if short:
        return CutterTrial(cutter, fits, fidelity, too_short=short[0])
    changes = cutting.CHANGE_MINUTES * (len(tasks) - 1)
    parts = sum(cutting.minutes_of_parts(task, one) for one, task in tasks.items())
    recesses = {one: cutting.minutes_of_recesses(task, one) or 0.0 for one, task in tasks.items()}
    clearings = []
    for larger in others:
        if larger.width > cutter.width and _reach(larger) >= max(task.deepest_recess for task in tasks.values()):
            after = {one: cutting.minutes_of_recesses(task, one, larger) for one, task in tasks.items()}
            if any(minutes is not None for minutes in after.values()):
                # the change to each finishing cutter is counted where the larger one has gone before it
                both = sum(recesses[one] + cutting.CHANGE_MINUTES if m is None else m for one, m in after.items())
                clearings.append(Clearing(larger, parts + both))
    minutes = parts + sum(recesses.values()) + changes
    return CutterTrial(cutter, fits, fidelity, minutes, clearings=tuple(clearings))


def _tasks(question: CutterQuestion, fits: Sequence[Fit], cutter: Cutter) -> dict[Cutter, cutting.CuttingTask]:
    """What each finishing cutter does: the recesses of all orders, and the inserts by wood; the row's cutter first."""
    depths = [question.depths[min(one.order, len(question.depths)) - 1] for one in fits]
    thick = dict(question.thicknesses)
    recesses: dict[Cutter, list[tuple[Region, float]]] = {}
    inserts: dict[Cutter, dict[str, list[Polygon]]] = {}
    for one, depth in zip(fits, depths, strict=True):
        parts: dict[Cutter, list[Polygon]] = {}
        for part, radius in one.recess_parts():
            parts.setdefault(_of_radius((cutter, *question.own), radius), []).append(part)
        for finisher, regions in parts.items():
            recess = one.recess if len(parts) == 1 else union_of(regions)
            recesses.setdefault(finisher, []).append((recess, depth))
        for insert in one.inserts:
            finisher = _of_radius((cutter, *question.own), one.radius_of(insert))
            inserts.setdefault(finisher, {}).setdefault(insert.wood, []).append(insert.region)
    used = sorted(recesses.keys() | inserts.keys(), key=lambda one: (one != cutter, -one.width, one.number))
    tasks = {}
    for finisher in used:
        woods = sorted(inserts.get(finisher, {}).items())
        cut = tuple((tuple(regions), thick.get(wood, question.thickness)) for wood, regions in woods)
        tasks[finisher] = cutting.CuttingTask(
            tuple(recesses.get(finisher, ())), cut, question.cutting, question.machine
        )
    return tasks


def _of_radius(cutters: Sequence[Cutter], radius: float) -> Cutter:
    """The first cutter of a radius, or else the first one."""
    return next((one for one in cutters if math.isclose(one.radius, radius, abs_tol=SAME_PLACE)), cutters[0])


def _reach(cutter: Cutter) -> float:
    return min(cutter.cutting_length, cutter.stick_out)


def _too_short(task: cutting.CuttingTask, cutter: Cutter, of_row: bool) -> str:
    """What the cutter is too short for, in words; nothing if it is long enough."""
    reach, deepest, recess = _reach(cutter), task.deepest, task.deepest_recess
    if reach >= deepest:
        return ""
    what = f"the recess is {in_mm(recess)} deep" if reach < recess else f"inserts are cut {in_mm(deepest)} deep"
    return f"too short: {'it' if of_row else cutter.name} reaches {in_mm(reach)}, {what}"


def sets_of(trials: Sequence[CutterTrial]) -> tuple[CutterSet, ...]:
    """Every usable cutter alone and after each larger one, quickest first, those marked that no other set beats."""
    sets = []
    for trial in trials:
        if trial.is_usable and trial.fidelity is not None and trial.minutes is not None:
            share, lost = trial.fidelity.changed_share, len(trial.fidelity.lost)
            sets.append(CutterSet(trial.cutter, None, trial.minutes, share, lost))
            sets += [CutterSet(trial.cutter, one.cutter, one.minutes, share, lost) for one in trial.clearings]
    sets.sort(key=lambda one: (one.minutes, one.changed_share, one.finishing.number))
    return tuple(replace(one, is_worth_it=not any(_beats(other, one) for other in sets)) for one in sets)


def _beats(one: CutterSet, other: CutterSet) -> bool:
    """True if one set is as quick and as true as another, and better in one of both."""
    first, second = (one.minutes, one.changed_share), (other.minutes, other.changed_share)
    return first != second and first[0] <= second[0] and first[1] <= second[1]


def recommended(sets: Sequence[CutterSet]) -> CutterSet | None:
    """The set that `RULE` takes; None if there is none."""
    if not sets:
        return None
    limit = min(one.changed_share for one in sets) + WORTH_A_LARGER_CUTTER
    true_enough = [one for one in sets if one.changed_share <= limit]
    widest = max(one.finishing.width for one in true_enough)
    return min((one for one in true_enough if one.finishing.width == widest), key=lambda one: one.minutes)


def _why(taken: CutterSet, sets: Sequence[CutterSet]) -> str:
    """What the recommended set gains and costs against the next ones, in a sentence or two."""
    alone = next(one for one in sets if one.finishing == taken.finishing and one.clearing is None)
    words = []
    if taken.clearing is not None:
        saved = alone.minutes - taken.minutes
        words.append(f"{taken.clearing.name} clears first, which saves {_about(saved)} of {_about(alone.minutes)}.")
    quicker = [one for one in sets if one.finishing.width > taken.finishing.width and one.minutes < taken.minutes]
    if quicker:
        other = min(quicker, key=lambda one: (one.changed_share, one.minutes))
        more = other.changed_share - taken.changed_share
        words.append(
            f"{_called(other)} would be done {_about(taken.minutes - other.minutes)} sooner, and would change "
            f"{_percent(more)} more of the drawing."
        )
    return " ".join(words) or "No other cutter in the shop is truer or quicker."


def _called(one: CutterSet) -> str:
    return f"{one.finishing.name} after {one.clearing.name}" if one.clearing else one.finishing.name


def _about(minutes: float) -> str:
    return f"{max(minutes, 1.0):.0f} min"


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def reworded(choice: CutterChoice, change: Callable[[str], str]) -> CutterChoice:
    """The same with every text that has lengths in it changed."""
    trials = tuple(
        replace(
            one,
            too_short=change(one.too_short),
            refused=tuple(Fault(change(f.what), change(f.where), change(f.mend)) for f in one.refused),
        )
        for one in choice.trials
    )
    return replace(choice, trials=trials)


def files_of_choice(choice: CutterChoice, said: tuple[str, str], unit: LengthUnit, paper: Paper) -> dict[str, bytes]:
    """The table for other programs, and the page to pin up, by file name. `said`: name and change number."""
    from purfle import sheets

    svg, png = sheets.cutters_page(choice, sheets.Style(unit, paper), sheets.PageHead(*said))
    return {CUTTERS_FILE: cutters_bytes(choice, *said, unit), "cutters.svg": svg, "cutters.png": png}
