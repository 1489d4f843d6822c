"""Hiding visit numbers: the key lies in the ledger, one for all its stations; a server never gives it out."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Callable

from sqlalchemy import Connection, select, text, update

from mobicard.ledger.database.schema import info
from mobicard.ledger.database.store import Store

VISIT_KEY = "visit_key"
"""Its name among what the ledger knows of itself; empty in an older ledger until a station brings its own."""

Hide = Callable[[str], str]
"""From a visit number to its keyed hash, as hex."""


def visit_hider(ledger: Store, mine: bytes | None = None) -> Hide:
    """HMAC-SHA-256 (RFC 2104) of a visit number, under the ledger's key.

    ``mine`` is the key that this station had kept itself: a ledger without one takes it over, so that its
    patients are found again. Raises LedgerError; on a server NotAllowed unless a nurse or clerk is signed in.
    """
    given = (mine or secrets.token_hex(32).encode()).decode("utf-8", "replace")
    if ledger.on_server:
        return lambda visit: _by_server(ledger, visit.encode("utf-8", "replace"), given)
    with ledger.looking() as connection:
        key = _key(connection)
    if not key:
        with ledger.writing() as connection:
            empty = (info.c.name == VISIT_KEY) & (info.c.value == "")
            connection.execute(update(info).where(empty).values(value=given))
            key = _key(connection)
    return lambda visit: hmac.new(key.encode(), visit.encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def _key(connection: Connection) -> str:
    return str(connection.scalar(select(info.c.value).where(info.c.name == VISIT_KEY)) or "")


def _by_server(ledger: Store, visit: bytes, given: str) -> str:
    with ledger.writing() as connection:
        call = text("SELECT mobicard_visit(:visit, :given)")
        return str(connection.scalar(call, {"visit": visit, "given": given}))


_DEFINER = "SECURITY DEFINER SET search_path = public, pg_temp"

VISIT_FUNCTION = (
    # RFC 2104 with blocks of 64 bytes; 54 and 92 are its ipad and opad.
    f"""
CREATE FUNCTION mobicard_visit(visit bytea, given text) RETURNS text LANGUAGE plpgsql {_DEFINER} AS $$
DECLARE key bytea; first bytea := ''; last bytea := ''; BEGIN
  IF session_user <> current_user AND coalesce(mobicard_role() NOT IN ('nurse', 'clerk'), true) THEN
    RAISE EXCEPTION 'permission denied: who admits patients asks for their stays' USING ERRCODE = '42501';
  END IF;
  UPDATE ledger_info SET value = given WHERE name = '{VISIT_KEY}' AND value = '';
  SELECT convert_to(value, 'UTF8') INTO key FROM ledger_info WHERE name = '{VISIT_KEY}';
  IF length(key) > 64 THEN key := sha256(key); END IF;
  key := key || decode(repeat('00', 64 - length(key)), 'hex');
  FOR i IN 0..63 LOOP
    first := first || set_byte('\\x00'::bytea, 0, get_byte(key, i) # 54);
    last := last || set_byte('\\x00'::bytea, 0, get_byte(key, i) # 92);
  END LOOP;
  RETURN encode(sha256(last || sha256(first || visit)), 'hex');
END $$""",
    "REVOKE ALL ON FUNCTION mobicard_visit(bytea, text) FROM PUBLIC",
    # A unit that has its roles already goes on without setting them anew.
    """
DO $$ DECLARE name text; BEGIN
  FOR name IN SELECT rolname FROM pg_roles WHERE rolname IN ('mobicard_nurse', 'mobicard_clerk') LOOP
    EXECUTE format('GRANT EXECUTE ON FUNCTION mobicard_visit(bytea, text) TO %I', name);
  END LOOP;
  IF EXISTS (SELECT 1 FROM pg_policies WHERE policyname = 'mobicard_info_read') THEN
    ALTER POLICY mobicard_info_read ON ledger_info USING (name NOT IN ('pepper', 'visit_key'));
  END IF;
END $$""",
)
"""Run once by migration 6; the function runs as the ledger's owner, whatever role calls it."""
