"""Wrong entries: a new entry that names the wrong one withdraws it; nothing is taken away."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from mobicard.derive.over_time.open_hazards import carried_on
from mobicard.facts import Record
from mobicard.ledger import Entry
from mobicard.ledger.state import WITHDRAWABLE, fold
from mobicard.ward.recording import Recording
from mobicard.ward.views import BedView, WardRefused


def withdraw(ward: Recording, view: BedView, wrong: int, why: str, record: Record | None = None) -> BedView:
    """Correct entry ``wrong`` of a stay; without a record the stay is as if it had never been made.

    What the record leaves unsaid ends no hazard that stood without the wrong entry.

    Raises WardRefused when there is no such entry, and as ``correct``.
    """
    history = ward.ledger.history(view.stay)
    named = next((entry for entry in history if entry.version == wrong), None)
    if named is None or named.kind not in WITHDRAWABLE:
        numbers = ", ".join(str(one.version) for one in history if one.kind in WITHDRAWABLE)
        raise WardRefused(
            f"entry {wrong} of {view.bed} cannot be corrected; these can: {numbers or 'none yet'}. "
            "A wrong bed is put right by moving the patient"
        )
    stood = _without(history, named)
    if record is None:
        return ward.correct(view.stay, wrong, stood, why, view.version, restores=True)
    right = carried_on(stood, record, ward.policy) if stood else record
    return ward.correct(view.stay, wrong, right, why, view.version)


def _without(history: list[Entry], wrong: Entry) -> Record | None:
    """The record that stands when an entry is left out, and whatever earlier corrections left out.

    A correction that only restored a record says nothing of its own, so what it restored can be wrong too.
    """
    gone = _with_their_pairs(history, {wrong.version, *withdrawn(history)})
    gone |= {one.version for one in history if one.kind == "correct" and one.body.get("restores")}
    state = fold(one for one in history if one.version not in gone)
    return state.record if state and state.recorded_at else None


def withdrawn(history: Sequence[Entry]) -> dict[int, datetime]:
    """The versions of a stay that a correction withdrew, and when it did."""
    corrected = {entry.body.get("corrects"): entry.at for entry in history if entry.kind == "correct"}
    found = {entry.version: corrected[entry.version] for entry in history if entry.version in corrected}
    pairs = {two.version: found[one.version] for one, two in _pairs(history) if one.version in found}
    return found | pairs


def _with_their_pairs(history: Sequence[Entry], versions: set[int]) -> set[int]:
    return versions | {two.version for one, two in _pairs(history) if one.version in versions}


def _pairs(history: Sequence[Entry]) -> list[tuple[Entry, Entry]]:
    return [(one, two) for one, two in pairwise(history) if _in_one_breath(one, two)]


def _in_one_breath(told: Entry, then: Entry) -> bool:
    """Whether ``then`` is the record that was saved together with the fall or operation it follows from."""
    pair = told.kind in ("fall", "procedure") and then.kind == "record"
    return pair and (told.at, told.by) == (then.at, then.by)
