"""Looking at a ledger's file never lets go of the locks this process has on it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from mobicard.ledger import Ledger
from mobicard.ledger.database.filekind import FileKind, kind_of
from mobicard.ledger.errors import LedgerError
from mobicard.ledger.keeping.backup import import_jsonl
from tests.ledger.places import Writer

TAKES_IT = """
import sqlite3, sys
there = sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None)
try:
    there.execute("BEGIN IMMEDIATE")
except sqlite3.OperationalError:
    sys.exit(3)
"""

COUNTS = """
import sqlite3, sys
print(sqlite3.connect(sys.argv[1]).execute("SELECT max(seq) FROM entry").fetchone()[0])
"""


def another_may_write(path: Path) -> bool:
    """Whether another process gets the writer's lock now."""
    ran = subprocess.run([sys.executable, "-c", TAKES_IT, str(path)], check=False)
    assert ran.returncode in {0, 3}
    return ran.returncode == 0


def hold_for_reading(ledger: Ledger) -> None:
    """A connection left in the pool: it has the lock that keeps the log beside the file alive."""
    assert ledger.beds()


@pytest.fixture
def held(lite: Ledger) -> Ledger:
    Writer(lite).admit("s1", "4W-1")
    hold_for_reading(lite)
    return lite


def test_looking_at_a_file_leaves_the_log_to_those_who_have_it_open(held: Ledger) -> None:
    """Another process comes and goes: were the locks gone it would delete the log under this one."""
    path = Path(str(held.url.database))
    assert kind_of(path) is FileKind.SQLITE
    assert another_may_write(path)
    assert path.with_name(path.name + "-wal").exists(), "the log was deleted under an open ledger"


def test_opening_a_ledger_twice_in_one_process_leaves_the_log(held: Ledger) -> None:
    path = Path(str(held.url.database))
    with Ledger.open(path) as again:
        again.beds()
    assert another_may_write(path)
    assert path.with_name(path.name + "-wal").exists()


def test_what_is_saved_after_a_look_is_there_for_others(held: Ledger) -> None:
    """As it happened: a look, another process ends, the next save went into a file nobody sees."""
    path = Path(str(held.url.database))
    kind_of(path)
    assert another_may_write(path)
    Writer(held).admit("s2", "4W-2")
    ran = subprocess.run(
        [sys.executable, "-c", COUNTS, str(path)], check=True, capture_output=True, text=True
    )
    assert ran.stdout.strip() == "2"


def test_taking_an_import_from_itself_leaves_the_log(held: Ledger) -> None:
    path = Path(str(held.url.database))
    with pytest.raises(LedgerError):
        import_jsonl(held, path)
    assert another_may_write(path)
    assert path.with_name(path.name + "-wal").exists()
