"""Sheets and files: the whole job made, proven from its files, written, and put into one archive."""

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from purfle import job as flow
from purfle.files.folder import write_all
from purfle.files.job_folder import read_job_folder
from purfle.mate import Mate

DRAWING = ("purfle.sheets", "purfle.files.outline_dxf")
"""What only the mate loads, while this process reads the picture."""
MADE = "made"
EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The time that every file of the archive has, so that the same files give the same archive."""


def write(folder: Path, archive: Path, progress: Callable[[str], None]) -> dict[str, Any]:
    """Make, prove and write the job; what was written and whether it is proven. Raises PurfleError."""
    job, shop = read_job_folder(folder)
    with Mate(*DRAWING) as mate:
        result, files = flow.make_of(job, shop, progress, mate)
    progress("writing")
    write_all(folder / MADE, files)
    _pack(files, archive, job.slug)
    findings = [
        {"severity": one.severity, "what": one.what, "where": one.where, "mend": one.mend, "stage": one.stage}
        for one in flow.said_once(result)
    ]
    proven = bool(result.proof and result.proof.proven) and not flow.stops(result)
    listed = [{"name": name, "size": len(data)} for name, data in sorted(files.items())]
    return {"proven": proven, "change": job.change, "slug": job.slug, "files": listed, "findings": findings}


def _pack(files: dict[str, bytes], archive: Path, slug: str) -> None:
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in sorted(files.items()):
            packed.writestr(zipfile.ZipInfo(f"{slug}/{name}", EARLIEST), data, zipfile.ZIP_DEFLATED)
