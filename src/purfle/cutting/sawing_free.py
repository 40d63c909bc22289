"""Parts that are cut into a thicker block and sawn off it: how deep, where the saw goes, and how many slices.

face   ============   the block's own, planed
         slice 1       thickness + planing
       ------------   level 1: the saw's groove
         slice 2       planing + thickness + planing, both its faces sawn
       ------------   level 2
floor of the cut, as deep as the last groove; below it the block holds together
"""

from collections.abc import Iterable, Iterator

from purfle.errors import JobFileError
from purfle.model.cutting import CuttingRule
from purfle.model.findings import Finding
from purfle.model.job import Job
from purfle.model.offcuts import Place, Sawing
from purfle.model.shop import Cutter, Offcut, SawBlade, Shop
from purfle.tolerances import SAME_PLACE
from purfle.units import in_mm

SAW_GROOVE = 1.0
"""Groove of a hand saw or a band saw where the shop names no saw, mm (common practice, no source)."""
LEFT_BELOW = 3.0
"""Wood of the block below the lowest groove, at least, so that it holds together, mm (common practice, no source)."""


def saw_of(job: Job, shop: Shop) -> SawBlade | None:
    """The saw that the job names, else the first of the shop; None where the shop has none.

    Raises JobFileError for a saw that the shop does not have.
    """
    name = job.cutting.saw
    if not name:
        return shop.saws[0] if shop.saws else None
    for saw in shop.saws:
        if saw.name == name:
            return saw
    names = ", ".join(saw.name for saw in shop.saws)
    mend = f"name one of the shop's saws: {names}"
    if not shop.saws:
        mend = f'add a [[saw]] to shop.toml with name = "{name}" and its groove, or take saw out of the job'
    raise JobFileError(f"the shop has no saw named {name}", "cutting.saw", mend)


def block_over(job: Job, shop: Shop) -> float:
    """How much thicker (mm) than its inserts a block is at least; 0 where parts are not sawn free."""
    if job.cutting.holding != "sawn free":
        return 0.0
    return job.cutting.planing + _groove(saw_of(job, shop)) + LEFT_BELOW


def sawing_of(job: Job, shop: Shop, places: Iterable[Place], on: tuple[Offcut, Iterable[Cutter]]) -> Sawing:
    """How all parts of one block are sawn off it: as many slices as asked for and as cutter and block allow.

    `on`: the block, and the cutters that go round its parts. One slice at least: what does not reach is found later.
    """
    block, cutters = on
    saw, rule = saw_of(job, shop), job.cutting
    over = block_over(job, shop)
    thickness = max(place.part.thickness for place in places) - over
    name = saw.name if saw else ""
    reach = min(block.thickness - LEFT_BELOW, reach_of(cutters))
    for copies in range(rule.copies, 1, -1):
        sawing = Sawing.of((thickness, rule.planing, _groove(saw)), name, copies)
        if sawing.depth <= reach + SAME_PLACE:
            return sawing
    return Sawing.of((thickness, rule.planing, _groove(saw)), name, 1)


def reach_of(cutters: Iterable[Cutter]) -> float:
    """How deep (mm) all of some cutters go."""
    return min(min(one.cutting_length, one.stick_out) for one in cutters)


def next_slice_over(job: Job) -> float:
    """A further slice makes a block thicker by a part with its `block_over`, and by this (mm, below 0) more."""
    return job.cutting.planing - LEFT_BELOW


def sawing_findings(sawing: Sawing, rule: CuttingRule, on: tuple[Offcut, float], where: str) -> tuple[Finding, ...]:
    """A groove that was taken, and fewer slices than were asked for. `on`: the block, and how deep its cutters go.

    Where not even one comes off, the check of the cutter's reach tells that alone.
    """
    return (*_groove_taken(sawing, where), *_fewer(sawing, rule, on, where))


def _groove_taken(sawing: Sawing, where: str) -> Iterator[Finding]:
    if not sawing.saw:
        what = f"the shop names no saw: a groove of {in_mm(sawing.groove)} is taken, and the levels hang on it"
        mend = "measure the groove of yours, and add a [[saw]] with its name and groove to shop.toml"
        yield Finding("note", what, where, mend, "cutting")


def _fewer(sawing: Sawing, rule: CuttingRule, on: tuple[Offcut, float], where: str) -> Iterator[Finding]:
    block, reach = on
    if sawing.copies >= rule.copies or sawing.depth > reach + SAME_PLACE:
        return
    one_more = Sawing.of((sawing.thickness, sawing.planing, sawing.groove), sawing.saw, sawing.copies + 1)
    what = f"{sawing.copies} of {rule.copies} slices come off this block: one more is cut {in_mm(one_more.depth)} deep"
    takes = []
    if one_more.depth > reach + SAME_PLACE:
        takes.append("a longer cutter")
    if one_more.depth + LEFT_BELOW > block.thickness + SAME_PLACE:
        takes.append(f"a block {in_mm(one_more.depth + LEFT_BELOW)} thick")
    mend = f"take {' and '.join(takes)}, or fewer copies"
    yield Finding("look", what, where, mend, "cutting")


def _groove(saw: SawBlade | None) -> float:
    return saw.width if saw else SAW_GROOVE
