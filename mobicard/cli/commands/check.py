"""``mobicard check CODE``: whether the card in somebody's hand still holds."""

from __future__ import annotations

import click

from mobicard.cli.station import Station, answer


@click.command("check")
@click.argument("code")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@click.pass_context
def command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Say whether the card with this CODE is current, replaced (when, by what) or unknown.

    Exit code 0 for current, 1 for a card that should come down.
    """
    if not code.strip():
        raise click.UsageError("which code? It stands on the card, six letters and figures")
    station: Station = ctx.obj
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    found = ward.doors.check(code)
    ward.looked("check of a card", found.code)
    answer(as_json, found.as_json(), [f"{found.code}: {found.says}"])
    ctx.exit(0 if found.state == "current" else 1)
