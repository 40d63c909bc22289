"""One job that is open: its store, its answers, the pages that look at it, and which of them may write."""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from purfle.errors import Fault, PurfleError
from purfle.web import artwork, edits
from purfle.web.hands import Gone, Hands
from purfle.web.store import JOB, Store

Told = dict[str, Any]
MOST_TOLD = 256
"""So many events a page may be behind; one that does not read them is let go."""
LOOK_AFTER = 1.0
"""Every so many seconds the files are looked at for foreign changes, while a page is open."""
LONGEST_LOOK = 60.0
"""Seconds that reading a picture or drawing may take before it is given up."""
SMALLER = "It asks for more time or memory than there is. Save a smaller or plainer one."
AFTER = ("pieces", "board")
"""Stages before which something new to look at was made."""
OURS = "This is a bug in Purfle, not a fault of yours. Nothing of your job is lost."
REPORT = "Report it with what you did last and the lines that the terminal shows."
HELD = Fault(
    "This job is open in another page, which may write", "this page", 'Close the other one, or choose "take over".'
)
MISSED = Fault(
    "The job has changed since this page last heard of it",
    "this page",
    "Look at it as it stands now, then do it again.",
)


class OpenJob:
    """Everything that the server knows of the job."""

    def __init__(self, folder: Path, hands: Hands) -> None:
        self.folder = folder
        self.hands = hands
        self.store = Store(folder)
        self.document: bytes = b""
        self.answered = (-1, "")
        self.faults: list[Told] = []
        self.of: dict[str, str] = {}
        self.doing: tuple[str, dict[str, str]] = "", {}
        self.holder = ""
        self.pages: dict[str, list[asyncio.Queue[Told]]] = {}
        self.one_by_one = asyncio.Lock()
        self.work: asyncio.Task[None] | None = None
        self.writing: asyncio.Task[None] | None = None
        self.made: Told | None = None
        self.showing: asyncio.Task[None] | None = None
        self.looking: asyncio.Task[None] | None = None

    def status(self, page: str = "") -> Told:
        """Where the job stands, in one small object."""
        store = self.store
        ahead = store.journal.ahead
        return {
            "state": store.state.number,
            "answer": self.answered[1] if self.answered[0] == store.state.number else "",
            "undo": store.state.label if store.state.before >= 0 else None,
            "redo": store.journal.states[ahead[-1]].label if ahead else None,
            "kept": _clock(store.state.at),
            "writes": not self.holder or self.holder == page,
            "faults": self.faults,
            "writing": self.writing is not None,
            "made": self.made,
        }

    async def edit(self, page: str, given: Told) -> Told:
        """Keep a change and answer coarsely. A change that makes the job file unusable is refused, and told why."""
        async with self.one_by_one:
            if refused := self._refused(page, given.get("state")):
                return refused
            self.store.refresh()
            texts = self.store.texts
            try:
                text = edits.edited(texts[JOB], given["changes"], edits.unit_of(texts[JOB]))
            except PurfleError as refusal:
                return {"faults": _told(refusal.faults)}
            label, kind = str(given.get("label", "change"))[:120], str(given.get("kind", ""))[:60]
            return {"faults": faults} if (faults := await self._keep(text, label, kind)) else self.status(page)

    async def _keep(self, text: str, label: str, kind: str = "") -> list[Told]:
        """Keep a text of the job file; the faults that it would bring, where it is not kept."""
        texts = self.store.texts
        if text == texts[JOB]:
            return []
        faults = await self._coarse(text)
        if [one for one in faults if one not in self.faults]:
            return faults
        self.faults = faults
        self.store.commit({**texts, JOB: text}, label, kind)
        self._changed()
        return []

    async def bring(self, page: str, name: str, come: Path) -> Told:
        """Make a picture or drawing that lies at `come` the design. One that cannot be read changes nothing."""
        if refused := self._refused(page):
            return refused
        ask = {"do": "artwork", "folder": str(self.folder), "text": self.store.texts[JOB], "come": str(come)}
        head = await self._looked_at({**ask, "name": name})
        if "done" not in head:
            return {"faults": head.get("faults") or [_ours(head.get("ours", ""))]}
        async with self.one_by_one:
            if refused := self._refused(page):
                return refused
            self.store.refresh()
            text = self.store.texts[JOB]
            try:
                kept, new = artwork.kept(self.folder, name, come.read_bytes())
                text = edits.edited(text, artwork.changes_for(text, kept, head["height"]), edits.unit_of(text))
            except PurfleError as refusal:
                return {"faults": _told(refusal.faults)}
            if faults := await self._keep(text, f"artwork: {kept}"):
                if new:
                    (self.folder / kept).unlink(missing_ok=True)
                return {"faults": faults}
            return self.status(page)

    async def _looked_at(self, ask: Told) -> Told:
        """What a hand of its own says of a picture, which may be hostile; that hand is ended afterwards."""
        try:
            return (await asyncio.wait_for(self.hands.ask("artwork", ask), LONGEST_LOOK))[0]
        except (Gone, TimeoutError):
            return {"faults": _told((Fault("This picture or drawing cannot be read here", ask["name"], SMALLER),))}
        finally:
            self.hands.kill("artwork")

    async def move(self, page: str, how: str, number: int = -1) -> Told:
        """Undo, redo, or bring an earlier state back."""
        async with self.one_by_one:
            if refused := self._refused(page):
                return refused
            if how == "undo":
                self.store.undo()
            elif how == "redo":
                self.store.redo()
            elif 0 <= number < len(self.store.journal.states):
                self.store.bring_back(number)
            else:
                return {"faults": _told((Fault("There is no such state", "earlier states", "Load the page again."),))}
            self.faults = await self._coarse(self.store.texts[JOB])
            self._changed()
            return self.status(page)

    def _refused(self, page: str, state: Any = None) -> Told | None:
        if self.holder and self.holder != page:
            return {"faults": _told((HELD,)), "held": True}
        if state is not None and state != self.store.state.number:
            return {"faults": _told((MISSED,)), "missed": True}
        return None

    async def _coarse(self, text: str) -> list[Told]:
        """Answer coarsely for a text of the job file; its faults, none if it can be used."""
        head, body = await self._ask_coarse(text)
        if "done" in head:
            self.document, self.of = body, head["of"]
            return []
        return list(head["faults"]) if "faults" in head else [_ours(head.get("ours", ""))]

    async def _ask_coarse(self, text: str) -> tuple[Told, bytes]:
        try:
            return await self.hands.ask("quick", {"do": "coarse", "folder": str(self.folder), "text": text})
        except Gone:
            return {"ours": ""}, b""

    def _changed(self) -> None:
        """Tell the pages, and have the exact answer made for what stands now."""
        self.answered = (self.store.state.number, "coarse")
        self.tell({"event": "state"})
        stage, of = self.doing
        if stage in of and of[stage] != self.of.get(stage):
            self.hands.kill("exact")  # what it is doing is of no use any more, and may take long
        # the one before is not waited for: its hand leaves it at the next stage, and says so
        self.work = asyncio.create_task(self._exact(self.store.state.number, self.store.texts[JOB]))

    async def _exact(self, state: int, text: str) -> None:
        ask, of = {"do": "exact", "folder": str(self.folder), "text": text, "newest": True}, self.of
        try:
            head, body = await self.hands.ask("exact", ask, lambda name: self._stage("exact", name, state, of))
        except Gone:
            if state == self.store.state.number:
                self.tell({"event": "stopped", "what": "exact"})
            return
        self.doing = "", {}
        if state != self.store.state.number or head.get("superseded"):
            return
        if "done" in head:
            self.document, self.answered = body, (state, "exact")
            self.tell({"event": "answer"})
        else:
            faults = head.get("faults") or [_ours(head.get("ours", ""))]
            self.tell({"event": "faults", "faults": faults})

    async def _again(self, state: int, text: str) -> None:
        """Show what a stage has brought, as long as nothing exact is known: areas first, then pieces."""
        async with self.one_by_one:
            head, body = await self._ask_coarse(text)
            if "done" in head and self.answered == (state, "coarse"):
                self.document = body
                self.tell({"event": "answer"})

    def again(self) -> Told:
        """Reckon once more what was stopped."""
        self._changed()
        return self.status()

    async def dress(self, what: str) -> bytes:
        """What a sentence dresses the drawing with, of the job as it stands, as JSON; its faults where it has none."""
        state, text = self.store.state.number, self.store.texts[JOB]
        ask = {"do": "dress", "what": what, "folder": str(self.folder), "text": text, "newest": True}
        try:
            # cutters take long and stand beside the passes: neither of them ends the other
            head, body = await self.hands.ask("cutters" if what == "cutters" else "dress", ask)
        except Gone:
            head, body = {"superseded": True}, b""
        told = {"state": state, "what": what, "again": "superseded" in head, "faults": head.get("faults", [])}
        if "ours" in head:
            told["faults"] = [_ours(head["ours"])]
        said = json.dumps(told)
        return said.encode() if not body else b'{"made":%s,%s' % (body, said[1:].encode())

    def _stage(self, what: str, name: str, state: int, of: dict[str, str] | None = None) -> None:
        if what == "exact":
            self.doing = name, of or {}
        if what == "exact" and name in AFTER and self.answered == (state, "coarse"):
            self.showing = asyncio.create_task(self._again(state, self.store.texts[JOB]))
        if state == self.store.state.number or what == "write":
            self.tell({"event": "stage", "what": what, "stage": name}, False)

    async def open(self) -> None:
        """The first answers, and from then on a look at the files now and then."""
        async with self.one_by_one:
            if self.looking is None:
                self.looking = asyncio.create_task(self._look())
                self.faults = await self._coarse(self.store.texts[JOB])
                self._changed()

    async def _look(self) -> None:
        while True:
            await asyncio.sleep(LOOK_AFTER)
            if self.pages:
                with contextlib.suppress(PurfleError):
                    await self.meet_disk()

    async def meet_disk(self) -> None:
        """Take over what somebody else has changed in the files."""
        async with self.one_by_one:
            if self.store.refresh():
                self.faults = await self._coarse(self.store.texts[JOB])
                self._changed()
                self.tell({"event": "foreign"})

    def start_writing(self, page: str, archive: Path) -> Told:
        """Have sheets and files made, proven and written."""
        if refused := self._refused(page):
            return refused
        if self.writing is None:
            self.writing = asyncio.create_task(self._write(archive, self.store.state.number))
            self.tell({"event": "state"})
        return self.status(page)

    async def _write(self, archive: Path, state: int) -> None:
        ask = {"do": "write", "folder": str(self.folder), "archive": str(archive)}
        told: Told = {"event": "stopped", "what": "write"}
        try:
            head, _ = await self.hands.ask("write", ask, lambda name: self._stage("write", name, state))
            if "done" in head:
                self.made = {key: head[key] for key in ("proven", "change", "slug", "files", "findings")}
                self.made |= {"state": state, "at": _clock(self.store.clock())}
                told = {"event": "written"}
            else:
                told = {"event": "faults", "faults": head.get("faults") or [_ours(head.get("ours", ""))]}
        except Gone:
            pass
        finally:
            self.writing = None
            self.tell(told)

    def cancel(self, what: str) -> Told:
        """End long work at once. What was written before stays."""
        self.hands.kill("write" if what == "write" else "exact")
        return self.status()

    def take_over(self, page: str) -> Told:
        """Let this page write; the others only look on."""
        self.store.take_over()
        self.holder = page
        self.tell({"event": "lease"})
        return self.status(page)

    async def events(self, page: str) -> AsyncIterator[bytes]:
        """What happens, as it is sent to one page, for as long as that is there."""
        queue: asyncio.Queue[Told] = asyncio.Queue(MOST_TOLD)
        self.pages.setdefault(page, []).append(queue)
        if not self.holder:
            self.holder = page
        try:
            await queue.put({"event": "state"})
            while True:
                told = await queue.get()
                yield b"data: %s\n\n" % json.dumps({**told, "status": self.status(page)}).encode()
                if told["event"] == "end":
                    return
        finally:
            self.pages[page].remove(queue)
            if not self.pages[page]:
                del self.pages[page]
                if self.holder == page:
                    self.holder = next(iter(self.pages), "")
                    self.tell({"event": "lease"})

    def tell(self, told: Told, kept: bool = True) -> None:
        """Send something to every page; what is not `kept` may be missed by a page that is behind."""
        for queues in list(self.pages.values()):
            for queue in queues:
                if queue.qsize() < MOST_TOLD - 1:
                    queue.put_nowait(told)
                elif kept and queue.qsize() < MOST_TOLD:
                    queue.put_nowait({"event": "end"})

    def states(self) -> list[Told]:
        """Every state, the newest first."""
        found = self.store.journal.states
        return [{"number": s.number, "label": s.label, "at": _clock(s.at), "by": s.by} for s in reversed(found)]

    async def close(self) -> None:
        """Stop everything that runs for it."""
        for task in (self.work, self.writing, self.looking, self.showing):
            if task is not None:
                task.cancel()
        self.tell({"event": "end"})


def _told(faults: Sequence[Fault]) -> list[Told]:
    return [{"what": one.what, "where": one.where, "mend": one.mend, "key": ""} for one in faults]


def _ours(lines: str) -> Told:
    where = lines.strip().rpartition("\n")[2] or "a process of Purfle"
    return {"what": OURS, "where": where, "mend": REPORT, "key": "", "ours": lines}


def _clock(at: float) -> str:
    return datetime.fromtimestamp(at).astimezone().isoformat(timespec="seconds")
