"""Jobs that are cut by hand, as tests make them, and what the dry fit finds in their files."""

from pathlib import Path

from purfle import proof
from purfle.errors import ProgramError
from purfle.model.job import JobResult

Files = dict[str, bytes]
Made = tuple[JobResult, Files]
Told = list[tuple[str, str, str]]


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
