"""The facility files shown in DEVELOPERS.md are read by the program as they stand there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from mobicard.derive import Policy
from mobicard.derive.equipment import Inventory
from mobicard.derive.instrument import Instrument
from mobicard.exchange.census.mapping import CensusMapping
from mobicard.scheme import load

TEXT = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = dict(re.findall(r"```toml\n# (\S+)\n(.*?)```", TEXT, re.DOTALL))
READERS = {
    "policy.toml": Policy.from_toml,
    "scheme.toml": load,
    "inventory.toml": Inventory.from_toml,
    "instruments/ours.toml": Instrument.from_toml,
    "census.toml": CensusMapping.from_toml,
}


@pytest.mark.parametrize("name", READERS)
def test_the_file_shown_is_read(name: str) -> None:
    READERS[name](BLOCKS[name])


def test_every_file_shown_has_its_reader() -> None:
    assert set(BLOCKS) == set(READERS)
