"""Checks of the ledger: private, whole, of this version, on a disk of this machine with room."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

from mobicard.doctor.finding import Finding, fail, ok, warn
from mobicard.doctor.machine import BUILT
from mobicard.doctor.subject import Setup
from mobicard.ledger import Ledger, LedgerError, LedgerReadOnly, NotALedger, disk
from mobicard.ledger.database.engine import ledger_url, shown
from mobicard.ledger.keeping.known_end import why_not
from mobicard.ward.station.known_ledger import known_end

_LITTLE, _NONE = 200 * 2**20, 20 * 2**20
_SHARED = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "fuse.sshfs", "afs")
_FORM = "%Y-%m-%d %H:%M"
_AGREE = timedelta(minutes=5)


def ledger(setup: Setup) -> Iterator[Finding]:
    """Open the ledger as every command does, and check its chain; one that is not there is not made."""
    try:
        url = ledger_url(setup.ledger)
    except LedgerError as wrong:
        yield fail(
            "ledger", wrong.says, "set MOBICARD_LEDGER or --ledger to a file, or to a PostgreSQL address"
        )
        return
    place = Path(str(url.database)) if url.get_backend_name() == "sqlite" else None
    if place is not None:
        yield from _around(place, setup)
        if not place.exists():
            yield from _to_be_made(place)
            return
    try:
        with Ledger.open(setup.ledger, create=False) as opened:
            report = opened.verify()
            seen = known_end(setup.ledger).end
            odd = why_not(opened, seen) if seen else None
            newest = max((state.recorded_at for state in opened.beds() if state.recorded_at), default=None)
    except LedgerError as wrong:
        yield fail("ledger", f"{shown(url)}: {wrong.says}", _cure(place, wrong))
        return
    if not report.ok:
        yield fail(
            "ledger",
            f"{shown(url)}: {report.says}",
            "keep the file as it is, take the last good backup beside it, and compare the two",
        )
    elif odd:
        cure = "find out why; put the right one back, or take it as it is with `mobicard ledger accept`"
        yield fail("ledger", f"{shown(url)} {odd}", cure)
    else:
        yield ok("ledger", f"{shown(url)}: {report.checked} entries, the chain is whole")
    yield from _clock(setup, newest)


def _cure(place: Path | None, wrong: LedgerError) -> str:
    if isinstance(wrong, NotALedger):
        return "check the path; what the file is, and what may be done with it, is said above"
    if isinstance(wrong, LedgerReadOnly):
        return f"copy {place} to a folder you may write, or ask who looks after this computer"
    if place is None:
        return "check the address, the server and the network; entries made meanwhile wait at their station"
    return f"keep {place} as it is; restore a backup under another name and point MOBICARD_LEDGER at it"


def _to_be_made(place: Path) -> Iterator[Finding]:
    above = next(folder for folder in place.parents if folder.exists())
    if not above.is_dir():
        yield fail("ledger", f"{above} is a file, so no ledger can be made below it", "choose another place")
    elif not os.access(above, os.W_OK | os.X_OK, effective_ids=True):
        yield fail(
            "ledger",
            f"none yet, and it cannot be made at {place}: {above} may not be written by you",
            "choose another place with MOBICARD_LEDGER, or ask who looks after this computer",
        )
    else:
        yield ok("ledger", f"none at {place} yet; `mobicard ledger new` makes one")


def _around(place: Path, setup: Setup) -> Iterator[Finding]:
    """The file's rights, the room on its disk, and the kind of disk."""
    if place.is_file() and place.stat().st_mode & 0o077:
        yield warn(
            "ledger rights",
            f"{place} can be read by other users of this machine",
            f"chmod 600 {place}",
        )
    folder = next(each for each in (place.parent, *place.parents) if each.is_dir())
    free = setup.machine.free_bytes(folder)
    says = f"{free / 2**20:.0f} MB free where the ledger is ({folder})"
    if free < _NONE:
        yield fail("disk", says, "make room now: when the disk is full nothing more can be recorded")
    elif free < _LITTLE:
        yield warn("disk", says, "make room soon: when the disk is full nothing more can be recorded")
    else:
        yield ok("disk", says)
    if kind := _shared(folder, setup.machine.mounts()):
        yield fail(
            "ledger disk",
            f"{folder} is on a shared drive ({kind}), where SQLite's locks do not hold",
            "put the ledger on this machine's own disk, or use PostgreSQL for several stations",
        )
    with suppress(OSError):  # a folder that may not be written is said when the ledger is opened
        if lack := disk.lacks(folder):
            yield fail("ledger disk", lack, "put the ledger on this machine's own disk, or use PostgreSQL")


def _shared(folder: Path, mounts: str) -> str | None:
    """The kind of shared file system a folder is on, or None."""
    fields = [line.split()[1:3] for line in mounts.splitlines() if len(line.split()) > 2]
    above = {str(each) for each in (folder.resolve(), *folder.resolve().parents)}
    holding = [(len(where), kind) for where, kind in fields if where.replace("\\040", " ") in above]
    kind = max(holding)[1] if holding else ""
    return kind if kind in _SHARED else None


def _clock(setup: Setup, newest: datetime | None) -> Iterator[Finding]:
    now = setup.machine.now()
    if newest and BUILT <= now < newest - _AGREE:  # an impossible clock is said once, by its own check
        yield fail(
            "clock",
            f"this machine's clock ({now:{_FORM}} UTC) is behind the newest entry ({newest:{_FORM}} UTC)",
            "set the clock, best by a time service; times decide until when a card holds",
        )
