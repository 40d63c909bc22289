"""Figures of one cutter put into a shop file: its lines alone change, every other sign stays as the maker wrote it."""

import re
import tomllib
from collections.abc import Mapping

from purfle.errors import ShopFileError
from purfle.toml_lines import lines_of

_VALUE = re.compile(
    r"""^(?P<before>\s*[A-Za-z0-9_-]+\s*=\s*)(?P<value>"[^"]*"|'[^']*'|[^\s#"']+)(?P<after>\s*(#.*)?)$"""
)


def with_cutter_figures(text: str, cutter: str, figures: Mapping[str, str], name: str = "shop.toml") -> str:
    """The text of a shop file with keys of one cutter set, each to what stands behind its = (TOML).

    Comments, order, and everything else is kept, to the sign. Raises ShopFileError where the cutter's table does not
    stand under a heading of its own, or a key is written in a way that is not understood.
    """
    ending = "\r\n" if "\r\n" in text else "\n"
    lines = text.split(ending)
    table = _table_of(text.replace("\r\n", "\n"), cutter, name)
    for key, value in figures.items():
        found = lines_of("\n".join(lines))
        at = found.get(f"{table}.{key}")
        if at is None:
            last = max(line for path, line in found.items() if path == table or path.startswith(f"{table}."))
            lines.insert(_end_of(lines, last), f"{_indent(lines, last)}{key} = {value}")
            continue
        match = _VALUE.match(lines[at - 1])
        if match is None:
            where = f"{name}, line {at}"
            raise ShopFileError(f"{key} is written in a way that cannot be changed here", where, f"set {key} = {value}")
        lines[at - 1] = f"{match['before']}{value}{match['after']}"
    changed = ending.join(lines)
    _check(text, changed, (cutter, figures), name)
    return changed


def _table_of(text: str, cutter: str, name: str) -> str:
    """The path of the cutter's table, as lines are looked up by."""
    cutters = tomllib.loads(text)["cutter"]
    number = next(count for count, one in enumerate(cutters, 1) if one.get("name") == cutter)
    if f"cutter[{number}]" not in lines_of(text):
        mend = "write each cutter under a heading [[cutter]], one key on a line"
        raise ShopFileError(f"{cutter} does not stand under a heading of its own", name, mend)
    return f"cutter[{number}]"


def _end_of(lines: list[str], last: int) -> int:
    """Where a line may go in behind that of the last key (counted from 1), whose value may go over several lines."""
    end = last
    while True:
        try:
            tomllib.loads("\n".join(lines[last - 1 : end]))
        except tomllib.TOMLDecodeError:
            if end >= len(lines):
                return last
            end += 1
        else:
            return end


def _indent(lines: list[str], last: int) -> str:
    return lines[last - 1][: len(lines[last - 1]) - len(lines[last - 1].lstrip())]


def _check(before: str, after: str, asked: tuple[str, Mapping[str, str]], name: str) -> None:
    """The new text says what the old one said, but for the figures: read both and compare."""
    cutter, figures = asked
    wanted = tomllib.loads(before.replace("\r\n", "\n"))
    for one in wanted["cutter"]:
        if one.get("name") == cutter:
            one.update(tomllib.loads("\n".join(f"{key} = {value}" for key, value in figures.items())))
    if tomllib.loads(after.replace("\r\n", "\n")) != wanted:
        mend = "write these keys below the cutter by hand: " + ", ".join(f"{k} = {v}" for k, v in figures.items())
        raise ShopFileError("the shop file is written in a way that cannot be changed here", name, mend)
