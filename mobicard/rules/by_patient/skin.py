"""Skin and pregnancy: where nobody lies or slides, and how often the position changes."""

from __future__ import annotations

from mobicard.facts.body import SoreSite
from mobicard.facts.moves import ALL, IN_CHAIR, LYING, TRANSFERS
from mobicard.facts.words import Task
from mobicard.rules.rule import SHEET, Demand, Rule
from mobicard.rules.words import SORE, pregnant_from_20, sits_on_sore, skin_at_risk, skin_high, sore_back

LAIN_ON = {
    SoreSite.BACK_OF_HEAD: "the back of the head",
    SoreSite.SHOULDER_BLADES: "the shoulder blades",
    SoreSite.SACRUM: "the sacrum",
    SoreSite.SEAT: "the seat bones",
    SoreSite.LEFT_HIP: "the left hip",
    SoreSite.RIGHT_HIP: "the right hip",
    SoreSite.LEFT_HEEL: "the left heel",
    SoreSite.RIGHT_HEEL: "the right heel",
}

RULES = (
    *(
        Rule(
            f"skin.{site.value}",
            LYING,
            f"Broken skin at {where}: not laid on it, not slid over it, looked at on each turn.",
            when=SORE[site],
            demand=Demand(cautions=(f"Sore: off {where}, no sliding over it",)),
            source="npiap",
        )
        for site, where in LAIN_ON.items()
    ),
    Rule(
        "skin.lift_off",
        (Task.BOOST, Task.STRETCHER),
        "Broken skin on what would be slid over: a friction-reducing sheet carries it.",
        when=sore_back,
        demand=Demand(equipment=SHEET),
        source=("npiap", "common"),
    ),
    Rule(
        "skin.sits_on_it",
        (*TRANSFERS, *IN_CHAIR),
        "Broken skin where one sits: short times in the chair, on a cushion, weight shifted.",
        when=sits_on_sore,
        demand=Demand(cautions=("Sits on sore skin: cushion, short times, shift weight",)),
        source="common",
    ),
    Rule(
        "skin.at_risk",
        (Task.TURN,),
        "At risk of pressure injury: position changed at least every {turn_at_risk_h:g} hours.",
        when=skin_at_risk,
        demand=Demand(cautions=("Skin at risk: heels free, turn on time",)),
        source="nice_qs89",
    ),
    Rule(
        "skin.high",
        (Task.TURN,),
        "High risk of pressure injury: position changed at least every {turn_high_risk_h:g} hours.",
        when=skin_high,
        demand=Demand(cautions=("Skin at high risk: turn on time, 30 degrees, no shear",)),
        source=("nice_qs89", "npiap"),
    ),
    Rule(
        "pregnancy.tilt",
        ALL,
        "Pregnant, 20 weeks or more: never flat on the back; full side, or tilted to the left.",
        when=pregnant_from_20,
        demand=Demand(cautions=("Pregnant: never flat on the back; on the side or tilted",)),
        source="pregnancy",
    ),
)
