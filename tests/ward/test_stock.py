"""The paper a facility prints on: by its policy, else by the land the machine's locale names."""

from __future__ import annotations

from pathlib import Path

import pytest

from mobicard.ward.station.settings import Settings, SettingsRefused


def settings(folder: Path, policy: str = "") -> Settings:
    folder.mkdir(exist_ok=True)
    (folder / "policy.toml").write_text(policy)
    return Settings.found(config_dir=folder)


@pytest.mark.parametrize(
    ("locale", "policy", "stock"),
    [
        ({"LANG": "C.UTF-8"}, "", "a4"),
        ({"LANG": "en_US.UTF-8"}, "", "letter"),
        ({"LANG": "de_DE.UTF-8", "LC_PAPER": "es_MX.UTF-8"}, "", "letter"),
        ({"LANG": "en_US.UTF-8", "LC_ALL": "en_GB.UTF-8"}, "", "a4"),
        ({"LANG": "en_US.UTF-8"}, '[door]\nstock = "a4"', "a4"),
    ],
)
def test_the_stock_is_the_policys_else_the_lands(
    locale: dict[str, str], policy: str, stock: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in locale.items():
        monkeypatch.setenv(name, value)
    assert settings(tmp_path / "config", policy).stock == stock


@pytest.mark.parametrize("address", ["ward.example/", "https://ward.example/?p=", "javascript:alert(1)/"])
def test_an_address_that_is_none_is_refused(address: str, tmp_path: Path) -> None:
    """Only an address that a code may follow: nothing a scanner could be led astray with."""
    with pytest.raises(SettingsRefused, match=r"door\.address"):
        _ = settings(tmp_path / "config", f'[door]\naddress = "{address}"').policy
