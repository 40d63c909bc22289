"""Findings as the boxes of a sheet."""

from collections.abc import Collection

from purfle.model.job import JobResult
from purfle.sheets.lettering import Text, bold
from purfle.sheets.style import Style

WORDS = {"stop": "Stop", "look": "Look"}


def warnings_of(result: JobResult, stages: Collection[str], style: Style) -> list[dict[str, Text | str]]:
    """A box for each grave finding of some stages, the gravest first: its word, and what, where and how to mend it."""
    del style
    grave = [f for word in WORDS for f in result.findings if f.severity == word and f.stage in stages]
    return [
        {
            "word": WORDS[f.severity],
            "text": [bold(f"{f.what[:1].upper()}{f.what[1:]}"), f" ({f.where}). {f.mend[:1].upper()}{f.mend[1:]}."],
        }
        for f in grave
    ]
