"""The hard stop: how long one drawing may keep the processor busy, from its first element to its seam.

A limit of work that is counted refuses the same drawings on every machine (`fit`), but it counts what it was made to
count. The hard stop counts everything: whoever begins (`with HardStop():`) lends its clock, and every stage tells in
`busy` what it is about to do and where. No stage reads a clock of its own, and outside a hard stop nothing is stopped.
What a second process does meanwhile takes none of this one's time, and none of it is counted.

A single call into a library cannot be left before it is done. Who may end the process (the command line) says in
`at_worst` how: then a call that goes on and on beyond the hard stop ends with it, and with the same words.
"""

import threading
import time
from collections.abc import Callable
from contextvars import ContextVar, Token
from types import TracebackType

from purfle.errors import TooLongError

LONGEST = 30.0
"""Seconds of the processor that one drawing may take. A drawing of the open sets takes one (bench/RESULTS.md)."""
GRACE = 1.0
"""Seconds after the hard stop in which a stage may still say `busy` and be stopped there, before the process ends."""


class HardStop:
    """Seconds of the processor for one drawing. It may be entered several times; what passes in between is not counted.

    `clock`: seconds, from any beginning. `ends`: a call that goes on beyond it ends the process where `at_worst` says
    how; not for one of several drawings, or one of several tries of it.
    """

    def __init__(
        self, longest: float = LONGEST, clock: Callable[[], float] = time.process_time, ends: bool = True
    ) -> None:
        self.longest = longest
        self.clock = clock
        self.ends = ends
        self.used = 0.0
        self.began = 0.0
        self.outer: Token[HardStop | None] | None = None
        self.doing: tuple[str, Callable[[], str]] = ("reading it", lambda: "whole artwork")
        self.watched: list[threading.Event] = []

    def __enter__(self) -> "HardStop":
        self.began = self.clock()
        self.outer = _NOW.set(self)
        if self.ends and _AT_WORST is not None:
            self.watched.append(threading.Event())
            threading.Thread(target=self._watch, args=(self.watched[-1], _AT_WORST), daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.watched:
            self.watched.pop().set()
        self.used += self.clock() - self.began
        if self.outer is not None:
            _NOW.reset(self.outer)

    def look(self, doing: str, where: Callable[[], str]) -> None:
        """Stop if the time is over."""
        self.doing = doing, where
        if self.used + self.clock() - self.began > self.longest:
            raise self._too_long()

    def _too_long(self) -> TooLongError:
        doing, where = self.doing
        return TooLongError(
            f"the drawing keeps Purfle busy for more than {self.longest:g} s: stopped while {doing}",
            where(),
            "simplify the artwork there, make it larger, or use another cutter",
        )

    def _watch(self, left: threading.Event, at_worst: Callable[[TooLongError], None]) -> None:
        """Wait until the hard stop is left, or end the process when it is over and nobody looks."""
        while (rest := self.longest + GRACE - self.used - self.clock() + self.began) > 0.0:
            # no processor does more than a second's work in a second: it need not be looked at before
            if left.wait(rest):
                return
        if not left.is_set():
            at_worst(self._too_long())


_NOW: ContextVar[HardStop | None] = ContextVar("hard stop", default=None)
_AT_WORST: Callable[[TooLongError], None] | None = None


def at_worst(end: Callable[[TooLongError], None] | None) -> None:
    """How the process is ended where a call goes on beyond the hard stop. None: such a call is waited for."""
    global _AT_WORST
    _AT_WORST = end


def busy(doing: str, where: Callable[[], str]) -> None:
    """Say what is about to be done (such as "reading it"), and where. Raises TooLongError past the hard stop."""
    now = _NOW.get()
    if now is not None:
        now.look(doing, where)
