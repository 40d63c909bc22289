"""What is written on a sheet: runs of text, tables, and how much room a text takes.

A text is a string or a list of runs; a run is a string or {"b": bold} or {"i": italic}. Nothing the maker wrote is ever
read as markup.
"""

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Literal

Run = str | dict[str, str]
Text = str | list[Run]
Weight = Literal["regular", "bold", "italic"]

MM_PER_POINT = 25.4 / 72
CAP_HEIGHT = 0.65
"""Height of a capital in em, rounded up. Measured on the serif that typst carries."""
_ADVANCE_TEXT: dict[Weight, str] = {
    "regular": (
        "250 288 336 465 465 637 705 190 298 298 369 550 220 338 220 323 465 465 465 465 465 465 465 465 465 "
        "465 236 236 550 550 550 435 895 695 588 646 701 557 485 685 730 297 322 637 528 839 699 702 541 702 "
        "587 485 597 661 652 951 660 575 604 356 287 356 518 486 392 457 493 428 506 447 310 500 538 271 272 "
        "512 264 790 542 504 519 503 372 390 316 531 497 747 490 515 424 277 205 277 449"
    ),
    "bold": (
        "250 266 376 514 514 637 729 215 315 315 433 537 244 358 244 316 514 514 514 514 514 514 514 514 514 "
        "514 256 256 512 551 512 430 988 740 654 706 734 609 545 732 817 367 373 736 577 899 740 730 614 730 "
        "716 504 652 732 700 1028 718 624 624 397 307 397 518 486 392 506 542 456 561 489 391 521 619 322 312 "
        "613 325 905 616 551 581 573 428 427 358 598 529 777 561 558 452 307 220 307 473"
    ),
    "italic": (
        "250 227 336 438 438 637 705 190 306 313 433 527 219 333 219 291 444 444 444 444 445 444 444 444 444 "
        "444 219 219 487 527 487 405 829 667 557 616 667 526 457 664 673 280 414 637 519 804 666 668 499 668 "
        "555 454 544 634 597 909 628 552 578 334 321 334 518 486 392 486 478 389 489 401 314 477 519 276 259 "
        "486 266 783 518 447 489 491 357 353 307 532 472 688 475 503 436 273 205 273 449"
    ),
}
"""Advance widths of the printable ASCII signs in 1/1000 em. Measured on the serif that typst carries."""
_ADVANCE = {weight: tuple(map(int, text.split())) for weight, text in _ADVANCE_TEXT.items()}
_WIDEST = 750
"""Taken for any other sign."""
_FRACTION = re.compile(r"(?:(?<=\d) )?\d+/\d+")
_FRACTION_FIGURE: dict[Weight, int] = {"regular": 353, "bold": 391, "italic": 353}
_FRACTION_BAR, _THIN_SPACE = 51, 125
"""A figure of a set fraction, its bar, and the space before it, in 1/1000 em. Fractions are set 1.15 times as large."""
_OTHERS: dict[str, int] = {"×": 550, "Ø": 730, "–": 548, "−": 550, "°": 267, "½": 700, "²": 350}
"""Other signs of the sheets, the widest of the three weights."""


def bold(text: str) -> Run:
    """A run set in bold."""
    return {"b": text}


def italic(text: str) -> Run:
    """A run set in italic."""
    return {"i": text}


def plain(text: Text) -> str:
    """A text without its weights."""
    if isinstance(text, str):
        return text
    return "".join(run if isinstance(run, str) else "".join(run.values()) for run in text)


@lru_cache(maxsize=4096)
def width(text: str, points: float, weight: Weight = "regular") -> float:
    """The length in mm of a text set in one line, fractions as they are set."""
    advance = _ADVANCE[weight]
    units = 0
    for fraction in _FRACTION.findall(text):
        units += _FRACTION_BAR + _FRACTION_FIGURE[weight] * sum(c.isdigit() for c in fraction)
        units += _THIN_SPACE * fraction.startswith(" ")
    for sign in _FRACTION.sub("", text):
        place = ord(sign) - 32
        units += advance[place] if 0 <= place < len(advance) else _OTHERS.get(sign, _WIDEST)
    return units / 1000 * points * MM_PER_POINT


def height(points: float) -> float:
    """The height in mm of a line's capitals and figures."""
    return CAP_HEIGHT * points * MM_PER_POINT


def table(columns: Sequence[float], align: str, head: Sequence[Text], rows: Sequence[Sequence[Any]]) -> dict[str, Any]:
    """A table as the sheets set it. `columns` in mm, 0 for one that takes what is left; `align` one letter each.

    A cell is a text, or {"big": figure} for a figure to be read from afar.
    """
    return {"columns": list(columns), "align": list(align), "head": list(head), "rows": [list(row) for row in rows]}


def plural(count: int, one: str, several: str | None = None) -> str:
    """'1 piece', '14 pieces'."""
    return f"{count} {one if count == 1 else several or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1] if words else ""


def in_ranges(labels: Sequence[str]) -> str:
    """'1–4, 7 and k': labels in their order, three numbers and more that follow each other as a range."""
    runs: list[list[str]] = []
    for label in labels:
        follows = runs and label.isdigit() and runs[-1][-1].isdigit() and int(label) == int(runs[-1][-1]) + 1
        runs[-1].append(label) if follows else runs.append([label])
    words = [[f"{run[0]}–{run[-1]}"] if len(run) > 2 else run for run in runs]
    return listed([word for run in words for word in run])


def with_article(place: str) -> str:
    """'middle of eye' as one says it: 'the middle of the eye'."""
    named = re.sub(r"^(middle|point) of (?!the |piece )", r"\1 of the ", place.removeprefix("the "))
    return f"the {named}"


def capital(text: str) -> str:
    """The text with its first letter a capital."""
    return text[:1].upper() + text[1:]


def number_word(count: int) -> str:
    """'five'; figures from thirteen on."""
    words = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
    return words[count] if count < len(words) else str(count)


def wrapped(text: str, points: float, room: float, weight: Weight = "regular") -> list[str]:
    """The text in lines no longer than `room` mm, broken between words; a single long word stays whole."""
    lines: list[str] = []
    for word in text.split():
        if lines and width(f"{lines[-1]} {word}", points, weight) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
