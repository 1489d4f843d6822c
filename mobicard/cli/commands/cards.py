"""``mobicard cards``: print door and bedside cards, all or only the doors that no longer match."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from mobicard.cli.bed_names import bed_option
from mobicard.cli.progress import step_bar
from mobicard.cli.station import Refused, Station, answer
from mobicard.ward import DoorJob, Ward
from mobicard.ward.clerk.sending import DOORS, Sent, send_pages


@click.command("cards")
@click.argument("record_files", nargs=-1, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), default=Path("cards"), show_default=True
)
@click.option("--changed", is_flag=True, help="Only the doors that no longer match, and a slip for the walk.")
@bed_option("beds", multiple=True, help="Only this bed; may be given again.")
@click.option("--kind", type=click.Choice(["door", "bedside", "both"]), default="both", show_default=True)
@click.option(
    "--format", "formats", type=click.Choice(["html", "pdf", "both"]), default="both", show_default=True
)
@click.option("--size", help="Card: a5, half-letter, a6, a4 or letter; half a sheet if not named.")
@click.option("--up", type=int, help="Cards on a sheet: 1, 2 or 4, with cut marks; as many as fit.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter", "card"]),
    help="The sheet; by default the policy's stock. “card”: one card fills its page.",
)
@click.option("--ink", type=click.Choice(["colour", "grey", "saver"]), default="colour", show_default=True)
@click.option("--printer", metavar="NAME", help="Hand the PDF to this print queue and wait for its answer.")
@click.option("--copies", type=click.IntRange(1, 20), default=1, show_default=True)
@click.option(
    "--hung", "hung", is_flag=False, flag_value="", metavar="[BATCH]", help="Say that the printed cards hang."
)
@click.option("--briefs", is_flag=True, help="Behind each bedside card a sheet of the shift's briefs.")
@click.option("--came-out", is_flag=True, help="With --hung: the queue had not printed them yet, but it has.")
@click.option("--json", "as_json", is_flag=True, help="Say what was done as JSON.")
@click.pass_obj
def command(
    station: Station,
    record_files: tuple[Path, ...],
    out: Path,
    changed: bool,
    beds: tuple[str, ...],
    kind: str,
    formats: str,
    size: str | None,
    up: int | None,
    paper: str | None,
    ink: str,
    printer: str | None,
    copies: int,
    hung: str | None,
    briefs: bool,
    came_out: bool,
    as_json: bool,
) -> None:
    """Print cards of the ledger's beds (or of RECORD_FILES, without a ledger).

    \b
    mobicard cards --changed --out cards     print what no longer matches the doors
    mobicard cards --hung                    say that the last batch hangs
    mobicard cards --bed 5N-04 --size a6 --up 4
    """
    from mobicard.ward.clerk.order import FORMATS, KINDS, Order

    kinds, wanted = _both(kind, KINDS), _both(formats, FORMATS)
    if hung is not None:
        return _hung(station, hung or None, came_out, as_json)
    order = Order(out, kinds, wanted, size, up, paper, ink, station.settings.stock, briefs)
    _agree(wanted, kinds, printer, briefs)
    if record_files:
        return _from_files(station, record_files, order, as_json, printer, copies)
    ward = station.signed_in("prepared")
    jobs = ward.doors.jobs(changed_only=changed, beds=beds or None)
    if beds and not jobs:
        raise Refused(f"no such bed is occupied (or its door already matches): {', '.join(beds)}")
    return _print(station, ward, jobs, order, as_json, printer, copies)


def _both(chosen: str, each: tuple[str, ...]) -> tuple[str, ...]:
    return each if chosen == "both" else (chosen,)


def _agree(formats: Sequence[str], kinds: Sequence[str], printer: str | None, briefs: bool) -> None:
    """Raises UsageError for options that exclude each other."""
    if printer is not None and "pdf" not in formats:
        raise click.UsageError("a printer takes PDF: leave --format out, or print the HTML from a browser")
    if briefs and "bedside" not in kinds:
        raise click.UsageError("--briefs belongs to bedside cards: leave --kind out, or say --kind bedside")


def _print(
    station: Station,
    ward: Ward,
    jobs: Sequence[DoorJob],
    order: object,
    as_json: bool,
    printer: str | None,
    copies: int,
) -> None:
    from mobicard.ward.clerk.order import Order
    from mobicard.ward.clerk.printing import cards_of, write_cards, write_slip

    assert isinstance(order, Order)
    if not jobs:
        nothing = "every door matches: nothing to print"
        answer(as_json, {"batch": None, "files": [], "doors": []}, [nothing])
        return
    with step_bar("cards") as step:
        files = write_slip(jobs, order.out, station.settings, ward.now, order.formats, order.sheet.page)
        files += write_cards(cards_of(jobs), order, station.settings, ward.now, step)
    sent = send_pages(files, printer, copies) if printer is not None else Sent()
    if printer is not None and sent.doors_refused and (files[0].parent / DOORS) in files:
        raise Refused(_stopped(sent, order.out))
    twice = ward.doors.meanwhile(jobs)
    batch = ward.doors.prepare(jobs, waits=sent.doors_wait)
    doors = [{"bed": job.bed, "hang": job.hang, "take_down": job.take_down} for job in jobs]
    done = {"batch": batch, "files": [str(f) for f in files], "doors": doors, "printer": sent.says}
    answer(as_json, done, (*(f"{job.bed}: {job.says}" for job in jobs), *files, *sent.says))
    if not sent.ok:
        raise Refused(_stopped(sent, order.out))
    if not as_json:
        for bed in twice:
            click.echo(f"{bed}: somebody else has printed this card meanwhile; hang one of them", err=True)
        click.echo(f"\nWhen they hang:  mobicard cards --hung {batch}", err=True)


def _stopped(sent: Sent, folder: Path) -> str:
    return f"{sent.stopped} The files are written: {folder}"


def _hung(station: Station, batch: str | None, came_out: bool, as_json: bool) -> None:
    ward = station.signed_in("hung")
    jobs = ward.doors.batch(batch, came_out=came_out)
    count = ward.doors.confirm_hung(jobs)
    says = f"{count} door{'' if count == 1 else 's'} noted as hung by {ward.by}"
    if not jobs:
        says = "nothing to note: every card of that batch hangs already, or its patient has left"
    answer(as_json, {"hung": [job.hang for job in jobs if job.hang], "doors": count}, [says])


def _from_files(
    station: Station, files: tuple[Path, ...], order: object, as_json: bool, printer: str | None, copies: int
) -> None:
    from mobicard.cli.commands.plan import record_from
    from mobicard.derive import plan_for
    from mobicard.paper.door.face import BedCard
    from mobicard.ward.clerk.order import Order
    from mobicard.ward.clerk.printing import write_cards

    assert isinstance(order, Order)
    now = station.now
    records = [record_from(path) for path in files]
    inventory = station.settings.inventory
    cards = [BedCard(plan_for(record, station.policy, now, inventory), record) for record in records]
    written = write_cards(cards, order, station.settings, now)
    sent = send_pages(written, printer, copies) if printer is not None else Sent()
    if not sent.ok:
        raise Refused(_stopped(sent, order.out))
    files_said = [str(path) for path in written]
    answer(as_json, {"files": files_said, "printer": sent.says}, (*files_said, *sent.says))
