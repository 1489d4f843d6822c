"""The state of a stay, folded from its entries: what stands now, or stood at a time."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from mobicard.facts import Record
from mobicard.facts.text import without_controls
from mobicard.ledger.entry import GAP, Entry

WITHDRAWABLE = ("record", "same", "procedure", "fall", "assign")
"""Kinds a correction can withdraw; a place (admit, move) is corrected by moving again."""


UNREADABLE = "The last record was saved by another version of mobicard and cannot be read here: assess again."
"""Why a stay has no record though one was saved; it counts as not assessed and never hides the other beds."""


HELD_ASIDE = (
    "Entry {} of this patient cannot be read and is held aside: assess again, and have the keeper run "
    "`mobicard ledger verify`."
)
"""Why a stay counts as not assessed until a record after the entry that makes no sense."""


@dataclass(frozen=True, slots=True)
class StayState:
    """What the ledger says of one stay. Times are aware UTC, as the entries were written.

    ``version`` counts every entry, ``fact_version`` is the last that says something about the patient: give
    it as ``expect`` when saving. ``ticks`` and ``read_by`` reach back a day and a half. ``unreadable`` says
    why ``record`` is None though one was saved.
    """

    stay: str
    version: int
    fact_version: int
    bed: str
    label: str | None = None
    record: Record | None = None
    record_version: int | None = None
    recorded_at: datetime | None = None
    recorded_by: str | None = None
    admitted_at: datetime | None = None
    discharged_at: datetime | None = None
    merged_into: str | None = None
    assignment: str | None = None
    moved_at: datetime | None = None
    moved_version: int = 0
    procedure_at: datetime | None = None
    procedure_version: int = 0
    procedure: Mapping[str, Any] = field(default_factory=dict)
    fall_at: datetime | None = None
    fall_version: int = 0
    fall: Mapping[str, Any] = field(default_factory=dict)
    prepared_code: str | None = None
    prepared_at: datetime | None = None
    prepared_lasts: str | None = None
    hung_code: str | None = None
    hung_lasts: str | None = None
    hung_at: datetime | None = None
    hung_by: str | None = None
    read_by: Mapping[str, datetime] = field(default_factory=dict)
    ticks: tuple[Mapping[str, Any], ...] = ()
    unreadable: str | None = None

    @property
    def open(self) -> bool:
        """Whether the patient is in the bed: neither discharged nor merged into another stay."""
        return self.discharged_at is None and self.merged_into is None


@dataclass(slots=True)
class _Folding:
    """The state under construction; becomes a frozen StayState at the end."""

    facts: dict[str, Any] = field(default_factory=dict)
    record: Mapping[str, Any] | None = None
    reads: dict[str, datetime] = field(default_factory=dict)
    ticks: list[Mapping[str, Any]] = field(default_factory=list)


def fold(entries: Iterable[Entry]) -> StayState | None:
    """The state after these entries of one stay, taken in order of version; None without any.

    Also right for the newest entry of each kind alone, which is how a board is loaded.
    """
    ordered = sorted({entry.version: entry for entry in entries}.values(), key=lambda entry: entry.version)
    if not ordered:
        return None
    gaps = [entry for entry in ordered if entry.kind == GAP]
    wrong = {entry.body.get("corrects") for entry in ordered if entry.kind == "correct"}
    folding = _Folding(facts={"bed": ""})
    for entry in ordered:
        if entry.version not in wrong or entry.kind not in WITHDRAWABLE:
            _take(folding, entry)
    fact_version = max((entry.version for entry in ordered if entry.is_fact), default=0)
    state = _finish(folding, ordered[-1], fact_version)
    gap = max(gaps, key=lambda entry: entry.version, default=None)
    if gap is None or gap.version <= (state.record_version or 0):
        return state
    return replace(state, bed=state.bed or "?", record=None, unreadable=HELD_ASIDE.format(gap.seq))


def _finish(folding: _Folding, last: Entry, fact_version: int) -> StayState:
    facts = folding.facts
    record, facts["unreadable"] = None, None
    if facts["bed"] != (bed := _fit(facts["bed"], 16)):
        facts["bed"], facts["unreadable"] = bed or "?", UNREADABLE
    if folding.record:
        try:
            record = Record.model_validate(
                {**folding.record, "bed": facts["bed"] or folding.record.get("bed")}
            )
        except ValidationError:
            facts["unreadable"] = UNREADABLE
    facts["label"] = (record.label if record else None) or _fit(facts.get("label"), 12) or None
    return StayState(
        stay=last.stay,
        version=last.version,
        fact_version=fact_version,
        record=record,
        read_by=MappingProxyType(folding.reads),
        ticks=tuple(folding.ticks),
        **facts,
    )


def _fit(said: object, most: int) -> str:
    """A bed or a label as a record takes it: past the program anything may stand there."""
    return without_controls(re.sub("[<>]", "", said))[:most].strip() if isinstance(said, str) else ""


def _take(folding: _Folding, entry: Entry) -> None:
    """Fold one entry in; a kind that leaves the state as it is (seen) falls through."""
    facts, body = folding.facts, entry.body
    if entry.is_fact and "record" in body:
        said = body["record"]
        folding.record = said if isinstance(said, Mapping) or said is None else {"not a record": said}
        facts["record_version"] = entry.version
        facts["bed"] = facts["bed"] or (folding.record or {}).get("bed", "")
    match entry.kind:
        case "admit" | "move" | "readmit":
            _take_place(facts, entry)
        case "record" | "correct" | "same" if "record" in body:
            facts["recorded_at"], facts["recorded_by"] = entry.at, entry.by
            facts.setdefault("admitted_at", entry.at)
        case "discharge":
            facts["discharged_at"] = entry.at
        case "merge" if body.get("into"):
            facts["merged_into"] = body["into"]
        case "assign":
            facts["assignment"] = body.get("to") or None
        case "procedure" | "fall":
            facts[entry.kind] = body
            facts[f"{entry.kind}_at"] = entry.at
            facts[f"{entry.kind}_version"] = entry.version
        case "prepared" | "hung" | "taken_down" if body.get("page", "door") == "door":
            _take_card(facts, entry)
        case "read":
            folding.reads[entry.by] = entry.at
        case "tick":
            folding.ticks.append(MappingProxyType({**body, "at": entry.at, "by": entry.by}))


def _take_place(facts: dict[str, Any], entry: Entry) -> None:
    facts["bed"] = bed_of(entry.body) or facts["bed"]
    if entry.kind == "move":
        facts["moved_at"], facts["moved_version"] = entry.at, entry.version
        return
    facts["discharged_at"] = None
    facts["merged_into"] = None
    facts["admitted_at"] = entry.at
    facts["label"] = entry.body.get("label") or facts.get("label")


def bed_of(body: Mapping[str, Any]) -> str | None:
    """The bed an entry's body names: where it goes to, else its bed, else its record's."""
    record = body.get("record")
    named = body.get("to") or body.get("bed") or (record.get("bed") if isinstance(record, Mapping) else None)
    return named if isinstance(named, str) else None


def _take_card(facts: dict[str, Any], entry: Entry) -> None:
    if entry.kind == "prepared":
        facts["prepared_code"], facts["prepared_at"] = entry.body.get("code"), entry.at
        facts["prepared_lasts"] = entry.body.get("lasts")
        return
    hung = entry.kind == "hung"
    facts["hung_code"] = entry.body.get("code") if hung else None
    facts["hung_lasts"] = entry.body.get("lasts") if hung else None
    facts["hung_at"] = entry.at if hung else None
    facts["hung_by"] = entry.by if hung else None
