"""The README's sixty seconds, walked key by key over the demo at ten to seven."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from mobicard.demo.morning import fill_morning
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward

NOW = datetime(2026, 3, 2, 6, 50)
README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
NAMES = {"Esc": "escape", "Enter": "enter", "?": "question_mark"}


def steps() -> list[tuple[list[str], list[str]]]:
    """Each row of the tour: the keys it presses, the words it promises in bold."""
    table = README.split("<!-- tour -->", 1)[1].split("<!-- tour end -->", 1)[0]
    rows = [line.strip("|").split("|") for line in table.strip().splitlines()[2:]]
    return [
        ([NAMES.get(key, key) for key in re.findall(r"`(.*?)`", keys)], re.findall(r"\*\*(.*?)\*\*", shows))
        for keys, shows in rows
    ]


@pytest.fixture
def morning(tmp_path: Path) -> Iterator[Ward]:
    """The unit as `mobicard demo` writes it, JN at the station."""
    with Ledger.open(tmp_path / "unit.sqlite") as ledger:
        settings = Settings.found(config_dir=tmp_path / "config")
        fill_morning(Ward(ledger, settings, Clock.fixed(NOW), demo=True), NOW)
        yield Ward(ledger, settings, Clock.fixed(NOW), by="JN", drafts=tmp_path / "drafts")


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_each_key_shows_what_the_tour_says(opened, morning: Ward, size: tuple[int, int]) -> None:
    """In the order of the page, with nothing pressed between; under forty keys."""
    told = steps()
    assert len(told) >= 8
    assert sum(len(keys) for keys, _ in told) < 40
    async with opened(size=size, over=morning) as nurse:
        for keys, words in told:
            assert words, keys
            await nurse.press(*keys)
            shown = " ".join(nurse.screen.split())
            for word in words:
                assert word in shown, f"{keys}: no “{word}” on\n{nurse.screen}"


def test_the_levels_stand_before_the_first_command_that_prints_them() -> None:
    assert README.index("| ▬ | REMAIN |") < README.index("```")
