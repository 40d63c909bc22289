"""What sentences are made of: words, and fields whose bold figure is written over in place."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from purfle.model.board import Layout
from purfle.model.findings import Finding
from purfle.model.job import FittingRule, Job, JobResult
from purfle.model.shop import Shop
from purfle.units import FigureKind, figure, number
from purfle.wood import find as find_wood

Part = dict[str, Any]
Path = Sequence[str | int]
Mark = Literal["ready", "look", "stop", "wait"]
_NUMBERS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_NUMBERS += ["thirteen", "fourteen", "fifteen", "sixteen"]


@dataclass(frozen=True, slots=True)
class Seen:
    """What is known of a job: always job and shop, later its layout, at last all that is foreseen."""

    job: Job
    shop: Shop
    findings: tuple[Finding, ...] = ()
    pieces: tuple[dict[str, Any], ...] = ()
    layout: Layout | None = None
    result: JobResult | None = None


@dataclass(slots=True)
class Sentence:
    """One sentence: its `parts`, and what unfolds beneath it when it is chosen. `waits`: not known yet.

    `id` is its name for the page: what it dresses the drawing with.
    """

    id: str
    parts: list[Part]
    more: list[Part] = field(default_factory=list)
    waits: bool = False

    def document(self, place: int, mark: Mark, findings: list[int]) -> dict[str, Any]:
        """As it stands in the document."""
        known = {"id": self.id, "number": place, "mark": mark, "findings": findings}
        return {**known, "parts": self.parts, "more": self.more}


def path_of_artwork(seen: Seen) -> list[str | int]:
    """Where the job file speaks of its one artwork."""
    return ["picture"] if seen.job.picture is not None else [getattr(seen.job.artworks[0], "kind", "picture"), 0]


def named(seen: Seen, wood: str) -> str:
    """A wood by the maker's own word for it, where there is one."""
    job, shop = seen.job, seen.shop
    said = [job.board.wood, *(offcut.wood for offcut in shop.offcuts), *(key.wood for key in job.keys)]
    return next((name for name in said if find_wood(name).id == wood), find_wood(wood).common)


def tables_of(fittings: Sequence[FittingRule]) -> list[int | None]:
    """Which [[fitting]] of the job file each rule came from; None for one of several that one table repeats."""
    lines = list(dict.fromkeys(rule.line for rule in fittings))
    repeated = Counter(rule.line for rule in fittings)
    return [lines.index(rule.line) if rule.line and repeated[rule.line] == 1 else None for rule in fittings]


def text(words: str) -> Part:
    """Words."""
    return {"text": words}


def length_field(path: Path, label: str, mm: float, seen: Seen, kind: FigureKind = "dimension") -> Part:
    """A length that is written over in place."""
    field_ = {"path": list(path), "label": label, "kind": "length", "figure": kind, "mm": mm}
    return {"field": {**field_, "shown": figure(mm, seen.job.unit, kind)}}


def without_unit(part: Part, seen: Seen) -> Part:
    """A length field whose unit is not shown, since that of the next figure is."""
    shown = number(part["field"]["mm"], seen.job.unit, part["field"]["figure"])
    return {"field": {**part["field"], "shown": shown}}


def number_field(path: Path, label: str, value: float, unit: str = "") -> Part:
    """A plain number: degrees, percent, a count."""
    field_ = {"path": list(path), "label": label, "kind": "number", "value": value, "unit": unit}
    return {"field": {**field_, "shown": f"{value:g}{unit}"}}


def choice_field(path: Path, label: str, value: str, choices: Sequence[str]) -> Part:
    """One of several words."""
    return {"field": {"path": list(path), "label": label, "kind": "choice", "shown": value, "choices": list(choices)}}


def words_field(path: Path, label: str, value: str) -> Part:
    """Words of the maker's own."""
    return {"field": {"path": list(path), "label": label, "kind": "words", "shown": value}}


def row(name: str, *parts: Part) -> Part:
    """One line beneath a sentence: a name and what is said of it."""
    return {"row": name, "parts": list(parts)}


def action(words: str, does: str) -> Part:
    """Something that can be done from the sentence; the page knows what `does` means."""
    return {"action": does, "text": words}


def mark_of(findings: Sequence[Finding]) -> Mark:
    """The gravest of the findings as a mark."""
    found = {finding.severity for finding in findings}
    return "stop" if "stop" in found else "look" if "look" in found else "ready"


def counted(count: int, noun: str, nouns: str = "") -> str:
    """A small number in words with its noun.

    >>> counted(1, "hinge"), counted(14, "piece"), counted(0, "fitting"), counted(31, "hole")
    ('one hinge', 'fourteen pieces', 'no fittings', '31 holes')
    """
    words = _NUMBERS[count] if count < len(_NUMBERS) else str(count)
    return f"{words} {noun if count == 1 else nouns or noun + 's'}"


def capital(words: str) -> str:
    """The words with a capital letter in front."""
    return words[:1].upper() + words[1:]


def listed(words: Sequence[str]) -> str:
    """Several words with commas and a last "and"."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def minutes_told(minutes: float) -> str:
    """Minutes as people say them.

    >>> minutes_told(58.2), minutes_told(341)
    ('58 min', '5 h 41 min')
    """
    whole = round(minutes)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60} min" if whole % 60 else f"{whole // 60} h"
