"""What one unit wants against what it has, and what each of its lifts does now, by its day plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.as_json import AsJson
from mobicard.derive.equipment import words
from mobicard.derive.model import Plan
from mobicard.facts.units import both_masses
from mobicard.facts.words import Equipment
from mobicard.hands.chart import half_hours
from mobicard.hands.schedule import DayPlan
from mobicard.hands.shortfalls import HALF_HOUR
from mobicard.hands.supply import Supply, Unit

LIFTS = (
    Equipment.FULL_BODY_LIFT,
    Equipment.POWERED_STANDING_AID,
    Equipment.FLAT_LIFT,
    Equipment.AIR_ASSISTED_LATERAL_DEVICE,
)
"""What is shared and sought: machines, of which a unit has few."""

FREE, IN_USE, OUT, UNKNOWN = "free", "in use", "out of use", "not known"


@dataclass(frozen=True, slots=True)
class Gear(AsJson):
    """Of one class of lift: how many beds need it for the move out of bed, and how many the unit can use."""

    kind: Equipment
    beds: int
    here: int

    @property
    def says(self) -> str:
        """Both figures, and that there is none at all."""
        need = "bed needs one" if self.beds == 1 else "beds need one"
        return f"{words(self.kind)}: {self.beds} {need}, {self.here or 'none'} here"


@dataclass(frozen=True, slots=True)
class UnitShift(AsJson):
    """One unit in this shift. ``state``: short, enough, or not known, as where somebody is not assessed.

    ``people``/``there``: at work and on duty at the tightest moment of the half-hour that ``now`` lies in.
    ``own_plan``: whether the unit made its day plan; else the plain order of its wishes was taken.
    """

    unit: str
    beds: int
    not_assessed: int
    state: str
    people: int | None
    there: int | None
    short: tuple[str, ...]
    gear: tuple[Gear, ...]
    own_plan: bool
    why: str

    @property
    def says(self) -> str:
        """The first thing to know of the unit."""
        told = "enough for who is assessed" if self.not_assessed else "enough for every move"
        return self.short[0] if self.short else self.why or told

    @property
    def also(self) -> list[str]:
        """What there is to know besides: who is not assessed, other half-hours, lifts that beds need."""
        unseen = f"{self.not_assessed} of {self.beds} not assessed: what they need is not counted"
        gear = (one.says for one in self.gear if one.beds)
        return [*([unseen] if self.not_assessed else []), *self.short[1:], *gear]


@dataclass(frozen=True, slots=True)
class Lift(AsJson):
    """One lift: whose, what it may carry, where it stands, and until when it is what ``state`` says."""

    unit: str
    name: str
    kind: Equipment
    swl_kg: float | None
    place: str
    state: str
    until: datetime | None = None
    bed: str = ""

    @property
    def carries(self) -> str:
        """Its safe working load in words."""
        return f"to {both_masses(self.swl_kg)}" if self.swl_kg is not None else "load not stated"

    @property
    def says(self) -> str:
        """What it does now."""
        where = f" at {self.bed}" if self.bed else ""
        return f"{self.state}{where}" + (f" until {self.until:%H:%M}" if self.until else "")


def unit_shift(
    unit: str, plans: Sequence[Plan], supply: Supply | None, plan: DayPlan | None, now: datetime, own: bool
) -> UnitShift:
    """A unit with its beds' plans; ``supply`` None: what it has is not known, ``plan`` None: nor its day."""
    unseen = sum(one.expired for one in plans)
    short = tuple(item.says for item in plan.short if item.at + HALF_HOUR > now) if plan else ()
    half = (
        next((one for one in half_hours(plan) if one.at <= now < one.at + HALF_HOUR), None) if plan else None
    )
    people_known = supply is not None and plan is not None and any(plan.staff_at)
    sure = people_known and not unseen
    return UnitShift(
        unit,
        len(plans),
        unseen,
        "short" if short else "enough" if sure else UNKNOWN,
        half.busy + half.short if half and people_known else None,
        half.there if half and people_known else None,
        short,
        tuple(_gear(plans, supply.units)) if supply else (),
        own,
        "" if people_known else _why_not(supply),
    )


def _why_not(supply: Supply | None) -> str:
    return "what it has is not known" if supply is None else "nobody on duty is known"


def _gear(plans: Iterable[Plan], units: Sequence[Unit]) -> Iterable[Gear]:
    """The lifts that beds need or the unit has; a bed whose assessment ended counts for none."""
    known = [plan for plan in plans if not plan.expired]
    need = Counter(kind for plan in known for kind in set(plan.headline.equipment) if kind in LIFTS)
    have = Counter(one.kind for one in units)
    return [Gear(kind, need[kind], have[kind]) for kind in LIFTS if need[kind] or have[kind]]


def lifts_of(
    unit: str, every: Sequence[Unit], usable: Sequence[Unit] | None, plan: DayPlan | None, now: datetime
) -> list[Lift]:
    """The lifts of a unit. ``usable``: without those out of use; ``plan``: the one the unit works by.

    Without a plan that the unit itself made, or a list of what is out of use, nobody knows what is free.
    """
    there = [one for one in every if one.kind in LIFTS]
    if plan is None or usable is None:
        return [_lift(unit, one, UNKNOWN) for one in there]
    return [_by_plan(unit, one, usable, plan, now) for one in there]


def _by_plan(unit: str, one: Unit, usable: Sequence[Unit], plan: DayPlan, now: datetime) -> Lift:
    if one not in usable:
        return _lift(unit, one, OUT)
    uses = [item for item in plan.by_time() if one.name in item.units and item.end > now]
    busy = next((item for item in uses if item.start <= now), None)
    if busy is not None:
        return _lift(unit, one, IN_USE, busy.end, busy.move.bed)
    return _lift(unit, one, FREE, uses[0].start if uses else plan.holds_until)


def _lift(unit: str, one: Unit, state: str, until: datetime | None = None, bed: str = "") -> Lift:
    return Lift(unit, one.name, one.kind, one.swl_kg, one.place or "", state, until, bed)
