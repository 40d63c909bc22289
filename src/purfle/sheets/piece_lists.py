"""Many pieces listed in two columns, under a head for each wood and offcut, so that one page holds them."""

from dataclasses import dataclass
from typing import Any

from purfle.model.job import JobResult
from purfle.sheets.lettering import bold, capital, listed, wrapped
from purfle.sheets.parts import Part, thickness_as_cut
from purfle.sheets.style import Style

LINE = 5.0
"""Height of a row of the lists."""
NUMBER, SIZE, POINTS = 9.0, 30.0, 10.5
"""Columns of the number and the size; the name has what is left."""
GUTTER = 6.0
COLUMNS = 2


@dataclass(frozen=True, slots=True)
class _Row:
    """One row: cells of a piece, or the head of a group; how many lines it takes, and its group's head."""

    cells: list[Any]
    head: list[Any]
    lines: int = 1
    is_head: bool = False


def piece_lists(result: JobResult, parts: list[Part], style: Style, first: float) -> list[list[list[dict[str, Any]]]]:
    """Pages of columns of rows. `first`: height for the lists on the first page; the others are full pages."""
    rows = _rows(result, parts, style)
    total = sum(row.lines for row in rows)
    pages, room = [], first
    while rows:
        most = max(4, int(room / LINE))
        each = min(most, -(-total // COLUMNS) + 1)
        columns = []
        for _ in range(COLUMNS):
            column, rows = _column(rows, each)
            columns.append([{"head": row.cells} if row.is_head else {"cells": row.cells} for row in column])
        pages.append([column for column in columns if column])
        total, room = sum(row.lines for row in rows), style.down - 2 * LINE
    return pages


def lists_height(page: list[list[dict[str, Any]]]) -> float:
    """About how high the columns of a page are."""
    return LINE * max((len(column) for column in page), default=0)


def _column(rows: list[_Row], most: int) -> tuple[list[_Row], list[_Row]]:
    """As many rows as a column holds, with the head of their group above them, and the rest."""
    if rows and not rows[0].is_head:
        rows = [_Row([*rows[0].head, ", continued"], rows[0].head, is_head=True), *rows]
    taken, lines = 0, 0
    while taken < len(rows) and lines + rows[taken].lines <= most:
        lines += rows[taken].lines
        taken += 1
    if taken < len(rows) and taken > 1 and rows[taken - 1].is_head:
        taken -= 1
    return rows[:taken], rows[taken:]


def _rows(result: JobResult, parts: list[Part], style: Style) -> list[_Row]:
    """Every piece in its group: the wood, how thick it is as cut, and where it comes from."""
    groups: dict[tuple[str, str, str], list[Part]] = {}
    for part in parts:
        thick = style.depth(thickness_as_cut(result, part))
        groups.setdefault((part.wood, thick, part.places[0].offcut if part.places else ""), []).append(part)
    name_room = (style.across - GUTTER * (COLUMNS - 1)) / COLUMNS - NUMBER - SIZE - 3.0
    rows = []
    for (wood, thick, offcut), some in groups.items():
        where = f"out of {offcut}" if offcut else "nothing yet: buy"
        head = [bold(capital(wood)), f", {thick} {style.word} thick as cut, {where}"]
        rows.append(_Row(head, head, is_head=True))
        for part in some:
            name = name_of(part)
            size = f"{style.tenths(part.along)} × {style.tenths(part.across)}"
            rows.append(_Row([[bold(part.label)], name, size], head, len(wrapped(name, POINTS, name_room))))
    return rows


def name_of(part: Part) -> str:
    """A piece by its name, with the pieces that it is let into, and its spares."""
    name = part.insert.name or part.inlay.name
    into = f", in {listed([str(host) for host in part.insert.hosts])}" if part.insert.hosts else ""
    return name + into + part.spare_words
