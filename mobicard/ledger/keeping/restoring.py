"""A ledger made again from a backup or an export, in a place where none is."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy.engine import URL

from mobicard.ledger.database.engine import ledger_url
from mobicard.ledger.database.filekind import FileKind
from mobicard.ledger.errors import LedgerDamaged, LedgerError, LedgerRefused, NotALedger
from mobicard.ledger.keeping.backup import import_jsonl, kind_at, refuse_existing
from mobicard.ledger.keeping.copying import copy_sqlite
from mobicard.ledger.keeping.verify import verify
from mobicard.ledger.ledger import Ledger


def restore(path: Path, url: str | Path) -> Ledger:
    """Open a backup as a new ledger at ``url``, which must not exist yet (or be an empty database).

    Raises LedgerRefused when something is there, NotALedger when ``path`` is neither a backup nor an
    export, LedgerDamaged when it does not verify.
    """
    target = ledger_url(url)
    kind = kind_at(path)
    if kind is FileKind.EXPORT:
        if target.get_backend_name() == "sqlite":
            refuse_existing(Path(str(target.database)))
        ledger = Ledger.open(url)
        _taken(ledger, path)
    elif kind is not FileKind.SQLITE:
        raise NotALedger(
            f"{path} is {kind.value}: neither a backup nor an export of a ledger. Nothing was made."
        )
    elif target.get_backend_name() != "sqlite":
        raise LedgerRefused(
            f"{path} is a SQLite ledger: restore it to a path, export it there, import on the server."
        )
    else:
        refuse_existing(Path(str(target.database)))
        copy_sqlite(path, Path(str(target.database)))
        ledger = _opened(target)
    try:
        report = verify(ledger)
    except LedgerError:
        _leave_nothing(ledger)
        raise
    if not report.ok:
        _leave_nothing(ledger)
        raise LedgerDamaged(f"The backup at {path} does not check out: {report.says}")
    return ledger


def _opened(target: URL) -> Ledger:
    try:
        return Ledger.open(str(target.database), create=False)
    except LedgerError:
        _remove(target)
        raise


def _taken(ledger: Ledger, path: Path) -> None:
    try:
        import_jsonl(ledger, path)
    except LedgerError:
        _leave_nothing(ledger)
        raise


def _leave_nothing(ledger: Ledger) -> None:
    """Lest a half be taken for the whole: the file made just now goes; a server's database stays empty."""
    ledger.close()
    if not ledger.on_server:
        _remove(ledger.url)


def _remove(target: URL) -> None:
    place = Path(str(target.database))
    for one in (place, *(place.with_name(place.name + end) for end in ("-wal", "-shm"))):
        one.unlink(missing_ok=True)
