"""The whole protocol in one place: every rule, in the order of a day."""

from __future__ import annotations

from mobicard.facts.words import Level, Task
from mobicard.rules import people_needed
from mobicard.rules.by_move import bed, chair, floor, in_chair, stretcher, walk
from mobicard.rules.by_patient import (
    behavior,
    falls,
    help_seen,
    lines,
    operation,
    out_of_date,
    own_judgement,
    precautions,
    skin,
    unknown,
    vitals,
    weak_side,
    weight,
    whom,
)
from mobicard.rules.rule import Rule
from mobicard.rules.words import no_rated_standing_aid

RULES: tuple[Rule, ...] = (
    *help_seen.RULES,
    *bed.RULES,
    *chair.RULES,
    *in_chair.RULES,
    *walk.RULES,
    *stretcher.RULES,
    *floor.RULES,
    *precautions.RULES,
    *lines.RULES,
    *weak_side.RULES,
    *skin.RULES,
    *weight.RULES,
    *whom.RULES,
    *behavior.RULES,
    *vitals.RULES,
    *falls.RULES,
    *operation.RULES,
    *out_of_date.RULES,
    *own_judgement.RULES,
    *unknown.RULES,
)

HARM = (
    ("fall.", "floor.flat", "spine.", "operation.", "lines.airway", "lines.ventricular", "lines.lumbar"),
    ("lines.block", "leg_test.", "lines.watcher", "lines.clear", "groin.", "weight.", "vitals."),
    ("behavior.", "caution.sudden", "sternal.", "hip.", "leg.", "head_", "weak_side.", "neglect.", "lines."),
    ("falls.", "caution.edge", "caution.knees", "stretcher.", "in_chair.", "pregnancy.", "skin."),
)
"""Whose cautions are read first: what can kill or maim, then what bleeds, breaks or pulls out. Ours."""


def harm(rule: Rule) -> int:
    """The place of a rule's cautions, 0 for the worst harm."""
    return next((place for place, heads in enumerate(HARM) if rule.id.startswith(heads)), len(HARM))


WRITTEN_DOWN: tuple[Rule, ...] = (*RULES, *people_needed.RULES)
"""Every rule that may stand as a reason, those of the join included."""

RULES_FOR: dict[Task, tuple[Rule, ...]] = {task: tuple(r for r in RULES if task in r.tasks) for task in Task}

HELD = frozenset(rule.id for rule in RULES if rule.demand.level is Level.REMAIN)
"""The rules that say that nobody makes the move now."""

STANDING_AID_RULED_OUT = frozenset(
    rule.id for rule in RULES if any(group & no_rated_standing_aid.bit for group in rule.when.groups)
)
"""The rules that ask for a lift because a standing aid will not do."""
