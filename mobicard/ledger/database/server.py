"""A connection to PostgreSQL that gives up: a server that was halted keeps its sockets open."""

from __future__ import annotations

from collections.abc import Generator
from time import monotonic
from typing import Any, TypeVar

from psycopg import Connection, OperationalError

T = TypeVar("T")

CONNECT_S = 5
"""Seconds to reach the server; one in the same house answers within a hundredth."""

ANSWER_S = 10.0
"""Seconds without a sign of the server, once asked, before it is given up; it waits less for a lock."""

STATEMENT_S = 60
"""Seconds after which the server drops a question itself, lest one that was given up hold locks for ever."""

IDLE_S = 30
"""Seconds after which the server ends a save whose station fell silent in its middle: others wait for it."""


class GivesUp(Connection[Any]):
    """A psycopg connection that closes itself when the server is silent for ``ANSWER_S`` seconds."""

    def wait(self, gen: Generator[Any, Any, T], *args: Any, **more: Any) -> T:
        """As Connection.wait, through which every question and answer goes. Raises OperationalError."""
        return super().wait(self._heard(gen), *args, **more)

    def _heard(self, gen: Generator[Any, Any, T]) -> Generator[Any, Any, T]:
        heard = monotonic()
        try:
            wants = next(gen)
            while True:
                ready = yield wants  # nothing is ready when psycopg only looks up, ten times a second
                if ready:
                    heard = monotonic()
                elif monotonic() - heard >= ANSWER_S:
                    self.close()
                    raise OperationalError(f"it has been silent for {ANSWER_S:g} s")
                wants = gen.send(ready)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]


def limits(lock_s: float) -> dict[str, Any]:
    """What to connect with: the limits held here, and those the server is asked to hold."""
    seconds = {
        "lock_timeout": lock_s,
        "statement_timeout": STATEMENT_S,
        "idle_in_transaction_session_timeout": IDLE_S,
    }
    options = " ".join(f"-c {name}={int(value * 1000)}" for name, value in seconds.items())
    return {"connect_timeout": CONNECT_S, "options": options, **_ALIVE}


_ALIVE = {"keepalives_idle": 10, "keepalives_interval": 5, "keepalives_count": 3, "tcp_user_timeout": 20_000}
"""Seconds (the last: thousandths) after which the network itself says that the other end is gone."""
