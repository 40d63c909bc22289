"""A folder of results is written whole or left as it was, and only files of ours ever go."""

import errno
import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from purfle.errors import FolderError
from purfle.files import folder as folders
from purfle.files.folder import LIST, MARK, read_folder, write_all

FIRST = {"a.nc": b"one", "b.svg": b"two", "report.json": b"{}"}
SECOND = {"a.nc": b"ONE", "c.dxf": b"three", "report.json": b"{1}"}


def held(place: Path) -> dict[str, bytes]:
    """Everything that lies in a folder, hidden files too."""
    return {path.name: path.read_bytes() for path in place.iterdir() if path.is_file()}


def alone(tmp_path: Path) -> bool:
    """Whether nothing unfinished lies beside the folder."""
    return sorted(path.name for path in tmp_path.iterdir()) == ["out"]


def refused(act: Callable[[], object]) -> FolderError:
    with pytest.raises(FolderError) as caught:
        act()
    assert caught.value.what
    assert caught.value.where
    assert caught.value.mend
    return caught.value


def test_a_new_folder_holds_the_files_and_their_list_and_nothing_lies_beside_it(tmp_path: Path) -> None:
    write_all(tmp_path / "out", FIRST)
    assert held(tmp_path / "out").keys() == {*FIRST, LIST}
    assert read_folder(tmp_path / "out") == FIRST
    assert alone(tmp_path)


def test_a_name_with_spaces_quotes_umlauts_and_a_bird_is_a_name(tmp_path: Path) -> None:
    place = tmp_path / "Möwen 'und' \"Wellen\" 🐦"
    write_all(place, {"möwe 🐦.nc": b"1"})
    assert read_folder(place) == {"möwe 🐦.nc": b"1"}


def test_stale_files_of_ours_go_and_files_of_others_stay(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_all(out, FIRST)
    (out / "notes.txt").write_text("mine")
    (out / "photos").mkdir()
    (out / "photos" / "tern.jpg").write_text("mine too")
    write_all(out, SECOND)
    assert read_folder(out) == SECOND
    assert (out / "notes.txt").read_text() == "mine"
    assert (out / "photos" / "tern.jpg").read_text() == "mine too"
    assert not (out / "b.svg").exists()
    assert alone(tmp_path)


def test_a_stale_file_that_somebody_changed_is_theirs_and_stays(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_all(out, FIRST)
    (out / "b.svg").write_text("changed by hand")
    write_all(out, SECOND)
    assert (out / "b.svg").read_text() == "changed by hand"


def test_a_foreign_file_in_the_way_is_refused_and_nothing_changes(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "a.nc").write_text("another program of mine")
    error = refused(lambda: write_all(out, FIRST))
    assert "a.nc lies there already" in error.what
    assert error.where.endswith("a.nc")
    assert "another folder" in error.mend
    assert held(out) == {"a.nc": b"another program of mine"}
    assert alone(tmp_path)


@pytest.mark.parametrize("fails_at", range(1, 9))
def test_whatever_fails_while_swapping_everything_is_as_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails_at: int
) -> None:
    out = tmp_path / "out"
    write_all(out, FIRST)
    (out / "notes.txt").write_text("mine")
    before = held(out)
    real, calls = os.replace, []

    def failing(source: Path, target: Path) -> None:
        calls.append(source)
        if len(calls) == fails_at:
            raise PermissionError(errno.EACCES, "Permission denied", str(target))
        real(source, target)

    monkeypatch.setattr(os, "replace", failing)
    error = refused(lambda: write_all(out, SECOND))
    monkeypatch.undo()
    assert "may not be written" in error.what
    assert "permissions" in error.mend
    assert held(out) == before
    assert alone(tmp_path)


@pytest.mark.parametrize("there_already", [True, False])
def test_a_full_disk_leaves_earlier_results_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there_already: bool
) -> None:
    out = tmp_path / "out"
    if there_already:
        write_all(out, FIRST)

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    error = refused(lambda: write_all(out, SECOND))
    monkeypatch.undo()
    assert "the disk is full" in error.what
    assert "out" in error.where
    assert "Make room" in error.mend
    assert not there_already or read_folder(out) == FIRST
    assert out.exists() == there_already
    assert [path.name for path in tmp_path.iterdir()] == (["out"] if there_already else [])


def test_a_folder_that_may_not_be_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbidden(**_: object) -> str:
        raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path))

    monkeypatch.setattr(folders.tempfile, "mkdtemp", forbidden)
    error = refused(lambda: write_all(tmp_path / "out", FIRST))
    assert "may not be written" in error.what
    assert error.where == str(tmp_path)
    assert "permissions" in error.mend


def test_a_file_in_place_of_the_folder_and_a_missing_folder_above_are_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    for act in (lambda: write_all(tmp_path / "out", FIRST), lambda: read_folder(tmp_path / "out")):
        error = refused(act)
        assert "a file, not a folder" in error.what
        assert error.where.endswith("out")
        assert "Name" in error.mend
    error = refused(lambda: write_all(tmp_path / "no" / "such" / "out", FIRST))
    assert "above it is not there" in error.what
    assert "Make the folder" in error.mend
    error = refused(lambda: read_folder(tmp_path / "nowhere"))
    assert "no such folder" in error.what


def test_a_folder_whose_writing_was_interrupted_is_not_read_and_is_written_again(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_all(out, FIRST)
    (out / MARK).write_text('{"late.nc": "", "a.nc": ""}')
    (out / "late.nc").write_text("half of a job")
    error = refused(lambda: read_folder(out))
    assert "interrupted" in error.what
    assert "purfle make" in error.mend
    assert "Another Purfle" in refused(lambda: write_all(out, SECOND)).what
    long_ago = time.time() - 3600
    os.utime(out / MARK, (long_ago, long_ago))
    write_all(out, SECOND | {"late.nc": b"whole"})
    assert read_folder(out) == SECOND | {"late.nc": b"whole"}


def test_a_damaged_list_is_no_licence_to_delete(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_all(out, FIRST)
    for damage in (b"{", b"[]", b'{"../b.svg": "x"}', b"\xff"):
        (out / LIST).write_bytes(damage)
        assert "a.nc lies there already" in refused(lambda: write_all(out, SECOND)).what
        assert read_folder(out) == FIRST


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "../a", LIST, MARK])
def test_a_name_that_leads_elsewhere_is_a_fault_of_the_program(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="plain file name"):
        write_all(tmp_path / "out", {name: b""})
    assert list(tmp_path.iterdir()) == []


def test_a_link_to_a_folder_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "true").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "true")
    write_all(tmp_path / "out", FIRST)
    assert (tmp_path / "out").is_symlink()
    assert read_folder(tmp_path / "true") == FIRST


def test_reading_takes_what_the_dry_fit_needs_and_refuses_what_no_job_makes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.nc").write_bytes(b"12345")
    (tmp_path / "film.mp4").write_bytes(b"0" * 100)
    assert read_folder(tmp_path) == {"a.nc": b"12345"}
    monkeypatch.setattr(folders, "LARGEST_FILE", 4)
    error = refused(lambda: read_folder(tmp_path))
    assert "a.nc is too large" in error.what
    assert "Take away" in error.mend
