"""``mobicard people``: the staff list: who may record, print and read."""

from __future__ import annotations

import click

from mobicard.cli.station import Refused, Station, answer, has_keyboard

_ROLES = click.Choice(["nurse", "clerk", "reader", "keeper"])


@click.group("people")
def command() -> None:
    """The staff list: initials, role and PIN. Once it has a name, everybody signs in."""


@command.command("add")
@click.argument("initials")
@click.option("--role", type=_ROLES, required=True)
@click.option("--pin", help="Asked for unseen when left out.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def add(station: Station, initials: str, role: str, pin: str | None, as_json: bool) -> None:
    """Add INITIALS with a role. The first one must be the keeper, who adds the others."""
    ward = station.ward
    if ward.ledger.has_people():
        ward = station.signed_in("person")
    elif role != "keeper":
        raise Refused("the first on the list must be the keeper, who adds the others: --role keeper")
    by = ward.by if ward.person else initials.upper()
    ward.ledger.staff.add(
        initials.upper(), role, pin or _ask_pin(), by, ward.clock.utc(), access=ward.policy.access
    )
    told = {"initials": initials.upper(), "role": role, "active": True}
    answer(as_json, told, [f"{initials.upper()} may now sign in as {role}"])


@command.command("change")
@click.argument("initials")
@click.option("--role", type=_ROLES, help="The new role.")
@click.option(
    "--pin",
    is_flag=False,
    flag_value="",
    help="A new PIN, asked for unseen when none follows; it also ends the wait after wrong tries.",
)
@click.option("--off/--on", "off", default=None, help="Let them no longer sign in, or again.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def change(
    station: Station, initials: str, role: str | None, pin: str | None, off: bool | None, as_json: bool
) -> None:
    """Give INITIALS another role or PIN, or let them sign in no more; what they saved stays theirs.

    Only the keeper may. Nobody is ever taken off the list, so that old entries keep their name.
    """
    if role is None and pin is None and off is None:
        raise click.UsageError("say what to change: --role ROLE, --pin, --off or --on")
    if not station.ward.ledger.has_people():
        raise Refused("nobody is on the list yet; add the keeper first: mobicard people add")
    ward = station.signed_in("person")
    pin = _ask_pin() if pin == "" else pin
    active = None if off is None else not off
    now = ward.ledger.staff.change(
        initials, ward.by, ward.clock.utc(), role=role, pin=pin, active=active, access=ward.policy.access
    )
    new = ", with the new PIN" if pin is not None else ""
    says = f"{now.initials} {'may sign in' if now.active else 'may not sign in'} as {now.role}{new}"
    told = {"initials": now.initials, "role": now.role, "active": now.active}
    answer(as_json, told, [says])


@command.command("limits")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def limits(station: Station, as_json: bool) -> None:
    """Take the policy's limits of sign-in into the ledger, where they hold for every station.

    Tries before a pause, the pause, and the minutes idle after which a server ends a sign-in. Only the keeper
    may; until then the packaged policy's hold.
    """
    ward = station.signed_in("limits")
    access = ward.policy.access
    ward.ledger.staff.keep_access(access, ward.by, ward.clock.utc())
    says = (
        f"from now on {access.attempts} tries, then a pause of {access.pause_min} min; left idle for "
        f"{access.idle_lock_min:g} min, a sign-in ends"
    )
    told = {
        "attempts": access.attempts,
        "pause_min": access.pause_min,
        "idle_lock_min": access.idle_lock_min,
    }
    answer(as_json, told, [says])


def _ask_pin() -> str:
    """A new PIN typed twice unseen. Raises Refused where nobody can type, rather than read one seen."""
    if not has_keyboard():
        raise Refused("the new PIN is needed, and there is no keyboard to ask; give --pin PIN")
    return str(click.prompt("New PIN", hide_input=True, confirmation_prompt=True, err=True))


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def list_people(station: Station, as_json: bool) -> None:
    """Who is on the list, with role, and who may no longer sign in; never a PIN."""
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    ward.looked("staff list")
    people = ward.ledger.staff.everyone()
    lines = [
        f"{one.initials:<12} {one.role}{'' if one.active else ' (off: may not sign in)'}" for one in people
    ]
    nobody = "nobody: this ledger is open to whoever can read its file; add the keeper first"
    rows = [{"initials": one.initials, "role": one.role, "active": one.active} for one in people]
    answer(as_json, rows, lines or [nobody])
