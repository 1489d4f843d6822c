"""Walking: with whom, with what, and when not yet."""

from __future__ import annotations

from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.rule import BELT, Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
    OWN_AID,
    cannot_sit,
    cannot_stand,
    drowsy,
    help_lift,
    help_most,
    leg_limited,
    leg_never_down,
    legs_cannot_carry,
    load_beyond_hands,
    no_allowed_aid,
    no_lift_by_belt,
    no_two_handed_aid,
    not_cooperative,
    not_full_weight,
    only_pivots,
    sits_with_support,
)

WALK = (Task.WALK,)

RULES = (
    Rule(
        "walk.alone",
        WALK,
        "Bears full weight, steps, and walks without help: no helper.",
        when=ALWAYS,
        demand=Demand(Level.SELF),
        source="bccampus_walk",
    ),
    Rule(
        "walk.partial_weight_bearing",
        WALK,
        "Does not bear full weight: at least one helper, hands on the gait belt.",
        when=not_full_weight,
        demand=Demand(Level.LINK, helpers=1, equipment=BELT),
        source="bccampus_walk",
    ),
    Rule(
        "walk.sits_with_support",
        WALK,
        "Does not sit steadily: one helper, hands on the gait belt.",
        when=sits_with_support,
        demand=Demand(Level.LINK, helpers=1, equipment=BELT),
        source="bccampus_walk",
    ),
    Rule(
        "walk.leg_never_down",
        WALK,
        "A leg may not touch the floor, or is absent: two helpers.",
        when=leg_never_down,
        demand=Demand(Level.TEAM, helpers=2, equipment=BELT),
        source=("aafp_2021", "common"),
    ),
    Rule(
        "walk.needs_walker",
        WALK,
        "A leg may not bear full weight and no aid for both hands is at the bed: a walker.",
        when=leg_limited & no_allowed_aid,
        demand=Demand(equipment=(Equipment.FRONT_WHEELED_WALKER,)),
        source="aafp_2021",
    ),
    *(
        Rule(
            f"walk.own_{aid.value}",
            WALK,
            f"Walks with the {aid.value.replace('_', ' ')} at the bed.",
            when=word,
            demand=Demand(equipment=(Equipment(aid.value),)),
            source="common",
        )
        for aid, word in OWN_AID.items()
    ),
    Rule(
        "walk.not_yet_steps",
        WALK,
        "Takes no walking steps yet: no walking.",
        when=only_pivots,
        demand=Demand(Level.REMAIN),
        source="bccampus_walk",
    ),
    Rule(
        "walk.not_yet_stands",
        WALK,
        "Cannot stand: no walking.",
        when=cannot_stand,
        demand=Demand(Level.REMAIN),
        source="bccampus_walk",
    ),
    Rule(
        "walk.not_yet_sits",
        WALK,
        "Cannot sit at the edge of the bed: no walking.",
        when=cannot_sit,
        demand=Demand(Level.REMAIN),
        source="bccampus_walk",
    ),
    Rule(
        "walk.orders_forbid",
        WALK,
        "The orders for the legs leave nothing to walk on: no walking.",
        when=legs_cannot_carry,
        demand=Demand(Level.REMAIN),
        source=("aafp_2021", "common"),
    ),
    Rule(
        "walk.no_two_handed_aid",
        WALK,
        "A leg may not bear full weight and the arms cannot use a walker or crutches: no walking.",
        when=leg_limited & no_two_handed_aid,
        demand=Demand(Level.REMAIN),
        source="aafp_2021",
    ),
    Rule(
        "walk.not_cooperative",
        WALK,
        "Does not bear full weight and does not cooperate: no walking.",
        when=not_full_weight & not_cooperative,
        demand=Demand(Level.REMAIN),
        source="bccampus_walk",
    ),
    Rule(
        "walk.most",
        WALK,
        "Helpers did more than half of the work: no walking yet.",
        when=help_most,
        demand=Demand(Level.REMAIN),
        source="bccampus_walk",
    ),
    Rule(
        "walk.beyond_hands",
        WALK,
        "The load is over what the most helpers may lift by hand: no walking yet.",
        when=load_beyond_hands,
        demand=Demand(Level.REMAIN),
        source=("bccampus_walk", "waters_2007"),
    ),
    Rule(
        "walk.no_belt",
        WALK,
        "Needs lifting and no belt may lift: no walking yet.",
        when=help_lift & no_lift_by_belt,
        demand=Demand(Level.REMAIN),
        source=("vha_2014", "bccampus_walk"),
    ),
    Rule(
        "walk.drowsy",
        WALK,
        "Wakes only to voice: no walking.",
        when=drowsy,
        demand=Demand(Level.REMAIN),
        source=("rcp_news2", "start_limits"),
    ),
)
