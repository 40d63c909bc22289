"""`purfle new`: a job folder that works at once."""

import os
from argparse import Namespace
from pathlib import Path

from purfle.cli.telling import Progress
from purfle.errors import FolderError
from purfle.files.job_toml import DRAWINGS, JOB_FILE, SHOP_FILE, first_job_text, fits_first_board
from purfle.files.whole_file import read_whole, write_whole
from purfle.hard_stop import HardStop
from purfle.model.artwork import DrawingUnit
from purfle.shop import first_shop_text
from purfle.units import figure

STARTED_AS = "PURFLE_STARTED_AS"
"""What was typed to start this command, where that was not its own name."""


def run(arguments: Namespace) -> int:
    """Write job.toml, the artwork and, where none serves yet, shop.toml."""
    folder = Path(arguments.folder)
    if (folder / JOB_FILE).exists() or (folder.exists() and not folder.is_dir()):
        there = folder / JOB_FILE if folder.is_dir() else folder
        raise FolderError("There is something here already", str(there), "Name another folder, or change that job.")
    files, size = _artwork(arguments.artwork, arguments.drawing_unit)
    job_name = folder.resolve().name or "job"
    height = None if size is None or not fits_first_board(size, arguments.units) else size[1]
    text = first_job_text(job_name, next(iter(files), None), arguments.units, arguments.drawing_unit, height)
    if not any((place / SHOP_FILE).exists() for place in (folder, folder.resolve().parent)):
        files[SHOP_FILE] = first_shop_text().encode()
    files[JOB_FILE] = text.encode()  # last, so that what was interrupted can be done again
    for file, content in files.items():
        write_whole(folder / file, content)
    print(f"Made {folder}: {', '.join(files)}.")
    if size is not None and height is None:
        told = " x ".join(figure(mm, arguments.units, "dimension") for mm in size)
        print(f"The drawing is {told}, too large for the board of a first job: look at its height there.")
    print(f"Look through {folder / JOB_FILE}, then: {next_words('make', folder)}")
    return 0


def _artwork(given: str | None, unit: DrawingUnit | None) -> tuple[dict[str, bytes], tuple[float, float] | None]:
    """The artwork by its file name, looked at once, so that the new job does not fail on it; none for a ready shape.

    And width and height of a design that is drawn at true size, mm; None where nothing says how large it is.
    """
    if given is None:
        return {}, None
    from purfle.files import picture
    from purfle.files.drawing_file import read_drawing, says_its_size

    path = Path(given)
    data = read_whole(path, "artwork")
    with Progress() as progress:
        progress("looking at the artwork")
        if path.suffix.lower() not in DRAWINGS:
            picture.read_picture_bytes(data, path.name)
            return {path.name: data}, None
        with HardStop():
            drawing = read_drawing(data, path.name, unit, path.parent)
        return {path.name: data}, drawing.design_size if says_its_size(data, path.name) else None


def next_words(command: str, folder: Path) -> str:
    """What to type next: a command as this one was started, with a folder."""
    return f"{os.environ.get(STARTED_AS, 'purfle')} {command} {_as_typed(folder)}"


def _as_typed(folder: Path) -> str:
    """A folder as it has to be typed after a command."""
    words = str(folder)
    return f'"{words}"' if " " in words else words
