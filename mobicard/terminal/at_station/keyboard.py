"""Waiting for keys without looking up ten times a second while nobody types."""

from __future__ import annotations

import os
import selectors
from contextlib import suppress
from functools import partial
from threading import Event
from time import monotonic
from types import SimpleNamespace

SOON_S = 1.0
"""Seconds after a key in which the driver looks up as often as it likes: an escape may be half there."""

CALM_S = 60.0
"""Seconds it sleeps otherwise; a key and the sign to stop wake it at once."""


class StopSign(Event):
    """The driver's sign to its waiting thread to stop, which also wakes it by a byte in a pipe."""

    def __init__(self, wakes: int) -> None:
        super().__init__()
        self._wakes = wakes

    def set(self) -> None:
        super().set()
        os.write(self._wakes, b"\0")


class QuietSelector(selectors.SelectSelector):
    """Waits for what is registered; a short limit is lengthened once nothing has come for a while."""

    _heard = 0.0

    def __init__(self, woken: int) -> None:
        super().__init__()
        self._woken = woken
        self.register(woken, selectors.EVENT_READ)

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        """As SelectSelector.select; what woke it to stop is nothing that was waited for."""
        calm = monotonic() - self._heard > SOON_S
        found = super().select(max(timeout, CALM_S) if calm and timeout is not None else timeout)
        if found:
            self._heard = monotonic()
        if any(key.fd == self._woken for key, _ in found):
            os.read(self._woken, 1)
        return [one for one in found if one[0].fd != self._woken]


def wait_quietly() -> None:
    """Have the terminal's driver wait so, where it is one that looks up by itself."""
    with suppress(ImportError):  # a system without POSIX terminals has another driver
        from textual.drivers import linux_driver

        woken, wakes = os.pipe()
        waiter = partial(QuietSelector, woken)
        quiet = SimpleNamespace(SelectSelector=waiter, EVENT_READ=selectors.EVENT_READ)
        vars(linux_driver).update(selectors=quiet, Event=partial(StopSign, wakes))
