"""The guards in the database itself (triggers, indexes, checks), compared with what mobicard makes."""

from __future__ import annotations

import re

from sqlalchemy import Connection, create_engine, text

from mobicard.ledger.database.found import POSTGRES_FOUND
from mobicard.ledger.database.schema import (
    POSTGRES_PURGE,
    POSTGRES_RECEIPTS,
    POSTGRES_TRIGGERS,
    POSTGRES_UNITS,
    metadata,
)
from mobicard.ledger.database.server_checks import AUTHORS, CHECKS, SIGN_IN_IN_TWO
from mobicard.ledger.staff.postgres_sign_in import SESSIONS_END, SIGN_IN_FUNCTIONS
from mobicard.ledger.staff.visit_numbers import VISIT_FUNCTION

_TRIGGERS = (
    "entry_checked",
    "entry_found",
    "entry_in_order",
    "entry_kept",
    "entry_never",
    "entry_never_emptied",
    "entry_received",
    "person_changed",
    "receipt_never",
    "receipt_never_emptied",
)
_FUNCTION = re.compile(r"FUNCTION (\w+)\([^$]*\$\$(.*)\$\$", re.DOTALL)


def odd_guards(connection: Connection) -> list[str]:
    """The names of what was changed, taken away or added past the program; none in an honest ledger."""
    if connection.dialect.name == "sqlite":
        here, made = _sqlite_schema(connection), _sqlite_as_made()
    else:
        here, made = _server_guards(connection), _server_as_made()
    return sorted(name for name in here.keys() | made.keys() if here.get(name) != made.get(name))


def _sqlite_schema(connection: Connection) -> dict[str, str]:
    """Every statement of the file's own schema; SQLite's own have no text, and are its affair."""
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {row.name: row.sql for row in rows if not row.name.startswith("sqlite_")}


def _sqlite_as_made() -> dict[str, str]:
    """What the numbered steps make of an empty file."""
    from mobicard.ledger.database.migrations import STEPS

    engine = create_engine("sqlite://")
    try:
        with engine.begin() as connection:
            for step in STEPS:
                step(connection)
            return _sqlite_schema(connection)
    finally:
        engine.dispose()


def _server_guards(connection: Connection) -> dict[str, str]:
    """Each trigger on entries, receipts and staff list, whether it is switched on; the functions' text."""
    triggers = connection.execute(
        text(
            "SELECT tgname AS name, tgenabled::text AS said FROM pg_trigger "
            "WHERE tgrelid = ANY(ARRAY['entry', 'receipt', 'person']::regclass[]) AND NOT tgisinternal"
        )
    )
    found = {f"trigger {row.name}": row.said for row in triggers}
    names = tuple(_server_functions())
    functions = connection.execute(
        text(
            "SELECT proname AS name, prosrc AS said FROM pg_proc "
            "WHERE pronamespace = 'public'::regnamespace AND proname = ANY(:names)"
        ),
        {"names": list(names)},
    )
    return found | {row.name: row.said for row in functions}


def _server_as_made() -> dict[str, str]:
    return {f"trigger {name}": "O" for name in _TRIGGERS} | _server_functions()


def _server_functions() -> dict[str, str]:
    """The last text given to each function."""
    said = (*POSTGRES_TRIGGERS, *POSTGRES_PURGE, *SIGN_IN_FUNCTIONS, *CHECKS, *SIGN_IN_IN_TWO)
    said += (*POSTGRES_RECEIPTS, *VISIT_FUNCTION, *AUTHORS, *SESSIONS_END, *POSTGRES_FOUND, *POSTGRES_UNITS)
    found = (_FUNCTION.search(one) for one in said)
    return {one[1]: one[2] for one in found if one and one[1] != "mobicard_sign_in"}


def unmake(connection: Connection) -> None:
    """Take away from a server's database all that the numbered steps made in it, and nothing else."""
    for name in _server_functions():  # first: some give a table's row
        connection.exec_driver_sql(f"DROP FUNCTION IF EXISTS {name} CASCADE")
    connection.exec_driver_sql("DROP TABLE IF EXISTS sign_in_attempt")
    metadata.drop_all(connection)
