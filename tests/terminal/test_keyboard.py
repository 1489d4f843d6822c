"""An idle terminal sleeps: the driver's ten looks a second are one, and a key still comes at once."""

from __future__ import annotations

import os
import selectors

import pytest

from mobicard.terminal.at_station import keyboard
from mobicard.terminal.at_station.keyboard import QuietSelector, wait_quietly


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[float | None]:
    """The limits that the system is really asked to wait for."""
    limits: list[float | None] = []
    wait = selectors.SelectSelector.select

    def noted(self: selectors.SelectSelector, timeout: float | None = None) -> object:
        limits.append(timeout)
        return wait(self, 0)

    monkeypatch.setattr(selectors.SelectSelector, "select", noted)
    return limits


def test_it_looks_up_often_only_shortly_after_a_key(
    asked: list[float | None], monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = [100.0]
    monkeypatch.setattr(keyboard, "monotonic", lambda: clock[0])
    reading, writing = os.pipe()
    waiter = QuietSelector()
    waiter.register(reading, selectors.EVENT_READ)
    assert not waiter.select(0.1)
    os.write(writing, b"\x1b")
    assert waiter.select(0.1)
    os.read(reading, 1)
    waiter.select(0.1)
    clock[0] += 5
    waiter.select(0.1)
    waiter.unregister(reading)
    waiter.select(0.1)
    assert asked == [1.0, 1.0, 0.1, 1.0, 0.1]
    for end in (reading, writing):
        os.close(end)


def test_the_driver_is_one_that_waits_by_a_selector() -> None:
    """Else it would look up ten times a second again, unseen."""
    import inspect

    from textual.drivers import linux_driver

    assert "selectors.SelectSelector()" in inspect.getsource(linux_driver.LinuxDriver.run_input_thread)
    before = linux_driver.selectors
    try:
        wait_quietly()
        assert linux_driver.selectors.SelectSelector is QuietSelector
    finally:
        linux_driver.selectors = before
