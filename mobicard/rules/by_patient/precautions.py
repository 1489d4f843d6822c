"""Precautions: what an order or a wound forbids, whatever the strength."""

from __future__ import annotations

from mobicard.facts.lines import LineKind
from mobicard.facts.moves import ALL, BED, IN_CHAIR, LYING, OUT_OF_BED, STANDING, UP
from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.rules.rule import LIFT, SHEET, Demand, Rule
from mobicard.rules.words import (
    LEG_LIMITED,
    LINE,
    PRECAUTION,
    any_spine,
    help_near,
    sternal_by_figure,
    sternal_close,
    unstable_spine,
    walker_at_hand,
)

abdominal = PRECAUTION[Precaution.ABDOMINAL]
bed_rest = PRECAUTION[Precaution.BED_REST]
femoral_sheath = PRECAUTION[Precaution.FEMORAL_SHEATH] | LINE[LineKind.FEMORAL_SHEATH]
groin_left = PRECAUTION[Precaution.GROIN_LEFT]
groin_right = PRECAUTION[Precaution.GROIN_RIGHT]
head_flat = PRECAUTION[Precaution.HEAD_FLAT]
head_up_30 = PRECAUTION[Precaution.HEAD_UP_30]
hip_anterior_left = PRECAUTION[Precaution.HIP_ANTERIOR_LEFT]
hip_anterior_right = PRECAUTION[Precaution.HIP_ANTERIOR_RIGHT]
hip_posterior_left = PRECAUTION[Precaution.HIP_POSTERIOR_LEFT]
hip_posterior_right = PRECAUTION[Precaution.HIP_POSTERIOR_RIGHT]
no_gait_belt = PRECAUTION[Precaution.NO_GAIT_BELT]
spinal_cervical = PRECAUTION[Precaution.SPINAL_CERVICAL]
sternal = PRECAUTION[Precaution.STERNAL]

ARMS_USED = (Task.BOOST, *OUT_OF_BED, *IN_CHAIR, Task.FLOOR)
HIP_BENT = (*BED, *OUT_OF_BED, *IN_CHAIR, Task.FLOOR)
cleared = PRECAUTION[Precaution.SPINAL_CLEARED]
posterior_hip = hip_posterior_left | hip_posterior_right
anterior_hip = hip_anterior_left | hip_anterior_right
groin = groin_left | groin_right

RULES = (
    Rule(
        "spine.log_roll",
        LYING,
        "Spine not cleared: log roll in one line with at least {log_roll_spinal}.",
        when=unstable_spine,
        demand=Demand(Level.TEAM, helpers="log_roll_spinal", equipment=SHEET),
        source="spine",
    ),
    Rule(
        "spine.log_roll_neck",
        LYING,
        "Neck not cleared: log roll with at least {log_roll_cervical}, one for the head.",
        when=spinal_cervical,
        demand=Demand(
            Level.TEAM, helpers="log_roll_cervical", cautions=("One person holds head and neck only",)
        ),
        source="spine",
    ),
    Rule(
        "spine.log_roll_cleared",
        (*LYING, Task.SIT_UP),
        "Spinal precautions: log roll with at least {log_roll_cleared}.",
        when=unstable_spine | (cleared & help_near),
        demand=Demand(Level.TEAM, helpers="log_roll_cleared"),
        source=("spine", "common"),
    ),
    Rule(
        "spine.sheet",
        LYING,
        "Spinal precautions: moved in one line on a friction-reducing sheet.",
        when=any_spine,
        demand=Demand(equipment=SHEET),
        source=("spine", "common"),
    ),
    Rule(
        "spine.in_line",
        ALL,
        "Spinal precautions: no bending, lifting or twisting.",
        when=any_spine,
        demand=Demand(cautions=("Log roll: the patient does not bend, lift or twist the back",)),
        source="spine",
    ),
    Rule(
        "spine.at_once",
        ALL,
        "Spine not cleared, and vomits: turned at once, in one line by four or more, one at the head.",
        when=PRECAUTION[Precaution.SPINAL],
        demand=Demand(cautions=("Vomiting: log roll at once, even with fewer than 4",)),
        source="spine",
    ),
    Rule(
        "spine.at_once_neck",
        ALL,
        "Neck not cleared, and vomits: turned at once, in one line by five or more, one holding the head.",
        when=spinal_cervical,
        demand=Demand(cautions=("Vomiting: log roll at once, even with fewer than 5",)),
        source="spine",
    ),
    Rule(
        "spine.not_up",
        (*OUT_OF_BED, *IN_CHAIR),
        "Spine not cleared: stays lying until it is.",
        when=unstable_spine,
        demand=Demand(Level.REMAIN),
        source="spine",
    ),
    Rule(
        "spine.floor",
        (Task.FLOOR,),
        "Spine not cleared: lifted lying, in one line, with at least {log_roll_spinal}.",
        when=unstable_spine,
        demand=Demand(Level.HOIST, helpers="log_roll_spinal", equipment=(*LIFT, Equipment.SUPINE_SLING)),
        source=("spine", "common"),
    ),
    Rule(
        "spine.floor_neck",
        (Task.FLOOR,),
        "Neck not cleared: lifted lying, in one line, with at least {log_roll_cervical}.",
        when=spinal_cervical,
        demand=Demand(
            Level.HOIST,
            helpers="log_roll_cervical",
            equipment=(*LIFT, Equipment.SUPINE_SLING),
            cautions=("One person holds head and neck only",),
        ),
        source=("spine", "common"),
    ),
    Rule(
        "sternal.arms",
        ARMS_USED,
        "Breastbone healing: at most 10 lb in both hands, no pushing up.",
        when=sternal_by_figure,
        demand=Demand(cautions=("Breastbone: at most 10 lb (4.5 kg), no push or pull",)),
        source="sternal",
    ),
    Rule(
        "sternal.close",
        ARMS_USED,
        "Breastbone healing: the arms move close to the body, within what does not hurt.",
        when=sternal_close,
        demand=Demand(cautions=("Breastbone: arms close to the body, stop if it hurts",)),
        source=("sternal", "common"),
    ),
    Rule(
        "sternal.walker",
        (Task.STAND, Task.WALK),
        "Breastbone healing: a walker is for balance, no weight goes through the arms.",
        when=sternal & walker_at_hand,
        demand=Demand(cautions=("Walker for balance only: no weight through the arms",)),
        source=("sternal", "common"),
    ),
    Rule(
        "hip.posterior",
        HIP_BENT,
        "Hip precautions, posterior: no bend past 90 degrees, no crossing, no turning in.",
        when=posterior_hip,
        demand=Demand(cautions=("Hip: no bend past 90, no crossing legs, no toes in",)),
        source="common",
    ),
    Rule(
        "hip.anterior",
        HIP_BENT,
        "Hip precautions, anterior: no stepping back, no turning out.",
        when=anterior_hip,
        demand=Demand(cautions=("Hip: no leg back, no toes out",)),
        source="common",
    ),
    Rule(
        "hip.raised_seat",
        STANDING,
        "Hip precautions, posterior: a raised seat.",
        when=posterior_hip,
        demand=Demand(cautions=("Raised seat: knees below the hips",)),
        source="common",
    ),
    Rule(
        "hip.turn",
        (Task.TURN,),
        "Hip precautions: a helper keeps the leg in line while turning.",
        when=posterior_hip | anterior_hip,
        demand=Demand(Level.LINK, helpers=1),
        source="common",
    ),
    Rule(
        "groin.straight",
        ALL,
        "Groin access site: the leg stays straight.",
        when=groin | femoral_sheath,
        demand=Demand(cautions=("Groin site: keep that leg straight, watch for bleeding",)),
        source="femoral",
    ),
    Rule(
        "groin.not_up",
        (*OUT_OF_BED, *IN_CHAIR),
        "Groin access site or sheath: flat in bed for the time ordered.",
        when=groin | femoral_sheath,
        demand=Demand(Level.REMAIN),
        source="femoral",
    ),
    Rule(
        "groin.turn",
        BED,
        "Groin access site or sheath: turned or moved up in one line by two, the leg straight.",
        when=groin | femoral_sheath,
        demand=Demand(Level.TEAM, helpers=2, equipment=SHEET),
        source=("femoral", "common"),
    ),
    Rule(
        "abdominal.roll",
        (Task.TURN, Task.SIT_UP),
        "Abdominal wound: roll to the side first, hold a pillow to it.",
        when=abdominal,
        demand=Demand(cautions=("Belly wound: roll to the side first, pillow held to it",)),
        source="common",
    ),
    Rule(
        "bed_rest.stay",
        (*OUT_OF_BED, *IN_CHAIR),
        "Bed rest is ordered.",
        when=bed_rest,
        demand=Demand(Level.REMAIN),
        source="common",
    ),
    Rule(
        "head_flat.stay",
        (*OUT_OF_BED, *IN_CHAIR),
        "The head stays flat by order.",
        when=head_flat,
        demand=Demand(Level.REMAIN),
        source="common",
    ),
    Rule(
        "head_flat.flat",
        ALL,
        "The head stays flat by order.",
        when=head_flat,
        demand=Demand(cautions=("Keep the head of the bed flat",)),
        source="common",
    ),
    Rule(
        "head_up.keep",
        ALL,
        "The head stays up 30 degrees by order.",
        when=head_up_30,
        demand=Demand(cautions=("Keep the head up 30 degrees, also while moving",)),
        source="common",
    ),
    *(
        Rule(
            f"leg.{leg.side}_limited",
            UP,
            f"The {leg.side} leg is limited by order.",
            when=word,
            demand=Demand(cautions=(f"{leg.side.capitalize()} leg: keep to its weight limit",)),
            source="thompson_2018",
        )
        for leg, word in LEG_LIMITED.items()
    ),
    Rule(
        "no_belt.caution",
        UP,
        "A gait belt is forbidden.",
        when=no_gait_belt,
        demand=Demand(cautions=("No gait belt",)),
        source="common",
    ),
)
