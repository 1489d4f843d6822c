"""The ledger away: said in every place; held saves that met another's are settled by keyboard."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from mobicard.facts.words import Balance, Level
from mobicard.ledger import LedgerUnreachable
from mobicard.terminal.record.clash import Clash

AWAY = "The ledger does not answer."


@contextmanager
def away(ward, monkeypatch) -> Iterator[None]:
    """While this lasts the ledger is not to be reached."""

    def gone(*_args: object, **_more: object) -> None:
        raise LedgerUnreachable(AWAY)

    with monkeypatch.context() as patch:
        for name in ("beds", "standing", "latest", "append", "history", "entries"):
            patch.setattr(ward.ledger, name, gone)
        yield


async def test_every_place_says_that_the_ledger_is_away(opened, ward, monkeypatch):
    """The line stands on the Board and over the round; what is saved meanwhile is held, not lost."""
    async with opened() as nurse:
        with away(ward, monkeypatch):
            nurse.app.screen.read_ledger()
            await nurse.until(lambda: AWAY in nurse.screen)
            await nurse.press("r")
            await nurse.until(lambda: AWAY in nurse.screen)
            await nurse.press("s", "enter")
            assert len(ward.offline.outbox.held()) == 1
        await nurse.press("escape")
        nurse.app.screen.read_ledger()
        await nurse.until(lambda: AWAY not in nurse.screen)
        assert ward.offline.outbox.held() == []
        assert ward.ledger.history(nurse.bed("5N-01").stay)[-1].kind == "same"


async def test_every_place_says_that_nothing_was_heard(opened, ward, monkeypatch):
    """The watcher hangs without a word, as behind a firewall that swallows: the board would look alive."""
    monkeypatch.setattr(ward.ledger, "watch", lambda *_words, **_more: None)
    async with opened() as nurse:
        ward.offline._sign -= 61
        await nurse.until(lambda: "Nothing has been heard from the ledger for 1 min" in nurse.screen)
        await nurse.press("r")
        ward.offline._sign -= 61  # opening the round reads, and is a sign itself
        await nurse.until(lambda: "Nothing has been heard" in nurse.screen)
        await nurse.press("escape")
        nurse.app.screen.read_ledger()
        await nurse.until(lambda: "Nothing has been heard" not in nurse.screen)


async def hold_and_clash(nurse, ward, monkeypatch) -> None:
    """JN's HOIST for 5N-01 is held; AB records the bed; the ledger comes back."""
    view = nurse.bed("5N-01")
    with away(ward, monkeypatch):
        ward.offline.known(LedgerUnreachable(AWAY))
        await nurse.press("o", "h", "enter")
        assert len(ward.offline.outbox.held()) == 1
    ward.call_me("AB")
    ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    ward.call_me("JN")
    nurse.app.screen.read_ledger()
    await nurse.until(lambda: "One save held on this station met" in nurse.screen)


async def test_a_held_save_that_met_anothers_is_put_together(opened, ward, monkeypatch):
    """The key for it, M: both changes are in the ledger, the outbox is empty, the line is gone."""
    async with opened() as nurse:
        await hold_and_clash(nurse, ward, monkeypatch)
        assert "a save of this bed is held: Ctrl+K settles it" in " ".join(nurse.screen.split())
        await nurse.press("ctrl+k")
        assert isinstance(nurse.app.screen, Clash)
        await nurse.press("m")
        record = nurse.bed("5N-01").record
        assert record.standing is Balance.SUPPORTED
        assert record.override.level is Level.HOIST
        assert ward.offline.outbox.held() == []
        await nurse.until(lambda: "held on this station" not in nurse.screen)


async def test_theirs_can_stand(opened, ward, monkeypatch):
    """The key for it, T: theirs stands, the held save is let go."""
    async with opened() as nurse:
        await hold_and_clash(nurse, ward, monkeypatch)
        await nurse.press("f8", "t")
        record = nurse.bed("5N-01").record
        assert record.standing is Balance.SUPPORTED
        assert record.override is None
        assert ward.offline.outbox.held() == []


async def test_going_back_keeps_it_held(opened, ward, monkeypatch):
    """The key for it, Esc: nothing is decided, the save stays on the station."""
    async with opened() as nurse:
        await hold_and_clash(nurse, ward, monkeypatch)
        await nurse.press("f8", "escape")
        assert len(ward.offline.outbox.held()) == 1
        assert nurse.bed("5N-01").record.override is None
