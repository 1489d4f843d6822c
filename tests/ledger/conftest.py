"""One ledger on each engine: SQLite in a folder, PostgreSQL in a server these tests start and stop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from mobicard.ledger import Ledger
from mobicard.ledger.staff import people
from tests.ledger.places import CHEAP, Server, Writer, postgres_binaries

ENGINES = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)]


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    binaries = postgres_binaries()
    if binaries is None:
        pytest.skip("no PostgreSQL programs on this machine: apt-get install postgresql")
    running = Server(binaries)
    yield running
    running.remove()


@pytest.fixture(autouse=True)
def quick_pins(monkeypatch: pytest.MonkeyPatch) -> None:
    """PINs made with little memory, as the cost is kept beside each; one test checks the real one."""
    monkeypatch.setattr(people, "COST", CHEAP)


@pytest.fixture(params=ENGINES)
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty place for a ledger, on each engine in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'ledger.sqlite'}"
    emptied: str = request.getfixturevalue("server").emptied()
    return emptied


@pytest.fixture
def ledger(url: str) -> Iterator[Ledger]:
    opened = Ledger.open(url)
    yield opened
    opened.close()


@pytest.fixture
def lite(tmp_path: Path) -> Iterator[Ledger]:
    """A ledger on SQLite only, for what is a matter of its file."""
    opened = Ledger.open(tmp_path / "ledger.sqlite")
    yield opened
    opened.close()


@pytest.fixture
def write(ledger: Ledger) -> Writer:
    return Writer(ledger)


@pytest.fixture
def sql(ledger: Ledger) -> Callable[[str], Any]:
    """Run a statement past the program, as someone with the file or the owner's password could."""

    def run(statement: str) -> Any:
        with ledger._writer.begin() as connection:
            result = connection.exec_driver_sql(statement)
            return result.all() if result.returns_rows else None

    return run
