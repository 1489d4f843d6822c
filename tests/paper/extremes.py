"""The fullest records a ward could type, for pages that must still hold together."""

from __future__ import annotations

from typing import Any

from mobicard.facts import Record, read_record
from mobicard.facts.words import Aid, Precaution, Task
from tests.paper.beds import HOSTILE

NOTE = ("keep it below the chest, watch the clamp, no pull, no kink; " * 3)[:160]


def rich(bed: str = "4W-12A", **facts: Any) -> Record:
    """A patient of whom everything is recorded, in ordinary words."""
    return read_record(
        {
            "bed": bed,
            "label": "RT",
            "weight_kg": 82.0,
            "height_cm": 175,
            "assessed_at": "2026-03-02T07:10",
            "assessed_by": "JN",
            "alertness": "alert",
            "directions": "reliable",
            "behavior": "calm",
            "sitting": "steady",
            "standing": "supported",
            "stepping": "pivots",
            "arms": "both",
            "help": {
                **dict.fromkeys(("boost", "sit_up", "stand", "chair", "toilet"), "minimal"),
                "turn": "standby",
                "walk": "not_attempted_safety",
                "stretcher": "moderate",
            },
            "weight_bearing": {
                "left_leg": {"status": "PWB", "percent": 50},
                "right_leg": {"status": "WBAT"},
                "left_arm": {"status": "NWB"},
            },
            "precautions": ["spinal_cleared", "hip_posterior_left"],
            "lines": [
                {"kind": "chest tube", "side": "left", "note": "keep below chest"},
                {"kind": "peripheral IV", "side": "right"},
                {"kind": "urinary catheter", "side": "midline"},
                {"kind": "wound drain"},
            ],
            "on_before_up": ["cervical collar", "left knee brace"],
            "aids": ["gait_belt", "platform_walker", "glasses", "hearing_aids"],
            "communication": {
                "language": "es",
                "interpreter": True,
                "hearing": "right ear is the better one",
            },
            "vitals": {
                "lying": {"sbp": 128, "dbp": 76, "hr": 80},
                "standing_1min": {"sbp": 104, "dbp": 70, "hr": 98},
                "dizzy": True,
            },
            "fall_risk": {
                "instrument": "morse",
                "answers": {
                    "history": True,
                    "secondary_diagnosis": True,
                    "aid": "walker",
                    "iv": True,
                    "gait": "weak",
                    "mental": "oriented",
                },
            },
            "turn_every_h": 2,
            "goals": [{"task": "chair", "times_per_shift": 3}, {"task": "walk", "times_per_shift": 2}],
            **facts,
        }
    )


def fullest(bed: str = "WWWWWWWWWWWWWWWW") -> Record:
    """Every list at its limit, every text at its longest, in letters as wide as they come."""
    return rich(
        bed,
        label="WWWWWWWWWWWW",
        weight_kg=499.9,
        assessed_by="W" * 60,
        behavior="combative",
        standing="unable",
        stepping="unable",
        arms="neither",
        help=dict.fromkeys((task.value for task in Task), "maximal"),
        weight_bearing={
            "left_leg": {"status": "TTWB"},
            "right_leg": {"status": "PWB", "percent": 33.3},
            "left_arm": {"status": "PWB", "kg": 5},
            "right_arm": {"status": "absent_limb"},
        },
        precautions=[item.value for item in Precaution],
        lines=[
            {
                "kind": (f"drain {number} " + "of a very long kind " * 3)[:60],
                "side": ("left", "right", "midline", "both", None)[number % 5],
                "note": NOTE,
            }
            for number in range(20)
        ],
        on_before_up=[(f"{number} " + HOSTILE)[:60] for number in range(12)],
        aids=[aid.value for aid in Aid],
        communication={
            "language": "ar",
            "interpreter": True,
            "hearing": "h" * 60,
            "vision": HOSTILE[:60],
            "note": NOTE,
        },
        fall_event={"at": "2026-03-02T07:40", "witnessed": False, "head_strike": "unknown"},
        toilet_every_h=3,
        goals=[{"task": task.value, "times_per_shift": 24} for task in Task],
        appointments=[
            {"task": "stretcher", "at": f"2026-03-02T1{hour}:00", "note": NOTE} for hour in range(4)
        ],
        override={"level": "REMAIN", "reason": "r" * 200, "by": "B" * 60, "at": "2026-03-02T07:50"},
    )
