"""Live: telling this station when any other saved. NOTIFY on PostgreSQL, a change counter on SQLite."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from select import select
from threading import Event
from typing import Any

from sqlalchemy.exc import DBAPIError

from mobicard.ledger.database.faults import guarded
from mobicard.ledger.errors import LedgerError
from mobicard.ledger.staffed import StaffedStore

EVERY_S = 1.25
"""Seconds between two looks at the counter, and to whether to stop: with the clock's, below one a second."""

CALM_S = 1.0
"""Seconds after news in which more of it is gathered: a hundred saves a second are one reading."""

QUIET_S = 10.0
"""Seconds without news after which a listener asks whether its server is still there; it would never hear."""

RETRY_S = 2.0
"""Seconds between two tries to reach a server that is gone."""


def watch(
    ledger: StaffedStore,
    on_change: Callable[[], None],
    stop: Event,
    on_lost: Callable[[str], None] | None = None,
    on_back: Callable[[], None] | None = None,
    on_heard: Callable[[], None] | None = None,
    unit: str | None = None,
) -> None:
    """Call ``on_change`` after each save by any station, until ``stop`` is set; runs in the caller's thread.

    On a server a station of one ``unit`` is not woken by saves of another's beds. When the ledger cannot be
    reached, ``on_lost`` gets the sentence once; when it can again, ``on_back`` is called, and ``on_change``
    if anything was saved meanwhile. ``on_heard`` is called at each sign of the ledger, every ten seconds or
    oftener. Raises nothing: a watcher that dies unseen leaves a board that looks alive.
    """
    heard = on_heard or (lambda: None)
    token: int | None = None
    lost = False
    while not stop.is_set():
        try:
            now = ledger.change_token()
            heard()
            if lost and on_back:
                on_back()
            lost = False
            if token is not None and now != token:
                on_change()
            token = now
            for later in _changes(ledger, stop, unit):
                heard()
                if later is not None and later != token:
                    token = later
                    on_change()
        except Exception as fault:  # whatever it is, the next look may go well
            if not lost and on_lost:
                with suppress(Exception):
                    on_lost(_says(fault))
            lost = True
            stop.wait(RETRY_S)


def _says(fault: Exception) -> str:
    if isinstance(fault, LedgerError):
        return fault.says
    return f"Looking for changes in the ledger stumbled ({type(fault).__name__}); it is tried again."


def _changes(ledger: StaffedStore, stop: Event, unit: str | None) -> Iterator[int | None]:
    """The change token each time it may have grown, None for a mere sign of life, until stopped.

    Raises LedgerError when it cannot look.
    """
    return _notified(ledger, stop, unit) if ledger.on_server else _polled(ledger, stop)


def _polled(ledger: StaffedStore, stop: Event) -> Iterator[int | None]:
    while not stop.wait(EVERY_S):
        yield ledger.change_token()


def _notified(ledger: StaffedStore, stop: Event, unit: str | None) -> Iterator[int | None]:
    """One connection that listens. It looks once after LISTEN, for a save between the look before and now."""
    with guarded(ledger.where), closing(_detached(ledger)) as listening:
        try:
            listening.autocommit = True
            for channel in channels_of(unit):
                listening.execute(f'LISTEN "{channel}"')
            yield ledger.change_token()
            quiet = 0.0
            while not stop.is_set():
                # psycopg's own wait looks up ten times a second
                ready, _, _ = select([listening], [], [], EVERY_S)
                told = list(listening.notifies(timeout=0)) if ready else []
                quiet = 0.0 if told else quiet + EVERY_S
                if told:  # any login can send any text: only the ledger says how far it has come
                    yield ledger.change_token()
                    stop.wait(CALM_S)
                elif quiet >= QUIET_S:
                    listening.execute("SELECT 1")
                    quiet = 0.0
                    yield None
        except listening_faults() as cause:
            raise DBAPIError("LISTEN", None, cause) from cause


def channels_of(unit: str | None) -> tuple[str, ...]:
    """What a station listens to: every save, or those of its unit and of the office.

    Units whose names begin with the same word share a channel; one that is not plain letters listens to all.
    """
    if unit is None or not unit.isascii() or not (first := re.match("[a-z0-9]+", unit.strip().lower())):
        return ("mobicard",)
    return f"mobicard_{first[0]}", "mobicard_*"


def _detached(ledger: StaffedStore) -> Any:
    """A driver's connection that never comes back to the pool: a save on autocommit is no transaction."""
    raw = ledger.raw_connection()
    listening = raw.driver_connection
    raw.detach()
    return listening


def listening_faults() -> tuple[type[Exception], ...]:
    """What the driver raises when the server goes away under a listening connection."""
    import psycopg

    return (psycopg.Error, OSError)
