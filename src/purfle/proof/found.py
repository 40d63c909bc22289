"""Findings of the proof."""

from purfle.model.findings import Finding
from purfle.proof.shelf import MEND


def stop(what: str, where: str, mend: str = MEND, place: tuple[float, float] | None = None) -> Finding:
    """A finding that forbids cutting. `place` in the board frame."""
    return Finding("stop", what, where, mend, "proof", place)


def look(what: str, where: str, mend: str, place: tuple[float, float] | None = None) -> Finding:
    """A finding that asks the maker to decide. `place` in the board frame."""
    return Finding("look", what, where, mend, "proof", place)
