"""The journal of a job: every state that its files have had, one line each, only ever added to.

A line is a check sum and a JSON text. It is on the disk before it counts; a torn last line (power cut, kill) is cut off
when the journal is opened. A state is kept as what differs from the state before it.
"""

import json
import os
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from purfle.errors import FolderError

WHOLE_EVERY = 50
"""Every so many states one is written whole, so that none takes long to be put together again."""
Entry = dict[str, Any]
Texts = dict[str, str]


@dataclass(frozen=True, slots=True)
class State:
    """One state of the files of a job. `before`: the number of the state that it was made from, -1 for the first."""

    number: int
    before: int
    label: str
    at: float
    by: str


class Journal:
    """The states and the moves between them, as the file has them."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.states: list[State] = []
        self.changes: list[Entry] = []
        self.now = -1
        self.ahead: list[int] = []
        self.sound = 0
        for entry in self._entries():
            self._take(entry)

    def _entries(self) -> Iterator[Entry]:
        try:
            data = self.file.read_bytes()
        except FileNotFoundError:
            return
        except OSError as refusal:
            mend = "Check the rights of the job folder."
            raise FolderError(f"The journal cannot be read: {refusal.strerror}", str(self.file), mend) from refusal
        while (end := data.find(b"\n", self.sound)) >= 0:
            entry = _read(data[self.sound : end])
            if entry is None:
                return
            self.sound = end + 1
            yield entry

    def _take(self, entry: Entry) -> None:
        if "to" in entry:
            self._go(int(entry["to"]), entry["how"])
            return
        number = len(self.states)
        self.states.append(State(number, entry["before"], entry["label"], entry["at"], entry["by"]))
        self.changes.append(entry["files"])
        self.now, self.ahead = number, []

    def _go(self, to: int, how: str) -> None:
        if how == "undo":
            self.ahead.append(self.now)
        elif how == "redo":
            self.ahead.pop()
        self.now = to

    def texts(self, number: int) -> Texts:
        """The files as they were in a state."""
        chain = []
        while number >= 0:
            chain.append(self.changes[number])
            if all("whole" in one for one in self.changes[number].values()):
                break
            number = self.states[number].before
        texts: Texts = {}
        for change in reversed(chain):
            for name, one in change.items():
                texts[name] = one["whole"] if "whole" in one else _patched(texts[name], one)
        return texts

    def add(self, texts: Texts, label: str, at: float, by: str, before: int | None = None) -> None:
        """A new state, on the disk when this returns. `before` other than the present one takes that one's place."""
        before = self.now if before is None else before
        old = self.texts(before) if before >= 0 and len(self.states) % WHOLE_EVERY else {}
        files = {name: _change(old[name], text) if name in old else {"whole": text} for name, text in texts.items()}
        self._write({"before": before, "label": label, "at": round(at, 3), "by": by, "files": files})

    def go(self, to: int, how: str, at: float) -> None:
        """Make another state the present one: by "undo" or "redo"."""
        self._write({"to": to, "how": how, "at": round(at, 3)})

    def _write(self, entry: Entry) -> None:
        text = json.dumps(entry, ensure_ascii=False, separators=(",", ":")).encode()
        line = b"%08x %s\n" % (zlib.crc32(text), text)
        try:
            self.file.parent.mkdir(exist_ok=True)
            handle = os.open(self.file, os.O_RDWR | os.O_CREAT, 0o600)
            try:
                os.ftruncate(handle, self.sound)
                os.pwrite(handle, line, self.sound)
                os.fsync(handle)
            finally:
                os.close(handle)
        except OSError as refusal:
            mend = "Make room on the disk, or check the rights of the job folder; then do it again."
            raise FolderError(f"The change cannot be kept: {refusal.strerror}", str(self.file), mend) from refusal
        self.sound += len(line)
        self._take(entry)


def _read(line: bytes) -> Entry | None:
    check, _, text = line.partition(b" ")
    try:
        return json.loads(text) if int(check, 16) == zlib.crc32(text) else None
    except ValueError:
        return None


def _change(old: str, new: str) -> Entry:
    """What differs: how many signs stay in front and at the end, and what stands between them now."""
    most = min(len(old), len(new))
    front = next((place for place in range(most) if old[place] != new[place]), most)
    tail = next((place for place in range(most - front) if old[-1 - place] != new[-1 - place]), most - front)
    return {"front": front, "tail": tail, "put": new[front : len(new) - tail]}


def _patched(old: str, change: Entry) -> str:
    put: str = change["put"]
    return old[: change["front"]] + put + old[len(old) - change["tail"] :]
