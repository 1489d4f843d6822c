"""Places for ledgers: a PostgreSQL server of the tests' own, and a writer that says things in order."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from mobicard.facts import Record
from mobicard.ledger import Entry, Ledger, NewEntry
from tests.records import record_entry

CHEAP = "t=1,m=64,p=1"
START = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


class Server:
    """A PostgreSQL server of our own on a Unix socket in a temporary folder."""

    def __init__(
        self, binaries: Path, *, sync: bool = False, folder: str | None = None, connections: int = 60
    ) -> None:
        self.binaries = binaries
        self.folder = Path(tempfile.mkdtemp(prefix="mobicard-pg-", dir=folder or _roomy()))
        self.sync, self.connections = sync, connections
        self._numbers = count(1)
        self._emptied = False
        if os.geteuid() == 0:
            shutil.chown(self.folder, "postgres")
        self._run("initdb", "-D", f"{self.folder}/data", "-U", "postgres", "-A", "trust", "-N", "-E", "UTF8")
        self.start()
        self.query("CREATE ROLE owner LOGIN CREATEROLE CREATEDB")

    def start(self) -> None:
        options = f"-k {self.folder} -c listen_addresses='' -c max_connections={self.connections}" + (
            "" if self.sync else " -F"
        )
        log = f"{self.folder}/log"
        self._run("pg_ctl", "-D", f"{self.folder}/data", "-l", log, "-w", "-o", options, "start")

    def stop(self) -> None:
        self._run("pg_ctl", "-D", f"{self.folder}/data", "-m", "immediate", "-w", "stop")

    def kill(self) -> None:
        """As a power cut would: no farewell, no checkpoint."""
        first = self._first()
        for one in (first, *_children(first)):
            os.kill(one, signal.SIGKILL)
        # A dead server whose parent has not yet collected it looks alive to the next one.
        (self.folder / "data" / "postmaster.pid").unlink(missing_ok=True)
        for lock in self.folder.glob(".s.PGSQL.*"):
            lock.unlink()

    @contextmanager
    def halted(self) -> Iterator[None]:
        """As a server hung on its disk: every socket stays open and takes what is sent, nothing answers."""
        first = self._first()
        os.kill(first, signal.SIGSTOP)  # from here on none of its processes is made or taken away
        children = _children(first)
        try:
            for one in children:
                os.kill(one, signal.SIGSTOP)
            yield
        finally:
            for one in (*children, first):
                os.kill(one, signal.SIGCONT)

    def _first(self) -> int:
        return int((self.folder / "data" / "postmaster.pid").read_text().splitlines()[0])

    def remove(self) -> None:
        if (self.folder / "data" / "postmaster.pid").exists():
            self.stop()
        shutil.rmtree(self.folder)

    def query(self, sql: str, database: str = "postgres", user: str = "postgres") -> str:
        return self._run(
            "psql", "-h", str(self.folder), "-U", user, "-d", database, "-v", "ON_ERROR_STOP=1", "-Atc", sql
        )

    def emptied(self) -> str:
        """The address of the one database most tests use, emptied: quicker than a new one."""
        if not self._emptied:
            self.query("CREATE DATABASE unit OWNER owner")
            self._emptied = True
        self.query("DROP SCHEMA public CASCADE; CREATE SCHEMA public AUTHORIZATION owner", "unit")
        return self.url("unit")

    def fresh(self) -> str:
        """The address of a new empty database, as its owner."""
        name = f"unit_{next(self._numbers)}"
        self.query(f"CREATE DATABASE {name} OWNER owner")
        return self.url(name)

    def url(self, database: str, user: str = "owner") -> str:
        return f"postgresql+psycopg://{user}@/{database}?host={self.folder}"

    def _run(self, program: str, *args: str) -> str:
        as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        ran = subprocess.run(
            [*as_user, str(self.binaries / program), *args],
            stdout=subprocess.DEVNULL if program == "pg_ctl" else subprocess.PIPE,
            stderr=subprocess.DEVNULL if program == "pg_ctl" else subprocess.PIPE,
            text=True,
            check=False,
            cwd="/tmp",
        )
        if ran.returncode:
            raise RuntimeError(f"{program}: {ran.stderr or ran.returncode}")
        return (ran.stdout or "").strip()


def _children(pid: int) -> list[int]:
    ran = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True, check=False)
    return [int(word) for word in ran.stdout.split()]


def _roomy() -> str:
    """Memory if the machine has enough of it as a folder, else the disk."""
    memory = Path("/dev/shm")
    return str(memory) if memory.is_dir() and shutil.disk_usage(memory).free > 2**30 else "/tmp"


def postgres_binaries() -> Path | None:
    """Debian's newest PostgreSQL, or what is on the path; None when the machine has none."""
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    found = str(debian[-1]) if debian else shutil.which("initdb")
    return Path(found).parent if found else None


class Writer:
    """Says things to a ledger, each a minute after the last."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.now = START

    def __call__(self, stay: str, kind: str, body: dict[str, Any] | None = None, **more: Any) -> Entry:
        self.now += timedelta(minutes=1)
        entry = NewEntry(stay, kind, more.pop("at", self.now), more.pop("by", "JN"), body or {}, **more)
        return self.ledger.append(entry)[0]

    def admit(self, stay: str, bed: str, label: str = "RT") -> Entry:
        return self(stay, "admit", {"bed": bed, "label": label})

    def record(
        self, stay: str, bed: str, *, expect: int | None = None, by: str = "JN", **facts: Any
    ) -> Entry:
        self.now += timedelta(minutes=1)
        record = Record(bed=bed, assessed_at=self.now.replace(tzinfo=None), assessed_by=by, **facts)
        return self.ledger.append(record_entry(stay, record, self.now, by, expect=expect))[0]
