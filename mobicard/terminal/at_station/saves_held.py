"""Saves held on this station that met another's once the ledger was back: settled here, one by one."""

from __future__ import annotations

from typing import Any

from mobicard.facts import FallEvent, Record, RecordRefused, read_record
from mobicard.ledger import LedgerError
from mobicard.ledger.outbox import Held
from mobicard.terminal.asking import Choose
from mobicard.terminal.looks import safe
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.record.clash import Clash
from mobicard.ward import BedView, SaveRefused, WardRefused, merge


def settle_next(place: PlaceScreen) -> None:
    """Offer the first held save that the ledger refused: theirs, mine, or both together."""
    ward = place.ward
    if ward.offline.says:
        place.refuse("The ledger is still away. What was saved is held on this station and sent by itself.")
        return
    if not ward.offline.refused and ward.offline.of_others:
        who = ward.offline.of_others[0].entries[0].by
        place.refuse(f"What waits was entered by {who}, who signs in to send it.")
        return
    if not ward.offline.refused:
        place.say("Nothing is held: every save is in the ledger.")
        return
    place.with_initials(lambda: _offer(place, ward.offline.refused[0]))


def _offer(place: PlaceScreen, held: Held) -> None:
    """Try the save again over the version it was made for; a clash is shown fact by fact."""
    mine = _record(held)
    last = held.entries[-1]
    if mine is None:
        _ask_let_go(place, held, "it is no assessment")
        return
    base = next((entry.expect for entry in held.entries if entry.expect is not None), 0)
    try:
        if _fall(held) is not None:
            _fell(place, held, place.ward.bed(last.stay).version)
            return
        _settled(place, held, place.ward.save(last.stay, mine, base))
    except SaveRefused as clash:
        met = clash
        place.app.push_screen(
            Clash(met.theirs.bed, met), lambda answer: _answered(place, held, mine, met, answer)
        )
    except (WardRefused, LedgerError) as refused:
        _ask_let_go(place, held, refused.says)


def _answered(
    place: PlaceScreen,
    held: Held,
    mine: Record,
    clash: SaveRefused,
    answer: tuple[str, frozenset[str]] | None,
) -> None:
    if answer is None:
        return
    how, take_theirs = answer
    stay = held.entries[-1].stay
    if how == "take":
        _settle(place, held, f"The record of {clash.by} stands for {clash.theirs.bed}.")
        return
    record = mine if how == "keep" else merge(mine, clash.fields, clash.theirs, take_theirs)
    try:
        _settled(place, held, place.ward.save(stay, record, clash.version, settled=True))
    except SaveRefused:
        _offer(place, held)
    except (WardRefused, LedgerError) as refused:
        place.refuse(refused.says)


def _fell(place: PlaceScreen, held: Held, version: int) -> None:
    """A held fall goes on top of whatever was saved meanwhile: it never undoes another's facts."""
    event = _fall(held)
    assert event is not None
    _settled(place, held, place.ward.fell(held.entries[-1].stay, event, version))


def _settled(place: PlaceScreen, held: Held, view: BedView) -> None:
    for screen in place.app.screen_stack:
        screen.post_message(BedSaved(view))
    _settle(place, held, f"{view.bed}: what was held is in the ledger now.{view.late_says}")


def _settle(place: PlaceScreen, held: Held, says: str) -> None:
    try:
        place.ward.offline.settle(held)
    except LedgerError as stays:
        place.refuse(stays.says)
    else:
        place.say(says)


def _ask_let_go(place: PlaceScreen, held: Held, why: str) -> None:
    last = held.entries[-1]
    facts: Any = last.body.get("record", {})
    bed = facts.get("bed", "a bed") if isinstance(facts, dict) else "a bed"

    def chosen(key: str | None) -> None:
        if key == "d":
            _settle(place, held, "Let go.")

    asks = f"The save for {safe(str(bed))} by {safe(last.by)} cannot be sent: {safe(why)}"
    choices = [("k", "keep it on this station"), ("d", "let it go: it is not needed any more")]
    place.app.push_screen(Choose(asks, choices), chosen)


def _record(held: Held) -> Record | None:
    facts = held.entries[-1].body.get("record")
    try:
        return read_record(facts) if isinstance(facts, dict) else None
    except RecordRefused:
        return None


def _fall(held: Held) -> FallEvent | None:
    told = next((entry.body.get("event") for entry in held.entries if entry.kind == "fall"), None)
    return FallEvent.model_validate(told) if isinstance(told, dict) else None
