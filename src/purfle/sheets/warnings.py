"""Findings as the boxes of a sheet."""

from collections.abc import Collection

from purfle.model.findings import Finding
from purfle.model.job import JobResult
from purfle.sheets.lettering import Text, bold, capital

WORDS = {"stop": "Stop", "look": "Look"}
MOST = 4
"""So many boxes stand on a sheet; the rest are counted and stand in the report."""


def warnings_of(result: JobResult, stages: Collection[str]) -> list[dict[str, Text | str]]:
    """A box for each grave finding of some stages, the gravest first: its word, and what, where and how to mend it."""
    grave = [f for word in WORDS for f in result.findings if f.severity == word and f.stage in stages]
    boxes = [_box(finding) for finding in grave[:MOST]]
    if len(grave) > MOST:
        boxes.append({"word": "Look", "text": f"{len(grave) - MOST} more: see report.json before you cut."})
    return boxes


def _box(finding: Finding) -> dict[str, Text | str]:
    where = f" ({finding.where})" if finding.where else ""
    mend = f" {capital(finding.mend.rstrip('.'))}." if finding.mend else ""
    return {"word": WORDS[finding.severity], "text": [bold(capital(finding.what.rstrip("."))), f"{where}.{mend}"]}
