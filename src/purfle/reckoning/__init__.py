"""Reckoning: what a job takes in time and money, set-up by set-up, and what a second one would cost.

Takes a job that has been planned.
Promises:
- minutes of the machine are those of the plan; minutes at the bench are counted from what there is to do (corners,
  tabs, parts, areas), each with a low, a typical and a high figure and its source, or as the job says them;
- waiting for glue and finish stands apart from working;
- no price is invented: where one is missing its line says which key to add, and the rest is reckoned without it; as
  long as one is missing there is no price, unless the maker names one;
- every line is rounded to the coin, and sums are sums of rounded lines.
Refuses: nothing; a job without set-ups is reckoned as bench work alone.
"""

import math

from purfle.model.job import JobResult
from purfle.model.reckoning import Cost, Range, Reckoning, Work
from purfle.model.shop import Shop
from purfle.money import in_coins
from purfle.reckoning.bench import bench_work, waiting_of
from purfle.reckoning.costs import costs_of
from purfle.reckoning.figures import figure_of, source_of

__all__ = ["reckon"]


def reckon(result: JobResult) -> Reckoning:
    """Time and money of a planned job, once all that it needs has its place."""
    job, shop = result.job, result.shop
    work = (*_at_the_machine(result), *bench_work(result))
    waiting = waiting_of(result)
    costs = costs_of(result, work)
    own = job.quote.price
    missing = _missing(result, costs)
    price, second = (None if missing else _priced(costs, shop, again) for again in (False, True))
    hours = Range.total(one.hours for one in waiting).typical
    days = days_of(sum(one.minutes.typical for one in work) / 60.0, hours)
    wished = None if own is None else in_coins(own, shop.currency)
    return Reckoning(
        currency=shop.currency,
        work=work,
        waiting=waiting,
        costs=costs,
        mark_up=shop.mark_up,
        missing=missing,
        price=price if wished is None else wished,
        second=second,
        own_price=wished is not None,
        days=days,
    )


def _missing(result: JobResult, costs: tuple[Cost, ...]) -> tuple[str, ...]:
    """The keys to add before there is a price: of each line that has none, currency and mark-up; each once."""
    keys = [one.missing for one in costs if one.missing]
    keys += [] if result.shop.currency else ["currency = ... in shop.toml"]
    keys += [] if result.shop.mark_up is not None else ["mark_up = ... in shop.toml, in percent"]
    return tuple(dict.fromkeys(keys))


def days_of(working: float, waiting: float) -> int:
    """Working days from the first hour to the last, waiting of a day or less overnight; hours given."""
    day = figure_of("hours of a working day").typical
    return max(1, math.ceil(working / day + waiting / 24.0))


def _priced(costs: tuple[Cost, ...], shop: Shop, again: bool) -> float:
    """Costs and mark-up together, where all of them are known."""
    bare = math.fsum((one.again if again else one.cost) or 0.0 for one in costs)
    return in_coins(bare + in_coins(bare * (shop.mark_up or 0.0), shop.currency), shop.currency)


def _at_the_machine(result: JobResult) -> list[Work]:
    """Setting up and cutting of each set-up. Set up once, a second stock is only laid in."""
    work = []
    lay_in, laid = figure_of("laying in the next stock against its stops"), source_of("laying in the next stock")
    for one in result.cutting.set_ups:
        title = f"{one.number}. {one.title}"
        setting, cutting = Range.known(one.set_up_minutes), Range.known(one.cutting_minutes)
        changes = f"{len(one.cutters)} cutters" if len(one.cutters) > 1 else "1 cutter"
        work.append(Work("setting up", title, setting, lay_in, changes, laid, one.stock))
        passes = sum(len(program.passes) for program in one.programs) + len(one.steps)
        words = f"{passes} passes" if passes != 1 else "1 pass"
        reckoned = "reckoned from the ways of the cutter" if one.programs else "reckoned from the lines"
        work.append(Work("cutting", title, cutting, cutting, words, reckoned, one.stock))
    return work
