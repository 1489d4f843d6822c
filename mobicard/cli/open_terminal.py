"""Opening the terminal from the command line."""

from __future__ import annotations

import os
import sys

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
    """Where no ledger is named and this user has none yet: make one, once a person here says so."""
    from mobicard.ledger import LedgerMissing
    from mobicard.ward.station.known_ledger import known_end, make_new

    try:
        station.ward  # noqa: B018 - opened here, to be asked about before the screen is taken
    except LedgerMissing as none:
        if station.names_a_ledger or known_end(None).end or not has_keyboard():
            raise
        click.confirm(f"{none.says}\nMake an empty one there now?", abort=True, err=True)
        make_new(None).close()
