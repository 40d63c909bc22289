"""Thin parts of a piece, whichever way its fibres run: bills, wing tips, stems, which are lost or broken first."""

from shapely.geometry.base import BaseGeometry

from purfle.geometry.measuring import inscribed_centre
from purfle.geometry.offsetting import opening, slivers_between
from purfle.model.offcuts import TURNED, ThinPart, Wanted
from purfle.offcuts.parts import length_width_direction
from purfle.offcuts.short_grain import angle_between, is_film, longer
from purfle.tolerances import CLOSED
from purfle.wood import bending_share, practice

TIMES = 2.0
"""A part is told from so many times the least width of short grain (common practice, no source)."""
MOST = 3
"""So many thin parts of one piece are told, the longest."""
TRIED = 8
"""No more slivers of one piece are looked at: of a comb its longest teeth say all."""
TURN = 5
"""The best direction of fibres is looked for in steps of this many degrees."""
WORTH_TURNING = 1.1
"""A direction by which the weakest part bears no more than this times as much is not worth a turn."""
End = tuple[float, float, float, tuple[float, float]]
"""Length, mean width, direction and place of a thin part."""


def thin_parts_of(part: Wanted, grain: float) -> tuple[ThinPart, ...]:
    """The thin parts of a piece with their length, mean width, and angle to its fibres; `grain` is their direction in
    the frame of the part.

    `best`: the direction of fibres, artwork frame, that leaves the weakest of them as strong as can be. Places are in
    the artwork frame. Empty where the piece has none.
    """
    limit = TIMES * _least_width()
    region = part.hangs or part.region
    body = opening(region, limit / 2.0)
    ends = _ends(region, body, limit)
    if not ends:
        return ()
    best = max(_candidates(ends), key=lambda one: (round(_weakest(ends, one), 9), -one))
    if _weakest(ends, best) < WORTH_TURNING * _weakest(ends, grain):
        best = grain % 180.0
    found = []
    for length, width, direction, place in ends:
        angle = angle_between(direction, grain)
        shares = (bending_share(angle), bending_share(angle_between(direction, best)))
        named = (part.inlay, part.number, part.name, part.wood)
        turned = TURNED.direction(best) % 180.0 if part.hangs is not None else best
        at = TURNED.point(*place) if part.hangs is not None else place
        found.append(ThinPart(*named, width, length, angle, shares[0], turned, shares[1], at))
    return tuple(found)


def _ends(region: BaseGeometry, body: BaseGeometry, limit: float) -> list[End]:
    """Length, mean width, direction and place of each thin part; the longest, no films, no stubs."""
    sized = []
    for sliver in longer(slivers_between(region, body), limit):
        length, _, direction = length_width_direction(sliver)
        if length > limit:
            sized.append((length, sliver.area / length, direction, sliver))
    sized.sort(key=lambda one: (-round(one[0], 6), one[3].bounds))
    ends: list[End] = []
    for length, width, direction, sliver in sized[:TRIED]:
        if len(ends) < MOST and not is_film(sliver, body):
            ends.append((length, width, direction, inscribed_centre(sliver, CLOSED)))
    return ends


def _candidates(ends: list[End]) -> list[float]:
    return [*(round(one, 1) % 180.0 for _, _, one, _ in ends), *(float(one) for one in range(0, 180, TURN))]


def _weakest(ends: list[End], grain: float) -> float:
    """What the weakest of some thin parts bears at its end: its strength by its width squared, by its length (a beam
    held at its root; all are of one thickness).
    """
    return min(
        bending_share(angle_between(direction, grain)) * width**2 / length for length, width, direction, _ in ends
    )


def _least_width() -> float:
    typical = practice("fit", "short grain: least width").typical
    assert isinstance(typical, float)
    return typical
