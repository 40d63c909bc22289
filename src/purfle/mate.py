"""Processes that work beside the first: one draws papers while the first writes files and proves them.

Several try cutters, each on its own.

The same functions give the same results without it, one after the other; it only saves the maker's time.
"""

import importlib
import multiprocessing
import os
import signal
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from types import TracebackType
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


class Mate:
    """One worker process, started at once so that its imports are done when it is first asked for something.

    `hands`: how many there are at most; never more than the machine has cores.
    """

    def __init__(self, *modules: str, hands: int = 1) -> None:
        self.modules = modules
        self.hands = max(1, min(hands, os.cpu_count() or 1))
        self.pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> "Mate":
        if (os.cpu_count() or 1) > 1:
            self.pool = ProcessPoolExecutor(
                self.hands, multiprocessing.get_context("spawn"), initializer=_make_ready, initargs=(self.modules,)
            )
            self.pool.submit(os.getpid)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.pool is not None:
            workers = self._workers()  # the pool forgets them as it shuts down
            self.pool.shutdown(wait=kind is None, cancel_futures=True)
            if kind is not None:
                for worker in workers:
                    worker.terminate()

    @property
    def is_there(self) -> bool:
        """True if there is a second process, so that what it does costs the first one no time."""
        return self.pool is not None

    def ask(self, function: Callable[P, R], *words: P.args, **named: P.kwargs) -> Callable[[], R]:
        """Have something done; calling what this returns waits for it. Done here where there is no second process."""
        if self.pool is None:
            return lambda: function(*words, **named)
        asked: Future[R] = self.pool.submit(function, *words, **named)

        def answer() -> R:
            try:
                return asked.result()
            except BrokenProcessPool:
                # the worker was ended from outside (memory, a signal): the work itself is none the worse
                return function(*words, **named)

        return answer

    def _workers(self) -> list[Any]:
        """Every worker process that was started."""
        found: dict[int, Any] = getattr(self.pool, "_processes", None) or {}
        return list(found.values())


def _make_ready(modules: tuple[str, ...]) -> None:
    # an interruption is the first process's to answer; it then ends this one
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for name in modules:
        importlib.import_module(name)
