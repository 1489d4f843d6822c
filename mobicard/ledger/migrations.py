"""Numbered steps from an empty database to today's schema; a newer one is refused, an older one moved forward."""

from __future__ import annotations

from collections.abc import Callable
from uuid import uuid4

from sqlalchemy import Connection, Engine, insert, inspect, select, text, update
from sqlalchemy.engine import URL

from mobicard.ledger.engine import shown
from mobicard.ledger.entry import FIRST_PREV
from mobicard.ledger.errors import LedgerDamaged, LedgerNewer
from mobicard.ledger.schema import POSTGRES_TRIGGERS, SQLITE_TRIGGERS, chain, info, metadata


def _first(connection: Connection) -> None:
    """1: the entries, their chain, and what is kept beside them."""
    metadata.create_all(connection)
    connection.execute(insert(chain).values(one=1, seq=0, hash=FIRST_PREV))
    connection.execute(
        insert(info), [{"name": "ledger", "value": uuid4().hex}, {"name": "schema", "value": "0"}]
    )
    triggers = POSTGRES_TRIGGERS if connection.dialect.name == "postgresql" else SQLITE_TRIGGERS
    for statement in triggers:
        connection.exec_driver_sql(
            statement.replace("%", "%%") if connection.dialect.name == "postgresql" else statement
        )


STEPS: tuple[Callable[[Connection], None], ...] = (_first,)
"""Step n brings schema n-1 to schema n; steps are never changed once released, only added."""

CURRENT = len(STEPS)


def schema_number(connection: Connection) -> int:
    """The ledger's schema number; 0 for an empty database.

    Raises LedgerDamaged when there are tables but no number.
    """
    tables = set(inspect(connection).get_table_names())
    if "ledger_info" not in tables:
        if "entry" in tables:
            raise LedgerDamaged("This database has an entry table but is not a ledger that mobicard made.")
        return 0
    found = connection.scalar(select(info.c.value).where(info.c.name == "schema"))
    if found is None or not found.isdigit():
        raise LedgerDamaged(
            "The ledger does not say which version it is; restore the last backup to another path."
        )
    return int(found)


def bring_up_to_date(engine: Engine, url: URL) -> None:
    """Make the schema, or bring an older one forward in one transaction.

    Raises LedgerNewer when the ledger was made by a newer mobicard.
    """
    with engine.connect() as connection:
        number = schema_number(connection)
    if number > CURRENT:
        raise LedgerNewer(
            f"The ledger at {shown(url)} was made by a newer mobicard (its version {number}, this one knows {CURRENT}). "
            "Update mobicard on this computer; the ledger was not touched."
        )
    if number == CURRENT:
        return
    with engine.execution_options(writes=True).begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(7201934)"))
        for step in STEPS[schema_number(connection) :]:
            step(connection)
        connection.execute(update(info).where(info.c.name == "schema").values(value=str(CURRENT)))
