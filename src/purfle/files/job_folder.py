"""What the maker asks for, read before anything heavy is loaded: a slip in it is told at once."""

from dataclasses import replace
from pathlib import Path

from purfle.errors import Fault, JobFileError, ShopFileError
from purfle.files import job_toml
from purfle.files.named_woods import with_known_woods
from purfle.files.toml_table import read_toml
from purfle.files.whole_file import read_whole
from purfle.model.job import Job
from purfle.model.shop import Cutter, OwnWood, Shop
from purfle.shop import cutter_named, load_shop
from purfle.wood import know, own_species


def read_job_folder(folder: Path, text: bytes | None = None) -> tuple[Job, Shop]:
    """The job of a folder, or of a job file, and the shop that it is made in.

    `text`: what the job file is to hold, where it differs from what it holds.

    Raises: JobFileError, ShopFileError; where both files have faults, all of them are told by the first.
    """
    know(own_species(_own_woods(folder)))
    try:
        job = job_toml.load_job(folder, text)
    except JobFileError as refusal:
        raise JobFileError.of([*refusal.faults, *_faults_of_shop(folder)]) from refusal
    shop = _shop(job_toml.shop_file(job.folder))
    if job.cutting.way == "knife and saw":
        if not shop.saws:
            mend = "add a [[saw]] to the shop file: name, groove"
            raise JobFileError("there is no saw in the shop", "job.toml, fit.saw", mend)
        shop = replace(shop, cutters=shop.saws)
    if job.cutting.way == "machine" and not shop.machine.is_there:
        mend = 'say way = "templates", "guided router" or "knife and saw" in [cutting], or add a [machine] to the shop'
        raise JobFileError("there is no machine in the shop", "job.toml, cutting.way", mend)
    wrong = _wrong_cutters(folder, job, shop, text)
    if wrong:
        raise JobFileError.of(wrong)
    return job, shop


def _own_woods(folder: Path) -> tuple[OwnWood, ...]:
    """The woods of the maker's own, to read the job by; none where the shop cannot be read, which is told later."""
    try:
        return load_shop(job_toml.shop_file(job_toml.job_file(folder).parent.resolve())).woods
    except (JobFileError, ShopFileError):
        return ()


def _shop(file: Path) -> Shop:
    shop = load_shop(file)
    return with_known_woods(shop, file.name, file.read_text(encoding="utf-8-sig"))


def _faults_of_shop(folder: Path) -> tuple[Fault, ...]:
    try:
        _shop(job_toml.shop_file(job_toml.job_file(folder).parent.resolve()))
    except ShopFileError as refusal:
        return refusal.faults
    return ()


def _wrong_cutters(folder: Path, job: Job, shop: Shop, text: bytes | None = None) -> list[Fault]:
    """Every name of a cutter in the job that none in the shop has, or whose cutter the machine turns too fast, with
    its line.
    """
    file = job_toml.job_file(folder)
    top = read_toml(read_whole(file, "job file") if text is None else text, file.name)
    asked = [("fit.saw" if job.cutting.way == "knife and saw" else "fit.cutter", job.fit.cutter)]
    asked += [(f"cutters.{key}", str(name)) for key, name in top.values.get("cutters", {}).items()]
    asked += [("cutting.clearing", job.cutting.clearing)] if job.cutting.clearing else []
    found: list[tuple[str, Cutter]] = []
    for path, name in asked:
        try:
            found.append((path, cutter_named(shop, name)))
        except ShopFileError as refusal:
            top.source.fault(refusal.what, path, refusal.mend)
    if job.fit.tapered is not None and shop.v_cutters:
        found += [("fit.v_cutter", one) for one in shop.v_cutters if one.name == job.fit.tapered.v_cutter]
    for path, cutter in found if job.cutting.way == "machine" else ():
        if not shop.machine.turns_slowly_enough(cutter):
            slowest = f"{shop.machine.name} turns no slower than {shop.machine.slowest_speed:.0f}"
            what = f"{cutter.name} is marked {cutter.max_speed:.0f} rpm, and {slowest}"
            mend = (
                "Name a cutter that may turn so fast. If the machine turns slower, correct slowest_speed in the shop."
            )
            top.source.fault(what, path, mend)
    return top.source.faults
