"""[[laid]] of a job file: a part that the maker laid on an offcut."""

from purfle.files.toml_table import Table
from purfle.model.offcuts import Laid

_FURTHEST = (0.0, 10_000.0)
"""How far from the ends of an offcut a part can lie, mm."""


def laid_of(top: Table) -> tuple[Laid, ...]:
    """All parts that were laid, in the order of the file."""
    return tuple(_laid(table) for table in top.tables("laid"))


def _laid(table: Table) -> Laid:
    piece = table.values.get("piece")
    if isinstance(piece, int) and not isinstance(piece, bool):
        table.values["piece"] = str(piece)
    laid = Laid(
        piece=table.text("piece"),
        offcut=table.text("offcut"),
        at=(table.length("from_left", limits=_FURTHEST), table.length("from_bottom", limits=_FURTHEST)),
        angle=table.number("angle", 0.0, -360.0, 360.0) if table.has("angle") else None,
        inlay=table.text("inlay", ""),
    )
    table.close()
    return laid
