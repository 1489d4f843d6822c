"""A ledger made again from a backup or an export, in a place where none is."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from sqlalchemy.engine import URL

from mobicard.ledger.database.engine import ledger_url
from mobicard.ledger.database.filekind import FileKind
from mobicard.ledger.database.guards import unmake
from mobicard.ledger.errors import LedgerDamaged, LedgerError, LedgerMissing, LedgerRefused, NotALedger
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
    kind, on_server = kind_at(path), target.get_backend_name() != "sqlite"
    if kind not in (FileKind.EXPORT, FileKind.SQLITE):
        raise NotALedger(
            f"{path} is {kind.value}: neither a backup nor an export of a ledger. Nothing was made."
        )
    if kind is FileKind.SQLITE and on_server:
        raise LedgerRefused(
            f"{path} is a SQLite ledger: restore it to a path, export it there, import on the server."
        )
    if on_server:
        return _checked(path, target, fresh=not _is_ledger(target))
    refuse_existing(Path(str(target.database)))
    return _checked(path, target, fresh=True)


def _checked(path: Path, target: URL, *, fresh: bool) -> Ledger:
    """Made and checked, or nothing is left: a half would be taken for the whole."""
    try:
        ledger = _made(path, target)
        report = verify(ledger)
        if not report.ok:
            raise LedgerDamaged(f"The backup at {path} does not check out: {report.says}")
    except BaseException:
        if fresh:
            _leave_nothing(target)
        raise
    return ledger


def _made(path: Path, target: URL) -> Ledger:
    if kind_at(path) is FileKind.SQLITE:
        copy_sqlite(path, Path(str(target.database)))
        return Ledger.open(str(target.database), create=False)
    ledger = Ledger.open(_text(target))
    try:
        import_jsonl(ledger, path)
    except BaseException:
        ledger.close()
        raise
    return ledger


def _text(target: URL) -> str:
    if target.get_backend_name() == "sqlite":
        return str(target.database)
    return target.render_as_string(hide_password=False)


def _is_ledger(target: URL) -> bool:
    try:
        Ledger.open(_text(target), create=False).close()
    except LedgerMissing:
        return False
    return True


def _leave_nothing(target: URL) -> None:
    if target.get_backend_name() == "sqlite":
        place = Path(str(target.database))
        older = place.parent.glob(f"{place.name}.schema-*")
        for one in (place, *(place.with_name(place.name + end) for end in ("-wal", "-shm")), *older):
            one.unlink(missing_ok=True)
        return
    with (
        suppress(LedgerError),
        Ledger.open(_text(target), create=False) as ledger,
        ledger.writing() as connection,
    ):
        unmake(connection)
