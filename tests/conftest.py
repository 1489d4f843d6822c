"""Shared by every test: a home of its own, no colour settings from outside, a ward over an empty ledger."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from mobicard.ward import Clock, Settings, Ward

MORNING = datetime(2026, 3, 2, 8, 0)


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No test reads or writes the user's own folders, clock settings or ledger."""
    home = tmp_path_factory.mktemp("home")
    for name, folder in (("XDG_DATA_HOME", "data"), ("XDG_CONFIG_HOME", "config"), ("HOME", "")):
        monkeypatch.setenv(name, str(home / folder))
    for name in (
        "NO_COLOR",
        "FORCE_COLOR",
        "MOBICARD_LEDGER",
        "MOBICARD_CONFIG",
        "MOBICARD_BY",
        "MOBICARD_NOW",
        "LC_ALL",
        "LC_PAPER",
    ):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "C.UTF-8")
    return


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A ward at 08:00 on an invented Monday, over an empty SQLite ledger, with JN at the station."""
    from mobicard.ledger import Ledger

    ledger = Ledger.open(f"sqlite:///{tmp_path / 'ledger.sqlite'}")
    settings = Settings.found(config_dir=tmp_path / "config")
    yield Ward(ledger, settings, Clock.fixed(MORNING), by="JN", drafts=tmp_path / "drafts")
    ledger.close()


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder every user can look into, as pytest's own is not."""
    folder = Path(tempfile.mkdtemp(prefix="mobicard-", dir="/tmp"))
    folder.chmod(0o777)
    yield folder
    shutil.rmtree(folder)
