"""On which line of a TOML text each key and table stands, for messages."""

import re

_HEADER = re.compile(r"^\s*\[\[?\s*(?P<path>[^\[\]#]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*(?P<key>[A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*(=|\.)""")


def lines_of(text: str) -> dict[str, int]:
    """The line of every dotted key and table header; repeated tables are counted from 1: cutter[1].

    >>> lines_of("[[cutter]]\\nwidth = 3\\n[cutter.feed]\\nmost = 2")["cutter[1].feed.most"]
    4
    """
    found: dict[str, int] = {}
    counts: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.split("\n"), 1):
        if header := _HEADER.match(line):
            table = _counted([part.strip().strip("\"'") for part in header["path"].split(".")], counts)
            if line.lstrip().startswith("[["):
                counts[table] = counts.get(table, 0) + 1
                found.setdefault(table, number)
                table = f"{table}[{counts[table]}]"
            found.setdefault(table, number)
        elif match := _KEY.match(line):
            key = match["key"].strip("\"'")
            found.setdefault(f"{table}.{key}" if table else key, number)
    return found


def _counted(parts: list[str], counts: dict[str, int]) -> str:
    """A dotted path in which every repeated table above the last part is the one that was begun last."""
    path = parts[0]
    for part in parts[1:]:
        path = f"{path}[{counts[path]}].{part}" if path in counts else f"{path}.{part}"
    return path
