"""The tolerance stack: how likely the parts of an inlay go in by hand, and the widest seam to expect.

Derived in `docs/method/tolerance-stack.md`, and held to random numbers by its test. Nothing here is random.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.geometry.pose import Pose
from purfle.model.board import Inlay
from purfle.model.chances import Cause, FitChance
from purfle.model.job import Job
from purfle.model.offcuts import OnOffcuts
from purfle.model.shop import Cutter, Shop
from purfle.shop import cutter_named
from purfle.shop.trial import BY_HAND, BY_HAND_ERROR, READING
from purfle.tolerances import SAME_PLACE
from purfle.wood import find as find_wood
from purfle.wood import practice

UNMEASURED = 0.02
"""Standard deviation (mm) of the width of a cutter that is known by its name alone (from memory)."""
USUAL_RUN_OUT = 0.02
"""How far a rim swings in all, in a collet in good order, mm (from memory, 0.01 to 0.03)."""
USUAL_REPEATABILITY = 0.02
"""How near a small machine comes back to a place, mm either way (from memory)."""
USUAL_CHANGE = 0.003
"""Share of a width for 1 % of moisture, of a wood without a published figure: flat-sawn, middling (from memory)."""
LEAST_REACH = 1e-4
"""Below this (mm) nothing is told apart."""
IN_95 = 0.95
_NO_LESS = 1.0 / 300.0
_STEPS, _REACH = 481, 6.0
"""Points at which what all parts share is summed over, and how many standard deviations to either side."""
_HALVINGS = 24

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stack:
    """What one inlay is reckoned with, mm. `narrowest`, `widest`: its seam as drawn; `goes_in`: as `FitChance` has it.

    `mean`, `shared`: by how much all its seams come out wider, and the standard deviation of that; `goes_in_spread` of
    `goes_in`. `wall`: a wall stands anywhere within so much either way; `swelling` of each part: half its change of
    width across the grain is anything up to so much either way.
    """

    narrowest: float
    widest: float
    goes_in: float
    mean: float
    shared: float
    goes_in_spread: float
    wall: float
    swelling: tuple[float, ...]


def chances_of(job: Job, shop: Shop, inlays: Sequence[Inlay], on_offcuts: OnOffcuts) -> tuple[FitChance, ...]:
    """The chances of every inlay with straight walls, in their order; none for a fit trial, which is there to find out.

    Parts with tapered walls are pressed in until they touch: their seam is closed by the depth, not by its width. Of a
    hand router in templates nothing is said: what its bush, template and hand are off by is not known.
    """
    if job.trial is not None or job.cutting.way != "machine":
        return ()
    grains = {(p.part.inlay, p.part.number): p.part.grain for p in on_offcuts.places}
    grains |= {(part.inlay, part.number): part.grain for part in on_offcuts.unplaced}
    return tuple(_chance(job, shop, inlay, grains) for inlay in inlays if inlay.fit.walls is None)


def by_hand(stack: Stack) -> float:
    """The chance (0 to 1) that every part of an inlay goes in by hand.

    A part goes in where its play, along and across its grain, is at least twice `goes_in`. Half its play is the seam,
    wider by what all share, less half its swelling, and off by half the sum of its four walls.
    """
    z, weights = _shared_steps()
    room = stack.narrowest - stack.goes_in + stack.mean + math.hypot(stack.shared, stack.goes_in_spread) * z
    walls = [np.array([[stack.wall / 2.0]])] * 4
    along = even_share(room, walls) ** len(stack.swelling)
    across = even_share(room, [*walls, np.array(stack.swelling)[:, None]]).prod(axis=0)
    return float((weights * along * across).sum())


def widest_seam(stack: Stack, share: float = IN_95) -> float:
    """The width (mm) that the widest seam of an inlay stays below in a share of cases; parts lie in the middle.

    Each part has two sides along and two across its grain. A side's seam is off by two walls, across by half the
    swelling too.
    """
    z, weights = _shared_steps()
    walls, swelling = [np.array([[stack.wall]])] * 2, np.array(stack.swelling)[:, None]

    def below(width: float) -> float:
        room = width - stack.widest - stack.mean - stack.shared * z
        along = even_share(room, walls) ** (2 * len(swelling))
        across = even_share(room, [*walls, swelling]).prod(axis=0) ** 2
        return float((weights * along * across).sum())

    far = abs(stack.mean) + _REACH * stack.shared + 2.0 * stack.wall + max(stack.swelling, default=0.0) + LEAST_REACH
    low, high = stack.widest - far, stack.widest + far
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if below(middle) < share else (low, middle)
    return high


def even_share(x: Reals, reaches: Sequence[Reals]) -> Reals:
    """Share of sums below x, each summand anywhere within its reach of 0, all places alike likely. One row for each
    column of reaches.

    Reaches below `LEAST_REACH`, or a small share of the largest, count as so much: nobody tells that apart.

    Source: inclusion and exclusion over the corners of the box of all summands (closed form; Bradley and Gupta 2002).

    >>> even_share(np.array([0.0, 0.5, 1.0]), [np.array([[0.5]])] * 2).round(3).tolist()
    [[0.5, 0.875, 1.0]]
    """
    most = np.max([np.max(reach) for reach in reaches])
    kept = [np.maximum(reach, max(LEAST_REACH, _NO_LESS * most)) for reach in reaches]
    count = len(kept)
    total = np.zeros(np.broadcast_shapes(x[None, :].shape, *(reach.shape for reach in kept)))
    for signs in product((1.0, -1.0), repeat=count):
        beyond = np.maximum(x[None, :] + sum(sign * reach for sign, reach in zip(signs, kept, strict=True)), 0.0)
        total += math.prod(signs) * beyond**count
    box = math.factorial(count) * math.prod(2.0 * reach for reach in kept)
    shares: Reals = np.clip(total / box, 0.0, 1.0)
    return shares


def _shared_steps() -> tuple[Reals, Reals]:
    """Points of a normal distribution with their weights, which sum to 1."""
    z = np.linspace(-_REACH, _REACH, _STEPS)
    weights = np.exp(-(z**2) / 2.0)
    return z, weights / weights.sum()


# --- what a job says


def _chance(job: Job, shop: Shop, inlay: Inlay, grains: dict[tuple[str, int], float]) -> FitChance:
    cutters = _cutters_of(job, shop, inlay)
    width = max((_width(cutter) for cutter in cutters), key=lambda cause: cause.spread)
    is_measured = all(cutter.path_width is not None for cutter in cutters)
    swing, mean = _run_out(shop, is_measured)
    wall, reach = _wall(shop)
    moisture, assumed = (job.fit.moisture, False) if job.fit.moisture is not None else (_usual_moisture(), True)
    swelling = tuple(_swelling(inlay, number, grains, moisture) for number in range(len(inlay.fit.inserts)))
    goes_in, spread, tried = _goes_in(cutters)
    source = "as the job says" if not assumed else "practice table, from memory"
    causes = (
        width,
        swing,
        wall,
        Cause(f"moisture of the parts, {moisture:g} % either way", _even_spread(max(swelling)), source, assumed),
        Cause("what goes in by hand", spread, "fit trial" if tried else "practice table, from memory", not tried),
    )
    seam = inlay.fit.seam
    shared = math.hypot(width.spread, swing.spread)
    stack = Stack(seam.narrowest, seam.widest, goes_in, mean, shared, spread, reach, swelling)
    return FitChance(inlay.name, by_hand(stack), widest_seam(stack), goes_in, causes)


def _cutters_of(job: Job, shop: Shop, inlay: Inlay) -> list[Cutter]:
    """The cutters that finish the parts of an inlay."""
    usual = cutter_named(shop, job.fit.cutter)
    named = [usual, *(cutter_named(shop, name) for _, name in job.cutters)]
    radii = {inlay.fit.radius_of(insert) for insert in inlay.fit.inserts} or {usual.radius}
    found = [next((one for one in named if abs(one.radius - r) < SAME_PLACE), usual) for r in sorted(radii)]
    return list(dict.fromkeys(found))


def _width(cutter: Cutter) -> Cause:
    name = f"path width of {cutter.name}"
    if cutter.path_width_error is not None:
        return Cause(name, cutter.path_width_error, "fit trial" if cutter.fit_trial else "as the shop says", False)
    if cutter.path_width is not None:
        return Cause(name, READING, "measured, its error as readings usually have", True)
    return Cause(name, UNMEASURED, "not measured, from memory", True)


def _run_out(shop: Shop, is_measured: bool) -> tuple[Cause, float]:
    """How far run-out spreads the width of groove, and by how much it widens it on average.

    Anything up to the whole swing is alike likely each time that the cutter is put in. Measured, the width holds the
    swing of that time: what is left is the difference of two such.
    """
    said = shop.machine.run_out
    swing = USUAL_RUN_OUT if said is None else said
    source = "as the shop says" if said is not None else "from memory"
    spread, mean = (swing / math.sqrt(6.0), 0.0) if is_measured else (swing / math.sqrt(12.0), swing / 2.0)
    return Cause("run-out of the cutter", spread, source, said is None), mean


def _wall(shop: Shop) -> tuple[Cause, float]:
    """How far a wall may stand off, as a cause and as the reach either way."""
    said = shop.machine.repeatability
    reach = USUAL_REPEATABILITY if said is None else said
    source = "as the shop says" if said is not None else "from memory"
    return Cause("repeatability of the machine", _even_spread(reach), source, said is None), reach


def _even_spread(reach: float) -> float:
    """Standard deviation of what is alike likely anywhere within a reach either way (closed form)."""
    return reach / math.sqrt(3.0)


def _usual_moisture() -> float:
    typical = practice("movement", "MC agreement of insert and ground before fitting").typical
    assert isinstance(typical, float)
    return typical


def _swelling(inlay: Inlay, index: int, grains: dict[tuple[str, int], float], moisture: float) -> float:
    """Half the change of a part's width (mm) across its grain, flat-sawn, at the moisture it may be off by."""
    insert = inlay.fit.inserts[index]
    change = find_wood(insert.wood).change_tangential
    share = USUAL_CHANGE if change is None else change.value
    turned = shapely.transform(insert.region, Pose(-grains.get((inlay.name, insert.number), 0.0)).points)
    _, low, _, high = turned.bounds
    return float(high - low) * share * moisture / 2.0


def _goes_in(cutters: Sequence[Cutter]) -> tuple[float, float, bool]:
    """The narrowest seam that goes in by hand, its standard deviation, and whether a fit trial has found it."""
    tried = [cutter.goes_in for cutter in cutters if cutter.goes_in is not None]
    if len(tried) < len(cutters):
        return BY_HAND, BY_HAND_ERROR, False
    return max(tried), READING, True
