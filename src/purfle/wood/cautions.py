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


def reaction_words(hazard: Hazard) -> str:
    """'irritates, sensitises': the chart's letters in words; a reading with a question mark says 'suspected'."""
    return ", ".join(reactions_of(hazard))


def reactions_of(hazard: Hazard) -> list[str]:
    """Each reaction in words; what the chart says of it in brackets stands behind it."""
    plain, _, rest = hazard.reaction.partition("(")
    words = [REACTIONS[letter] for letter in _letters(plain, REACTIONS)]
    if not words and plain.strip() in SITES:
        words = [f"affects {SITES[plain.strip()]}"]
    inside = rest.rstrip(")")
    if inside.endswith("?") and inside[:-1] in REACTIONS:
        words.append(f"suspected: {REACTIONS[inside[:-1]]}")
    elif inside:
        words[-1:] = [f"{words[-1]} ({inside})" if words else inside]
    return words


def site_words(hazard: Hazard) -> str:
    """'eyes and skin': the chart's letters in words."""
    sites = list(dict.fromkeys(SITES[letter] for letter in _letters(hazard.site, SITES)))
    return " and ".join([", ".join(sites[:-1]), sites[-1]] if len(sites) > 1 else sites)


def harm_told(hazard: Hazard) -> str:
    """One line of the chart in words, with what is printed there in brackets behind.

    >>> harm_told(hazards_of("wenge")[0])
    'sensitises; where: eyes, skin and breathing; strength + of ++++ (on the chart: S ESR +)'
    """
    words = "; where: ".join(part for part in (reaction_words(hazard), site_words(hazard)) if part)
    strength = f"; strength {hazard.potency} of ++++" if hazard.potency.strip("+") == "" != hazard.potency else ""
    printed = " ".join(part for part in (hazard.reaction, hazard.site, hazard.potency) if part)
    return f"{words}{strength} (on the chart: {printed})" if words else printed


def _letters(text: str, known: dict[str, str]) -> list[str]:
    """The known letters of a text, two together where the chart writes them so."""
    found, rest = [], text.replace(";", "").replace(" ", "")
    while rest:
        letter = next((k for k in sorted(known, key=len, reverse=True) if rest.startswith(k)), "")
        found += [letter] if letter else []
        rest = rest[len(letter) or 1 :]
    return found


def _rows_of(table: str, name: str) -> list[Row]:
    species = find(name).id
    return [row for row in rows(table) if species in row["species"].split()]
