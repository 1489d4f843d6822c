"""What the file system under a ledger must be able to do, tried out on a nameless file beside it."""

from __future__ import annotations

import mmap
import os
import tempfile
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows, whose file systems all keep locks; not tried there, only imported as if there
    fcntl = None  # type: ignore[assignment]

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
    """As SQLite does, by ranges of bytes: others keep locks of whole files, and not these."""
    if fcntl is not None:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _sync(handle: int) -> None:
    os.fsync(handle)


def _share(handle: int) -> None:
    """As SQLite's write-ahead log does with its index."""
    os.ftruncate(handle, _PAGE)
    mmap.mmap(handle, _PAGE).close()
