"""Entries: what is appended to the ledger, how it is spelled, and how it is chained by hash."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any
from uuid import uuid4

from mobicard.facts import Record
from mobicard.facts.text import STEERING, harmless
from mobicard.ledger.errors import LedgerRefused

MOST_BYTES = 4 * 2**20
"""The largest body; a day plan of 100 beds has a twentieth of it."""

BODY_SCHEMA = 1
"""The spelling of entry bodies; a change of their meaning raises it."""

FACT_KINDS = (
    "admit",
    "record",
    "same",
    "correct",
    "move",
    "discharge",
    "readmit",
    "merge",
    "procedure",
    "fall",
    "assign",
)
"""Kinds that say something about the patient; saving one after another person saved one is a conflict."""

DESK_KINDS = ("prepared", "hung", "taken_down", "read", "tick", "seen", "day_plan")
"""Kinds that say what was done with the cards or the handoff; they never conflict with a nurse's save."""

KEEPING_KINDS = ("person", "limits", "sign_in", "sign_in_refused", "purge", "backup")
"""Kinds about the ledger itself; they belong to the stay named OFFICE."""

KINDS = FACT_KINDS + DESK_KINDS + KEEPING_KINDS

GAP = "unreadable"
"""What an entry that cannot be read is given as; no such kind is ever saved."""

OFFICE = "*office"
"""The stay name under which entries about people, sign-in, backup and retention are kept."""

MACHINE_AT = "machine_at"
"""In a body: the machine's own time, where the entry was made by a time that somebody told it."""

RECEIVED = "received"
"""In a body: when the ledger took an entry that a station had held; ``at`` is when it was made."""

FIRST_PREV = "0" * 64
"""The hash before the first entry."""


def new_id() -> str:
    """A fresh id; give one to an entry before the first try so that a retry is recognised."""
    return uuid4().hex


@dataclass(frozen=True, slots=True)
class NewEntry:
    """One thing to append; ``at`` is aware, ``expect`` the fact version the writer saw (None: just append).

    Bodies by kind: admit, readmit ``{"bed", "label"}``; move ``{"from", "to"}``, with ``"swap": other
    stay`` on both of a pair that change beds; record, same ``{"record"}``; fall ``{"event", "record"}``;
    correct ``{"corrects": version, "why", "record": what stands now}``; merge ``{"into": the stay kept}``;
    procedure ``{"what"}``; assign ``{"to"}``; prepared, hung, taken_down ``{"code", "page"}`` (a door card
    without a page); tick ``{"task", "outcome"}``; discharge, read, seen nothing.
    """

    stay: str
    kind: str
    at: datetime
    by: str
    body: Mapping[str, Any] = field(default_factory=dict)
    expect: int | None = None
    id: str = field(default_factory=new_id)

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise LedgerRefused(f"“{self.kind}” is not a kind of entry the ledger knows. Nothing was saved.")
        if self.at.tzinfo is None:
            raise LedgerRefused("An entry needs its time with the time zone. Nothing was saved.")
        for name, value in (("stay", self.stay), ("initials", self.by), ("id", self.id)):
            if not value or len(value) > 64 or not value.isprintable():
                raise LedgerRefused(
                    f"The entry's {name} is empty, too long or unprintable. Nothing was saved."
                )


@dataclass(frozen=True, slots=True)
class Entry:
    """One appended entry. ``seq`` is its place in the ledger, ``version`` its place within the stay."""

    seq: int
    id: str
    stay: str
    version: int
    kind: str
    at: datetime
    by: str
    schema: int
    body: Mapping[str, Any]
    prev: str
    hash: str

    @property
    def is_fact(self) -> bool:
        """Whether it says something about the patient, so that it can conflict with a nurse's save."""
        return self.kind in FACT_KINDS

    @property
    def received(self) -> datetime:
        """When the ledger came to know it: later than ``at`` where a station had held it."""
        return self._time_in_body(RECEIVED) or self.at

    @property
    def machine_at(self) -> datetime | None:
        """The machine's own time, where another was told."""
        return self._time_in_body(MACHINE_AT)

    def _time_in_body(self, name: str) -> datetime | None:
        return moment_of(self.body.get(name))

    @property
    def record(self) -> Record | None:
        """The record this entry carries, if it carries one."""
        facts = self.body.get("record")
        return Record.model_validate(facts) if facts else None


def body_text(body: Mapping[str, Any]) -> str:
    """A body's one spelling: JSON, keys sorted, no spaces; the same on both engines, so hashes agree."""
    try:
        text = json.dumps(
            dict(body),
            sort_keys=True,
            ensure_ascii=False,
            separators=(",", ":"),
            allow_nan=False,
            default=_plain,
        )
        size = len(text.encode())
    except UnicodeEncodeError:
        raise LedgerRefused("The entry holds half a sign, which is no text. Nothing was saved.") from None
    except (TypeError, ValueError, RecursionError) as cause:
        raise LedgerRefused(f"The entry cannot be written down ({cause}). Nothing was saved.") from None
    if size > MOST_BYTES:
        raise LedgerRefused(f"The entry is larger than {MOST_BYTES // 2**20} MB. Nothing was saved.")
    return text


def body_from(text: str) -> Mapping[str, Any]:
    """The body again from its spelling; empty once its stay was purged."""
    said = json.loads(text) if text else {}
    if _STEERS.search(text):
        said = _harmless(said)
    return MappingProxyType(said if isinstance(said, dict) else {})


_STEERS = re.compile(r"\\u(?:00[01789]|061|20[0-2]|206)|\\[bf]|" + STEERING, re.IGNORECASE)
"""What may become a sign that steers a screen; whoever has the file can put one past every check."""


def _harmless(said: Any) -> Any:
    if isinstance(said, str):
        return harmless(said)
    if isinstance(said, dict):
        return {harmless(name): _harmless(value) for name, value in said.items()}
    return [_harmless(one) for one in said] if isinstance(said, list) else said


def time_text(at: datetime) -> str:
    """An aware time as UTC text of fixed width, so that text order is time order on both engines."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def moment_of(said: object) -> datetime | None:
    """The aware time that a text says, or None where it says none."""
    try:
        at = datetime.fromisoformat(said) if isinstance(said, str) else None
    except ValueError:
        return None
    return at if at and at.tzinfo else None


def digest_of(text: str) -> str:
    """SHA-256 (FIPS 180-4) of a text in UTF-8, as hex."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def chain_hash(row: Mapping[str, Any], body_digest: str) -> str:
    """The entry's hash over everything it says and the hash before it.

    The body enters by its digest, so that a purged body still leaves a chain that can be checked.
    """
    parts = [row["prev"], row["seq"], row["id"], row["stay"], row["version"], row["kind"]]
    parts += [row["at"], row["by"], row["schema"], body_digest]
    return digest_of("\n".join(str(part) for part in parts))


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"{type(value).__name__} has no spelling in JSON")
