"""The store of the page: nothing that was kept is lost, whatever happens in between."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from purfle.web.journal import Journal
from purfle.web.store import NotOurs, Store

FIRST = 'name = "a"\n'
WRITER = """
import sys
from pathlib import Path
from purfle.web.store import Store
store = Store(Path(sys.argv[1]))
while True:
    number = store.state.number + 1
    store.commit({"job.toml": f"number = {number}\\n" + "x" * 3000}, f"state {number}")
    print(number, flush=True)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job.toml").write_text(FIRST, encoding="utf-8")
    return tmp_path


def on_disk(folder: Path) -> str:
    return (folder / "job.toml").read_text(encoding="utf-8")


def commit(store: Store, *texts: str, kind: str = "") -> None:
    for text in texts:
        store.commit({"job.toml": text}, f"to {text}", kind)


def test_undo_goes_back_to_the_beginning_and_redo_forward_again_after_a_restart(folder: Path) -> None:
    store = Store(folder)
    texts = [f"{number}\n" * 9 for number in range(120)]
    commit(store, *texts)
    store = Store(folder)
    for text in [*texts[-2::-1], FIRST, FIRST]:
        store.undo()
        assert on_disk(folder) == text
    store = Store(folder)
    for text in [*texts, texts[-1]]:
        store.redo()
        assert on_disk(folder) == text


def test_what_was_undone_stays_to_be_brought_back(folder: Path) -> None:
    store = Store(folder)
    commit(store, "one\n", "two\n")
    store.undo()
    commit(store, "three\n")
    assert store.redo().label == "to three\n"
    store.bring_back(2)
    assert on_disk(folder) == "two\n"
    store.undo()
    assert on_disk(folder) == "three\n"


def test_keys_held_down_are_undone_together(folder: Path) -> None:
    now = [1000.0]
    store = Store(folder, clock=lambda: now[0])
    for text in ("1\n", "2\n", "3\n"):
        commit(store, text, kind="step fit.seam")
        now[0] += 0.2
    now[0] += 5.0
    commit(store, "4\n", kind="step fit.seam")
    store.undo()
    assert on_disk(folder) == "3\n"
    store.undo()
    assert on_disk(folder) == FIRST


def test_a_foreign_change_is_taken_over_as_a_state_of_its_own(folder: Path) -> None:
    store = Store(folder)
    commit(store, "ours\n")
    (folder / "job.toml").write_text("theirs\n", encoding="utf-8")
    assert store.refresh()
    assert store.state.by == "outside"
    store.undo()
    assert on_disk(folder) == "ours\n"
    assert not store.refresh()


def test_a_torn_last_line_is_cut_off(folder: Path) -> None:
    commit(Store(folder), "one\n", "two\n")
    file = folder / ".purfle" / "journal"
    whole = file.read_bytes()
    for cut in (1, 7, 40):
        file.write_bytes(whole[:-cut])
        assert Journal(file).texts(1) == {"job.toml": "one\n"}
        assert len(Journal(file).states) == 2
    file.write_bytes(whole[:-30] + b"\0" * 30)
    store = Store(folder)
    commit(store, "three\n")
    assert [state.label for state in Journal(file).states][-1] == "to three\n"


def test_who_took_the_job_over_writes_it_alone(folder: Path) -> None:
    one = Store(folder)
    two = Store(folder)
    commit(two, "two\n")
    with pytest.raises(NotOurs) as refusal:
        commit(one, "one\n")
    assert (refusal.value.what, on_disk(folder)) == ("Another Purfle has opened this job and writes it now", "two\n")
    one.take_over()
    commit(one, "one\n")
    assert Journal(folder / ".purfle" / "journal").texts(2) == {"job.toml": "one\n"}


def test_killed_at_any_moment_nothing_that_was_kept_is_lost(folder: Path) -> None:
    """Fifty times kill -9 in the middle of saving: the file is a whole state, no older than told."""
    for turn in range(50):
        running = subprocess.Popen([sys.executable, "-c", WRITER, str(folder)], stdout=subprocess.PIPE, text=True)
        assert running.stdout is not None
        told = [int(running.stdout.readline()) for _ in range(1 + turn % 5)][-1]
        os.kill(running.pid, signal.SIGKILL)
        rest = running.stdout.read().split()
        running.wait()
        told = max([told, *(int(one) for one in rest[:-1])])
        store = Store(folder)
        text = on_disk(folder)
        assert text == store.texts["job.toml"]
        assert text.startswith("number = ")
        assert len(text) > 3000
        assert int(text.split("\n")[0].removeprefix("number = ")) >= told
        assert store.state.label == f"state {store.state.number}"
