"""The terminal itself: holds the ward, opens places, locks when nobody is there. The rest is places."""

from __future__ import annotations

from time import monotonic
from typing import Any

from textual import events, work
from textual.filter import Monochrome, NoColor

from mobicard.ledger import LedgerError, NotAllowed
from mobicard.terminal.commands import Place, bindings
from mobicard.terminal.looks import Depth, depth_of, on_ground
from mobicard.terminal.palette import PlaceCommands
from mobicard.terminal.place import LOOK_S, PlaceScreen
from mobicard.terminal.places import screen_of
from mobicard.terminal.station import Station
from mobicard.terminal.theme import PLAIN, next_theme, themes
from mobicard.ward.ward import Ward


class MobicardApp(Station):
    """One station's terminal over one ward."""

    TITLE = "mobicard"
    CSS_PATH = "app.tcss"
    COMMANDS = {PlaceCommands}  # noqa: RUF012 - Textual's own class variable
    BINDINGS = bindings(Place.EVERYWHERE)
    ENABLE_COMMAND_PALETTE = True

    def __init__(self, ward: Ward, *, theme: str | None = None) -> None:
        super().__init__()
        self.ward = ward
        if self.no_color:  # the stock filter turns the terminal's own colours into black
            self._filters = [one for one in self._filters if not isinstance(one, Monochrome)] + [NoColor()]
        self.depth = depth_of(self.console.color_system, self.no_color)
        self._wanted_theme = theme or ("mobicard-dark" if self.depth is not Depth.PLAIN else PLAIN)
        self._last_sign_of_life = monotonic()

    def on_mount(self) -> None:
        for theme in themes():
            self.register_theme(theme)
        self.theme = self._wanted_theme
        self._look_anew()
        self.go(Place.BOARD)
        if self.ward.needs_sign_in:
            self.action_lock()
        self.set_interval(LOOK_S, self._lock_when_idle)

    def go(self, place: Place, *args: Any, **more: Any) -> PlaceScreen:
        """Open a place over the present one; ``args`` are what it is about, such as a stay's id."""
        screen = screen_of(place)(*args, **more)
        self.push_screen(screen)
        return screen

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.Key | events.MouseDown | events.Paste):
            self._last_sign_of_life = monotonic()
        await super().on_event(event)

    def _lock_when_idle(self) -> None:
        if monotonic() - self._last_sign_of_life >= self.ward.policy.access.idle_lock_min * 60:
            self.action_lock()
        elif self.ward.person:
            self._tell_still_here()

    @work(thread=True, exclusive=True, group="still here")
    def _tell_still_here(self) -> None:
        """Whose sign-in has ended signs in again; a ledger that is away says so itself."""
        try:
            self.ward.still_here()
        except NotAllowed:
            self.call_from_thread(self.action_lock)
        except LedgerError:
            return

    def _fatal_error(self) -> None:
        """A fault of our own ends the terminal with a sentence; its details go to a file."""
        from mobicard.terminal.at_station.leaving import fault_says

        self._exit_renderables.append(fault_says(self, self._exception or RuntimeError("unknown")))
        self._close_messages_no_wait()

    def action_lock(self) -> None:
        from mobicard.terminal.at_station.lock import Lock

        if not any(isinstance(screen, Lock) for screen in self.screen_stack):
            self.push_screen(Lock())

    def action_help(self) -> None:
        from mobicard.terminal.help import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))

    def action_next_theme(self) -> None:
        self.theme = PLAIN if self.no_color else next_theme(self.theme)
        self._look_anew()

    def _look_anew(self) -> None:
        """Levels and alarms as the theme's ground wants them, on every open place."""
        colours = depth_of(self.console.color_system, self.no_color)
        self.depth = Depth.PLAIN if self.theme == PLAIN else on_ground(colours, dark=self.current_theme.dark)
        for screen in self.screen_stack:
            if isinstance(screen, PlaceScreen):
                screen.looks_changed()

    def action_press(self, key: str) -> None:
        """What was clicked does what its key does."""
        self.post_message(events.Key(key, key if len(key) == 1 else None))

    def action_help_quit(self) -> None:
        """Ctrl+C stops other programs; here it says how to leave."""
        self.notify("Ctrl+Q leaves mobicard; Esc goes back. Nothing was stopped.", markup=False)

    def action_held(self) -> None:
        """Settle a save that was held on this station and met another's."""
        from mobicard.terminal.at_station.saves_held import settle_next

        if isinstance(self.screen, PlaceScreen):
            settle_next(self.screen)

    def action_take_back(self) -> None:
        """Take back the last save of the person at this station."""
        from mobicard.terminal.at_station.taking_back import offer

        if isinstance(self.screen, PlaceScreen):
            offer(self.screen)

    def action_leave(self) -> None:
        from mobicard.terminal.at_station.leaving import leave

        leave(self)
