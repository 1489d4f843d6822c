"""What goes out to a file: its writer's alone (0600), there whole or not at all."""

from __future__ import annotations

import errno
import os
import stat
import tempfile
from collections.abc import Iterable
from pathlib import Path

from mobicard import inflow


def write_private(path: Path, data: bytes | Iterable[bytes]) -> None:
    """Put the file, given whole or piece by piece, in place in one step.

    It is private from the start: a stick's file system takes no chmod.

    Raises OSError, naming the path, when it cannot be written, is a device, which would be replaced, or is
    reached through a link that somebody else put there.
    """
    inflow.refuse_device(path)
    _refuse_planted(path)
    target = path.resolve()
    try:
        handle, part = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.writelines([data] if isinstance(data, bytes) else data)
            Path(part).replace(target)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
    except OSError as cannot:
        raise OSError(cannot.errno, cannot.strerror, str(path)) from None


def _own_id() -> int:
    """This user's number; 0 where the system has none, as every file's is there."""
    return os.geteuid() if hasattr(os, "geteuid") else 0


_MOST_LINKS = 40
"""As many as Linux follows itself: path_resolution(7)."""


def _refuse_planted(path: Path, links: int = 0) -> None:
    """In a folder that others may write to, a link leads where they want this person's file to go."""
    place = Path(path.absolute().anchor)
    for part in path.absolute().parts[1:]:
        place /= part
        try:
            found = place.lstat()
        except OSError:
            return  # what is not there, or closed, is said by whoever writes
        if not stat.S_ISLNK(found.st_mode):
            continue
        if found.st_uid not in (0, _own_id()) or links == _MOST_LINKS:
            raise OSError(errno.ELOOP, f"{place} is a link that somebody else put there", str(path))
        place = place.parent / place.readlink()
        _refuse_planted(place, links + 1)
