"""Precautions: what an order or a wound forbids, whatever the strength."""

from __future__ import annotations

from mobicard.facts.words import Equipment, Level, Task
from mobicard.facts.words import Precaution as P
from mobicard.rules.rule import ALL, BED, OUT_OF_BED, Demand, Rule
from mobicard.rules.words import PRECAUTION as HAS
from mobicard.rules.words import any_spine, unstable_spine

LYING_MOVES = (*BED, Task.STRETCHER)
SPINE_SHEET = (Equipment.FRICTION_REDUCING_SHEET,)

posterior_hip = HAS[P.HIP_POSTERIOR_LEFT] | HAS[P.HIP_POSTERIOR_RIGHT]
anterior_hip = HAS[P.HIP_ANTERIOR_LEFT] | HAS[P.HIP_ANTERIOR_RIGHT]
groin = HAS[P.GROIN_LEFT] | HAS[P.GROIN_RIGHT]

RULES = (
    Rule(
        "spine.log_roll",
        LYING_MOVES,
        "Spine not cleared: log roll in one line with at least four.",
        when=unstable_spine,
        demand=Demand(Level.TEAM, helpers="log_roll_spinal", equipment=SPINE_SHEET),
        source="spine",
    ),
    Rule(
        "spine.log_roll_neck",
        LYING_MOVES,
        "Neck not cleared: log roll with at least five, one for the head.",
        when=HAS[P.SPINAL_CERVICAL],
        demand=Demand(
            Level.TEAM, helpers="log_roll_cervical", cautions=("One person holds head and neck only",)
        ),
        source="spine",
    ),
    Rule(
        "spine.log_roll_cleared",
        (*LYING_MOVES, Task.SIT_UP),
        "Spine cleared with precautions: log roll with two.",
        when=any_spine,
        demand=Demand(Level.TEAM, helpers="log_roll_cleared"),
        source=("spine", "common"),
    ),
    Rule(
        "spine.in_line",
        ALL,
        "Spinal precautions: no bending, lifting or twisting.",
        when=any_spine,
        demand=Demand(cautions=("Log roll: no bend, no lift, no twist of the back",)),
        source="spine",
    ),
    Rule(
        "spine.not_up",
        OUT_OF_BED,
        "Spine not cleared: stays lying until it is.",
        when=unstable_spine,
        demand=Demand(Level.REMAIN),
        source="spine",
    ),
    Rule(
        "spine.floor",
        (Task.FLOOR,),
        "Spine not cleared: not moved from the floor until examined.",
        when=unstable_spine,
        demand=Demand(Level.REMAIN),
        source=("spine", "after_fall"),
    ),
    Rule(
        "sternal.arms",
        ALL,
        "Breastbone healing: the arms do not push, pull or lift.",
        when=HAS[P.STERNAL],
        demand=Demand(cautions=("Breastbone: no push, pull or lift with the arms",)),
        source="sternal",
    ),
    Rule(
        "hip.posterior",
        ALL,
        "Hip precautions, back approach: no bend past 90 degrees, no crossing, no turning in.",
        when=posterior_hip,
        demand=Demand(cautions=("Hip: no bend past 90, no crossing legs, no toes in",)),
        source="common",
    ),
    Rule(
        "hip.anterior",
        ALL,
        "Hip precautions, front approach: no stepping back, no turning out.",
        when=anterior_hip,
        demand=Demand(cautions=("Hip: no leg back, no toes out",)),
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
        when=groin | HAS[P.FEMORAL_SHEATH],
        demand=Demand(cautions=("Groin site: keep that leg straight, watch for bleeding",)),
        source="femoral",
    ),
    Rule(
        "groin.not_up",
        OUT_OF_BED,
        "Groin access site or sheath: flat in bed for the time ordered.",
        when=groin | HAS[P.FEMORAL_SHEATH],
        demand=Demand(Level.REMAIN),
        source="femoral",
    ),
    Rule(
        "abdominal.roll",
        ALL,
        "Abdominal wound: roll to the side first, hold a pillow to it.",
        when=HAS[P.ABDOMINAL],
        demand=Demand(cautions=("Belly wound: roll to the side first, pillow held to it",)),
        source="common",
    ),
    Rule(
        "bed_rest.stay",
        OUT_OF_BED,
        "Bed rest is ordered.",
        when=HAS[P.BED_REST],
        demand=Demand(Level.REMAIN),
        source="common",
    ),
    Rule(
        "head_flat.stay",
        OUT_OF_BED,
        "The head stays flat by order.",
        when=HAS[P.HEAD_FLAT],
        demand=Demand(Level.REMAIN),
        source="common",
    ),
    Rule(
        "head_flat.flat",
        ALL,
        "The head stays flat by order.",
        when=HAS[P.HEAD_FLAT],
        demand=Demand(cautions=("Keep the head of the bed flat",)),
        source="common",
    ),
    Rule(
        "head_up.keep",
        ALL,
        "The head stays up 30 degrees by order.",
        when=HAS[P.HEAD_UP_30],
        demand=Demand(cautions=("Keep the head up 30 degrees, also while moving",)),
        source="common",
    ),
    Rule(
        "no_belt.caution",
        ALL,
        "A gait belt is forbidden.",
        when=HAS[P.NO_GAIT_BELT],
        demand=Demand(cautions=("No gait belt",)),
        source="common",
    ),
)
