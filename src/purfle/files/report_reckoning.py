"""Time and money in the report. Money is in the currency of the shop: `_in_currency` in the names of the keys."""

from typing import Any

from purfle.model.job import Job
from purfle.model.reckoning import Range, Reckoning

Entry = dict[str, Any]


def reckoning_entry(reckoning: Reckoning | None) -> Entry | None:
    """The whole reckoning; None of a fit trial."""
    if reckoning is None:
        return None
    return {
        "currency": reckoning.currency or None,
        "work": [
            {
                "kind": one.kind,
                "name": one.name,
                "stock": one.stock or None,
                "minutes": _range(one.minutes, "min"),
                "second_minutes": _range(one.again, "min"),
                "reckoned_from": one.reckoned_from,
                "source": one.source,
            }
            for one in reckoning.work
        ],
        "waiting": [
            {"name": one.name, "hours": _range(one.hours, "h"), "source": one.source} for one in reckoning.waiting
        ],
        "minutes": _range(reckoning.minutes, "min"),
        "second_minutes": _range(reckoning.minutes_again, "min"),
        "waiting_hours": _range(reckoning.waiting_hours, "h"),
        "costs": [
            {
                "kind": one.kind,
                "name": one.name,
                "amount": float(one.amount),
                "measure": one.measure,
                "each_in_currency": _maybe(one.each),
                "cost_in_currency": _maybe(one.cost),
                "second_in_currency": _maybe(one.again),
                "missing": one.missing or None,
            }
            for one in reckoning.costs
        ],
        "known_in_currency": reckoning.known_cost,
        "mark_up_share": _maybe(reckoning.mark_up),
        "missing": list(reckoning.missing),
        "price_in_currency": _maybe(reckoning.price),
        "price_is_the_makers": reckoning.own_price,
        "second_in_currency": _maybe(reckoning.second),
        "working_days": reckoning.days,
    }


def finish_entry(job: Job) -> Entry:
    """The finish that the job asks for."""
    return {"kind": job.finish.kind, "coats": job.finish.coats, "food": job.finish.food}


def _range(some: Range, unit: str) -> Entry:
    figures = {"low": some.low, "typical": some.typical, "high": some.high}
    return {f"{name}_{unit}": float(figure) for name, figure in figures.items()}


def _maybe(number: float | None) -> float | None:
    return None if number is None else float(number)
