"""Two writers, one bed: the second is told what the first one saved."""

from __future__ import annotations

from collections.abc import Sequence

from mobicard.ledger.entry import Entry
from mobicard.ledger.errors import LedgerError


class SaveConflict(LedgerError):  # noqa: N818 - said to people as what happened
    """Someone saved facts of this stay after the writer looked; ``entries_since`` has what they saved."""

    def __init__(self, stay: str, mine_expected: int, entries_since: Sequence[Entry]) -> None:
        self.stay = stay
        self.mine_expected = mine_expected
        self.entries_since = tuple(entries_since)
        who = ", ".join(dict.fromkeys(entry.by for entry in self.entries_since)) or "someone"
        super().__init__(
            f"{who} saved this bed after you opened it. Nothing of theirs or yours is lost: "
            "look at what changed, then take theirs, keep yours, or join the two."
        )
