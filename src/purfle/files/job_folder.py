"""What the maker asks for, read before anything heavy is loaded: a slip in it is told at once."""

from pathlib import Path

from purfle.errors import Fault, JobFileError, ShopFileError
from purfle.files import job_toml
from purfle.files.named_woods import with_known_woods
from purfle.files.toml_table import read_toml
from purfle.files.whole_file import read_whole
from purfle.model.job import Job
from purfle.model.shop import Shop
from purfle.shop import cutter_named, load_shop


def read_job_folder(folder: Path) -> tuple[Job, Shop]:
    """The job of a folder, or of a job file, and the shop that it is made in.

    Raises: JobFileError, ShopFileError; where both files have faults, all of them are told by the first.
    """
    try:
        job = job_toml.load_job(folder)
    except JobFileError as refusal:
        raise JobFileError.of([*refusal.faults, *_faults_of_shop(folder)]) from refusal
    shop = _shop(job_toml.shop_file(job.folder))
    unknown = _unknown_cutters(folder, job, shop)
    if unknown:
        raise JobFileError.of(unknown)
    return job, shop


def _shop(file: Path) -> Shop:
    shop = load_shop(file)
    return with_known_woods(shop, file.name, file.read_text(encoding="utf-8-sig"))


def _faults_of_shop(folder: Path) -> tuple[Fault, ...]:
    try:
        _shop(job_toml.shop_file(job_toml.job_file(folder).parent.resolve()))
    except ShopFileError as refusal:
        return refusal.faults
    return ()


def _unknown_cutters(folder: Path, job: Job, shop: Shop) -> list[Fault]:
    """Every name of a cutter in the job that none in the shop has, with its line."""
    file = job_toml.job_file(folder)
    top = read_toml(read_whole(file, "job file"), file.name)
    asked = [("fit.cutter", job.fit.cutter)]
    asked += [(f"cutters.{key}", str(name)) for key, name in top.values.get("cutters", {}).items()]
    for path, name in asked:
        try:
            cutter_named(shop, name)
        except ShopFileError as refusal:
            top.source.fault(refusal.what, path, refusal.mend)
    return top.source.faults
