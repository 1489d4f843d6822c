"""Leaving the terminal: by choice, unsaved answers named first; by a fault, in words, nothing lost."""

from __future__ import annotations

import os
import traceback
from pathlib import Path

from textual.worker import WorkerFailed

from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.station import Station


def leave(app: Station) -> None:
    """Close the terminal; when answers are unsaved, ask first."""
    from mobicard.terminal.at_station.lock import Lock

    if isinstance(app.screen, Lock):  # who is locked out learns nothing, not even which bed
        app.exit()
        return
    waiting = [
        screen.unsaved for screen in app.screen_stack if isinstance(screen, PlaceScreen) and screen.unsaved
    ]
    if not waiting:
        app.exit()
        return
    from mobicard.terminal.asking import Choose

    says = f"Not saved: {'; '.join(waiting)}. The answers are kept and offered when the bed is next opened."
    choices = [("y", "yes, leave"), ("n", "no, stay")]
    app.push_screen(Choose(says, choices), lambda key: app.exit() if key == "y" else None)


def fault_says(app: Station, error: BaseException) -> str:
    """What to tell the person when mobicard itself failed; the details go to a file only its owner reads."""
    says = (
        "mobicard stopped by a fault of its own. What was saved is safe; unsaved answers are offered again."
    )
    cause = error.error if isinstance(error, WorkerFailed) else error
    path = _fault_file(app.ward.drafts.folder, cause)
    return f"{says}\nFor whoever looks after it: {path}" if path else says


def _fault_file(folder: Path, error: BaseException) -> Path | None:
    path = folder / "last-fault.txt"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            traceback.print_exception(error, file=file)
    except OSError:
        return None
    return path
