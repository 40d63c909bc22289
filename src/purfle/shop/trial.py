"""What a fit trial says of its cutter: the true width of its groove, and the narrowest seam that goes in by hand.

The arithmetic is derived in `docs/method/fit-trial.md`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from purfle.errors import Fault, TrialError
from purfle.model.shop import Cutter

CALIPER = 0.02
"""Calipers read within so much either way (mm), the same on every reading (from memory, for good ones)."""
INSIDE_OTHERWISE = 0.5
"""What is left of that in the mean of plugs and recesses: inside jaws err otherwise (common practice, no source)."""
READING = 0.01
"""A reading repeats within a standard deviation of so much (mm; common practice, no source)."""
BY_HAND = 0.03
"""A narrower seam needs force: practice table, seam of a solid insert, low figure (mm, from memory)."""
BY_HAND_ERROR = 0.015
"""Standard deviation of that (mm): hands and woods differ (common practice, no source)."""
SAME = 1e-6
"""Widths (mm) that differ by less are one and the same: rounding of floats."""
SLIP = 1.0
"""A measured side that is further (mm) from the drawn one is a slip."""


@dataclass(frozen=True, slots=True)
class Plug:
    """One plug of a trial as drawn, mm: the side of the plug, of its recess, and the seam between them."""

    number: int
    seam: float
    plug: float
    recess: float


@dataclass(frozen=True, slots=True)
class TrialNotes:
    """What the maker wrote down. `went_in`: the plug of the narrowest seam that went in by hand, None if not tried.

    `plugs`, `recesses`: sides as measured (mm), each by the number of its plug.
    """

    went_in: int | None = None
    plugs: tuple[tuple[int, float], ...] = ()
    recesses: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True, slots=True)
class TrialOutcome:
    """Width of the groove that the cutter really cuts, and the narrowest seam that goes in; each with its error.

    Errors are standard deviations, mm. `is_measured`: sizes were measured; else the width follows from the plug that
    went in and from what is usual by hand.
    """

    path_width: float
    path_width_error: float
    goes_in: float
    goes_in_error: float
    is_measured: bool


def asks_for_change(drawn_for: float, cutter: Cutter) -> bool:
    """True if a trial was drawn for a measured width (mm) of its cutter: there may be plugs drawn for another one.

    Raises: nothing. Source: docs/method/fit-trial.md.
    """
    return abs(drawn_for - cutter.diameter) > SAME


def outcome_of(plugs: Sequence[Plug], drawn_for: float, notes: TrialNotes) -> TrialOutcome:
    """What a trial says, drawn for a groove `drawn_for` (mm) wide.

    Raises: TrialError for numbers of no plug, sizes that cannot be, and where nothing follows from what was noted.
    Source: derived in docs/method/fit-trial.md (propagation of errors; weights by the inverse of the variance).
    """
    _refuse_wrong(plugs, notes)
    measured, step = _from_sizes(plugs, notes), _from_hand(plugs, notes)
    if step is None:
        if measured is None:
            raise _says_nothing(plugs, notes)
        wider, error = measured
        return TrialOutcome(drawn_for + wider, error, BY_HAND, BY_HAND_ERROR, True)
    between, uncertain = step
    guessed = (BY_HAND - between, math.hypot(BY_HAND_ERROR, uncertain))
    wider, error = guessed if measured is None else _together(measured, guessed)
    if measured is None:
        return TrialOutcome(drawn_for + wider, error, BY_HAND, BY_HAND_ERROR, False)
    seam, seam_error = _together((BY_HAND, BY_HAND_ERROR), (measured[0] + between, math.hypot(measured[1], uncertain)))
    return TrialOutcome(drawn_for + wider, error, seam, seam_error, True)


def _from_sizes(plugs: Sequence[Plug], notes: TrialNotes) -> tuple[float, float] | None:
    """How much wider than drawn for the groove is by the measured sizes, and the standard deviation of that.

    A groove wider by e makes every plug smaller by e and every recess larger by e; calipers that read c too much make
    both larger by c, so that of the mean of plugs and recesses most of c falls out.
    """
    by_number = {plug.number: plug for plug in plugs}
    of_plugs = [by_number[number].plug - side for number, side in notes.plugs]
    of_recesses = [side - by_number[number].recess for number, side in notes.recesses]
    sides = [one for one in (of_plugs, of_recesses) if one]
    if not sides:
        return None
    means = [sum(one) / len(one) for one in sides]
    spread = sum((x - mean) ** 2 for one, mean in zip(sides, means, strict=True) for x in one)
    free = sum(len(one) - 1 for one in sides)
    # as if one reading more had shown what readings usually do: two that happen to agree prove no better hand
    variance = (spread + READING**2) / (free + 1)
    random = sum(variance / len(one) for one in sides) / len(sides) ** 2
    common = CALIPER / math.sqrt(3.0) * (1.0 if len(sides) == 1 else INSIDE_OTHERWISE)
    return sum(means) / len(means), math.sqrt(random + common**2)


def _from_hand(plugs: Sequence[Plug], notes: TrialNotes) -> tuple[float, float] | None:
    """The narrowest seam that goes in, less how much wider the groove is, and its standard deviation.

    It lies anywhere between the seam of the plug that went in and that of the plug before, which did not. None where no
    plug went in or the first one did already: then it has no end on one side.
    """
    if notes.went_in is None or notes.went_in < 2:
        return None
    seams = {plug.number: plug.seam for plug in plugs}
    upper, lower = seams[notes.went_in], seams[notes.went_in - 1]
    return (upper + lower) / 2.0, (upper - lower) / math.sqrt(12.0)


def _together(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """Two findings of one figure as one, each weighted by the inverse of its variance."""
    first, second = one[1] ** -2, other[1] ** -2
    return (one[0] * first + other[0] * second) / (first + second), (first + second) ** -0.5


def _refuse_wrong(plugs: Sequence[Plug], notes: TrialNotes) -> None:
    by_number, faults = {plug.number: plug for plug in plugs}, []
    known = f"plugs are numbered 1 to {len(plugs)}"
    if notes.went_in not in (None, 0, *by_number):
        faults.append(Fault(f"There is no plug {notes.went_in}", "--went-in", f"{known}; none says that none went in"))
    for word, sizes in (("plug", notes.plugs), ("recess", notes.recesses)):
        for number, side in sizes:
            if number not in by_number:
                faults.append(Fault(f"There is no plug {number}", f"--{word}", known))
                continue
            drawn = by_number[number].plug if word == "plug" else by_number[number].recess
            if not abs(side - drawn) <= SLIP:
                what = f"{side:.2f} mm cannot be the {word} of plug {number}, which is drawn {drawn:.2f} mm"
                faults.append(Fault(what, f"--{word}", "measure it again, with its unit"))
    if faults:
        raise TrialError.of(faults)


def _says_nothing(plugs: Sequence[Plug], notes: TrialNotes) -> TrialError:
    if notes.went_in == 1:
        what = f"even plug 1 went in, so the groove is wider by {BY_HAND - plugs[0].seam:.2f} mm or by any more"
        return TrialError(what, "--went-in", "measure a plug and a recess, and say --plug and --recess")
    if notes.went_in == 0:
        least = plugs[-1].seam - BY_HAND
        what = f"not even plug {len(plugs)} went in, so the groove is narrower by {least:.2f} mm or more"
        return TrialError(what, "--went-in", "measure a plug and a recess, or make the trial with wider seams")
    return TrialError("Nothing says how the trial went", "purfle fit-trial", "say --went-in, or --plug and --recess")
