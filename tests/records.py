"""Records the tests share: invented patients, every deciding fact seen."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from mobicard.facts import Record, read_record
from mobicard.ledger import NewEntry

INDEPENDENT = dict.fromkeys(
    ("boost", "turn", "sit_up", "stand", "chair", "toilet", "walk", "stretcher", "floor"), "independent"
)
SEEN = {
    "alertness": "alert",
    "directions": "reliable",
    "behavior": "calm",
    "sitting": "steady",
    "standing": "steady",
    "stepping": "walks",
    "arms": "both",
    "help": INDEPENDENT,
    "fall_risk": {
        "instrument": "morse",
        "answers": {
            "history": False,
            "secondary_diagnosis": False,
            "aid": "none",
            "iv": False,
            "gait": "normal",
            "mental": "oriented",
        },
    },
}


def assessed(bed: str, **facts: Any) -> Record:
    """A patient who does everything alone; ``facts`` on top."""
    return read_record({"bed": bed, **SEEN, **facts})


def record_entry(
    stay: str, record: Record, at: datetime, by: str, *, expect: int | None = None, kind: str = "record"
) -> NewEntry:
    """A nurse's record as an entry."""
    return NewEntry(stay, kind, at, by, {"record": record.as_json()}, expect)
