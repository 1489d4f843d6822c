"""What goes out to a file: its writer's alone (0600), there whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from mobicard import inflow


def write_private(path: Path, data: bytes) -> None:
    """Put the file in place in one step, made private from the start: a stick's file system takes no chmod.

    Raises OSError, naming the path, when it cannot be written or is a device, which would be replaced.
    """
    inflow.refuse_device(path)
    target = path.resolve()
    try:
        handle, part = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(part).replace(target)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
    except OSError as cannot:
        raise OSError(cannot.errno, cannot.strerror, str(path)) from None
