"""Processes that work beside the first: one shares a job with it, or several try cutters, each on its own.

The same functions give the same results without it, one after the other: it only says who does what.
"""

import contextlib
import gc
import importlib
import multiprocessing
import os
import pickle
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection, wait
from types import TracebackType
from typing import Any, Generic, Literal, NoReturn, TypeVar

R = TypeVar("R")
MOST_SHARED = 1 << 16
"""So many things are shared at most; what comes after them is done by the first process."""


Manner = Literal["ask", "share", "keep"]


class Answer(Generic[R]):
    """Something asked of the mate. Call it to have the result: it waits, or does the work here if that is quicker."""

    def __init__(self, mate: "Mate", number: int, manner: Manner, work: Callable[[], R]) -> None:
        self.mate = mate
        self.number = number
        self.manner = manner
        self.work: Callable[[], R] | None = work
        self.made: R | None = None

    def __call__(self) -> R:
        """The result, or what the work raised."""
        if self.work is not None:
            self.made, self.work = self._made(self.work), None
        made: R = self.made  # type: ignore[assignment]
        return made

    def drop(self) -> None:
        """Say that the result is not wanted any more: what nobody has begun is done by nobody."""
        if self.work is not None and self.mate.is_there:
            self.mate.drop(self.number)

    def _made(self, work: Callable[[], R]) -> R:
        if not self.mate.is_there or (self.manner == "share" and self.mate.takes(self.number)):
            return work()
        number = self.mate.ask(_itself, self).number if self.manner == "keep" else self.number
        done, result = self.mate.result(number)
        if done is None:
            # the worker was ended from outside (memory, a signal): the work itself is none the worse
            return work()
        if not done:
            raise result
        made: R = result
        return made


@dataclass(frozen=True, slots=True)
class _Kept:
    """Stands for a result that the worker has kept."""

    number: int


def _is_one_thread() -> bool:
    """True if this process runs on one thread, those of compiled libraries counted too."""
    try:
        return len(os.listdir("/proc/self/task")) == 1
    except OSError:
        return False


def _itself(made: R) -> R:
    return made


class Mate:
    """One worker process or several. Until it is entered, and where there is one core only, all is done in turn.

    `modules` are loaded in a worker before anything else; `hands`: how many workers there are at most, never more than
    the machine has cores. `fork`: a worker begins as a copy of this process with all that is loaded; only where nothing
    here, compiled libraries included, has begun a thread yet: a copy would wait for it in vain.
    """

    def __init__(self, *modules: str, hands: int = 1, fork: bool = False) -> None:
        self.modules = modules
        self.hands = max(1, min(hands, os.cpu_count() or 1))
        self.fork = fork and sys.platform == "linux"
        self.links: list[Connection] = []
        self.workers: list[Any] = []
        self.taken: Any = None
        self.asked = 0
        self.results: dict[int, tuple[bool | None, Any]] = {}
        self.dropped: set[int] = set()

    def __enter__(self) -> "Mate":
        if (os.cpu_count() or 1) > 1:
            context: Any = multiprocessing.get_context("fork" if self.fork and _is_one_thread() else "spawn")
            self.taken = context.Array("b", MOST_SHARED)
            for _ in range(self.hands):
                link, far = context.Pipe()
                self.links.append(link)
                known = (far, tuple(self.links), self.taken, self.modules)
                self.workers.append(context.Process(target=_work, args=known, daemon=True))
                self.workers[-1].start()
                far.close()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.links = []
        for worker in self.workers:
            worker.kill()
        for worker in self.workers:
            worker.join()

    @property
    def is_there(self) -> bool:
        """True if there is a second process, so that what it does costs the first one no time."""
        return bool(self.links)

    def tell(self, function: Callable[..., None], *words: Any) -> None:
        """Have something done here, and by every worker before all that is asked of it later."""
        function(*words)
        message = pickle.dumps((0, "tell", False, function, words))
        for link in self.links:
            with contextlib.suppress(OSError):
                link.send_bytes(message)

    def ask(self, function: Callable[..., R], *words: Any) -> Answer[R]:
        """Have something done by the mate, in turn. Call the answer to wait for it.

        An answer among the words stands for what it gives.
        """
        return self._ask("ask", function, words)

    def share(self, function: Callable[..., R], *words: Any) -> Answer[R]:
        """Have something done by whoever comes to it first: the mate in turn, or this process when it is waited for."""
        return self._ask("share", function, words)

    def keep(self, function: Callable[..., R], *words: Any) -> Answer[R]:
        """Have something made by the mate that stays with it, for what it is asked to do with it later."""
        return self._ask("keep", function, words)

    def _ask(self, manner: Manner, function: Callable[..., R], words: tuple[Any, ...]) -> Answer[R]:
        number = self.asked
        self.asked += 1
        sent = [_Kept(word.number) if isinstance(word, Answer) and word.manner == "keep" else word for word in words]
        first = manner == "keep" or any(isinstance(word, _Kept) for word in sent)  # it alone has what it keeps
        links = (
            self.links[:1] if first else self.links if number < MOST_SHARED else self.links[number % self.hands :][:1]
        )
        claimed = manner == "share" or len(links) > 1
        if links and not (manner == "share" and number >= MOST_SHARED):
            message = pickle.dumps((number, manner, claimed, function, [_given(word) for word in sent]))
            with contextlib.suppress(OSError):
                for link in links:
                    link.send_bytes(message)
        return Answer(self, number, manner, lambda: function(*(_given(word) for word in words)))

    def takes(self, number: int) -> bool:
        """True if the mate has not begun this yet: from now on it is left to this process."""
        return number >= MOST_SHARED or _takes(self.taken, number)

    def drop(self, number: int) -> None:
        """Nobody waits for this any more."""
        if not self.takes(number) and self.results.pop(number, None) is None:
            self.dropped.add(number)

    def result(self, number: int) -> tuple[bool | None, Any]:
        """Whether something went well, and its result or what it raised; None where a worker is no more."""
        while number not in self.results and self.links:
            try:
                for link in wait(self.links):
                    come, done, result = pickle.loads(link.recv_bytes())  # type: ignore[union-attr]
                    if come in self.dropped:
                        self.dropped.discard(come)
                    else:
                        self.results[come] = done, result
            except (EOFError, OSError):
                self.links = []
        return self.results.pop(number, (None, None))


ALONE = Mate()
"""Nobody to help: everything is done in turn."""


def _given(word: Any) -> Any:
    return word() if isinstance(word, Answer) else word


def _takes(taken: Any, number: int) -> bool:
    with taken.get_lock():
        was_taken = bool(taken[number])
        taken[number] = 1
    return not was_taken


def _work(link: Connection, far: tuple[Connection, ...], taken: Any, modules: tuple[str, ...]) -> None:
    """What a worker does: one thing after the other as it comes, its results sent as soon as the first one reads."""
    # an interruption is the first process's to answer; it then ends this one
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for end in far:  # else nobody would hear that the first process is no more
        end.close()
    asked: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    made: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    for pump in (lambda: _receive(link, asked), lambda: _send(link, made)):
        threading.Thread(target=pump, daemon=True).start()
    for name in modules:
        importlib.import_module(name)
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    kept: dict[int, Callable[[], Any]] = {}
    while True:
        number, manner, claimed, function, words = pickle.loads(asked.get())
        if claimed and not _takes(taken, number):
            continue
        try:
            result = function(*(kept[word.number]() if isinstance(word, _Kept) else word for word in words))
            done = partial(_itself, result)
            packed = b"" if manner == "keep" else pickle.dumps((number, True, result))
        except BaseException as error:
            done, packed = partial(_raise, error), _packed(number, error)
        if manner == "keep":
            kept[number] = done
        elif manner != "tell":
            made.put(packed)


def _raise(error: BaseException) -> NoReturn:
    raise error


def _packed(number: int, error: BaseException) -> bytes:
    """What was raised, with the lines that it came through; as plain words where it does not travel."""
    lines = "".join(traceback.format_exception(error))
    error.add_note(lines)
    try:
        packed = pickle.dumps((number, False, error))
        pickle.loads(packed)
    except Exception:
        return pickle.dumps((number, False, RuntimeError(lines)))
    return packed


def _receive(link: Connection, asked: "queue.SimpleQueue[bytes]") -> None:
    """Takes in what is asked at once, so that the first process never waits; ends the worker with it."""
    try:
        while True:
            asked.put(link.recv_bytes())
    except (EOFError, OSError):
        os._exit(0)


def _send(link: Connection, made: "queue.SimpleQueue[bytes]") -> None:
    with contextlib.suppress(OSError):
        while True:
            link.send_bytes(made.get())
