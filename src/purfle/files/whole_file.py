"""One file, read whole or not at all, written whole or not at all."""

import contextlib
import os
import tempfile
from pathlib import Path

from purfle.errors import FolderError

LARGEST = 256_000_000
"""Bytes: no picture or drawing of a maker is larger."""


def read_whole(path: Path, what: str = "file") -> bytes:
    """The content of a file. Raises `FolderError`, which calls it `what`."""
    try:
        if path.stat().st_size > LARGEST:
            raise FolderError(f"The {what} is larger than {LARGEST // 1_000_000} MB", str(path), "Save a smaller one.")
        return path.read_bytes()
    except (OSError, ValueError) as refusal:
        reason = getattr(refusal, "strerror", None) or str(refusal)
        mend = "Check that the file is there and may be read."
        raise FolderError(f"The {what} cannot be read: {reason}", str(path), mend) from refusal


def write_whole(path: Path, data: bytes) -> None:
    """Write a file beside its place first, then swap it in: what stood there stays until the new one is complete."""
    unfinished = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, unfinished = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(unfinished, 0o666 & ~_umask())
        os.replace(unfinished, path)
    except (OSError, ValueError) as refusal:
        reason = getattr(refusal, "strerror", None) or str(refusal)
        mend = "Name a place that may be written and has room."
        raise FolderError(f"The file cannot be written: {reason}", str(path), mend) from refusal
    finally:
        with contextlib.suppress(OSError):
            os.unlink(unfinished)


def _umask() -> int:
    """The rights that new files do not get; it can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
