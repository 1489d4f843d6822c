"""The plan's code: six characters that say which content a page was printed from."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.rules.policy import Policy

ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""No 0/O, 1/I/L, U: read aloud and typed without mistakes."""

LENGTH = 6


def plan_code(plan: Plan, record: Record, policy: Policy) -> str:
    """The code of everything the cards print; who assessed and when count only once the plan has expired."""
    printed = plan.as_json()
    printed.pop("code")
    if not plan.expired:
        printed.pop("assessed_at")
        printed.pop("assessed_by")
    printed["record"] = _printed_facts(record, policy)
    text = json.dumps(printed, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return short(text.encode())


def _printed_facts(record: Record, policy: Policy) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "lines": [line.model_dump(mode="json") for line in record.lines],
        "on_before_up": list(record.on_before_up),
        "aids": [aid.value for aid in record.aids],
        "communication": record.communication.model_dump(mode="json") if record.communication else None,
    }
    if policy.door.show_label:
        facts["label"] = record.label
    return facts


def short(content: bytes) -> str:
    """Six characters of the content's SHA-256."""
    number = int.from_bytes(hashlib.sha256(content).digest()[:8], "big")
    letters = []
    for _ in range(LENGTH):
        number, index = divmod(number, len(ALPHABET))
        letters.append(ALPHABET[index])
    return "".join(letters)
