"""How holes are spoken of: alike ones together, screws in the lengths that are sold."""

from collections.abc import Sequence
from dataclasses import replace

from purfle.board.clearances import where_of
from purfle.model.board import Hole
from purfle.model.findings import Finding
from purfle.tolerances import SAME_PLACE

SOLD_MM = (10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0)
SOLD_INCHES = ("3/8", "1/2", "5/8", "3/4", "1", "1 1/4", "1 1/2", "1 3/4", "2", "2 1/2", "3")
"""Lengths that wood screws are sold in (from memory)."""
INCH, SIXTEENTH = 25.4, 25.4 / 16.0
LEAST_GRIP = 4.0
"""A screw that holds by less thread (mm) is not worth naming. Own choice."""
Spot = tuple[float, float]


def place_words(place: Spot) -> str:
    """A place as its distances from both datum edges."""
    return f"{place[0]:.1f} mm from B and {place[1]:.1f} mm from A"


def sold_below(long: float, over: float, hardware: float) -> str:
    """The longest screw that is sold and shorter by `over` than `long`, in brackets; nothing where none is of use.

    In inches where this one is of a length in inches. `hardware`: what of its length is not in the wood. All in mm.

    >>> sold_below(25.0, 9.0, 2.0), sold_below(25.4, 9.0, 2.0), sold_below(12.0, 9.0, 2.0)
    (' (16 mm is sold)', ' (5/8 in is sold)', '')
    """
    most, least = long - over + SAME_PLACE, hardware + LEAST_GRIP
    of_inches = abs(long / SIXTEENTH - round(long / SIXTEENTH)) * SIXTEENTH < SAME_PLACE
    sold = [(_inches(text), f"{text} in") for text in SOLD_INCHES] if of_inches else [(x, f"{x:g} mm") for x in SOLD_MM]
    fitting = [words for size, words in sold if least <= size <= most]
    return f" ({fitting[-1]} is sold)" if fitting else ""


def _inches(text: str) -> float:
    """The length in mm of a size in inches."""
    whole, _, share = text.rpartition(" ")
    above, _, below = share.partition("/")
    return INCH * (float(whole or 0.0) + float(above) / float(below or 1.0))


def told_together(found: Sequence[tuple[Hole, Finding]]) -> list[Finding]:
    """Findings of holes; those that say the same of several holes of one table of the job file are told once."""
    groups: dict[tuple[object, ...], list[tuple[Hole, Finding]]] = {}
    for hole, one in found:
        whose = hole.line or hole.fitting
        said = one.what.replace(hole.name, "#")
        groups.setdefault((whose, hole.kind, hole.face, one.severity, said, one.mend), []).append((hole, one))
    return [_together(group) for group in groups.values()]


def _together(group: Sequence[tuple[Hole, Finding]]) -> Finding:
    (first, one), many = group[0], len(group)
    if many == 1:
        return one
    whose = list(dict.fromkeys(hole.fitting for hole, _ in group))
    own = {hole.name for hole, _ in group} == set(whose)
    names = whose[0] if len(whose) == 1 else f"{', '.join(whose[:-1])} and {whose[-1]}"
    subject = f"each of {names}" if own else f"each of {many} {first.kind}s of {names}"
    where = where_of(f"{first.name} and {many - 1} more, {first.face}, {place_words(first.centre)}", first.line)
    return replace(one, what=one.what.replace(first.name, subject), where=where)
