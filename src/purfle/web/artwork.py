"""A picture or drawing that a maker brings: named safely, kept beside the one before, made the design of the job.

Nothing that lies in the job folder is ever written over, so that undo finds the picture of before where it was.
"""

import re
import tomllib
import unicodedata
from pathlib import Path
from typing import Any

from purfle.errors import JobFileError, PurfleError, ShopFileError
from purfle.files.whole_file import write_whole
from purfle.units import figure
from purfle.web.edits import Change

PICTURES = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".bmp", ".gif")
DRAWINGS = (".svg", ".dxf")
"""As `files.job_toml` has them, which is not loaded into the server; a test holds both together."""
LOOSE = ("names", "woods", "areas", "order", "grain")
"""Tables that speak of areas of one certain picture."""
OTHER_DESIGNS = ("shape", "stringing", "banding", "lettering")
STAYS = ("file", "depth", "face", "angle", "height")
"""Keys of `[picture]` that hold for another picture too."""
LONGEST_NAME = 60
FIRST_DEPTH, FIRST_HEIGHT_MM = "3 mm", 80.0
ROOM = 0.9
"""Of the board, at most, a design is given that would else not lie on it."""


def safe_name(given: str) -> str:
    """The name under which it is kept: no folder, no sign that a file system or a terminal would take amiss.

    Raises: PurfleError for what is neither picture nor drawing by its ending.

    >>> safe_name("../../etc/Vogel über See.JPG"), safe_name(".svg"), safe_name("a:b?.png")
    ('Vogel über See.jpg', 'artwork.svg', 'a b.png')
    """
    last = unicodedata.normalize("NFC", re.split(r"[/\\]", given)[-1])
    stem, dot, ending = last.rpartition(".")
    ending = dot + ending.lower()
    if ending not in PICTURES + DRAWINGS:
        mend = f"Bring one of {', '.join(one[1:] for one in (*PICTURES, *DRAWINGS))}."
        raise PurfleError("This is neither a picture nor a drawing that Purfle reads", last[:LONGEST_NAME], mend)
    plain = " ".join("".join(sign if sign.isalnum() or sign in "-_.()" else " " for sign in stem).split())
    plain = plain.strip(". ")[:LONGEST_NAME].strip(". ")
    return (plain or "artwork") + ending


def kept(folder: Path, name: str, data: bytes) -> tuple[str, bool]:
    """Write it into the job folder, whole or not at all; its name there, and whether it is new.

    The same picture again is not written twice; another one of the same name gets a number.
    Raises: FolderError.
    """
    stem, _, ending = name.rpartition(".")
    number = 1
    while True:
        here = folder / (name if number == 1 else f"{stem}-{number}.{ending}")
        if not here.exists() and not here.is_symlink():
            write_whole(here, data)
            return here.name, True
        if here.is_file() and here.stat().st_size == len(data) and here.read_bytes() == data:
            return here.name, False
        number += 1


def changes_for(text: str, name: str, height: str | None) -> list[Change]:
    """What makes a file the design of a job: in the middle of the board, what was said of other areas taken out.

    `height`: of the design as a length; None: as the one before. Depth, face and angle stay.
    """
    top: dict[str, Any] = tomllib.loads(text)
    picture = top.get("picture")
    had = picture if isinstance(picture, dict) else {}
    out: list[Change] = [{"take_out": [key]} for key in (*LOOSE, *OTHER_DESIGNS) if key in top]
    out += [{"take_out": ["picture"]}] if isinstance(picture, list) else []
    out += [{"take_out": ["picture", key]} for key in had if key not in STAYS and key != "centred"]
    out += [{"set": ["picture", "file"], "value": name}, {"set": ["picture", "centred"], "value": True}]
    if height is not None or "height" not in had:
        out.append({"set": ["picture", "height"], "value": height or f"{FIRST_HEIGHT_MM:g} mm"})
    if "depth" not in had:
        out.append({"set": ["picture", "depth"], "value": FIRST_DEPTH})
    return out


def looked_at(folder: Path, text: str, name: str, data: bytes) -> str | None:
    """Read it once, so that the job does not fail on it; the height to make it in, None for that of the one before.

    A job file that cannot be read, perhaps since its picture is not there, says no height.
    For a hand: this loads what reads pictures. Raises PictureError, DrawingError.
    """
    from purfle.files.job_folder import read_job_folder
    from purfle.hard_stop import HardStop

    try:
        job = read_job_folder(folder, text.encode())[0]
    except (JobFileError, ShopFileError):
        job = None
    size = None
    if name.lower().endswith(DRAWINGS):
        from purfle.files.drawing_file import read_drawing, says_its_size

        with HardStop():
            wide, high = read_drawing(data, name, None, folder).design_size
        size = (wide, high) if says_its_size(data, name) else None
    else:
        from purfle.files.picture import read_picture_bytes

        high, wide = read_picture_bytes(data, name).pixels.shape[:2]
    if job is None:
        return None
    had = job.picture.height if job.picture is not None else 0.0
    high_now = _height(wide / high, size[1] if size else had or FIRST_HEIGHT_MM, (job.board.length, job.board.width))
    return None if high_now == had else figure(high_now, job.unit)


def _height(across: float, wanted: float, board: tuple[float, float]) -> float:
    """The height that is wanted, or, where the design would not lie on the board with room around it, one that does.

    `across`: its width, in heights. All else in mm.
    """
    most = ROOM * min(board[0] / across, board[1])
    return wanted if wanted <= most else max(1.0, float(int(most)))
