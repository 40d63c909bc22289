"""Findings as the boxes of a sheet."""

from collections.abc import Callable, Collection
from itertools import zip_longest

from purfle.model.findings import Finding, figures_of, in_kinds
from purfle.model.job import JobResult
from purfle.sheets.lettering import Text, bold, capital, plain, plural, wrapped

WORDS = {"stop": "Stop", "look": "Look"}
SIZE, LINE, AROUND, WORD = 12.0, 5.6, 5.4, 27.0
"""Points of a box's text; height of a line, of what is round the text, and width that it cannot use, in mm."""
APART = 3.0
"""Least paper above a box, in mm: `base.typ` keeps as much."""


def warnings_of(
    result: JobResult, stages: Collection[str], is_meant: Callable[[Finding], bool] = lambda _: True
) -> list[dict[str, Text | str]]:
    """A box for each kind of grave finding of some stages, the gravest first: what, where and how to mend it.

    Findings that differ by their figures and names alone share a box: the first is told whole, each other by its place
    and by those of its figures that differ. None is left out: the bench has no other list of them.
    """
    grave = [f for word in WORDS for f in result.findings if f.severity == word and f.stage in stages and is_meant(f)]
    return [_box(findings) for findings in in_kinds(grave)]


def boxes_height(boxes: list[dict[str, Text | str]], across: float) -> float:
    """Height of some boxes on a page so wide, with the paper above each, in mm."""
    lines = [len(wrapped(plain(box["text"]), SIZE, across - WORD, "bold")) for box in boxes]
    return sum(APART + AROUND + LINE * number for number in lines)


def _box(findings: list[Finding]) -> dict[str, Text | str]:
    first = findings[0]
    where = f" ({first.where})" if first.where else ""
    mend = f" {capital(first.mend.rstrip('.'))}." if first.mend else ""
    others = list(dict.fromkeys(_differing(f, first) for f in findings[1:]))
    places = [other for other in others if other]
    more = f" Much the same: {'; '.join(places)}." if places else ""
    if len(findings) > 1 and not places:
        more = f" Much the same at {plural(len(findings) - 1, 'more place')} of it."
    said = [_set(capital(first.what.rstrip("."))), _set(f"{where}.{mend}{more}")]
    return {"word": WORDS[first.severity], "text": [bold(said[0]), said[1]]}


def _set(text: str) -> str:
    """A text as it is set on paper, where a square has its own sign."""
    return text.replace(" mm2", " mm²")


def _differing(finding: Finding, first: Finding) -> str:
    """The place of a finding and its figures, as far as they differ from those of the first of its kind."""
    pairs = zip_longest(
        [*figures_of(finding.what), *figures_of(finding.mend)], [*figures_of(first.what), *figures_of(first.mend)]
    )
    figures = ", ".join(mine for mine, other in pairs if mine and mine != other)
    if finding.where == first.where:
        return ""
    parts, of_first = finding.where.split(", "), first.where.split(", ")
    shared = next(n for n in range(len(parts) + 1) if parts[n : n + 1] != of_first[n : n + 1])
    where = ", ".join(parts[shared:] or parts)
    return f"{where} ({figures})" if figures else where
