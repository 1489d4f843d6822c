"""What every place has: its banner, its footer, and a plain sentence when the terminal is too small."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import ClassVar, TypeVar

from textual import events, work
from textual.app import ComposeResult
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import get_current_worker

from mobicard.facts import RecordRefused
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.commands import LANGUAGE, Place
from mobicard.terminal.looks import CAPS_LOCK
from mobicard.terminal.messages import BedSaved, ReadFailed, TakenBack
from mobicard.terminal.overlay import moved
from mobicard.terminal.station import Station, station_of
from mobicard.terminal.widgets.banner import Banner
from mobicard.terminal.widgets.held_line import HeldLine
from mobicard.terminal.widgets.key_line import KeyLine
from mobicard.ward import BedView, WardRefused
from mobicard.ward.ward import Ward

LEAST_WIDTH, LEAST_HEIGHT = 72, 20
"""Below this a place would hide what matters, so it says so instead."""

ATTEST_NOTHING = frozenset({"ctrl+q", "escape", "f1", *LANGUAGE["Lock"].split(",")})
"""Keys that say nothing of a patient, and so work whatever is shown."""

LOOK_S = 20
"""Most seconds between two looks at the clock, which may be set, and at what is held: one wake-up."""

HIGH = 30
"""From so many lines there is room for what only helps to find one's way."""

WIDE = 110
"""From here two panes stand side by side."""


P = TypeVar("P", bound="PlaceScreen")


def by_somebody(act: Callable[[P], None]) -> Callable[[P], None]:
    """A command that goes into the ledger: done once it is known by whom."""
    return lambda place: place.with_initials(partial(act, place))


class PlaceScreen(Screen[None]):
    """One place. A subclass names its ``PLACE``, sets ``BINDINGS = bindings(PLACE)`` and fills ``body``."""

    PLACE: ClassVar[Place]

    def body(self) -> ComposeResult:
        """The place's own widgets, between banner and footer."""
        yield from ()

    def compose(self) -> ComposeResult:
        yield Banner(self.PLACE.value)
        yield HeldLine()
        yield from self.body()
        yield Static("", id="too-small")
        yield KeyLine(self.PLACE)

    @property
    def station(self) -> Station:
        """The terminal this place stands in."""
        return station_of(self)

    @property
    def ward(self) -> Ward:
        return self.station.ward

    @property
    def unsaved(self) -> str:
        """What would be left unsaved by leaving now, in words; empty when nothing would."""
        return ""

    @property
    def banner(self) -> Banner:
        return self.query_one(Banner)

    def on_mount(self) -> None:
        self._minute = self.ward.now.replace(second=0)
        self._look_at_clock()

    def _look_at_clock(self) -> None:
        """At each new minute: the time in the banner, and what holds at that minute; sleeps till the next."""
        now = self.ward.now
        if now.replace(second=0) != self._minute and self.is_current:
            self._minute = now.replace(second=0)
            self.banner.refresh()
            self.minute_passed()
        self.query_one(HeldLine).look_and_try()
        self.set_timer(min(LOOK_S, 60.05 - now.second), self._look_at_clock)

    def on_taken_back(self, message: TakenBack) -> None:
        """For most places no other news than a save."""
        self.post_message(BedSaved(message.bed))

    def minute_passed(self) -> None:
        """Show what holds now: an assessment may have ended in front of the reader."""

    def looks_changed(self) -> None:
        """Draw what is shown again: the theme's ground became another."""
        paint = getattr(self, "paint", None)
        if paint is not None:
            paint()

    def on_resize(self, event: events.Resize) -> None:
        width, height = event.size
        small = width < LEAST_WIDTH or height < LEAST_HEIGHT
        self.set_class(small, "too-small")
        self.set_class(width >= WIDE, "wide")
        self.set_class(height >= HIGH, "high")
        if small:
            says = f"This window is {width} x {height}. mobicard needs {LEAST_WIDTH} x {LEAST_HEIGHT}."
            self.query_one("#too-small", Static).update(f"{says}\nMake it larger; nothing is lost.")

    def unseen(self, event: events.Key) -> bool:
        """Whether this key was typed before what it would answer could be seen."""
        return self.has_class("too-small")

    async def on_event(self, event: events.Event) -> None:
        """A key still on its way here when another screen opened belongs to that screen, not to this one."""
        if isinstance(event, events.Key) and self.app.screen is not self:
            self.app.post_message(events.Key(event.key, event.character))
            return
        if isinstance(event, events.Key) and event.key not in ATTEST_NOTHING and self.unseen(event):
            return
        await super().on_event(event)

    async def _on_key(self, event: events.Key) -> None:
        """Run a command in the order of the keys; left to the app, it would come after the next letter."""
        if event._stop_propagation:
            return
        bound = self.active_bindings.get(event.key)
        if bound is not None and bound.enabled:
            event.stop()
            await self.app.run_action(bound.binding.action, bound.node)
        elif event.key != event.key.lower() and event.key.lower() in self.active_bindings:
            self.refuse(f"{CAPS_LOCK} The keys here are small letters.")
        elif bound is None and moved(self.focused, event.key):
            event.stop()

    def action_copy_text(self) -> None:
        """Ctrl+C copies what is selected; with nothing selected it says how to leave."""
        super().action_copy_text() if self.get_selected_text() else self.app.action_help_quit()

    def looked_up(self) -> Message:
        """What the place shows, read from the ledger; called in a thread. Raises LedgerError."""
        raise NotImplementedError

    @work(thread=True, exclusive=True, group="reading")
    def read_ledger(self) -> None:
        """Read what the place shows in a thread; the answer comes as a message."""
        try:
            answer = self.looked_up()
        except LedgerError as failed:
            answer = ReadFailed(failed.says)
        if not get_current_worker().is_cancelled:
            self.post_message(answer)

    def on_read_failed(self, message: ReadFailed) -> None:
        self.refuse(message.says)

    def tell_saved(self, view: BedView) -> None:
        """Tell every other screen that a bed's new state is on disk."""
        for screen in self.app.screen_stack:
            if screen is not self:
                screen.post_message(BedSaved(view))

    @work(thread=True, group="seen")
    def note_seen(self, stay: str) -> None:
        """Note in the audit that somebody looked at this stay; looking is never stopped by the note."""
        self.ward.seen(stay)

    def with_initials(self, then: Callable[[], object]) -> None:
        """Do something that goes into the ledger, once it is known by whom; asks when it is not."""
        if self.ward.knows_who:
            then()
            return
        if self.ward.needs_sign_in:
            self.station.action_lock()
            return

        def go_on(text: str | None) -> None:
            if text:
                self.banner.refresh()
                then()

        asks = "Your initials; they go with every entry"
        self.app.push_screen(Write(asks, limit=12, check=self._initials_refused), go_on)

    def _initials_refused(self, text: str) -> str:
        try:
            self.ward.call_me(text)
        except WardRefused as refused:
            return refused.says
        return ""

    def ask_to_throw_away(self, what: str, then: Callable[[], None]) -> None:
        """Ask once more before answers go for good: whoever types on must not lose them with one letter."""
        asks = f"Throw {what} away? Nothing brings them back."
        choices = [("y", "yes, throw them away")]
        self.app.push_screen(Choose(asks, choices), lambda key: then() if key == "y" else None)

    def attempt(self, act: Callable[[], object]) -> bool:
        """Do something to the ledger; a refusal is said in words. True when it was done."""
        try:
            act()
        except RecordRefused as refused:
            self.refuse("; ".join(str(problem) for problem in refused.problems))
        except (WardRefused, LedgerError) as refused:
            self.refuse(refused.says)
        else:
            return True
        return False

    def refuse(self, says: str) -> None:
        """Say why something was not done; nothing was changed."""
        self.notify(says, severity="warning", timeout=8, markup=False)

    def say(self, says: str) -> None:
        """Say that something was done."""
        self.notify(says, timeout=4, markup=False)
