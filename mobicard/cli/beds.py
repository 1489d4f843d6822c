"""A bed as commands name it and tell of it: found, refused, in a line or as JSON; and times as typed."""

from __future__ import annotations

from datetime import datetime

import click

from mobicard.cli.station import Refused, Station, answer
from mobicard.facts.text import typed_time
from mobicard.ward import BedView, Ward


def in_bed(ward: Ward, bed: str) -> BedView:
    """The stay now in a bed. Raises Refused where the bed is free."""
    view = ward.find(bed)
    if view is None and not ward.lies_here(bed):
        raise Refused(f"{bed} is no bed of {ward.unit}, and only its beds are meant here (--unit)")
    if view is None:
        raise Refused(f"{bed} is not occupied; `mobicard stay list` names the beds")
    return view


def row(view: BedView) -> dict[str, object]:
    """A bed as JSON tells it; ``version`` is what a save over it names."""
    return {
        "bed": view.bed,
        "stay": view.stay,
        "version": view.version,
        "level": view.plan.shown_level.value,
        "helpers": None if view.plan.expired else view.plan.helpers,
        "last_known": view.plan.last_known.as_json() if view.plan.last_known else None,
        "due": view.due.value,
        "due_says": view.due_says,
        "door": view.door.value,
        "code": view.plan.code,
        "door_code": view.door_code,
        "assignment": view.assignment,
        "recorded_by": view.recorded_by,
        "recorded_at": view.recorded_at.isoformat(timespec="minutes") if view.recorded_at else None,
        "limit": view.limit_says,
        "pending": view.pending,
    }


def tell_saved(station: Station, view: BedView, as_json: bool, did: str) -> None:
    """What a save came to: level and sub-line, and what it means for door and ledger."""
    from mobicard.paper.sub_line import sub_line
    from mobicard.ward import Door

    scheme = station.settings.scheme
    word = scheme.looks[view.plan.shown_level].word
    says = f"{view.bed}: {did}; {word} now, {sub_line(view.plan, scheme)}.{view.late_says}"
    if view.door is Door.OUT_OF_DATE:
        says += " The card on its door is old now."
    answer(as_json, row(view), [says])
    if view.pending:
        click.echo("held on this station, not yet in the ledger; sent when that is back", err=True)


def past_moment(text: str | None, now: datetime) -> datetime:
    """Ward time of something that happened, as ``typed_time`` reads it; None is now.

    Raises UsageError for what is no time, Refused for one still to come.
    """
    at = _typed(text, now) if text else now.replace(second=0)
    if at > now:
        raise Refused(f"{at:%d %b %H:%M} has not come yet; it is {now:%d %b %H:%M}")
    return at


def coming_moment(text: str, now: datetime) -> datetime:
    """Ward time of something to come: ``14:00`` is the next time the clock shows that. Raises UsageError."""
    return _typed(text, now, coming=True)


def _typed(text: str, now: datetime, *, coming: bool = False) -> datetime:
    try:
        return typed_time(text, now, coming=coming)
    except ValueError as refused:
        raise click.UsageError(str(refused)) from None
