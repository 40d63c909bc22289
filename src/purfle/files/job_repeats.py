"""Several of one fitting at once: the table [fitting.places] of the job file.

pair     the place that the fitting gives, and its mirror image left and right, or front and back
row      equal spacing along an edge, the first and the last so far from its ends
corners  four, each as far from its edges as the fitting says
circle   any number at equal steps round a circle about the place that the fitting gives, or the middle of the board
"""

import math
from dataclasses import replace
from typing import Literal

from purfle.files.job_place import ALONG_A, ALONG_B, Place, along_of, place_of, to_middle
from purfle.files.job_screws import count_of, on_circle
from purfle.files.toml_table import Table
from purfle.model.board import Board
from purfle.model.job import Distance, FittingRule

Pattern = Literal["pair", "row", "corners", "circle"]
PATTERNS: tuple[Pattern, ...] = ("pair", "row", "corners", "circle")
MOST_PLACES = 60
"""More of one fitting than this is a slip of the pen."""
Half = tuple[float, float]
"""What lies between an end and the middle, along A and along B: nothing where the middle is given."""


def repeats_of(table: Table, rule: FittingRule, board: Board) -> tuple[FittingRule, ...]:
    """The fitting at each of its places, numbered behind its name."""
    places = table.table("places")
    kind = places.choice("pattern", PATTERNS)
    if str(places.values.get("pattern")).strip().casefold() not in PATTERNS:
        table.asked += [*ALONG_A[:2], *ALONG_B[:2], "from_centre", "centred"]
        return (rule,)  # that is told already; what the other keys mean depends on it
    by_end = table.has("measured_to") and table.values["measured_to"] == "end"
    half = (rule.length / 2, rule.width / 2) if by_end else (0.0, 0.0)
    turns: list[float] = []
    if kind == "circle":
        spots, turns = _circle(table, places, board)
    elif kind == "row":
        spots = _row(table, places, board, half)
    else:
        ways = (True, True)
        if kind == "pair":
            across = places.choice("mirrored", ("left and right", "front and back"))
            ways = (across == "left and right", across == "front and back")
        spots = _mirrored(_middle(table, half), ways)
    places.close()
    if len({(round(_at(x, board.length), 3), round(_at(y, board.width), 3)) for x, y in spots}) < len(spots):
        mend = "Move it off the middle of the board, or take [fitting.places] out."
        table.fault("Two places of the pattern are the same one", "places", mend)
    found = [
        replace(rule, name=f"{rule.name} {number}", along_a=along_a, along_b=along_b)
        for number, (along_a, along_b) in enumerate(spots, 1)
    ]
    return tuple(_turned(one, turns[number] - turns[0]) if turns else one for number, one in enumerate(found))


def _turned(rule: FittingRule, turn: float) -> FittingRule:
    """The screws of a round plate turn with its place on the circle, so that all feet are drilled alike."""
    if rule.screws is None or not rule.is_disc:
        return rule
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    places = tuple((x * cos - y * sin, x * sin + y * cos) for x, y in rule.screws.places)
    return replace(rule, screws=replace(rule.screws, places=places))


def _circle(table: Table, places: Table, board: Board) -> tuple[list[Place], list[float]]:
    """Places round a circle, and the direction of each from its middle."""
    keys = (*ALONG_A[:2], *ALONG_B[:2], "from_centre", "centred")
    middle = (Distance("centre", 0.0), Distance("centre", 0.0))
    if any(table.has(key) for key in keys):
        middle = _middle(table, (0.0, 0.0))
    x, y = _at(middle[0], board.length), _at(middle[1], board.width)
    count, first = count_of(places, MOST_PLACES, 2), places.number("first", 90.0, -360.0, 360.0)
    around = on_circle(count, places.length("diameter"), first)
    spots = [(Distance("edge", x + dx), Distance("edge", y + dy)) for dx, dy in around]
    return spots, [first + 360.0 * i / count for i in range(count)]


def _row(table: Table, places: Table, board: Board, half: Half) -> list[Place]:
    """Along A at one distance from A, or along B at one distance from B."""
    is_a = places.choice("along", ("A", "B")) == "A"
    count, extent = count_of(places, MOST_PLACES, 2), board.length if is_a else board.width
    inset = places.length("from_ends", limits=(0.0, extent)) + half[0 if is_a else 1]
    for key in ALONG_A[:2] if is_a else ALONG_B[:2]:
        if table.has(key):
            what = f"A row along {'A' if is_a else 'B'} says itself where it stands along that edge"
            table.fault(what, key, f"Take {key} out: from_ends in [fitting.places] is for that.")
    if 2 * inset >= extent:
        table.fault("from_ends leaves no room between the first and the last", "places", "Give a smaller from_ends.")
    row = [Distance("edge", inset + (extent - 2 * inset) * i / (count - 1)) for i in range(count)]
    side = to_middle(along_of(table, ALONG_B if is_a else ALONG_A, table.yes("centred", False)), 2 * half[is_a])
    return [(at, side) if is_a else (side, at) for at in row]


def _middle(table: Table, half: Half) -> Place:
    """The place of the middle that the fitting gives."""
    along_a, along_b = place_of(table)
    return to_middle(along_a, 2 * half[0]), to_middle(along_b, 2 * half[1])


def _mirrored(place: Place, ways: tuple[bool, bool]) -> list[Place]:
    """The place and its mirror images, the front ones first, from left to right as far as that is known."""
    across = [place[0], _swapped(place[0])] if ways[0] else [place[0]]
    along = [place[1], _swapped(place[1])] if ways[1] else [place[1]]
    return [(one, other) for other in sorted(along, key=_is_far) for one in sorted(across, key=_is_far)]


def _is_far(wanted: Distance) -> bool:
    """True for a place that is measured from the edge across, or lies beyond the middle."""
    return wanted.datum == "far_edge" or (wanted.datum == "centre" and wanted.amount > 0.0)


def _swapped(wanted: Distance) -> Distance:
    """The mirror image about the middle of the board."""
    if wanted.datum == "centre":
        return Distance("centre", -wanted.amount)
    return Distance("far_edge" if wanted.datum == "edge" else "edge", wanted.amount)


def _at(wanted: Distance, extent: float) -> float:
    start = {"edge": 0.0, "far_edge": extent, "centre": extent / 2}[wanted.datum]
    return start - wanted.amount if wanted.datum == "far_edge" else start + wanted.amount
