"""Changes of a job file: a key set, put in or taken out by its path, every comment and the order of the file kept."""

import re
from collections.abc import Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Item

from purfle.errors import JobFileError

Path = Sequence[str | int]
Change = dict[str, Any]
MOST_CHANGES = 64
"""So many changes at most make one edit."""
LONGEST = 400
"""So many signs at most has a value that is typed."""
_BARE = re.compile(r"\s*[-+]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+|(?:[0-9]+[ -]+)?[0-9]+/[0-9]+)\s*")
PLACES = ("centred", "from_left", "from_right", "from_front", "from_back", "from_centre")
"""Every key that says where something stands."""


def edited(text: str, changes: Sequence[Change], unit: str) -> str:
    """The text of a job file after some changes. `unit`: "mm" or "in", put after a length that is typed without one.

    A change is {"set": path, "value": ...}, {"length": path, "text": ...}, {"take_out": path}, {"add": path, "table":
    {...}} for one more `[[table]]`, {"place": path, "x": ..., "y": ...}, which says where the middle stands, or
    {"units": ...}, which changes what is shown and leaves every number of the file what it was.
    Raises: JobFileError.
    """
    if len(changes) > MOST_CHANGES:
        raise JobFileError("Too many changes at once", "edit", f"Send {MOST_CHANGES} at most.")
    try:
        top = tomlkit.parse(text)
    except TOMLKitError as refusal:
        raise JobFileError(f"The job file is not TOML: {refusal}", "job.toml", "Mend it in an editor.") from refusal
    for change in changes:
        _apply(top, change, unit)
    return tomlkit.dumps(top)


def _apply(top: Any, change: Change, unit: str) -> None:
    if "set" in change:
        _set(top, _path(change["set"]), _value(change["value"]))
    elif "length" in change:
        _set(top, _path(change["length"]), with_unit(str(change["text"]), unit))
    elif "take_out" in change:
        _take_out(top, _path(change["take_out"]))
    elif "add" in change:
        _add(top, _path(change["add"]), change["table"])
    elif "place" in change:
        _place(top, _path(change["place"]), change, unit)
    elif "units" in change:
        _units(top, str(change["units"]))
    else:
        raise JobFileError("This change is not known", "edit", "Use set, length, take_out, add, place or units.")


def with_unit(typed: str, unit: str) -> str:
    """A length as typed, its unit put after it where it has none.

    >>> with_unit("205", "mm"), with_unit("3 1/2", "in"), with_unit("3-1/2in", "mm")
    ('205 mm', '3 1/2 in', '3-1/2in')
    """
    words = " ".join(typed.split())[:LONGEST]
    return f"{words} {unit}" if _BARE.fullmatch(words) else words


def _path(given: Any) -> Path:
    if not isinstance(given, list) or not given or not all(isinstance(one, (str, int)) for one in given):
        raise JobFileError("This is no path of a key", "edit", 'Give a list such as ["board", "length"].')
    return given


def _value(given: Any) -> Any:
    if isinstance(given, str):
        return given[:LONGEST]
    if isinstance(given, (bool, int, float, list, dict)):
        return given
    raise JobFileError("This value cannot stand in a job file", "edit", "Give words, a number, true or false.")


def _table(top: Any, path: Path, make: bool) -> Any:
    """The table that a key stands in; made where it is not there. None where it is not there and not to be made."""
    here = top
    for place, step in enumerate(path):
        if isinstance(step, int):
            if not isinstance(here, (AoT, list)) or not 0 <= step < len(here):
                raise JobFileError("There is no such table", _dotted(path[: place + 1]), "Load the page again.")
            here = here[step]
        elif step in here:
            here = here[step]
        elif make:
            here[step] = tomlkit.table()
            here = here[step]
        else:
            return None
        if not hasattr(here, "items") and not isinstance(here, (AoT, list)):
            raise JobFileError("This is no table", _dotted(path[: place + 1]), "Load the page again.")
    return here


def _set(top: Any, path: Path, value: Any) -> None:
    table, key = _table(top, path[:-1], make=True), path[-1]
    old = table.get(key) if hasattr(table, "get") else None
    item = tomlkit.item(value)
    if isinstance(old, Item) and isinstance(item, Item):
        trivia = old.trivia
        item.trivia.comment, item.trivia.comment_ws, item.trivia.trail = trivia.comment, trivia.comment_ws, trivia.trail
    table[key] = item


def _take_out(top: Any, path: Path) -> None:
    table, key = _table(top, path[:-1], make=False), path[-1]
    if isinstance(key, int):
        if table is None or not 0 <= key < len(table):
            raise JobFileError("There is no such table", _dotted(path), "Load the page again.")
        del table[key]
    elif table is not None and key in table:
        del table[key]


def _add(top: Any, path: Path, values: Any) -> None:
    if len(path) != 1 or not isinstance(path[0], str) or not isinstance(values, dict):
        raise JobFileError("This table cannot be added", "edit", 'Give a name such as ["fitting"] and its keys.')
    made = tomlkit.table()
    for key, value in values.items():
        made[key] = _value(value)
    if path[0] not in top:
        top[path[0]] = tomlkit.aot()
    top[path[0]].append(made)


def _place(top: Any, path: Path, change: Change, unit: str) -> None:
    """The middle of something said from both datum edges; whatever said it another way is taken out."""
    for key in PLACES:
        _take_out(top, [*path, key])
    _set(top, [*path, "measured_to"], "middle")
    _set(top, [*path, "from_left"], with_unit(str(change["x"]), unit))
    _set(top, [*path, "from_front"], with_unit(str(change["y"]), unit))


def _units(top: Any, unit: str) -> None:
    """Other units for page and sheets; numbers without a unit stay in the one that they were written in."""
    head = _table(top, ["job"], make=True)
    written_in = head.get("numbers", head.get("units", unit))
    head["units"] = unit
    if written_in != unit:
        head["numbers"] = written_in
    elif "numbers" in head:
        del head["numbers"]


def unit_of(text: str) -> str:
    """The unit in which lengths are typed in a job: "mm" or "in"; "mm" where the file does not say."""
    found = re.search(r'^\s*units\s*=\s*"\s*(mm|in)', text, re.MULTILINE)
    return found[1] if found else "mm"


def _dotted(path: Path) -> str:
    return "".join(f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")
