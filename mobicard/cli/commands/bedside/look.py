"""``mobicard same``, ``taken-over``, ``judge``, ``order``: what is said of a bed without a new record."""

from __future__ import annotations

import click

from mobicard.cli.bed_names import bed_argument
from mobicard.cli.beds import coming_moment, in_bed, row, tell_saved
from mobicard.cli.station import Refused, Station, answer
from mobicard.facts.words import Level
from mobicard.ward import BedView, Ward

as_json_option = click.option("--json", "as_json", is_flag=True, help="As JSON.")


@click.command("same")
@bed_argument("bed")
@as_json_option
@click.pass_obj
def same(station: Station, bed: str, as_json: bool) -> None:
    """Say that the patient in BED was seen just now and is as last recorded.

    Refused, with why, after a fall, a move or an operation, after more than a shift, or with something that
    was never assessed.
    """
    from mobicard.derive.over_time.standing_orders import not_asked_since
    from mobicard.derive.over_time.validity import shift_opens

    ward = station.signed_in("same")
    view = in_bed(ward, bed)
    if refusal := ward.why_not_same(view):
        raise Refused(f"{view.bed}: not same as before: {refusal}")
    saved = ward.same_as_before(view)
    for order in not_asked_since(saved.record, shift_opens(ward.now, ward.policy.shift)):
        click.echo(f"not asked this shift, and it stands: {order.says}", err=True)
    tell_saved(station, saved, as_json, "same as before")


@click.command("taken-over")
@bed_argument("beds", nargs=-1)
@click.option("--all", "everyone", is_flag=True, help="Every occupied bed.")
@click.option("--assignment", metavar="INITIALS", help="The beds of one person's round.")
@as_json_option
@click.pass_obj
def taken_over(
    station: Station, beds: tuple[str, ...], everyone: bool, assignment: str | None, as_json: bool
) -> None:
    """Say that you have read the handoff of BEDS and take them over."""
    if bool(beds) + everyone + bool(assignment) != 1:
        raise click.UsageError("name the beds, or --all, or --assignment INITIALS")
    ward = station.signed_in("read")
    views = [in_bed(ward, bed) for bed in beds] if beds else _of(ward, assignment)
    for view in views:
        ward.mark_read(view.stay)
    names = [view.bed for view in views]
    answer(as_json, {"taken_over": names, "by": ward.by}, [f"taken over by {ward.by}: {', '.join(names)}"])


def _of(ward: Ward, assignment: str | None) -> list[BedView]:
    wanted = assignment.upper() if assignment else None
    views = [view for view in ward.board() if wanted is None or view.assignment == wanted]
    if not views:
        raise Refused(f"no bed is assigned to {wanted}" if wanted else "no bed is occupied")
    return views


@click.command("judge")
@bed_argument("bed")
@click.argument("level", required=False)
@click.option("--why", "why", default="", help="The reason; it shows on every page. Needed to lower.")
@click.option("--take-back", is_flag=True, help="Take the judgement in force back.")
@as_json_option
@click.pass_obj
def judge(station: Station, bed: str, level: str | None, why: str, take_back: bool, as_json: bool) -> None:
    """Set another LEVEL for BED by your own judgement, under your name.

    Raising is free. Lowering needs its reason, ends with the shift or the next look, and is refused where
    the record contradicts it.
    """
    if take_back == bool(level):
        raise click.UsageError("name a level, or --take-back")
    ward = station.signed_in("record")
    view = in_bed(ward, bed)
    if level is None:
        if view.record.override is None:
            raise Refused(f"{view.bed}: there is no judgement to take back")
        tell_saved(station, ward.override(view, None, ""), as_json, "the judgement is taken back")
        return
    saved = _judged(ward, view, _level(station, level), why.strip())
    tell_saved(station, saved, as_json, f"judged by {ward.by}")


def _judged(ward: Ward, view: BedView, level: Level, why: str) -> BedView:
    from mobicard.ward.bedside.judging import NO_REASON, why_not_set

    if refusal := why_not_set(ward, view, level):
        raise Refused(f"{view.bed}: {refusal}")
    if not why and level.rank < view.plan.derived_level.rank:
        raise Refused("lowering needs its reason, in a few words: --why")
    return ward.override(view, level, why or NO_REASON)


def _level(station: Station, text: str) -> Level:
    """A level by its name inside or by the facility's word for it."""
    looks = station.settings.scheme.looks
    named = {**{level.value.casefold(): level for level in Level}}
    named |= {look.word.casefold(): level for level, look in looks.items()}
    if text.casefold() not in named:
        raise click.UsageError(
            f"“{text}” is no level; they are {', '.join(look.word for look in looks.values())}"
        )
    return named[text.casefold()]


@click.command("order")
@bed_argument("bed")
@click.argument("what", required=False)
@click.option("--still", is_flag=True, help="Somebody was asked, and it stands.")
@click.option("--until", metavar="TIME", help="It is due for a look then, like 14:00.")
@click.option("--over", metavar="NAME", help="It is over, and this is who says so.")
@as_json_option
@click.pass_obj
def order(
    station: Station,
    bed: str,
    what: str | None,
    still: bool,
    until: str | None,
    over: str | None,
    as_json: bool,
) -> None:
    """The orders and precautions of BED; or say of one of them (WHAT, as listed) what holds.

    WHAT can be readings, with --over: who lets the patient get up on the readings there are.
    """
    if what is None:
        _list_orders(station, bed, as_json)
        return
    if still + bool(until) + bool(over) != 1:
        raise click.UsageError("say one of --still, --until TIME, --over NAME")
    ward = station.signed_in("record")
    view = in_bed(ward, bed)
    if what == "readings":
        saved, did = _readings(ward, view, over), f"may get up on these readings, says {over}"
    else:
        saved, did = _order(ward, view, what, until, over)
    tell_saved(station, saved, as_json, did)


def _list_orders(station: Station, bed: str, as_json: bool) -> None:
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    view = in_bed(ward, bed)
    orders = view.record.orders
    told = [{**one.model_dump(mode="json", exclude_none=True), "says": one.says} for one in orders]
    lines = [f"{one.what:<22} {one.says}" for one in orders] or [f"{view.bed}: no order or precaution stands"]
    answer(as_json, {**row(view), "orders": told}, lines)


def _readings(ward: Ward, view: BedView, over: str | None) -> BedView:
    from mobicard.derive.vitals import bars_getting_up

    if over is None:
        raise click.UsageError("readings are cleared by name: --over NAME")
    if not bars_getting_up(view.record, ward.policy):
        raise Refused(f"{view.bed}: no reading keeps the patient in bed")
    return ward.readings_cleared(view, over)


def _order(ward: Ward, view: BedView, what: str, until: str | None, over: str | None) -> tuple[BedView, str]:
    standing = [one.what for one in view.record.orders]
    if what not in standing:
        raise Refused(f"{view.bed} has no order {what}; standing: {', '.join(standing) or 'none'}")
    said = what.replace("_", " ")
    if over:
        return ward.order_over(view, what, over), f"{said} is over, says {over}"
    if until:
        at = coming_moment(until, ward.now)
        return ward.order_until(view, what, at), f"{said} until {at:%d %b %H:%M}, then look"
    return ward.order_still(view, what), f"{said} still so"
