"""Contradictions: orders, aids, observed help and standing that cannot all hold."""

import random
from typing import Any

import pytest

from mobicard.derive.conflicts import contradictions
from mobicard.facts import Record, read_record
from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Directions,
    Help,
    Limb,
    Precaution,
    Stepping,
    Task,
)

PWB_HALF = {"status": "PWB", "percent": 50}


def record(**facts: Any) -> Record:
    return read_record({"bed": "4W-12A", **facts})


def conflict_fields(found: Record) -> set[tuple[str, ...]]:
    return {conflict.fields for conflict in contradictions(found)}


# -- Conflicts --------------------------------------------------------------------------------------------

NWB_LEFT = {"left_leg": "NWB"}
NO_LEGS = {"left_leg": "NWB", "right_leg": "NWB"}

CONFLICTS: list[tuple[str, dict[str, Any], tuple[str, ...]]] = [
    ("cane", {"aids": ["cane"], "weight_bearing": NWB_LEFT}, ("aids", "weight_bearing.left_leg")),
    (
        "four wheels",
        {"aids": ["four_wheeled_walker"], "weight_bearing": {"right_leg": PWB_HALF}},
        ("aids", "weight_bearing.right_leg"),
    ),
    (
        "crutches",
        {"aids": ["crutches"], "weight_bearing": {"left_arm": "NWB"}},
        ("aids", "weight_bearing.left_arm"),
    ),
    ("walker, one arm", {"aids": ["front_wheeled_walker"], "arms": "one"}, ("aids", "arms")),
    ("belt", {"aids": ["gait_belt"], "precautions": ["no_gait_belt"]}, ("aids", "precautions")),
    ("prosthesis, no limb absent", {"aids": ["prosthesis"]}, ("aids", "weight_bearing")),
    (
        "walks on one leg, no prosthesis",
        {"stepping": "walks", "weight_bearing": {"left_leg": "absent_limb"}, "aids": ["crutches"]},
        ("stepping", "aids", "weight_bearing.left_leg"),
    ),
    (
        "arm seen, not allowed",
        {"arms": "both", "weight_bearing": {"left_arm": "NWB"}},
        ("arms", "weight_bearing.left_arm"),
    ),
    (
        "steady with no leg to stand on",
        {"standing": "steady", "weight_bearing": NO_LEGS},
        ("standing", "weight_bearing.left_leg", "weight_bearing.right_leg"),
    ),
    (
        "steps with no leg to stand on",
        {"stepping": "pivots", "weight_bearing": NO_LEGS},
        ("stepping", "weight_bearing.left_leg", "weight_bearing.right_leg"),
    ),
    (
        "stood with no leg to stand on",
        {"help": {"stand": "maximal"}, "weight_bearing": NO_LEGS},
        ("help.stand", "weight_bearing.left_leg", "weight_bearing.right_leg"),
    ),
    (
        "walking wanted with no leg to stand on",
        {"goals": [{"task": "walk", "times_per_shift": 2}], "weight_bearing": NO_LEGS},
        ("goals", "weight_bearing.left_leg", "weight_bearing.right_leg"),
    ),
    (
        "stood on one leg without arms",
        {"standing": "steady", "arms": "neither", "weight_bearing": NWB_LEFT},
        ("standing", "weight_bearing.left_leg", "arms"),
    ),
    (
        "stood on one leg with sternal precautions",
        {"standing": "supported", "arms": "both", "precautions": ["sternal"], "weight_bearing": NWB_LEFT},
        ("standing", "weight_bearing.left_leg", "precautions"),
    ),
    (
        "walks on one leg without an aid",
        {"stepping": "walks", "arms": "both", "weight_bearing": NWB_LEFT},
        ("stepping", "weight_bearing.left_leg", "aids"),
    ),
    (
        "up in spite of bed rest",
        {"help": {"chair": "minimal"}, "precautions": ["bed_rest"]},
        ("help.chair", "precautions"),
    ),
    (
        "up with a femoral sheath",
        {"help": {"walk": "standby"}, "precautions": ["femoral_sheath"]},
        ("help.walk", "precautions"),
    ),
    (
        "a goal out of bed in spite of bed rest",
        {"goals": [{"task": "chair", "times_per_shift": 3}], "precautions": ["bed_rest"]},
        ("goals", "precautions"),
    ),
    ("head up and flat", {"precautions": ["head_up_30", "head_flat"]}, ("precautions",)),
    ("spine cleared and not", {"precautions": ["spinal", "spinal_cleared"]}, ("precautions",)),
    (
        "part weight of all of it",
        {"weight_kg": 60, "weight_bearing": {"left_leg": {"status": "PWB", "kg": 60}}},
        ("weight_bearing.left_leg",),
    ),
    (
        "part weight of nothing",
        {"weight_bearing": {"left_leg": {"status": "PWB", "percent": 0}}},
        ("weight_bearing.left_leg",),
    ),
    (
        "touch of more than a touch",
        {"weight_bearing": {"left_leg": {"status": "TTWB", "kg": 20.1}}},
        ("weight_bearing.left_leg",),
    ),
    ("steps but cannot stand", {"standing": "unable", "stepping": "walks"}, ("stepping", "standing")),
    ("stands but cannot sit", {"standing": "steady", "sitting": "unable"}, ("standing", "sitting")),
    (
        "stood alone but cannot stand",
        {"standing": "unable", "help": {"stand": "setup"}},
        ("help.stand", "standing"),
    ),
    (
        "walked alone but cannot step",
        {"stepping": "unable", "help": {"walk": "standby"}},
        ("help.walk", "stepping"),
    ),
    (
        "stood with a hand near but cannot stand",
        {"standing": "unable", "help": {"stand": "contact_guard"}},
        ("help.stand", "standing"),
    ),
    (
        "asleep but follows",
        {"alertness": "unresponsive", "directions": "reliable"},
        ("directions", "alertness"),
    ),
    (
        "independent with two helpers",
        {"help": {"chair": "independent"}, "helpers_used": {"chair": 2}},
        ("helpers_used.chair", "help.chair"),
    ),
    (
        "stood by, by nobody",
        {"help": {"chair": "standby"}, "helpers_used": {"chair": 0}},
        ("helpers_used.chair", "help.chair"),
    ),
    (
        "helped by nobody",
        {"help": {"chair": "minimal"}, "helpers_used": {"chair": 0}},
        ("helpers_used.chair", "help.chair"),
    ),
]


@pytest.mark.parametrize(
    ("facts", "fields"), [case[1:] for case in CONFLICTS], ids=[case[0] for case in CONFLICTS]
)
def test_what_cannot_all_hold_names_its_fields(facts: dict[str, Any], fields: tuple[str, ...]) -> None:
    assert fields in conflict_fields(record(**facts))


SOUND: list[tuple[str, dict[str, Any]]] = [
    ("nothing recorded", {}),
    (
        "one leg, both arms, a walker",
        {
            "standing": "steady",
            "stepping": "pivots",
            "arms": "both",
            "aids": ["front_wheeled_walker"],
            "weight_bearing": NWB_LEFT,
        },
    ),
    (
        "walks on one leg with crutches",
        {"stepping": "walks", "arms": "both", "aids": ["crutches"], "weight_bearing": NWB_LEFT},
    ),
    (
        "platform walker for an arm",
        {"arms": "one", "aids": ["platform_walker"], "weight_bearing": {"left_arm": "NWB"}},
    ),
    (
        "prosthesis and its leg",
        {"stepping": "walks", "aids": ["prosthesis"], "weight_bearing": {"left_leg": "absent_limb"}},
    ),
    (
        "no standing, as ordered",
        {"standing": "unable", "stepping": "unable", "arms": "both", "weight_bearing": NO_LEGS},
    ),
    (
        "in bed, as ordered",
        {"help": {"turn": "minimal", "chair": "not_attempted_safety"}, "precautions": ["bed_rest"]},
    ),
    ("touch within use", {"weight_bearing": {"left_leg": {"status": "TTWB", "kg": 20}}}),
    (
        "part weight just under all",
        {"weight_kg": 60, "weight_bearing": {"left_leg": {"status": "PWB", "kg": 59.9}}},
    ),
    ("lifted to stand, cannot stand alone", {"standing": "unable", "help": {"stand": "minimal"}}),
    ("set up by nobody in the move", {"help": {"chair": "setup"}, "helpers_used": {"chair": 0}}),
    ("two helped", {"help": {"chair": "minimal"}, "helpers_used": {"chair": 2}}),
    ("cane for balance", {"aids": ["cane"], "weight_bearing": {"left_leg": "WBAT"}}),
]


@pytest.mark.parametrize("facts", [case[1] for case in SOUND], ids=[case[0] for case in SOUND])
def test_what_can_hold_together_is_no_conflict(facts: dict[str, Any]) -> None:
    assert contradictions(record(**facts)) == ()


def test_each_conflict_is_told_once() -> None:
    found = record(
        arms="one",
        aids=["front_wheeled_walker", "crutches", "cane"],
        weight_bearing={"left_leg": "NWB", "right_leg": "NWB", "left_arm": "NWB"},
        standing="steady",
    )
    said = [conflict.says for conflict in contradictions(found)]
    assert len(said) == len(set(said))
    assert len(said) >= 4


def any_record(dice: random.Random) -> Record:
    orders: list[Any] = [None, "FWB", "WBAT", PWB_HALF, "TTWB", "NWB", "absent_limb"]

    def maybe(words: Any) -> Any:
        return dice.choice([None, *words])

    return record(
        alertness=maybe(Alertness),
        directions=maybe(Directions),
        sitting=maybe(Balance),
        standing=maybe(Balance),
        stepping=maybe(Stepping),
        arms=maybe(Arms),
        help={task: maybe(Help) for task in Task},
        helpers_used={task: maybe(range(3)) for task in Task},
        weight_bearing={limb: dice.choice(orders) for limb in Limb},
        precautions=dice.sample(list(Precaution), 3),
        aids=dice.sample(list(Aid), 3),
        goals=[{"task": dice.choice(list(Task)), "times_per_shift": 2}],
    )


def test_whatever_is_recorded_each_conflict_points_at_facts_that_are_there() -> None:
    """2,000 seeded records: each path begins with a fact; limbs and tasks are spelled as recorded."""
    dice = random.Random(20260302)
    for _ in range(2000):
        for conflict in contradictions(any_record(dice)):
            for path in conflict.fields:
                first, _, rest = path.partition(".")
                assert first in Record.model_fields
                assert rest in {"", *Limb, *Task}
            assert conflict.says.endswith((".", "?"))


def test_what_is_remembered_is_told_apart_by_every_fact_a_check_reads() -> None:
    """A conflict found once is never shown for a record that differs in a fact it stands on."""
    import inspect
    import re

    from mobicard.derive import conflicts, weight_bearing

    read = set(re.findall(r"record\.([a-z_]+)", inspect.getsource(conflicts)))
    read |= set(re.findall(r"record\.([a-z_]+)", inspect.getsource(weight_bearing)))
    keyed = set(re.findall(r"record\.([a-z_]+)", inspect.getsource(conflicts._facts)))
    assert read & set(Record.model_fields) == keyed
