"""The database itself: one engine, where it lies, transactions whose faults become sentences."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Self

from sqlalchemy import Connection, Engine, select
from sqlalchemy.engine import URL
from sqlalchemy.pool import PoolProxiedConnection

from mobicard.ledger.database.engine import shown
from mobicard.ledger.database.faults import guarded
from mobicard.ledger.database.schema import chain
from mobicard.ledger.errors import LedgerUnreachable


class Store:
    """A ledger's database, whoever asks. Every method raises a LedgerError with its sentence."""

    def __init__(self, engine: Engine, url: URL) -> None:
        self._engine = engine
        self._writer = engine.execution_options(writes=True)
        self.url = url
        self._file: tuple[int, int] | None = None

    @property
    def where(self) -> str:
        """The ledger's place as it may be shown: a path, or an address without its password."""
        return shown(self.url)

    @property
    def on_server(self) -> bool:
        """Whether a PostgreSQL server holds the ledger."""
        return self._engine.dialect.name == "postgresql"

    def close(self) -> None:
        """Let go of every connection."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction that holds the writer's lock; faults become LedgerErrors."""
        with guarded(self.where):
            self._still_there()
            with self._writer.begin() as connection:
                yield connection
            self._still_there()  # what went into a file without a name is not acknowledged

    @contextmanager
    def looking(self) -> Iterator[Connection]:
        """One transaction that only reads; faults become LedgerErrors."""
        with guarded(self.where):
            self._still_there()
            with self._engine.connect() as connection:
                yield connection

    def note_file(self) -> None:
        """Keep which file was opened: a path may come to lead to another, or to none, while it is open."""
        self._file = None if self.on_server else _which(str(self.url.database))

    def _still_there(self) -> None:
        """SQLite goes on in a file that was deleted, where nobody finds what it saves."""
        if self._file is not None and _which(str(self.url.database), self._file) != self._file:
            raise LedgerUnreachable(
                f"The ledger at {self.where} was taken away or replaced while it was open here. Put it back; "
                "then leave mobicard and open it again."
            )

    def raw_connection(self) -> PoolProxiedConnection:
        """A driver's connection from the pool, for LISTEN."""
        return self._engine.raw_connection()

    def change_token(self) -> int:
        """A number that grows with every save, whoever makes it."""
        with self.looking() as connection:
            return int(connection.scalar(select(chain.c.seq)) or 0)


def _which(path: str, hidden: tuple[int, int] | None = None) -> tuple[int, int] | None:
    """The file itself, whatever it is called; None where there is none, ``hidden`` where nobody may look."""
    try:
        found = os.stat(path)
    except FileNotFoundError:
        return None
    except OSError:
        return hidden
    return found.st_dev, found.st_ino
