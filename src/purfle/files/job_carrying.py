"""[carrying] of a job file: what the board stands on, and what lies or leans on it."""

import re

from purfle.files.job_place import pair_of
from purfle.files.toml_table import Table
from purfle.model.carrying import Axis, CarryWish
from purfle.units import POUND

AXES: tuple[Axis, ...] = ("A", "B")
KILOGRAMS = {"kg": 1.0, "g": 0.001, "lb": POUND, "lbs": POUND}
HEAVIEST = 10_000.0
MOST_FEET = 100


def carrying_of(top: Table) -> CarryWish | None:
    """What the job says of it; None where it says nothing."""
    if not top.has("carrying"):
        return None
    table = top.table("carrying")
    supports, feet = _supports(table), _feet(table)
    if supports and feet:
        table.fault("supports and feet both say what the board stands on", "feet", "Keep one of both.")
    wish = CarryWish(
        supports=supports,
        feet=feet,
        along=table.choice("along", AXES) if table.has("along") else None,
        spread=_weight(table, "spread") or 0.0,
        middle=_weight(table, "middle") or 0.0,
        leaning=_weight(table, "leaning"),
    )
    table.close()
    return wish


def _supports(table: Table) -> tuple[float, ...]:
    """Lines across the board, by their distances from its datum edge: two at least."""
    if not table.has("supports"):
        return ()
    given = table.values["supports"]
    if not isinstance(given, list) or not 2 <= len(given) <= MOST_FEET:
        mend = 'Write two or more distances: supports = ["90 mm", "330 mm"].'
        table.fault("supports has to be a list of distances", "supports", mend)
        return ()
    found = [table.as_length(one, "supports") for one in given]
    return tuple(sorted({one for one in found if one is not None}))


def _feet(table: Table) -> tuple[tuple[float, float], ...]:
    """Places of feet: each from edge B and from edge A."""
    if not table.has("feet"):
        return ()
    given = table.values["feet"]
    if not isinstance(given, list) or not 3 <= len(given) <= MOST_FEET:
        mend = 'Write three or more places, from edge B and edge A: feet = [["60 mm", "60 mm"], ...].'
        table.fault("feet has to be a list of places", "feet", mend)
        return ()
    return tuple(pair_of(table, one, "feet") for one in given)


def _weight(table: Table, key: str) -> float | None:
    """A weight in kg; a bare number is in kg."""
    if not table.has(key):
        return None
    value = table.values[key]
    text = str(value) if not isinstance(value, bool) else ""
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*([a-zA-Z]*)\s*", text)
    each = KILOGRAMS.get(found[2].casefold() or "kg") if found else None
    weight = float(found[1].replace(",", ".")) * each if found and each else 0.0
    if each is None or weight > HEAVIEST:
        table.fault(f'{key} cannot be "{value}"', key, f'Write a weight up to 10 t: {key} = "60 kg" or "130 lb".')
        return None
    return weight
