"""The only door to the data tables: read once, when first asked for."""

import csv
from functools import cache
from importlib.resources import files

Row = dict[str, str]


@cache
def rows(table: str) -> tuple[Row, ...]:
    """All rows of one table of `wood/data`, in file order. Don't change them: they are shared."""
    text = files("purfle.wood").joinpath("data", f"{table}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@cache
def publication(code: str) -> str:
    """The publication behind a source code; the code itself where it is one of our own rules.

    >>> publication("WH190-4-3")
    'Wood Handbook, FPL-GTR-190 (2010), ch. 4, Table 4-3 shrinkage of domestic woods'
    """
    return next((row["publication"] for row in rows("sources") if row["code"] == code), code)
