"""The lock: nothing of a patient shows until somebody signs in; an open form waits behind it untouched."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import Input, Static

from mobicard.terminal.looks import safe
from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.station import Station, station_of
from mobicard.ward import WardRefused


class Lock(Screen[None]):
    """Asks for initials and PIN where the ledger has a staff list, else only whose initials go on.

    A station is shared: without the question, the next nurse's entries would carry the last one's initials.
    """

    AUTO_FOCUS = "Input"
    _asked = ""

    @property
    def _station(self) -> Station:
        return station_of(self)

    @property
    def _has_staff(self) -> bool:
        ward = self._station.ward
        return ward.needs_sign_in or ward.person is not None

    def compose(self) -> ComposeResult:
        with Vertical(id="lock"):
            yield Static("mobicard", id="lock-title")
            if self._has_staff:
                yield Static("Sign in")
                yield Input(placeholder="initials", id="initials")
                yield Input(placeholder="PIN", password=True, id="pin")
                yield Static("", id="refusal", markup=False)
            else:
                yield Static(f"The screen is hidden; unsaved answers are kept.\n{self._who_goes_on}")
                yield Input(placeholder="initials", id="any")
                yield Static("", id="refusal", markup=False)

    @property
    def _who_goes_on(self) -> str:
        ward = self._station.ward
        if ward.knows_who:
            return f"Enter alone goes on as {ward.by}; anybody else writes their initials first."
        return "Enter goes on."

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if not self._has_staff:
            self._go_on(safe(event.value).strip())
        elif event.input.id == "initials":
            self.query_one("#pin", Input).focus()
        else:
            self._sign_in()

    def _go_on(self, initials: str) -> None:
        """A key pressed to wake the screen is no name: initials other than the last ones are asked about."""
        ward = self._station.ward
        before = ward.by if ward.knows_who else None
        if before and initials.upper() not in ("", before, self._asked):
            self._asked = initials.upper()
            says = f"{self._asked} takes over from {before}: Enter again. Emptied, {before} goes on."
            self.query_one("#refusal", Static).update(says)
            return
        try:
            if initials:
                ward.call_me(initials)
        except WardRefused as refused:
            self.query_one("#refusal", Static).update(refused.says)
            return
        self.dismiss()
        self._repaint_banners()
        if before and before != ward.by:
            self._warn_of_another(before)

    def _repaint_banners(self) -> None:
        for screen in self.app.screen_stack:
            if isinstance(screen, PlaceScreen):
                screen.banner.refresh()

    def _sign_in(self) -> None:
        from mobicard.ledger import LedgerError

        ward = self._station.ward
        initials, pin = self.query_one("#initials", Input), self.query_one("#pin", Input)
        before = ward.person.initials if ward.person else None
        try:
            person = ward.sign_in(safe(initials.value).upper(), pin.value)
        except LedgerError as refused:
            self.query_one("#refusal", Static).update(refused.says)
            pin.clear()
            return
        self.dismiss()
        if before and before != person.initials:
            self._warn_of_another(before)

    def _warn_of_another(self, before: str) -> None:
        for screen in self.app.screen_stack:
            if isinstance(screen, PlaceScreen) and screen.unsaved:
                self.app.notify(
                    f"{before} left answers unsaved: {screen.unsaved}", severity="warning", timeout=10
                )
