"""Sentence 4: which offcuts the parts come out of, and the room around them."""

from purfle.model.offcuts import OnOffcuts
from purfle.web.docket.wording import Part, Seen, Sentence, capital, counted, length_field, row, text


def sentence(seen: Seen) -> Sentence:
    """How many parts out of how many offcuts, and how much room they keep."""
    job = seen.job
    room = [
        length_field(["offcuts", "between"], "room between two pieces", job.between, seen),
        text(" between them, "),
        length_field(["offcuts", "margin"], "room kept from the edge of an offcut", job.margin, seen),
        text(" from the edge."),
    ]
    if seen.result is None:
        words = capital(counted(len(seen.shop.offcuts), "offcut")) + " on the rack; "
        return Sentence("offcuts", [text(words), *room], waits=True)
    filled = seen.result.on_offcuts
    spares = sum(one.spare for one in filled.places)
    words = f"{capital(counted(len(filled.places) - spares, 'part'))} out of {counted(len(filled.used), 'offcut')}"
    words += f" and {counted(spares, 'spare')}, " if spares else ", "
    more = [_offcut(one.name, one.wood, filled) for one in filled.used]
    return Sentence("offcuts", [text(words), *room], [*more, *(row("To buy", text(one)) for one in filled.to_buy)])


def _offcut(name: str, wood: str, filled: OnOffcuts) -> Part:
    parts = [one for one in filled.places if one.offcut == name]
    numbers = [f"{one.part.number} (spare)" if one.spare else str(one.part.number) for one in parts]
    return row(name, text(f"{wood}: {', '.join(numbers)}"))
