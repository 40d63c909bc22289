"""A hand: the process that does the stages. Started by the server, it ends with it, and may be killed at any moment.

It reads one request after the other from its standard input; a newer request of the same kind ends the one before it at
the next stage. Whatever is printed by accident goes to standard error, never between the messages.
"""

import gc
import json
import os
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO

from purfle.errors import PurfleError
from purfle.web.frames import LENGTHS, Head, head_of, packed
from purfle.web.shelf import Shelf


class Superseded(Exception):
    """A newer request has come."""


class Hand:
    """Answers requests by their word."""

    def __init__(self, asked: BinaryIO, answered: BinaryIO, folder: Path) -> None:
        self.asked, self.answered = asked, answered
        self.shelf = Shelf(folder, self.stage)
        self.waiting: queue.SimpleQueue[Head] = queue.SimpleQueue()
        self.newest = self.at = 0
        self.works: dict[str, Callable[[Head], tuple[Head, bytes]]] = {
            "coarse": self.coarse,
            "exact": self.exact,
            "write": self.write,
            "wood": self.wood,
            "font": self.font,
            "artwork": self.artwork,
            "dress": self.dress,
        }

    def run(self) -> None:
        """Answer until the server is gone."""
        threading.Thread(target=self._listen, daemon=True).start()
        while True:
            head = self.waiting.get()
            self.at = head["number"]
            if head.get("newest") and self.newest > self.at:
                self.say({"number": self.at, "superseded": True})
                continue
            self._do(head)

    def _listen(self) -> None:
        while True:
            lengths = self.asked.read(LENGTHS.size)
            if len(lengths) < LENGTHS.size:
                os._exit(0)
            said, body = LENGTHS.unpack(lengths)
            head = head_of(self.asked.read(said))
            self.asked.read(body)
            if head.get("newest"):
                self.newest = head["number"]
            self.waiting.put(head)

    def _do(self, head: Head) -> None:
        self.newest_counts = bool(head.get("newest"))
        try:
            done, body = self.works[head["do"]](head)
            self.say({"number": self.at, "done": True, **done}, body)
        except Superseded:
            self.say({"number": self.at, "superseded": True})
        except PurfleError as refusal:
            from purfle.web.answers import faults_told

            self.say({"number": self.at, "faults": faults_told(refusal.faults)})
        except Exception:  # the last door of this process: a bug of ours, told as one
            traceback.print_exc()
            self.say({"number": self.at, "ours": traceback.format_exc()[-4000:]})

    def stage(self, name: str) -> None:
        """Tell the server what is being done; leave it if something newer is asked."""
        if self.newest_counts and self.newest > self.at:
            raise Superseded
        self.say({"number": self.at, "stage": name})

    def say(self, head: Head, body: bytes = b"") -> None:
        """One message to the server."""
        self.answered.write(packed(head, body))
        self.answered.flush()

    def coarse(self, head: Head) -> tuple[Head, bytes]:
        """The document with whatever is known at once."""
        from purfle.web import answers

        asked = answers.asked_of(Path(head["folder"]), head["text"])
        made = answers.coarse_of(asked, self.shelf)
        return {"of": {"areas": asked.design, "pieces": asked.fits}}, _json(made)

    def exact(self, head: Head) -> tuple[Head, bytes]:
        """The document with everything that can be foreseen."""
        from purfle.web import answers

        made = answers.exact(Path(head["folder"]), head["text"], self.shelf)
        return {}, _json(made)

    def write(self, head: Head) -> tuple[Head, bytes]:
        """The whole job made, proven and written; what lies where."""
        from purfle.web.writing import write

        return write(Path(head["folder"]), Path(head["archive"]), self.stage), b""

    def wood(self, head: Head) -> tuple[Head, bytes]:
        """The figure of a wood as a picture."""
        from purfle.web.woods import wood_picture

        return {}, wood_picture(head["wood"], head["size"], head["seed"], head.get("look", "finished"))

    def dress(self, head: Head) -> tuple[Head, bytes]:
        """What a chosen sentence dresses the drawing with."""
        from purfle.web.dressing import dressing

        return {}, _json(dressing(Path(head["folder"]), head["text"], head["what"], self.shelf))

    def font(self, head: Head) -> tuple[Head, bytes]:
        """A font with the signs that the page needs."""
        from purfle.web.fonts import font_file

        return {}, font_file(head["font"])

    def artwork(self, head: Head) -> tuple[Head, bytes]:
        """The height in which a picture or drawing that was brought is made; None: that of the one before."""
        from purfle.web.artwork import looked_at

        come = Path(head["come"]).read_bytes()
        return {"height": looked_at(Path(head["folder"]), head["text"], head["name"], come)}, b""


def _json(made: dict[str, Any]) -> bytes:
    return json.dumps(made, ensure_ascii=False, separators=(",", ":")).encode()


def main() -> None:
    """Begin: the messages keep the real standard output to themselves."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    answered = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    hand = Hand(sys.stdin.buffer, answered, Path(sys.argv[1]))
    if "warm" in sys.argv[2:]:
        from purfle.web import answers  # noqa: F401

        gc.freeze()
    hand.run()


if __name__ == "__main__":
    main()
