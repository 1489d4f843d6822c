"""Head observations by one key an observation: what is due is shown, the key notes it; a name stops them."""

from __future__ import annotations

from collections.abc import Callable

from mobicard.facts.text import hour_says
from mobicard.facts.words import HeadSeen
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.looks import safe
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView

CHOICES = (
    ("a", "coma scale 15, nothing worse"),
    ("b", "coma scale below 15: half-hourly until it is 15"),
    ("w", "worse than before in any way: call the doctor; it begins again"),
    ("s", "stopped: somebody decided so; then type who"),
)
_KEYS = {"a": HeadSeen.FIFTEEN, "b": HeadSeen.BELOW, "w": HeadSeen.WORSE}
SET = "Coma scale, pupils, limbs, breathing, pulse, pressure, temperature, oxygen; by staff trained in it.\n"
"""The least that is looked at each time. Source: NICE, observations of patients with head injury."""


def ask_head(screen: PlaceScreen, view: BedView | None) -> None:
    """Ask what was seen, or who stops them; refused where none run at this bed."""
    if view is None:
        return
    running = view.plan.head_observations
    if running is None:
        screen.refuse(f"No head observations run at {view.bed}. After a fall begins them.")
        return

    screen.note_seen(view.stay)

    def chosen(key: str | None) -> None:
        if key == "s":
            asks = "Who decided that the head observations stop? Name or initials"
            screen.app.push_screen(Write(asks, limit=40), stopped)
        elif key:
            _save(screen, lambda: screen.ward.note_head(view.stay, _KEYS[key]))

    def stopped(who: str | None) -> None:
        if who:
            _save(screen, lambda: screen.ward.stop_head(view.stay, who))

    late = ", late" if running.late else ""
    asks = f"{view.bed}: head observation due {hour_says(running.due, screen.ward.now)}{late}. What was seen?"

    def ask() -> None:
        screen.app.push_screen(Choose(asks, CHOICES, f"{SET}{safe(running.says)}"), chosen)

    screen.with_initials(ask)


def _save(screen: PlaceScreen, act: Callable[[], BedView]) -> None:
    """In the ledger, then said and shown on every screen that is open."""
    saved: list[BedView] = []
    if not screen.attempt(lambda: saved.append(act())):
        return
    found = saved[0].plan.head_observations
    screen.say(f"{saved[0].bed}: {found.says if found else 'head observations stopped'}.")
    for one in screen.app.screen_stack:
        one.post_message(BedSaved(saved[0]))
