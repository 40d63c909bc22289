"""Sentence 3: hardware and keys, and the least wood that they leave."""

from collections import Counter

from purfle.units import figure
from purfle.web.docket.wording import Part, Seen, Sentence, action, capital, counted, length_field, listed, row, text


def sentence(seen: Seen) -> Sentence:
    """How many of each kind, and where the wood is thinnest."""
    job = seen.job
    kinds = Counter(one.kind for one in job.fittings)
    counts = [counted(count, kind) for kind, count in kinds.items()]
    counts += [counted(len(job.keys), "butterfly key")] if job.keys else []
    if not counts:
        add = action("Add a hinge, foot or magnet", "add fitting")
        return Sentence("thickness", [text("No fittings. "), add, text(".")])
    parts = [text(f"{capital(listed(counts))}.")]
    if seen.layout is not None and seen.layout.wood_left:
        least = min(seen.layout.wood_left, key=lambda one: one.left)
        parts.append(text(f" Least wood left {figure(least.left, job.unit, 'depth')}, under {_named(least.name)}."))
    return Sentence("thickness", parts, _more(seen), waits=seen.layout is None or not seen.layout.wood_left)


def _named(name: str) -> str:
    return {"picture": "the design", "design": "the design"}.get(name, f"the {name}")


def _more(seen: Seen) -> list[Part]:
    """Every fitting and key with its depth."""
    found: list[Part] = []
    for number, rule in enumerate(seen.job.fittings):
        if rule.depth:
            deep = length_field(["fitting", number, "depth"], f"depth of {rule.name}", rule.depth, seen, "depth")
            found.append(row(capital(rule.name), deep, text(f" deep, {rule.face}")))
    for number, key in enumerate(seen.job.keys):
        deep = length_field(["butterfly_key", number, "depth"], f"depth of {key.name}", key.depth, seen, "depth")
        found.append(row(capital(key.name), text(f"{key.wood}, "), deep, text(" deep")))
    return found
