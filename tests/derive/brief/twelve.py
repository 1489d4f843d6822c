"""Twelve invented patients, as unlike each other as a ward has them: what every brief is looked at with."""

from __future__ import annotations

from typing import Any

from mobicard.facts import Record
from mobicard.facts.words import Task
from tests.derive.brief.patients_known import SOME, patient

NOTHING = dict.fromkeys([task.value for task in Task], "total")
HARD = dict.fromkeys([task.value for task in Task], "maximal")
UNABLE = {"standing": "unable", "stepping": "unable"}

TWELVE: dict[str, dict[str, Any]] = {
    "a hand": {},
    "weak left, Spanish": {
        "weak_side": "left",
        "stepping": "pivots",
        "communication": {"language": "es", "interpreter": True},
        "lines": [{"kind": "Foley"}, {"kind": "peripheral IV", "side": "left"}],
    },
    "right leg touches, walker": {
        "weight_bearing": {"right_leg": {"status": "TTWB", "kg": 10}},
        "precautions": ["hip_posterior_right"],
        "aids": ["gait_belt", "front_wheeled_walker"],
    },
    "half weight left, drain right": {
        "weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}},
        "lines": [{"kind": "chest tube", "side": "right"}],
        "height_cm": 150,
    },
    "breastbone": {"precautions": ["sternal"], "arms": "both", "aids": ["gait_belt"]},
    "neck not cleared": {
        **UNABLE,
        "precautions": ["spinal_cervical"],
        "help": NOTHING,
        "on_before_up": ["cervical collar"],
    },
    "stands in a machine": {"help": {**SOME, "stand": "moderate", "chair": "moderate", "toilet": "moderate"}},
    "lifted, follows nothing": {
        **UNABLE,
        "help": NOTHING,
        "directions": "unable",
        "alertness": "voice",
        "sitting": "unable",
        "arms": "neither",
    },
    "heavy": {**UNABLE, "weight_kg": 172, "height_cm": 168, "help": HARD},
    "airway": {
        **UNABLE,
        "help": NOTHING,
        "sitting": "unable",
        "lines": [
            {"kind": "ventilator"},
            {"kind": "feeding tube"},
            {"kind": "arterial line", "side": "left"},
        ],
        "precautions": ["head_up_30"],
    },
    "left leg lost, slides": {
        "weight_bearing": {"left_leg": "absent_limb"},
        "standing": "unable",
        "stepping": "unable",
        "help": {**SOME, "chair": "minimal"},
        "aids": ["gait_belt"],
    },
    "pregnant, fearful, numb right leg": {
        "pregnancy_weeks": 32,
        "behavior": "fearful",
        "legs": {"right_leg": {"straight_leg_raise": False}},
        "aids": ["gait_belt", "front_wheeled_walker"],
    },
}


def twelve() -> dict[str, Record]:
    """Each with a bed of its own."""
    return {
        name: patient(**{"bed": f"5N-{number:02}", **facts})
        for number, (name, facts) in enumerate(TWELVE.items(), 1)
    }
