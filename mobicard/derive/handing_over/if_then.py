"""What to do if it goes wrong at this bed (dizzy, legs give, resists): what its record gives cause for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from mobicard.derive.brief.ways import Way, way_of
from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.facts.words import Balance, Behavior, Directions, Help

ON_FEET = (Way.STAND, Way.PIVOT, Way.WALK, Way.ALONE)
LIFTED = (Way.LIFT, Way.FLAT_LIFT)


@dataclass(frozen=True, slots=True)
class IfThen:
    """If this happens, do that. ``source`` as for a brief's lines."""

    happens: str
    then: str
    source: str


ANY_BED = (
    IfThen("Dizzy", "sit or lay back", "common"),
    IfThen("Legs give", "ease down, guard the head", "vha"),
    IfThen("Refuses", "stop, ask why, note it", "common"),
    IfThen("Resists", "let go, step back, call", "common"),
)
"""What is done at every bed; a bed's own line says what its record gives cause to expect."""


def if_then(plan: Plan, record: Record) -> Iterator[IfThen]:
    """What to expect of this patient and what is done then, the gravest first."""
    if plan.after_fall is not None and plan.after_fall.state == "do_not_move":
        yield IfThen("Worse, drowsy, vomits", "call at once; log roll, one at head; airway first", "common")
        return
    if plan.expired:
        return
    way = way_of(plan.headline, record)
    if record.behavior in (Behavior.UNPREDICTABLE, Behavior.COMBATIVE):
        yield IfThen("Grabs or hits", "let go, step back, call", "common")
    yield from _pressure(plan, way)
    yield from _way(way, record)
    yield from _conduct(record)


def _way(way: Way, record: Record) -> Iterator[IfThen]:
    if way in LIFTED:
        yield IfThen("Slips, loop off, restless", "lower at once, call", "fda")
    elif way is Way.STANDING_AID:
        yield IfThen("Legs do not push", "lower, take the sling lift", "fda")
    elif way is Way.NOT_NOW:
        yield IfThen("Wants up", "stays in bed: say why, call", "common")
    elif way in ON_FEET and record.standing in (None, Balance.SUPPORTED, Balance.UNABLE):
        yield IfThen("Legs give", "ease down to the nearer seat", "vha")


def _pressure(plan: Plan, way: Way) -> Iterator[IfThen]:
    falls = plan.orthostatic.positive if plan.orthostatic is not None else False
    if way in LIFTED or way is Way.NOT_NOW or falls is False:
        return
    known = "Dizzy, pressure drops" if falls else "Dizzy, not measured standing"
    yield IfThen(known, "sit, then lie flat, measure", "common")


def _conduct(record: Record) -> Iterator[IfThen]:
    if record.directions is Directions.UNABLE:
        yield IfThen("Resists", "stop, try later", "common")
    if record.behavior is Behavior.FEARFUL:
        yield IfThen("Refuses for fear", "say the step again, no hurry", "common")
    elif Help.REFUSED in record.help.values():
        yield IfThen("Refuses again", "ask why, offer a time, note it", "common")
