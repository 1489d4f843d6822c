"""``mobicard handoff``: what the oncoming staff read, changes first."""

from __future__ import annotations

from pathlib import Path

import click

from mobicard.cli.station import Refused, Station, print_json


@click.command("handoff")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path("handoff"), show_default=True
)
@click.option("--assignment", metavar="INITIALS", help="Only the beds of one nurse's round.")
@click.option(
    "--since",
    metavar="TIME",
    help="What changed since then: 05:30, yesterday 19:30, an ISO time, or “last”: when you were last here.",
)
@click.option(
    "--format", "formats", type=click.Choice(["html", "pdf", "both"]), default="both", show_default=True
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="The policy's stock by default.")
@click.option("--json", "as_json", is_flag=True, help="Print the handoff as JSON, write no page.")
@click.pass_obj
def command(
    station: Station,
    out: Path,
    assignment: str | None,
    since: str | None,
    formats: str,
    paper: str | None,
    as_json: bool,
) -> None:
    """Write the handoff summary of the unit or of one assignment: what changed and why, then what is due."""
    from mobicard.ward.reader.handoff_file import write_handoff
    from mobicard.ward.reader.since import since_of

    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    handoff = ward.handoff(assignment, since_of(ward, since) if since else None)
    if assignment and not handoff.beds:
        names = sorted({view.assignment for view in ward.board() if view.assignment})
        beds_of = f"beds are assigned to {', '.join(names)}" if names else "no bed is assigned to anybody"
        raise Refused(f"no bed is assigned to {assignment}: {beds_of}; nothing was written")
    shown = {line.bed for line in handoff.beds}
    ward.seen(*[view.stay for view in ward.board() if view.bed in shown])
    if as_json:
        print_json(handoff.as_json())
        return
    wanted = ("html", "pdf") if formats == "both" else (formats,)
    for path in write_handoff(handoff, out, station.settings, ward.now, wanted, paper):
        click.echo(path)
