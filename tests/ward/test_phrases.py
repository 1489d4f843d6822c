"""A facility's own patient lines: found in its folder, on the bedside card, refused by name."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from mobicard.derive import plan_for
from mobicard.facts.words import Level
from mobicard.paper.door.face import BedCard
from mobicard.ward.clerk.printing import Order, write_cards
from mobicard.ward.station.settings import Settings, SettingsRefused
from tests.records import assessed

NOW = datetime(2026, 3, 2, 8, 0)
LINES = "\n".join(f'{key} = "Nossa linha {key}"' for key in (*Level, "after_fall"))
HEAD = 'language = "pt"\nname = "Português"\ndirection = "ltr"\nchecked_by = "Ward interpreter"\n'


def folder(tmp_path: Path, **texts: str) -> Settings:
    (tmp_path / "phrases").mkdir()
    for name, text in texts.items():
        (tmp_path / "phrases" / f"{name}.toml").write_text(text, encoding="utf-8")
    return Settings.found(config_dir=tmp_path)


def test_the_facility_s_lines_are_on_the_bedside_card(tmp_path: Path) -> None:
    settings = folder(tmp_path, pt=f"{HEAD}[lines]\n{LINES}")
    record = assessed("1", assessed_at="2026-03-02T07:10", communication={"language": "pt-BR"})
    card = BedCard(plan_for(record, settings.policy, NOW), record)
    order = Order(tmp_path / "out", kinds=("bedside",), formats=("html",))
    [page] = write_cards([card], order, settings, NOW)
    assert "Nossa linha SELF" in page.read_text(encoding="utf-8")
    [plain] = write_cards([card], order, Settings.found(config_dir=tmp_path / "none"), NOW)
    assert "Nossa linha" not in plain.read_text(encoding="utf-8")


def test_a_file_that_cannot_be_used_is_named(tmp_path: Path) -> None:
    settings = folder(tmp_path, pt=f"{HEAD}[lines]\nSELF = 'x'")
    with pytest.raises(SettingsRefused, match=r"pt\.toml: .*no line for NEARBY"):
        _ = settings.phrases


def test_two_files_for_one_language_are_refused(tmp_path: Path) -> None:
    settings = folder(tmp_path, a=f"{HEAD}[lines]\n{LINES}", b=f"{HEAD}[lines]\n{LINES}")
    with pytest.raises(SettingsRefused, match=r"b\.toml: there are lines for “pt” in another file"):
        _ = settings.phrases
