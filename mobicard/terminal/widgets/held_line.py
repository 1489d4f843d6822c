"""One line in every place while the ledger is away, or while held saves wait to be settled."""

from __future__ import annotations

from time import monotonic

from textual import work
from textual.widgets import Static

from mobicard.terminal.commands import Place, key_for
from mobicard.terminal.looks import safe
from mobicard.terminal.station import station_of
from mobicard.ward import Ward

RETRY_S = 15
"""Least seconds between two tries to reach a ledger that is away."""


class HeldLine(Static):
    """Shows under the banner what there is to know of held saves; nothing otherwise."""

    def __init__(self) -> None:
        super().__init__("", id="held", markup=False)
        self._says = ""
        self._tried = monotonic()

    @property
    def _ward(self) -> Ward:
        return station_of(self).ward

    def on_mount(self) -> None:
        self.look()

    def look(self) -> None:
        """Show what there is to know, or nothing."""
        says = held_says(self._ward)
        if says != self._says:
            self._says = says
            self.set_class(bool(says), "open")
            self.update(says)

    def look_and_try(self) -> None:
        """Now and then: look, and try to reach a ledger that is away; what reads it tells it at once."""
        self.look()
        offline = self._ward.offline
        away = self.screen.is_current and (offline.says or offline.silence_says)
        if away and monotonic() - self._tried >= RETRY_S:
            self._tried = monotonic()
            self._reach()

    @work(thread=True, exclusive=True, group="held")
    def _reach(self) -> None:
        from mobicard.ledger import LedgerError

        try:
            self._ward.board()
        except LedgerError:
            return  # the line says so already


def held_says(ward: Ward) -> str:
    """What the line says: the ledger is away or silent, or saves that met another's wait to be settled."""
    if ward.offline.says:
        return safe(ward.offline.says)
    if ward.offline.silence_says:
        return ward.offline.silence_says
    count = len(ward.offline.refused)
    if not count:
        who = ", ".join(dict.fromkeys(held.entries[0].by for held in ward.offline.of_others))
        return safe(f"A save by {who} waits on this station; {who} signs in to send it.") if who else ""
    many = "One save" if count == 1 else f"{count} saves"
    key = key_for(Place.EVERYWHERE, "held")
    return f"{many} held on this station met what another station saved. {key} settles it; nothing is lost."
