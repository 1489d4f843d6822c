"""Opening the database: where the ledger lives, and the settings under which nothing acknowledged is lost."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from time import sleep
from typing import Any

from platformdirs import user_data_path
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import ConnectionPoolEntry

from mobicard import inflow
from mobicard.ledger import disk
from mobicard.ledger.database.filekind import check_kind
from mobicard.ledger.errors import (
    LedgerDamaged,
    LedgerError,
    LedgerMissing,
    LedgerReadOnly,
    LedgerUnreachable,
)

ENV = "MOBICARD_LEDGER"
BUSY_S = 5.0
"""Seconds a writer waits for another before it is told the ledger is busy."""

_ELSEWHERE = f"Choose a folder on this machine's own disk with {ENV}."


def ledger_url(said: str | Path | None = None) -> URL:
    """The database meant by a URL, a plain path, ``$MOBICARD_LEDGER``, or nothing (the user's data folder).

    Raises LedgerUnreachable when it is neither.
    """
    text = str(said or os.environ.get(ENV) or user_data_path("mobicard") / "ledger.sqlite")
    if "://" not in text:
        return URL.create("sqlite+pysqlite", database=str(Path(text).expanduser().absolute()))
    try:
        url = make_url(text)
    except ArgumentError:
        raise LedgerUnreachable(f"“{text}” is neither a path nor a database address; check {ENV}.") from None
    if url.get_backend_name() in {"postgresql", "postgres"}:
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() == "sqlite" and url.database:
        return url.set(drivername="sqlite+pysqlite", database=str(Path(url.database).expanduser().absolute()))
    raise LedgerUnreachable(
        f"A ledger lives in SQLite or PostgreSQL, not in “{url.drivername}”; check {ENV}."
    )


def shown(url: URL) -> str:
    """The ledger's place as a person may see it: a path, or the address without its password."""
    return (
        str(url.database) if url.get_backend_name() == "sqlite" else url.render_as_string(hide_password=True)
    )


def connect(url: URL, *, create: bool = True) -> Engine:
    """An engine with the settings the ledger relies on; a SQLite file and its folder are made private."""
    if url.get_backend_name() == "sqlite":
        _make_private(Path(str(url.database)), create=create)
        engine = create_engine(
            url, hide_parameters=True, connect_args={"timeout": BUSY_S, "check_same_thread": False}
        )
        event.listen(engine, "do_connect", _on_file)
        event.listen(engine, "checkin", _let_go)
        event.listen(engine, "begin", _sqlite_begin)
        return engine
    return _on_server(url)


def _on_server(url: URL) -> Engine:
    """An engine for PostgreSQL; its driver is loaded only here, for stations that have one."""
    try:
        from mobicard.ledger.database import server
    except ImportError as missing:
        raise LedgerUnreachable(
            f"A ledger on PostgreSQL needs one more package here ({missing.name}): "
            "pip install 'mobicard[postgresql]'"
        ) from None
    engine = create_engine(
        url,
        hide_parameters=True,  # patient facts never reach a log
        pool_pre_ping=True,
        pool_size=1,  # kept open, beside the one that listens: a server takes a hundred in all by default
        max_overflow=9,
        connect_args=server.limits(BUSY_S),
    )

    def gives_up(_dialect: object, _record: object, words: list[Any], more: dict[str, Any]) -> server.GivesUp:
        return server.GivesUp.connect(*words, **more)

    event.listen(engine, "do_connect", gives_up)
    return engine


def _make_private(path: Path, *, create: bool) -> None:
    """The file as 0600 in a folder of 0700, before SQLite would make it readable to others."""
    try:
        if path.exists():
            _check_usable(path)
            return
        if path.is_symlink():
            raise LedgerMissing(f"{path} is a link to nothing ({os.readlink(path)}). Check where it leads.")
        if not create:
            raise missing(str(path))
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if lack := disk.lacks(path.parent):
            raise LedgerUnreachable(f"The ledger cannot be made at {path}: {lack}. {_ELSEWHERE}")
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except FileExistsError:
        return  # another station made it in the meantime
    except PermissionError:
        raise LedgerReadOnly(
            f"The ledger cannot be made at {path}: the folder may not be written by you. "
            f"Choose another with {ENV}, or ask who looks after this computer."
        ) from None
    except OSError as cause:
        why = cause.strerror or cause
        raise LedgerUnreachable(f"The ledger cannot be made at {path}: {why}. {_ELSEWHERE}") from None


def missing(where: str) -> LedgerMissing:
    """The refusal where no ledger is."""
    return LedgerMissing(
        f"There is no ledger at {where}, and none was made. Check how the place is written; a new, empty "
        "ledger is made by `mobicard ledger new`."
    )


def explained(url: URL, fault: LedgerError) -> LedgerError:
    """A fault at opening, by its cause where that is the file system: SQLite calls a lack of locks busy."""
    if url.get_backend_name() != "sqlite":
        return fault
    try:
        lack = disk.lacks(Path(str(url.database)).parent)
    except OSError as closed:
        return LedgerReadOnly(
            f"The ledger at {url.database} cannot be opened: its folder may not be written "
            f"({closed.strerror}), and files beside it are needed even for reading. Copy it to a folder of "
            "your own, or ask who looks after this computer."
        )
    return (
        LedgerUnreachable(f"The ledger at {url.database} cannot be used: {lack}. {_ELSEWHERE}")
        if lack
        else fault
    )


def _check_usable(path: Path) -> None:
    """Refuse what SQLite would misread: a folder, another's private file, an emptied file as a new ledger."""
    if path.is_dir():
        raise LedgerUnreachable(f"{path} is a folder; name the ledger's file in it.")
    inflow.refuse_device(path)
    if not os.access(path, os.R_OK, effective_ids=True):
        raise LedgerUnreachable(f"The ledger at {path} belongs to someone else and may not be opened by you.")
    for _ in range(20):  # another station may just be making it
        if not path.is_file():
            return
        if path.stat().st_size:
            check_kind(path)
            return
        sleep(0.1)
    raise LedgerDamaged(
        f"The file at {path} is empty, so no ledger is in it. If one was, restore the last backup to another "
        "path; if none ever was, remove the empty file and start again."
    )


def _on_file(
    _dialect: object, record: ConnectionPoolEntry, words: list[Any], more: dict[str, Any]
) -> sqlite3.Connection:
    """A connection to the file; on a disk without room for the log's index, one that has the file to itself.

    Such a one needs no index (sqlite.org/wal.html, section 8): reading goes on, and a save is told why not.
    """
    connection = sqlite3.connect(*words, **more)
    try:
        return _set_up(connection)
    except sqlite3.OperationalError as no_room:
        connection.close()
        if no_room.sqlite_errorcode != sqlite3.SQLITE_IOERR_SHMSIZE:
            raise
    record.info[_ALONE] = True
    connection = sqlite3.connect(*words, **more)
    connection.execute("PRAGMA locking_mode=EXCLUSIVE")
    return _set_up(connection)


_ALONE = "alone"


def _let_go(_connection: object, record: ConnectionPoolEntry) -> None:
    """What has the file to itself is closed once used, lest it keep the others out."""
    if record.info.pop(_ALONE, False):
        record.invalidate()


def _set_up(connection: sqlite3.Connection) -> sqlite3.Connection:
    connection.isolation_level = None  # we say BEGIN ourselves, so that a writer takes its lock at once
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}").close()
    return connection


def _sqlite_begin(connection: Connection) -> None:
    writes: Any = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
