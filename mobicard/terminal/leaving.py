"""Leaving the terminal: unsaved answers are named first; they stay on disk either way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mobicard.terminal.place import PlaceScreen

if TYPE_CHECKING:
    from mobicard.terminal.app import MobicardApp


def leave(app: MobicardApp) -> None:
    """Close the terminal; when answers are unsaved, ask first."""
    waiting = [
        screen.unsaved for screen in app.screen_stack if isinstance(screen, PlaceScreen) and screen.unsaved
    ]
    if not waiting:
        app.exit()
        return
    from mobicard.terminal.asking import Choose

    says = f"Not saved: {'; '.join(waiting)}. The answers are kept and offered when the bed is next opened."
    choices = [("l", "leave all the same"), ("s", "stay")]
    app.push_screen(Choose(says, choices), lambda key: app.exit() if key == "l" else None)
