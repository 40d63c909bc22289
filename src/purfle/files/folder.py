"""A folder of results, written whole or not at all; and read back.

New files are made in a folder beside it and swapped in when all of them are safe on the disk. A list in the folder
(`.purfle-files`) says which files are ours: of these, the ones that are no longer made go; everything else stays.
While files are swapped, a mark lies in the folder; a folder with a mark is never read, so that a power cut
cannot leave half a job that looks like a whole one.
"""

import contextlib
import errno
import hashlib
import json
import os
import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from purfle.errors import FolderError
from purfle.files.whole_file import read_whole as read_file
from purfle.files.whole_file import write_whole as write_one

__all__ = ["check_place", "read_file", "read_folder", "write_all", "write_one"]

LIST = ".purfle-files"
"""Our files in a folder with their SHA-256, JSON."""
MARK = ".purfle-writing"
"""Lies in the folder while files are swapped; holds the list of all files that may be ours meanwhile."""
MARK_SECONDS = 60.0
"""A swap takes a moment: an older mark was left by a power cut."""
READ_ENDINGS = frozenset({".json", ".nc", ".svg", ".dxf"})
"""What the dry fit reads; whatever else lies in the folder is none of its business."""
DISK_THREADS = 8
"""So many files at a time are made safe, or taken away: eight take the disk as long as one or two."""
LARGEST_FILE = 64_000_000
LARGEST_FOLDER = 512_000_000
"""Bytes: no job makes that much."""
_NAME_AGAIN = "Name another folder with --out."
_REASONS = {
    errno.ENOSPC: ("the disk is full", "Make room, or name a folder on another disk."),
    errno.EDQUOT: ("the disk is full", "Make room, or name a folder on another disk."),
    errno.EACCES: ("it may not be written", "Change its permissions, or name another folder."),
    errno.EPERM: ("it may not be written", "Change its permissions, or name another folder."),
    errno.EROFS: ("the disk can only be read", "Name a folder on another disk."),
    errno.ENAMETOOLONG: ("a name is too long", "Give the job or the folder a shorter name."),
}
Listed = dict[str, str]
"""SHA-256 by file name."""


def check_place(folder: Path) -> None:
    """Refuse a place that no folder can be at, before the work is done that shall go there. `FolderError`."""
    _checked(folder, {})


def write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write all results into a folder, or leave it exactly as it was.

    Files of ours that are not made any more go, if nobody changed them since; files of anyone else stay, and
    one that is in the way is refused. Raises `FolderError`.
    """
    place = _checked(folder, files)
    with _told(folder), _beside(place, "new") as fresh:
        listed = _write_fresh(fresh, files)
        if place.exists():
            _swap_in(place, fresh, listed)
        else:
            os.rename(fresh, place)
        _settle(place.parent)


def read_folder(folder: Path) -> dict[str, bytes]:
    """What the dry fit reads of a folder, by file name: assembly card, report, programs, outlines. `FolderError`."""
    if not folder.is_dir():
        what = "This is a file, not a folder" if folder.exists() else "There is no such folder"
        raise FolderError(what, str(folder), "Name the folder that `purfle make` wrote.")
    if (folder / MARK).exists():
        raise FolderError("Writing into this folder was interrupted", str(folder), "Run `purfle make` again.")
    files: dict[str, bytes] = {}
    left = LARGEST_FOLDER
    with _told(folder, "read"):
        for path in sorted(folder.iterdir()):
            if path.suffix.lower() not in READ_ENDINGS or path.name.startswith(".") or not path.is_file():
                continue
            size = path.stat().st_size
            left -= size
            if size > LARGEST_FILE or left < 0:
                what = f"{path.name} is too large to be a file of a job" if left >= 0 else "The folder holds too much"
                raise FolderError(what, str(path), "Take away what `purfle make` did not write.")
            files[path.name] = path.read_bytes()
    return files


def _checked(folder: Path, files: Mapping[str, bytes]) -> Path:
    """The folder's true place, once it is sure that it can be one."""
    for name in files:
        if name != os.path.basename(name) or name in ("", ".", "..", LIST, MARK):
            raise ValueError(f"{name!r} is not a plain file name")
    if "\0" in str(folder):
        raise FolderError("A folder's name holds a sign that no disk can keep", repr(str(folder)), _NAME_AGAIN)
    place = Path(os.path.realpath(folder))
    if place.exists() and not place.is_dir():
        raise FolderError("This is a file, not a folder", str(folder), _NAME_AGAIN)
    if not place.parent.is_dir():
        mend = f"Make the folder {place.parent} first, or name another one."
        raise FolderError("The folder above it is not there", str(folder), mend)
    return place


@contextmanager
def _told(folder: Path, done: str = "written") -> Iterator[None]:
    """Within: what the disk refuses is told as a `FolderError`."""
    try:
        yield
    except OSError as refusal:
        otherwise = ((refusal.strerror or str(refusal)).lower(), "Name another folder.")
        reason, mend = _REASONS.get(refusal.errno or 0, otherwise)
        if done == "read":
            reason, mend = reason.replace("written", "read"), "Check that the folder is there and may be read."
        where = refusal.filename if isinstance(refusal.filename, str) else str(folder)
        raise FolderError(f"The folder cannot be {done}: {reason}", where, mend) from refusal


def _write_fresh(fresh: Path, files: Mapping[str, bytes]) -> Listed:
    """All files and their list in the new folder, safe on the disk."""
    listed = {name: hashlib.sha256(data).hexdigest() for name, data in sorted(files.items())}
    for name, data in (*files.items(), (LIST, _as_text(listed))):
        (fresh / name).write_bytes(data)
    for refusal in _at_once(_sync, [fresh / name for name in (*files, LIST)]):
        raise refusal
    mask = os.umask(0o077)
    os.umask(mask)
    fresh.chmod(0o777 & ~mask)
    _settle(fresh)
    return listed


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _at_once(work: Callable[[Path], None], paths: Sequence[Path]) -> list[OSError]:
    """Work on files by several threads, since all that each does is wait for the disk; what was refused."""
    refusals: list[OSError] = []

    def go_through(share: Sequence[Path]) -> None:
        for path in share:
            try:
                work(path)
            except OSError as refusal:
                refusals.append(refusal)

    shares = [paths[number::DISK_THREADS] for number in range(min(DISK_THREADS, len(paths)))]
    threads = [threading.Thread(target=go_through, args=(share,)) for share in shares]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return refusals


def _as_text(listed: Listed) -> bytes:
    return (json.dumps(listed, indent=0, sort_keys=True) + "\n").encode()


def _settle(folder: Path) -> None:
    """Names in a folder made safe on the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _swap_in(place: Path, fresh: Path, listed: Listed) -> None:
    """New files into a folder that is there. Whatever fails, what was moved is moved back."""
    ours = _ours(place)
    taken = [name for name in listed if name not in ours and os.path.lexists(place / name)]
    if taken:
        what = f"{taken[0]} lies there already, and Purfle did not write it"
        raise FolderError(what, str(place / taken[0]), "Move it away, or name another folder with --out.")
    stale = [name for name, digest in ours.items() if name not in listed and _digest(place / name) == digest]
    going = [name for name in (*listed, *stale, LIST) if os.path.lexists(place / name)]
    moved: list[tuple[Path, Path]] = []
    with _marked(place, ours | listed), _beside(place, "old") as away:
        try:
            for name in going:
                _move(place / name, away / name, moved)
            for name in (*listed, LIST):
                _move(fresh / name, place / name, moved)
            _settle(place)
        except BaseException:
            for source, target in reversed(moved):
                with contextlib.suppress(OSError):
                    os.replace(target, source)
            raise


def _move(source: Path, target: Path, moved: list[tuple[Path, Path]]) -> None:
    os.replace(source, target)
    moved.append((source, target))


def _ours(place: Path) -> Listed:
    """Our files in a folder, by its list and by the mark of a swap that a power cut ended."""
    ours: Listed = {}
    for name in (LIST, MARK):
        with contextlib.suppress(OSError, ValueError):
            read = json.loads((place / name).read_bytes())
            if isinstance(read, dict):
                ours |= {key: str(value) for key, value in read.items() if key == os.path.basename(key)}
    return ours


def _digest(path: Path) -> str:
    """SHA-256 of a file; nothing where there is none."""
    if not path.is_file() or path.is_symlink():
        return ""
    return hashlib.sha256(path.read_bytes()).hexdigest()


@contextmanager
def _beside(place: Path, name: str) -> Iterator[Path]:
    """An empty folder beside the place, on the same disk; gone afterwards."""
    made = Path(tempfile.mkdtemp(dir=place.parent, prefix=f".{place.name}-{name}-"))
    try:
        yield made
    finally:
        with contextlib.suppress(OSError):
            _at_once(os.unlink, list(made.iterdir()))
        shutil.rmtree(made, ignore_errors=True)


@contextmanager
def _marked(place: Path, listed: Listed) -> Iterator[None]:
    """Within, the mark lies in the folder; refused if another Purfle has laid its own a moment ago."""
    mark = place / MARK
    if mark.exists() and time.time() - mark.stat().st_mtime < MARK_SECONDS:
        raise FolderError("Another Purfle is writing into this folder", str(place), "Wait a minute and try again.")
    mark.unlink(missing_ok=True)
    handle = os.open(mark, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(_as_text(listed))
            file.flush()
            os.fsync(file.fileno())
        yield
    finally:
        mark.unlink(missing_ok=True)
