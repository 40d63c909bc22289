"""Sentence 5: how it is cut: walls, depth, cutter, set-ups and time."""

from purfle.model.cutting import SetUp
from purfle.units import figure
from purfle.web.docket.wording import (
    Part,
    Seen,
    Sentence,
    capital,
    choice_field,
    counted,
    length_field,
    minutes_told,
    path_of_artwork,
    text,
)


def sentence(seen: Seen) -> Sentence:
    """The walls, the depth of the recess, the cutter that finishes, how many set-ups and minutes."""
    job = seen.job
    walls = "Tapered walls" if job.fit.tapered is not None else "Straight walls"
    parts: list[Part] = [text(f"{walls}, "), _depth(seen), text(" deep; cutter ")]
    names = [one.name for one in seen.shop.cutters]
    parts += [
        choice_field(["fit", "cutter"], "the cutter that finishes every outline", job.fit.cutter, names),
        text("."),
    ]
    if seen.result is None:
        return Sentence("passes", parts, waits=True)
    set_ups = seen.result.cutting.set_ups
    told = minutes_told(sum(map(minutes_of, set_ups)))
    parts.append(text(f" {capital(counted(len(set_ups), 'set-up'))}, {told}."))
    return Sentence("passes", parts)


def _depth(seen: Seen) -> Part:
    """The depth of the recess: a field where one artwork has it alone."""
    depth = seen.job.artworks[0].depth
    if len(seen.job.artworks) > 1:
        return text(figure(depth, seen.job.unit, "depth"))
    return length_field([*path_of_artwork(seen), "depth"], "depth of the recess", depth, seen, "depth")


def minutes_of(set_up: SetUp) -> float:
    """How long the cutters of a set-up run."""
    return sum(one.minutes for one in set_up.programs) + sum(one.minutes for one in set_up.steps)
