"""The job as files in the maker's folder: what the command line reads too. Every change is kept, none is lost.

A change goes into the journal first and then, whole or not at all, into its file. After a crash in between, the file is
brought up to the journal. A file that somebody else has changed is taken over as a state of its own.
"""

import contextlib
import json
import os
import secrets
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from purfle.errors import FolderError
from purfle.files.whole_file import write_whole
from purfle.web.journal import Journal, State, Texts

JOB = "job.toml"
SHOP = "shop.toml"
BESIDE = ".purfle"
"""The folder in the job folder that holds the journal and the lease."""
TOGETHER = 1.2
"""Changes of one kind within so many seconds (arrow keys held down) are undone together."""


class NotOurs(FolderError):
    """Another Purfle has taken the job over."""


class Store:
    """One job folder with its states. `clock`: seconds since 1970."""

    def __init__(self, folder: Path, clock: Callable[[], float] = time.time) -> None:
        self.folder = folder
        self.clock = clock
        self.name = secrets.token_hex(8)
        self.journal = Journal(folder / BESIDE / "journal")
        self.kind = ""
        with self._held(take=True):
            self._meet_disk()

    @property
    def texts(self) -> Texts:
        """The files as they are now."""
        return self.journal.texts(self.journal.now)

    @property
    def state(self) -> State:
        """The present state."""
        return self.journal.states[self.journal.now]

    def commit(self, texts: Texts, label: str, kind: str = "") -> State:
        """Keep a change. Changes of the same `kind` (not empty) that follow each other at once are undone together."""
        with self._held():
            now, at = self.state, self.clock()
            joined = bool(kind) and kind == self.kind and at - now.at < TOGETHER and now.by == "page"
            self.journal.add(texts, label, at, "page", now.before if joined else None)
            self.kind = kind
            self._write_files()
            return self.state

    def undo(self) -> State:
        """Back to the state before; the first one stays."""
        with self._held():
            if self.state.before >= 0:
                self.journal.go(self.state.before, "undo", self.clock())
                self._write_files()
            return self.state

    def redo(self) -> State:
        """Forward again to the state that was undone last."""
        with self._held():
            if self.journal.ahead:
                self.journal.go(self.journal.ahead[-1], "redo", self.clock())
                self._write_files()
            return self.state

    def bring_back(self, number: int) -> State:
        """An earlier state made the newest one; what came after it stays in the journal."""
        with self._held():
            earlier = self.journal.states[number]
            self.journal.add(self.journal.texts(number), f"brought back: {earlier.label}", self.clock(), "page")
            self._write_files()
            return self.state

    def refresh(self) -> bool:
        """True if a file was changed by somebody else since; it is then a state of its own."""
        before = self.journal.now
        if self._on_disk() != self.texts:
            with self._held():
                self._meet_disk()
        return self.journal.now != before

    def take_over(self) -> None:
        """Make this the Purfle that may write; another one hears of it when it next wants to."""
        with self._held(take=True):
            self.journal = Journal(self.journal.file)
            self._meet_disk()

    def _meet_disk(self) -> None:
        """Journal and files brought together: what a crash left undone is done, what is foreign becomes a state."""
        found = self._on_disk()
        if not self.journal.states:
            self.journal.add(found, "opened", self.clock(), "outside")
            return
        ours = self.texts
        if found == ours:
            return
        came_from = self.state.before
        unfinished = came_from >= 0 and all(
            text in (ours.get(name), self.journal.texts(came_from).get(name)) for name, text in found.items()
        )
        if unfinished or any(found == self.journal.texts(one) for one in self.journal.ahead[-1:]):
            self._write_files()
        else:
            self.journal.add(found, "changed outside this page", self.clock(), "outside")
            self.kind = ""

    def _on_disk(self) -> Texts:
        texts = {}
        for name in (JOB, SHOP):
            file = self.folder / name
            if name == JOB or file.is_file():
                try:
                    texts[name] = file.read_bytes().decode("utf-8", "surrogateescape")
                except OSError as refusal:
                    mend = "Check that the file is there and may be read."
                    raise FolderError(f"The file cannot be read: {refusal.strerror}", str(file), mend) from refusal
        return texts

    def _write_files(self) -> None:
        for name, text in self.texts.items():
            data = text.encode("utf-8", "surrogateescape")
            file = self.folder / name
            if not file.is_file() or file.read_bytes() != data:
                write_whole(file, data)

    @contextlib.contextmanager
    def _held(self, take: bool = False) -> Iterator[None]:
        """Alone with the folder for a moment. Raises NotOurs where another Purfle has the lease, unless it is taken."""
        beside = self.folder / BESIDE
        try:
            beside.mkdir(exist_ok=True)
            handle = os.open(beside / "lease", os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as refusal:
            mend = "Check the rights of the job folder, or open a copy of it."
            raise FolderError(f"The job folder cannot be written: {refusal.strerror}", str(beside), mend) from refusal
        try:
            _lock(handle)
            held = os.read(handle, 200)
            if take:
                os.ftruncate(handle, 0)
                os.pwrite(handle, json.dumps({"by": self.name, "process": os.getpid()}).encode(), 0)
            elif not held or json.loads(held)["by"] != self.name:
                mend = "Take the job over here, or close this page and go on in the other one."
                raise NotOurs("Another Purfle has opened this job and writes it now", str(self.folder), mend)
            yield
        finally:
            os.close(handle)


def _lock(handle: int) -> None:
    """Wait until nobody else has this file locked, and lock it until it is closed."""
    if sys.platform == "win32":  # not tried there
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX)
