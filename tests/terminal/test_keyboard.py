"""An idle terminal sleeps: the driver's ten looks a second are one a minute; a key still comes at once."""

from __future__ import annotations

import os
import selectors
from threading import Timer

import pytest

from mobicard.terminal.at_station import keyboard
from mobicard.terminal.at_station.keyboard import QuietSelector, StopSign, wait_quietly


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
    (reading, writing), (woken, wakes) = os.pipe(), os.pipe()
    waiter = QuietSelector(woken)
    waiter.register(reading, selectors.EVENT_READ)
    assert not waiter.select(0.1)
    os.write(writing, b"\x1b")
    assert waiter.select(0.1)
    os.read(reading, 1)
    waiter.select(0.1)
    clock[0] += 5
    waiter.select(0.1)
    StopSign(wakes).set()
    assert waiter.select(0.1) == [], "the sign to stop is no key"
    waiter.unregister(reading)
    waiter.select(0.1)
    assert asked == [60.0, 60.0, 0.1, 60.0, 60.0, 0.1]
    for end in (reading, writing, woken, wakes):
        os.close(end)


def test_the_driver_is_one_that_waits_by_a_selector() -> None:
    """Else it would look up ten times a second again, unseen."""
    import inspect

    from textual.drivers import linux_driver

    source = inspect.getsource(linux_driver)
    assert "selectors.SelectSelector()" in source
    assert "self.exit_event = Event()" in source
    before = dict(vars(linux_driver))
    try:
        wait_quietly()
        waiter, stop = linux_driver.selectors.SelectSelector(), linux_driver.Event()
        Timer(0.05, stop.set).start()
        assert waiter.select(0.1) == []
        assert stop.is_set(), "it slept till it was told to stop"
    finally:
        vars(linux_driver).update(before)
