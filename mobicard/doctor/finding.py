"""One finding: what was looked at, how it stands, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Result = Literal["ok", "warn", "fail"]


@dataclass(frozen=True, slots=True)
class Finding:
    """``says`` is one sentence; ``do`` is empty when nothing needs doing. ``fail`` must be put right."""

    what: str
    result: Result
    says: str
    do: str = ""


def ok(what: str, says: str) -> Finding:
    """All is well."""
    return Finding(what, "ok", says)


def warn(what: str, says: str, do: str) -> Finding:
    """Works, but somebody should look."""
    return Finding(what, "warn", says, do)


def fail(what: str, says: str, do: str) -> Finding:
    """Does not work until it is put right."""
    return Finding(what, "fail", says, do)
