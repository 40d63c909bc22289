"""The one error family: what is wrong, where, and how to mend it.

PurfleError
    PictureError      a picture cannot be used
    DrawingError      a drawing cannot be used
    FontError         a font cannot be found or used
    JobFileError      job.toml cannot be used
    ShopFileError     the shop file cannot be used
    LengthError       a text is not a length
    FolderError       a file or folder cannot be read or written
    FitError          no set of pieces can be cut from this artwork
    TooLongError      a drawing keeps the processor busy beyond the hard stop
    PlacingError      something cannot be placed on the board or on the offcuts
    ProgramError      a machine program, outline file or assembly card cannot be read

A bad but computable result is a `Finding` (see `purfle.model.findings`), never an exception. A programmer's
fault is never dressed up as the maker's: anything outside this family is a bug in Purfle.
"""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: `what`, `where` (file, line, key or place on the board) and how to `mend` it."""

    what: str
    where: str
    mend: str

    def __str__(self) -> str:
        return f"{self.what}\n  where: {self.where}\n  mend:  {self.mend}"


class PurfleError(Exception):
    """Input that cannot be used. Carries every fault found, not only the first."""

    def __init__(self, what: str, where: str = "", mend: str = "", more: tuple[Fault, ...] = ()) -> None:
        self.faults: tuple[Fault, ...] = (Fault(what, where, mend), *more)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def of(cls, faults: "list[Fault] | tuple[Fault, ...]") -> "PurfleError":
        """One error of this family from one or more faults."""
        first, *rest = faults
        return cls(first.what, first.where, first.mend, tuple(rest))

    def reworded(self, change: Callable[[str], str]) -> "PurfleError":
        """The same error with every text of its faults changed."""
        return self.of([Fault(change(one.what), change(one.where), change(one.mend)) for one in self.faults])

    @property
    def what(self) -> str:
        """What is wrong, of the first fault."""
        return self.faults[0].what

    @property
    def where(self) -> str:
        """Where it is wrong, of the first fault."""
        return self.faults[0].where

    @property
    def mend(self) -> str:
        """How to mend it, of the first fault."""
        return self.faults[0].mend


class PictureError(PurfleError):
    """A picture cannot be used."""


class DrawingError(PurfleError):
    """A drawing cannot be used."""


class FontError(PurfleError):
    """A font cannot be found or used."""


class JobFileError(PurfleError):
    """A job file cannot be used."""


class ShopFileError(PurfleError):
    """A shop file cannot be used."""


class TrialError(PurfleError):
    """What was noted of a fit trial says nothing, or cannot be."""


class LengthError(PurfleError):
    """A text is not a length."""


class FolderError(PurfleError):
    """A file or folder cannot be read or written."""


class FitError(PurfleError):
    """No set of pieces can be cut from this artwork."""


class TooLongError(PurfleError):
    """A drawing keeps the processor busy beyond the hard stop."""


class PlacingError(PurfleError):
    """Something cannot be placed on the board or on the offcuts."""


class ProgramError(PurfleError):
    """An emitted file cannot be read."""
