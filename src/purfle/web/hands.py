"""The hands as the server has them: started ahead, asked, and killed when what they do is not wanted any more."""

import asyncio
import contextlib
import itertools
import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from purfle.web.frames import LENGTHS, Head, head_of, packed

Stage = Callable[[str], None]
LARGEST = 1 << 28
"""No message of a hand is longer than so many bytes."""


class Gone(Exception):
    """The hand was killed, or has ended."""


class Hand:
    """One process. `ask` waits for its answer; several may be asked, which are done in turn."""

    def __init__(self, running: asyncio.subprocess.Process) -> None:
        self.running = running
        self.numbers = itertools.count(1)
        self.waiting: dict[int, tuple[asyncio.Future[tuple[Head, bytes]], Stage]] = {}
        self.listening = asyncio.create_task(self._listen())

    @classmethod
    async def start(cls, shelf: Path) -> "Hand":
        """A hand that loads what stages need at once. It leads a group of processes, which end with it."""
        command = [sys.executable, "-m", "purfle.web.hand", str(shelf), "warm"]
        pipe = asyncio.subprocess.PIPE
        return cls(await asyncio.create_subprocess_exec(*command, stdin=pipe, stdout=pipe, start_new_session=True))

    async def ask(self, head: Head, stage: Stage = lambda _: None) -> tuple[Head, bytes]:
        """What it answers; `stage` hears what it is doing meanwhile. Raises Gone."""
        number = next(self.numbers)
        future: asyncio.Future[tuple[Head, bytes]] = asyncio.get_running_loop().create_future()
        self.waiting[number] = future, stage
        try:
            assert self.running.stdin is not None
            self.running.stdin.write(packed({**head, "number": number}))
            await self.running.stdin.drain()
            return await future
        except (ConnectionError, RuntimeError) as end:
            raise Gone from end
        finally:
            self.waiting.pop(number, None)

    @property
    def is_there(self) -> bool:
        """False once the process has ended."""
        return self.running.returncode is None and not self.listening.done()

    def kill(self) -> None:
        """End it and everything that it has started, at once."""
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.running.pid, signal.SIGKILL)

    async def _listen(self) -> None:
        assert self.running.stdout is not None
        with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
            while True:
                said, long = LENGTHS.unpack(await self.running.stdout.readexactly(LENGTHS.size))
                head = head_of(await self.running.stdout.readexactly(said))
                body = await self.running.stdout.readexactly(long) if long else b""
                self._hear(head, body)
        await self.running.wait()
        for future, _ in self.waiting.values():
            if not future.done():
                future.set_exception(Gone())

    def _hear(self, head: Head, body: bytes) -> None:
        future, stage = self.waiting.get(head["number"], (None, None))
        if future is None or stage is None:
            return
        if "stage" in head:
            stage(head["stage"])
        elif not future.done():
            future.set_result((head, body))


class Hands:
    """The hands of one server: one for what has to be quick, one for exact answers, one for files, one in reserve."""

    def __init__(self, shelf: Path) -> None:
        self.shelf = shelf
        self.named: dict[str, Hand] = {}
        self.reserve: asyncio.Task[Hand] | None = None
        self.alone = asyncio.Lock()

    async def hand(self, name: str) -> Hand:
        """The hand of this name; the one in reserve, where it was killed or never there."""
        async with self.alone:
            if name not in self.named or not self.named[name].is_there:
                ready = self.reserve or asyncio.create_task(Hand.start(self.shelf))
                self.reserve = None
                # who waits may be cancelled; the hand that is being started is not
                self.named[name] = await asyncio.shield(ready)
                self.reserve = asyncio.create_task(Hand.start(self.shelf))
            return self.named[name]

    async def ask(self, name: str, head: dict[str, Any], stage: Stage = lambda _: None) -> tuple[Head, bytes]:
        """Ask the hand of this name. Raises Gone where it is killed meanwhile."""
        return await (await self.hand(name)).ask(head, stage)

    def kill(self, name: str) -> bool:
        """End what the hand of this name does; True if there was one."""
        hand = self.named.pop(name, None)
        if hand is not None:
            hand.kill()
        return hand is not None

    async def close(self) -> None:
        """End them all."""
        for name in list(self.named):
            self.kill(name)
        if self.reserve is not None:
            (await self.reserve).kill()
