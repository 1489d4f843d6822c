"""The audit: who saw, recorded, printed, overrode, signed in, and when; read from the ledger."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from mobicard.ledger import Entry
from mobicard.ledger.entry import OFFICE
from mobicard.ledger.state import bed_of
from mobicard.ward.beds import Beds
from mobicard.ward.views import WardRefused

DID = {
    "admit": "admitted",
    "record": "recorded",
    "same": "recorded",
    "correct": "corrected",
    "move": "moved",
    "discharge": "discharged",
    "readmit": "readmitted",
    "merge": "merged",
    "procedure": "recorded",
    "fall": "recorded",
    "assign": "assigned",
    "prepared": "printed",
    "hung": "hung",
    "taken_down": "taken down",
    "read": "took over",
    "tick": "ticked",
    "seen": "saw",
    "day_plan": "planned",
    "person": "staff list",
    "limits": "sign-in limits",
    "sign_in": "signed in",
    "sign_in_refused": "sign-in refused",
    "purge": "purged",
    "backup": "backed up",
}
"""What each kind of entry says that somebody did."""

SAYS = {
    "correct": "entry {corrects} was wrong: {why}",
    "same": "same as before",
    "fall": "a fall",
    "procedure": "a procedure",
    "assign": "to {to}",
    "move": "from {from}",
    "prepared": "card {code}",
    "hung": "card {code}",
    "taken_down": "card {code}",
    "person": "{initials}, {role}",
    "limits": "{attempts} tries, {pause_min} min pause, {idle_min} min idle",
    "backup": "{what} {to}",
}
"""What is added in words, from the entry's body."""


SET_BACK = timedelta(minutes=1)
"""A later entry that tells an earlier time by more than this was made by a clock that had been set back."""

ODD = timedelta(minutes=10)
"""Clocks of a station and its ledger differ by less. Common practice, no source."""

TIME_OF_DAY = "%d %b %Y %H:%M"


@dataclass(frozen=True)
class AuditLine:
    """One thing somebody did. ``at`` is ward time; ``bed`` the bed the stay was in then, empty for none.

    ``received`` is when it came in by the clock of the machine that keeps the ledger.
    """

    seq: int
    at: datetime
    by: str
    did: str
    bed: str
    stay: str
    entry: int
    says: str
    received: datetime | None = None

    def as_json(self) -> dict[str, Any]:
        """As JSON values."""
        came = self.received.isoformat(timespec="seconds") if self.received else None
        return {**asdict(self), "at": self.at.isoformat(timespec="seconds"), "received": came}


def audit(
    ward: Beds,
    bed: str | None = None,
    person: str | None = None,
    since: datetime | None = None,
    *,
    last: bool = False,
) -> list[AuditLine]:
    """What anyone did, or this person, in the order it was saved; of one bed, every stay ever in it.

    ``last``: of the bed only who lies there now; of an empty one who left the ward last, and all who lie
    elsewhere since. ``since`` (ward time): only what was done then or later. The office's entries (sign-in,
    staff list) go to a keeper; others see their own. Raises WardRefused when no stay was ever in the bed,
    LedgerError.
    """
    if bed is None and person is None:
        lines = _lines(ward, ward.ledger.entries())
    else:
        stays = set(ward.ledger.touched_by(person) if bed is None and person else _of(ward, bed or "", last))
        if since is not None:
            stays -= ward.ledger.ended_before(stays, ward.clock.utc_of(since))
        some = ward.ledger.whole(stays, person)
        lines = _lines(ward, some, ward.ledger.newest_before([entry.seq for entry in some]))
    return [line for line in lines if person in (None, line.by) and (since is None or line.at >= since)]


def _of(ward: Beds, bed: str, last: bool) -> list[str]:
    """The stays ever in the bed, or the last, however it was written. Raises WardRefused where none was."""
    wanted = bed.strip().casefold()
    if last and (lies := [one for one, where in ward.ledger.places().items() if where.casefold() == wanted]):
        return lies
    written = [one for one in ward.ledger.beds_ever() if one.casefold() == wanted]
    stays = [stay for one in written for stay in ward.ledger.stays_of("bed", one)]
    if not stays:
        raise WardRefused(f"no stay was ever in {bed}; `mobicard stay list` names the beds")
    return ward.ledger.last_of(stays) if last else stays


def _lines(
    ward: Beds, entries: Iterable[Entry], back: Mapping[int, datetime] | None = None
) -> list[AuditLine]:
    """A line an entry; ``back``: the newest time the whole ledger had seen, where these are not all."""
    beds: dict[str, str] = {}
    newest: datetime | None = None
    lines = []
    came = ward.ledger.receipts(None if back is None else [entry.seq for entry in entries])
    for entry, did in _with_overrides(entries):
        if entry.kind in {"admit", "move", "readmit", "record"} and (named := bed_of(entry.body)):
            beds[entry.stay] = named if entry.kind != "record" else beds.get(entry.stay, named)
        here = beds.get(entry.stay, "")
        if back is not None:
            newest = back.get(entry.seq)
        if _may_see(ward, entry):
            at = ward.clock.ward_time(entry.at)
            received = came.get(entry.seq)
            says = "; ".join(filter(None, (_says(entry), _clock_says(entry, newest, ward, received))))
            told = ward.clock.ward_time(received) if received else None
            lines.append(AuditLine(entry.seq, at, entry.by, did, here, entry.stay, entry.version, says, told))
        newest = max(_true_time(entry), newest or _true_time(entry))
    return lines


def _with_overrides(entries: Iterable[Entry]) -> Iterator[tuple[Entry, str]]:
    """Each entry and what was done; a record that sets or takes back a level is an override."""
    over: dict[str, object] = {}
    for entry in entries:
        did = DID.get(entry.kind, entry.kind)
        facts = entry.body.get("record")
        if isinstance(facts, Mapping):
            now = facts.get("override")
            if now != over.get(entry.stay) and entry.kind != "correct":
                did = "overrode"
            over[entry.stay] = now
        yield entry, did


def _true_time(entry: Entry) -> datetime:
    """When the ledger took the entry, by the machine's clock: not a told time, nor when a station held it."""
    return entry.machine_at or entry.received


def _clock_says(entry: Entry, newest: datetime | None, ward: Beds, came: datetime | None) -> str:
    """What is odd about the entry's time; ``newest`` is the latest time the ledger had seen till then.

    When it ``came`` is said of a time that was made up past the program; not at a time told, as all are then.
    """
    if entry.machine_at is not None:
        return f"told another time: the machine's was {ward.clock.ward_time(entry.machine_at):{TIME_OF_DAY}}"
    if entry.received != entry.at:
        return f"held; received {ward.clock.ward_time(entry.received):{TIME_OF_DAY}}"
    if came is not None and ward.clock.is_true and abs(came - entry.at) > ODD:
        return f"received {ward.clock.ward_time(came):{TIME_OF_DAY}}"
    return "the clock was set back" if newest is not None and newest - entry.at > SET_BACK else ""


def _may_see(ward: Beds, entry: Entry) -> bool:
    person = ward.person
    return entry.stay != OFFICE or person is None or person.role == "keeper" or entry.by == person.initials


def _says(entry: Entry) -> str:
    """What there is to add in words; never a fact about the patient but the level somebody judged."""
    facts = entry.body.get("record")
    late = entry.body.get("late")
    if isinstance(late, Mapping):
        return f"told late: a look of {late.get('assessed_at')}"
    if entry.kind == "seen":
        return f"{entry.body.get('what', '')} {entry.body.get('of', '')}".strip()
    over = facts.get("override") if isinstance(facts, Mapping) else None
    if isinstance(over, Mapping) and entry.kind == "record":
        return f"level {over.get('level')} by own judgement"
    return SAYS.get(entry.kind, "").format_map(defaultdict(lambda: "nobody", entry.body))
