"""``mobicard people``: the staff list: who may record, print and read."""

from __future__ import annotations

import click

from mobicard.cli.station import Refused, Station, print_json


@click.group("people")
def command() -> None:
    """The staff list: initials, role and PIN. Once it has a name, everybody signs in."""


@command.command("add")
@click.argument("initials")
@click.option("--role", type=click.Choice(["nurse", "clerk", "reader", "keeper"]), required=True)
@click.password_option("--pin", prompt="PIN", help="Asked for when left out.")
@click.pass_obj
def add(station: Station, initials: str, role: str, pin: str) -> None:
    """Add INITIALS with a role. The first one must be the keeper, who adds the others."""
    ward = station.ward
    if ward.ledger.has_people():
        ward = station.signed_in("person")
    elif role != "keeper":
        raise Refused("the first on the list must be the keeper, who adds the others: --role keeper")
    by = ward.by if ward.person else initials.upper()
    ward.ledger.staff.add(initials.upper(), role, pin, by, ward.clock.utc(), access=ward.policy.access)
    click.echo(f"{initials.upper()} may now sign in as {role}")


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def list_people(station: Station, as_json: bool) -> None:
    """Who is on the list, with role; never a PIN."""
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    people = ward.ledger.staff.everyone()
    if as_json:
        print_json([{"initials": one.initials, "role": one.role, "active": one.active} for one in people])
        return
    for one in people:
        click.echo(f"{one.initials:<12} {one.role}")
    if not people:
        click.echo("nobody: this ledger is open to whoever can read its file; add the keeper first")
