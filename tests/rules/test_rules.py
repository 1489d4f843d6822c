"""The protocol holds together: cited, used, reached, and unable to ask for less of a worse patient."""

from __future__ import annotations

import sys
from itertools import pairwise
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "derive"))
from cases import cases

from mobicard.derive.join.what_is_true import words_of
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Task
from mobicard.rules import words as w
from mobicard.rules.protocol import RULES, WRITTEN_DOWN
from mobicard.rules.rule import Rule, source_texts

EACH = pytest.mark.parametrize("rule", WRITTEN_DOWN, ids=lambda rule: rule.id)


def test_ids_are_unique() -> None:
    assert len({rule.id for rule in WRITTEN_DOWN}) == len(WRITTEN_DOWN)


@EACH
def test_cited(rule: Rule) -> None:
    """Every rule names at least one source, and every source it names is written down."""
    assert rule.sources
    assert set(rule.sources) <= set(source_texts())


def test_no_source_is_unused() -> None:
    used = {key for rule in WRITTEN_DOWN for key in rule.sources}
    assert set(source_texts()) - used == set()


def test_every_rule_is_fired_by_a_case() -> None:
    """A rule no case reaches is a rule nobody has checked."""
    fired = {
        reason.rule
        for case in cases()
        for plan in [case.plan()]
        for task in Task
        for reason in plan.tasks[task].reasons
    }
    assert {rule.id for rule in WRITTEN_DOWN} - fired == set()


@EACH
def test_one_short_sentence(rule: Rule) -> None:
    assert len(rule.says) <= 110
    assert rule.says.endswith(".")
    assert all(len(text) <= 60 for text in rule.demand.cautions)


@EACH
def test_asks_for_something(rule: Rule) -> None:
    """Outside the join every rule makes a demand."""
    demand = rule.demand
    joins = rule.id.startswith("join.")
    assert joins or demand.level or demand.helpers or demand.watchers or demand.equipment or demand.cautions


NOT_DECIDING = {
    "weight_kg", "weight_bearing", "precautions", "lines", "vitals", "fall_risk", "fall_event", "aids",
    "helpers_used", "operation", "policy", "override", "assessed_at", "proficient_with", "height_cm",
    "weak_side", "neglect", "legs", "sore_sites", "skin_risk", "pregnancy_weeks",
}  # fmt: skip
"""Facts whose absence sets no demand of its own."""


@EACH
def test_demands_stand_on_the_move_s_own_deciding_facts(rule: Rule) -> None:
    """A demand may hang on a fact only where the move waits for that fact: else taking it away would ease."""
    if rule.demand.only_cautions:
        return
    also_unknown = {fact for fact, word in w.UNKNOWN.items() if word.bit in rule.when.groups}
    for task in rule.tasks:
        facts = rule.when.facts - NOT_DECIDING - also_unknown
        assert facts <= set(MOVES[task].decided_by), (rule.id, task)


def test_worse_answers_say_more_words() -> None:
    """Every word is said from some answer on, so a worse answer never takes a word back."""
    for fact, steps in w.LADDERS.items():
        answers = [answer for answer in type(steps[0][0]) if answer not in w.NOT_DONE]
        ordered = [words_of(fact, answer) for answer in sorted(answers, key=lambda answer: answer.rank)]
        for less, more in pairwise(ordered):
            assert more & less == less
        assert ordered[0] == 0


def test_conditions_have_no_not() -> None:
    """More words never unfire a rule: checked on every rule with its own words and one more of any kind."""
    for rule in RULES:
        for group in rule.when.groups:
            assert all(rule.when.holds(group | bit) for bit in w.FACT_OF)


def test_and_or_are_what_they_say() -> None:
    """Both ways of combining, against the truth table of two words."""
    one, two = w.fearful, w.needs_cues
    for said in (0, one.bit, two.bit, one.bit | two.bit):
        assert (one & two).holds(said) is (one.holds(said) and two.holds(said))
        assert (one | two).holds(said) is (one.holds(said) or two.holds(said))
        assert ((one & two) | one).holds(said) is one.holds(said)


def test_every_word_is_spoken_by_a_rule() -> None:
    """A word no rule uses is a fact nobody listens to."""
    spoken = 0
    for rule in WRITTEN_DOWN:
        for group in rule.when.groups:
            spoken |= group
    assert {w.SAYS[bit] for bit in w.FACT_OF if not spoken & bit} == set()
