"""The day plan on the facility's paper, or the one asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from mobicard.cli.run import run
from mobicard.paper.sheet_sizes import PAPERS

STAFF = str(Path(__file__).parents[2] / "examples" / "hands" / "staff.toml")


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_day_plan_comes_on_the_paper_asked_for(
    paper: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    at = ["--ledger", str(tmp_path / "unit.sqlite"), "--by", "JN"]
    assert run([*at, "ledger", "new"]) == 0
    assert run([*at, "hands", "--staff", STAFF, "--plain", "--out", str(tmp_path), "--paper", paper]) == 0
    width, height = PAPERS[paper]
    assert f"size: {width:g}mm {height:g}mm" in (tmp_path / "hands.html").read_text(encoding="utf-8")
