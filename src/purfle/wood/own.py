"""The maker's own woods: figures of the shop file, which go before those of the table."""

import difflib
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from purfle.errors import PurfleError
from purfle.model.shop import OwnWood
from purfle.wood.movement import derived_coefficient
from purfle.wood.species import Figure, Species, find, same_words

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
    mine = next((one for one in own if same_words(one.name, name)), None)
    if mine is not None:
        return _on_top(_known(name), mine)
    try:
        species = find(name)
    except PurfleError as refusal:
        near = difflib.get_close_matches(name.casefold(), [one.name.casefold() for one in own], n=1)
        known = next((one.name for one in own if near and one.name.casefold() == near[0]), "")
        if not known:
            raise
        raise PurfleError(refusal.what, refusal.where, f"{known} is in the shop file; {refusal.mend}") from None
    mine = next((one for one in own if _is(one, species)), None)
    return species if mine is None else _on_top(species, mine)


def _is(one: OwnWood, species: Species) -> bool:
    known = _known(one.name)
    return known is not None and known.id == species.id


def _known(name: str) -> Species | None:
    try:
        return find(name)
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
