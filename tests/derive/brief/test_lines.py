"""What a brief says: whole, sourced, short, ranked by harm; each with what strangers misread put right."""

from __future__ import annotations

import pytest

from mobicard.derive import Policy
from mobicard.derive.brief import BriefLine, Helper, HelpersRefused, Phase, brief_for
from mobicard.derive.brief.compose import WRITTEN
from mobicard.derive.brief.from_above.scene import Thing
from mobicard.derive.brief.shorten import shortened
from mobicard.derive.brief.values import source_text, sources
from mobicard.derive.brief.ways import BY_HAND, BY_MACHINE, Way
from mobicard.derive.brief.written.people import ROLES
from mobicard.facts.words import Task
from tests.derive.brief.patients_known import NOW, brief, patient, told

ALL = dict.fromkeys([task.value for task in Task], "total")
PHASES_OF_A_MOVE = {Phase.WHO, Phase.READY, Phase.SAY, Phase.DO, Phase.STOP, Phase.LEAVE}
MEASURED = {"ansur", "freeman", "leban", "backhaus", "hse_push", "osu_push", "merryweather", "wiggermann"}
"""Sources of figures, which stand in published.toml and in code, beside those that written lines name."""

USED_IN_CODE = MEASURED | {"plan", "common", "cdc_height", "bc_stretcher"}


@pytest.mark.parametrize("task", list(Task))
def test_every_move_has_all_its_parts(task: Task) -> None:
    found = brief(task)
    phases = {line.phase for line in found.shown}
    assert phases >= (PHASES_OF_A_MOVE if found.way is not Way.ALONE else {Phase.STOP, Phase.LEAVE})
    assert len(found.people) == found.helpers
    assert [person.leads for person in found.people] == [True] + [False] * (len(found.people) - 1)


def test_every_line_has_a_source_and_every_source_a_line() -> None:
    used = {one.source for one in WRITTEN} | USED_IN_CODE | {"house_ask"}
    assert all(source_text(key) for key in used)
    assert set(sources()) <= used


def test_ids_are_given_once() -> None:
    ids = [one.id for one in WRITTEN]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("way", [*BY_HAND, *BY_MACHINE])
def test_every_way_has_roles_a_step_a_stop_and_an_end(way: Way) -> None:
    assert ROLES[way]
    for phase in (Phase.DO, Phase.STOP, Phase.LEAVE):
        assert any(way in one.ways for one in WRITTEN if one.phase is phase), phase


def test_the_usual_brief_can_be_read_in_half_a_minute() -> None:
    """Aim 120 words; the worst of the usual moves may not be much longer."""
    words = {task.value: brief(task).words for task in Task}
    assert sorted(words.values())[len(words) // 2] <= 120
    assert max(words.values()) <= 135, words


def test_the_worst_harm_has_room_first() -> None:
    """Of two lines of three words with room for one, the one whose lack hurts more; order stays as read."""
    kindly, hurts = (
        BriefLine(Phase.DO, "three short words", rule, "", {}, harm=harm)
        for rule, harm in (("kindly", 3), ("hurts", 1))
    )
    found = shortened([kindly, hurts], aim=4)
    assert [(line.rule, line.shown) for line in found] == [("kindly", False), ("hurts", True)]


def test_what_has_no_room_is_kept_and_never_a_caution() -> None:
    """Everything that does not fit is still there for --json, and no caution of the plan is among it."""
    found = brief("chair", precautions=["sternal"], lines=[{"kind": "chest tube"}, {"kind": "Foley"}])
    hidden = [line for line in found.lines if not line.shown]
    assert hidden
    assert not {line.phase for line in hidden} & {Phase.MIND, Phase.STOP}


@pytest.mark.parametrize(
    ("status", "on", "foot"),
    [
        (
            "TTWB",
            "Stand on right leg, left only touches.",
            "right foot flat, back; left forward.",
        ),
        ("NWB", "Stand on right leg only.", "left forward."),
    ],
)
def test_the_leg_that_carries_is_guarded_and_the_other_kept_off(status: str, on: str, foot: str) -> None:
    """The right one can fold; a leg that may touch is not told to hang."""
    aids = ["crutches", "gait_belt"]
    order = {"left_leg": status}
    found = brief("stand", weight_bearing=order, aids=aids, proficient_with=["crutches"])
    assert found.way is Way.STAND
    assert "guards right knee" in told(found)
    assert on in told(found)
    assert foot in told(found)


def test_part_weight_is_no_ban_on_the_leg() -> None:
    half = {"left_leg": {"status": "PWB", "percent": 50}}
    found = brief("chair", weight_bearing=half)
    assert "Stand on right leg, left within its limit." in told(found)
    assert "guards right knee" in told(found)
    assert "only" not in told(found)


def test_a_move_that_waits_asks_nothing_and_makes_nothing_ready() -> None:
    found = brief("chair", precautions=["bed_rest"])
    assert found.way is Way.NOT_NOW
    assert (found.helpers, found.people, found.scene, found.asked) == (None, (), None, ())
    assert found.shown[0].says.startswith("Do not move: ")
    assert {line.phase for line in found.lines} == {Phase.WHO, Phase.MIND}


def test_an_ended_assessment_gives_no_brief() -> None:
    late = NOW.replace(day=5)
    found = brief_for(patient(), Task.CHAIR, Policy(), late)
    assert found.expired
    assert found.way is Way.NOT_NOW


def test_people_missing_are_said_and_called_by_letters() -> None:
    found = brief_for(patient(precautions=["spinal"]), Task.TURN, Policy(), NOW, [Helper("JN", 165)])
    assert [person.name for person in found.people] == ["JN", "A", "B", "C"]
    assert found.notes == ("4 people needed, 1 named: fetch 3 more first",)


def test_one_person_cannot_stand_in_two_places() -> None:
    with pytest.raises(HelpersRefused, match="JN is named twice"):
        brief_for(patient(), Task.TURN, Policy(), NOW, [Helper("JN"), Helper("JN")])


@pytest.mark.parametrize(("side", "guards"), [("left", "JN"), ("right", "JN")])
def test_who_stands_at_the_weak_side_guards_that_knee(side: str, guards: str) -> None:
    """VHA and standard teaching: toward the stronger side; a weak knee is guarded from where it is."""
    found = brief("chair", weak_side=side, help={"chair": "moderate"}, weight_kg=60)
    assert found.way is Way.PIVOT
    (guard,) = [person.name for person in found.people if f"guards {side} knee" in person.does]
    assert guard == guards
    assert found.scene is not None
    assert found.scene.side != side
    assert f"Stand on {'right' if side == 'left' else 'left'} leg, {side} helps." in told(found)


def test_nobody_turns_on_one_leg_while_the_other_is_numb() -> None:
    """A numb leg cannot be held up, and nobody walks round holding it: seated, to the other side."""
    tested = {"left_leg": {"straight_leg_raise": False}}
    found = brief("chair", legs=tested, aids=["gait_belt", "front_wheeled_walker"])
    assert found.way is Way.BOARD
    assert found.helpers == 2
    assert found.scene is not None
    assert found.scene.side == "right"
    assert "on right leg" not in told(found)
    stand = told(brief("stand", legs=tested, aids=["gait_belt", "front_wheeled_walker"]))
    assert "Stand on right leg only." in stand
    assert "left foot touches" not in stand, "it rests on the floor: nobody can hold it up"


@pytest.mark.parametrize("task", [Task.TURN, Task.BOOST, Task.STRETCHER, Task.CHAIR, Task.UP_IN_CHAIR])
def test_an_airway_has_one_person_who_counts_and_the_others_move(task: Task) -> None:
    """LHSC: one named person holds tube and head, does nothing else, gives the count."""
    found = brief(task, lines=[{"kind": "endotracheal tube"}], standing="unable", stepping="unable", help=ALL)
    first, *others = [person.does for person in found.people]
    along = task is Task.CHAIR
    assert first == f"leads, counts, holds tube and head{', walks along' if along else ' only'}"
    assert len(others) >= 2
    assert not [does for does in others if "leads" in does or "counts" in does or "watches" in does]
    if found.way is Way.LIFT:
        assert "works the lift" in others


def test_a_tracheostomy_alone_takes_nobody_from_the_move() -> None:
    """The plan counts a person more for a tube in the mouth only."""
    found = brief("boost", lines=[{"kind": "tracheostomy"}])
    assert [person.does for person in found.people][1] == "same, other side, watches the lines"


def test_who_is_counted_for_the_lines_only_does_nothing_else() -> None:
    """The plan says so: each time one of them only watches the tubes."""
    kinds = ("chest tube", "Foley", "peripheral IV", "PEG", "wound vac")
    found = brief("boost", lines=[{"kind": kind} for kind in kinds])
    assert found.people[-1].does == "only watches the lines"
    assert [person.does for person in found.people].count("only watches the lines") == 1


def test_the_height_said_is_the_height_kept_also_where_one_only_watches() -> None:
    """Said without the watcher and kept with all, the page and its data named two heights."""
    kinds = ("chest tube", "Foley", "peripheral IV", "PEG", "wound vac")
    record = patient(lines=[{"kind": kind} for kind in kinds])
    people = [Helper("JN", 165), Helper("AB", 170), Helper("KL", 195)]
    found = brief_for(record, Task.BOOST, Policy(), NOW, people)
    assert found.people[-1].does == "only watches the lines"
    assert found.bed_height is not None
    assert f"{found.bed_height.says}." in told(found)


def test_a_neck_not_cleared_is_held_at_the_lift_too() -> None:
    neck = {"precautions": ["spinal_cervical"], "standing": "unable", "stepping": "unable", "help": ALL}
    found = brief("floor", **neck)
    assert found.way is Way.LIFT
    assert found.people[0].does == "leads, counts, holds head and neck only"
    assert "Sling under by log roll" in told(found)


@pytest.mark.parametrize("task", ["chair", "toilet"])
@pytest.mark.parametrize("much", ["moderate", "total"])
def test_a_machine_ends_in_the_seat_it_goes_to(task: str, much: str) -> None:
    """Braked, drawn, lowered into, and left there; not back in bed."""
    found = brief(task, help={"chair": much, "toilet": much})
    seat = "commode" if task == "toilet" else "chair"
    assert found.way in BY_MACHINE
    assert f"Brakes on: bed, {seat}." in told(found)
    assert "ips back, call light in hand." in told(found)
    assert ("Sling off" in told(found)) == (found.way is Way.STANDING_AID)
    assert "back in bed" not in told(found)
    assert found.scene is not None
    assert found.scene.box(Thing.CHAIR) is not None


def test_one_who_walks_is_told_each_step_not_touched_unasked() -> None:
    found = brief("walk", weight_bearing={"right_leg": "TTWB"}, aids=["front_wheeled_walker", "gait_belt"])
    assert found.way is Way.WALK
    assert "Say each step before it is taken." in told(found)
    assert "ask no effort" not in told(found).lower()


@pytest.mark.parametrize("task", ["stand", "chair", "walk"])
def test_legs_that_may_give_have_the_seat_where_it_is(task: str) -> None:
    """A seat within reach where it follows; standing up and turning the nearer seat is said at stop."""
    found = brief(task, standing="supported")
    assert ("a seat within reach" in " ".join(line.says for line in found.of(Phase.MIND))) == (task == "walk")
    seat = "brake chair, sit" if task == "walk" else "sit, nearer seat"
    assert f"a leg weak: {seat}; call" in told(found)


@pytest.mark.parametrize(("hips", "says"), [(["left"], "Left hip: "), (["left", "right"], "Both hips: ")])
def test_a_hips_order_names_the_hip(hips: list[str], says: str) -> None:
    found = brief("chair", precautions=[f"hip_posterior_{side}" for side in hips], aids=["gait_belt"])
    assert f"{says}no bend past 90" in told(found)


def test_what_is_said_is_said_in_the_patients_language() -> None:
    found = brief("chair", communication={"language": "es", "interpreter": True})
    assert "In Spanish: interpreter explains first." in told(found)


def test_the_toilet_is_no_chair() -> None:
    found = brief("toilet")
    assert "Brakes on: bed, commode." in told(found)
    assert "chair" not in " ".join(line.says for line in found.of(Phase.READY)).lower()


@pytest.mark.parametrize(
    ("sore", "side"), [([], "right"), (["right_hip"], "left"), (["left_hip", "right_hip"], "right")]
)
def test_nobody_is_rolled_onto_a_sore_hip_where_the_other_is_whole(sore: list[str], side: str) -> None:
    """In the words as in the picture."""
    found = brief("turn", sore_sites=sore)
    assert f"roll to patient's {side}" in told(found)
    assert found.scene is not None
    assert found.scene.side == side


@pytest.mark.parametrize(
    "facts", [{"precautions": ["head_up_30"]}, {"pregnancy_weeks": 20}], ids=["head up", "20 weeks"]
)
def test_no_bed_is_laid_flat_against_an_order_or_late_in_pregnancy(facts: dict[str, object]) -> None:
    """From 20 weeks (Transl Perioper Pain Med 2014;1(2):22); the day before it may."""
    assert "Bed flat." not in told(brief("turn", **facts))
    assert "Bed flat." in told(brief("turn", pregnancy_weeks=19))
