"""Validity, overrides, the code, what is missing, equipment: each fact of the plan beside the moves."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from cases import NOW, patient

from mobicard.derive import Plan, Policy, plan_for
from mobicard.derive.card_code import ALPHABET
from mobicard.derive.equipment import Inventory
from mobicard.derive.over_time.validity import valid_until
from mobicard.facts import read_record
from mobicard.facts.words import Equipment, Help, Level, Task
from tests.records import INDEPENDENT, SEEN

POLICY = Policy()
ROOT = Path(__file__).parent.parent.parent


def plan(now: datetime = NOW, policy: Policy = POLICY, **facts: Any) -> Plan:
    return plan_for(patient(facts), policy, now)


# -- Until when -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("assessed", "until"),
    [
        ("2026-03-02T07:10", "2026-03-02T19:30"),  # design: shifts 07:00 and 19:00, half an hour of grace
        ("2026-03-02T06:31", "2026-03-02T19:30"),  # within half an hour of the start: the coming shift's
        ("2026-03-02T06:30", "2026-03-02T19:30"),  # exactly half an hour before
        ("2026-03-02T06:29", "2026-03-02T07:30"),  # a minute earlier: still the night's
        ("2026-03-02T18:29", "2026-03-02T19:30"),
        ("2026-03-02T18:30", "2026-03-03T07:30"),
        ("2026-03-02T19:00", "2026-03-03T07:30"),
        ("2026-12-31T23:00", "2027-01-01T07:30"),
        ("2028-02-28T20:00", "2028-02-29T07:30"),
        ("2026-03-29T01:30", "2026-03-29T07:30"),  # the night clocks go forward in Europe: wall clock holds
        ("2026-11-01T01:30", "2026-11-01T07:30"),  # the night they go back in the US
    ],
)
def test_valid_until_the_end_of_the_shift(assessed: str, until: str) -> None:
    """Common practice, no source: reassessed each shift."""
    assert valid_until(datetime.fromisoformat(assessed), POLICY) == datetime.fromisoformat(until)


def test_validity_of_two_shifts() -> None:
    policy = Policy(shift={"validity_shifts": 2})
    assert valid_until(datetime(2026, 3, 2, 7, 10), policy) == datetime(2026, 3, 3, 7, 30)


def test_expires_a_minute_after() -> None:
    """Nobody stands behind an expired card: it has no level of its own any more."""
    held, gone = plan(datetime(2026, 3, 2, 19, 30)), plan(datetime(2026, 3, 2, 19, 31))
    assert (held.expired, held.shown_level) == (False, Level.SELF)
    assert (gone.expired, gone.level, gone.shown_level) == (True, Level.REMAIN, Level.REMAIN)


def test_without_a_time_nobody_stands_behind_it() -> None:
    found = plan(assessed_at="none")
    assert found.expired
    assert found.valid_until is None
    assert "assessed_at" in found.not_assessed


def test_dated_ahead_is_a_slip() -> None:
    """19:10 written for 07:10 would hold until tomorrow morning."""
    found = plan(assessed_at="2026-03-02T19:10")
    assert found.expired
    assert ("assessed_at",) in [conflict.fields for conflict in found.conflicts]


def test_now_with_a_zone_is_read_on_the_ward_s_clock() -> None:
    policy = Policy(shift={"timezone": "America/New_York"})
    assert not plan(datetime(2026, 3, 3, 0, 30, tzinfo=UTC), policy).expired  # 19:30 on the ward
    assert plan(datetime(2026, 3, 3, 0, 31, tzinfo=UTC), policy).expired


# -- What is missing --------------------------------------------------------------------------------------


def test_an_empty_record_clears_nothing() -> None:
    found = plan_for(read_record({"bed": "4W-1"}), POLICY, NOW)
    assert {move.level for move in found.tasks.values()} == {Level.REMAIN}
    assert {"standing", "help.chair", "weight_kg", "vitals", "fall_risk", "weight_bearing"} <= set(
        found.not_assessed
    )


def test_a_refused_move_counts_as_missing() -> None:
    assert "help.walk" in plan(help={"walk": "refused"}).not_assessed


def test_old_vital_signs_count_as_missing() -> None:
    """They say nothing about now; the limit in hours is the policy's."""
    fresh = plan(vitals={"at": "2026-03-02T07:30", "lying": {"sbp": 120, "dbp": 80}})
    stale = plan(vitals={"at": "2026-02-27T07:30", "lying": {"sbp": 120, "dbp": 80}})
    assert "vitals" not in fresh.not_assessed
    assert "vitals" in stale.not_assessed


def test_a_well_patient_lacks_only_what_was_left_out() -> None:
    asked_by_name = ("precautions", "lines", "weight_bearing", "on_before_up", "aids", "communication")
    assert plan().not_assessed == ("vitals", *asked_by_name, "sore_sites", "weak_side")


def test_without_a_weight_nothing_asks_for_less_than_with_any() -> None:
    """Not weighed is not light: no move takes less than at 30 to 300 kg; what is seen by eye is enough."""
    for help_ in Help:
        facts = {"help": dict.fromkeys((task.value for task in Task), help_.value)}
        unknown = plan(weight_kg="none", **facts)
        for kg in (30, 70, 90.8, 136.2, 180, 200, 300):
            known = plan(weight_kg=float(kg), **facts)
            for task in Task:
                assert known.tasks[task].level_rank <= unknown.tasks[task].level_rank, (help_, kg, task)
                assert (known.tasks[task].helpers or 0) <= (unknown.tasks[task].helpers or 99), (
                    help_,
                    kg,
                    task,
                )
        assert unknown.tasks[Task.CHAIR].share_kg is None
        assert "weight_kg" in unknown.not_assessed
        by_eye = plan(weight_kg="none", weight_by_eye="to_90_kg", **facts)
        measured = plan(weight_kg=90.0, **facts)
        assert [(t.level, t.helpers) for t in by_eye.tasks.values()] == [
            (t.level, t.helpers) for t in measured.tasks.values()
        ]


# -- Overrides --------------------------------------------------------------------------------------------


def override(level: str, at: str = "2026-03-02T07:20") -> dict[str, str]:
    return {"level": level, "reason": "own judgement", "by": "JN", "at": at}


def test_raising_joins_every_standing_move() -> None:
    found = plan(override=override("TEAM"))
    for task in (Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK):
        assert (found.tasks[task].level, found.tasks[task].helpers) == (Level.TEAM, 2)
    assert found.tasks[Task.TURN].level is Level.SELF
    assert (found.level, found.derived_level) == (Level.TEAM, Level.SELF)


UNSTEADY = {"sitting": "supported", "standing": "supported"}
"""Two helpers by the table, though the moves themselves were seen to take none."""


def test_lowering_touches_the_moves_out_of_bed_that_the_level_speaks_of() -> None:
    """Chair, toilet and standing up: a word and a number that speak of the same thing. Walking stays."""
    found = plan(**UNSTEADY, override=override("LINK"))
    assert (found.level, found.helpers, found.derived_level) == (Level.LINK, 1, Level.TEAM)
    assert found.tasks[Task.TOILET].level is Level.LINK
    walk, was = found.tasks[Task.WALK], plan(**UNSTEADY).tasks[Task.WALK]
    assert (walk.level, walk.helpers) == (was.level, was.helpers)
    assert found.override is not None
    assert found.override.lowers
    assert found.override.lapses_at == datetime(2026, 3, 2, 19, 0)
    assert found.tasks[Task.CHAIR].share_lb is None
    assert found.tasks[Task.CHAIR].reasons[0].rule == "override.lowered"


def test_lowering_keeps_one_helper_where_there_was_one() -> None:
    """SELF with someone needed is NEARBY: no card says "without help" beside a helper."""
    found = plan(standing="supported", override=override("SELF"))
    assert (found.level, found.helpers) == (Level.NEARBY, 1)


def test_a_lowered_card_holds_only_as_long_as_the_lowering() -> None:
    found = plan(**UNSTEADY, override=override("LINK"))
    assert found.valid_until == datetime(2026, 3, 2, 19, 0)
    after = plan(
        datetime(2026, 3, 2, 19, 1),
        **UNSTEADY,
        override=override("LINK"),
    )
    assert (after.level, after.valid_until) == (Level.TEAM, datetime(2026, 3, 2, 19, 30))


def test_a_lowered_seated_move_lists_its_board() -> None:
    found = plan(stepping="unable", arms="one", override=override("LINK")).tasks[Task.CHAIR]
    assert "board" in found.method
    assert Equipment.SEATED_TRANSFER_AID in found.equipment


def test_lowering_lapses_at_the_shift_s_end() -> None:
    facts = {"standing": "unable", "arms": "one", "override": override("LINK", "2026-03-01T18:59")}
    found = plan(**facts)
    assert (found.level, found.override) == (Level.HOIST, None)
    assert any("lapsed at 2026-03-01 19:00" in conflict.says for conflict in found.conflicts)


def test_raising_holds_as_long_as_the_assessment() -> None:
    found = plan(override=override("TEAM", "2026-03-01T18:59"))
    assert found.level is Level.TEAM
    assert found.override is not None
    assert found.override.lapses_at == found.valid_until


def test_no_override_lowers_do_not_move() -> None:
    found = plan(precautions=["bed_rest"], override=override("SELF"))
    assert (found.level, found.helpers, found.override) == (Level.REMAIN, None, None)
    assert any("No override lowers REMAIN" in conflict.says for conflict in found.conflicts)


def test_raised_to_remain_keeps_in_bed() -> None:
    found = plan(override=override("REMAIN"))
    assert found.tasks[Task.SIT_UP].level is Level.REMAIN
    assert found.tasks[Task.FLOOR].level is Level.HOIST


def test_a_method_names_only_what_the_plan_has() -> None:
    belted = plan(standing="supported").tasks[Task.WALK]
    bare = plan(standing="supported", precautions=["no_gait_belt"]).tasks[Task.WALK]
    assert (Equipment.GAIT_BELT in belted.equipment, "belt" in belted.method) == (True, True)
    assert (Equipment.GAIT_BELT in bare.equipment, "belt" in bare.method) == (False, False)


def test_raised_to_remain_has_no_helpers() -> None:
    found = plan(override=override("REMAIN"))
    assert (found.level, found.helpers) == (
        Level.REMAIN,
        None,
    )


def test_an_override_dated_ahead_does_nothing() -> None:
    found = plan(standing="unable", arms="one", override=override("LINK", "2026-03-02T09:00"))
    assert (found.level, found.override) == (Level.HOIST, None)


# -- The code ---------------------------------------------------------------------------------------------


def test_the_code_reads_aloud() -> None:
    code = plan().code
    assert len(code) == 6
    assert set(code) <= set(ALPHABET)
    assert set("01OILU") & set(ALPHABET) == set()


def test_the_same_findings_by_another_hand_keep_the_code() -> None:
    """The door still holds what is true: only a re-hang for a changed card."""
    assert plan().code == plan(assessed_at="2026-03-02T07:40", assessed_by="KM").code


@pytest.mark.parametrize(
    "facts",
    [
        {"standing": "supported"},
        {"help": {"boost": "standby"}},
        {"weight_bearing": {"left_leg": {"status": "PWB", "kg": 20}}},
        {"lines": [{"kind": "drain", "side": "left"}]},
        {"lines": [{"kind": "drain", "side": "right"}]},
        {"on_before_up": ["boots"]},
        {"aids": ["glasses"]},
        {"communication": {"language": "es"}},
        {"bed": "4W-12B"},
        {"assessed_at": "2026-03-01T07:40"},
        {"override": {"level": "LINK", "reason": "tired", "by": "JN", "at": "2026-03-02T07:20"}},
        {"vitals": {"lying": {"sbp": 120, "dbp": 80}, "standing_1min": {"sbp": 119, "dbp": 80}}},
    ],
)
def test_whatever_is_printed_changes_the_code(facts: dict[str, Any]) -> None:
    assert plan(**facts).code != plan().code


def test_the_two_sides_of_a_drain_differ() -> None:
    left, right = (plan(lines=[{"kind": "drain", "side": side}]).code for side in ("left", "right"))
    assert left != right


def test_the_label_counts_only_where_the_door_shows_it() -> None:
    shown = Policy(door={"show_label": True})
    assert plan(label="RT").code == plan(label="AB").code
    assert plan(policy=shown, label="RT").code != plan(policy=shown, label="AB").code


def test_the_same_code_in_another_process() -> None:
    """Nothing of it depends on the run: other hash seeds, same code."""
    script = (
        "import sys; sys.path.insert(0, 'tests/derive');"
        "from cases import *; from mobicard.derive import *;"
        "facts = {'standing': 'supported', 'aids': ['cane', 'gait_belt']};"
        "print(plan_for(patient(facts), Policy(), NOW).code)"
    )
    codes = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert codes == {plan(standing="supported", aids=["cane", "gait_belt"]).code + "\n"}


# -- Equipment and methods --------------------------------------------------------------------------------


def test_a_heavy_patient_changes_the_lift_aloud() -> None:
    """Rated 200 kg and 300 kg: the second is named, never silently."""
    stock = Inventory.from_toml(
        """
        [[item]]
        class = "full_body_lift"
        name = "ceiling lift"
        count = 1
        safe_load_kg = 200
        [[item]]
        class = "full_body_lift"
        name = "bariatric lift"
        count = 1
        safe_load_kg = 300
        """
    )
    found = plan_for(patient({"weight_kg": 220.0, "sitting": "unable"}), POLICY, NOW, stock)
    assert any("bariatric lift" in reason.says for reason in found.general)


def test_nothing_rated_is_a_conflict() -> None:
    stock = Inventory.from_toml('[[item]]\nclass = "full_body_lift"\ncount = 1\nsafe_load_kg = 200\n')
    found = plan_for(patient({"weight_kg": 220.0, "sitting": "unable"}), POLICY, NOW, stock)
    assert any(
        "weight_kg" in conflict.fields and "full-body lift" in conflict.says for conflict in found.conflicts
    )


def test_transfer_toward_the_stronger_side() -> None:
    """OSHA 3182 (2009), Fig. 1."""
    found = plan(weight_bearing={"left_leg": {"status": "PWB", "percent": 50}})
    assert found.tasks[Task.CHAIR].method == "stand and pivot towards the patient's right (stronger) side"


def test_worse_conditions_lower_the_limit() -> None:
    """Waters 2007: the limit falls where the load may move suddenly; the factor is the policy's."""
    steady = plan(weight_kg=60.0, help={"sit_up": "minimal"}).tasks[Task.SIT_UP]
    sudden = plan(weight_kg=60.0, help={"sit_up": "minimal"}, behavior="unpredictable").tasks[Task.SIT_UP]
    assert steady.limit_lb == 35.0
    assert sudden.limit_lb == round(35.0 * POLICY.loads.lowering.unpredictable, 1)


def test_the_json_has_the_promised_keys_in_order() -> None:
    keys = list(plan().as_json())
    promised = [
        "level", "level_rank", "derived_level", "helpers", "tasks", "weight_bearing", "fall_risk",
        "orthostatic", "conflicts", "not_assessed", "valid_until", "expired", "code",
    ]  # fmt: skip
    assert [key for key in keys if key in promised] == promised


def test_a_general_note_reaches_the_json() -> None:
    """Without a weight no rating can be checked, and the plan says so."""
    found = plan(weight_kg="none", sitting="unable").as_json()["general"]
    assert any("rating" in reason["says"] for reason in found)


# -- How ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"stepping": "pivots"}, "no walking for now"),
        ({"help": {**INDEPENDENT, "walk": "total"}}, "no walking for now"),
        ({"precautions": ["bed_rest"]}, "no walking until cleared"),
        ({"stepping": "pivots", "precautions": ["bed_rest"]}, "no walking until cleared"),
        ({"help": {**INDEPENDENT, "walk": "not_attempted_safety"}}, "no walking until cleared"),
        ({"stepping": None}, "no walking until cleared"),
    ],
)
def test_until_cleared_is_said_only_where_somebody_can_clear_it(facts: dict[str, Any], says: str) -> None:
    record = read_record({"bed": "1", **SEEN, "assessed_at": "2026-03-02T07:10", **facts})
    walk = plan_for(record, POLICY, NOW).tasks[Task.WALK]
    assert (walk.level, walk.method) == (Level.REMAIN, says)


@pytest.mark.parametrize(("minutes", "expired"), [(60, False), (61, True)])
def test_an_hour_ahead_is_a_clock_apart_more_is_a_slip_of_the_pen(minutes: int, expired: bool) -> None:
    """An assessment dated up to an hour ahead still holds; a minute more and nobody stands behind it."""
    record = patient({"assessed_at": NOW + timedelta(minutes=minutes)})
    assert plan_for(record, Policy(), NOW).expired is expired


@pytest.mark.parametrize(("minute", "lowers"), [(0, True), (1, False)])
def test_a_lowering_judgement_holds_to_the_shifts_last_minute(minute: int, lowers: bool) -> None:
    """Made at 08:00, the shift ends at 19:00: at 19:00 it stands, at 19:01 the derived level is back."""
    over = {"level": "LINK", "reason": "stood with me", "by": "JN", "at": NOW}
    record = patient({**UNSTEADY, "override": over})
    found = plan_for(record, Policy(), datetime(2026, 3, 2, 19, minute))
    assert found.derived_level is Level.TEAM
    assert (found.level is Level.LINK) is lowers


def test_the_level_is_the_most_protective_of_the_moves_out_of_bed() -> None:
    """A toilet that takes two makes it TEAM, whatever the chair takes; one nobody has seen says nothing."""
    harder = plan(help={"toilet": "minimal", "chair": "independent"}, weight_kg=90.0)
    assert (harder.level, harder.helpers, harder.headline.task) == (Level.TEAM, 2, Task.TOILET)
    unseen = plan(help={"toilet": "none", "stand": "none"})
    assert unseen.tasks[Task.TOILET].level is Level.REMAIN
    assert (unseen.level, unseen.helpers, unseen.headline.task) == (Level.SELF, 0, Task.CHAIR)


def test_standing_up_counts_where_the_patient_is_stood() -> None:
    """Over a board nobody stands: that standing is ruled out does not keep the patient in bed."""
    legs = {"left_leg": {"status": "NWB"}, "right_leg": {"status": "NWB"}}
    found = plan(weight_bearing=legs, help={"chair": "contact_guard", "toilet": "contact_guard"})
    assert found.tasks[Task.STAND].level is Level.REMAIN
    assert found.level is found.tasks[Task.CHAIR].level


@pytest.mark.parametrize("arms", ["both", "one", "neither"])
def test_a_weaker_arm_takes_no_caution_away(arms: str) -> None:
    """Sternal with a walker at the bed: it bears no weight, even once an arm rules it out."""
    stand = plan(precautions=["sternal"], aids=["front_wheeled_walker"], arms=arms).tasks[Task.STAND]
    assert "Walker for balance only: no weight through the arms" in stand.cautions
