"""Figures of the trade as a sheet prints them: with their unit for this maker, and where each comes from."""

import re
from collections.abc import Iterable

from purfle.sheets.lettering import Run, Text, italic
from purfle.sheets.style import Style
from purfle.wood import Practice, publication

NO_SOURCE = "common practice, no source"
JOINER = "\N{WORD JOINER}"
SQUARE_FEET, FLUID_OUNCE, OUNCE = 92903.04, 29.5735, 28.3495
"""mm2 in a square foot; ml in a US fluid ounce; g in an ounce. Source: NIST Handbook 44, appendix C."""


def source_words(source: str, status: str) -> str:
    """'from memory', or the publication, and that it was not checked in full where that is so."""
    if source == "MEM" or status.startswith("memory"):
        return "from memory"
    if source == "COLOR":
        return "published descriptions"
    # figures of a directive are no fraction
    return re.sub(r"(\d)/(\d)", rf"\1/{JOINER}\2", publication(source))


def sources_note(figures: Iterable[tuple[str, str]]) -> Text:
    """Where the figures of a table come from: each publication once. `figures`: source and status of each."""
    words = list(dict.fromkeys(source_words(source, status) for source, status in figures))
    return f"Source{'s' * (len(words) > 1)}: {'; '.join(words)}." if words else ""


def sourced(figure: Practice) -> Run:
    """The source of a figure of the trade, in brackets."""
    return italic(f" ({source_words(figure.source, figure.status)})")


def typical(figure: Practice) -> float:
    """The typical figure, else the high or the low one."""
    for value in (figure.typical, figure.high, figure.low):
        if isinstance(value, float):
            return value
    raise ValueError(f"{figure.item} has no figure")


def warmth(celsius: float, style: Style) -> str:
    """'7 °C', or '45 °F' for a maker who works in inches."""
    return f"{celsius:.0f} °C" if style.unit == "mm" else f"{celsius * 9 / 5 + 32:.0f} °F"


def steps_of_warmth(celsius: float, style: Style) -> str:
    """A difference of temperatures."""
    return f"{celsius:.0f} °C" if style.unit == "mm" else f"{celsius * 9 / 5:.0f} °F"


def surface(mm2: float, style: Style) -> str:
    """'0.24 m²', '89 cm²', or square feet or inches."""
    if style.unit == "mm":
        return f"{mm2 / 1e6:.2f} m²" if mm2 >= 1e5 else f"{mm2 / 100:.1f} cm²"
    return f"{mm2 / SQUARE_FEET:.1f} sq ft" if mm2 >= SQUARE_FEET else f"{mm2 / 645.16:.1f} sq in"


def liquid(ml: float, style: Style) -> str:
    """'20 ml', with fluid ounces first for a maker who works in inches; little of it with more decimals."""
    shown = f"{ml:.0f} ml" if ml >= 10 else f"{ml:.1f} ml"
    ounces = ml / FLUID_OUNCE
    return shown if style.unit == "mm" else f"{ounces:.{1 if ounces >= 0.1 else 2}f} fl oz ({shown})"


def weight(grams: float, style: Style) -> str:
    """'1.6 g', with ounces first for a maker who works in inches."""
    shown = f"{grams:.0f} g" if grams >= 10 else f"{grams:.1f} g"
    return shown if style.unit == "mm" else f"{grams / OUNCE:.2f} oz ({shown})"
