"""Sentence 3: hardware and keys, and the least wood that they leave."""

from collections import Counter

from purfle.model.board import BARE_KINDS, ROUND_KINDS
from purfle.model.findings import FACES
from purfle.model.job import FittingRule
from purfle.units import figure
from purfle.web.docket.wording import (
    Part,
    Seen,
    Sentence,
    action,
    capital,
    choice_field,
    counted,
    length_field,
    listed,
    row,
    tables_of,
    text,
    without_unit,
)


def sentence(seen: Seen) -> Sentence:
    """How many of each kind, and where the wood is thinnest."""
    job = seen.job
    kinds = Counter(one.kind for one in job.fittings)
    counts = [counted(count, kind) for kind, count in kinds.items()]
    counts += [counted(len(job.keys), "butterfly key")] if job.keys else []
    if not counts:
        return Sentence("thickness", [text("No fittings.")], [_adding()])
    parts = [text(f"{capital(listed(counts))}.")]
    if seen.layout is not None and seen.layout.wood_left:
        least = min(seen.layout.wood_left, key=lambda one: one.left)
        parts.append(text(f" Least wood left {figure(least.left, job.unit, 'depth')}, under {_named(least.name)}."))
    return Sentence("thickness", parts, _more(seen), waits=seen.layout is None or not seen.layout.wood_left)


def _named(name: str) -> str:
    return {"picture": "the design", "design": "the design"}.get(name, f"the {name}")


KINDS = ("hinge", "magnet", "round", "oblong", "foot plate", "ferrule", "threaded insert", "cable hole", "drawer pull")
"""What can be added, in the order in which it is offered."""


def _adding() -> Part:
    """One more fitting of any kind."""
    parts = [part for kind in KINDS for part in (action(kind, f"add:{kind}"), text(", "))]
    return row("Add", *parts[:-1])


def _more(seen: Seen) -> list[Part]:
    """Every fitting and key with its sizes, its face, and a way to take it out; then what can be added."""
    found: list[Part] = []
    tables = tables_of(seen.job.fittings)
    for rule, table in zip(seen.job.fittings, tables, strict=True):
        if table is None:
            found.append(row(capital(rule.name), text(f"{rule.face}; one of several that the job file repeats")))
        else:
            found.append(row(capital(rule.name), *_fields(rule, table, seen)))
    for number, key in enumerate(seen.job.keys):
        deep = length_field(["butterfly_key", number, "depth"], f"depth of {key.name}", key.depth, seen, "depth")
        out = action("Take out", f"take out:butterfly_key.{number}")
        found.append(row(capital(key.name), text(f"{key.wood}, "), deep, text(" deep. "), out))
    return [*found, _adding()]


def _fields(rule: FittingRule, table: int, seen: Seen) -> list[Part]:
    """Size, depth and face of one fitting."""
    path: list[str | int] = ["fitting", table]
    parts: list[Part] = []
    if rule.kind in ROUND_KINDS or rule.is_disc:
        parts += [length_field([*path, "diameter"], f"diameter of {rule.name}", rule.length, seen), text(" across, ")]
    elif rule.kind not in BARE_KINDS:
        long = length_field([*path, "length"], f"length of {rule.name}, along edge A", rule.length, seen)
        wide = length_field([*path, "width"], f"width of {rule.name}, along edge B", rule.width, seen)
        parts += [without_unit(long, seen), text(" × "), wide, text(", ")]
    if rule.depth and rule.thickness == rule.depth:
        deep = length_field([*path, "depth"], f"depth of {rule.name}", rule.depth, seen, "depth")
        parts += [deep, text(" deep, ")]
    elif rule.depth:
        parts.append(text(f"{figure(rule.depth, seen.job.unit, 'depth')} deep, "))
    face = choice_field([*path, "face"], f"face of {rule.name}", rule.face, FACES)
    return [*parts, face, text(". "), action("Take out", f"take out:fitting.{table}")]
