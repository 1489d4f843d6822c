"""``mobicard fall``, ``clear``, ``up``, ``head``: a fall and what follows it, step by step."""

from __future__ import annotations

from typing import Any

import click

from mobicard.cli.bed_names import bed_argument
from mobicard.cli.beds import in_bed, past_moment, tell_saved
from mobicard.cli.commands.bedside.look import as_json_option
from mobicard.cli.station import Refused, Station
from mobicard.facts.words import Alertness, Found, HeadSeen, Help, Injury, LiftAs, YesNoUnknown

YES_NO = click.Choice([word.value for word in YesNoUnknown])
FOUND = click.Choice([word.value for word in Found])
FLOOR = click.Choice([word.value for word in Help])
at_option = click.option("--at", metavar="TIME", help="When, like 06:40; now if not given.")


@click.command("fall")
@bed_argument("bed")
@at_option
@click.option("--again", is_flag=True, help="Another fall, though one is still open.")
@click.option("--more", is_flag=True, help="More about the fall that is open.")
@click.option("--alertness", type=click.Choice([word.value for word in Alertness]), help="How awake.")
@click.option("--head-strike", type=YES_NO, help="Did the head hit anything?")
@click.option("--neck-pain", type=YES_NO, help="Does the neck hurt?")
@click.option("--seen/--found", "witnessed", default=None, help="Somebody saw it, or the patient was found.")
@click.option("--injury", type=click.Choice([word.value for word in Injury]), help="As far as looked at.")
@click.option("--anticoagulated", type=YES_NO, help="Takes a blood thinner?")
@click.option("--floor", type=FLOOR, help="Getting up from the floor, as asked; do not lift to find out.")
@as_json_option
@click.pass_obj
def fall(
    station: Station, /, bed: str, at: str | None, again: bool, more: bool, as_json: bool, **given: Any
) -> None:
    """Record that the patient in BED has fallen. What is not said counts as the worse answer.

    Nothing recorded before counts until the patient is cleared, up, and looked at again.
    """
    from mobicard.ward.bedside.falls import fell, told_more

    ward = station.signed_in("fall")
    view = in_bed(ward, bed)
    told = {name: value for name, value in given.items() if value is not None}
    beside: dict[str, Any] = {name: told.pop(name) for name in ("alertness", "floor") if name in told}
    known = view.plan.after_fall
    if more:
        when = {"at": past_moment(at, ward.now)} if at else {}
        saved = told_more(ward, view, {**told, **when}, beside)
    elif known is not None and not again:
        raise Refused(f"{view.bed}: {known.says}. Another fall: --again; more about that one: --more")
    else:
        saved = fell(ward, view, {**told, "at": past_moment(at, ward.now)}, beside)
    _tell(station, saved, as_json, "more is known of the fall" if more else "fall recorded")


@click.command("clear")
@bed_argument("bed")
@click.option("--name", required=True, help="Who examined the patient and allowed the move.")
@at_option
@click.option("--head", type=FOUND, help="The head, as found.")
@click.option("--spine", type=FOUND, help="Neck and back, as found.")
@click.option("--bones", type=FOUND, help="Hips and long bones, as found.")
@click.option(
    "--lift", "lift_as", type=click.Choice([word.value for word in LiftAs]), help="How to bring up."
)
@click.option("--neck-pain", type=YES_NO, help="The neck, asked again.")
@as_json_option
@click.pass_obj
def clear(
    station: Station, /, bed: str, name: str, at: str | None, as_json: bool, **given: str | None
) -> None:
    """Record who examined the patient in BED after the fall, before any move, and what was found.

    A part that is not named was not found clear: the patient is lifted flat.
    """
    from mobicard.ward.bedside.falls import cleared

    ward = station.signed_in("fall")
    view = in_bed(ward, bed)
    told = {part: value for part, value in given.items() if value is not None}
    saved = cleared(ward, view, {**told, "cleared_by": name}, past_moment(at, ward.now))
    _tell(station, saved, as_json, f"examined by {name}")


@click.command("up")
@bed_argument("bed")
@click.option("--floor", type=FLOOR, help="How much help it took, where the patient got up guided.")
@at_option
@as_json_option
@click.pass_obj
def up(station: Station, bed: str, floor: str | None, at: str | None, as_json: bool) -> None:
    """Record that the patient in BED is up after the fall; then look again: `mobicard record`."""
    from mobicard.ward.bedside.falls import up as got_up

    ward = station.signed_in("fall")
    view = in_bed(ward, bed)
    _tell(station, got_up(ward, view, past_moment(at, ward.now), floor), as_json, "up again")


@click.command("head")
@bed_argument("bed")
@click.argument("seen", required=False, type=click.Choice([word.value for word in HeadSeen]))
@click.option("--stop", metavar="NAME", help="Stop them, in the name of who decided it.")
@as_json_option
@click.pass_obj
def head(station: Station, bed: str, seen: str | None, stop: str | None, as_json: bool) -> None:
    """Note a head observation made at BED just now: coma scale fifteen, below it, or worse in any way."""
    if bool(seen) == bool(stop):
        raise click.UsageError("name what was seen, or --stop NAME")
    ward = station.signed_in("record")
    stay = in_bed(ward, bed).stay
    saved = ward.note_head(stay, HeadSeen(seen)) if seen else ward.stop_head(stay, stop or "")
    running = saved.plan.head_observations
    tell_saved(station, saved, as_json, running.says if running else "head observations stopped")


def _tell(station: Station, view: Any, as_json: bool, did: str) -> None:
    """The save, then what the plan has done next, step by step."""
    tell_saved(station, view, as_json, did)
    known = view.plan.after_fall
    for step in known.steps if known else ():
        click.echo(f"  - {step}", err=as_json)
