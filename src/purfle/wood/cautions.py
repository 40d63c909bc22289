"""What a wood does to people, and what light does to a wood."""

from dataclasses import dataclass

from purfle.wood.species import find
from purfle.wood.tables import Row, rows

REACTIONS = {
    "I": "irritates",
    "S": "sensitises",
    "C": "linked with cancer of nose and throat",
    "P": "inflames the lungs",
    "DT": "is poisonous",
    "N": "causes nausea",
}
"""Letters of the chart's reaction column."""
SITES = {"E": "eyes", "S": "skin", "R": "breathing", "N": "nausea", "C": "heart"}
"""Letters of the chart's site column."""


@dataclass(frozen=True, slots=True)
class Hazard:
    """One line of a published chart: `reaction`, `site` and `potency` ("+" to "++++") as printed there.

    No line does not mean harmless: all wood dust is harmful (IARC group 1, from memory).
    """

    wood: str
    reaction: str
    site: str
    potency: str
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class ColourChange:
    """How a wood's colour changes: fresh, aged, and what drives it."""

    wood: str
    fresh: str
    aged: str
    drive: str
    source: str
    status: str


def hazards_of(name: str) -> tuple[Hazard, ...]:
    """What is published about a wood's harm, by any of its names; empty if the charts don't list it.

    >>> [(hazard.reaction, hazard.potency) for hazard in hazards_of("wenge")]
    [('S', '+')]
    """
    return tuple(
        Hazard(row["wood"], row["reaction"], row["site"], row["potency"], row["source"], row["status"])
        for row in _rows_of("hazards", name)
    )


def colour_change_of(name: str) -> ColourChange | None:
    """What light and air do to a wood's colour, by any of its names; None if nothing is published.

    >>> colour_change_of("padauk").aged
    'brown to dark purplish brown'
    """
    for row in _rows_of("colour_change", name):
        return ColourChange(row["wood"], row["fresh"], row["aged"], row["drive"], row["source"], row["status"])
    return None


def _rows_of(table: str, name: str) -> list[Row]:
    species = find(name).id
    return [row for row in rows(table) if species in row["species"].split()]
