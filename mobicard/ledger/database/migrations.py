"""Numbered steps from an empty database to today's schema: a newer one is refused, an older one moved on."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from secrets import token_hex
from uuid import uuid4

from sqlalchemy import Connection, Engine, insert, inspect, select, update
from sqlalchemy.engine import URL

from mobicard.ledger.appending import hold_writers
from mobicard.ledger.database.engine import missing, shown
from mobicard.ledger.database.found import INDEXES, POSTGRES_FOUND, SQLITE_FOUND, TABLES, found_in
from mobicard.ledger.database.schema import (
    FIRST_TABLES,
    POSTGRES_PURGE,
    POSTGRES_RECEIPTS,
    POSTGRES_TRIGGERS,
    POSTGRES_UNITS,
    SQLITE_PURGE,
    SQLITE_RECEIPTS,
    SQLITE_TRIGGERS,
    chain,
    entry,
    info,
    metadata,
    person,
    purged,
    receipt,
    session,
)
from mobicard.ledger.database.server_checks import AUTHORS, CHECKS, ROWS_OF_RECEIPTS, SIGN_IN_IN_TWO
from mobicard.ledger.entry import FIRST_PREV
from mobicard.ledger.errors import LedgerDamaged, LedgerNewer, NotALedger
from mobicard.ledger.keeping.copying import copy_sqlite
from mobicard.ledger.staff.postgres_sign_in import SESSIONS_END, SIGN_IN_FUNCTIONS
from mobicard.ledger.staff.visit_numbers import VISIT_FUNCTION, VISIT_KEY
from mobicard.rules.policy import Policy


def _first(connection: Connection) -> None:
    """1: the entries, their chain, and what is kept beside them."""
    metadata.create_all(connection, tables=FIRST_TABLES)
    connection.execute(insert(chain).values(one=1, seq=0, hash=FIRST_PREV))
    connection.execute(
        insert(info), [{"name": "ledger", "value": uuid4().hex}, {"name": "schema", "value": "0"}]
    )
    run_all(connection, POSTGRES_TRIGGERS if _on_server(connection) else SQLITE_TRIGGERS)


def _second(connection: Connection) -> None:
    """2: the staff list, sign-in, and the end of retention."""
    metadata.create_all(connection, tables=(person, session, purged))
    access = Policy().access
    limits = {"attempts": str(access.attempts), "pause_min": str(access.pause_min)}
    connection.execute(insert(info), [{"name": name, "value": value} for name, value in limits.items()])
    run_all(connection, POSTGRES_PURGE if _on_server(connection) else SQLITE_PURGE)
    if _on_server(connection):
        run_all(connection, SIGN_IN_FUNCTIONS)


def _third(_connection: Connection) -> None:
    """3: kept free for a change made beside this one."""


def _fourth(connection: Connection) -> None:
    """4: on a server, every entry is checked there, and a try at a PIN cannot be taken back."""
    if _on_server(connection):
        run_all(connection, CHECKS + SIGN_IN_IN_TWO)


def _fifth(connection: Connection) -> None:
    """5: what a stay is found by, the cards that hang, and indexes: a look-up costs the same after years."""
    metadata.create_all(connection, tables=TABLES)
    run_all(connection, INDEXES)
    found_in(connection).put(connection)
    run_all(connection, POSTGRES_FOUND if _on_server(connection) else SQLITE_FOUND)


def _sixth(connection: Connection) -> None:
    """6: the key that hides visit numbers; when each entry came in; idle sessions end; who wrote a record.

    An older ledger takes the key that a station brings, and its entries for received when they were made.
    """
    seq = connection.scalar(select(chain.c.seq))
    kept = {VISIT_KEY: "" if seq else token_hex(32), "idle_min": str(Policy().access.idle_lock_min)}
    connection.execute(insert(info), [{"name": name, "value": value} for name, value in kept.items()])
    metadata.create_all(connection, tables=(receipt,))
    connection.execute(insert(receipt).from_select(("seq", "at"), select(entry.c.seq, entry.c.at)))
    run_all(connection, POSTGRES_RECEIPTS if _on_server(connection) else SQLITE_RECEIPTS)
    if _on_server(connection):
        run_all(connection, VISIT_FUNCTION + ROWS_OF_RECEIPTS + AUTHORS + SESSIONS_END)


def _seventh(connection: Connection) -> None:
    """7: on a server, saves are told unit by unit."""
    if _on_server(connection):
        run_all(connection, POSTGRES_UNITS)


def run_all(connection: Connection, statements: Iterable[str]) -> None:
    """Run statements that carry no parameters, as they are written."""
    for statement in statements:
        connection.exec_driver_sql(statement.replace("%", "%%") if _on_server(connection) else statement)


def _on_server(connection: Connection) -> bool:
    return connection.dialect.name == "postgresql"


STEPS: tuple[Callable[[Connection], None], ...] = (
    _first,
    _second,
    _third,
    _fourth,
    _fifth,
    _sixth,
    _seventh,
)
"""Step n brings schema n-1 to schema n; steps are never changed once released, only added."""

CURRENT = len(STEPS)


def schema_number(connection: Connection) -> int:
    """The ledger's schema number; 0 for an empty database.

    Raises NotALedger when the tables are another program's, LedgerDamaged when only the number is missing.
    """
    tables = set(inspect(connection).get_table_names())
    if "ledger_info" not in tables:
        if "entry" in tables:
            raise NotALedger("This database has an entry table but is not a ledger that mobicard made.")
        if tables and not _on_server(connection):
            raise NotALedger(
                f"This file is another program's ({', '.join(sorted(tables)[:3])}); name a new one."
            )
        return 0
    found = connection.scalar(select(info.c.value).where(info.c.name == "schema"))
    if found is None or not found.isdigit():
        raise LedgerDamaged(
            "The ledger does not say which version it is; restore the last backup to another path."
        )
    return int(found)


def bring_up_to_date(engine: Engine, url: URL, *, create: bool = True) -> None:
    """Make the schema, or bring an older one forward in one transaction.

    Raises LedgerNewer when the ledger was made by a newer mobicard, LedgerMissing when there is none and
    none shall be made.
    """
    with engine.connect() as connection:
        number = schema_number(connection)
    if number > CURRENT:
        raise LedgerNewer(
            f"The ledger at {shown(url)} was made by a newer mobicard (its version {number}, this "
            f"one knows {CURRENT}). Update mobicard on this computer; the ledger was not touched."
        )
    if number == CURRENT:
        return
    if number == 0 and not create:
        raise missing(shown(url))
    if number > 0:
        keep_copy(engine, url, number)
    with engine.execution_options(writes=True).begin() as connection:
        hold_writers(connection)
        for step in STEPS[schema_number(connection) :]:
            step(connection)
        connection.execute(update(info).where(info.c.name == "schema").values(value=str(CURRENT)))


def keep_copy(engine: Engine, url: URL, number: int) -> None:
    """Keep an older ledger as it was: a SQLite file beside it, a schema of its own on PostgreSQL."""
    if engine.dialect.name == "postgresql":
        name = f"mobicard_schema_{number}"
        with engine.begin() as connection:
            hold_writers(connection)
            connection.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {name}")
            for table in inspect(connection).get_table_names():
                connection.exec_driver_sql(
                    f'CREATE TABLE IF NOT EXISTS {name}."{table}" AS TABLE public."{table}"'
                )
        return
    target = Path(f"{url.database}.schema-{number}")
    if target.exists():
        return  # another station keeps it already, or an earlier try did
    copy_sqlite(Path(str(url.database)), target)
