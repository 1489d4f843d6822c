"""A user without rights, for tests that run as root, whom no file mode stops."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def as_nobody() -> Iterator[None]:
    """As a user without rights, where the tests run as root (whom no file mode stops)."""
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)
