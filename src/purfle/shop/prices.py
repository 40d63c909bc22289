"""What things cost, as the shop file says it: a price for so much of a wood, of glue, of a finish; the mark-up."""

import re
from typing import Literal

from purfle.model.shop import Price
from purfle.shop.entries import NOTHING, Entry

Measure = Literal["mm3", "g"]
INCH = 25.4
AMOUNTS: dict[str, tuple[float, Measure]] = {
    "m3": (1e9, "mm3"),
    "dm3": (1e6, "mm3"),
    "cubic foot": (1728.0 * INCH**3, "mm3"),
    "board foot": (144.0 * INCH**3, "mm3"),
    "l": (1e6, "mm3"),
    "ml": (1e3, "mm3"),
    "fl oz": (29573.53, "mm3"),
    "pint": (473176.5, "mm3"),
    "quart": (946352.9, "mm3"),
    "gallon": (3785411.8, "mm3"),
    "kg": (1000.0, "g"),
    "g": (1.0, "g"),
    "oz": (28.349523, "g"),
    "lb": (453.59237, "g"),
}
"""Measures that a price is for; those of liquids are US ones. Source: NIST Handbook 44, appendix C."""
SPELT = {
    "litre": "l",
    "liter": "l",
    "litres": "l",
    "liters": "l",
    "board feet": "board foot",
    "bf": "board foot",
    "cubic feet": "cubic foot",
    "pints": "pint",
    "quarts": "quart",
    "gallons": "gallon",
    "m³": "m3",
}
HIGHEST_MARK_UP = 1000.0
"""In percent: beyond that it is a slip of the pen."""


def price_of(entry: Entry) -> Price:
    """One table [[price]]: what it is of, the price, and for how much that is."""
    amount, measure = _amount(entry)
    price = Price(entry.text("of"), entry.number("price", (0.0, 1e9)), amount, measure)
    entry.unknown_keys()
    return price


def mark_up_of(top: Entry) -> float | None:
    """What is put on the costs, as a share; None where the shop does not say. It stands there in percent."""
    return top.number("mark_up", (0.0, HIGHEST_MARK_UP)) / 100.0 if top.has("mark_up") else None


def _amount(entry: Entry) -> tuple[float, Measure]:
    """For how much a price is: '1 m3', '500 g', '25 board feet'."""
    value = entry.get("for", needed=True)
    if value is NOTHING:
        return 1.0, "mm3"
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(.+?)\s*", value) if isinstance(value, str) else None
    words = found[2].casefold() if found else ""
    measure = AMOUNTS.get(SPELT.get(words, words))
    size = float(found[1].replace(",", ".")) if found else 0.0
    if measure is None or size <= 0.0:
        mend = f'write for = "1 m3" or another amount of {", ".join(AMOUNTS)}'
        entry.fault("for", f"{value!r} is no amount that a price can be for", mend)
        return 1.0, "mm3"
    return size * measure[0], measure[1]
