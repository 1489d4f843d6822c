"""A page's code: six characters, the last a check, that say which content it was printed from."""

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
    """The code of everything the bedside card prints; the door has its own.

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
        "gear": {item.value: gear.as_json() for item, gear in plan.gear.items()},
        **_printed_facts(record, policy),
    }
    if plan.head_observations:
        printed["head_observations"] = str(plan.head_observations.since)
    return short_code(_encode(printed).encode())


def _printed_facts(record: Record, policy: Policy) -> dict[str, Any]:
    """What the cards print straight from the record."""
    return {
        "seen": [
            record.alertness,
            record.directions,
            record.behavior,
            record.sitting,
            record.standing,
            record.stepping,
            record.arms,
        ],
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
        "rounds": [record.turn_every_h, record.toilet_every_h],
        "goals": [goal.model_dump(mode="json") for goal in record.goals],
        "orders": [order.says for order in record.orders],
        "communication": record.communication.model_dump(mode="json") if record.communication else None,
        "label": record.label if policy.door.show_label else None,
    }


def short_code(content: bytes) -> str:
    """Five characters of the content's SHA-256 and their check character.

    A slip of the key is then no code at all, never another card's: ISO 7064 MOD 37-2 misses no single letter
    and no two changed about. A check outside the alphabet is passed over for the next hash.
    """
    while True:
        content = hashlib.sha256(content).digest()
        number, letters = int.from_bytes(content[:8], "big"), []
        for _ in range(LENGTH - 1):
            number, index = divmod(number, len(ALPHABET))
            letters.append(ALPHABET[index])
        body = "".join(letters)
        if (check := check_character(body)) in ALPHABET:
            return body + check


CHECKED = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"


def check_character(body: str) -> str:
    """The check character of letters and figures. Source: ISO 7064, MOD 37-2."""
    product = 0
    for letter in body:
        product = (product + CHECKED.index(letter)) * 2 % 37
    return CHECKED[(38 - product) % 37]


def is_code(text: str) -> bool:
    """Whether this can be a card's code: its letters, its length, its check."""
    return len(text) == LENGTH and not set(text) - set(ALPHABET) and check_character(text[:-1]) == text[-1]
