"""Small jobs and the shop that they are cut in, as tests make them, and what the dry fit finds in their files."""

from pathlib import Path

from purfle import proof
from purfle.errors import ProgramError
from purfle.model.job import JobResult

Files = dict[str, bytes]
Made = tuple[JobResult, Files]
Told = list[tuple[str, str, str]]


def small_shop(machine: str = "small machine", edges: int = 12, stick_out: int = 20) -> str:
    """The beginning of a shop file: a machine and one cutter, its edges and stick-out in mm."""
    return f"""
units = "mm"
[machine]
name = "{machine}"
travel = [600, 400, 80]
speed = 24000
max_feed = "3000 mm/min"
rapid_feed = "5000 mm/min"
acceleration = "300 mm/s2"
safe_height = 5
[[cutter]]
number = 1
name = "1/8 in straight"
diameter = "1/8 in"
flutes = 2
cutting_length = {edges}
stick_out = {stick_out}
max_speed = 24000
"""


def job_folder(folder: Path, job: str, shop: str) -> Path:
    """A job folder with these texts."""
    folder.mkdir(exist_ok=True)
    (folder / "shop.toml").write_text(shop)
    (folder / "job.toml").write_text(job)
    return folder


def what_is_found(files: Files) -> tuple[Told, Told]:
    """What says stop, and what is refused: what, where, mend. Fails if the files are proven."""
    try:
        found = proof.dry_fit(files)
    except ProgramError as refused:
        return [], [(fault.what, fault.where, fault.mend) for fault in refused.faults]
    assert not found.proven
    return [(one.what, one.where, one.mend) for one in found.findings if one.severity == "stop"], []
