"""Which cutter cuts a fitting: the one that finishes the fit, unless a larger one is worth the change."""

from collections.abc import Sequence

from purfle.cutting.figures import figures_for
from purfle.cutting.lines import Named
from purfle.cutting.passes import Work
from purfle.cutting.rooms import not_reached, room_for, too_narrow
from purfle.model.cutting import CuttingRule
from purfle.model.shop import Cutter, Machine, Shop

CHANGE_MINUTES = 3.0
"""To change the cutter and find the zero again (common practice, no source)."""


def larger_cutters(fittings: Sequence[Named], finishing: Cutter, shop: Shop, rule: CuttingRule) -> dict[str, Cutter]:
    """The fittings, by line id, that a larger cutter than the finishing one cuts, and which cutter that is.

    `fittings` are lines as the finishing cutter leaves them. A larger cutter must leave the same shape; it is taken
    where the finishing cutter is too short, or where it saves more time than the change costs.
    """
    chosen: dict[str, Cutter] = {}
    wider = [one for one in shop.cutters if one.width > finishing.width and shop.machine.turns_slowly_enough(one)]
    for cutter in sorted(wider, key=lambda one: (-one.width, one.number)):
        able = [named for named in fittings if named.line.id not in chosen and _leaves_the_same(cutter, named)]
        needed = [named for named in able if not _is_long_enough(finishing, named)]
        saved = sum(
            _minutes(finishing, named, shop.machine, rule) - _minutes(cutter, named, shop.machine, rule)
            for named in able
        )
        taken = able if saved > CHANGE_MINUTES else needed
        chosen.update({named.line.id: cutter for named in taken})
    return chosen


def _leaves_the_same(cutter: Cutter, named: Named) -> bool:
    region = named.line.region
    if not _is_long_enough(cutter, named) or too_narrow(region, cutter.radius):
        return False
    return not not_reached(region, room_for(region, cutter.radius), cutter.radius)


def _is_long_enough(cutter: Cutter, named: Named) -> bool:
    return min(cutter.cutting_length, cutter.stick_out) >= named.line.depth


def _minutes(cutter: Cutter, named: Named, machine: Machine, rule: CuttingRule) -> float:
    """About how long roughing takes: the shortest length that nested rings allow, at the feed, for each level."""
    work = Work(cutter, rule, named.line.depth, "")
    room = room_for(named.line.region, cutter.radius)
    length = float(room.area) / work.step + float(room.length) / 2.0
    return len(work.levels) * length / figures_for(cutter, machine, work.levels[-1], work.levels[0]).feed
