"""What Purfle noticed about a job: a bad but computable result is a finding, never an exception."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

Severity = Literal["stop", "look", "note"]
Face = Literal["show", "underside"]
FACES: tuple[Face, Face] = ("show", "underside")

_NAMED = re.compile(r'"[^"]*"|(?<=\bpiece )\d+ .+?(?= has\b)')
"""A name: in quotes, or that of a piece after its number."""
_FIGURE = re.compile(r"\d+(?:\.\d+)?(?:[°%]| mm| in\b)?|(?:along|across) the grain")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing noticed: how grave, what, where, and how to mend it.

    `severity`: stop (do not cut), look (decide, then cut), note (for the record).
    `place`: board-frame point in mm if the finding has one. `stage`: the stage package that found it. `face`: the face
    of the board that it concerns alone, if it does.
    """

    severity: Severity
    what: str
    where: str
    mend: str
    stage: str
    place: tuple[float, float] | None = None
    face: Face | None = None

    def reworded(self, change: Callable[[str], str]) -> "Finding":
        """The same finding with its texts changed."""
        return replace(self, what=change(self.what), where=change(self.where), mend=change(self.mend))


def in_kinds(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings that differ by figures, names and places alone put together, in the order of the first of each kind."""
    kinds: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in findings:
        kind = (finding.severity, _without_figures(finding.what), _without_figures(finding.mend))
        kinds.setdefault(kind, []).append(finding)
    return list(kinds.values())


def figures_of(text: str) -> list[str]:
    """The figures of a text with their units, those of names left out."""
    return _FIGURE.findall(_NAMED.sub("#", text))


def _without_figures(text: str) -> str:
    """A text with its figures and names left out, so that alike ones compare as equal."""
    return _FIGURE.sub("#", _NAMED.sub("#", text)).replace("# off the grain", "#")
