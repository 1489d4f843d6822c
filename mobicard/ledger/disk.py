"""What the file system under a ledger must be able to do, tried out on a nameless file beside it."""

from __future__ import annotations

import mmap
import os
import tempfile
from pathlib import Path

from mobicard.ledger.file_lock import record_lock

_PAGE = mmap.PAGESIZE


def lacks(folder: Path) -> str | None:
    """What the folder's file system cannot do, in words, or None. Raises OSError where it takes no file."""
    with tempfile.TemporaryFile(dir=folder) as file:
        for try_out, says in (
            (_lock, "keeps no locks, so that two stations would overwrite each other"),
            (_sync, "cannot promise that what is saved outlasts a power cut"),
            (_share, "cannot share a file between two programs"),
        ):
            try:
                try_out(file.fileno())
            except OSError as cannot:
                return f"the file system of {folder} {says} ({cannot.strerror})"
    return None


def _lock(handle: int) -> None:
    record_lock(handle)


def _sync(handle: int) -> None:
    os.fsync(handle)


def _share(handle: int) -> None:
    """As SQLite's write-ahead log does with its index."""
    os.ftruncate(handle, _PAGE)
    mmap.mmap(handle, _PAGE).close()
