"""Beds the page tests share: one for every level, the longest record anyone could type, the emptiest."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from mobicard.derive import plan_for
from mobicard.derive.model import Conflict, FallRisk, LimbLimit, OverrideShown, Plan, TaskPlan
from mobicard.facts import Record, read_record
from mobicard.facts.words import Equipment, Level, Limb, Task, WeightBearing
from mobicard.paper.door.face import BedCard
from mobicard.rules.policy import Policy
from tests.records import assessed

NOW = datetime(2026, 3, 2, 8, 0)
POLICY = Policy()
HOSTILE = "<script>alert(1)</script> &amp; \u202eright to left\u202c </li></ul><h1>x 😀 "


def bed_card(record: Record, now: datetime = NOW, policy: Policy = POLICY) -> BedCard:
    """The record with the plan that follows from it."""
    return BedCard(plan_for(record, policy, now), record)


def seen(bed: str, **facts: Any) -> BedCard:
    """An assessed patient who does everything alone; ``facts`` on top."""
    return bed_card(assessed(bed, assessed_at="2026-03-02T07:10", assessed_by="JN", **facts))


def at_level(level: Level, **plan: Any) -> BedCard:
    """A card whose plan is of this level, its equipment that of the level."""
    base = seen(f"4W-1{level.rank}A")
    helpers = {Level.SELF: 0, Level.NEARBY: 1, Level.LINK: 1, Level.REMAIN: None}.get(level, 2)
    equipment = {
        Level.LINK: (Equipment.GAIT_BELT,),
        Level.TEAM: (Equipment.GAIT_BELT, Equipment.FRONT_WHEELED_WALKER),
        Level.POWER: (Equipment.POWERED_STANDING_AID,),
        Level.HOIST: (Equipment.FULL_BODY_LIFT, Equipment.REPOSITIONING_SLING),
    }.get(level, ())
    chair = TaskPlan(Task.CHAIR, level, helpers, "as the level says", equipment)
    values = {
        "level": level,
        "derived_level": level,
        "helpers": helpers,
        "tasks": {**base.plan.tasks, Task.CHAIR: replace(chair, cautions=plan.pop("cautions", ()))},
        "code": f"7Q4MK{level.rank + 2}",
        **plan,
    }
    return BedCard(replace(base.plan, **values), base.record)


def seven_levels() -> list[BedCard]:
    """One bed at each level."""
    return [
        at_level(level, cautions=("Legs may give way: a seat within reach at all times",)) for level in Level
    ]


def emptiest() -> BedCard:
    """A bed of which nothing at all is known."""
    return bed_card(read_record({"bed": "1"}))


def expired() -> BedCard:
    """A bed last looked at yesterday morning."""
    return bed_card(assessed("4W-20", assessed_at="2026-03-01T07:02", assessed_by="JN", standing="supported"))


PLAIN = HOSTILE.replace("😀", ":)")
"""The same with letters the carried fonts have."""


def longest(override: bool = True, hostile: str = HOSTILE) -> BedCard:
    """Everything at once, each text as long as it may be, in words that do not break."""
    shown = OverrideShown(Level.TEAM, (hostile + "R" * 200)[:200], "Q" * 60, NOW, True, NOW)
    limits = tuple(LimbLimit(limb, WeightBearing.NWB, 0.0, 0.0, "no weight") for limb in Limb)
    conflicts = tuple(
        Conflict(f"{index} " + "W" * 157, ("inventory" if index else "aids",)) for index in range(4)
    )
    cautions = (*(f"Caution {index} " + "x" * 150 for index in range(12)), hostile)
    card = at_level(
        Level.TEAM,
        helpers=4,
        derived_level=Level.HOIST,
        override=shown if override else None,
        weight_bearing=limits,
        conflicts=conflicts,
        cautions=cautions,
        fall_risk=FallRisk("morse", 125, 125, "high", (), "Morse 1989"),
    )
    chair = replace(card.plan.tasks[Task.CHAIR], equipment=tuple(Equipment)[:8])
    plan: Plan = replace(card.plan, bed="WWWWWW-WWWWWWWWW", tasks={**card.plan.tasks, Task.CHAIR: chair})
    return BedCard(plan, card.record.changed(bed="WWWWWW-WWWWWWWWW", label="WWWWWWWWWWWW"))
