"""Waiting for keys without looking up ten times a second while nobody types."""

from __future__ import annotations

import selectors
from contextlib import suppress
from time import monotonic
from types import SimpleNamespace

SOON_S = 1.0
"""Seconds after a key in which the driver looks up as often as it likes: an escape may be half there."""

CALM_S = 1.0
"""Seconds it sleeps otherwise; a key wakes it at once."""


class QuietSelector(selectors.SelectSelector):
    """Waits for what is registered; a short limit is lengthened once nothing has come for a while."""

    _heard = 0.0

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        """As SelectSelector.select."""
        calm = monotonic() - self._heard > SOON_S and len(self.get_map()) > 0
        found = super().select(max(timeout, CALM_S) if calm and timeout is not None else timeout)
        if found:
            self._heard = monotonic()
        return found


def wait_quietly() -> None:
    """Have the terminal's driver wait so, where it is one that looks up by itself."""
    with suppress(ImportError):  # a system without POSIX terminals has another driver
        from textual.drivers import linux_driver

        quiet = SimpleNamespace(SelectSelector=QuietSelector, EVENT_READ=selectors.EVENT_READ)
        vars(linux_driver)["selectors"] = quiet
