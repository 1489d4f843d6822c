"""What must hold of every plan, whatever the record: found by search, not by example.

Monotone covers the deciding facts and their absence, the observed help, heavier among given weights, tighter
limb orders, one precaution, line or used helper more, worse answers after a fall, vital signs and fall risk.
It does not cover taking the weight away (people are then counted as for 200 lb and no share is claimed, so a
heavier patient may be asked less for), a child's weight that becomes an adult's (the tables then hold), a
first record of a fall (which then says how to get up from a floor that was not assessed before), or the one
move that an override lowers. Those are design, and tested as such in test_plan_parts.py.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from patients import NOW, patients, worse

from mobicard.derive import Plan, Policy, TaskPlan, plan_for
from mobicard.derive.equipment import Inventory
from mobicard.derive.join.groups import OUT_OF_BED, out_of_bed
from mobicard.derive.weight_bearing import excluded_aids
from mobicard.facts import read_record
from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.rules.protocol import WRITTEN_DOWN

POLICY = Policy()
UP = (Task.SIT_UP, Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK)
few = settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def plan(facts: dict[str, Any]) -> Plan:
    return plan_for(read_record(facts), POLICY, NOW)


def people(move: TaskPlan) -> int:
    """Helpers, with "do not move" above any number."""
    return 99 if move.helpers is None else move.helpers


@few
@given(patients())
def test_total(facts: dict[str, Any]) -> None:
    """Every record gives every move a level, a method, and helpers unless it says do not move."""
    found = plan(facts)
    assert list(found.tasks) == list(Task)
    for move in found.tasks.values():
        assert move.method
        assert (move.helpers is None) == (move.level is Level.REMAIN)


@few
@given(patients(), st.data())
def test_monotone(facts: dict[str, Any], data: st.DataObject) -> None:
    """One fact worse, or taken away: no move gets a lower level, fewer helpers or fewer cautions."""
    before = plan(facts)
    steps = worse(facts)
    for what, changed in data.draw(st.lists(st.sampled_from(steps), min_size=8, max_size=8)):
        after = plan(changed)
        for task in Task:
            if task is Task.CHAIR and lowers(before, after):
                continue
            was, now = before.tasks[task], after.tasks[task]
            assert now.level_rank >= was.level_rank, (what, task)
            assert people(now) >= people(was), (what, task)
            assert set(was.cautions) <= set(now.cautions), (what, task)


def lowers(*plans: Plan) -> bool:
    return any(plan.override is not None and plan.override.lowers for plan in plans)


RULE = {rule.id: rule for rule in WRITTEN_DOWN}


@few
@given(patients(overrides=False))
def test_explained(facts: dict[str, Any]) -> None:
    """A reason asks for the level, one accounts for the people, one for each item and each caution."""
    for move in plan(facts).tasks.values():
        demands = [RULE[reason.rule].demand for reason in move.reasons]
        assert max(demand.level.rank for demand in demands if demand.level) == move.level_rank
        assert {item for demand in demands for item in demand.equipment} >= set(move.equipment)
        assert {text for demand in demands for text in demand.cautions} == set(move.cautions)
        if move.helpers:
            counted = [demand for demand in demands if demand.helpers or demand.watchers]
            assert counted or any(reason.rule.startswith("join.lift") for reason in move.reasons)
        assert all(len(reason.source) > 5 and reason.says for reason in move.reasons)


@few
@given(patients())
def test_load_bound(facts: dict[str, Any]) -> None:
    """No helper bears more than the limit, which is never above the policy's 35 lb."""
    for move in plan(facts).tasks.values():
        assert (move.share_lb is None) == (move.share_kg is None) == (move.limit_lb is None)
        if move.share_lb is not None and move.limit_lb is not None:
            assert move.share_lb <= move.limit_lb <= POLICY.loads.helper_limit_lb
            assert move.level_rank <= Level.TEAM.rank


@few
@given(patients())
def test_limits_kept(facts: dict[str, Any]) -> None:
    """No method breaks an order or a precaution."""
    record = read_record(facts)
    found = plan_for(record, POLICY, NOW)
    used = {item for move in found.tasks.values() for item in move.equipment}
    assert {item.what.value for item in excluded_aids(record)} & {item.value for item in used} == set()
    held = set(record.precautions)
    if held & {Precaution.BED_REST, Precaution.HEAD_FLAT, Precaution.FEMORAL_SHEATH, Precaution.SPINAL}:
        assert all(found.tasks[task].level is Level.REMAIN for task in UP)
    if Precaution.NO_GAIT_BELT in held:
        assert Equipment.GAIT_BELT not in used
    if Precaution.STERNAL in held:
        assert not any("transfer board" in move.method for move in found.tasks.values())
    if held & {Precaution.SPINAL, Precaution.SPINAL_CERVICAL}:
        assert people(found.tasks[Task.TURN]) >= 4
    lifts = [move for move in found.tasks.values() if move.level in (Level.POWER, Level.HOIST)]
    assert all(people(move) >= POLICY.handling.lift_helpers for move in lifts)


@few
@given(patients())
def test_rated(facts: dict[str, Any]) -> None:
    """Equipment the unit lacks, or whose rating is below the weight, is a conflict that names it."""
    bare = Inventory.from_toml("")
    record = read_record(facts)
    found = plan_for(record, POLICY, NOW, bare)
    used = {item for move in found.tasks.values() for item in move.equipment}
    assert len([c for c in found.conflicts if c.fields == ("inventory",)]) == len(used)


@few
@given(patients())
def test_deterministic(facts: dict[str, Any]) -> None:
    """The same record gives the same plan and code, in whatever order its facts are written."""
    turned = dict(reversed(facts.items()))
    first, second = plan(facts), plan(turned)
    assert first.as_json() == second.as_json()
    assert len(first.code) == 6


@few
@given(patients())
def test_override(facts: dict[str, Any]) -> None:
    """An override never lowers a do-not-move, nor any move but those out of bed, nor below one helper."""
    without = plan({name: value for name, value in facts.items() if name != "override"})
    found = plan(facts)
    assert found.derived_level is without.level
    for task in Task:
        was, now = without.tasks[task], found.tasks[task]
        if was.level is Level.REMAIN:
            assert now.level is Level.REMAIN
        elif task not in OUT_OF_BED:
            assert now.level_rank >= was.level_rank
            assert people(now) >= people(was)
        elif found.override is not None and found.override.lowers:
            assert people(now) >= (1 if was.helpers else 0)
    group = out_of_bed(found.tasks)
    assert found.level is max((move.level for move in group), key=lambda level: level.rank)
    assert found.level is found.headline.level
    assert found.helpers == (
        None if found.level is Level.REMAIN else max(move.helpers or 0 for move in group)
    )
