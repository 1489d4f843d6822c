"""``mobicard doctor``: checks the facility's files and this machine, and says what to do."""

from __future__ import annotations

import click

from mobicard.cli.station import Station, print_json

MARKS = {"ok": "ok  ", "warn": "mind", "fail": "FAIL"}


@click.command("doctor")
@click.option("--json", "as_json", is_flag=True, help="The findings as JSON.")
@click.option("--printer", metavar="NAME", help="Also check this print queue.")
@click.pass_context
def command(ctx: click.Context, as_json: bool, printer: str | None) -> None:
    """Check policy, scheme, inventory, instruments, templates, ledger, fonts, libraries and printer.

    Exit code 1 when something has to be put right.
    """
    from mobicard.doctor import findings_of

    station: Station = ctx.obj
    findings = findings_of(station, printer)
    if as_json:
        print_json([{"what": f.what, "result": f.result, "says": f.says, "do": f.do} for f in findings])
    else:
        for one in findings:
            click.echo(f"{MARKS[one.result]}  {one.what}: {one.says}")
            if one.do:
                click.echo(f"      {one.do}")
    ctx.exit(1 if any(one.result == "fail" for one in findings) else 0)
