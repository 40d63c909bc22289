"""Species: one kind of wood with its published figures, found by whatever name the maker uses."""

import contextlib
import difflib
import re
import unicodedata
from collections.abc import Iterable
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache

from purfle.errors import PurfleError
from purfle.wood.looks import Look, look_of_species
from purfle.wood.tables import Row, rows

Words = frozenset[str]
ByName = dict[Words | str, list[tuple[int, str]]]


@dataclass(frozen=True, slots=True)
class Figure:
    """One published figure: its value, its unit, the code of its source and how sure it is."""

    value: float
    unit: str
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class Species:
    """One kind of wood. A figure that nobody published is None.

    `shrinkage_*`: percent, green to oven-dry. `change_*`: share of the width for 1 % moisture (6 to 14 %).
    `bending_strength`, `stiffness`, `hardness` at 12 % moisture (modulus of rupture and of elasticity, Janka).
    """

    id: str
    common: str
    botanical: str
    density: Figure | None
    shrinkage_radial: Figure | None
    shrinkage_tangential: Figure | None
    shrinkage_volume: Figure | None
    change_radial: Figure | None
    change_tangential: Figure | None
    bending_strength: Figure | None
    stiffness: Figure | None
    hardness: Figure | None

    @property
    def look(self) -> Look:
        """Its colours and grain for drawing."""
        return look_of_species(self.id)


@cache
def all_species() -> tuple[Species, ...]:
    """Every species of the table, in its order."""
    return tuple(_species(row) for row in rows("wood"))


_OWN: ContextVar[tuple[Species, ...]] = ContextVar("woods of the maker's own", default=())
"""Woods of the shop file in hand, with the table's figures below the maker's."""


def know(own: tuple[Species, ...]) -> None:
    """From now on these woods of the maker's own are known beside the table, and go before it; others no more."""
    _OWN.set(own)


def find(name: str) -> Species:
    """The species that a maker means by a name: a wood of the shop file in hand, else one of the table.

    Raises PurfleError for a name of no known wood or of several.
    """
    own = _OWN.get()
    if not own:
        return find_in_table(name)
    mine = next((one for one in own if name == one.id or same_words(one.common, name)), None)
    if mine is not None:
        return mine
    try:
        species = find_in_table(name)
    except PurfleError as refusal:
        near = difflib.get_close_matches(_plain(name), [_plain(one.common) for one in own], n=1)
        named = next((one.common for one in own if near and _plain(one.common) == near[0]), "")
        if not named:
            raise
        raise PurfleError(refusal.what, refusal.where, f"{named} is in the shop file; {refusal.mend}") from None
    return next((one for one in own if one.id == species.id), species)


@cache
def find_in_table(name: str) -> Species:
    """The species of the table that a name means: its id, common, trade or botanical name, in any order of words.

    Case, hyphens, commas and accents don't matter. Raises PurfleError for a name of no known wood or of several.

    >>> find("Oak, white").id, find("Acer saccharum").id, find("PADAUK").id
    ('oak_white', 'maple_sugar', 'padauk_african')
    """
    meant = _exactly(name) or _containing(name)
    if len(meant) == 1:
        return _by_id()[meant[0]]
    if meant:
        names = ", ".join(_by_id()[one].common for one in meant)
        raise PurfleError(f"'{name}' is the name of {len(meant)} woods", f"wood '{name}'", f"say which: {names}")
    raise PurfleError(f"'{name}' is no wood that Purfle knows", f"wood '{name}'", _nearest(name))


def one_of(name: str, rack: Iterable[str]) -> str | None:
    """The one wood of a rack (ids) that a name means; None where it means none of them, or several.

    >>> one_of("walnut", ["walnut_black", "holly_american"]), one_of("oak", ["oak_white", "oak_live"])
    ('walnut_black', None)
    """
    mine = next((one.id for one in _OWN.get() if same_words(one.common, name)), None)
    meant = set([mine] if mine else _exactly(name) or _containing(name)) & set(rack)
    return meant.pop() if len(meant) == 1 else None


def look_of(name: str) -> Look:
    """The look of a wood by any of its names.

    >>> look_of("holly").finished
    (245, 239, 225)
    """
    return find(name).look


def known_as(name: str) -> str:
    """How to speak of a wood: its common name in place of its id; any other name stays as the maker wrote it.

    >>> known_as("padauk_african"), known_as("padauk"), known_as("bog oak")
    ('African padauk', 'padauk', 'bog oak')
    """
    species = _with_id(name)
    return species.common.partition(" (")[0] if species else name


def woods_told(text: str, said: Iterable[str] = ()) -> str:
    """A text in which woods go by their ids, told with the maker's own words for them, else their common names.

    >>> woods_told("walnut_black is the nearest, then padauk_african", ["padauk"])
    'black walnut is the nearest, then padauk'
    """
    words: dict[str, str] = {}
    for word in said:
        # a word for no known wood is refused where it is used, in its own words
        with contextlib.suppress(PurfleError):
            words.setdefault(find(word).id, word)

    def told(found: re.Match[str]) -> str:
        species = _with_id(found.group())
        return words.get(species.id, species.common.partition(" (")[0]) if species else found.group()

    return re.sub(r"(?<![\w.\-/])[a-z]+(?:_[a-z]+)+(?![\w\-/]|\.\w)", told, text)


def same_wood(one: str, other: str) -> bool:
    """True if two names mean one species; names of woods that are not in the table are compared as written.

    >>> same_wood("maple", "Sugar Maple"), same_wood("bog oak", "Bog-Oak"), same_wood("holly", "wenge")
    (True, True, False)
    """
    if same_words(one, other):
        return True
    try:
        return find(one).id == find(other).id
    except PurfleError:
        return False


def same_words(one: str, other: str) -> bool:
    """True if two names are made of the same words, in any order and case.

    >>> same_words("Bog-Oak", "oak, bog")
    True
    """
    return _words(one) == _words(other)


def also_called(name: str) -> tuple[Species, ...]:
    """The other species that share a name which stands for one of them in the trade; most names have none.

    >>> [species.id for species in also_called("maple")]
    ['maple_bigleaf', 'maple_red', 'maple_silver', 'sycamore_european']
    """
    meant = find_in_table(name).id
    return tuple(_by_id()[one] for one in _containing(name) if one != meant)


def _species(row: Row) -> Species:
    shrink = (row["shrink_source"], row["shrink_status"])
    change = (row["C_source"], row["C_status"])
    mechanical = (row["mech_source"], row["mech_status"])
    return Species(
        id=row["id"],
        common=row["common"],
        botanical=row["botanical"],
        density=_figure(row["density_12_kg_m3"], "kg/m3", (row["density_source"], _density_status(row))),
        shrinkage_radial=_figure(row["shrink_R_pct"], "%", shrink),
        shrinkage_tangential=_figure(row["shrink_T_pct"], "%", shrink),
        shrinkage_volume=_figure(row["shrink_V_pct"], "%", shrink),
        change_radial=_figure(row["C_R"], "1/%", _origin(row["C_R_origin"], change)),
        change_tangential=_figure(row["C_T"], "1/%", _origin(row["C_T_origin"], change)),
        bending_strength=_figure(row["MOR_MPa"], "MPa", mechanical),
        stiffness=_figure(row["MOE_GPa"], "GPa", mechanical),
        hardness=_figure(row["janka_N"], "N", mechanical),
    )


def _figure(text: str, unit: str, origin: tuple[str, str]) -> Figure | None:
    return Figure(float(text), unit, *origin) if text else None


def _density_status(row: Row) -> str:
    """Densities that were computed from a specific gravity are derived; the others end with their status."""
    source = row["density_source"]
    return "derived" if source.startswith("computed") else source.rpartition(" ")[2]


def _origin(origin: str, change: tuple[str, str]) -> tuple[str, str]:
    """Where a row mixes a printed coefficient with a derived one, the derived one says so."""
    return ("DER-13-3", "derived") if origin == "derived" else change


def _with_id(one: str) -> Species | None:
    return next((own for own in _OWN.get() if own.id == one), _by_id().get(one))


@cache
def _by_id() -> dict[str, Species]:
    return {species.id: species for species in all_species()}


def _plain(name: str) -> str:
    """Lower case, without accents."""
    if name.isascii():
        return name.lower()
    split = unicodedata.normalize("NFKD", name.casefold())
    return "".join(letter for letter in split if not unicodedata.combining(letter))


def _words(name: str) -> Words:
    return frozenset(re.findall(r"[a-z0-9]+", _plain(name)))


def _letters(name: str) -> str:
    return "".join(re.findall(r"[a-z0-9]+", _plain(name)))


@cache
def _trade_names() -> tuple[tuple[str, str], ...]:
    """Names of the trade with the id they stand for; these go before all others."""
    return tuple((row["name"], row["species"]) for row in rows("names"))


@cache
def _own_names() -> tuple[tuple[str, str], ...]:
    """Every name of every species in the table itself, with the species' id."""
    named: list[tuple[str, str]] = []
    for species in all_species():
        before, _, inside = species.common.partition("(")
        botanical = re.sub(r"\bspp\.?", "", species.botanical)
        spoken = [species.id, species.common, before, *inside.rstrip(")").split(","), species.botanical, botanical]
        named += [(name, species.id) for name in spoken if _words(name)]
    return tuple(named)


def _exactly(name: str) -> list[str]:
    """Ids with just this name, words in any order; "red cedar" and "redcedar" are the same."""
    words, letters = _words(name), _letters(name)
    for by_name in (_by_trade_name(), _by_own_name()):
        meant = sorted({*by_name.get(words, ()), *by_name.get(letters, ())}) if letters else []
        if meant:
            return list(dict.fromkeys(one for _, one in meant))
    return []


@cache
def _by_trade_name() -> ByName:
    return _by_name(_trade_names())


@cache
def _by_own_name() -> ByName:
    return _by_name(_own_names())


def _by_name(names: tuple[tuple[str, str], ...]) -> ByName:
    """For each name, as words and as letters, its places among the names and the ids it stands for there."""
    found: ByName = {}
    for place, (name, one) in enumerate(names):
        for key in (_words(name), _letters(name)):
            found.setdefault(key, []).append((place, one))
    return found


def _containing(name: str) -> list[str]:
    """Ids with a name in which all these words stand."""
    words = _words(name)
    return list(dict.fromkeys(one for known, one in _own_names() if words and words <= _words(known)))


def _nearest(name: str) -> str:
    known = {_plain(one): species for one, species in (*_own_names(), *_trade_names())}
    near = difflib.get_close_matches(_plain(name), known, n=3, cutoff=0.5)
    meant = list(dict.fromkeys(_by_id()[known[one]].common for one in near))
    return (
        f"nearest known: {', '.join(meant)}"
        if meant
        else "no known name is near to it: give its common or botanical name in English"
    )
