"""Forced decisions: where two cells keep taking the same wood from each other, one of them gets it for good."""

from dataclasses import dataclass

from shapely import Polygon

from purfle.fit.cells import Cell, Partition, Quarrel, called, middle
from purfle.geometry.offsetting import Region, grow
from purfle.geometry.partition import shared
from purfle.tolerances import SHALLOW_CONTEST

_MOST_VISITS = 4
"""A place that is contested more often costs the smaller piece."""
_ROOM = 1.02
_MORE_ROOM = 1.25
"""Radius of the zone that is given, in closing radii, and how it grows with each visit."""
_SMALL_ROOM = (0.04, 0.2)
"""The same for the first visits of a shallow contest: hundredths must not cost a piece its tip."""

_AS_GOOD = 0.05
"""A bridge that costs more than a parting by no more than this share is as good: it leaves fewer pieces."""


@dataclass(frozen=True, slots=True)
class Contest:
    """A part of the closing of one cell that another cell holds, and the quarrel about it."""

    part: Polygon
    claimant: Cell
    holder: Cell
    quarrel: Quarrel


def decide(partition: Partition, claimant: Cell, part: Polygon, quarrel: Quarrel) -> bool:
    """Settle who gets a part of the closing of a cell that others have taken back; False if nobody holds it.

    Each settling uses up patience; without patience, or at a place contested too often, the smaller piece is
    dissolved. So the number of decisions is bounded.
    """
    holder = _holder(partition, claimant, part)
    if holder is None:
        return False
    contest = Contest(part, claimant, holder, quarrel)
    quarrel.returns = 0
    quarrel.visits += 1
    partition.patience -= 1
    if partition.patience < 0 or quarrel.visits > _MOST_VISITS:
        _give_up(partition, contest)
    else:
        _bridge_or_part(partition, contest)
    return True


def _holder(partition: Partition, cell: Cell, part: Polygon) -> Cell | None:
    held = [
        (shared(other.region, part).area, other)
        for other in partition.cells
        if other is not cell and other.touches(part)
    ]
    if not held:
        return None
    area, holder = max(held, key=lambda found: (round(found[0], 6), found[1].key))
    return holder if area > 0.0 else None


def _bridge_or_part(partition: Partition, contest: Contest) -> None:
    """Give the place to the claimant (a bridge) or keep its surroundings for the holder (a parting)."""
    visits = contest.quarrel.visits
    zone = grow(contest.part, partition.radius_of(contest.claimant) * _room(contest.quarrel))
    bridge = _cost(partition, zone, contest.holder, contest.claimant)
    part = _cost(partition, zone, contest.claimant, contest.holder)
    as_good = _AS_GOOD * max(abs(bridge), abs(part))
    bridging = (bridge <= part + as_good) != (visits == 3)
    giver, taker = (contest.holder, contest.claimant) if bridging else (contest.claimant, contest.holder)
    partition.hand_over(zone, giver, taker)
    _report(partition, contest, bridging)


def _room(quarrel: Quarrel) -> float:
    """Radius of the zone about a contested place, in closing radii."""
    if quarrel.depth < SHALLOW_CONTEST and quarrel.visits <= len(_SMALL_ROOM):
        return _SMALL_ROOM[quarrel.visits - 1]
    return _ROOM * _MORE_ROOM ** (quarrel.visits - 1)


def _cost(partition: Partition, zone: Region, giver: Cell, taker: Cell) -> float:
    """How much less of the artwork is right after the zone changed hands; negative if more is."""
    handed = shared(giver.region, zone)
    right_before = shared(handed, partition.wood_drawn(giver)).area
    right_after = shared(handed, partition.wood_drawn(taker)).area
    return float(right_before - right_after)


def _report(partition: Partition, contest: Contest, bridging: bool) -> None:
    claimant, holder = called(partition, contest.claimant), called(partition, contest.holder)
    if _room(contest.quarrel) < _ROOM:
        giver, taker = (holder, claimant) if bridging else (claimant, holder)
        what = f"{giver} leaves a few hundredths of a millimetre to {taker} where they meet, so that both can be cut"
        partition.note("note", what, middle(contest.part), "nothing to mend; with a smaller cutter it would be less")
        return
    what = (
        f"{claimant} is joined across {holder}, since the cutter does not pass between"
        if bridging
        else f"{claimant} gives way, so that the cutter can pass and {holder} keeps its width"
    )
    other = f"draw {holder} wider there" if bridging else f"draw {claimant} as one there"
    partition.note(
        "note", what, middle(contest.part), f"if it should be the other way, {other}, or use a smaller cutter"
    )


def _give_up(partition: Partition, contest: Contest) -> None:
    candidates = [cell for cell in (contest.claimant, contest.holder) if cell is not partition.ground]
    smaller = min(candidates, key=lambda cell: cell.key)
    partition.note(
        "look",
        f"{called(partition, smaller)} ({smaller.region.area:.1f} mm2) cannot be cut beside its neighbours: left out",
        middle(smaller.region),
        "draw it larger, or use a smaller cutter",
    )
    partition.dissolve(smaller)
