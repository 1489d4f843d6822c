"""What makes a look-up cost the same after years: names a stay is found by, cards that hang, clocks set back.

Kept by trigger beside the entries, like the stay and slot tables; ``Found`` says the same in Python, for
making them anew and for verifying them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import BigInteger, Column, Connection, Integer, Row, Table, delete, insert, or_, select

from mobicard.ledger.database.schema import (
    _POSTGRES_JSON,
    _SQLITE_JSON,
    PlainText,
    entry,
    metadata,
    stay,
)
from mobicard.ledger.entry import MACHINE_AT, RECEIVED, body_from
from mobicard.ledger.state import bed_of

found = Table(
    "found",
    metadata,
    Column("what", PlainText, primary_key=True),
    Column("name", PlainText, primary_key=True),
    Column("stay", PlainText, primary_key=True),
)
"""What a stay is found by: each ``bed`` it was in, ``code`` printed for it, ``batch`` it was printed in."""

hanging = Table(
    "hanging",
    metadata,
    Column("stay", PlainText, primary_key=True),
    Column("code", PlainText, nullable=False),
    Column("bed", PlainText, nullable=False),
    Column("seq", BigInteger, nullable=False),
)
"""The door card that hangs for each stay, and at which bed's door, until it is noted as taken down."""

set_back = Table(
    "set_back",
    metadata,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("newest", PlainText, nullable=False),
)
"""Entries of an earlier minute than the newest that the ledger had seen, with that one; at 0 the newest."""

TABLES = (found, hanging, set_back)

INDEXES = (
    "CREATE INDEX entry_kind_seq ON entry (kind, seq)",
    'CREATE INDEX entry_by_seq ON entry ("by", seq)',
    "CREATE INDEX stay_closed ON stay (closed_at)",
)

PLACES = ("admit", "move", "readmit")
PRINTS = ("prepared", "hung", "taken_down")

_KEEPING = """
INSERT INTO found (what, name, stay) SELECT 'bed', {bed}, NEW.stay
  WHERE (NEW.kind IN ('admit', 'move', 'readmit') OR (NEW.kind = 'record' AND NEW.version = 1))
    AND {bed} IS NOT NULL ON CONFLICT DO NOTHING;
INSERT INTO found (what, name, stay) SELECT 'code', {code}, NEW.stay
  WHERE NEW.kind IN ('prepared', 'hung') AND {code} IS NOT NULL ON CONFLICT DO NOTHING;
INSERT INTO found (what, name, stay) SELECT 'batch', {batch}, NEW.stay
  WHERE NEW.kind = 'prepared' AND {batch} IS NOT NULL ON CONFLICT DO NOTHING;
DELETE FROM hanging WHERE NEW.kind = 'taken_down' AND {page} = 'door' AND stay = NEW.stay AND code = {code};
INSERT INTO hanging (stay, code, bed, seq) SELECT NEW.stay, {code}, coalesce({bed}, ''), NEW.seq
  WHERE NEW.kind = 'hung' AND {page} = 'door' AND {code} IS NOT NULL
  ON CONFLICT (stay) DO UPDATE SET code = excluded.code, bed = excluded.bed, seq = excluded.seq;
INSERT INTO set_back (seq, newest) SELECT NEW.seq, newest FROM set_back
  WHERE seq = 0 AND substr(newest, 1, 16) > substr({true_at}, 1, 16);
UPDATE set_back SET newest = {true_at} WHERE seq = 0 AND newest < {true_at};
"""


def _sqlite_text(name: str) -> str:
    """A name's text in a body; NULL where it is no text, or the body was emptied."""
    return (
        f"(CASE json_type(nullif(NEW.body, ''), '$.{name}') WHEN 'text' "
        f"THEN json_extract(NEW.body, '$.{name}') END)"
    )


def _postgres_text(name: str) -> str:
    return (
        f"(CASE jsonb_typeof(nullif(NEW.body, '')::jsonb -> '{name}') WHEN 'string' "
        f"THEN NEW.body::jsonb ->> '{name}' END)"
    )


def _true_at(machine: str, received: str) -> str:
    """When the ledger took the entry, by the machine's clock; text order is time order."""
    return f"coalesce({machine}, {received}, NEW.at)"


def _filled(json: Mapping[str, str], text: Any) -> str:
    return _KEEPING.format(
        bed=json["bed"],
        page=json["page"],
        code=text("code"),
        batch=text("batch"),
        true_at=_true_at(text(MACHINE_AT), text(RECEIVED)),
    )


SQLITE_FOUND = (
    f"CREATE TRIGGER entry_found AFTER INSERT ON entry BEGIN\n{_filled(_SQLITE_JSON, _sqlite_text)}\nEND",
)

POSTGRES_FOUND = (
    f"""
CREATE FUNCTION entry_found() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path =
    public, pg_temp
AS $$ BEGIN
{_filled(_POSTGRES_JSON, _postgres_text)}
  RETURN NULL;
END $$""",
    "CREATE TRIGGER entry_found AFTER INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_found()",
    *(f"ALTER TABLE {table.name} ENABLE ROW LEVEL SECURITY" for table in TABLES),
    *(
        f"CREATE POLICY mobicard_{table.name}_read ON {table.name} FOR SELECT "
        "USING ((SELECT mobicard_role()) IS NOT NULL)"
        for table in TABLES
    ),
    # A unit that has its roles already goes on without setting them anew.
    """
DO $$ DECLARE name text; BEGIN
  FOR name IN SELECT rolname FROM pg_roles
    WHERE rolname IN ('mobicard_nurse', 'mobicard_clerk', 'mobicard_reader', 'mobicard_keeper') LOOP
    EXECUTE format('GRANT SELECT ON found, hanging, set_back TO %I', name);
  END LOOP;
END $$""",
)


@dataclass(slots=True)
class Found:
    """What the three tables should say, as the entries say it; ``take`` in the order they were saved."""

    names: set[tuple[str, str, str]] = field(default_factory=set)
    cards: dict[str, tuple[str, str, int]] = field(default_factory=dict)
    newest: str = ""
    back: dict[int, str] = field(default_factory=dict)

    def take(self, row: Row[Any], body: Mapping[str, Any]) -> None:
        """Fold the next entry in, as the trigger does."""
        at = str(_text(body, MACHINE_AT) or _text(body, RECEIVED) or row.at)
        if self.newest[:16] > at[:16]:
            self.back[row.seq] = self.newest
        self.newest = max(self.newest, at)
        if row.kind in PLACES or (row.kind == "record" and row.version == 1):
            self._name("bed", bed_of(body), row.stay)
        elif row.kind in PRINTS:
            self._print(row, body)

    def _print(self, row: Row[Any], body: Mapping[str, Any]) -> None:
        code = _text(body, "code")
        if row.kind != "taken_down":
            self._name("code", code, row.stay)
        if row.kind == "prepared":
            self._name("batch", _text(body, "batch"), row.stay)
        elif body.get("page") not in {None, "door"} or code is None:
            return
        elif row.kind == "hung":
            self.cards[row.stay] = (code, bed_of(body) or "", row.seq)
        elif self.cards.get(row.stay, ("",))[0] == code:
            del self.cards[row.stay]

    def _name(self, what: str, name: str | None, which: str) -> None:
        if name is not None:
            self.names.add((what, name, which))

    def only(self, stays: Collection[str]) -> None:
        """Others were purged: nothing is found by them any more."""
        self.cards = {which: card for which, card in self.cards.items() if which in stays}
        self.names = {one for one in self.names if one[2] in stays}

    def odd(self, connection: Connection, tables: Iterable[Table] = TABLES) -> bool:
        """Whether the tables say something else."""
        return any(
            set(map(tuple, connection.execute(select(table)))) != set(self._rows(table)) for table in tables
        )

    def put(self, connection: Connection) -> None:
        """Make the tables say this."""
        for table in TABLES:
            connection.execute(delete(table))
            rows = [dict(zip(table.c.keys(), row, strict=True)) for row in self._rows(table)]
            for start in range(0, len(rows), 1000):
                connection.execute(insert(table), rows[start : start + 1000])

    def _rows(self, table: Table) -> Iterable[tuple[Any, ...]]:
        if table is found:
            return sorted(self.names)
        if table is hanging:
            return [(which, *card) for which, card in self.cards.items()]
        return [(0, self.newest), *self.back.items()]


def _text(body: Mapping[str, Any], name: str) -> str | None:
    said = body.get(name)
    return said if isinstance(said, str) else None


def found_in(connection: Connection) -> Found:
    """What the entries there are say, read once in order; only bodies that matter are opened.

    An entry that cannot be read is passed over here: the beds say that it is held aside.
    """
    folded, since, empty = Found(), 0, dict[str, Any]()
    columns = (entry.c.seq, entry.c.stay, entry.c.version, entry.c.kind, entry.c.at)
    tells = or_(
        entry.c.kind.in_((*PLACES, *PRINTS)),
        entry.c.version == 1,
        entry.c.body.contains(f'"{MACHINE_AT}"'),
        entry.c.body.contains(f'"{RECEIVED}"'),
    )
    query = select(*columns, entry.c.body, tells.label("tells")).order_by(entry.c.seq).limit(5000)
    while page := connection.execute(query.where(entry.c.seq > since)).all():
        for row in page:
            try:
                body = body_from(row.body) if row.tells else empty
                folded.take(row, body)
            except (ValueError, RecursionError, TypeError):
                continue
        since = page[-1].seq
    folded.only(set(connection.scalars(select(stay.c.stay))))
    return folded
