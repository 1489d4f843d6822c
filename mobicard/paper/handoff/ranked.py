"""The first lines of a handoff: the unit ranked, gravest first, then what must be known of the gravest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.handing_over.gravity import Gravity, lift_of, sickest_first
from mobicard.derive.handing_over.people import people_of
from mobicard.derive.join import groups
from mobicard.derive.model import Plan
from mobicard.derive.over_time.handoff_values import BedLine
from mobicard.facts import FallEvent
from mobicard.facts.words import Level, YesNoUnknown
from mobicard.paper import in_words
from mobicard.paper.clinical_words import dated_ahead, history, short_when
from mobicard.paper.handoff.people import people_say
from mobicard.paper.handoff.say import Say
from mobicard.scheme.scheme import Scheme

SAYS = {
    Gravity.FALLEN: "FALLEN",
    Gravity.UNSEEN: "NOT LOOKED AT",
    Gravity.EXPIRED: "OUT OF DATE",
    Gravity.STAYS: "STAYS IN BED",
    Gravity.LIFT: "{lift}",
    Gravity.MANY: "BY HAND",
    Gravity.REST: "ONE PERSON",
}

NOBODY, CLOSE_BY = "NOBODY NEEDED", "ONE CLOSE BY, HANDS OFF"

AHEAD = "DATED AHEAD"
GRAVE = (SAYS[Gravity.FALLEN], SAYS[Gravity.UNSEEN], SAYS[Gravity.EXPIRED], AHEAD)
"""What is printed white on black."""


@dataclass(frozen=True, slots=True)
class RankLine:
    """One group: its word, the people it takes (empty: nothing to say), its beds; grave ones are marked."""

    head: str
    takes: str
    beds: tuple[str, ...]
    mark: str = ""


def ranked(lines: Sequence[BedLine], now: datetime) -> list[RankLine]:
    """Every bed once, in the gravest group it belongs to; lifts and hands parted by what they take."""
    groups: dict[tuple[str, str], list[str]] = {}
    for line in sorted(lines, key=lambda one: sickest_first(one.plan)):
        groups.setdefault((_head(line, now), _takes(line)), []).append(line.bed)
    return [
        RankLine(head, takes, tuple(beds), "late" if head in GRAVE else "")
        for (head, takes), beds in groups.items()
    ]


def _head(line: BedLine, now: datetime) -> str:
    if line.gravity is Gravity.EXPIRED and dated_ahead(line.plan, now):
        return AHEAD
    if line.gravity is Gravity.REST and people_of(line.plan).most == 0:
        return NOBODY
    if line.gravity is Gravity.REST and _hands_off(line.plan):
        return CLOSE_BY
    lift = lift_of(line.plan)
    return SAYS[line.gravity].format(lift=in_words.EQUIPMENT_SAYS[lift].upper() if lift else "")


def _hands_off(plan: Plan) -> bool:
    """Whether the one person only stands by, in bed and out of it."""
    moves = (*groups.out_of_bed(plan.tasks), *groups.in_bed(plan.tasks))
    return groups.most(moves).level is Level.NEARBY


def _takes(line: BedLine) -> str:
    """The people as every row says them: one number alone was taken for those out of bed."""
    told = line.gravity >= Gravity.STAYS and people_of(line.plan).most > 0
    return people_say(people_of(line.plan)) if told else ""


@dataclass(frozen=True, slots=True)
class SeeFirst:
    """One bed that is looked at first, and all that is known of why."""

    bed: str
    says: tuple[Say, ...]


def see_first(lines: Sequence[BedLine], scheme: Scheme, now: datetime) -> Iterator[SeeFirst]:
    """After a fall, with head observations, not looked at, out of date; the gravest first."""
    for line in sorted(lines, key=lambda one: sickest_first(one.plan)):
        told = tuple(_told(line, scheme, now))
        if told:
            yield SeeFirst(line.bed, told)


def _told(line: BedLine, scheme: Scheme, now: datetime) -> Iterator[Say]:
    plan, fall = line.plan, line.record.fall_event
    if plan.after_fall is not None:
        yield Say(fell(fall) if fall else "", plan.after_fall.says.upper(), mark="late")
    if plan.head_observations is not None:
        head = plan.head_observations
        lead = f"Head observations: {head.gap}" if head.late else f"Head observation {head.hour}"
        yield Say(head.rest, lead, mark="late" if head.late else "open")
    if plan.after_fall is None and line.gravity is Gravity.UNSEEN:
        yield Say(
            "nobody has looked at this patient: no move until somebody has", "NOT LOOKED AT", mark="late"
        )
    if plan.after_fall is None and line.gravity is Gravity.EXPIRED:
        if dated_ahead(plan, now):
            yield Say("check its time, look again before moving", AHEAD, mark="late")
        else:
            yield Say(_ended(line, scheme), "OUT OF DATE", mark="late")


def _ended(line: BedLine, scheme: Scheme) -> str:
    until, known = line.plan.valid_until, history(line.plan, scheme)
    ended = f"ended {short_when(until)}; " if until else ""
    return f"{ended}look again before moving{f' ({known})' if known else ''}"


_WITNESSED = {True: "fall witnessed", False: "fall UNWITNESSED", None: "whether witnessed: not known"}
_NECK = {
    YesNoUnknown.YES: "SAYS THE NECK HURTS",
    YesNoUnknown.NO: "says no neck pain",
    YesNoUnknown.UNKNOWN: "neck pain: not known",
    None: "neck pain: not asked",
}
_SAID = {YesNoUnknown.YES: "YES", YesNoUnknown.NO: "no", YesNoUnknown.UNKNOWN: "not known", None: "not known"}


def fell(fall: FallEvent) -> str:
    """When, whether seen, the head, the blood thinner, the neck, and who examined."""
    parts = [
        f"fell {short_when(fall.at)}",
        _WITNESSED[fall.witnessed],
        f"head struck: {_SAID[fall.head_strike]}",
        f"blood thinner: {_SAID[fall.anticoagulated]}",
        _NECK[fall.neck_pain],
    ]
    if fall.injury is not None:
        parts.append(f"injury: {fall.injury.value}")
    if fall.cleared_by and fall.cleared_at:
        found = fall.spine.value if fall.spine else "not noted"
        parts.append(f"examined by {fall.cleared_by} {in_words.clock(fall.cleared_at)}")
        parts.append(f"neck and back: {found}")
    else:
        parts.append("neck and patient NOT EXAMINED yet")
    return ", ".join(parts)
