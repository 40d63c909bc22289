"""Findings as the boxes of a sheet."""

import re
from collections.abc import Callable, Collection

from purfle.model.findings import Finding
from purfle.model.job import JobResult
from purfle.sheets.lettering import Text, bold, capital, plural

WORDS = {"stop": "Stop", "look": "Look"}
_FIGURE = re.compile(r"\d+\.\d+|\d+(?= degrees)")
"""A figure that was measured; whole numbers name pieces."""
MOST = 4
"""So many boxes stand on a sheet; the rest are counted and stand in the report."""


def warnings_of(
    result: JobResult, stages: Collection[str], is_meant: Callable[[Finding], bool] = lambda _: True
) -> list[dict[str, Text | str]]:
    """A box for each grave finding of some stages, the gravest first: its word, and what, where and how to mend it.

    Findings that differ by their figures and places alone share a box, which has the figures of the first.
    """
    grave = [f for word in WORDS for f in result.findings if f.severity == word and f.stage in stages and is_meant(f)]
    alike: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in grave:
        alike.setdefault((finding.severity, _FIGURE.sub("#", finding.what), finding.mend), []).append(finding)
    boxes = [_box(findings) for findings in list(alike.values())[:MOST]]
    if len(alike) > MOST:
        boxes.append({"word": "Look", "text": f"{len(alike) - MOST} more: see report.json before you cut."})
    return boxes


def _box(findings: list[Finding]) -> dict[str, Text | str]:
    first = findings[0]
    where = f" ({first.where})" if first.where else ""
    mend = f" {capital(first.mend.rstrip('.'))}." if first.mend else ""
    elsewhere = dict.fromkeys(f.where for f in findings if f.where and f.where != first.where)
    more = f" Much the same: {'; '.join(elsewhere)}." if elsewhere else ""
    if len(findings) > 1 and not elsewhere:
        more = f" Much the same at {plural(len(findings) - 1, 'more place')} of it."
    said = [_set(capital(first.what.rstrip("."))), _set(f"{where}.{mend}{more}")]
    return {"word": WORDS[first.severity], "text": [bold(said[0]), said[1]]}


def _set(text: str) -> str:
    """A text as it is set on paper, where a square has its own sign."""
    return text.replace(" mm2", " mm²")
