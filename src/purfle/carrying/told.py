"""What is said of a board that carries: figures and advice, lengths in mm."""

import math
from itertools import pairwise

from purfle.model.board import Board
from purfle.model.carrying import Carrying
from purfle.model.findings import Finding
from purfle.units import POUND
from purfle.wood import practice

VISIBLE = 300.0
"""A sag of more than the span over this is seen (from memory)."""
LEAST_TOLD = 0.03
"""Nobody measures a sag of less (mm): about a thousandth of an inch."""
MUCH_LOST = 0.2
"""Recesses that take more of the stiffness or strength are told. Own choice."""
STEPS = 30
"""Steps in which the thickness settles: each is three times nearer."""
OUTSIDE = 2.0
"""An end that hangs over counts as half a span: it is seen from its support."""


def findings_of(found: Carrying, board: Board) -> tuple[Finding, ...]:
    """Sag, what recesses take, stress, tipping; then what all of it is worth."""
    some = [_sag(found, board), _lost(found), _stress(found, board), _tips(found), _worth(found)]
    return tuple(one for one in some if one is not None)


def _sag(found: Carrying, board: Board) -> Finding:
    """How far it goes down, at once and after years; a look where that will be seen."""
    span, years = span_of(found), found.after_years
    at_once = f"{found.sag:.2f} mm" if found.sag >= LEAST_TOLD / 2.0 else f"less than {LEAST_TOLD:.2f} mm"
    what = f"the board goes down {at_once} at once and about {years:.2f} mm after years"
    if years < LEAST_TOLD:
        what = f"the board goes down less than {LEAST_TOLD:.2f} mm, after years too"
    where = f"{found.sag_at:.1f} mm along {found.axis}"
    best = f"two supports would sag least at {found.best:.1f} mm from either end"
    if years <= span / VISIBLE:
        return Finding("note", what, where, f"it will hardly be seen; {best}", "carrying")
    thicker = board.thickness * _times_as_thick(found, years * VISIBLE / span)
    return Finding(
        "look",
        f"{what}, which will be seen",
        where,
        f"make it {thicker:.1f} mm thick, carry less, or move the supports: {best}",
        "carrying",
    )


def _times_as_thick(found: Carrying, times: float) -> float:
    """How many times as thick a board sags so many times less: stiffer by the cube, heavier by as much itself."""
    ratio = 1.0
    for _ in range(STEPS):
        heavier = (found.weight * ratio + found.load) / (found.weight + found.load)
        ratio = (times * heavier) ** (1.0 / 3.0)
    return ratio


def weighed(kilograms: float) -> str:
    """A weight as everyone reads it.

    >>> weighed(60.0)
    '60 kg (132 lb)'
    """
    return f"{kilograms:.{0 if kilograms >= 10.0 else 1}f} kg ({kilograms / POUND:.0f} lb)"


def span_of(found: Carrying) -> float:
    """The span to which the largest sag belongs: between two supports, or twice how far an end hangs over."""
    lines = found.supports
    if found.sag_at < lines[0]:
        return OUTSIDE * (lines[0] - found.stations[0])
    if found.sag_at > lines[-1]:
        return OUTSIDE * (found.stations[-1] - lines[-1])
    return max(after - before for before, after in pairwise(lines))


def _lost(found: Carrying) -> Finding | None:
    worst = max(found.stiffness_lost, found.strength_lost)
    if worst <= MUCH_LOST:
        return None
    shares = f"{found.stiffness_lost:.0%} of the board's stiffness and {found.strength_lost:.0%} of its strength"
    what = f"recesses take {shares}"
    mend = "let in less deep, keep recesses out of the middle between supports, or take a thicker board"
    return Finding("look", what.replace("%", " %"), f"{found.stress_at:.1f} mm along {found.axis}", mend, "carrying")


def _stress(found: Carrying, board: Board) -> Finding | None:
    """A look where the wood is bent to more than a careful share of its strength."""
    share = practice("bench", "share of the bending strength").typical
    allowed = found.strength * (share if isinstance(share, float) else 0.0)
    if found.stress <= allowed:
        return None
    thicker = board.thickness * math.sqrt(found.stress / allowed)
    what = f"leant on, the board is bent to {found.stress / found.strength:.0%} of what breaks it"
    mend = f"make it {thicker:.1f} mm thick, or set its supports nearer to its ends"
    return Finding("look", what.replace("%", " %"), f"{found.stress_at:.1f} mm along {found.axis}", mend, "carrying")


def _tips(found: Carrying) -> Finding | None:
    tips = found.tipping
    if not math.isfinite(tips.weight):
        return None
    where = f"{tips.place[0]:.1f} mm from edge B, {tips.place[1]:.1f} mm from edge A"
    what = f"the board tips when {weighed(tips.weight)} lean on it there"
    if tips.weight >= found.leaning:
        return Finding("note", what, where, "nothing to mend; what stands below it is not counted", "carrying")
    who = "somebody may" if found.leaning_is_assumed else "the job says that somebody will"
    nearer = nearer_to_the_edge(found)
    mend = f"set what it stands on {nearer:.0f} mm nearer to that edge, or fasten it to something heavy below"
    return Finding("look", f"{what}: {who} lean {weighed(found.leaning)} on it", where, mend, "carrying")


def nearer_to_the_edge(found: Carrying) -> float:
    """How much further out (mm) the line that the board tips over has to stand, so that `leaning` does not tip it.

    Source: moments about that line moved by m: W (d + m) = P (x - m), as in `standing.tipping_of` (closed form).
    """
    tips, (start, end) = found.tipping, found.tipping.line
    long = math.dist(start, end)
    across = (end[0] - start[0]) * (tips.place[1] - start[1]) - (end[1] - start[1]) * (tips.place[0] - start[0])
    beyond = abs(across) / long
    return (found.leaning - tips.weight) * beyond / (found.leaning + found.weight)


def _worth(found: Carrying) -> Finding:
    """What these figures are worth."""
    shape = "" if found.is_rectangle else " of varying width, which is an approximation"
    what = f"these figures take the board for a beam{shape}, of sound wood, its inlays for empty recesses"
    return Finding("note", what, "board", "they are a caution, no licence to overload", "carrying")
