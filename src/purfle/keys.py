"""Butterfly keys held to the practice of the trade: proportions, depth, their own grain, and spacing along a crack.

Takes a job, its layout and its parts on their offcuts. Gives `KeyFigures` for each key, and findings where one is off
what the practice table says; each says its source. A crack is taken to run at right angles to its keys, since the job
does not say where it is.
"""

import math

from purfle.model.board import Inlay, Layout
from purfle.model.findings import Finding, Severity
from purfle.model.job import Job, KeyRule
from purfle.model.keys import KeyFigures
from purfle.model.offcuts import OnOffcuts
from purfle.wood import Practice, practice, publication

STAGE = "keys"
Said = tuple[Severity, str, str]
"""How grave it is, what it is, and how to mend it."""
PARALLEL = 15.0
"""Keys that lie within so many degrees of each other may hold one crack."""
FIBRES = 10.0
"""Fibres further than this (degrees) off a key's length run out of its waist; as the tolerance of placing parts."""
LEAST_ACROSS = 45.0
"""A key that lies nearer to the board's grain than this (degrees) crosses no crack: those run along the fibres."""


def figures_of_keys(job: Job, layout: Layout, on_offcuts: OnOffcuts) -> tuple[KeyFigures, ...]:
    """What is known of each key, in their order."""
    rules = {rule.name: rule for rule in job.keys}
    keys = [inlay for inlay in layout.inlays if inlay.kind == "key" and inlay.name in rules]
    return tuple(_figures(key, rules[key.name], layout, (keys, on_offcuts)) for key in keys)


def findings_of_keys(keys: tuple[KeyFigures, ...]) -> tuple[Finding, ...]:
    """Where keys are off what is usual."""
    found: list[Finding] = []
    for key in keys:
        found += [Finding(grave, what, key.inlay, mend, STAGE) for grave, what, mend in _told(key)]
    return tuple(found)


def _figures(key: Inlay, rule: KeyRule, layout: Layout, others: tuple[list[Inlay], OnOffcuts]) -> KeyFigures:
    (insert,) = key.fit.inserts
    keys, on_offcuts = others
    along = key.pose.direction(0.0)
    return KeyFigures(
        inlay=key.name,
        number=insert.number,
        length=rule.length,
        depth=key.depth,
        depth_share=key.depth / layout.board.thickness,
        waist_share=rule.waist_width / rule.length,
        flare=math.degrees(math.atan2(rule.length, rule.end_width - rule.waist_width)),
        off_grain=_between(_fibres(key, on_offcuts), 0.0),
        across=_between(along, layout.board.grain),
        to_next=_to_next(key, keys, rule.length),
    )


def _fibres(key: Inlay, on_offcuts: OnOffcuts) -> float:
    """Direction of a key's fibres in its own frame, in which its length lies along x: as cut, else as wanted."""
    for place in on_offcuts.places:
        if place.part.inlay == key.name and not place.spare:
            offcut = next(one for one in on_offcuts.used if one.name == place.offcut)
            return place.to_artwork.direction(offcut.grain)
    return next((part.grain for part in on_offcuts.unplaced if part.inlay == key.name), 0.0)


def _to_next(key: Inlay, keys: list[Inlay], length: float) -> float | None:
    """Middle to middle to the nearest key that may hold the same crack: parallel, on its face, beside it."""
    turn = math.radians(key.pose.direction(0.0))
    near = []
    for other in keys:
        if other is key or other.face != key.face:
            continue
        dx, dy = other.pose.x - key.pose.x, other.pose.y - key.pose.y
        along = abs(dx * math.cos(turn) + dy * math.sin(turn))
        if _between(other.pose.direction(0.0), key.pose.direction(0.0)) <= PARALLEL and along <= length / 2.0:
            near.append(math.hypot(dx, dy))
    return min(near, default=None)


def _told(key: KeyFigures) -> list[Said]:
    """Gravity, what and mend of all that is unusual with one key."""
    told: list[Said] = []
    if key.off_grain > FIBRES:
        what = f"the fibres of the key run {key.off_grain:.0f} degrees off its length: its waist is short grain"
        told.append(("look", what, "cut it with its grain along its length (common practice, no source)"))
    if key.across < LEAST_ACROSS:
        what = f"the key lies {key.across:.0f} degrees off the board's grain, along which cracks run: it holds none"
        told.append(("look", what, "turn it across the crack"))
    return [*told, *_unusual(key)]


def _unusual(key: KeyFigures) -> list[Said]:
    """Sizes that are off what is usual."""
    told: list[Said] = []
    share, deep = practice("key", "butterfly key depth as share"), practice("key", "butterfly key depth, decorative")
    if key.depth_share < _of(share.low) and key.depth < _of(deep.low):
        what = f"the key is {key.depth:.1f} mm deep, {100.0 * key.depth_share:.0f} % of the board: it holds little"
        usual = f"from {_of(deep.low):.1f} mm for show, half to three quarters of the board to hold a crack"
        told.append(("look", what, f"{usual} ({_source(share)})"))
    longest = practice("key", "butterfly key length")
    if key.length > _of(longest.high):
        what = f"the key is {key.length:.1f} mm long: the board moves along it, and it does not"
        told.append(("look", what, f"keep it under {_of(longest.high):.0f} mm ({_source(longest)})"))
    waist = practice("key", "waist width / length")
    if not _of(waist.low) <= key.waist_share <= _of(waist.high):
        what = f"the waist of the key is {100.0 * key.waist_share:.0f} % of its length"
        told.append(("note", what, f"{_range(waist, 100.0)} % is usual ({_source(waist)})"))
    flare = practice("key", "flare angle")
    if not _of(flare.low) <= key.flare <= _of(flare.high):
        what = f"the sides of the key meet its ends at {key.flare:.0f} degrees"
        told.append(("note", what, f"{_range(flare, 1.0)} degrees are usual ({_source(flare)})"))
    return [*told, *_spacing(key)]


def _spacing(key: KeyFigures) -> list[Said]:
    spacing = practice("key", "spacing along a crack")
    if key.to_next is None or _of(spacing.low) <= key.to_next <= _of(spacing.high):
        return []
    is_far = key.to_next > _of(spacing.high)
    what = f"the next key along its crack is {key.to_next:.0f} mm away"
    mend = f"set keys {_range(spacing, 1.0)} mm apart ({_source(spacing)})"
    return [("look" if is_far else "note", what, mend)]


def _of(value: float | None) -> float:
    assert value is not None
    return value


def _range(figure: Practice, times: float) -> str:
    return f"{_of(figure.low) * times:.0f} to {_of(figure.high) * times:.0f}"


def _source(figure: Practice) -> str:
    return "from memory" if figure.source == "MEM" else publication(figure.source)


def _between(one: float, other: float) -> float:
    """The angle between two directions, 0 to 90 degrees."""
    turn = abs(one - other) % 180.0
    return min(turn, 180.0 - turn)
