"""``mobicard web``: the terminal in a browser on this machine only."""

from __future__ import annotations

import click

from mobicard.cli.station import Refused, Station


@click.command("web")
@click.option("--port", type=click.IntRange(1024, 65535), default=8642, show_default=True)
@click.pass_obj
def command(station: Station, port: int) -> None:
    """Serve the terminal to a browser on this machine only; prints the address, which works once."""
    try:
        from mobicard.terminal.at_station.web import serve
    except ImportError:
        raise Refused("the browser view needs one more package:  pip install 'mobicard[web]'") from None
    try:
        serve(port, arguments=station.words_without_ledger, ledger=station.ledger_url)
    except OSError as taken:
        raise Refused(f"port {port} cannot be used ({taken.strerror}); choose another with --port") from None
