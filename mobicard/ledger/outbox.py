"""The outbox: keeps on this station's disk what was entered while the server is gone, and saves it later."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

from platformdirs import user_data_path

from mobicard.ledger.conflict import SaveConflict
from mobicard.ledger.entry import RECEIVED, Entry, NewEntry, body_text, time_text
from mobicard.ledger.errors import (
    LedgerBusy,
    LedgerDamaged,
    LedgerError,
    LedgerFull,
    LedgerReadOnly,
    LedgerUnreachable,
)
from mobicard.ledger.ledger import Ledger
from mobicard.ledger.staff.rights import Person

LOCK_S = 5.0
"""Seconds to wait for another program of this station; it writes for milliseconds, unless it stands still."""

_LATER = (LedgerUnreachable, LedgerBusy)


@dataclass(frozen=True, slots=True)
class Held:
    """One save that waits: all its entries or none. ``refused`` is why it could not be saved when tried."""

    name: str
    entries: tuple[NewEntry, ...]
    refused: LedgerError | None = None


class Outbox:
    """Saves that wait for their ledger. They hold patients' facts: the file is private (0600)."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or user_data_path("mobicard") / "outbox.jsonl"

    def save(
        self, ledger: Ledger, *entries: NewEntry, person: Person | None = None
    ) -> tuple[Entry, ...] | None:
        """Save, or hold when the ledger does not answer; None means held, on this station's disk.

        Raises what Ledger.append raises for every other reason, and LedgerFull, LedgerReadOnly when this
        station's disk does not take it either.
        """
        try:
            return ledger.append(*entries, person=person)
        except LedgerUnreachable:
            self.hold(entries)
            return None

    def hold(self, entries: Sequence[NewEntry]) -> Held:
        """Write one save down, on disk before this returns. Raises LedgerFull, LedgerReadOnly, LedgerBusy."""
        held = Held(uuid4().hex, tuple(entries))
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with self._alone():
                handle = os.open(self.path, os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)
                try:
                    self._end_torn_line(handle)
                    _write_all(handle, (_line(held) + "\n").encode())
                    os.fsync(handle)
                finally:
                    os.close(handle)
        except PermissionError:
            raise LedgerReadOnly(
                f"Nor can {self.path} be written: keep this screen open and tell someone."
            ) from None
        except OSError as cause:
            raise LedgerFull(
                f"Nor can it be kept at {self.path} ({cause.strerror}): keep this screen open and "
                f"tell someone."
            ) from cause
        return held

    def held(self) -> list[Held]:
        """What waits, oldest first. A last line torn by a power cut was never promised and is passed over.

        Raises LedgerDamaged when a line before the last cannot be read, LedgerReadOnly when none can.
        """
        try:
            lines = self.path.read_text(encoding="utf-8", errors="replace").split("\n")
        except (FileNotFoundError, NotADirectoryError):
            return []
        except OSError as cause:
            raise LedgerReadOnly(
                f"What this station holds at {self.path} cannot be read ({cause.strerror}); it is not sent."
            ) from None
        found = []
        for number, line in enumerate(lines):
            if not line.strip() or line == _TORN:
                continue
            try:
                found.append(_held(json.loads(line)))
            except (ValueError, KeyError, TypeError, LedgerError):
                followed = any(_readable(later) for later in lines[number + 1 :])
                torn = number + 1 >= len(lines) - 1 or lines[number + 1] == _TORN
                if followed and not torn:
                    raise LedgerDamaged(
                        f"Line {number + 1} of {self.path} cannot be read; keep the file and ask "
                        f"who looks after it."
                    ) from None
        return found

    def replay(
        self, ledger: Ledger, person: Person | None = None, received: datetime | None = None
    ) -> tuple[list[Entry], list[Held]]:
        """Save what waits, oldest first; gives what was saved and what the ledger refused, with the reason.

        ``received`` is the time now (aware): what a station held says in the ledger when it came to be known.

        What was saved leaves the outbox; what was refused (a conflict, a taken bed, another person signed in)
        stays until ``drop``. Stops without raising when the ledger is gone again.
        """
        saved: list[Entry] = []
        refused: list[Held] = []
        done: set[str] = set()
        for one in self.held():
            try:
                saved += _append(ledger, _received(one.entries, received), saved, person)
                done.add(one.name)
            except _LATER:
                break
            except LedgerError as why:
                refused.append(Held(one.name, one.entries, why))
        self.drop(done)
        return saved, refused

    def drop(self, names: Iterable[str]) -> None:
        """Take these out of the outbox, once saved or settled by a person; whole or not at all.

        Raises LedgerBusy or LedgerFull when it stays as it is; what was saved is known by its id next time.
        """
        gone = set(names)
        if not gone:
            return
        try:
            with self._alone():
                self._rewrite([one for one in self.held() if one.name not in gone])
        except OSError as cause:
            says = f"{self.path} cannot be written ({cause.strerror}); what it holds is kept for another try."
            raise LedgerFull(says) from cause

    def _rewrite(self, rest: Sequence[Held]) -> None:
        if not rest:
            self.path.unlink(missing_ok=True)
            return
        part = self.path.with_name(self.path.name + ".part")
        handle = os.open(part, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        try:
            _write_all(handle, "".join(_line(one) + "\n" for one in rest).encode())
            os.fsync(handle)
        finally:
            os.close(handle)
        part.replace(self.path)

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Two programs of one station never write at once: what one holds, the other does not drop."""
        from filelock import FileLock, Timeout

        beside = self.path.with_name(self.path.name + ".lock")
        alone = FileLock(beside, timeout=LOCK_S, poll_interval=0.05, mode=0o600)
        try:
            alone.acquire()
        except Timeout:
            raise LedgerBusy(
                f"Another mobicard of this station has {self.path} and did not let go within "
                f"{LOCK_S:g} s. Keep this screen open, end the other one, then save again."
            ) from None
        try:
            yield
        finally:
            alone.release()

    def _end_torn_line(self, handle: int) -> None:
        """After a power cut the last line may lack its end: close it, lest the next be joined to it."""
        with self.path.open("rb") as file:
            if file.seek(0, os.SEEK_END) and file.seek(-1, os.SEEK_END) >= 0 and file.read(1) != b"\n":
                _write_all(handle, f"\n{_TORN}\n".encode())


def _append(
    ledger: Ledger, entries: Sequence[NewEntry], saved: Sequence[Entry], person: Person | None
) -> tuple[Entry, ...]:
    """Append a held save. One made on top of another held save meets only that one: it goes on top of it."""
    try:
        return ledger.append(*entries, person=person)
    except SaveConflict as met:
        mine = {one.id for one in saved}
        if not met.entries_since or not {one.id for one in met.entries_since} <= mine:
            raise
        last = met.entries_since[-1].version
        on_top = [
            replace(new, expect=last) if new.stay == met.stay and new.expect is not None else new
            for new in entries
        ]
        return ledger.append(*on_top, person=person)


def _received(entries: Sequence[NewEntry], at: datetime | None) -> Sequence[NewEntry]:
    if at is None:
        return entries
    return [replace(new, body={**new.body, RECEIVED: time_text(at)}) for new in entries]


_TORN = "# the line above was cut off"


def _readable(line: str) -> bool:
    return bool(line.strip()) and line != _TORN


def _write_all(handle: int, data: bytes) -> None:
    while data:
        data = data[os.write(handle, data) :]


def _line(held: Held) -> str:
    entries = [
        {
            "stay": new.stay,
            "kind": new.kind,
            "at": time_text(new.at),
            "by": new.by,
            "body": json.loads(body_text(new.body)),
            "expect": new.expect,
            "id": new.id,
        }
        for new in held.entries
    ]
    return json.dumps({"name": held.name, "entries": entries}, ensure_ascii=False)


def _held(data: Mapping[str, Any]) -> Held:
    entries = [NewEntry(**{**one, "at": datetime.fromisoformat(one["at"])}) for one in data["entries"]]
    return Held(data["name"], tuple(entries))
