"""The database itself: one engine, where it lies, transactions whose faults become sentences."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Self

from sqlalchemy import Connection, Engine, select
from sqlalchemy.engine import URL
from sqlalchemy.pool import PoolProxiedConnection

from mobicard.ledger.database.engine import shown
from mobicard.ledger.database.faults import guarded
from mobicard.ledger.database.schema import chain


class Store:
    """A ledger's database, whoever asks. Every method raises a LedgerError with its sentence."""

    def __init__(self, engine: Engine, url: URL) -> None:
        self._engine = engine
        self._writer = engine.execution_options(writes=True)
        self.url = url

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
        with guarded(self.where), self._writer.begin() as connection:
            yield connection

    @contextmanager
    def looking(self) -> Iterator[Connection]:
        """One transaction that only reads; faults become LedgerErrors."""
        with guarded(self.where), self._engine.connect() as connection:
            yield connection

    def raw_connection(self) -> PoolProxiedConnection:
        """A driver's connection from the pool, for LISTEN."""
        return self._engine.raw_connection()

    def change_token(self) -> int:
        """A number that grows with every save, whoever makes it."""
        with self.looking() as connection:
            return int(connection.scalar(select(chain.c.seq)) or 0)
