"""The ledger's tables, and the triggers that keep them append-only on both engines."""

from __future__ import annotations

import re

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from mobicard.ledger.entry import FACT_KINDS

metadata = MetaData()

# Text compares byte by byte on both engines: a language's collation would reorder times and ids.
PlainText = Text().with_variant(Text(collation="C"), "postgresql")

info = Table(
    "ledger_info",
    metadata,
    Column("name", PlainText, primary_key=True),
    Column("value", PlainText, nullable=False),
)
"""What the ledger knows of itself: its id and its schema number."""

entry = Table(
    "entry",
    metadata,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("id", PlainText, nullable=False),
    Column("stay", PlainText, nullable=False),
    Column("version", Integer, nullable=False),
    Column("kind", PlainText, nullable=False),
    Column("at", PlainText, nullable=False),
    Column("by", PlainText, nullable=False),
    Column("schema", Integer, nullable=False),
    Column("body", PlainText, nullable=False),
    Column("prev", PlainText, nullable=False),
    Column("hash", PlainText, nullable=False),
    UniqueConstraint("id", name="entry_id_once"),
    UniqueConstraint("stay", "version", name="entry_version_once"),
    Index("entry_stay_kind", "stay", "kind", "version"),
    Index("entry_kind_at", "kind", "at"),
)
"""Everything that was ever said, in order. Nothing else in the ledger is a source of truth."""

chain = Table(
    "chain",
    metadata,
    Column("one", Integer, CheckConstraint("one = 1"), primary_key=True, autoincrement=False),
    Column("seq", BigInteger, nullable=False),
    Column("hash", PlainText, nullable=False),
)
"""The last entry's place and hash: shows a tail that was cut off."""

stay = Table(
    "stay",
    metadata,
    Column("stay", PlainText, primary_key=True),
    Column("version", Integer, nullable=False),
    Column("fact_version", Integer, nullable=False),
    Column("bed", PlainText, nullable=True),
    Column("opened_at", PlainText, nullable=False),
    Column("closed_at", PlainText, nullable=True),
    UniqueConstraint("bed", name="stay_bed_once"),
)
"""Each stay's newest version and the bed it holds (none once gone). Kept by trigger; rebuilt from entries."""

slot = Table(
    "slot",
    metadata,
    Column("stay", PlainText, primary_key=True),
    Column("slot", PlainText, primary_key=True),
    Column("seq", BigInteger, nullable=False),
)
"""The newest entry of each kind per stay, for a quick board. Kept by trigger; rebuilt from entries."""

person = Table(
    "person",
    metadata,
    Column("initials", PlainText, primary_key=True),
    Column("role", PlainText, nullable=False),
    Column("active", Boolean, nullable=False),
    Column("salt", PlainText, nullable=False),
    Column("cost", PlainText, nullable=False),
    Column("verifier", PlainText, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("tried_at", PlainText, nullable=True),
)
"""The staff list. The PIN itself is nowhere: the verifier is a digest of what argon2id makes of it."""

session = Table(
    "session",
    metadata,
    Column("digest", PlainText, primary_key=True),
    Column("initials", PlainText, nullable=False),
    Column("ends_at", PlainText, nullable=False),
)
"""Who is signed in where, on a server: the digest of a token only that station holds."""

purged = Table(
    "purged",
    metadata,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("digest", PlainText, nullable=False),
)
"""The digest of each body removed at the end of retention, so that the chain can still be checked."""

receipt = Table(
    "receipt",
    metadata,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("at", PlainText, nullable=False),
)
"""When each entry came in, by the clock of the machine that keeps the ledger, whatever time it tells."""

FIRST_TABLES = (info, entry, chain, stay, slot)
"""What schema 1 had."""

_FACTS = ", ".join(f"'{kind}'" for kind in FACT_KINDS)

# One statement of the rules for both engines; {…} is filled with each engine's way to look into a JSON body.
_STAY_UPSERT = f"""
INSERT INTO stay (stay, version, fact_version, bed, opened_at, closed_at)
VALUES (NEW.stay, NEW.version, CASE WHEN NEW.kind IN ({_FACTS}) THEN NEW.version ELSE 0 END,
        CASE WHEN NEW.kind IN ('admit', 'move', 'readmit', 'record') THEN {{bed}} END, NEW.at, NULL)
ON CONFLICT (stay) DO UPDATE SET
  version = NEW.version,
  fact_version = CASE WHEN NEW.kind IN ({_FACTS}) THEN NEW.version ELSE stay.fact_version END,
  bed = CASE WHEN NEW.kind IN ('admit', 'move', 'readmit') THEN excluded.bed
             WHEN NEW.kind = 'discharge' OR {{into}} IS NOT NULL THEN NULL ELSE stay.bed END,
  closed_at = CASE WHEN NEW.kind IN ('admit', 'readmit') THEN NULL
                   WHEN NEW.kind = 'discharge' OR {{into}} IS NOT NULL THEN NEW.at ELSE stay.closed_at END;
"""

# The newest of each kind is enough to know what stands, once entries that carry no record, name a wrong
# entry, or speak of another page than the door are kept apart.
_SLOT_UPSERT = """
INSERT INTO slot (stay, slot, seq)
VALUES (NEW.stay, CASE WHEN NEW.version = 1 THEN 'first'
                       WHEN NEW.kind IN ('record', 'same', 'correct', 'fall') AND NOT {carries}
                       THEN NEW.kind || ':' || {corrects}
                       WHEN NEW.kind IN ('prepared', 'hung', 'taken_down') AND {page} <> 'door'
                       THEN NEW.kind || ':' || {page}
                       ELSE NEW.kind END, NEW.seq)
ON CONFLICT (stay, slot) DO UPDATE SET seq = excluded.seq;
"""

_SWAP = "UPDATE stay SET bed = NULL WHERE bed = {bed} AND stay = {swap} AND NEW.kind = 'move';"

# An emptied body (see retention.py) is no JSON: it says nothing of bed, page or record.
_SQLITE_JSON = {
    "bed": "coalesce(json_extract(nullif(NEW.body, ''), '$.to'), json_extract(nullif(NEW.body, ''), "
    "'$.bed'), "
    "json_extract(nullif(NEW.body, ''), '$.record.bed'))",
    "into": "json_extract(nullif(NEW.body, ''), '$.into')",
    "carries": "(json_type(nullif(NEW.body, ''), '$.record') IS NOT NULL)",
    "corrects": "coalesce(json_extract(nullif(NEW.body, ''), '$.corrects'), 'bare')",
    "page": "coalesce(json_extract(nullif(NEW.body, ''), '$.page'), 'door')",
    "swap": "json_extract(nullif(NEW.body, ''), '$.swap')",
}
_POSTGRES_JSON = {
    "bed": "coalesce(nullif(NEW.body, '')::jsonb ->> 'to', nullif(NEW.body, '')::jsonb ->> 'bed', "
    "nullif(NEW.body, '')::jsonb -> 'record' ->> 'bed')",
    "into": "(nullif(NEW.body, '')::jsonb ->> 'into')",
    "carries": "coalesce(nullif(NEW.body, '')::jsonb ? 'record', false)",
    "corrects": "coalesce(nullif(NEW.body, '')::jsonb ->> 'corrects', 'bare')",
    "page": "coalesce(nullif(NEW.body, '')::jsonb ->> 'page', 'door')",
    "swap": "(nullif(NEW.body, '')::jsonb ->> 'swap')",
}


def _keeping(json: dict[str, str]) -> str:
    """The statements that follow each insert: the chain's head, the stay's state, the slot's newest entry."""
    return "UPDATE chain SET seq = NEW.seq, hash = NEW.hash WHERE one = 1;\n" + (
        _SWAP + _STAY_UPSERT + _SLOT_UPSERT
    ).format(**json)


def replay_statements(dialect: str) -> tuple[str, ...]:
    """What the trigger does after each insert, for one entry given as parameters: for rebuilding."""
    json = _SQLITE_JSON if dialect == "sqlite" else _POSTGRES_JSON
    statements = (one.format(**json) for one in (_SWAP, _STAY_UPSERT, _SLOT_UPSERT))
    return tuple(re.sub(r"::", r"\\:\\:", re.sub(r"NEW\.(\w+)", r":\1", one)) for one in statements)


SQLITE_TRIGGERS = (
    """
CREATE TRIGGER entry_in_order BEFORE INSERT ON entry BEGIN
  SELECT RAISE(ABORT, 'mobicard: entry out of order') WHERE NEW.seq <> (SELECT seq + 1 FROM chain)
    OR NEW.prev <> (SELECT hash FROM chain)
    OR NEW.version <> 1 + coalesce((SELECT version FROM stay WHERE stay = NEW.stay), 0)
    OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id);
END""",
    f"CREATE TRIGGER entry_kept AFTER INSERT ON entry BEGIN\n{_keeping(_SQLITE_JSON)}\nEND",
    "CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry BEGIN "
    "SELECT RAISE(ABORT, 'mobicard: entries are never changed'); END",
    "CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry BEGIN "
    "SELECT RAISE(ABORT, 'mobicard: entries are never deleted'); END",
)
"""SQLite refuses changes in the file's own schema, whoever opens it; it cannot compute the hash itself."""


def _in_order(body_digest: str) -> str:
    return f"""
CREATE OR REPLACE FUNCTION entry_in_order() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = public, pg_temp AS $$ DECLARE head chain%ROWTYPE; last integer; BEGIN
  SELECT * INTO head FROM chain WHERE one = 1 FOR UPDATE;
  SELECT version INTO last FROM stay WHERE stay.stay = NEW.stay;
  IF NEW.seq <> head.seq + 1 OR NEW.prev <> head.hash OR NEW.version <> 1 + coalesce(last, 0)
     OR NEW.hash <> encode(sha256(convert_to(concat_ws(E'\\n', NEW.prev, NEW.seq, NEW.id, NEW.stay,
         NEW.version,
        NEW.kind, NEW.at, NEW."by", NEW.schema, {body_digest}), 'UTF8')), 'hex')
  THEN RAISE EXCEPTION 'mobicard: entry out of order'; END IF;
  RETURN NEW;
END $$"""


_DIGEST = "encode(sha256(convert_to(NEW.body, 'UTF8')), 'hex')"

POSTGRES_TRIGGERS = (
    _in_order(_DIGEST),
    f"""
CREATE FUNCTION entry_kept() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path =
    public, pg_temp
AS $$ BEGIN
{_keeping(_POSTGRES_JSON)}
  PERFORM pg_notify('mobicard', NEW.seq::text);
  RETURN NULL;
END $$""",
    """
CREATE FUNCTION entry_never() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
  RAISE EXCEPTION 'mobicard: entries are never changed or deleted';
END $$""",
    "CREATE TRIGGER entry_in_order BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_in_order()",
    "CREATE TRIGGER entry_kept AFTER INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_kept()",
    "CREATE TRIGGER entry_never BEFORE UPDATE OR DELETE ON entry FOR EACH ROW EXECUTE FUNCTION entry_never()",
    "CREATE TRIGGER entry_never_emptied BEFORE TRUNCATE ON entry EXECUTE FUNCTION entry_never()",
)
"""PostgreSQL also recomputes the hash, so a client that lies about it is refused."""

# The one hole in "never changed": a body may be emptied once its digest is kept, and only to nothing. A purge
# entry in the chain names the stay and the export that was written before.
_EMPTIED = (
    "NEW.body = '' AND OLD.body <> '' AND EXISTS (SELECT 1 FROM purged WHERE purged.seq = OLD.seq) AND "
    + " AND ".join(
        f'NEW."{name}" = OLD."{name}"'
        for name in ("seq", "id", "stay", "version", "kind", "at", "by", "schema", "prev", "hash")
    )
)

SQLITE_PURGE = (
    "DROP TRIGGER entry_never_changed",
    f"CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry WHEN NOT ({_EMPTIED}) BEGIN "
    "SELECT RAISE(ABORT, 'mobicard: entries are never changed'); END",
)

POSTGRES_UNITS = (
    # Beside the channel of every save one for each first word of a bed's name, and "*" for what has no bed.
    # No text but the number: any login may listen.
    f"""
CREATE OR REPLACE FUNCTION entry_kept() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path =
    public, pg_temp
AS $$ DECLARE was text; lies text; BEGIN
  SELECT bed INTO was FROM stay WHERE stay.stay = NEW.stay;
{_keeping(_POSTGRES_JSON)}
  SELECT bed INTO lies FROM stay WHERE stay.stay = NEW.stay;
  PERFORM pg_notify('mobicard', NEW.seq::text);
  IF NEW.kind IN ('day_plan', 'person', 'limits') THEN PERFORM pg_notify('mobicard_*', NEW.seq::text);
  ELSIF NEW.kind <> 'seen' THEN
    PERFORM pg_notify('mobicard_' || told.first, NEW.seq::text) FROM (
      SELECT DISTINCT lower(substring(bed FROM '^[A-Za-z0-9]+') COLLATE "C") AS first
      FROM unnest(ARRAY[was, lies]) AS bed) AS told WHERE told.first IS NOT NULL;
  END IF;
  RETURN NULL;
END $$""",
)
"""Run once by migration 7: a station of one unit is not woken by another's saves."""

POSTGRES_PURGE = (
    # A purged entry comes back from an export without its body, by its kept digest.
    _in_order(
        f"CASE WHEN NEW.body = '' THEN (SELECT digest FROM purged WHERE seq = NEW.seq) ELSE {_DIGEST} END"
    ),
    f"""
CREATE OR REPLACE FUNCTION entry_never() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = public, pg_temp AS $$ BEGIN
  IF TG_OP = 'UPDATE' THEN
    IF {_EMPTIED} THEN RETURN NEW; END IF;
  END IF;
  RAISE EXCEPTION 'mobicard: entries are never changed or deleted';
END $$""",
)

_SQLITE_NOW = "strftime('%Y-%m-%dT%H:%M:%f', 'now') || '000+00:00'"

SQLITE_RECEIPTS = (
    # An import brings the receipts of its entries along.
    f"CREATE TRIGGER entry_received AFTER INSERT ON entry BEGIN INSERT INTO receipt (seq, at) "
    f"SELECT NEW.seq, {_SQLITE_NOW} WHERE NOT EXISTS (SELECT 1 FROM receipt WHERE seq = NEW.seq); END",
    *(
        f"CREATE TRIGGER receipt_never_{what}d BEFORE {what.upper()} ON receipt BEGIN "
        "SELECT RAISE(ABORT, 'mobicard: entries are never changed'); END"
        for what in ("update", "delete")
    ),
)

POSTGRES_RECEIPTS = (
    """
CREATE FUNCTION entry_received() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path =
    public, pg_temp
AS $$ BEGIN
  INSERT INTO receipt (seq, at) VALUES (NEW.seq,
    to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00')
  ON CONFLICT DO NOTHING;
  RETURN NULL;
END $$""",
    "REVOKE ALL ON FUNCTION entry_received() FROM PUBLIC",
    "CREATE TRIGGER entry_received AFTER INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_received()",
    """
CREATE FUNCTION receipt_never() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
  RAISE EXCEPTION 'mobicard: entries are never changed or deleted';
END $$""",
    "CREATE TRIGGER receipt_never BEFORE UPDATE OR DELETE ON receipt FOR EACH ROW "
    "EXECUTE FUNCTION receipt_never()",
    "CREATE TRIGGER receipt_never_emptied BEFORE TRUNCATE ON receipt EXECUTE FUNCTION receipt_never()",
)
"""Run once by migration 6; what was there before is taken as received when it says it was made."""
