"""`purfle fit-trial`: a job that tries a cutter; and what came of it, put into the shop file."""

import json
import math
import re
from argparse import Namespace
from datetime import date
from pathlib import Path
from typing import Any

from purfle.cli.new import next_words
from purfle.errors import FolderError, ShopFileError, TrialError
from purfle.files.job_toml import FIRST_CUTTER, JOB_FILE, SHOP_FILE, shop_file
from purfle.files.job_trial import trial_text
from purfle.files.whole_file import read_whole, write_whole
from purfle.model.shop import Cutter, Shop
from purfle.shop import cutter_named, first_shop_text, load_shop, read_shop
from purfle.shop.saving import with_cutter_figures
from purfle.shop.trial import Plug, TrialNotes, TrialOutcome, asks_for_change, outcome_of
from purfle.units import LengthUnit, figure, length, retold, unit_word
from purfle.wood import find as find_wood

GROUND = "white oak"
THICK_ENOUGH = 3.5
"""An offcut (mm) that a plug of a new trial can be cut out of."""
SURE = 1.96
"""Standard deviations on either side that hold 95 of 100."""
ONE_SIDED = 1.645
"""Standard deviations that 95 of 100 stay below."""
FINE, FINE_INCH = 0.01, 0.0254
"""Seams are rounded up to these (mm) when one is advised."""
_SIZE = re.compile(r"\s*(\d+)\s*[=:]\s*(.+)")
_WHERE = "the words after purfle fit-trial"


def run(arguments: Namespace) -> int:
    """Make the folder of a trial; or, if it is said how it went, put that into the shop file."""
    notes = arguments.went_in is not None or arguments.plug or arguments.recess
    asked = [f"--{one}" for one in ("cutter", "ground", "wood", "units") if getattr(arguments, one) is not None]
    if notes and asked:
        mend = f"Leave {' and '.join(asked)} out: what was cut is known from the folder."
        raise TrialError(f"{asked[0]} is for a new trial, and here one is told of", _WHERE, mend)
    if arguments.change is not None and not notes:
        mend = "Say --went-in, --plug or --recess too; or leave --change out."
        raise TrialError("--change is for telling how a trial went, and nothing is told of one here", _WHERE, mend)
    return _read_back(arguments) if notes else _new(arguments)


# --- a new one


def _new(arguments: Namespace) -> int:
    folder = Path(arguments.folder)
    if (folder / JOB_FILE).exists() or (folder.exists() and not folder.is_dir()):
        there = folder / JOB_FILE if folder.is_dir() else folder
        mend = "Say how it went with --went-in, --plug or --recess; or name another folder for a new trial."
        raise FolderError("There is something here already", str(there), mend)
    found = next((p / SHOP_FILE for p in (folder, folder.resolve().parent) if (p / SHOP_FILE).is_file()), None)
    shop = load_shop(found) if found else read_shop(first_shop_text())
    cutter = cutter_named(shop, arguments.cutter or FIRST_CUTTER)
    woods = (arguments.ground or GROUND, arguments.wood or _wood_of_plugs(shop))
    for wood in woods:
        find_wood(wood)
    name = folder.resolve().name or "fit trial"
    if found is None:
        write_whole(folder / SHOP_FILE, first_shop_text().encode())
    text = trial_text(name, cutter.name, woods, (arguments.units or "mm") == "inch")
    write_whole(folder / JOB_FILE, text.encode())
    print(f"Made {folder}: a fit trial of {cutter.name}, plugs of {woods[1]} in {woods[0]}.")
    print(f"Look through {folder / JOB_FILE}, then: {next_words('make', folder)}")
    return 0


def _wood_of_plugs(shop: Shop) -> str:
    """The wood of the first offcut that is thick enough, or of the first one."""
    thick = [offcut for offcut in shop.offcuts if offcut.thickness >= THICK_ENOUGH]
    if not shop.offcuts:
        raise ShopFileError("There is no offcut in the shop for the plugs", SHOP_FILE, "Add one, or say --wood.")
    return (thick or shop.offcuts)[0].wood


# --- how it went


def _read_back(arguments: Namespace) -> int:
    folder = Path(arguments.folder)
    made = Path(arguments.made) if arguments.made else folder / "made"
    trial, change, unit = _trial_of(made)
    notes = TrialNotes(_went_in(arguments.went_in), _sizes(arguments.plug, "plug"), _sizes(arguments.recess, "recess"))
    plugs = [Plug(p["number"], p["seam_mm"], p["plug_mm"], p["recess_mm"]) for p in trial["plugs"]]
    drawn_for = float(trial["drawn_for_mm"])
    file = _own_shop(folder)
    cutter = cutter_named(load_shop(file), str(trial["cutter"]))
    _refuse_other_files(arguments.change, change, asks_for_change(drawn_for, cutter), (made, file, cutter.name))
    try:
        found = outcome_of(plugs, drawn_for, notes)
        _refuse_unlikely(found, cutter)
    except TrialError as refusal:
        raise refusal.reworded(lambda words: retold(words, unit, [cutter.name])) from None
    text = read_whole(file, "shop file").decode("utf-8")
    figures = _figures(found, notes, unit)
    write_whole(file, with_cutter_figures(text, cutter.name, figures, file.name).encode("utf-8"))
    for line in _told(found, (cutter.name, drawn_for), unit):
        print(line)
    print(f"In {file} now, below {cutter.name}: " + ", ".join(f"{k} = {v}" for k, v in figures.items()) + ".")
    return 0


def _trial_of(made: Path) -> tuple[dict[str, Any], str, LengthUnit]:
    """What the report of a made and proven trial says of it, its change, and the unit of its maker."""
    from purfle.files.report import REPORT_FILE, unit_of

    mend = "Make the trial first: purfle make FOLDER; --made names where its files are, if not in its folder."
    if not (made / REPORT_FILE).is_file():
        raise FolderError("There are no files of a trial here", str(made), mend)
    data = read_whole(made / REPORT_FILE, "report")
    try:
        report = json.loads(data)
        trial, is_proven, change = report["fit_trial"], report["proven"], str(report["change"])
        # whatever is missing in it is missing now, not half-way
        [(p["number"] + p["seam_mm"] + p["plug_mm"] + p["recess_mm"]) for p in trial["plugs"]]
        float(trial["drawn_for_mm"])
    except (KeyError, TypeError, ValueError, RecursionError):
        raise TrialError("This is not the report of a fit trial", str(made / REPORT_FILE), mend) from None
    if not is_proven:
        what = "The files of this trial were not proven: what was cut from them says nothing"
        raise TrialError(what, str(made / REPORT_FILE), "Make it again until it is proven, cut that, and try.")
    return trial, change, unit_of({REPORT_FILE: data})


def _refuse_other_files(said: str | None, change: str, asks: bool, places: tuple[Path, Path, str]) -> None:
    """An outcome counts from the width that its plugs were drawn for: it has to be that of the files here.

    A trial that was made again after an outcome is drawn for the new width; the plugs of before told once more would be
    taken for a second correction. So it is asked which plugs were cut. `places`: the files, the shop file, the cutter.
    """
    made, shop, cutter = places
    if said is None and asks:
        what = f"This trial was made when {cutter} had a measured width already: which plugs did you cut?"
        mend = f"Say --change with the change number printed on the sheets you cut by; the files here are {change}."
        raise TrialError(what, str(made), mend)
    if said is None or said.strip().casefold() == change.casefold():
        return
    what = f"The plugs you tell of are of change {said.strip()}, the files here of change {change}"
    mend = f"If change {said.strip()} was told of before, its width is in {shop} already: leave it so. "
    mend += "Else tell of plugs cut from the files here, or name with --made the files that were cut."
    raise TrialError(what, str(made), mend)


def _went_in(word: str | None) -> int | None:
    if word is None or word.strip().isdecimal():
        return None if word is None else int(word)
    if word.strip().casefold() == "none":
        return 0
    raise TrialError(f"'{word}' is no number of a plug", "--went-in", "give its number; none says that none went in")


def _sizes(said: list[str] | None, option: str) -> tuple[tuple[int, float], ...]:
    sizes = []
    for words in said or []:
        match = _SIZE.fullmatch(words)
        if match is None:
            mend = f'Write number = size: --{option} "4 = 19.94 mm".'
            raise TrialError(f"'{words}' does not say which plug measures what", f"--{option}", mend)
        sizes.append((int(match[1]), length(match[2], where=f"--{option}")))
    return tuple(sizes)


def _own_shop(folder: Path) -> Path:
    """The shop file that serves the trial. Raises ShopFileError where that is the one that comes with Purfle."""
    file = shop_file(folder.resolve())
    if file.parent.name == "first" and file.is_relative_to(Path(__file__).parents[1]):
        mend = f"Put your own {SHOP_FILE} into the folder of the trial, or into the one above it."
        raise ShopFileError("There is no shop file of yours to put it into", str(folder), mend)
    return file


def _refuse_unlikely(found: TrialOutcome, cutter: Cutter) -> None:
    """The same limits as the shop file has for a width of groove."""
    if not 0.8 * cutter.diameter <= found.path_width <= 1.2 * cutter.diameter:
        what = f"a groove {found.path_width:.2f} mm wide cannot be that of {cutter.name}"
        mend = "Measure again; or does the shop file say another cutter than was in the machine?"
        raise TrialError(what, cutter.name, mend)


def _figures(found: TrialOutcome, notes: TrialNotes, unit: LengthUnit) -> dict[str, str]:
    """What goes into the shop file, as TOML. The seam that goes in is known only where sizes were measured too."""
    said = {"path_width": found.path_width, "path_width_error": found.path_width_error}
    if found.is_measured and notes.went_in:
        said["goes_in"] = found.goes_in
    words = {key: f'"{mm:.3f} mm"' if unit == "mm" else f'"{mm / 25.4:.5f} in"' for key, mm in said.items()}
    return words | {"fit_trial": date.today().isoformat()}


def _told(found: TrialOutcome, drawn: tuple[str, float], unit: LengthUnit) -> list[str]:
    def seam(mm: float) -> str:
        return figure(mm, unit, "seam")

    def width(mm: float) -> str:
        return figure(mm, unit, "width")

    name, drawn_for = drawn
    wider = found.path_width - drawn_for
    than = f"{width(abs(wider))} {'wider' if wider > 0.0 else 'narrower'} than the trial was drawn for"
    if not width(abs(wider)).strip("0. " + unit_word(unit)):
        than = "as the trial was drawn for"
    within = f"true within {width(SURE * found.path_width_error)} in 95 of 100 cases"
    by = "by the sizes measured" if found.is_measured else "by the plug that went in, and by what is usual by hand"
    spare = ONE_SIDED * math.hypot(found.path_width_error, found.goes_in_error)
    fine = FINE if unit == "mm" else FINE_INCH
    advised = math.ceil((found.goes_in + spare) / fine - FINE) * fine
    return [
        f"{name} cuts a groove {width(found.path_width)} wide, {than}; {within} ({by}).",
        f"By hand goes in what has a seam of {seam(found.goes_in)} or more; drawn with {seam(advised)}, 95 of 100 do.",
    ]
