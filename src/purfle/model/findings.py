"""What Purfle noticed about a job: a bad but computable result is a finding, never an exception."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

Severity = Literal["stop", "look", "note"]
Face = Literal["show", "underside"]
FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing noticed: how grave, what, where, and how to mend it.

    `severity`: stop (do not cut), look (decide, then cut), note (for the record).
    `place`: board-frame point in mm if the finding has one. `stage`: the stage package that found it.
    """

    severity: Severity
    what: str
    where: str
    mend: str
    stage: str
    place: tuple[float, float] | None = None

    def reworded(self, change: Callable[[str], str]) -> "Finding":
        """The same finding with its texts changed."""
        return replace(self, what=change(self.what), where=change(self.where), mend=change(self.mend))
