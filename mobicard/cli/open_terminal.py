"""Opening the terminal from the command line."""

from __future__ import annotations

import os
import sys

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
            "window, or use the commands (mobicard --help)"
        )
    from mobicard.terminal.app import MobicardApp
    from mobicard.terminal.at_station.running import run_to_its_end

    return run_to_its_end(MobicardApp(station.ward))
