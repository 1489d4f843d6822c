"""``mobicard stay``: admit, move, swap, discharge, readmit, correct, merge, procedure, assign."""

from __future__ import annotations

from pathlib import Path

import click

from mobicard.cli.bed_names import bed_argument
from mobicard.cli.beds import in_bed, row
from mobicard.cli.station import Refused, Station, answer


@click.group("stay")
def command() -> None:
    """The life of a stay: admit, move, swap, discharge, readmit, correct, merge, procedure, assign."""


@command.command("list")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def list_stays(station: Station, as_json: bool) -> None:
    """Every occupied bed with its level, who recorded it and what is due."""
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    views = ward.board()
    ward.looked("bed list")
    shown = [(view, station.settings.scheme.looks[view.plan.shown_level]) for view in views]
    lines = (
        f"{view.bed:<10} {look.glyph} {look.word:<7} {view.due_says:<22} {view.door:<12} {view.stay}"
        for view, look in shown
    )
    answer(as_json, [row(view) for view in views], lines)
    if not views and not as_json:
        click.echo("nobody is in a bed of this ledger", err=True)


@command.command()
@click.argument("bed")
@click.option("--label", help="Initials or an alias, at most 12 characters.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def admit(station: Station, bed: str, label: str | None, as_json: bool) -> None:
    """A new stay in a free BED."""
    view = station.signed_in("admit").stays.admit(bed, label)
    answer(as_json, row(view), [f"{view.bed} admitted; not assessed yet, so nothing is cleared"])


@command.command()
@bed_argument("bed")
@click.argument("to")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def move(station: Station, bed: str, to: str, as_json: bool) -> None:
    """Move the patient in BED to the free bed TO."""
    ward = station.signed_in("move")
    view = ward.stays.move(in_bed(ward, bed), to)
    answer(as_json, row(view), [f"{bed} is now {view.bed}; assess again there, and change both doors"])


@command.command()
@bed_argument("bed")
@bed_argument("other")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def swap(station: Station, bed: str, other: str, as_json: bool) -> None:
    """Swap the patients in BED and OTHER."""
    ward = station.signed_in("move")
    both = in_bed(ward, bed), in_bed(ward, other)
    ward.stays.swap(*both)
    says = f"{bed} and {other} have changed places; assess both again, and change both doors"
    answer(as_json, [row(ward.bed(one.stay)) for one in both], [says])


@command.command()
@bed_argument("bed")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def discharge(station: Station, bed: str, as_json: bool) -> None:
    """End the stay in BED. Its entries are kept; its door card must come down."""
    ward = station.signed_in("discharge")
    view = in_bed(ward, bed)
    ward.stays.discharge(view)
    down = f"; take down {view.hung_code}" if view.hung_code else ""
    says = f"{view.bed} is free{down}. To take the stay up again: mobicard stay readmit {view.stay} BED"
    answer(as_json, {"bed": view.bed, "stay": view.stay, "take_down": view.hung_code}, [says])


@command.command()
@click.argument("stay")
@click.argument("bed")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def readmit(station: Station, stay: str, bed: str, as_json: bool) -> None:
    """Take the ended STAY up again in BED."""
    view = station.signed_in("readmit").stays.readmit(stay, bed)
    answer(as_json, row(view), [f"{view.bed} readmitted; assess again before moving"])


@command.command()
@bed_argument("bed")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def history(station: Station, bed: str, as_json: bool) -> None:
    """What was done with the stay now in BED, each entry with the number a correction names."""
    from mobicard.ward.reader.audit import audit
    from mobicard.ward.reader.told import told_of

    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    stay = in_bed(ward, bed).stay
    ward.seen(stay)
    lines = [line for line in audit(ward, bed) if line.stay == stay and line.did not in ("saw", "took over")]
    changes = {one.number: one.changes for one in told_of(ward, stay)}
    told = (
        f"{line.entry:>4}  {line.at:%d %b %H:%M}  {line.by:<12} {line.did:<11} "
        + "; ".join(filter(None, (line.says, *changes.get(line.entry, ()))))
        for line in lines
    )
    answers = [{**line.as_json(), "changed": changes.get(line.entry, ())} for line in lines]
    answer(as_json, answers, map(str.rstrip, told))


@command.command()
@bed_argument("bed")
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option(
    "--entry", type=int, required=True, help="Number of the wrong entry; `stay history BED` tells it."
)
@click.option("--why", required=True, help="What was wrong; kept with the correction.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def correct(station: Station, bed: str, file: Path | None, entry: int, why: str, as_json: bool) -> None:
    """Say that an entry of BED was wrong. FILE is the record that stands instead.

    Without FILE the stay is as if the wrong entry had never been made. The wrong entry is kept.
    """
    from mobicard.cli.commands.plan import record_from
    from mobicard.ward.corrections import withdraw

    record = record_from(file) if file else None
    ward = station.signed_in("correct")
    view = in_bed(ward, bed)
    if record is not None and record.bed.casefold() != view.bed.casefold():
        raise Refused(f"{file} is the record of {record.bed}, not of {view.bed}")
    after = withdraw(ward, view, entry, why, record)
    look = station.settings.scheme.looks[after.plan.shown_level]
    says = f"{after.bed}: entry {entry} no longer counts; {look.word} now. Look at the door's card."
    answer(as_json, row(after), [says])


@command.command()
@bed_argument("keep")
@bed_argument("double")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def merge(station: Station, keep: str, double: str, as_json: bool) -> None:
    """One patient was entered twice: keep the stay in bed KEEP, end the one in bed DOUBLE."""
    ward = station.signed_in("merge")
    kept = ward.stays.merge_double(in_bed(ward, keep), in_bed(ward, double))
    answer(as_json, row(kept), [f"{double} ended as a double of {keep}; both histories are kept"])


@command.command()
@bed_argument("bed")
@click.argument("what")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def procedure(station: Station, bed: str, what: str, as_json: bool) -> None:
    """Note that the patient in BED had an operation or procedure; the next assessment must be a new one."""
    ward = station.signed_in("procedure")
    view = ward.procedure(in_bed(ward, bed).stay, what)
    answer(as_json, row(view), [f"{bed}: noted; assess again before moving"])


@command.command()
@click.argument("to")
@bed_argument("beds", nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def assign(station: Station, to: str, beds: tuple[str, ...], as_json: bool) -> None:
    """Give BEDS to the round of TO (initials); - for nobody."""
    ward = station.signed_in("assign")
    stays = [in_bed(ward, bed).stay for bed in beds]
    ward.assign(stays, None if to == "-" else to.upper())
    says = f"{len(beds)} bed{'' if len(beds) == 1 else 's'} assigned to {to.upper()}"
    answer(as_json, [row(ward.bed(stay)) for stay in stays], [says])
