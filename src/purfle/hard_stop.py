"""The hard stop: how long one drawing may keep the processor busy, from its first element to its seam.

A limit of work that is counted refuses the same drawings on every machine (`fit`), but it counts what it was made to
count. The hard stop counts everything: whoever begins (`with HardStop():`) lends its clock, and every stage tells in
`busy` what it is about to do and where. No stage reads a clock of its own, and outside a hard stop nothing is stopped.
What a second process does meanwhile takes none of this one's time, and none of it is counted.
"""

import time
from collections.abc import Callable
from contextvars import ContextVar, Token
from types import TracebackType

from purfle.errors import TooLongError

LONGEST = 30.0
"""Seconds of the processor that one drawing may take. A drawing of the open sets takes one (bench/RESULTS.md)."""


class HardStop:
    """Seconds of the processor for one drawing. It may be entered several times; what passes in between is not counted.

    `clock`: seconds, from any beginning.
    """

    def __init__(self, longest: float = LONGEST, clock: Callable[[], float] = time.process_time) -> None:
        self.longest = longest
        self.clock = clock
        self.used = 0.0
        self.began = 0.0
        self.outer: Token[HardStop | None] | None = None

    def __enter__(self) -> "HardStop":
        self.began = self.clock()
        self.outer = _NOW.set(self)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.used += self.clock() - self.began
        if self.outer is not None:
            _NOW.reset(self.outer)

    def look(self, doing: str, where: Callable[[], str]) -> None:
        """Stop if the time is over."""
        if self.used + self.clock() - self.began > self.longest:
            raise TooLongError(
                f"the drawing keeps Purfle busy for more than {self.longest:g} s: stopped while {doing}",
                where(),
                "simplify the artwork there, make it larger, or use another cutter",
            )


_NOW: ContextVar[HardStop | None] = ContextVar("hard stop", default=None)


def busy(doing: str, where: Callable[[], str]) -> None:
    """Say what is about to be done (such as "reading it"), and where. Raises TooLongError past the hard stop."""
    now = _NOW.get()
    if now is not None:
        now.look(doing, where)
