"""The words rules speak in: each is true of a worse patient, never of a better one; none can be negated."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mobicard.facts.body import SoreSite
from mobicard.facts.lines import LineKind
from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Level,
    Limb,
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
        for group in self.groups:  # noqa: SIM110 - a plain loop: it runs for every rule of every plan
            if said & group == group:
                return True
        return False

    def fired_by(self, said: int) -> int:
        """The words, as bits, of every group that is wholly said."""
        bits = 0
        for group in self.groups:
            if said & group == group:
                bits |= group
        return bits

    @property
    def bit(self) -> int:
        """The one bit of a single word."""
        (bit,) = self.groups
        return bit

    @property
    def facts(self) -> frozenset[str]:
        """Every fact any of its words stands on."""
        return frozenset(fact for bit, fact in FACT_OF.items() if any(group & bit for group in self.groups))


def _least(groups: Iterable[int]) -> tuple[int, ...]:
    """The groups without those that another group already covers."""
    unique = sorted(set(groups), key=lambda group: (group.bit_count(), group))
    kept: list[int] = []
    for group in unique:
        if not any(group & small == small for small in kept):
            kept.append(group)
    return tuple(kept)


FACT_OF: dict[int, str] = {}
"""The fact behind each word's bit, as the record spells it."""

SAYS: dict[int, str] = {}
"""What each word's bit says, for people."""

LADDERS: dict[str, list[tuple[Word, When]]] = {}
"""For each fact with an order: the answer from which on each word is said."""


def _word(fact: str, says: str) -> When:
    bit = 1 << len(FACT_OF)
    FACT_OF[bit] = fact
    SAYS[bit] = says
    return When((bit,))


def _from(fact: str, answer: Word, says: str) -> When:
    """A word said from this answer on, and of every worse one."""
    word = _word(fact, says)
    LADDERS.setdefault(fact, []).append((answer, word))
    return word


ALWAYS = When((0,))

# -- What was seen of the patient -------------------------------------------------------------------------

newly_confused = _from("alertness", Alertness.NEW_CONFUSION, "newly confused, or less awake")
drowsy = _from("alertness", Alertness.VOICE, "wakes only to voice, or less")
hardly_rousable = _from("alertness", Alertness.PAIN, "wakes only to pain, or not at all")
needs_cues = _from("directions", Directions.WITH_CUES, "needs cues, or follows no directions")
follows_nothing = _from("directions", Directions.UNABLE, "follows no directions")
fearful = _from("behavior", Behavior.FEARFUL, "fearful, or harder to move safely")
unpredictable = _from("behavior", Behavior.UNPREDICTABLE, "may move suddenly")
sits_with_support = _from("sitting", Balance.SUPPORTED, "does not sit steadily")
cannot_sit = _from("sitting", Balance.UNABLE, "cannot sit at the edge of the bed")
stands_with_support = _from("standing", Balance.SUPPORTED, "does not stand steadily")
cannot_stand = _from("standing", Balance.UNABLE, "cannot stand")
only_pivots = _from("stepping", Stepping.PIVOTS, "does not walk")
cannot_step = _from("stepping", Stepping.UNABLE, "cannot step or pivot")
one_arm = _from("arms", Arms.ONE, "does not have both arms to push or pull with")
no_arm = _from("arms", Arms.NEITHER, "has no arm to push or pull with")

# -- The help seen for the move itself --------------------------------------------------------------------

help_near = _from("help", Help.STANDBY, "took at least someone close by")
help_touch = _from("help", Help.CONTACT_GUARD, "took at least a hand on the patient")
help_lift = _from("help", Help.MINIMAL, "took lifting or holding")
help_half = _from("help", Help.MODERATE, "helpers did more than a quarter of the work")
help_most = _from("help", Help.MAXIMAL, "helpers did more than half of the work")
help_all = _from("help", Help.TOTAL, "helpers did more than three quarters of the work")
used_two = _word("helpers_used", "more than one helper was used")

# -- Orders for the limbs ---------------------------------------------------------------------------------

leg_limited = _word("weight_bearing", "a leg is limited by order")
LEG_LIMITED = {
    leg: _word("weight_bearing", f"the {leg.side} leg is limited by order")
    for leg in (Limb.LEFT_LEG, Limb.RIGHT_LEG)
}
leg_off = _word("weight_bearing", "a leg takes no weight beyond a touch, by order")
leg_never_down = _word("weight_bearing", "a leg may not touch the floor, or is absent")
not_mastered = _word("proficient_with", "no crutches or walker at the bed the patient is proficient with")
legs_cannot_carry = _word("weight_bearing", "the two legs together may not carry the body")
arm_limited = _word("weight_bearing", "an arm is limited by order")
no_arm_by_order = _word("weight_bearing", "neither arm takes weight, by order")
no_platform_walker = _word("aids", "no platform walker at the bed")

# -- Weight, lines, vital signs, fall risk ----------------------------------------------------------------

weight_unknown = _word("weight_kg", "weight not recorded: counted as the heaviest")
from_100_lb = _word("weight_kg", "past the lighter row, or weight not recorded")
from_200_lb = _word("weight_kg", "in the heavier row, or weight not recorded")
heavy = _word("weight_kg", "heavy: by weight or by body mass index, or weight not recorded")
no_rated_standing_aid = _word("weight_kg", "no standing aid on the unit is known to be rated for the weight")
beyond_lateral = _word("weight_kg", "a slide across would take more people than there is room for")
over_turn_bmi = _word("height_cm", "a body mass index over what may turn both ways in a standard bed")
over_any_turn_bmi = _word("height_cm", "a body mass index over what a standard bed serves at all")
over_toilet = _word("weight_kg", "at or over the rating of a standard toilet")
has_lines = _word("lines", "has a line, drain or tube")
many_lines = _word("lines", "more lines than those moving can watch")
NO_WORD = (LineKind.IV, LineKind.MONITOR, LineKind.EPIDURAL, LineKind.NERVE_BLOCK, LineKind.FISTULA)
"""Lines that ask for no more than slack, or have words of their own below."""

LINE = {kind: _word("lines", f"has this line: {kind.value}") for kind in LineKind if kind not in NO_WORD}
FISTULA = {
    "left": _word("lines", "a dialysis fistula in the left arm"),
    "right": _word("lines", "a dialysis fistula in the right arm"),
    "": _word("lines", "a dialysis fistula, nobody recorded where"),
}
block_running = _word("lines", "an epidural or a nerve block of a leg")
block_untested = _word("legs", "an epidural or nerve block, and a leg of it fails its test or had none")
pressure_drops = _word("vitals", "pressure falls on standing, or dizzy")
outside_limits = _word("vitals", "a vital sign outside the limits to start, and nobody has cleared it")
near_limits = _word("vitals", "a vital sign outside the limits to start")
not_an_adult = _word("weight_kg", "a child, or lighter than the tables for adults go")
high_fall_risk = _word("fall_risk", "in the highest band of the unit's instrument, or never asked")

# -- One side, a leg tested, skin, pregnancy --------------------------------------------------------------

WEAK = {side: _word("weak_side", f"the {side} side is weak") for side in ("left", "right")}
weak = WEAK["left"] | WEAK["right"]
NEGLECTS = {side: _word("neglect", f"does not attend to the {side}") for side in ("left", "right")}
LEG_FAILS = {side: _word("legs", f"the {side} leg failed its test") for side in ("left", "right")}
leg_fails = LEG_FAILS["left"] | LEG_FAILS["right"]
SORE = {site: _word("sore_sites", f"broken skin: {site.value.replace('_', ' ')}") for site in SoreSite}
sore_back = SORE[SoreSite.SHOULDER_BLADES] | SORE[SoreSite.SACRUM] | SORE[SoreSite.SEAT]
sits_on_sore = SORE[SoreSite.SACRUM] | SORE[SoreSite.SEAT]
skin_at_risk = _word("skin_risk", "at risk of pressure injury")
skin_high = _word("skin_risk", "at high risk of pressure injury")
pregnant_from_20 = _word("pregnancy_weeks", "pregnant, 20 weeks or more")

# -- The load of the move itself --------------------------------------------------------------------------

load_needs_more = _word("weight_kg", "the load is over one helper's limit")
load_beyond_hands = _word("weight_kg", "the load is over what the most helpers may lift by hand")

# -- After a fall -----------------------------------------------------------------------------------------

fell = _word("fall_event", "fell, and is not up or not assessed since")
on_the_floor = _word("fall_event", "fell, and is not recorded as up again")
not_by_hand = _word("fall_event", "not everything that help by hand needs is known to be well")
head_not_clear = _word("fall_event", "the head was struck, or nobody knows")
neck_not_clear = _word("fall_event", "the neck hurts, or nobody asked")
unwitnessed = _word("fall_event", "nobody saw the fall")
major_injury = _word("fall_event", "a major injury, or injury not checked")
bleeding_risk = _word("fall_event", "on a blood thinner or not known, and the head not certainly spared")
spine_at_risk = _word("fall_event", "spinal precautions when the fall happened")
lifted_flat = _word("fall_event", "a break or a spine injury is not ruled out, or nobody checked")
injury_open = _word("fall_event", "a break or a spine injury was suspected, and nobody has settled it")
clearing_contradicted = _word("fall_event", "what is recorded of the clearing contradicts itself")

out_of_date = _word("assessed_at", "the assessment holds no longer")
operated = _word("operation", "an operation or procedure since anybody looked")

# -- The facility's choice, the orders, what is missing ---------------------------------------------------

no_hand_lifting = _word("policy", "the facility lifts nobody by hand")

RAISED_TO = {
    level: _word("override", f"raised by name to {level.value}") for level in Level if level is not Level.SELF
}

PRECAUTION = {item: _word("precautions", item.value.replace("_", " ")) for item in Precaution}

DECIDING = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms", "help")
UNKNOWN = {fact: _word(fact, f"{fact} not assessed") for fact in DECIDING}
NOT_DONE = {answer: _word("help", answer.value.replace("_", " ")) for answer in Help if not answer.was_done}

WALKING_AIDS = (
    Aid.FRONT_WHEELED_WALKER,
    Aid.PLATFORM_WALKER,
    Aid.FOUR_WHEELED_WALKER,
    Aid.CRUTCHES,
    Aid.CANE,
)
WALKERS = WALKING_AIDS[:3]
OWN_AID = {
    aid: _word("aids", f"{aid.value.replace('_', ' ')} at the bed, and allowed") for aid in WALKING_AIDS
}
walker_at_hand = _word("aids", "a walker at the bed, whether or not it is allowed")
no_allowed_aid = _word("aids", "no walking aid at the bed that the orders allow")

# -- Said in one breath -----------------------------------------------------------------------------------

sternal_by_figure = _word("precautions", "breastbone healing, by a figure")
sternal_close = _word("precautions", "breastbone healing, arms close to the body")
not_cooperative = follows_nothing | unpredictable
arms_not_free = one_arm | arm_limited | PRECAUTION[Precaution.STERNAL]
not_full_weight = stands_with_support | (leg_limited & not_mastered)
no_standing_by_order = legs_cannot_carry | (leg_off & arms_not_free)
no_weight = cannot_stand | no_standing_by_order
no_standing_aid = (
    cannot_sit
    | no_rated_standing_aid
    | no_weight
    | leg_off
    | no_arm
    | no_arm_by_order
    | PRECAUTION[Precaution.STERNAL]
    | not_cooperative
    | newly_confused
)
no_lift_by_belt = PRECAUTION[Precaution.NO_GAIT_BELT] | no_hand_lifting
no_two_handed_aid = one_arm | PRECAUTION[Precaution.STERNAL] | (arm_limited & no_platform_walker)
any_hip = (
    PRECAUTION[Precaution.HIP_POSTERIOR_LEFT]
    | PRECAUTION[Precaution.HIP_POSTERIOR_RIGHT]
    | PRECAUTION[Precaution.HIP_ANTERIOR_LEFT]
    | PRECAUTION[Precaution.HIP_ANTERIOR_RIGHT]
)
unstable_spine = PRECAUTION[Precaution.SPINAL] | PRECAUTION[Precaution.SPINAL_CERVICAL]
any_spine = unstable_spine | PRECAUTION[Precaution.SPINAL_CLEARED]
