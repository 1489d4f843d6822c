"""The last save of the person at this station taken back: a correction entry that says so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from mobicard.ledger import Entry, NewEntry
from mobicard.ward.corrections import withdraw
from mobicard.ward.recording import Recording
from mobicard.ward.views import BedView, WardRefused

TAKE_BACK = timedelta(minutes=10)
"""How long a save may be taken back by who made it. Common practice, no source: later it is a correction."""

SAVES = ("record", "same", "procedure", "fall")

CALLED = {"record": "the record", "same": "same as before", "procedure": "the operation", "fall": "the fall"}


@dataclass(frozen=True, slots=True)
class LastSave:
    """What would be taken back: the entry a correction names, at which bed, made when (ward time)."""

    view: BedView
    entry: Entry
    at: datetime

    @property
    def says(self) -> str:
        label = f" {self.view.label}" if self.view.label else ""
        return f"{CALLED[self.entry.kind]} of {self.view.bed}{label} at {self.at:%H:%M}"


def last_save(ward: Recording) -> LastSave:
    """The last save of this person that may still be taken back. Raises WardRefused, LedgerError."""
    if any(_is_mine(ward, one) for held in ward.offline.outbox.held() for one in held.entries):
        raise WardRefused("a save of yours is held on this station, not yet in the ledger; settle that first")
    now = ward.clock.utc()
    last = ward.ledger.newest_by(ward.by, SAVES, now - TAKE_BACK)
    if last is None or last.at > now + TAKE_BACK:
        minutes = int(TAKE_BACK.total_seconds() // 60)
        raise WardRefused(f"you saved nothing in the last {minutes} minutes; an older entry is corrected")
    history = ward.ledger.history(last.stay)
    first = _with_what_came_first(history, last)
    view = ward.bed(last.stay)
    if any(one.kind == "correct" and one.body.get("corrects") == first.version for one in history):
        raise WardRefused(f"your last save of {view.bed} is taken back already")
    since = [one for one in history if one.version > last.version and one.is_fact and one.kind != "assign"]
    if since:
        raise WardRefused(f"{since[-1].by} has changed {view.bed} since: correct the entry instead")
    return LastSave(view, first, ward.clock.ward_time(last.at))


def _is_mine(ward: Recording, held: NewEntry) -> bool:
    return held.by == ward.by and held.kind in SAVES


def take_back(ward: Recording, save: LastSave) -> BedView:
    """What stood before the save stands again. Raises as ``Recording.correct``."""
    return withdraw(ward, save.view, save.entry.version, f"taken back by {ward.by}, who made it")


def _with_what_came_first(history: Sequence[Entry], last: Entry) -> Entry:
    """A fall or an operation is told in two entries of one moment: the first of them is the one to name."""
    before = next((one for one in history if one.version == last.version - 1), None)
    pair = before is not None and before.kind in ("fall", "procedure")
    return before if before is not None and pair and (before.at, before.by) == (last.at, last.by) else last
