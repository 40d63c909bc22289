"""The table [season] of the job file: the climates in which a piece is made and will stand; and how wood was cut."""

from collections.abc import Callable
from typing import TypeVar

from purfle import wood
from purfle.errors import PurfleError
from purfle.files.toml_table import REQUIRED, Table
from purfle.model.season import RINGS, SEASONS, Air, Climate, SeasonWish
from purfle.wood.movement import FIBRE_SATURATION

OWN, OWN_STATUS = "job.toml", "as the job file says"
Said = TypeVar("Said")


def season_of(top: Table) -> SeasonWish | None:
    """What the job says of its climates; None where it says nothing."""
    if not top.has("season"):
        return None
    table = top.table("season")
    shop, place = _climate(table, "shop"), _climate(table, "place")
    made = table.choice("made", SEASONS) if table.has("made") else None
    wish = SeasonWish(shop, place, made, _moisture(table, "board_moisture"), _moisture(table, "parts_moisture"))
    table.close()
    return wish


def rings_of(table: Table) -> float | None:
    """The angle of the growth rings to the face, in words or degrees; None where nothing says."""
    if not table.has("rings"):
        return None
    value = table.values["rings"]
    if isinstance(value, str):
        if value.strip().casefold() not in RINGS:
            mend = f"Use {', '.join(RINGS)}, or the angle of the growth rings to the face, 0 to 90 degrees."
            table.fault(f'rings cannot be "{value}"', "rings", mend)
            return None
        return RINGS[value.strip().casefold()]
    return table.number("rings", 0.0, 0.0, 90.0)


def _climate(table: Table, key: str) -> Climate:
    """A climate by its name, or by the air of its seasons."""
    value = table.values.get(key)
    if isinstance(value, dict):
        below = table.table(key)
        winter, summer = (_air(below, season) for season in SEASONS)
        below.close()
        return Climate(key, winter, summer, OWN, OWN_STATUS)
    words = table.text(key)
    nothing = Climate(key, Air(8.0), Air(8.0), OWN, OWN_STATUS)
    return _read(table, key, words, wood.climate_named) or nothing


def _air(table: Table, key: str) -> Air:
    words = table.text(key)
    return _read(table, key, words, wood.air_of) or Air(8.0)


def _read(table: Table, key: str, words: str, read: Callable[[str, str], Said]) -> Said | None:
    """What a text says; None, and a fault of its key, where it says nothing."""
    if not words:
        return None
    try:
        return read(words, key)
    except PurfleError as refusal:
        table.fault(refusal.what, key, refusal.mend)
        return None


def _moisture(table: Table, key: str) -> float | None:
    """A moisture as measured, in %."""
    if not table.has(key):
        return None
    value = table.values[key]
    if isinstance(value, str):
        return _read(table, key, table.text(key, REQUIRED), wood.moisture)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return table.number(key, 8.0, 0.0, FIBRE_SATURATION)
    return _read(table, key, f"{value:g}", wood.moisture)
