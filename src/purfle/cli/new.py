"""`purfle new`: a job folder that works at once."""

from argparse import Namespace
from pathlib import Path

from purfle.cli.telling import Progress
from purfle.errors import FolderError
from purfle.files.job_toml import DRAWINGS, JOB_FILE, SHOP_FILE, first_job_text
from purfle.files.whole_file import read_whole, write_whole
from purfle.model.artwork import DrawingUnit
from purfle.shop import first_shop_text


def run(arguments: Namespace) -> int:
    """Write job.toml, the artwork and, where none serves yet, shop.toml."""
    folder = Path(arguments.folder)
    if (folder / JOB_FILE).exists() or (folder.exists() and not folder.is_dir()):
        there = folder / JOB_FILE if folder.is_dir() else folder
        raise FolderError("There is something here already", str(there), "Name another folder, or change that job.")
    files = _artwork(arguments.artwork, arguments.drawing_unit)
    job_name = folder.resolve().name or "job"
    text = first_job_text(job_name, next(iter(files), None), arguments.units, arguments.drawing_unit)
    if not any((place / SHOP_FILE).exists() for place in (folder, folder.resolve().parent)):
        files[SHOP_FILE] = first_shop_text().encode()
    files[JOB_FILE] = text.encode()  # last, so that what was interrupted can be done again
    for file, content in files.items():
        write_whole(folder / file, content)
    print(f"Made {folder}: {', '.join(files)}.")
    print(f"Look through {folder / JOB_FILE}, then: purfle make {_as_typed(folder)}")
    return 0


def _artwork(given: str | None, unit: DrawingUnit | None) -> dict[str, bytes]:
    """The artwork by its file name, looked at once, so that the new job does not fail on it; none for a ready shape."""
    if given is None:
        return {}
    from purfle.files import picture
    from purfle.files.drawing_file import read_drawing

    path = Path(given)
    data = read_whole(path, "artwork")
    with Progress() as progress:
        progress("looking at the artwork")
        if path.suffix.lower() in DRAWINGS:
            read_drawing(data, path.name, unit, path.parent)
        else:
            picture.read_picture_bytes(data, path.name)
    return {path.name: data}


def _as_typed(folder: Path) -> str:
    """A folder as it has to be typed after a command."""
    words = str(folder)
    return f'"{words}"' if " " in words else words
