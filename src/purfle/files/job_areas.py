"""The table [areas] of the job file: what the maker wants changed in the areas of a picture or drawing."""

import re
from fractions import Fraction
from typing import get_args

from purfle.errors import LengthError
from purfle.files.job_place import pair_of
from purfle.files.named_woods import wood_in
from purfle.files.toml_table import MORE_THAN_NOTHING, Table
from purfle.model.artwork import AreaEdits, Colour, LineWay, LineWish, SymmetryWish, Which
from purfle.units import signed_length

_POINT = re.compile(r"[-+.]?[0-9]")
_COLOUR = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")
_SQUARE = re.compile(r"(?P<number>[0-9.,/ -]+?)\s*(?P<unit>sq\.?\s*(?:mm|in)|(?:mm|in)\s*(?:2|²|\^2))?", re.IGNORECASE)
WAYS: tuple[LineWay, ...] = get_args(LineWay)
ALL = "all"
"""Stands for every line inside one area."""
SAMPLE = '{ stringing = "holly", width = "1 mm" }'
WIDEST = 100.0
"""No stringing (mm) is wider."""
_LEFT_OR_RIGHT, _LOWER_OR_UPPER = ("left", "right"), ("lower", "upper")


def area_edits(table: Table, drawn: bool) -> AreaEdits:
    """The edits of one picture (`drawn`: of a drawing); faults are in the table's source afterwards."""
    if table.has("on_top") and not drawn:
        mend = "Take it out: in a picture nothing lies over anything else."
        table.fault("on_top is for drawings", "on_top", mend)
    edits = AreaEdits(
        on_top=tuple((pair[0], pair[1]) for pair in _groups(table, "on_top", 2) if len(pair) == 2),
        merge=_groups(table, "merge", None),
        to_ground=_list(table, "to_ground"),
        to_neighbour=_list(table, "to_neighbour"),
        smallest=_square(table, "smallest"),
        narrowest=table.length("narrowest", 0.0),
        symmetry=_symmetry(table),
        dissolve=_list(table, "dissolve"),
        lines=_lines(table.table("lines")),
    )
    table.close()
    return edits


def which_area(table: Table, words: object, key: str) -> Which | None:
    """An area as it may be written: a name, a point ("110, 50") or a colour ("#f5efe1"); None, and a fault, if none."""
    if isinstance(words, list):
        return pair_of(table, words, key)
    if not isinstance(words, str) or not words.strip():
        mend = 'Write a name ("eye"), a point ("110, 50") or a colour ("#f5efe1").'
        table.fault(f"{key} names no area", key, mend)
        return None
    plain = " ".join(words.split())
    if plain.startswith("#"):
        return _colour(table, plain, key)
    return pair_of(table, plain, key) if _POINT.match(plain) and re.search(r"[;,]", plain) else plain


def _colour(table: Table, words: str, key: str) -> Colour | None:
    if not _COLOUR.fullmatch(words):
        table.fault(f'"{words}" is not a colour', key, 'Write # and six signs 0-9, a-f, such as "#f5efe1".')
        return None
    signs = words.removeprefix("#")
    signs = "".join(2 * sign for sign in signs) if len(signs) == 3 else signs
    return int(signs[0:2], 16), int(signs[2:4], 16), int(signs[4:6], 16)


def _list(table: Table, key: str) -> tuple[Which, ...]:
    """A list of areas; one alone may stand without brackets."""
    if not table.has(key):
        return ()
    value = table.values[key]
    entries = value if isinstance(value, list) else [value]
    found = [which_area(table, entry, key) for entry in entries]
    return tuple(which for which in found if which is not None)


def _groups(table: Table, key: str, count: int | None) -> tuple[tuple[Which, ...], ...]:
    """A list of groups of areas; one group alone may stand without the outer brackets."""
    if not table.has(key):
        return ()
    value = table.values[key]
    groups = value if isinstance(value, list) and value and all(isinstance(one, list) for one in value) else [value]
    found = []
    for group in groups:
        enough = isinstance(group, list) and (len(group) == count if count else len(group) >= 2)
        if not enough:
            sample = '[["eye", "head"]]' if count else '[["eye", "cap"], ["tail", "110, 50"]]'
            wanted = "pairs: the upper shape, then the lower one" if count else "groups of two areas or more"
            table.fault(f"{key} has to be {wanted}", key, f"Write {key} = {sample}.")
            continue
        picked = [which_area(table, entry, key) for entry in group]
        found.append(tuple(which for which in picked if which is not None))
    return tuple(found)


def _lines(table: Table) -> tuple[LineWish, ...]:
    """What becomes of lines inside one area: "keep" or "drop", or a table of the stringing; of one, or of all."""
    found = []
    for key in table.keys():  # noqa: SIM118
        which = None if key == ALL else which_area(table, key, key)
        if key != ALL and which is None:
            continue
        if not isinstance(table.values[key], dict):
            way = table.choice(key, WAYS)
            if way == "stringing":
                table.fault("It is not said which wood the stringing is of", key, f"Write {_quoted(key)} = {SAMPLE}.")
            found.append(LineWish(which, way))
            continue
        strip = table.table(key)
        wood = wood_in(strip, "stringing")
        width = strip.length("width", limits=(MORE_THAN_NOTHING[0], WIDEST)) if strip.has("width") else 0.0
        found.append(LineWish(which, "stringing", wood, width))
        strip.close()
    return tuple(found)


def _quoted(key: str) -> str:
    return key if key == ALL else f'"{key}"'


def _square(table: Table, key: str) -> float:
    """A size in mm2, as "2 mm2" or "0.003 sq in"; a bare number is in the square of the job's unit."""
    if not table.has(key):
        return 0.0
    value = table.values[key]
    match = None if isinstance(value, bool) else _SQUARE.fullmatch(str(value).strip())
    unit = table.source.unit
    try:
        if match is None:
            raise LengthError("no size", key, "")
        word = "in" if "in" in (match["unit"] or "").lower() else "mm" if match["unit"] else ""
        one = Fraction(signed_length(f"1 {word}".strip(), unit, key))
        return float(Fraction(signed_length(f"{match['number']} {word}".strip(), unit, key)) * one)
    except LengthError:
        shown = f'"{value}"' if isinstance(value, str) else str(value)
        table.fault(f"{key} cannot be {shown}", key, f'Write a size, such as {key} = "2 mm2" or {key} = "0.003 sq in".')
        return 0.0


def _symmetry(table: Table) -> SymmetryWish | None:
    """The mirror line: upright or level, where, and which half is kept; None where none is asked for."""
    wanted = table.has("symmetrical") and table.values["symmetrical"] is not False
    if not wanted:
        for key in ("mirror_line_at", "keep"):
            if table.has(key):
                mend = 'Add symmetrical = "upright" (left and right alike) or "level", or take it out.'
                table.fault(f"{key} stands without symmetrical", key, mend)
        return None
    if table.values["symmetrical"] is True:
        table.values["symmetrical"] = "upright"
    upright = table.choice("symmetrical", ("upright", "level")) == "upright"
    at = table.length("mirror_line_at") if table.has("mirror_line_at") else None
    sides = _LEFT_OR_RIGHT if upright else _LOWER_OR_UPPER
    return SymmetryWish(upright, at, table.choice("keep", sides, sides[0]) == sides[1])
