"""Opening the terminal from the command line."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from mobicard.cli.station import Refused, Station, has_keyboard


def open_terminal(station: Station) -> int:
    """Run the terminal over this station's ward. Raises Refused where there is no screen."""
    in_browser = "TEXTUAL_DRIVER" in os.environ
    if not in_browser and not (has_keyboard() and sys.stdout.isatty()):
        raise Refused(
            "the terminal needs a screen and a keyboard; in a script use the commands (mobicard --help)"
        )
    if os.environ.get("TERM") == "dumb":
        raise Refused(
            "this screen can only write line after line (its TERM is dumb); open mobicard in a terminal "
            "window, or record line after line: mobicard record BED --plain"
        )
    from mobicard.terminal.app import MobicardApp
    from mobicard.terminal.at_station.running import end_with_the_server, run_to_its_end

    if in_browser:
        end_with_the_server()
    _offer_the_first(station)
    return run_to_its_end(MobicardApp(station.ward))


def _offer_the_first(station: Station) -> None:
    """Where no ledger is named and this user has none yet: make one, or show the demo, as one says here."""
    from mobicard.ledger import LedgerMissing
    from mobicard.ward.station.known_ledger import known_end, make_new

    try:
        station.ward  # noqa: B018 - opened here, to be asked about before the screen is taken
    except LedgerMissing as none:
        if station.names_a_ledger or known_end(None).end or not has_keyboard():
            raise
        ways = (
            "  e   an empty unit there: add beds, or take in a bed list\n  d   look at an invented unit first"
        )
        asked = f"{none.says}\n{ways}\n  q   leave"
        chosen = click.prompt(asked, type=click.Choice(["e", "d", "q"]), default="e", err=True)
        if chosen == "q":
            raise click.Abort from None
        if chosen == "e":
            make_new(None).close()
        else:
            _open_the_demo(station)


def _open_the_demo(station: Station) -> None:
    """An invented unit in a folder of this folder's; made if it is not there yet. Raises Refused, OSError."""
    from mobicard.cli.commands.demo import command as demo

    folder = Path("mobicard-demo")
    if not (folder / "demo.sqlite").exists():
        click.get_current_context().invoke(demo, out=folder, ledger_only=True)
    station.ledger_url, station.by = str(folder / "demo.sqlite"), station.by or "JN"
