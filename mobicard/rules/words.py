"""The words rules speak in: each is true of a worse patient, never of a better one, and none can be negated."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Precaution,
    Stepping,
    Word,
)


@dataclass(frozen=True, slots=True)
class When:
    """A condition: true when every word of at least one of its groups is said.

    Words combine by ``&`` and ``|`` only. There is no "not": so a worse fact, which can only say more words,
    can only fire more rules, and a plan can only ask for more.
    """

    groups: tuple[int, ...]

    def __and__(self, other: When) -> When:
        return When(_least(a | b for a in self.groups for b in other.groups))

    def __or__(self, other: When) -> When:
        return When(_least((*self.groups, *other.groups)))

    def holds(self, said: int) -> bool:
        """Whether the words said (a set of bits) are enough."""
        return any(said & group == group for group in self.groups)

    def fired_by(self, said: int) -> int:
        """The words, as bits, of every group that is wholly said."""
        bits = 0
        for group in self.groups:
            if said & group == group:
                bits |= group
        return bits


def _least(groups: Iterable[int]) -> tuple[int, ...]:
    """The groups without those that another group already covers."""
    unique = sorted(set(groups), key=lambda group: (group.bit_count(), group))
    kept: list[int] = []
    for group in unique:
        if not any(group & small == small for small in kept):
            kept.append(group)
    return tuple(kept)


FACT_OF: dict[int, str] = {}
"""The fact behind each word's bit."""

SAYS: dict[int, str] = {}
"""What each word's bit says, for people."""


def _word(fact: str, says: str) -> When:
    bit = 1 << len(FACT_OF)
    FACT_OF[bit] = fact
    SAYS[bit] = says
    return When((bit,))


ALWAYS = When((0,))

LADDERS: dict[str, list[tuple[int, When]]] = {}
"""For each fact with an order: from which rank on each word is said."""


def _from(fact: str, answer: Word, says: str) -> When:
    """A word said from this answer on, and of every worse one."""
    word = _word(fact, says)
    LADDERS.setdefault(fact, []).append((answer.rank, word))
    return word


# What was seen of the patient
newly_confused = _from("alertness", Alertness.NEW_CONFUSION, "newly confused or less awake")
drowsy = _from("alertness", Alertness.VOICE, "wakes only to voice, or less")
hardly_rousable = _from("alertness", Alertness.PAIN, "wakes only to pain, or not at all")
needs_cues = _from("directions", Directions.WITH_CUES, "needs cues, or follows no directions")
follows_nothing = _from("directions", Directions.UNABLE, "follows no directions")
fearful = _from("behavior", Behavior.FEARFUL, "fearful, or harder to move safely")
unpredictable = _from("behavior", Behavior.UNPREDICTABLE, "may move suddenly")
combative = _from("behavior", Behavior.COMBATIVE, "combative")
sits_with_support = _from("sitting", Balance.SUPPORTED, "sits only with support, or not")
cannot_sit = _from("sitting", Balance.UNABLE, "cannot sit at the edge of the bed")
stands_with_support = _from("standing", Balance.SUPPORTED, "stands only with support, or not")
cannot_stand = _from("standing", Balance.UNABLE, "cannot stand")
only_pivots = _from("stepping", Stepping.PIVOTS, "pivots at most")
cannot_step = _from("stepping", Stepping.UNABLE, "cannot step or pivot")
one_arm = _from("arms", Arms.ONE, "one arm to push or pull with, or none")
no_arm = _from("arms", Arms.NEITHER, "no arm to push or pull with")

# The help seen for the task itself
help_near = _from("help", Help.STANDBY, "needed someone close by, or more")
help_touch = _from("help", Help.CONTACT_GUARD, "needed a hand on, or more")
help_lift = _from("help", Help.MINIMAL, "needed lifting or holding")
help_half = _from("help", Help.MODERATE, "needed a helper for more than a quarter of the work")
help_most = _from("help", Help.MAXIMAL, "needed helpers for more than half of the work")
help_all = _from("help", Help.TOTAL, "needed helpers for nearly all of the work")

# Orders for the limbs
leg_limited = _word("weight_bearing", "a leg may not bear full weight")
leg_off = _word("weight_bearing", "a leg may bear no weight beyond a touch")
leg_never_down = _word("weight_bearing", "a leg may not touch the floor")
legs_cannot_carry = _word("weight_bearing", "the two legs together may not carry the body")
arm_limited = _word("weight_bearing", "an arm may not bear full weight")
no_platform_walker = _word("aids", "no platform walker at the bed")

# Weight, lines, vital signs, fall risk
from_100_lb = _word("weight_kg", "at or over the lighter rows' bound, or weight not recorded")
from_200_lb = _word("weight_kg", "at or over the heavier rows' bound, or weight not recorded")
heavy = _word("weight_kg", "heavy by the policy's bound (weight or body mass index)")
over_toilet = _word("weight_kg", "at or over a standard toilet's rating")
has_lines = _word("lines", "has a line, drain or tube")
many_lines = _word("lines", "more lines than the mover can watch")
drops = _word("vitals", "pressure falls on standing, or dizzy on standing")
not_fit_now = _word("vitals", "a vital sign outside the start limits")
high_fall_risk = _word("fall_risk", "high fall risk by the unit's instrument")

# The load on each helper, for the task itself
load_needs_more = _word("weight_kg", "more than one helper's limit")
load_beyond_hands = _word("weight_kg", "more than the most helpers may lift by hand")

# The facility's choice
no_hand_lifting = _word("policy", "the facility lifts nobody by hand")

PRECAUTION: dict[Precaution, When] = {
    item: _word("precautions", item.value.replace("_", " ")) for item in Precaution
}

DECIDING = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms", "help")
UNKNOWN: dict[str, When] = {fact: _word(fact, f"{fact} not assessed") for fact in DECIDING}
NOT_DONE: dict[Help, When] = {
    answer: _word("help", answer.value.replace("_", " ")) for answer in Help if not answer.was_done
}

# Said in one breath
not_cooperative = follows_nothing | unpredictable | drowsy
arms_not_free = one_arm | arm_limited | PRECAUTION[Precaution.STERNAL]
not_bearing_fully = stands_with_support | leg_limited
no_standing_by_order = legs_cannot_carry | (leg_off & arms_not_free)
bears_no_weight = cannot_stand | no_standing_by_order
no_standing_aid = (
    cannot_sit
    | bears_no_weight
    | leg_off
    | no_arm
    | PRECAUTION[Precaution.STERNAL]
    | not_cooperative
    | newly_confused
)
no_belt = PRECAUTION[Precaution.NO_GAIT_BELT] | no_hand_lifting
no_two_handed_aid = one_arm | PRECAUTION[Precaution.STERNAL] | (arm_limited & no_platform_walker)
unstable_spine = PRECAUTION[Precaution.SPINAL] | PRECAUTION[Precaution.SPINAL_CERVICAL]
any_spine = unstable_spine | PRECAUTION[Precaution.SPINAL_CLEARED]
