"""``mobicard check CODE``: whether the card in somebody's hand still holds."""

from __future__ import annotations

import click

from mobicard.cli.station import Station, print_json


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
    answer = ward.doors.check(code)
    if as_json:
        print_json(
            {
                "state": answer.state,
                "code": answer.code,
                "bed": answer.bed,
                "at": answer.at.isoformat(timespec="minutes") if answer.at else None,
                "by_code": answer.by_code,
                "says": answer.says,
            }
        )
    else:
        click.echo(f"{answer.code}: {answer.says}")
    ctx.exit(0 if answer.state == "current" else 1)
