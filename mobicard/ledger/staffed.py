"""The database with its staff list: what reads and writes only for whoever has signed in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine
from sqlalchemy.engine import URL

from mobicard.ledger.database.store import Store
from mobicard.ledger.staff.people import Staff


class StaffedStore(Store):
    """A store that knows who is signed in."""

    def __init__(self, engine: Engine, url: URL) -> None:
        super().__init__(engine, url)
        self.staff = Staff(self)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """As ``looking``, for patients' rows, which a server shows only to those signed in.

        Raises NotAllowed rather than let that pass for an empty ward.
        """
        with self.looking() as connection:
            self.staff.must_be_in(connection)
            yield connection
