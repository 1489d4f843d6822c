"""What was told of one stay, entry by entry: who, when, and which fact went from what to what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from mobicard.facts.text import plain_says
from mobicard.ledger import Entry
from mobicard.ledger.state import WITHDRAWABLE
from mobicard.ward.beds import Beds
from mobicard.ward.merging import flat
from mobicard.ward.reader.audit import DID, SAYS


@dataclass(frozen=True, slots=True)
class Told:
    """One entry of a stay. ``at`` is ward time; ``changes`` are its facts, each as ``name: old -> new``.

    ``withdrawn`` once a correction names it; ``correctable`` while one still can.
    """

    number: int
    at: datetime
    by: str
    did: str
    changes: tuple[str, ...]
    withdrawn: bool
    correctable: bool

    @property
    def says(self) -> str:
        """The entry in one line, without its number."""
        gone = "WITHDRAWN, was: " if self.withdrawn else ""
        facts = "; ".join(self.changes) or ("no fact changed" if self.did == "recorded" else "")
        return f"{self.at:%d %b %H:%M}  {self.by}  {gone}{self.did}" + (f": {facts}" if facts else "")


QUIET = ("seen", "read", "prepared", "hung", "taken_down", "tick")
"""Entries that tell nothing of the patient."""


def told_of(ward: Beds, stay: str) -> list[Told]:
    """Everything told of a stay, oldest first. Raises LedgerError."""
    history = [entry for entry in ward.ledger.history(stay) if entry.kind not in QUIET]
    named = {entry.body.get("corrects") for entry in history if entry.kind == "correct"}
    stood: Mapping[str, Any] = {}
    told = []
    for entry in history:
        now = _facts(entry, stood)
        told.append(_told(ward, entry, changed_facts(stood, now), withdrawn=entry.version in named))
        stood = now
    return told


def _told(ward: Beds, entry: Entry, changes: Iterable[str], *, withdrawn: bool) -> Told:
    return Told(
        number=entry.version,
        at=ward.clock.ward_time(entry.at),
        by=entry.by,
        did=_did(entry),
        changes=tuple(changes),
        withdrawn=withdrawn,
        correctable=entry.kind in WITHDRAWABLE and not withdrawn,
    )


def _facts(entry: Entry, stood: Mapping[str, Any]) -> Mapping[str, Any]:
    """The facts that stand after an entry; one that carries no record leaves them as they were."""
    if "record" not in entry.body:
        return stood
    told = entry.body["record"]
    return told if isinstance(told, Mapping) else {}


def _did(entry: Entry) -> str:
    """What somebody did, with what the entry says of itself: from which bed, what was wrong."""
    did = DID.get(entry.kind, entry.kind)
    says = SAYS.get(entry.kind, "").format_map({**_NOTHING, **entry.body})
    what = entry.body.get("what") if entry.kind == "procedure" else None
    return ": ".join(part for part in (did, says, what or "") if part)


_NOTHING = {"to": "nobody", "from": "nowhere", "corrects": "none", "why": "nothing said"}


def changed_facts(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """Each fact that differs between two records as JSON, in words: ``standing: steady -> unable``.

    Of a first record every fact is new, so each stands alone.
    """
    was, now = flat(old), flat(new)
    if not was:
        return [f"{_name(name)}: {_value(value)}" for name, value in now.items()]
    names = [name for name in {**was, **now} if was.get(name) != now.get(name)]
    return [f"{_name(name)}: {_value(was.get(name))} -> {_value(now.get(name))}" for name in names]


def _name(name: str) -> str:
    return name.replace("_", " ").replace(".", ", ")


def _value(value: object) -> str:
    """A value in words; what is absent was not said, what is empty was asked and is none."""
    if value is None:
        return "not said"
    return "none" if value in ([], {}) else plain_says(value)
