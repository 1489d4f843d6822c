"""The four roles as PostgreSQL roles: grants on tables and columns, and policies on rows.

Two locks, both the server's. A login is a member of one or more of mobicard_nurse, mobicard_clerk,
mobicard_reader, mobicard_keeper: the reader's corridor station gets a login that is only a reader, so no
PIN makes it a nurse's. And a row is read or written only by someone who signed in with initials and PIN in
this session: the entry's ``by`` must be theirs and its kind their role's. The login that owns the tables
stands above both: keep it for setting up, migrating, exporting and ending retention.
"""

from __future__ import annotations

import re

from sqlalchemy import Connection, text

from mobicard.ledger.database.found import TABLES
from mobicard.ledger.database.migrations import run_all
from mobicard.ledger.database.server_checks import SIGNED_IN_READ_RECEIPTS
from mobicard.ledger.database.store import Store
from mobicard.ledger.entry import OFFICE
from mobicard.ledger.errors import LedgerRefused
from mobicard.ledger.staff.rights import ROLE_KINDS, ROLES

MOST_CONNECTIONS = 40
"""Of one login at once, lest one station take all that the server has; a terminal needs three."""

_PATIENCE = (
    "lock_timeout = '10s'",
    "statement_timeout = '60s'",
    "idle_in_transaction_session_timeout = '30s'",
)
"""For what is begun under a station's login by another program too: a frozen one lets go by itself."""

_SERVERS_OWN = {"person", "limits", "sign_in", "sign_in_refused"}
"""Kinds that only the server's own functions write, with what they tell of."""

_ALL = ", ".join(f"mobicard_{role}" for role in ROLES)
_KEPT = ", ".join(one.name for one in TABLES)
_SIGNED_IN = "(SELECT mobicard_role()) IS NOT NULL"
_KEEPER = "(SELECT mobicard_role()) = 'keeper'"


def give_rights(ledger: Store) -> None:
    """Make the group roles if they are missing and set every grant and policy anew; run as the owner.

    Raises LedgerRefused on SQLite, which has no roles; NotAllowed when this login may not make roles.
    """
    if not ledger.on_server:
        raise LedgerRefused("SQLite has no roles of its own; mobicard alone keeps the rights there.")
    with ledger.writing() as connection:
        for role in ROLES:
            if not connection.scalar(
                text("SELECT 1 FROM pg_roles WHERE rolname = :n"), {"n": f"mobicard_{role}"}
            ):
                connection.exec_driver_sql(f"CREATE ROLE mobicard_{role} NOLOGIN")
        run_all(connection, _grants())
        _policies(connection)


def make_login(ledger: Store, name: str, password: str, *roles: str) -> None:
    """A login for a station, member of these roles only. Raises LedgerRefused for a name that will not do."""
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,40}", name) or not set(roles) <= set(ROLES) or not roles:
        raise LedgerRefused(
            "A station's login is small letters, figures and _, with one or more of the four roles."
        )
    quoted = password.replace("'", "''")
    with ledger.writing() as connection:
        made = f"CREATE ROLE {name} LOGIN CONNECTION LIMIT {MOST_CONNECTIONS} PASSWORD '{quoted}'"
        connection.exec_driver_sql(made.replace("%", "%%"))
        run_all(connection, [f"ALTER ROLE {name} SET {limit}" for limit in _PATIENCE])
        connection.exec_driver_sql(f"GRANT {', '.join(f'mobicard_{role}' for role in roles)} TO {name}")


def _grants() -> tuple[str, ...]:
    return (
        f"GRANT USAGE ON SCHEMA public TO {_ALL}",
        "REVOKE ALL ON entry, stay, slot, chain, ledger_info, person, session, purged, receipt, "
        f"{_KEPT} FROM {_ALL}, PUBLIC",
        f"GRANT SELECT ON entry, stay, slot, chain, {_KEPT} TO {_ALL}",
        f"GRANT INSERT ON entry TO {_ALL}",
        f"GRANT SELECT (name, value) ON ledger_info TO {_ALL}",
        "GRANT SELECT ON purged TO mobicard_keeper",
        # What a PIN was made into is no one's to read or write; a keeper has one function, which notes it.
        f"GRANT SELECT (initials, role, active) ON person TO {_ALL}",
        "GRANT EXECUTE ON FUNCTION mobicard_put_person(text, text, boolean, text, text, text) "
        "TO mobicard_keeper",
        "GRANT EXECUTE ON FUNCTION mobicard_put_limits(integer, integer, float) TO mobicard_keeper",
        "GRANT EXECUTE ON FUNCTION mobicard_visit(bytea, text) TO mobicard_nurse, mobicard_clerk",
        f"GRANT EXECUTE ON FUNCTION mobicard_salt(text), mobicard_try(text, text, text), "
        "mobicard_answer(text), mobicard_sign_out(text), mobicard_role(), mobicard_initials(), "
        "mobicard_still_here(), "
        f"mobicard_has_people() TO {_ALL}",
    )


def _policies(connection: Connection) -> None:
    old = connection.execute(
        text("SELECT policyname, tablename FROM pg_policies WHERE policyname LIKE 'mobicard_%'")
    )
    run_all(connection, [f"DROP POLICY {row.policyname} ON {row.tablename}" for row in old.all()])
    run_all(
        connection,
        [
            f"ALTER TABLE {name} ENABLE ROW LEVEL SECURITY"
            for name in ("entry", "stay", "slot", "person", "ledger_info", *(one.name for one in TABLES))
        ]
        + list(SIGNED_IN_READ_RECEIPTS),
    )
    run_all(connection, _reading() + tuple(_writing(role) for role in ROLES))


def _reading() -> tuple[str, ...]:
    """Patients' rows to anyone signed in; of the office's, the day's plan and one's own; all to a keeper."""
    return (
        f"CREATE POLICY mobicard_entry_read ON entry FOR SELECT TO {_ALL} USING ({_SIGNED_IN} AND "
        f"(stay <> '{OFFICE}' OR kind = 'day_plan' OR {_KEEPER} OR \"by\" = (SELECT mobicard_initials())))",
        f"CREATE POLICY mobicard_stay_read ON stay FOR SELECT TO {_ALL} USING ({_SIGNED_IN})",
        f"CREATE POLICY mobicard_slot_read ON slot FOR SELECT TO {_ALL} USING ({_SIGNED_IN})",
        *(
            f"CREATE POLICY mobicard_{one.name}_read ON {one.name} FOR SELECT TO {_ALL} USING ({_SIGNED_IN})"
            for one in TABLES
        ),
        f"CREATE POLICY mobicard_person_read ON person FOR SELECT TO {_ALL} USING ({_SIGNED_IN})",
        f"CREATE POLICY mobicard_info_read ON ledger_info FOR SELECT TO {_ALL} "
        "USING (name NOT IN ('pepper', 'visit_key'))",
    )


def _writing(role: str) -> str:
    """A row goes in when the login has this role, and who signed in has it too and is the row's ``by``."""
    kinds = ", ".join(f"'{kind}'" for kind in sorted(ROLE_KINDS[role] - _SERVERS_OWN))
    return (
        f"CREATE POLICY mobicard_entry_{role} ON entry FOR INSERT TO mobicard_{role} WITH CHECK ("
        f"(SELECT mobicard_role()) = '{role}' AND \"by\" = (SELECT mobicard_initials()) AND kind IN "
        f"({kinds}))"
    )
