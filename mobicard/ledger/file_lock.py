"""An open file locked against other programs of this machine, on POSIX and on Windows."""

from __future__ import annotations

try:
    import fcntl
except ImportError:  # Windows; not tried there, only imported as if there
    fcntl = None  # type: ignore[assignment]


def lock(handle: int) -> None:
    """Lock the whole file for this handle alone, until it is closed. Raises OSError where another has it."""
    if fcntl is not None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    else:
        _first_byte(handle)


def record_lock(handle: int) -> None:
    """Lock as SQLite does, by ranges of bytes. Raises OSError where the file system keeps no such lock."""
    if fcntl is not None:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    else:
        _first_byte(handle)


def _first_byte(handle: int) -> None:
    import msvcrt

    msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
