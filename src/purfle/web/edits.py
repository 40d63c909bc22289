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


NEEDS = {"set": "value", "length": "text", "take_out": "", "add": "table", "place": "x", "units": ""}
"""Each kind of change, and what stands beside its own key."""


def _apply(top: Any, change: Any, unit: str) -> None:
    kind = next((one for one in NEEDS if one in change), "") if isinstance(change, dict) else ""
    if not kind or (NEEDS[kind] and NEEDS[kind] not in change) or (kind == "place" and "y" not in change):
        kinds = ", ".join(NEEDS)
        raise JobFileError("This change is not known", "edit", f"Use one of {kinds}, with what belongs to it.")
    if kind == "units":
        _units(top, str(change["units"]))
        return
    path = _path(change[kind])
    if kind == "set":
        _set(top, path, change["value"])
    elif kind == "length":
        _set(top, path, with_unit(str(change["text"]), unit))
    elif kind == "take_out":
        _take_out(top, path)
    elif kind == "add":
        _add(top, path, change["table"])
    else:
        _place(top, path, change, unit)


def with_unit(typed: str, unit: str) -> str:
    """A length as typed, its unit put after it where it has none.

    >>> with_unit("205", "mm"), with_unit("3 1/2", "in"), with_unit("3-1/2in", "mm")
    ('205 mm', '3 1/2 in', '3-1/2in')
    """
    words = " ".join(typed.split())[:LONGEST]
    return f"{words} {unit}" if _BARE.fullmatch(words) else words


def _path(given: Any) -> Path:
    steps = given if isinstance(given, list) else []
    if not steps or any(isinstance(one, bool) or not isinstance(one, (str, int)) for one in steps):
        raise JobFileError("This is no path of a key", "edit", 'Give a list such as ["board", "length"].')
    return steps


def _value(given: Any) -> Item:
    """A value as it stands in a file."""
    try:
        return tomlkit.item(given[:LONGEST] if isinstance(given, str) else given)
    except (TOMLKitError, TypeError, ValueError) as refusal:
        mend = "Give words, a number, true or false."
        raise JobFileError("This value cannot stand in a job file", "edit", mend) from refusal


def _holder(top: Any, path: Path, make: bool) -> Any:
    """The table that holds the key at the end of a path; None where it is not there and not to be made."""
    table = _table(top, path[:-1], make)
    if table is not None and (isinstance(path[-1], int) or not hasattr(table, "items")):
        raise JobFileError("This is no key of a table", _dotted(path), "Load the page again.")
    return table


def _table(top: Any, path: Path, make: bool) -> Any:
    """The table that a key stands in; made where it is not there. None where it is not there and not to be made."""
    here = top
    for place, step in enumerate(path):
        if isinstance(step, int):
            if not isinstance(here, (AoT, list)) or not 0 <= step < len(here):
                raise JobFileError("There is no such table", _dotted(path[: place + 1]), "Load the page again.")
            here = here[step]
        elif isinstance(here, (AoT, list)):
            raise JobFileError("There are several such tables", _dotted(path[:place]), "Say which one by its number.")
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
    table, key, item = _holder(top, path, make=True), path[-1], _value(value)
    old = table.get(key)
    if isinstance(old, Item):
        trivia = old.trivia
        item.trivia.comment, item.trivia.comment_ws, item.trivia.trail = trivia.comment, trivia.comment_ws, trivia.trail
    table[key] = item


def _take_out(top: Any, path: Path) -> None:
    key = path[-1]
    if isinstance(key, int):
        tables = _table(top, path[:-1], make=False) if len(path) > 1 else None
        if not isinstance(tables, (AoT, list)) or not 0 <= key < len(tables):
            raise JobFileError("There is no such table", _dotted(path), "Load the page again.")
        del tables[key]
        return
    table = _holder(top, path, make=False)
    if table is not None and key in table:
        del table[key]


def _add(top: Any, path: Path, values: Any) -> None:
    name = path[0]
    if len(path) != 1 or not isinstance(name, str) or not isinstance(values, dict):
        raise JobFileError("This table cannot be added", "edit", 'Give a name such as ["fitting"] and its keys.')
    if name in top and not isinstance(top[name], AoT):
        raise JobFileError(f"{name} stands once in this job", name, f"Write it as [[{name}]] first.")
    made = tomlkit.table()
    for key, value in values.items():
        made[key] = _value(value)
    if name not in top:
        top[name] = tomlkit.aot()
    top[name].append(made)


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
