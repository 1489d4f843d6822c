"""How a move is done, held against what three readers of the trade contradicted; each with its source."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from mobicard.derive import Policy
from mobicard.derive.brief import Brief, Helper, Phase, brief_for
from mobicard.derive.brief.from_above.arrange import on_side
from mobicard.derive.brief.from_above.scene import BODY_CM, Posture, Scene, Stands, Thing, apart, towards
from mobicard.derive.brief.ways import BY_MACHINE, Way
from mobicard.facts.words import Task
from tests.derive.brief.patients_known import NOW, PEOPLE, brief, patient, told
from tests.derive.brief.twelve import TWELVE, twelve

TOTAL = dict.fromkeys([task.value for task in Task], "total")
CANNOT = {"standing": "unable", "stepping": "unable", "help": TOTAL}
SOME_HELP = dict.fromkeys([task.value for task in Task], "minimal")


def drawn(found: Brief) -> Scene:
    assert found.scene is not None
    return found.scene


def does(found: Brief) -> dict[str, str]:
    return {person.name: person.does for person in found.people}


def by_name(found: Brief) -> dict[str, Stands]:
    return {one.name: one for one in drawn(found).helpers}


@pytest.mark.parametrize("facts", [{}, {"weak_side": "left"}, {"precautions": ["spinal"]}, CANNOT])
def test_who_boosts_beside_the_bed_faces_its_head(facts: dict[str, Any]) -> None:
    """Weight goes from foot to foot along the way of the move; nobody faces across. Fray and Holgate 2018:
    offset feet, the pull in their line."""
    found = brief("boost", **facts)
    assert found.way in (Way.BOOST, Way.IN_LINE)
    beside = [one for one in drawn(found).helpers if abs(one.x) > BODY_CM]
    assert len(beside) >= 2
    assert {one.facing for one in beside} == {270}
    (move,) = [track for track in drawn(found).tracks if track.what == "move"]
    assert towards(*move.points) == 270
    assert "Face the head end, feet apart, one ahead" in told(found)


@pytest.mark.parametrize("weight", [44, 80, 96, 150, 200])
@pytest.mark.parametrize("much", ["minimal", "maximal", "total"])
def test_a_slide_is_pulled_by_several_and_pushed_by_one(weight: float, much: str) -> None:
    """BCcampus 3.7, checklist 25: one at the head, two at the stretcher's side at shoulders and hips, one on
    the far side between chest and hips. Of the two of OSHA 3182 (2009), Fig. 2, one pulls and one pushes."""
    record = patient(weight_kg=weight, help={**TOTAL, "stretcher": much})
    found = brief_for(record, Task.STRETCHER, Policy(), NOW)
    if found.way is not Way.SLIDE:
        return
    stretcher, bed = drawn(found).box(Thing.STRETCHER), drawn(found).box(Thing.BED)
    assert stretcher is not None
    assert bed is not None
    assert len(drawn(found).helpers) == found.helpers
    pulls = {name for name, what in does(found).items() if "pulls at" in what}
    pushes = {name for name, what in does(found).items() if "pushes" in what}
    beyond = (stretcher.x - bed.x) > 0
    assert len(pulls) >= min(2, (found.helpers or 0) - 1)
    assert len(pushes) >= 1
    assert all((by_name(found)[name].x > stretcher.x) == beyond for name in pulls)
    assert all((by_name(found)[name].x < bed.x) == beyond for name in pushes)
    assert "head to feet" in told(found) or "feet too" in told(found)
    (leader,) = [one for one in found.people if one.leads]
    if len(found.people) == 2:
        assert {leader.name} == pulls
        return
    assert "head" in leader.does
    assert len(found.people) == 3 or by_name(found)[leader.name].y < 0


def lifted(task: Task) -> list[Brief]:
    """Every brief of this move by a machine, of twelve patients."""
    found = (brief_for(record, task, Policy(), NOW, PEOPLE) for record in twelve().values())
    return [one for one in found if one.way in BY_MACHINE]


@pytest.mark.parametrize("task", list(Task))
def test_what_is_raised_is_lowered_again(task: Task) -> None:
    """No brief of a machine ends with the patient hanging. FDA, patient lifts: never left in it."""
    for found in lifted(task):
        last = found.of(Phase.DO)[-1].says.lower()
        assert "lower" in last or "down" in last, last


@pytest.mark.parametrize("task", list(Task))
def test_at_a_machine_one_counts_one_works_it_one_guides_the_patient(task: Task) -> None:
    """FDA guide: most lifts two. Common practice, no source: who does which is named."""
    for found in lifted(task):
        if found.way is Way.FLAT_LIFT:
            continue
        says = list(does(found).values())
        assert sum("counts" in what for what in says) == 1, says
        assert sum("works the" in what for what in says) == 1, says
        guided = ("guides the patient", "guides patient to", "draws sling back")
        assert sum(any(word in what for word in guided) for what in says) == 1, says


def test_up_from_the_floor_is_looked_at_before_and_after_with_a_head_held_and_a_bed_ready() -> None:
    """AHRQ Tool 3N, NPSA 2011: looked at for injury before anybody is moved. Bed low to be lowered onto,
    then at the helpers' height: 165 and 180 cm, hip to elbow 93-101 (ANSUR II)."""
    found = brief("floor", **CANNOT)
    assert found.way is Way.LIFT
    steps = [line.says for line in found.of(Phase.DO)]
    assert steps[0].startswith("Look first. Head, neck, back, limb hurt: do not move, call.")
    assert steps[1].startswith("Pillow under head.")
    assert steps[-1].startswith("Hand's breadth up: stop, check head, loops. Over bed, lower, loops off")
    assert "bed 93-101 cm, sling out" in steps[-1]
    assert "Bed beside: brakes, low as lift allows." in told(found)
    assert "Wheel lift in, beyond head, under knees AB raises." in [line.says for line in found.lines]
    assert found.bed_height is not None
    assert found.bed_height.low_cm == 93
    assert "Look again: pain, head, limbs" in told(found)
    head = next(one for one in found.people if "head" in one.does)
    assert by_name(found)[head.name].y < drawn(found).patient.y - 90
    assert drawn(found).box(Thing.BED) is not None


def test_a_neck_that_is_not_cleared_gets_no_pillow() -> None:
    found = brief("floor", precautions=["spinal_cervical"], **CANNOT)
    assert "Head and neck in line." in told(found)
    assert "Pillow" not in told(found)


WATCHED = [
    ("boost", {}),
    ("turn", {}),
    ("turn", {"precautions": ["spinal"]}),
    ("boost", {"precautions": ["spinal"]}),
    ("stretcher", {}),
    ("boost", {"weight_kg": 100, **CANNOT}),
    ("floor", CANNOT),
    ("chair", {}),
    ("chair", {"weak_side": "left"}),
]


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("kinds", [1, 5])
@pytest.mark.parametrize(("task", "facts"), WATCHED)
def test_who_watches_the_lines_stands_where_they_are(
    task: str, facts: dict[str, Any], kinds: int, side: str
) -> None:
    """Common practice, no source: on the lines' side of one who lies, wherever anybody stands there."""
    names = ("peripheral IV", "chest tube", "Foley", "PEG", "wound vac")[:kinds]
    found = brief(task, lines=[{"kind": name, "side": side} for name in names], **facts)
    scene = drawn(found)
    (track,) = [one for one in scene.tracks if one.what == "line"]
    watcher = next(name for name, what in does(found).items() if "watches the lines" in what)
    if scene.patient.posture is Posture.LYING:
        there = [one.name for one in scene.helpers if on_side(one, track, scene.patient)]
        assert not there or watcher in there
    else:
        nearest = min(scene.helpers, key=lambda one: apart((one.x, one.y), track.points[-1]))
        assert watcher == nearest.name or nearest.leads


@pytest.mark.parametrize("side", ["left", "right"])
def test_lines_of_one_who_stays_in_bed_stay_on_their_side(side: str) -> None:
    """They do not cross the patient to a pole on the other one."""
    scene = drawn(brief("boost", lines=[{"kind": "drip", "side": side}]))
    (track,) = [one for one in scene.tracks if one.what == "line"]
    assert all((x - scene.patient.x) * (track.points[0][0] - scene.patient.x) > 0 for x, _ in track.points)


PIVOTS: list[dict[str, Any]] = [
    {},
    {"weak_side": "left"},
    {"weak_side": "right"},
    {"weight_bearing": {"left_leg": "NWB"}, "aids": ["front_wheeled_walker", "gait_belt"]},
    {"weight_bearing": {"right_leg": "TTWB"}, "aids": ["front_wheeled_walker", "gait_belt"]},
]


@pytest.mark.parametrize("facts", PIVOTS)
def test_the_arrow_curves_from_the_bed_into_the_chair_and_at_nobody(facts: dict[str, Any]) -> None:
    """BCcampus checklist 30: turn by steps until the seat is felt behind. The way bends round, to one side
    only, ends within the seat, and never heads for a helper."""
    found = brief("chair", **facts)
    assert found.way is Way.PIVOT
    scene = drawn(found)
    (move,) = [track for track in scene.tracks if track.what == "move"]
    chair, bed = scene.box(Thing.CHAIR), scene.box(Thing.BED)
    assert chair is not None
    assert bed is not None
    assert bed.away(move.points[0]) < 5
    assert chair.away(move.points[-1]) == 0
    ways = [towards(*pair) for pair in pairwise(move.points)]
    bends = [(then - now + 180) % 360 - 180 for now, then in pairwise(ways)]
    assert all(bend > 0 for bend in bends) or all(bend < 0 for bend in bends)
    assert sum(map(abs, bends)) > 45
    for one in scene.helpers:
        assert min(apart((one.x, one.y), point) for point in move.points) > BODY_CM
        off = (towards(move.points[-1], (one.x, one.y)) - ways[-1] + 180) % 360 - 180
        assert abs(off) > 30, one.name


@pytest.mark.parametrize("hip", ["left", "right"])
@pytest.mark.parametrize("task", ["stand", "chair", "toilet"])
def test_with_a_hip_limit_the_higher_seat_wins_over_flat_feet(task: str, hip: str) -> None:
    """A seat as low as the knees takes the hip past 90 degrees: the seat stands above the sitting knee,
    165 cm: 52 (ANSUR II) and 5 more. That a hip limit wants it so: common practice, no source."""
    facts: dict[str, Any] = {"precautions": [f"hip_posterior_{hip}"], "aids": ["gait_belt"]}
    found = brief(task, **facts)
    assert "Mattress/seat 57 cm, hips above knees." in told(found)
    assert "cm, feet flat" not in told(found)
    assert found.bed_height is not None
    assert found.bed_height.low_cm == 57


def test_without_a_stature_a_hip_limit_takes_the_highest_bed() -> None:
    """CDC stacks 230528: 51 to 66 cm."""
    found = brief("stand", precautions=["hip_posterior_left"], height_cm=None, aids=["gait_belt"])
    assert found.bed_height is not None
    assert found.bed_height.low_cm == 66


@pytest.mark.parametrize("task", ["stand", "chair", "toilet"])
def test_dizziness_stops_the_standing_aid(task: str) -> None:
    """Freeman 2011: a fall of pressure shows within 3 minutes of standing, in a machine as well."""
    found = brief(task, help={**SOME_HELP, task: "moderate"})
    assert found.way is Way.STANDING_AID
    stop = " ".join(line.says for line in found.of(Phase.STOP))
    assert "Dizzy" in stop
    onto = {"stand": "the bed", "chair": "bed or braked chair"}.get(task, "bed or braked commode")
    assert f"lower at once onto {onto}" in stop


def test_a_log_roll_is_called_so_and_says_where_arms_and_hands_are() -> None:
    """Common practice, no source: arms crossed, one at the head who counts, hands over the far
    shoulder and hip, hip and knee; everybody who rolls on the side rolled to."""
    found = brief("turn", **{**CANNOT, "precautions": ["spinal_cervical"]})
    assert found.way is Way.LOG_ROLL
    assert found.says == "Log roll, as one piece"
    assert "Arms crossed on chest, pillow between legs." in told(found)
    first, chest, hips, legs, behind = found.people
    assert (first.does, first.leads) == ("at the head: holds head and neck, leads, counts", True)
    assert chest.does == "reaches over: far shoulder and hip"
    assert hips.does == "reaches over: far hip and knee"
    assert "legs" in legs.does
    placed, body = by_name(found), drawn(found).patient
    rolled_to = {placed[one.name].x < body.x for one in (chest, hips, legs)}
    assert len(rolled_to) == 1
    assert (placed[behind.name].x < body.x) not in rolled_to
    for one in (chest, hips):
        held = (placed[one.name].hand, placed[one.name].other_hand)
        assert all(hand and (hand[0] > body.x) != (placed[one.name].x > body.x) for hand in held)
    ys = [placed[chest.name].hand[1], placed[hips.name].other_hand[1]]  # type: ignore[index]
    assert ys[0] < 70
    assert ys[1] > 130


@pytest.mark.parametrize("order", ["hip_posterior_left", "hip_anterior_right"])
def test_no_leg_is_laid_across_the_other_with_a_hip_order(order: str) -> None:
    """Common practice, no source: not crossed, a pillow between."""
    assert "leg over" not in told(brief("turn", precautions=[order]))
    assert "pillow between the legs" in told(brief("turn", precautions=[order]))
    assert "Left arm across, left leg over." in told(brief("turn"))


def test_an_ended_look_asks_for_a_fresh_one_and_forbids_nothing() -> None:
    """Nobody ordered bed rest: the last look has run out, that is all."""
    found = brief_for(patient(), Task.CHAIR, Policy(), NOW.replace(day=5))
    assert found.shown[0].says.startswith("Look at the patient first: the last look has run out")
    assert "until cleared" not in told(found)
    assert "Do not move" not in told(found)
    resting = brief("chair", precautions=["bed_rest"])
    assert resting.shown[0].says.startswith("Do not move: ")


@pytest.mark.parametrize("aid", ["front_wheeled_walker", "platform_walker", "four_wheeled_walker"])
@pytest.mark.parametrize("much", ["standby", "minimal"])
def test_who_walks_with_a_frame_has_it_in_the_picture(aid: str, much: str) -> None:
    """Also one who walks alone with somebody close by."""
    found = brief("walk", aids=[aid, "gait_belt"], standing="steady", help={**SOME_HELP, "walk": much})
    assert (found.way is Way.ALONE) == (much == "standby")
    walker = drawn(found).box(Thing.WALKER)
    assert walker is not None
    assert drawn(found).patient.posture is Posture.STANDING
    assert all(walker.away((one.x, one.y)) >= BODY_CM for one in drawn(found).helpers)


@pytest.mark.parametrize("task", ["boost", "turn"])
def test_who_moves_alone_in_bed_is_drawn_lying(task: str) -> None:
    found = brief(task, help=dict.fromkeys(SOME_HELP, "standby"))
    assert found.way is Way.ALONE
    assert drawn(found).patient.posture is Posture.LYING


def test_words_over_ten_moves_of_twelve_patients() -> None:
    """Thirty seconds standing: nine in ten within 120 words, the longest within 140; no stop sign dropped."""
    words = []
    for record in (patient(**{"bed": f"5N-{n:02}", **facts}) for n, facts in enumerate(TWELVE.values(), 1)):
        for task in Task:
            needed = brief_for(record, task, Policy(), NOW).helpers or 0
            people = [Helper(name, cm) for name, cm in zip("JKLMP", (165, 178, 172, 170, 160), strict=True)]
            found = brief_for(record, task, Policy(), NOW, people[:needed])
            words.append(found.words)
            assert all(line.shown for line in found.lines if line.phase is Phase.STOP)
    words.sort()
    assert words[len(words) * 9 // 10 - 1] <= 120
    assert words[-1] <= 140


PIVOTS_OF_TWO = (
    {},
    {"weight_bearing": {"right_leg": "NWB"}},
    {"weight_bearing": {"left_leg": "TTWB"}},
)


@pytest.mark.parametrize("facts", PIVOTS_OF_TWO)
def test_the_second_one_stands_at_the_free_arm_of_the_seat(facts: dict[str, Any]) -> None:
    """Near belt and knee of who stands before it, a little behind: never in the turn."""
    found = brief("chair", **facts)
    scene = drawn(found)
    chair, guard = scene.box(Thing.CHAIR), scene.helpers[1]
    assert chair is not None
    off = (towards(chair.front(), (guard.x, guard.y)) - chair.facing + 180) % 360 - 180
    assert abs(off) > 90
    assert chair.away((guard.x, guard.y)) < 2 * BODY_CM
    assert "beside seat" in does(found)[guard.name]


@pytest.mark.parametrize("leg", ["left_leg", "right_leg"])
def test_on_one_leg_the_leg_is_named_the_hands_hold_something_and_the_way_back_is_said(leg: str) -> None:
    facts = {"weight_bearing": {leg: "NWB"}, "aids": ["gait_belt"]}
    carries = "right" if leg == "left_leg" else "left"
    says = told(brief("chair", **facts))
    assert "then chair arm" in says
    off = "left" if carries == "right" else "right"
    assert f"{carries} leg weak, {off} foot touches: sit, nearer seat; call" in says
    assert f"{carries} foot flat" in says
    assert "steps back with turn" in says
    assert f"Return: chair turned, bed {carries}; turn {off.upper()}." in says
    assert "then walker" in told(brief("chair", **{**facts, "aids": ["front_wheeled_walker", "gait_belt"]}))
    assert "then chair" not in told(brief("chair", **facts, arms="neither"))


@pytest.mark.parametrize("task", ["chair", "toilet"])
def test_the_way_to_the_seat_meets_no_leg_of_the_aid_and_nobody(task: str) -> None:
    found = brief(task, help={**SOME_HELP, task: "moderate"})
    scene = drawn(found)
    aid, chair = scene.box(Thing.AID), scene.box(Thing.CHAIR)
    assert aid is not None
    assert chair is not None
    (move,) = [track for track in scene.tracks if track.what == "move"]
    for (x0, y0), (x1, y1) in pairwise(move.points):
        way = [(x0 + (x1 - x0) * t / 9, y0 + (y1 - y0) * t / 9) for t in range(10)]
        assert all(aid.away(point) > 0 for point in way)
        assert all(apart((one.x, one.y), point) > BODY_CM for one in scene.helpers for point in way)
    for one in scene.helpers[1:]:
        assert (one.y > aid.y) == (chair.y > aid.y), one.name
    assert "Back from the bed; turn patient LEFT 90°" in told(found)
