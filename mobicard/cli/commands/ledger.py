"""``mobicard ledger``: make, check, audit, back up, restore, export, import, retention, logins."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path

import click

from mobicard.cli.bed_names import bed_option
from mobicard.cli.station import Refused, Station, answer


@click.group("ledger")
def command() -> None:
    """The ledger itself: new, accept, verify, audit, backup, restore, export, import, retention, logins."""


@command.command()
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def new(station: Station, as_json: bool) -> None:
    """Make an empty ledger at the place named, where there is none. No other command makes one."""
    from mobicard.ward.station.known_ledger import make_new

    with make_new(station.ledger_url) as ledger:
        where = str(station.ledger_url or ledger.where)
        answer(as_json, {"made": where}, [f"{where} is made, and empty"])


@command.command()
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def accept(station: Station, as_json: bool) -> None:
    """Take the ledger as it now lies there, though this station knows another or a later one; or none."""
    from mobicard.ward.station.known_ledger import accept as take

    before, now = take(station.ledger_url)
    known = f"entry {before}" if before else "nothing"
    takes = f"the ledger as of entry {now}" if now else "none"
    ends = {"before": before and asdict(before), "now": now and asdict(now)}
    answer(as_json, ends, [f"this station knew {known}; it now takes {takes}"])


@command.command()
@click.option(
    "--known", metavar="SEQ:HASH", help="The end written down earlier; shows a ledger rewritten since."
)
@click.option(
    "--witness",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A file on another disk that keeps the ends: checked against its last; today's is added.",
)
@click.option("--json", "as_json", is_flag=True, help="The report as JSON.")
@click.pass_context
def verify(ctx: click.Context, known: str | None, witness: Path | None, as_json: bool) -> None:
    """Check every entry's hash and the chain; names the first that does not fit. Exit code 1 when broken."""
    from mobicard.ledger.keeping.known_end import bear_witness, end_of, why_not, witnessed
    from mobicard.ward.station.known_ledger import known_end

    station: Station = ctx.obj
    ward = station.whatever_lies_there()
    if ward.ledger.staff.bound_by_server and ward.needs_sign_in:  # the server shows rows to no one else
        ward = station.signed_in("backup")
    elif ward.needs_sign_in and station.by:  # whoever has the file may check it; who says who it is is noted
        ward = station.signed_in("read")
    report = ward.ledger.verify(_known(known))
    for seen in (known_end(station.ledger_url).end, witnessed(witness) if witness else None):
        if report.ok and seen and (says := why_not(ward.ledger, seen)):
            report = replace(report, ok=False, says=f"The ledger {says}.")
    if report.ok and witness:
        bear_witness(witness, end_of(ward.ledger), ward.clock.utc())
    if report.ok:  # one that is not is left as it is, for inquiry
        ward.looked("check of the ledger")
    end = f"{report.checked} entries checked; the end is {report.seq}:{report.hash}"
    answer(as_json, asdict(report), (report.says, end))
    ctx.exit(0 if report.ok else 1)


@command.command()
@bed_option(help="Only of this bed: who lies there now, or lay there last; see --all and --since.")
@click.option("--person", metavar="INITIALS", help="Only what this person did.")
@click.option(
    "--since",
    type=click.DateTime(["%Y-%m-%d", "%Y-%m-%dT%H:%M"]),
    help="Only what was done then or later; with --bed, of every stay that was in it since.",
)
@click.option("--all", "ever", is_flag=True, help="With --bed: every stay that was ever in it.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def audit(
    station: Station, bed: str | None, person: str | None, since: datetime | None, ever: bool, as_json: bool
) -> None:
    """List who saw, recorded, printed, overrode what, and when, in the order saved."""
    from mobicard.ward.reader.audit import audit as audit_of

    if ever and not bed:
        raise click.UsageError("--all goes with --bed; without a bed the audit lists everything")
    last = bed is not None and since is None and not ever
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    ward.looked("audit", bed or person or "")
    lines = audit_of(ward, bed, person.strip().upper() if person else None, since, last=last)
    told = (
        f"{line.at:%Y-%m-%d %H:%M}  {line.by:<12} {line.did:<15} {line.bed:<10} {line.says}" for line in lines
    )
    answer(as_json, [line.as_json() for line in lines], map(str.rstrip, told))
    if last:
        click.echo(f"only the last stay in {bed}; --all lists every stay that was ever in it", err=True)


@command.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def backup(station: Station, file: Path, as_json: bool) -> None:
    """Write a whole copy to FILE (0600) while others go on saving."""
    ward = station.signed_in("backup") if station.ward.needs_sign_in else station.ward
    ward.kept("copy", file.name)
    copied = ward.ledger.backup(file)
    answer(as_json, {"file": str(file), "says": str(copied)}, [copied])


@command.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.argument("to")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def restore(station: Station, file: Path, to: str, as_json: bool) -> None:
    """Open the backup FILE as a new ledger TO (a path or an address); nothing is overwritten."""
    from mobicard.ledger.keeping.restoring import restore as restore_to
    from mobicard.ward.station.known_ledger import accept as take

    with restore_to(file, to) as ledger:
        where, checked = ledger.where, ledger.verify().checked
    lines = [f"restored to {where}: {checked} entries, the chain is whole"]
    before, now = take(to)
    if before and now and before.seq > now.seq:
        lines.append(
            f"this station had seen entry {before.seq} there: what came after {now.seq} is not in it"
        )
    answer(as_json, {"restored": str(where), "entries": checked, "says": lines}, lines)


@command.command("export")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--secrets", is_flag=True, help="With what PINs were made into; without, it is only to read.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def export_lines(station: Station, file: Path, secrets: bool, as_json: bool) -> None:
    """Write every entry and the staff list to FILE (0600) as JSON lines; the keeper's.

    With --secrets it can be imported again once there is a staff list.
    """
    ward = station.signed_in("backup") if station.ward.needs_sign_in else station.ward
    ward.kept("export with secrets" if secrets else "export", file.name)
    count = ward.ledger.export_jsonl(file, secrets=secrets)
    answer(as_json, {"entries": count, "file": str(file)}, [f"{count} entries written to {file}"])


@command.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def import_lines(station: Station, file: Path, as_json: bool) -> None:
    """Read exported JSON lines into an empty ledger; all of them or none."""
    count = station.ward.ledger.import_jsonl(file)
    answer(as_json, {"entries": count}, [f"{count} entries read"])


@command.command()
@click.option(
    "--export", "export_to", type=click.Path(path_type=Path, dir_okay=False), help="Where the export goes."
)
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def retention(station: Station, export_to: Path | None, as_json: bool) -> None:
    """List stays kept longer than policy says; --export FILE writes them there, then empties them here."""
    from mobicard.ledger.keeping.retention import expired_stays, purge

    ward = station.signed_in("purge") if export_to or station.ward.needs_sign_in else station.ward
    stays = expired_stays(ward.ledger, ward.policy.retention, ward.clock.utc())
    days = ward.policy.retention.days_after_discharge
    ward.looked("stays kept longer than policy says")
    if not stays or export_to is None:
        told = {"stays": list(stays), "days": days, "emptied": False}
        answer(as_json, told, [f"{len(stays)} stays ended more than {days} days ago"])
        return
    purge(ward.ledger, stays, export_to, ward.by, ward.clock.utc())
    says = f"{len(stays)} stays written to {export_to} and emptied here; the chain still verifies"
    answer(as_json, {"stays": list(stays), "days": days, "emptied": True}, [says])


@command.command()
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def rebuild(station: Station, as_json: bool) -> None:
    """Make the board's table anew from the entries, when `verify` says it is not as they say."""
    from mobicard.ledger.keeping.verify import rebuild as anew

    ward = station.signed_in("backup") if station.ward.needs_sign_in else station.ward
    count = anew(ward.ledger)
    answer(as_json, {"stays": count}, [f"{count} stays made anew from the entries; no entry was touched"])


@command.command()
@click.argument("name")
@click.argument("roles", nargs=-1, required=True)
@click.password_option("--password", prompt="Password of the station's login")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def login(station: Station, name: str, roles: tuple[str, ...], password: str, as_json: bool) -> None:
    """On PostgreSQL: set every right anew and make the login NAME for ROLES (nurse clerk reader keeper)."""
    from mobicard.ledger.staff.postgres_roles import give_rights, make_login

    give_rights(station.ward.ledger)
    make_login(station.ward.ledger, name, password, *roles)
    answer(as_json, {"login": name, "roles": roles}, [f"{name} may connect as {', '.join(roles)}"])


def _known(text: str | None) -> tuple[int, str] | None:
    if text is None:
        return None
    seq, _, digest = text.partition(":")
    if not seq.isdigit() or not digest:
        raise Refused(
            f"“{text}” is not an end of a chain; it is written like 120:3f0c… as `verify` prints it"
        )
    return int(seq), digest
