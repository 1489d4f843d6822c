"""A ward of 24 invented beds in a folder of its own, at a fixed time, and an app over it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, cast

import pytest
from textual import _wait, events
from textual.pilot import Pilot

from mobicard.demo import unit
from mobicard.ledger import Ledger, live
from mobicard.terminal import place
from mobicard.terminal.app import MobicardApp
from mobicard.ward import BedView, Clock, Settings, Ward

NOW = datetime(2026, 3, 2, 8, 0)

# Textual's pilot waits 20 ms twice for each key; our own waits look at what is still under way besides.
_wait.SLEEP_GRANULARITY, _wait.SLEEP_IDLE = 0.005, 0.0025


@pytest.fixture(autouse=True)
def _a_colour_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")


@pytest.fixture(autouse=True)
def _short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    """The seconds between two looks at clock and ledger, so short that the tests need not wait for them."""
    for module, name in ((place, "LOOK_S"), (live, "EVERY_S")):
        monkeypatch.setattr(module, name, 0.3)


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's ledger, filled once; each test copies it."""
    path = tmp_path_factory.mktemp("unit") / "ledger.sqlite"
    ledger = Ledger.open(path)
    ward = Ward(ledger, Settings.found(config_dir=path.parent / "config"), Clock.fixed(NOW), demo=True)
    unit.fill(ward, NOW)
    ledger.close()
    return path


@pytest.fixture
def ward(filled: Path, tmp_path: Path) -> Iterator[Ward]:
    """A ward over its own copy of the unit, JN at the station, the clock at 08:00."""
    for part in filled.parent.glob("ledger.sqlite*"):
        shutil.copy(part, tmp_path / part.name)
    ledger = Ledger.open(tmp_path / "ledger.sqlite")
    settings = Settings.found(config_dir=tmp_path / "config")
    yield Ward(ledger, settings, Clock.fixed(NOW), by="JN", demo=True, drafts=tmp_path / "drafts")
    ledger.close()


@pytest.fixture
def empty_ward(tmp_path: Path) -> Iterator[Ward]:
    """A ward nobody has been admitted to yet."""
    ledger = Ledger.open(tmp_path / "empty.sqlite")
    settings = Settings.found(config_dir=tmp_path / "config")
    yield Ward(ledger, settings, Clock.fixed(NOW), by="JN", demo=True, drafts=tmp_path / "drafts")
    ledger.close()


class Driver:
    """A person at the keyboard: presses keys, waits for what they set off, reads the screen."""

    def __init__(self, pilot: Pilot[None]) -> None:
        self.pilot = pilot
        self.app = cast("MobicardApp", pilot.app)
        self.ward = self.app.ward
        self.pressed = 0

    async def press(self, *keys: str) -> None:
        """Press keys by Textual's names and wait until everything they set off is done."""
        self.pressed += len(keys)
        await self.pilot.press(*keys)
        await self.settle()

    async def burst(self, *keys: str) -> None:
        """Keys all at once, as a fast hand or a slow machine has them; then wait for what they set off."""
        for key in keys:
            self.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await self.settle()

    async def type(self, text: str) -> None:
        """Press the characters of a text."""
        await self.press(*[_KEY_NAMES.get(char, char) for char in text])

    async def settle(self) -> None:
        """Wait until every worker but the watcher of the ledger has ended and the screen is painted."""
        for _ in range(300):
            await self.pilot.pause()
            if all(one.group == "watch" or one.is_finished for one in self.app.workers):
                break
            await self.pilot.pause(0.01)
        await self.pilot.pause()

    async def until(self, shown: Callable[[], bool]) -> None:
        """Wait for what comes by itself, each second; at most 20 s, on a busy machine too."""
        for _ in range(200):
            await self.settle()
            if shown():
                return
            await self.pilot.pause(0.1)
        raise AssertionError("not shown within 20 s:\n" + self.screen)

    @property
    def screen(self) -> str:
        """What the screen shows, as text."""
        return "\n".join(strip.text.rstrip() for strip in self.app.screen._compositor.render_strips())

    def bed(self, name: str) -> BedView:
        """The stay now in a bed, read from the ledger."""
        view = self.ward.find(name)
        assert view is not None, f"no stay in {name}"
        return view


_KEY_NAMES = {" ": "space", "/": "slash", "-": "minus", ":": "colon", "%": "percent_sign", ".": "full_stop"}

Opened = Callable[..., AbstractAsyncContextManager[Driver]]


@pytest.fixture
def opened(ward: Ward) -> Opened:
    """Open the app over the ward: ``async with opened(size=(80, 24)) as nurse``."""

    @asynccontextmanager
    async def running(size: tuple[int, int] = (80, 24), over: Ward | None = None, **more: Any) -> Any:
        app = MobicardApp(over or ward, **more)
        async with app.run_test(size=size, notifications=True) as pilot:
            driver = Driver(pilot)
            await driver.settle()
            yield driver

    return running
