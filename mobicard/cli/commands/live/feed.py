"""``mobicard feed``: a listener for HL7 v2 messages over MLLP, answered once they are on disk."""

from __future__ import annotations

import asyncio
import signal
import ssl
from asyncio import IncompleteReadError
from contextlib import suppress
from pathlib import Path

import click
from hl7.mllp import HL7StreamReader, HL7StreamWriter, InvalidBlockError, start_hl7_server

from mobicard.cli.station import Refused, Station
from mobicard.exchange.census.acknowledge import REJECTED, SEGMENT_MISSING, Answer, reply
from mobicard.ward.live.feed import Feed

LARGEST = 2**20
"""Bytes of one message; an ADT message has a few thousand."""


@click.command("feed")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at.")
@click.option("--port", type=click.IntRange(0, 65535), default=2575, show_default=True, help="0: any.")
@click.option("--held", type=click.Path(path_type=Path, file_okay=False), help="Folder of what is put aside.")
@click.option("--unit", metavar="UNIT", help="Only this unit's beds; who is told to be elsewhere leaves.")
@click.option("--cert", type=click.Path(path_type=Path, dir_okay=False), help="TLS certificate chain (PEM).")
@click.option("--key", type=click.Path(path_type=Path, dir_okay=False), help="Its private key (PEM).")
@click.pass_obj
def command(
    station: Station,
    host: str,
    port: int,
    held: Path | None,
    unit: str | None,
    cert: Path | None,
    key: Path | None,
) -> None:
    """Listen for HL7 v2 ADT messages (MLLP) and apply each as it comes; ends with Ctrl+C or SIGTERM.

    A message is answered AA only once its entry is on disk. One that cannot be applied is answered AE, and
    lies with its reason in the folder of what is put aside; tests and other types are answered AR. The same
    message again changes nothing.
    """
    if key is not None and cert is None:
        raise click.UsageError("--key goes with --cert")
    ward = station.signed_in("admit")
    feed = Feed(ward, held or ward.drafts.folder / "held", unit, station.sign_in_again)
    try:
        asyncio.run(_listen(feed, host, port, _tls(cert, key)))
    except OSError as taken:
        raise Refused(f"{host} port {port} cannot be listened at ({taken.strerror})") from None


def _tls(cert: Path | None, key: Path | None) -> ssl.SSLContext | None:
    if cert is None:
        return None
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    try:
        context.load_cert_chain(cert, key)
    except (ssl.SSLError, OSError) as wrong:
        raise Refused(
            f"{cert}: cannot be used as a certificate ({wrong.strerror or wrong.args[0]})"
        ) from None
    return context


async def _listen(feed: Feed, host: str, port: int, tls: ssl.SSLContext | None) -> None:
    """Until told to stop; the message in hand is finished and answered first."""
    stop, open_ones = asyncio.Event(), set[asyncio.Task[None]]()
    with suppress(NotImplementedError):  # Windows; there Ctrl+C ends it between two messages, not tried
        for one in (signal.SIGINT, signal.SIGTERM):
            asyncio.get_running_loop().add_signal_handler(one, stop.set)

    def connected(reader: HL7StreamReader, writer: HL7StreamWriter) -> None:
        talk = asyncio.ensure_future(_talk(feed, reader, writer))
        open_ones.add(talk)
        talk.add_done_callback(open_ones.discard)

    server = await start_hl7_server(connected, host, port, limit=LARGEST, ssl=tls)
    click.echo(f"listening at {host} port {server.sockets[0].getsockname()[1]}; put aside: {feed.held}")
    await stop.wait()
    server.close()
    for talk in open_ones:
        talk.cancel()
    await asyncio.gather(*open_ones, return_exceptions=True)
    click.echo("ended; every message that was answered AA is on disk", err=True)


async def _talk(feed: Feed, reader: HL7StreamReader, writer: HL7StreamWriter) -> None:
    """One sender's messages, one after the other, each answered before the next is read."""
    try:
        while True:
            writer.writeblock(feed.take(await reader.readblock()))
            await writer.drain()
    except IncompleteReadError:
        pass
    except (InvalidBlockError, ValueError):
        wrong = Answer(REJECTED, SEGMENT_MISSING, "no MLLP block, or one that is too long")
        writer.writeblock(reply(None, wrong, f"{feed.ward.now:%Y%m%d%H%M%S}"))
    except ConnectionError:
        pass
    finally:
        writer.close()
