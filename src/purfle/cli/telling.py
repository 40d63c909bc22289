"""What the maker is told while a command runs and when it has ended."""

import sys
from collections.abc import Iterable
from typing import TextIO

from purfle.model.findings import Finding, in_kinds

MARKS = {"stop": "STOP", "look": "look", "note": "note"}
MOST_ALIKE = 2
"""So many findings that differ by figures and names alone are told whole."""
MOST_PLACES = 3
"""So many of the others have their places told."""


class Progress:
    """One line on a terminal that says what is being done; silent where stderr is no terminal."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream or sys.stderr
        self.shown = 0

    def __call__(self, doing: str) -> None:
        """Replace the line."""
        if self.stream.isatty():
            line = f"{doing} ..."
            print("\r" + line.ljust(self.shown), end="", file=self.stream, flush=True)
            self.shown = len(line)

    def end(self) -> None:
        """Wipe the line."""
        if self.shown:
            print("\r" + " " * self.shown + "\r", end="", file=self.stream, flush=True)
            self.shown = 0

    def __enter__(self) -> "Progress":
        return self

    def __exit__(self, *_: object) -> None:
        self.end()


def tell_findings(findings: Iterable[Finding], stream: TextIO | None = None) -> None:
    """Every finding, gravest first, each once: what, where, mend. Of more than two alike, the first and the places."""
    for group in in_kinds(sorted(dict.fromkeys(findings), key=lambda f: list(MARKS).index(f.severity))):
        shown = group if len(group) <= MOST_ALIKE else group[:1]
        for finding in shown:
            words = f"{MARKS[finding.severity]}: {finding.what}\n  where: {finding.where}\n  mend:  {finding.mend}"
            print(words, file=stream or sys.stdout)
        if len(group) > len(shown):
            print(f"  and {len(group) - 1} more like it: {_places(group[1:])}", file=stream or sys.stdout)


def _places(findings: list[Finding]) -> str:
    """Where some findings are, as far as that is a line; the report has them all."""
    places = list(dict.fromkeys(finding.where for finding in findings))
    if len(places) <= MOST_PLACES:
        return "; ".join(places)
    return "; ".join(places[:MOST_PLACES]) + "; the others are in the report"


def stopped(findings: Iterable[Finding]) -> bool:
    """A finding says stop."""
    return any(finding.severity == "stop" for finding in findings)


def count(number: int, one: str, many: str = "") -> str:
    """A count in words of the trade.

    >>> count(1, "piece"), count(14, "piece"), count(2, "butterfly key")
    ('1 piece', '14 pieces', '2 butterfly keys')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
