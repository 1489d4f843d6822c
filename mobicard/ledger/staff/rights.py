"""Who may do what: the kinds of entry each role may append. The same table makes PostgreSQL's policies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from mobicard.ledger.entry import FACT_KINDS, KEEPING_KINDS

_LOOKING = ("read", "seen", "sign_in")
_DOOR = ("prepared", "hung", "taken_down")

ROLE_KINDS: Mapping[str, frozenset[str]] = {
    "nurse": frozenset((*FACT_KINDS, *_DOOR, *_LOOKING, "tick", "day_plan")),
    "clerk": frozenset(("admit", "move", "discharge", "readmit", "assign", "day_plan", *_DOOR, *_LOOKING)),
    "reader": frozenset(_LOOKING),
    "keeper": frozenset((*KEEPING_KINDS, *_LOOKING)),
}
"""Nurses say what is true of the patient; clerks say who lies where and what hangs on the door; readers read;
keepers look after the staff list, backups and retention, and touch no patient's facts."""

LIMITS = {"attempts": "attempts", "pause_min": "pause_min", "idle_min": "idle_lock_min"}
"""What a ledger keeps of the policy's limits of sign-in, and their names there."""

ROLES = tuple(ROLE_KINDS)


@dataclass(frozen=True, slots=True)
class Person:
    """Someone on the staff list. ``token`` is proof of having signed in to this ledger; empty otherwise."""

    initials: str
    role: str
    active: bool = True
    token: str = field(default="", repr=False, compare=False)

    def may(self, kind: str) -> bool:
        """Whether this person's role may append an entry of this kind."""
        return self.active and kind in ROLE_KINDS.get(self.role, frozenset())
