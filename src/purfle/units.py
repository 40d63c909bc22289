"""Lengths as people write and read them: the one parser, the one place that rounds for people.

Inside Purfle every length is a float in mm. Text becomes mm here, exactly (through Fraction, 1 in = 127/5 mm), and mm
becomes text here. A number without a unit is refused unless the caller names the unit that it stands in.

>>> length('3 1/2 in'), length('3-1/2"'), length('3½″'), length('8,9 cm')
(88.9, 88.9, 88.9, 89.0)
>>> show(88.9, "inch"), show(88.9, "inch-decimal"), show(88.9, "mm")
('3 1/2 in', '3.5 in', '88.9 mm')
"""

import math
import re
import unicodedata
from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

from purfle.errors import LengthError

LengthUnit = Literal["mm", "inch", "inch-decimal"]
FigureKind = Literal["dimension", "seam", "depth", "width"]

INCH = Fraction(127, 5)
"""One inch in mm, exact. Source: the international yard and pound agreement of 1959, 1 yd = 0.9144 m."""
POUND = 0.45359237
"""One pound in kg, exact. Source: the same; NIST Handbook 44, appendix C."""
LONGEST = 100_000.0
"""No length of a job is longer than 100 m: more is a slip of the pen."""
LONGEST_TEXT = 80
"""No length takes more signs than this to write."""
FINEST_INCH = 64
"""A rule shows no finer fraction than a sixty-fourth."""
ON_A_RULE = Fraction(1, 100)
"""Lengths of so many inches and more are told in thousandths at most; seams and what they depart by are less."""
FINER = 5e-5
"""A length in mm is told with so many decimals that less than this is left."""
FINEST_MM = 2
"""A rule shows half millimetres."""
ON_A_FRACTION = Fraction(1, 100)
"""A depth within this (mm) of a sixty-fourth is shown as that fraction, any other with three decimals."""

_UNITS: dict[str, Fraction] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Fraction(1)),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Fraction(10)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"'), INCH),
    **dict.fromkeys(("ft", "ft.", "foot", "feet", "'"), INCH * 12),
    **dict.fromkeys(("thou", "thousandth", "thousandths"), INCH / 1000),
}
_VULGAR = {
    sign: " " + unicodedata.normalize("NFKC", sign).replace("\u2044", "/")
    for sign in map(chr, (*range(0xBC, 0xBF), *range(0x2150, 0x215F), 0x2189))
}
_SIGNS = str.maketrans(
    {
        **_VULGAR,
        **dict.fromkeys("\u2033\u201d\u201c\u201f\uff02", '"'),
        **dict.fromkeys("\u2032\u2019\u2018\u201b\uff07", "'"),
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\uff0d", "-"),
        **dict.fromkeys("\u2044\u2215\uff0f", "/"),
    }
)
_RAISED = re.compile("([\u2070\u00b9\u00b2\u00b3\u2074-\u2079]+)[\u2044/]([\u2080-\u2089]+)")
_NUMBER = (
    r"(?:(?P<whole>[0-9]+)(?:\s*-\s*|\s+))?(?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+)"
    r"|(?P<plain>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
)
_TERM = re.compile(rf"\s*(?:{_NUMBER})\s*(?P<unit>[a-z]+\.?|['\"])?\s*")
_HOW = 'Write a number with its unit, such as 89 mm, 8.9 cm, 3 1/2 in, 3-1/2" or 0.005 in.'


def length(text: str, bare: LengthUnit | None = None, where: str = "") -> float:
    """The length that a text states, in mm. `bare` is the unit of a number without one; None refuses such a number.

    Understood: mm, cm, m, in, ft, thousandths, their signs, fractions, decimal point or comma, feet and inches
    together. `where` names the key or option for the message. Raises `LengthError`.

    Valid: 0 to 100 m.

    >>> length("1' 2 3/8\\"") == 14.375 * 25.4
    True
    >>> length("89", bare="mm")
    89.0
    """
    signed = signed_length(text, bare, where)
    if signed < 0:
        raise LengthError(f"{_quoted(text)} is less than nothing", where, "Leave the minus sign out.")
    return signed


def signed_length(text: str, bare: LengthUnit | None = None, where: str = "") -> float:
    """As `length`, and a leading minus or plus sign is understood too (a place to the left of a centre line).

    >>> signed_length("-3 1/2 in"), signed_length("+2 mm")
    (-88.9, 2.0)
    """
    if not isinstance(text, str):
        raise LengthError(f"{_quoted(text)} is not a length", where, _HOW)
    if len(text) > LONGEST_TEXT:
        raise LengthError(f"{_quoted(text)} is too long a text for a length", where, _HOW)
    plain = _RAISED.sub(_lowered, text).translate(_SIGNS).replace("''", '"').strip().casefold()
    sign = -1 if plain.startswith("-") else 1
    amount = _sum_of_terms(plain.removeprefix("-" if sign < 0 else "+"), text, bare, where)
    if amount > LONGEST:
        mend = f"Nothing longer than {LONGEST / 1000:g} m is worked; check the unit."
        raise LengthError(f"{_quoted(text)} is too long", where, mend)
    return float(sign * amount)


def _lowered(match: re.Match[str]) -> str:
    """A fraction written with raised and lowered figures, in plain figures and apart from the whole before it."""
    over, under = (unicodedata.normalize("NFKC", part) for part in match.groups())
    return f" {over}/{under}"


def _quoted(text: object) -> str:
    """A text as the message shows it: its start if it is long, without line ends."""
    shown = " ".join(str(text).split())
    return f'"{shown[:40]}..."' if len(shown) > 40 else f'"{shown}"'


def _sum_of_terms(plain: str, text: str, bare: LengthUnit | None, where: str) -> Fraction:
    """The one term, or feet and inches together, in mm."""
    terms: list[tuple[Fraction, Fraction]] = []
    place = 0
    while place < len(plain):
        match = _TERM.match(plain, place)
        if match is None or (match["unit"] is None and (terms or match.end() < len(plain))):
            raise LengthError(f"{_quoted(text)} is not a length", where, _HOW)
        number = _number(match, text, where)
        terms.append((number, _unit(match["unit"], text, bare, where)))
        place = match.end()
    if not terms:
        raise LengthError("A length is missing" if not plain else f"{_quoted(text)} is not a length", where, _HOW)
    sizes = [size for _, size in terms]
    if len(terms) > 1 and sizes != [INCH * 12, INCH]:
        mend = "Give one number with its unit; only feet and inches may stand together."
        raise LengthError(f"{_quoted(text)} mixes units", where, mend)
    return sum((number * size for number, size in terms), Fraction(0))


def _number(match: re.Match[str], text: str, where: str) -> Fraction:
    """The number of one term, exact."""
    if match["plain"] is not None:
        return _decimal(match["plain"], text, where)
    over, under = int(match["over"]), int(match["under"])
    if under == 0:
        raise LengthError(f"{_quoted(text)} divides by nothing", where, "Write the fraction's lower number.")
    if match["whole"] is not None and over >= under:
        mend = f"Write the whole and the fraction apart, the fraction less than one; {over}/{under} is not."
        raise LengthError(f"{_quoted(text)} has a fraction that is not less than one", where, mend)
    return int(match["whole"] or 0) + Fraction(over, under)


def _decimal(plain: str, text: str, where: str) -> Fraction:
    """A whole or decimal number. A comma that may stand for thousands is refused, since a guess costs a board."""
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", plain):
        either, other = plain.replace(",", ""), plain.replace(",", ".")
        raise LengthError(f"{_quoted(text)} can be read two ways", where, f"Write {either} or {other}.")
    whole, _, part = plain.replace(",", ".").partition(".")
    return Fraction(int((whole + part) or "0"), 10 ** len(part))


def _unit(word: str | None, text: str, bare: LengthUnit | None, where: str) -> Fraction:
    """One of a unit in mm."""
    if word is None:
        if bare is None:
            number = " ".join(text.split())[:20]
            mend = f"Name the unit: {number} mm or {number} in."
            raise LengthError(f"{_quoted(text)} has no unit", where, mend)
        return Fraction(1) if bare == "mm" else INCH
    if word not in _UNITS:
        raise LengthError(f"{_quoted(text)}: {word} is not a unit of length", where, _HOW)
    return _UNITS[word]


_FIGURE = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_IN_MM = re.compile(rf"(?<![\w.]){_FIGURE.pattern}(?:(?:, | x | to | and ){_FIGURE.pattern})* mm\b(?![²³/]|[23])")
"""Figures in mm in a text."""
_WEIGHED = re.compile(r"([0-9.]+ (?:kg|N)) \(([0-9.]+ lbf?)\)")
"""A weight or a force in a text: pounds go first for a maker who measures in inches."""
_IN_MM2 = re.compile(rf"(?<![\w.])({_FIGURE.pattern}) mm2\b")


def on_rule(mm: float, unit: LengthUnit) -> float:
    """The nearest length that a rule shows, in mm: half millimetres, or sixty-fourths of an inch.

    >>> on_rule(10.3, "mm"), on_rule(10.3, "inch")
    (10.5, 10.31875)
    """
    step = Fraction(1, FINEST_MM) if unit == "mm" else INCH / FINEST_INCH
    return float(_nearest(_exact(mm) / step) * step)


def show(mm: float, unit: LengthUnit, decimals: int | None = None) -> str:
    """A length with its unit, as short as it can be said: `88.9 mm`, `3 1/2 in` (to 1/64), `3.5 in`.

    `decimals` is how many are kept at most (3 unless told; fractions have none). `length` reads it back.
    """
    return f"{_said(_exact(mm), unit, 3 if decimals is None else decimals)} {unit_word(unit)}"


def figure(mm: float, unit: LengthUnit, kind: FigureKind = "dimension") -> str:
    """A length with its unit, rounded as people want this kind of figure; see `number`."""
    return f"{number(mm, unit, kind)} {unit_word(unit)}"


def number(mm: float, unit: LengthUnit, kind: FigureKind = "dimension") -> str:
    """A length without its unit, rounded for people.

    Dimensions: 0.1 mm, 1/64 in or 0.001 in. Seams: always 0.01 mm or 0.001 in, all decimals shown. Depths: 0.01 mm,
    at least one decimal; in inches a fraction where it is one, else 0.001 in. Measured widths: 0.001 mm or 0.0001 in.

    >>> number(118.04, "mm"), number(0.1, "mm", "seam"), number(6.0, "mm", "depth"), number(6.35, "mm", "depth")
    ('118', '0.10', '6.0', '6.35')
    >>> number(6.35, "inch", "depth"), number(6.0, "inch", "depth"), number(0.1, "inch", "seam")
    ('1/4', '0.236', '0.004')
    """
    exact = _exact(mm)
    if kind == "width":
        return _decimals(exact, 3, 3) if unit == "mm" else _decimals(exact / INCH, 4, 4)
    if kind == "seam":
        return _decimals(exact, 2, 2) if unit == "mm" else _decimals(exact / INCH, 3, 3)
    if kind == "dimension":
        return _said(exact, unit, 1 if unit == "mm" else 3)
    if unit == "mm":
        return _decimals(exact, 2, 1)
    is_fraction = abs(_exact(on_rule(mm, "inch")) - exact) <= ON_A_FRACTION
    return _said(exact, "inch", 0) if unit == "inch" and is_fraction else _decimals(exact / INCH, 3, 3)


def out_of_100(share: float) -> str:
    """A chance (0 to 1) as people say it.

    >>> out_of_100(0.934), out_of_100(0.9999), out_of_100(0.001)
    ('93 of 100', 'more than 99 of 100', 'fewer than 1 of 100')
    """
    rounded = round(100.0 * share)
    if rounded >= 100:
        return "more than 99 of 100"
    return f"{rounded} of 100" if rounded else "fewer than 1 of 100"


def retold(text: str, unit: LengthUnit, names: Iterable[str] = ()) -> str:
    """A text that gives its lengths in mm, told in the maker's unit: inches with as many decimals as the mm bear.

    Findings and faults are written in mm, each length (or list of lengths with as many decimals) followed by " mm".
    Names of the maker's own that hold such a figure, like "3 mm straight", stay as they are.

    >>> retold("only 5.8 mm of wood is left, at 12.0, 40.5 mm", "inch")
    'only 0.228 in of wood is left, at 0.472, 1.594 in'
    >>> retold("54.0 mm2 in all, right within 0.01 mm", "inch")
    '0.0837 sq in in all, right within 0.0004 in'
    >>> retold("60 kg (132 lb) lean on it", "inch")
    '132 lb (60 kg) lean on it'
    """
    if unit == "mm":
        return text
    kept = [re.escape(name) for name in sorted(set(names), key=len, reverse=True) if _told_in_inches(name) != name]
    pieces = re.split(f"({'|'.join(kept)})", text) if kept else [text]
    return "".join(piece if number % 2 else _told_in_inches(piece) for number, piece in enumerate(pieces))


def _told_in_inches(text: str) -> str:
    return _WEIGHED.sub(r"\2 (\1)", _IN_MM2.sub(_in_square_inches, _IN_MM.sub(_in_inches, text)))


def _in_inches(found: re.Match[str]) -> str:
    """Figures in mm as inches. A figure before the last is no length of the list if it has other decimals."""
    figures = _FIGURE.findall(found.group())
    places = [len(figure.partition(".")[2]) for figure in figures]
    if len(set(places)) > 1 or (len(figures) > 1 and not places[0]):
        before, last = found.group()[: -len(figures[-1]) - 3], figures[-1]
        return f"{before}{_inches(last)} in"
    return _FIGURE.sub(lambda one: _inches(one.group()), found.group().removesuffix("mm")) + "in"


def _inches(mm: str) -> str:
    decimals = len(mm.partition(".")[2])
    length = Fraction(mm) / INCH
    kept = max(decimals + 1, 3) if decimals else 2
    if abs(length) >= ON_A_RULE:
        kept = min(kept, 3)
    while length and abs(length) < Fraction(1, 2 * 10**kept):
        kept += 1
    return _decimals(length, kept, 0)


def _in_square_inches(found: re.Match[str]) -> str:
    """An area in mm2 as square inches, to three figures."""
    area = float(Fraction(found[1]) / INCH**2)
    decimals = 2 - math.floor(math.log10(area)) if area else 1
    return f"{area:.{max(decimals, 0)}f} sq in"


def in_mm(*lengths: float) -> str:
    """Lengths in mm as exactly as their maker may have stated them, for `retold`: 1 to 4 decimals, all with as many.

    >>> in_mm(3.175), in_mm(20.0, 5.5), retold(in_mm(94.742, 124.46), "inch")
    ('3.175 mm', '20.0, 5.5 mm', '3.73, 4.9 in')
    """
    kept = next((few for few in (1, 2, 3) if all(abs(round(one, few) - one) < FINER for one in lengths)), 4)
    return ", ".join(f"{one:.{kept}f}" for one in lengths) + " mm"


def unit_word(unit: LengthUnit) -> str:
    """The word put after a figure."""
    return "mm" if unit == "mm" else "in"


def _exact(mm: float) -> Fraction:
    """The decimal number that a float stands for, so that 0.15 rounds as a person expects."""
    if not math.isfinite(mm):
        raise ValueError(f"{mm} is not a length")
    return Fraction(repr(float(mm)))


def _nearest(amount: Fraction) -> int:
    """The nearest whole number, halves away from zero."""
    whole = int(abs(amount) + Fraction(1, 2))
    return -whole if amount < 0 else whole


def _said(exact: Fraction, unit: LengthUnit, decimals: int) -> str:
    """The bare number in its unit, no longer than it must be."""
    if unit != "inch":
        return _decimals(exact if unit == "mm" else exact / INCH, decimals, 0)
    parts = _nearest(exact / INCH * FINEST_INCH)
    whole, rest = divmod(abs(parts), FINEST_INCH)
    part = Fraction(rest, FINEST_INCH)
    words = [str(whole)] if whole or not rest else []
    words += [f"{part.numerator}/{part.denominator}"] if rest else []
    return ("-" if parts < 0 else "") + " ".join(words)


def _decimals(amount: Fraction, most: int, least: int) -> str:
    """A decimal number with at most `most` and at least `least` decimals."""
    parts = _nearest(amount * 10**most)
    whole, rest = divmod(abs(parts), 10**most)
    tail = f"{rest:0{most}d}" if most else ""
    kept = max(len(tail.rstrip("0")), least)
    return ("-" if parts < 0 else "") + str(whole) + (f".{tail[:kept]}" if kept else "")
