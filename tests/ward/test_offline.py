"""A station that loses its ledger goes on answering, holds what is saved, and sends it later."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from mobicard.ledger import Ledger, LedgerUnreachable
from mobicard.ward import BedView, Clock, Settings, Ward
from mobicard.ward.reader.audit import audit
from tests.conftest import MORNING
from tests.records import assessed


class Away:
    """A stand-in for a server that can be pulled out: passes everything on, or answers nothing."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger, self.gone = ledger, False

    def __getattr__(self, name: str) -> Any:
        found = getattr(self.ledger, name)
        if self.gone and name in {"append", "beds", "standing", "latest", "history"}:
            raise LedgerUnreachable("The server does not answer.")
        return found


@pytest.fixture
def away(tmp_path: Path) -> Iterator[tuple[Ward, Away, BedView]]:
    """A ward with one assessed bed over a ledger that can go away."""
    with Ledger.open(f"sqlite:///{tmp_path / 'ledger.sqlite'}") as ledger:
        line = Away(ledger)
        settings = Settings.found(config_dir=tmp_path / "config")
        ward = Ward(line, settings, Clock.fixed(MORNING), by="JN", drafts=tmp_path / "drafts")  # type: ignore[arg-type]
        view = ward.stays.admit("5N-01")
        ward.save(view.stay, assessed("5N-01"), view.version)
        yield ward, line, ward.board()[0]


def test_the_board_shows_what_was_last_known_and_says_so(away: tuple[Ward, Away, BedView]) -> None:
    """No blank screen at 06:50: the last known unit, with a sentence."""
    ward, line, view = away
    line.gone = True
    assert [one.stay for one in ward.board()] == [view.stay]
    assert "last known" in (ward.offline.says or "")


def test_a_save_is_held_and_sent_when_the_ledger_is_back(away: tuple[Ward, Away, BedView]) -> None:
    """The nurse saves as always; the entry waits on this station's disk and arrives once."""
    ward, line, view = away
    line.gone = True
    held = ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    assert held.pending
    assert held.record.standing == "supported"
    line.gone = False
    assert [one.record.standing for one in ward.board()] == ["supported"]
    assert ward.offline.outbox.held() == []
    assert ward.offline.says is None


def test_a_held_save_that_met_another_waits_for_a_person(
    away: tuple[Ward, Away, BedView], tmp_path: Path
) -> None:
    """Somebody else saved the bed meanwhile: neither is overwritten, the held one is kept as a conflict."""
    ward, line, view = away
    line.gone = True
    ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    other = Ward(line.ledger, ward.settings, ward.clock, by="AB", drafts=tmp_path / "other")
    other.save(view.stay, view.record.changed(arms="one"), view.version)
    line.gone = False
    assert ward.board()[0].record.arms == "one"
    (refused,) = ward.offline.refused
    assert refused.entries[0].body["record"]["standing"] == "supported"


def test_what_was_never_seen_is_not_invented(away: tuple[Ward, Away, BedView], tmp_path: Path) -> None:
    """A station that has seen nothing yet says that the ledger is away."""
    ward, line, _ = away
    line.gone = True
    fresh = Ward(line, ward.settings, ward.clock, by="AB", drafts=tmp_path / "fresh")  # type: ignore[arg-type]
    with pytest.raises(LedgerUnreachable):
        fresh.board()


def test_a_held_save_says_when_it_was_received(away: tuple[Ward, Away, BedView]) -> None:
    """Made at 06:50, sent at 07:20: both times are kept, and no clock is accused."""
    ward, line, view = away
    line.gone = True
    ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    made, line.gone = ward.now, False
    ward.clock = Clock.fixed(made + timedelta(minutes=30))
    ward.mark_read(view.stay)
    ward.board()
    entry = line.ledger.history(view.stay)[-1]
    assert ward.clock.ward_time(entry.at) == made
    assert ward.clock.ward_time(entry.received) == made + timedelta(minutes=30)
    assert audit(ward, "5N-01")[-1].says.startswith("held; received ")


def test_what_a_station_held_was_not_known_before_it_was_received(away: tuple[Ward, Away, BedView]) -> None:
    """So the handoff of somebody who took over meanwhile has it among what changed."""
    ward, line, view = away
    line.gone = True
    ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    made, line.gone = ward.now, False
    ward.clock = Clock.fixed(made + timedelta(minutes=30))
    ward.board()
    then, after = (ward.clock.utc_of(made + timedelta(minutes=after)) for after in (29, 30))
    (known,) = line.ledger.beds(at=then)
    (now_known,) = line.ledger.beds(at=after)
    assert known.record is not None
    assert known.record.standing == view.record.standing
    assert now_known.record is not None
    assert now_known.record.standing == "supported"


def test_a_held_save_sent_twice_is_there_once(away: tuple[Ward, Away, BedView]) -> None:
    """The line broke after the ledger had taken it: the next try says another time of receipt."""
    ward, line, view = away
    line.gone = True
    ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    copy = ward.offline.outbox.path.read_bytes()
    line.gone = False
    ward.board()
    count = len(line.ledger.history(view.stay))
    ward.offline.outbox.path.write_bytes(copy)
    ward.clock = Clock.fixed(ward.now + timedelta(minutes=1))
    ward.board()
    assert (len(line.ledger.history(view.stay)), ward.offline.refused) == (count, [])
    assert ward.offline.outbox.held() == []
