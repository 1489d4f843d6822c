"""What is kept beside the entries (each stay's state, the newest of each kind), as the entries say it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Row, select

from mobicard.ledger.database.schema import slot, stay
from mobicard.ledger.entry import FACT_KINDS, body_from
from mobicard.ledger.state import bed_of

_ADMITS = ("admit", "readmit")
_BARE = ("record", "same", "correct", "fall")
_PAGES = ("prepared", "hung", "taken_down")


@dataclass(slots=True)
class Kept:
    """What the stay and slot tables should say of one stay."""

    version: int = 0
    fact_version: int = 0
    bed: str | None = None
    opened_at: str = ""
    closed_at: str | None = None
    slots: dict[str, int] = field(default_factory=dict)

    def take(self, row: Row[Any], body: Mapping[str, Any]) -> None:
        """Fold the next entry of the stay in, as the trigger does."""
        first, self.version = self.version == 0, row.version
        self.slots[_slot(row, body)] = row.seq
        if first:
            self.opened_at = row.at
        if row.kind in FACT_KINDS:
            self.fact_version = row.version
        if row.kind in {*_ADMITS, "move"} or (first and row.kind == "record"):
            self.bed = bed_of(body)
        elif row.kind == "discharge" or body.get("into") is not None:
            self.bed = None
        if row.kind in _ADMITS or first:
            self.closed_at = None
        elif row.kind == "discharge" or body.get("into") is not None:
            self.closed_at = row.at


def _slot(row: Row[Any], body: Mapping[str, Any]) -> str:
    """Under which name the trigger keeps an entry as the newest of its kind."""
    if row.version == 1:
        return "first"
    if row.kind in _BARE and "record" not in body:
        wrong = body.get("corrects")
        return f"{row.kind}:{'bare' if wrong is None else wrong}"
    if row.kind in _PAGES and body.get("page") not in {None, "door"}:
        return f"{row.kind}:{body['page']}"
    return str(row.kind)


def odd_stays(connection: Connection, expected: Mapping[str, Kept]) -> set[str]:
    """The stays of which the tables say something else than the entries."""
    held = {
        row.stay: Kept(row.version, row.fact_version, row.bed, row.opened_at, row.closed_at)
        for row in connection.execute(select(stay))
    }
    lost = set()
    for row in connection.execute(select(slot)):
        if row.stay in held:
            held[row.stay].slots[row.slot] = row.seq
        else:
            lost.add(row.stay)
    return lost | {which for which in held.keys() | expected.keys() if held.get(which) != expected.get(which)}


def readable_body(text: str) -> Mapping[str, Any] | None:
    """A body's facts, none once emptied; None where it is no JSON object, or one nested beyond sense."""
    try:
        said = body_from(text)
    except (ValueError, RecursionError):
        return None
    return said if said or text in {"", "{}"} else None
