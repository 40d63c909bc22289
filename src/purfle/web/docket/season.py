"""Sentence 8: levelling, and the seam through the year; and the foot of the docket: time and money."""

from typing import Any

from purfle.units import figure
from purfle.web.docket.wording import Seen, Sentence, length_field, minutes_told, row, text


def sentence(seen: Seen) -> Sentence:
    """How far inserts stand proud, and the widest seam of the year where its climates are said."""
    job = seen.job
    parts = [text("Level from "), length_field(["fit", "proud"], "proud", job.fit.proud, seen), text(" proud.")]
    seasons = seen.result.seasons if seen.result else None
    if seasons is None:
        return Sentence("season", parts, waits=seen.result is None)
    widest = max((one.widest.width for one in seasons.inserts), default=None)
    if widest is not None:
        parts.append(text(f" Through the year the seam stays under {figure(widest + 0.005, job.unit, 'seam')}."))
    wish = job.season
    more = [row("Shop", text(wish.shop.name)), row("Place", text(wish.place.name))] if wish else []
    return Sentence("season", parts, more)


def foot(seen: Seen) -> dict[str, Any]:
    """Time at the bench and what wood and all else costs, as far as it is known."""
    reckoning = seen.result.reckoning if seen.result else None
    if reckoning is None:
        return {"text": ""}
    words = f"About {minutes_told(reckoning.minutes.typical)} of work."
    wood = [one.cost for one in reckoning.costs if one.kind == "wood" and one.cost is not None]
    words += f" Wood {sum(wood):.2f} {reckoning.currency}." if wood else ""
    known = {"minutes": reckoning.minutes.typical, "price": reckoning.price, "currency": reckoning.currency}
    return {"text": words, **known}
