"""On both engines: no ledger is made unasked, and what a station saw last is missed when it is not there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from mobicard.ledger import Ledger, LedgerAnother, LedgerMissing, LedgerRefused
from mobicard.ledger.keeping.known_end import end_of, why_not
from mobicard.ward.station.known_ledger import accept, make_new, open_known
from tests.ledger.places import Writer


def test_an_empty_place_is_no_ledger(url: str) -> None:
    with pytest.raises(LedgerMissing, match="no ledger"):
        open_known(url)
    with pytest.raises(LedgerMissing, match="no ledger"):
        open_known(url)


def test_one_is_made_once(url: str) -> None:
    make_new(url).close()
    with pytest.raises(LedgerRefused, match="already"):
        make_new(url)
    open_known(url).close()


def test_every_save_is_remembered(url: str) -> None:
    with make_new(url) as ledger:
        Writer(ledger).admit("s1", "4W-1")
        assert ledger.known is not None
        assert ledger.known.end == end_of(ledger)


def test_a_tail_cut_off_with_its_head_is_missed(url: str) -> None:
    """What the ledger alone cannot show."""
    with make_new(url) as ledger:
        write = Writer(ledger)
        first = write.admit("s1", "4W-1")
        write.admit("s2", "4W-2")
        cut(ledger, first.hash)
    with pytest.raises(LedgerAnother, match="has seen entry 2"):
        open_known(url)
    accept(url)
    open_known(url).close()


def cut(ledger: Ledger, first: str) -> None:
    """As the owner of file or server can: the last entry goes, and the chain's end says so."""
    with ledger.writing() as connection:
        run: Callable[[str], Any] = connection.exec_driver_sql
        if ledger.on_server:
            run("ALTER TABLE entry DISABLE TRIGGER ALL")
        else:
            run("DROP TRIGGER entry_never_deleted")
        run("DELETE FROM entry WHERE seq = 2")
        run(f"UPDATE chain SET seq = 1, hash = '{first}'")


def test_what_others_saved_after_it_is_no_reason(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    end = end_of(ledger)
    write.admit("s2", "4W-2")
    assert why_not(ledger, end) is None
