"""``mobicard record BED FILE``: an assessment from a file, with the refusals of the form on the screen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import click

from mobicard.cli.bed_names import bed_argument
from mobicard.cli.beds import in_bed, tell_saved
from mobicard.cli.commands.bedside.look import as_json_option
from mobicard.cli.commands.plan import facts_from, record_of
from mobicard.cli.station import Refused, Station
from mobicard.derive import why_not_judged
from mobicard.facts import Record
from mobicard.ward import BedView, Ward

BY_KEY = ("help", "helpers_used", "weight_bearing")
"""Facts that a change names in part: each move, each limb by itself."""
CLOCKS_APART = timedelta(minutes=5)
"""How far two stations' clocks may differ. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was said beside the file."""

    changes: bool
    rest_seen: bool
    over: str | None
    judge_again: bool


@click.command("record")
@bed_argument("bed")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True), required=False)
@click.option(
    "--plain", is_flag=True, help="No FILE: asked line after line, for a screen that is read aloud."
)
@click.option("--changes", is_flag=True, help="FILE names only what changed; the rest stands as recorded.")
@click.option("--rest-seen", is_flag=True, help="With --changes: the rest was seen again, and is the same.")
@click.option("--over", metavar="NAME", help="Who says that the precautions left out are over.")
@click.option("--judge-again", is_flag=True, help="The judgement in force is your own judgement too.")
@click.option("--version", "version", type=int, metavar="N", help="Refuse if the bed is no longer at N.")
@as_json_option
@click.pass_obj
def command(
    station: Station,
    /,
    bed: str,
    file: Path | None,
    plain: bool,
    version: int | None,
    as_json: bool,
    **asked: Any,
) -> None:
    """Record an assessment of the patient in BED from a record FILE (JSON or TOML; - for standard input).

    FILE is all that was seen at this look: what it leaves out is not assessed. With --changes it names only
    what changed, and the assessment still counts from when the rest was seen.
    """
    said = Asked(**asked)
    if plain:
        if file is not None or as_json or version is not None or any(asked.values()):
            raise click.UsageError("--plain asks for everything itself: give it the bed alone")
        from mobicard.cli.commands.bedside.plain import record_by_line

        record_by_line(station, bed)
        return
    if file is None:
        raise click.UsageError("name the record's FILE, - for standard input, or --plain to be asked")
    if said.rest_seen and not said.changes:
        raise click.UsageError("--rest-seen goes with --changes")
    facts = facts_from(file)
    ward = station.signed_in("record")
    view = in_bed(ward, bed)
    record = _told(ward, view, facts, file, said)
    saved = ward.save(view.stay, record, view.version if version is None else version)
    for name in _left_out(view, saved):
        click.echo(f"not in {file}, so not assessed now: {name}", err=True)
    tell_saved(station, saved, as_json, "recorded")


def _told(ward: Ward, view: BedView, facts: Mapping[str, Any], file: Path, said: Asked) -> Record:
    """The record to save, stamped; refused where the form would not take it."""
    _same_patient(view, facts, file)
    whole = _over_what_stands(view.record, facts) if said.changes else dict(facts)
    whole |= {"bed": view.bed, **({"label": view.label} if view.label else {})}
    record = record_of(whole, file)
    _not_ahead(ward, record)
    record = _judgement(ward, view, record, facts, said)
    return _orders(ward, view, _stamped(ward, view, record, facts, said), facts, said)


def _same_patient(view: BedView, facts: Mapping[str, Any], file: Path) -> None:
    """The wrong patient's file is refused: by its bed, or by its initials."""
    for name, known in (("bed", view.bed), ("label", view.label)):
        told = facts.get(name)
        if told and known and str(told).casefold() != known.casefold():
            raise Refused(f"{file} is the record of {told}, but {known} is in {view.bed}; nothing was saved")


def _over_what_stands(known: Record, facts: Mapping[str, Any]) -> dict[str, Any]:
    was = known.as_json()
    parts = {
        name: {**was.get(name, {}), **facts[name]}
        for name in BY_KEY
        if isinstance(facts.get(name), Mapping) and isinstance(was.get(name), Mapping)
    }
    return {**was, **facts, **parts}


def _not_ahead(ward: Ward, record: Record) -> None:
    at = record.assessed_at
    if at is not None and at > ward.now + CLOCKS_APART:
        raise Refused(f"assessed at {at:%d %b %H:%M}, but it is {ward.now:%d %b %H:%M}; check the time")


def _stamped(ward: Ward, view: BedView, record: Record, facts: Mapping[str, Any], said: Asked) -> Record:
    """A look of now, of the time the file says, or, for changes alone, of when the rest was seen."""
    if said.rest_seen and (bar := _why_not_all(ward, view)):
        raise Refused(f"{view.bed}: the rest must be recorded as seen: {bar}")
    if said.changes and not said.rest_seen:
        return record
    return record if facts.get("assessed_at") else ward.assessed_now(record)


def _why_not_all(ward: Ward, view: BedView) -> str:
    """Why facts may not be taken as seen again all at once; what is missing is no bar: the file says it."""
    says = ward.why_not_same(view)
    return "" if says is None or says.startswith("not assessed") else says


def _judgement(ward: Ward, view: BedView, record: Record, facts: Mapping[str, Any], said: Asked) -> Record:
    """A judgement ends with a new look, unless this person judges so again; one in the file must hold."""
    over = view.record.override
    if said.judge_again:
        if over is None:
            raise Refused(f"{view.bed}: no judgement is in force")
        return ward.judged_again(record.changed(override=over.model_dump()))
    if facts.get("override") is not None and record.override is not None:
        if why := why_not_judged(
            record.changed(override=None),
            record.override.level,
            ward.policy,
            ward.now,
            ward.settings.inventory,
        ):
            raise Refused(f"no judgement lowers {view.bed} to {record.override.level}: {why}")
        return record
    if over is None or (said.changes and not said.rest_seen):
        return record
    click.echo(
        f"the judgement {over.level} by {over.by} ends with this look; --judge-again keeps it", err=True
    )
    return record.changed(override=None)


def _orders(ward: Ward, view: BedView, record: Record, facts: Mapping[str, Any], said: Asked) -> Record:
    """A precaution taken off the list ends in somebody's name, or is refused; one not spoken of stands."""
    from mobicard.derive.over_time.standing_orders import ended_by, taken_off

    off = taken_off(view.record, record)
    if not off or facts.get("precautions") is None:
        return record
    if said.over is None:
        names = ", ".join(item.value.replace("_", " ") for item in off)
        raise Refused(f"{view.bed}: {names} over: who says so? --over NAME. Nothing was saved")
    return ended_by(record, off, ward.now.replace(second=0), said.over)


def _left_out(view: BedView, saved: BedView) -> list[str]:
    """What was known of the patient and is not any more: a whole record says all that was seen."""
    now = saved.record.as_json()
    return [name for name in view.record.as_json() if name not in now and name not in ("override", "ended")]
