"""``mobicard handoff --since``: done, or refused in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from mobicard.cli import run

NOW = "2026-03-02T08:00"


@pytest.mark.parametrize(("since", "code"), [("05:30", 0), ("soon", 1), ("2026-03-02T09:00", 1)])
def test_since(since: str, code: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["demo", "--out", str(tmp_path / "u"), "--ledger-only", "--now", NOW]) == 0
    capsys.readouterr()
    station = ["--ledger", str(tmp_path / "u" / "demo.sqlite"), "--now", NOW, "--by", "JN"]
    assert run([*station, "handoff", "--json", "--since", since]) == code
    told = capsys.readouterr()
    if code == 0:
        assert json.loads(told.out)["since"] == "2026-03-02T05:30"
    else:
        assert told.err.startswith("mobicard: ")
        assert "Traceback" not in told.err
