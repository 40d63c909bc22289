"""Air and climates as a maker says them: temperatures, humidities, and climates that are known by name."""

import difflib
import re
from functools import cache

from purfle.errors import PurfleError
from purfle.model.season import Air, Climate, SeasonName
from purfle.wood.movement import FIBRE_SATURATION, moisture_content
from purfle.wood.tables import rows

_NUMBER = r"[-+]?[0-9]+(?:[.,][0-9]+)?"
_TEMPERATURE = re.compile(rf"({_NUMBER})\s*(?:°|deg(?:rees)?)?\s*(c|f|celsius|fahrenheit)", re.IGNORECASE)
_HUMIDITY = re.compile(rf"({_NUMBER})\s*%?(?:\s*rh)?", re.IGNORECASE)
_SEASON = re.compile(r"(.*?)[\s:,]+(winter|summer)", re.IGNORECASE)
_MOISTURE = re.compile(rf"({_NUMBER})\s*%")
COLDEST, HOTTEST = -1.2, 60.0
"""Temperatures (degrees Celsius) that the moisture of wood is reckoned for: from where its equation begins to what
no place reaches that furniture stands in."""
DAMPEST = 98.0
"""Relative humidity (%) up to which the equation holds. Source: Wood Handbook, FPL-GTR-282, ch. 4."""


def temperature(text: str, where: str = "temperature") -> float:
    """A temperature in degrees Celsius from a text with its unit. Raises PurfleError for what is none.

    >>> temperature("68F"), temperature("20 °C"), temperature("21,5 C")
    (20.0, 20.0, 21.5)
    """
    found = _TEMPERATURE.fullmatch(text.strip())
    if found is None:
        raise PurfleError(f'"{text}" is not a temperature', where, 'write it with its unit, such as "20 C" or "68 F"')
    value = float(found[1].replace(",", "."))
    celsius = value if found[2][0] in "cC" else (value - 32.0) / 1.8
    if not COLDEST <= celsius <= HOTTEST:
        mend = f"give {COLDEST:g} to {HOTTEST:g} C, {COLDEST * 1.8 + 32:.0f} to {HOTTEST * 1.8 + 32:.0f} F"
        raise PurfleError(f'"{text}" is no temperature that furniture stands in', where, mend)
    return celsius


def humidity(text: str, where: str = "humidity") -> float:
    """A relative humidity in % from a text. Raises PurfleError for what is none.

    >>> humidity("50"), humidity("45 %"), humidity("45% RH")
    (50.0, 45.0, 45.0)
    """
    found = _HUMIDITY.fullmatch(text.strip())
    if found is None:
        raise PurfleError(f'"{text}" is not a humidity', where, 'write it in %, such as "50 %"')
    value = float(found[1].replace(",", "."))
    if not 0.0 <= value <= DAMPEST:
        what = f"air cannot have {value:g} % of humidity" if not 0.0 <= value <= 100.0 else f"{value:g} % is nearly fog"
        raise PurfleError(what, where, f"give 0 to {DAMPEST:g} %: the share of the water that air can hold")
    return value


def moisture(text: str, where: str = "moisture") -> float:
    """A moisture of wood in % from a text. Raises PurfleError for what is none, and for wet wood.

    >>> moisture("8"), moisture("8.5 %")
    (8.0, 8.5)
    """
    found = _HUMIDITY.fullmatch(text.strip())
    if found is None:
        raise PurfleError(f'"{text}" is not a moisture of wood', where, 'write it in %, such as "8 %"')
    value = float(found[1].replace(",", "."))
    if value > FIBRE_SATURATION:
        what = f"wood at {value:g} % of moisture is wet: above {FIBRE_SATURATION:g} % it neither shrinks nor swells"
        raise PurfleError(what, where, "let it dry first: wood in a house has 4 to 14 %")
    if value < 0.0:
        raise PurfleError(f"wood cannot have {value:g} % of moisture", where, f"give 0 to {FIBRE_SATURATION:g} %")
    return value


def air_of(text: str, where: str = "air") -> Air:
    """Air from a text: temperature and humidity, or the moisture that wood has in it. Raises PurfleError.

    >>> round(air_of("20 C, 50 %").moisture, 2), air_of("8 %")
    (9.27, Air(moisture=8.0, temperature=None, humidity=None))
    """
    if _MOISTURE.fullmatch(text.strip()):
        return Air(moisture(text, where))
    warm, comma, damp = text.rpartition("," if "," in text else " ")
    if not comma or not _TEMPERATURE.fullmatch(warm.strip()):
        mend = 'write temperature and humidity, such as "20 C, 45 %", or the moisture of wood there, such as "8 %"'
        raise PurfleError(f'"{text}" says nothing of the air', where, mend)
    celsius, relative = temperature(warm, where), humidity(damp, where)
    return Air(moisture_content(celsius, relative), celsius, relative)


@cache
def all_climates() -> tuple[Climate, ...]:
    """Every climate that is known by name, in the order of the table."""
    return tuple(
        Climate(row["name"], air_of(row["winter"]), air_of(row["summer"]), row["source"], row["status"], row["note"])
        for row in rows("climates")
    )


def climate_named(name: str, where: str = "climate") -> Climate:
    """The climate of a name; case and spaces don't matter. Raises PurfleError with the nearest known.

    >>> climate_named("Heated house, cold winters").winter.moisture
    4.0
    """
    known = {_plain(one.name): one for one in all_climates()}
    if _plain(name) in known:
        return known[_plain(name)]
    near = difflib.get_close_matches(_plain(name), known, n=3, cutoff=0.4) or list(known)
    names = "; ".join(f'"{known[one].name}"' for one in near)
    mend = f"nearest known: {names}" if len(near) < len(known) else f"known are {names}"
    raise PurfleError(f'there is no climate "{name}"', where, f"{mend}; or give winter and summer in figures")


def air_or_season(text: str, where: str = "air") -> Air:
    """As `air_of`, and a climate known by name with its season is understood too: "cool house, temperate: winter".

    >>> air_or_season("heated house, cold winters: summer").moisture
    9.0
    >>> air_or_season("cool house, temperate, winter").moisture
    10.0
    """
    if (found := _SEASON.fullmatch(text.strip())) is not None:
        season: SeasonName = "winter" if found[2].casefold() == "winter" else "summer"
        return climate_named(found[1], where).air(season)
    _, colon, season_said = text.rpartition(":")
    if colon:
        what = f'"{season_said.strip()}" is no season'
        raise PurfleError(what, where, 'write the climate, then ": winter" or ": summer"')
    for one in all_climates():
        if _plain(one.name) == _plain(text):
            mend = f'say which: "{one.name}: winter" or "{one.name}: summer"'
            raise PurfleError(f'"{one.name}" has a winter and a summer', where, mend)
    try:
        return air_of(text, where)
    except PurfleError as refusal:
        if not refusal.what.endswith("says nothing of the air"):
            raise
        mend = f'{refusal.mend}, or a climate with its season, such as "{all_climates()[0].name}: winter"'
        raise PurfleError(refusal.what, where, mend) from None


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
