"""Finishes: what each is called, how far it spreads and how long a coat dries, from the figures of the trade."""

import re

from purfle.model.reckoning import FinishKind
from purfle.wood.practice import Practice, practice

WORDS: dict[FinishKind, str] = {
    "varnish": "varnish or wiping oil, a brushed coat",
    "buffed varnish": "the same, a thin coat buffed off",
    "hardwax oil": "hardwax oil, a thin coat",
    "shellac": "shellac, a padded coat",
}
"""Each kind as a sheet tells it."""
_SPREADS: dict[FinishKind, str] = {
    "varnish": "varnish or wiping oil spread, brushed",
    "buffed varnish": "thin buffed coat",
    "hardwax oil": "hardwax oil, one thin coat",
    "shellac": "shellac 2-lb cut, brushed/padded",
}


def spread_of(kind: FinishKind) -> Practice:
    """How many square metres a litre covers in one coat."""
    return practice("finish", _SPREADS[kind])


def drying_of(kind: FinishKind) -> Practice:
    """How many hours a coat dries before the next."""
    return practice("finish", f"drying of a coat: {kind}")


def grits() -> list[str]:
    """The grits for levelling in their order.

    >>> grits()
    ['100', '120', '150', '180', '220']
    """
    found = re.search(r"\d+(?:-\d+){2,}", practice("sanding", "grit sequence for levelling inlay").note)
    return found.group().split("-") if found else []
