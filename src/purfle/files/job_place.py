"""Where something stands on the board and how deep it goes, as the job file says it of everything that is let in."""

import re

from purfle.files.toml_table import MORE_THAN_NOTHING, Table
from purfle.model.board import Board
from purfle.model.job import Distance
from purfle.units import show

Place = tuple[Distance, Distance]
Side = tuple[str, str, str]
"""Key measured from the near datum edge, key measured from the edge across, name of the axis."""
ALONG_A: Side = ("from_left", "from_right", "along A")
ALONG_B: Side = ("from_front", "from_back", "along B")


def depth_of(table: Table, board: Board) -> float:
    """Depth of a recess, less than the thickness of the board."""
    depth = table.length("depth")
    if board.thickness > MORE_THAN_NOTHING[0] and depth >= board.thickness:
        most = show(board.thickness, table.source.unit or "mm")
        mend = f"Use less than {most}; a third of the thickness is common practice."
        table.fault("depth goes through the board", "depth", mend)
    return depth


def place_of(table: Table) -> Place:
    """Where something stands: along A and along B, from an edge or from the middle of the board."""
    centred = table.yes("centred", False)
    if table.has("from_centre"):
        pair = pair_of(table, table.values["from_centre"], "from_centre")
        if centred or any(table.has(key) for key in (*ALONG_A[:2], *ALONG_B[:2])):
            mend = "Keep from_centre alone, or take it out."
            table.fault("from_centre stands beside another place", "from_centre", mend)
        return Distance("centre", pair[0]), Distance("centre", pair[1])
    return along_of(table, ALONG_A, centred), along_of(table, ALONG_B, centred)


def along_of(table: Table, side: Side, centred: bool) -> Distance:
    """The place along one datum edge."""
    near, far, axis = side
    if table.has(near) and table.has(far):
        table.fault(f"{near} and {far} both say where it stands {axis}", far, f"Keep one of {near} and {far}.")
    if table.has(near):
        return Distance("edge", _from_edge(table, near))
    if table.has(far):
        return Distance("far_edge", _from_edge(table, far))
    if not centred:
        mend = f'Add {near} = "...", {far} = "..." or centred = true.'
        table.fault(f"It is not said where it stands {axis}", near, mend)
    return Distance("centre", 0.0)


def _from_edge(table: Table, key: str) -> float:
    """A distance from an edge; nothing is a distance too."""
    found = table.as_length(table.values[key], key)
    if found is not None and found < 0:
        table.fault(f"{key} is less than nothing", key, "Measure inwards from the edge.")
    return found or 0.0


def pair_of(table: Table, value: object, key: str) -> tuple[float, float]:
    """Two lengths: a list of two, or one text with a comma and a space (or a semicolon) between them."""
    parts = re.split(r";|,\s+", value) if isinstance(value, str) else value
    if not isinstance(parts, list) or len(parts) != 2:
        mend = f'Write two lengths, along A and along B: {key} = ["12 mm", "-5 mm"].'
        table.fault(f"{key} has to be two lengths", key, mend)
        return 0.0, 0.0
    along_a, along_b = (table.as_length(part, key) or 0.0 for part in parts)
    return along_a, along_b


def to_middle(end: Distance, size: float) -> Distance:
    """The place of the middle, from that of the nearer end."""
    return end if end.datum == "centre" else Distance(end.datum, end.amount + size / 2)
