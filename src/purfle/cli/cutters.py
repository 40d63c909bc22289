"""`purfle pieces ... --cutters DIR` and `purfle make ... --cutters`: which cutter to use, as a table."""

from argparse import Namespace
from collections.abc import Iterator, Sequence
from pathlib import Path

from purfle.cli import shapes
from purfle.cli.telling import Progress
from purfle.errors import Fault, PurfleError
from purfle.files.folder import check_place
from purfle.files.job_folder import read_job_folder
from purfle.files.whole_file import write_whole
from purfle.mate import Mate
from purfle.model.cutter_choice import CutterChoice, CutterSet, CutterTrial, Departure
from purfle.model.job import Job
from purfle.model.shop import Shop
from purfle.shop import first_shop_text, load_shop, read_shop
from purfle.units import LengthUnit, figure, retold
from purfle.units import number as bare

TRYING = ("purfle.cutter_choice",)
"""What every worker loads while the first process finds the areas."""
MOST_LOST = 12
"""Lost details told of one cutter; all of them stand in cutters.json."""
MM2_IN_AN_INCH2 = 25.4 * 25.4
SAID_BY_THE_JOB = ("height", "cutter", "seam", "depth", "shop", "units", "drawing-unit")
USUAL = {"cutter": "1/8in", "seam": "0.1mm", "depth": "3mm", "units": "mm"}
"""Taken where nothing is said of a drawing without a job."""
Rows = list[tuple[str, ...]]


def pieces(arguments: Namespace) -> int:
    """`purfle pieces`: the pieces of one cutter, or of a job; with --cutters what each cutter makes of them."""
    _check_words(arguments)
    if arguments.cutters is None:
        return shapes.job_pieces(arguments) if shapes.is_job(arguments.drawing) else shapes.pieces(arguments)
    check_place(Path(arguments.cutters))
    return _of_job_folder(arguments) if shapes.is_job(arguments.drawing) else _of_drawing(arguments)


def of_job(job: Job, shop: Shop, progress: Progress) -> tuple[CutterChoice, dict[str, bytes]]:
    """Every cutter of the shop tried on the design of a job, and the files that show it."""
    progress("finding areas")
    with Mate(*TRYING, hands=len(shop.cutters)) as mate:
        from purfle import job as flow

        return flow.choose_cutters(job, shop, progress, mate)


def _check_words(arguments: Namespace) -> None:
    """What has to be said, and what cannot be said together."""
    faults = []
    where = "the words after purfle pieces"
    if arguments.geojson is None and arguments.cutters is None:
        faults.append(Fault("Nothing says where the pieces go", where, "Add --geojson FILE, or --cutters DIR."))
    if arguments.geojson is not None and arguments.cutters is not None:
        mend = "Do one after the other: --geojson is for one cutter, --cutters for all of the shop."
        faults.append(Fault("--geojson and --cutters stand together", where, mend))
    of_job = shapes.is_job(arguments.drawing)
    if not of_job and arguments.height is None and not shapes.says_its_size(Path(arguments.drawing)):
        faults.append(Fault("Nothing says how high the design is", where, "Add --height, such as --height 118mm."))
    said = [f"--{one}" for one in SAID_BY_THE_JOB if getattr(arguments, one.replace("-", "_")) is not None]
    if of_job and said:
        words = " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)
        faults.append(Fault(f"The job says {words} itself", where, f"Leave {words} out, or change the job file."))
    if faults:
        raise PurfleError.of(faults)
    for option, usual in USUAL.items():
        if getattr(arguments, option) is None:
            setattr(arguments, option, usual)


def _of_job_folder(arguments: Namespace) -> int:
    job, shop = read_job_folder(Path(arguments.drawing))
    with Progress() as progress:
        choice, files = of_job(job, shop, progress)
    return _tell_and_write(arguments.cutters, choice, files, (job.name, job.unit))


def _of_drawing(arguments: Namespace) -> int:
    """A drawing or picture without a job: its cutters are those of a shop file, or of the first shop."""
    rule, height = shapes.fit_rule(arguments)
    depth = shapes.length_of(arguments.depth, "--depth")
    shop = load_shop(Path(arguments.shop)) if arguments.shop else read_shop(first_shop_text())
    name = Path(arguments.drawing).name
    with Progress() as progress, Mate(*TRYING, hands=len(shop.cutters)) as mate:
        from purfle import cutter_choice

        progress("finding areas")
        areas = shapes.areas_of(Path(arguments.drawing), arguments.drawing_unit, height=height)
        drawn = shapes.drawn_areas(areas, height)
        question = cutter_choice.question_of_drawing(drawn, rule, depth, shop)
        found = cutter_choice.choose_cutters(question, shop.cutters, progress, mate)
        choice = cutter_choice.reworded(found, lambda text: retold(text, arguments.units))
        progress("drawing what each cutter makes")
        files = cutter_choice.files_of_choice(choice, (name, ""), arguments.units, "a4")
    return _tell_and_write(arguments.cutters, choice, files, (name, arguments.units))


def _tell_and_write(target: str, choice: CutterChoice, files: dict[str, bytes], said: tuple[str, LengthUnit]) -> int:
    """0, or 1 where no cutter makes the design."""
    for name, data in files.items():
        write_whole(Path(target) / name, data)
    for line in told(choice, *said):
        print(line)
    print(f"Written to {target}: {', '.join(files)}.")
    return 0 if choice.recommended else 1


# --- the table


def told(choice: CutterChoice, name: str, unit: LengthUnit) -> Iterator[str]:
    """The answer in lines: what each cutter makes, what is lost where, the sets worth their time, what to take."""
    yield f"Cutters for {name}, recess {figure(choice.depth, unit, 'depth')} deep:"
    yield ""
    yield from _lines(_trial_rows(choice, unit), "lrrrrrrr")
    if choice.kept:
        yield ""
        yield choice.kept
    for trial in choice.trials:
        yield from _trouble(trial, unit)
    worth = [one for one in choice.sets if one.is_worth_it]
    if worth:
        yield ""
        yield "Sets that are worth their time (each is truer than every quicker one):"
        yield ""
        yield from _lines(_set_rows(worth, choice), "rrrll")
    yield ""
    if choice.recommended:
        yield f"Recommended: {called(choice.recommended)}. {choice.why}"
    else:
        yield choice.why
    yield f"The rule: {choice.rule}"


def called(one: CutterSet) -> str:
    """A set in words."""
    return f"{one.finishing.name}, after {one.clearing.name} has cleared" if one.clearing else one.finishing.name


def _trial_rows(choice: CutterChoice, unit: LengthUnit) -> Rows:
    rows: Rows = [("cutter", "lost", "area lost", "shorter", "changed", "outline moves", "tightest inside", "cutting")]
    for trial in choice.trials:
        mine = " (this job)" if trial.cutter.name == choice.chosen else ""
        rows.append((trial.cutter.name + mine, *_figures(trial, unit)))
    return rows


def _figures(trial: CutterTrial, unit: LengthUnit) -> tuple[str, ...]:
    made = trial.fidelity
    if made is None:
        return ("cannot make it", "", "", "", "", "", "")
    lost_area = sum(one.region.area for one in made.lost)
    shorter = f"{len(made.corners)}, to {figure(made.corners[0].depth, unit)}" if made.corners else "none"
    return (
        str(len(made.lost)) if made.lost else "none",
        _area(lost_area, unit) if made.lost else "",
        shorter,
        _percent(made.changed_share),
        f"to {figure(made.largest_move, unit)}",
        "none" if made.inside_radius is None else f"r {figure(made.inside_radius, unit)}",
        "too short" if trial.minutes is None else _minutes(trial.minutes),
    )


def _set_rows(sets: Sequence[CutterSet], choice: CutterChoice) -> Rows:
    rows: Rows = [("cutting", "changed", "lost", "cutters", "")]
    for one in sets:
        taken = "recommended" if one == choice.recommended else ""
        rows.append((_minutes(one.minutes), _percent(one.changed_share), str(one.lost), called(one), taken))
    return rows


def _trouble(trial: CutterTrial, unit: LengthUnit) -> Iterator[str]:
    """What one cutter loses, and where; or why it cannot be used."""
    lost = trial.fidelity.lost if trial.fidelity else ()
    if not (lost or trial.refused or trial.too_short):
        return
    yield ""
    yield f"{trial.cutter.name}:"
    for fault in trial.refused:
        yield f"  cannot make it: {fault.what} ({fault.where})"
    if trial.too_short:
        yield f"  {trial.too_short}"
    for number, one in enumerate(lost[:MOST_LOST], 1):
        yield f"  {number:2} {_departure(one, unit)}"
    if len(lost) > MOST_LOST:
        yield f"     and {len(lost) - MOST_LOST} more"


def _departure(one: Departure, unit: LengthUnit) -> str:
    what = "all of " if one.kind == "area" else ""
    place = f"{bare(one.place[0], unit)}, {figure(one.place[1], unit)}"
    return f"{what}{one.name}, {_area(one.region.area, unit)} at {place}: {one.instead} there now"


def _lines(rows: Rows, align: str) -> Iterator[str]:
    """Rows as columns of plain text."""
    wide = [max(len(row[column]) for row in rows) for column in range(len(align))]
    for row in rows:
        cells = [
            cell.rjust(width) if side == "r" else cell.ljust(width)
            for cell, width, side in zip(row, wide, align, strict=True)
        ]
        yield "  " + "  ".join(cells).rstrip()


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def _minutes(minutes: float) -> str:
    return f"{max(minutes, 1.0):.0f} min"


def _area(mm2: float, unit: LengthUnit) -> str:
    """An area for people: whole mm2, or hundredths of a square inch."""
    if unit == "mm":
        return f"{mm2:.0f} mm2" if mm2 >= 1.0 else "under 1 mm2"
    inches = mm2 / MM2_IN_AN_INCH2
    return f"{inches:.2f} in2" if inches >= 0.01 else "under 0.01 in2"
