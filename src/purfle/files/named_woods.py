"""The names of woods in a file of the maker's: every one that is no wood, or several, is told with its line."""

from purfle.errors import Fault, PurfleError, ShopFileError
from purfle.files.toml_table import Table
from purfle.model.shop import Shop
from purfle.toml_lines import lines_of
from purfle.wood import find


def wood_in(table: Table, key: str) -> str:
    """The wood of one key, as the maker writes it; a fault of the table if it does not name one wood."""
    name = table.text(key)
    if name:
        check_wood(table, key, name)
    return name


def check_wood(table: Table, key: str, name: str) -> None:
    """Keep a fault of a key if a name does not name one wood."""
    try:
        find(name)
    except PurfleError as refusal:
        table.fault(refusal.what, key, refusal.mend)


def with_known_woods(shop: Shop, file: str, text: str = "") -> Shop:
    """A shop whose offcuts are all of known woods. Raises ShopFileError with every name that is none.

    `text` of the shop file, to tell lines by.
    """
    faults = []
    lines = lines_of(text)
    for number, offcut in enumerate(shop.offcuts, 1):
        try:
            find(offcut.wood)
        except PurfleError as refusal:
            line = lines.get(f"offcut[{number}].wood")
            place = f"{file}, line {line}" if line else file
            faults.append(Fault(refusal.what, f"{place}, offcut '{offcut.name}', key 'wood'", refusal.mend))
    if faults:
        raise ShopFileError.of(faults)
    return shop
