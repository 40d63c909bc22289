"""What stages have made, kept for all hands of one server: in memory, and as files in a folder of this launch alone."""

import os
import pickle
import tempfile
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

R = TypeVar("R")
MOST_IN_MEMORY = 96
"""So many things of stages are kept in memory: more than a job has, so that going back and forth costs nothing."""
MOST_FILES = 400
"""So many lie in the folder before the oldest are taken away."""


class Shelf:
    """Keeps by stage and fingerprint. Other hands find the same in the folder; a torn file counts as none."""

    def __init__(self, folder: Path, told: Callable[[str], None] = lambda _: None) -> None:
        self.folder = folder
        self.told = told
        self.at_hand: OrderedDict[tuple[str, str], Any] = OrderedDict()

    def kept(self, stage: str, of: str, make: Callable[[], R]) -> R:
        """What was made of this before, else made now; `told` hears the stage's name before it begins."""
        found: R | None = self.seen(stage, of)
        if found is None:
            self.told(stage)
            found = make()
            self._put(stage, of, found)
        return found

    def seen(self, stage: str, of: str) -> Any | None:
        """What was made of this before, None if nothing was."""
        key = stage, of
        if key in self.at_hand:
            self.at_hand.move_to_end(key)
            return self.at_hand[key]
        try:
            found = pickle.loads((self.folder / f"{stage}-{of}").read_bytes())
        except (OSError, EOFError, pickle.UnpicklingError):
            return None
        self._remember(key, found)
        return found

    def _put(self, stage: str, of: str, made: Any) -> None:
        self._remember((stage, of), made)
        handle, name = tempfile.mkstemp(dir=self.folder, prefix=".")
        with os.fdopen(handle, "wb") as file:
            pickle.dump(made, file)
        os.replace(name, self.folder / f"{stage}-{of}")
        self._clear_up()

    def _remember(self, key: tuple[str, str], made: Any) -> None:
        self.at_hand[key] = made
        while len(self.at_hand) > MOST_IN_MEMORY:
            self.at_hand.popitem(last=False)

    def _clear_up(self) -> None:
        files = sorted((one.stat().st_mtime, one) for one in self.folder.iterdir() if not one.name.startswith("."))
        for _, file in files[: max(0, len(files) - MOST_FILES)]:
            file.unlink(missing_ok=True)
