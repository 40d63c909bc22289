"""[finish], [quote] and [bench] of a job file: what a price and a finish need that only the maker knows."""

from typing import get_args

from purfle.files.toml_table import Table
from purfle.model.reckoning import BenchWork, FinishKind, FinishWish, QuoteWish

KINDS: tuple[FinishKind, ...] = get_args(FinishKind)
WORK: tuple[BenchWork, ...] = get_args(BenchWork)
MOST_COATS = 30
MOST_MINUTES = 100_000.0
HIGHEST_PRICE = 1e9


def finish_of(top: Table) -> FinishWish:
    """The finish: its kind and coats, both or neither; whether food will lie on it."""
    table = top.table("finish")
    kind = table.choice("kind", KINDS) if table.has("kind") else None
    coats = table.number("coats", 1, 1, MOST_COATS) if table.has("coats") else 0.0
    if coats != int(coats):
        table.fault(f"coats cannot be {coats:g}", "coats", "Use a whole number.")
    if kind == "none":
        if coats:
            table.fault('coats stands beside kind = "none"', "coats", "Keep one of both.")
    elif (kind is None) != (coats == 0):
        key = "kind" if kind is None else "coats"
        sample = 'kind = "hardwax oil"' if kind is None else "coats = 2"
        table.fault(f"{key} is missing in [finish]", key, f"Add a line {sample}")
    wish = FinishWish(kind, int(coats), table.yes("food", False))
    table.close()
    return wish


def quote_of(top: Table) -> QuoteWish:
    """What the quote says that no figure can."""
    table = top.table("quote")
    wish = QuoteWish(table.text("customer", ""), _money(table, "price"), _money(table, "hardware"))
    table.close()
    return wish


def bench_of(top: Table) -> tuple[tuple[BenchWork, float], ...]:
    """Minutes of work at the bench that the maker knows better than any table, in the order of the work."""
    table = top.table("bench")
    known = tuple((work, table.number(work, 0.0, 0.0, MOST_MINUTES)) for work in WORK if table.has(work))
    table.close()
    return known


def _money(table: Table, key: str) -> float | None:
    return table.number(key, 0.0, 0.0, HIGHEST_PRICE) if table.has(key) else None
