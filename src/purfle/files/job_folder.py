"""What the maker asks for, read before anything heavy is loaded: a slip in it is told at once."""

from pathlib import Path

from purfle.files import job_toml
from purfle.files.named_woods import with_known_woods
from purfle.model.job import Job
from purfle.model.shop import Shop
from purfle.shop import load_shop


def read_job_folder(folder: Path) -> tuple[Job, Shop]:
    """The job of a folder, or of a job file, and the shop that it is made in. `JobFileError`, `ShopFileError`."""
    job = job_toml.load_job(folder)
    file = job_toml.shop_file(job.folder)
    return job, with_known_woods(load_shop(file), file.name)
