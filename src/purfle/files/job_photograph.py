"""The table [picture.photograph] of the job file: what is known of a photographed sheet, or board."""

import math
import re
from itertools import combinations
from pathlib import Path

from purfle.files.job_place import pair_of
from purfle.files.toml_table import Table, nearest
from purfle.model.artwork import Photograph, Place
from purfle.model.board import BoardPhotograph

SHEETS = {
    "a5": (148.0, 210.0),
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
    "a2": (420.0, 594.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
}
"""Sheets by name: shorter and longer side, mm. Source: ISO 216; ANSI/ASME Y14.1 for letter and tabloid."""
LARGEST_PX = 100_000.0
"""No picture has more px along a side."""
_PX = re.compile(r"[0-9]+(\.[0-9]+)?")


def photograph_of(table: Table) -> Photograph:
    """What is known of the sheet; faults are in the table's source afterwards."""
    sheet, name = _sheet(table)
    photograph = Photograph(sheet, name in SHEETS, _corners(table), _known(table), name.upper() if name else "")
    table.close()
    return photograph


def board_photograph_of(table: Table, folder: Path, size: tuple[float, float]) -> BoardPhotograph:
    """A photograph of a board's show face; its corners are the board's (`size`), or those of a rectangle on it."""
    words = table.text("file")
    file = folder / words
    if "\0" in words or not file.resolve().is_relative_to(folder):
        mend = "Copy the photograph into the job folder and give its name alone."
        table.fault(f'file "{words}" leaves the job folder', "file", mend)
    elif words and not file.is_file():
        table.fault(f'There is no file "{words}" in the job folder', "file", "Copy the photograph into the job folder.")
    rectangle, left, front = size, 0.0, 0.0
    if table.has("rectangle"):
        rectangle = pair_of(table, table.values["rectangle"], "rectangle")
        left, front = (table.length(key, limits=(0.0, math.inf)) for key in ("from_left", "from_front"))
        over = left + rectangle[0] > size[0] or front + rectangle[1] > size[1]
        if over or min(rectangle) <= 0.0:
            mend = "Give its length along A and its width along B, and from_left and from_front of its nearer corner."
            table.fault("The rectangle does not lie on the board", "rectangle", mend)
    seen = BoardPhotograph(file, Photograph(rectangle, corners=_corners(table)), (left, front))
    table.close()
    return seen


def _sheet(table: Table) -> tuple[tuple[float, float] | None, str]:
    """Width and height of the sheet, mm, and the name of its size if it goes by one."""
    if not table.has("sheet"):
        return None, ""
    value = table.values["sheet"]
    if isinstance(value, str) and "," not in value and ";" not in value:
        name = value.strip().casefold()
        if name in SHEETS:
            return SHEETS[name], name
        mend = f'Use {nearest(tuple(SHEETS), name)}, or its width and height as it lies: sheet = ["200 mm", "280 mm"].'
        table.fault(f'sheet cannot be "{value}"', "sheet", mend)
        return None, ""
    wide, high = pair_of(table, value, "sheet")
    if min(wide, high) <= 0.0:
        table.fault("sheet has to have a width and a height", "sheet", 'Write sheet = ["200 mm", "280 mm"].')
        return None, ""
    return (wide, high), ""


def _corners(table: Table) -> tuple[Place, Place, Place, Place] | None:
    if not table.has("corners"):
        return None
    value = table.values["corners"]
    places = [px_place(one) for one in value] if isinstance(value, list) else []
    found = [place for place in places if place is not None]
    if len(found) != 4 or len(places) != 4:
        mend = 'Write corners = ["120, 80", "1500, 95", "1620, 1900", "60, 1880"], clockwise from the upper left one.'
        table.fault("corners has to be four places in the picture, in px", "corners", mend)
        return None
    if min(math.dist(one, other) for one, other in combinations(found, 2)) < 1.0:
        table.fault("Two of the corners are one and the same place", "corners", "Give four places that lie apart.")
        return None
    return found[0], found[1], found[2], found[3]


def _known(table: Table) -> tuple[Place, Place, float] | None:
    """Two places in the picture and the distance between them."""
    if not table.has("known_distance"):
        return None
    value = table.values["known_distance"]
    parts = value if isinstance(value, list) and len(value) == 3 else [None, None, None]
    first, second = px_place(parts[0]), px_place(parts[1])
    if first is None or second is None or first == second:
        mend = (
            'Write known_distance = ["120, 400", "1800, 410", "150 mm"]: two places in the picture in px, and how far.'
        )
        table.fault("known_distance has to be two places in the picture and a length", "known_distance", mend)
        return None
    length = table.as_length(parts[2], "known_distance")
    if length is not None and length <= 0.0:
        table.fault("known_distance has to be more than nothing", "known_distance", "Measure it on the sheet.")
    return (first, second, length) if length else None


def ground_place(table: Table) -> Place | None:
    """A place in the picture that shows bare board; None where nothing is said."""
    if not table.has("ground_at"):
        return None
    place = px_place(table.values["ground_at"])
    if place is None:
        mend = 'Write ground_at = "12, 80": px from the upper left corner of the picture.'
        table.fault("ground_at has to be a place in the picture, in px", "ground_at", mend)
    if table.has("ground_colour"):
        table.fault("ground_colour and ground_at both say what the ground is", "ground_at", "Keep one of them.")
    if table.has("photograph"):
        mend = "A photographed sheet is straightened first: give ground_colour instead."
        table.fault("A place in a photograph moves as the sheet is straightened", "ground_at", mend)
    return place


def px_place(value: object) -> Place | None:
    """A place in a picture, "120, 80" or [120, 80], px; None if it is none."""
    parts = re.split(r"[;,]\s*", value.strip()) if isinstance(value, str) else value
    if not isinstance(parts, list) or len(parts) != 2 or any(isinstance(part, bool) for part in parts):
        return None
    words = [re.sub(r"\s*px$", "", str(part).strip()) for part in parts]
    if not all(_PX.fullmatch(word) for word in words):
        return None
    x, y = (float(word) for word in words)
    return (x, y) if max(x, y) <= LARGEST_PX else None
