"""The maker's own woods: figures of the shop file, which go before those of the table."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from purfle.errors import PurfleError
from purfle.model.shop import OwnWood
from purfle.wood.movement import derived_coefficient
from purfle.wood.species import Figure, Species, find_in_table, same_words

OWN = "as the shop file says"
"""The status of a figure that is the maker's own."""
UNITS = {
    "density": "kg/m3",
    "shrinkage_radial": "%",
    "shrinkage_tangential": "%",
    "shrinkage_volume": "%",
    "change_radial": "1/%",
    "change_tangential": "1/%",
    "bending_strength": "MPa",
    "stiffness": "GPa",
    "hardness": "N",
}


def species_among(name: str, own: Iterable[OwnWood]) -> Species:
    """The species of a name: the maker's own wood of that name, on top of the table's where that knows it too.

    Raises PurfleError for a name of no known wood, or of several.
    """
    own = tuple(own)
    mine = next((one for one in own if same_words(one.name, name) or _own_id(one.name) == name), None)
    if mine is not None:
        return _on_top(_known(mine.name), mine)
    try:
        species = find_in_table(name)
    except PurfleError as refusal:
        near = difflib.get_close_matches(name.casefold(), [one.name.casefold() for one in own], n=1)
        known = next((one.name for one in own if near and one.name.casefold() == near[0]), "")
        if not known:
            raise
        raise PurfleError(refusal.what, refusal.where, f"{known} is in the shop file; {refusal.mend}") from None
    mine = next((one for one in own if _is(one, species)), None)
    return species if mine is None else _on_top(species, mine)


def own_species(own: Iterable[OwnWood]) -> tuple[Species, ...]:
    """The maker's own woods as species to be known (`species.know`): with the id of the table where that has them."""
    found = []
    for mine in own:
        known = _known(mine.name)
        made = _on_top(known, mine)
        found.append(made if known else replace(made, id=_own_id(mine.name)))
    return tuple(found)


def _own_id(name: str) -> str:
    """An id of letters alone, as ids in texts are found by.

    >>> _own_id("Bog oak 2")
    'own_bog_oak_c'
    """
    spelled = "".join(chr(ord("a") + int(one)) if one in "0123456789" else one for one in name.casefold())
    return "_".join(["own", *re.findall("[a-z]+", spelled)])


def _is(one: OwnWood, species: Species) -> bool:
    known = _known(one.name)
    return known is not None and known.id == species.id


def _known(name: str) -> Species | None:
    try:
        return find_in_table(name)
    except PurfleError:
        return None


def _on_top(known: Species | None, mine: OwnWood) -> Species:
    """A species with the maker's figures; a coefficient that follows from the maker's shrinkage goes with them."""
    empty = Species(mine.name, mine.name, mine.botanical, *(None,) * len(UNITS))
    figures: dict[str, Any] = {
        key: Figure(value, unit, f"shop file: {mine.source}", OWN)
        for key, unit in UNITS.items()
        if (value := getattr(mine, key)) is not None
    }
    for way in ("radial", "tangential"):
        shrinkage = figures.get(f"shrinkage_{way}")
        if shrinkage is not None and f"change_{way}" not in figures:
            value = derived_coefficient(shrinkage.value)
            figures[f"change_{way}"] = Figure(value, "1/%", shrinkage.source, "derived")
    return replace(known or empty, **figures)
