"""The plan's code: six characters that say which content a page was printed from."""

from __future__ import annotations

import hashlib
from json import JSONEncoder
from typing import Any

from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.rules.policy import Policy

ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""No 0/O, 1/I/L, U: read aloud and typed without mistakes."""

LENGTH = 6

_encode = JSONEncoder(sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode


def plan_code(plan: Plan, record: Record, policy: Policy) -> str:
    """The code of everything the cards print.

    Who assessed, and when, count only once the plan has expired: the same findings recorded again for the
    same shift leave the door as it is.
    """
    printed = {
        "bed": plan.bed,
        "level": [plan.level.value, plan.derived_level.value, plan.helpers],
        "tasks": [task.as_json() for task in plan.tasks.values()],
        "limits": [limit.as_json() for limit in plan.weight_bearing],
        "fall_risk": plan.fall_risk.as_json() if plan.fall_risk else None,
        "orthostatic": plan.orthostatic.as_json() if plan.orthostatic else None,
        "conflicts": [conflict.as_json() for conflict in plan.conflicts],
        "not_assessed": plan.not_assessed,
        "valid_until": str(plan.valid_until),
        "expired": plan.expired,
        "assessed": [str(plan.assessed_at), plan.assessed_by] if plan.expired else None,
        "override": plan.override.as_json() if plan.override else None,
        "after_fall": plan.after_fall.as_json() if plan.after_fall else None,
        "general": [reason.as_json() for reason in plan.general],
        **_printed_facts(record, policy),
    }
    if plan.head_observations:
        printed["head_observations"] = str(plan.head_observations.since)
    return short_code(_encode(printed).encode())


def _printed_facts(record: Record, policy: Policy) -> dict[str, Any]:
    """What the cards print straight from the record."""
    return {
        "lines": [line.model_dump(mode="json") for line in record.lines],
        "on_before_up": record.on_before_up,
        "aids": record.aids,
        "body": [
            record.weak_side,
            record.neglect,
            record.skin_risk,
            record.sore_sites,
            record.pregnancy_weeks,
        ],
        "legs": {leg: test.model_dump(mode="json") for leg, test in record.legs.items()},
        "orders": [order.says for order in record.orders],
        "communication": record.communication.model_dump(mode="json") if record.communication else None,
        "label": record.label if policy.door.show_label else None,
    }


def short_code(content: bytes) -> str:
    """Six characters of the content's SHA-256."""
    number = int.from_bytes(hashlib.sha256(content).digest()[:8], "big")
    letters = []
    for _ in range(LENGTH):
        number, index = divmod(number, len(ALPHABET))
        letters.append(ALPHABET[index])
    return "".join(letters)
