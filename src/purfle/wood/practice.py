"""Figures of the trade: low, typical and high, each with its source or "memory" where there is none."""

import difflib
from dataclasses import dataclass
from functools import cache

from purfle.errors import PurfleError
from purfle.wood.tables import Row, rows


@dataclass(frozen=True, slots=True)
class Practice:
    """One figure of the trade. `typical` may be text ("L/300", "Group 1"); figures that are not given are None."""

    topic: str
    item: str
    low: float | None
    typical: float | str | None
    high: float | None
    unit: str
    source: str
    status: str
    note: str


@cache
def practice(topic: str, item: str) -> Practice:
    """The figure of one item of a topic; `item` may be the beginning of its name if only one begins so.

    >>> practice("fit", "short grain: least width").typical
    2.0
    """
    in_topic = [row for row in rows("practice") if row["topic"] == topic]
    meant = [row for row in in_topic if row["item"] == item] or [
        row for row in in_topic if row["item"].startswith(item)
    ]
    if len(meant) != 1:
        raise PurfleError(
            f"'{item}' is {'no figure' if not meant else f'the beginning of {len(meant)} figures'} of '{topic}'",
            f"practice table, topic '{topic}'",
            _nearest(topic, item),
        )
    return _practice(meant[0])


def _practice(row: Row) -> Practice:
    return Practice(
        row["topic"],
        row["item"],
        _number(row["low"]),
        _number_or_text(row["typical"]),
        _number(row["high"]),
        row["unit"],
        row["source"],
        row["status"],
        row["note"],
    )


def _number(text: str) -> float | None:
    value = _number_or_text(text)
    return value if isinstance(value, float) else None


def _number_or_text(text: str) -> float | str | None:
    try:
        return float(text)
    except ValueError:
        return text or None


def _nearest(topic: str, item: str) -> str:
    items = [row["item"] for row in rows("practice") if row["topic"] == topic]
    if not items:
        return f"topics are: {', '.join(sorted({row['topic'] for row in rows('practice')}))}"
    return f"items are: {'; '.join(difflib.get_close_matches(item, items, n=4, cutoff=0.0))}"
