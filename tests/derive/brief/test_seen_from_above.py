"""The picture as geometry: everybody planned is drawn, nobody in a thing or another, facings follow."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mobicard.derive import Policy
from mobicard.derive.brief import brief_for
from mobicard.derive.brief.from_above.scene import (
    BODY_CM,
    Box,
    Posture,
    Scene,
    Stands,
    Thing,
    apart,
    mirrored,
    towards,
)
from mobicard.derive.brief.values import figure
from mobicard.derive.brief.ways import COUNTED_AT_THE_HEAD, Way
from mobicard.facts import read_record
from mobicard.facts.words import Task
from tests.derive.brief.patients_known import NOW, brief, patient
from tests.derive.patients import patients

POLICY = Policy()
LEFT_OFF = {"weight_bearing": {"left_leg": "TTWB"}, "aids": ["front_wheeled_walker"]}
RIGHT_OFF = {"weight_bearing": {"right_leg": "TTWB"}, "aids": ["front_wheeled_walker"]}
LEFT_HALF = {"weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}}}


def scene_of(task: str, **facts: Any) -> Scene:
    found = brief(task, **facts).scene
    assert found is not None
    return found


def between(one: Stands) -> tuple[float, float]:
    """The middle of what somebody's hands hold."""
    hands = [one.hand, *([one.other_hand] if one.other_hand else [])]
    return (sum(x for x, _ in hands) / len(hands), sum(y for _, y in hands) / len(hands))


def well_placed(scene: Scene, way: Way | None = None) -> None:
    """Nobody within a thing, nobody within another, each hand within reach; each faces what is held, and
    beside a boost or who walks the way it goes."""
    for one in scene.helpers:
        for box in scene.boxes:
            assert box.away((one.x, one.y)) >= BODY_CM - 1, (one.name, box.thing)
        if one.hand == (one.x, one.y):  # holds nothing
            continue
        reach = figure("reach_cm", "over" if way in (Way.ROLL, Way.LOG_ROLL) else "across")
        for hand in (one.hand, *([one.other_hand] if one.other_hand else [])):
            assert apart((one.x, one.y), hand) <= reach
        beside = way in (Way.BOOST, Way.IN_LINE, Way.WALK) and abs(one.x) > BODY_CM
        right = 270 if beside else towards((one.x, one.y), between(one))
        assert abs((right - one.facing + 180) % 360 - 180) < 2, one.name
    for one, other in combinations(scene.helpers, 2):
        assert apart((one.x, one.y), (other.x, other.y)) >= 2 * BODY_CM - 1, (one.name, other.name)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(patients(), st.sampled_from(list(Task)))
def test_helpers_drawn_are_helpers_planned(facts: dict[str, Any], task: Task) -> None:
    found = brief_for(read_record(facts), task, POLICY, NOW)
    if found.scene is None:
        assert found.helpers is None
        return
    assert [one.name for one in found.scene.helpers] == [person.name for person in found.people]
    assert len(found.scene.helpers) == found.helpers
    well_placed(found.scene, found.way)


@pytest.mark.parametrize("task", ["turn", "stretcher", "boost"])
def test_the_leader_stands_at_the_head_where_it_is_counted_there(task: str) -> None:
    found = brief(task, precautions=["spinal"])
    assert found.way in COUNTED_AT_THE_HEAD
    assert found.scene is not None
    leader = next(one for one in found.scene.helpers if one.leads)
    bed = found.scene.box(Thing.BED)
    assert bed is not None
    assert leader.y < bed.y - bed.along / 2
    assert leader.facing == pytest.approx(90, abs=1)


@pytest.mark.parametrize(("facts", "side"), [(LEFT_HALF, "right"), ({}, "right"), (RIGHT_OFF, "left")])
def test_the_chair_is_at_the_stronger_side(facts: dict[str, Any], side: str) -> None:
    """Seated at the edge, the chair lies on the patient's own stronger hand."""
    scene = scene_of("chair", **facts)
    chair, body = scene.box(Thing.CHAIR), scene.patient
    assert chair is not None
    assert scene.side == side
    away = towards((body.x, body.y), (chair.x, chair.y))
    off = abs((away - body.side_of(side) + 180) % 360 - 180)
    assert off < 60


@pytest.mark.parametrize(("facts", "turn"), [(LEFT_HALF, 45), ({}, 45), (LEFT_OFF, 90), (RIGHT_OFF, 90)])
def test_the_turn_is_the_published_one_and_never_past_a_quarter(facts: dict[str, Any], turn: float) -> None:
    """BCcampus checklist 30: 45 degrees with small steps; on one leg a quarter turn with the seat behind."""
    found = brief("chair", **facts)
    assert found.way is Way.PIVOT
    assert found.scene is not None
    assert found.scene.turn_degrees == turn <= figure("chair", "most_turn_on_one_leg")


@pytest.mark.parametrize("facts", [LEFT_HALF, {}, LEFT_OFF, RIGHT_OFF])
def test_the_seat_is_within_reach_of_the_backs_of_the_legs(facts: dict[str, Any]) -> None:
    """One small step at most; none on one leg."""
    scene = scene_of("chair", **facts)
    body = scene.patient
    assert body.feet is not None
    assert body.goes_to is not None
    most = figure("chair", "small_step_cm") if body.carries is None else BODY_CM
    assert apart(body.feet, body.goes_to) <= most


@pytest.mark.parametrize("facts", [LEFT_HALF, LEFT_OFF, RIGHT_OFF])
def test_the_chair_touches_the_bed_and_is_not_in_it(facts: dict[str, Any]) -> None:
    scene = scene_of("chair", **facts)
    bed, chair = scene.box(Thing.BED), scene.box(Thing.CHAIR)
    assert bed is not None
    assert chair is not None
    nearest = min(abs(x) for x, _ in chair.corners())
    assert nearest == pytest.approx(bed.across / 2, abs=1)


def test_the_turn_is_said_as_it_is_drawn() -> None:
    assert "Turn LEFT 45°: legs feel chair" in str([line.says for line in brief("chair").lines])
    found = brief("chair", **RIGHT_OFF)
    assert "Turn RIGHT 90°, right toes lead: legs feel chair" in str([line.says for line in found.lines])
    assert "Chair at patient's left, alongside" in str([line.says for line in found.lines])


@pytest.mark.parametrize("facts", [LEFT_OFF, RIGHT_OFF])
def test_the_leg_that_carries_is_the_guarded_one(facts: dict[str, Any]) -> None:
    """Whoever stands in front of the carrying side faces the patient from there, not across the chair."""
    found = brief("chair", **facts)
    assert found.scene is not None
    carries = found.scene.patient.carries
    assert carries is not None
    assert f"guards {carries} knee" in str([person.does for person in found.people])
    assert found.scene.patient.guarded != carries


def test_the_other_side_is_the_mirror() -> None:
    left, right = scene_of("chair", **LEFT_OFF), scene_of("chair", **RIGHT_OFF)
    assert mirrored(left) == right
    assert mirrored(mirrored(left)) == left


@pytest.mark.parametrize(("side", "sign"), [("left", 1), ("right", -1)])
def test_a_line_leaves_the_body_on_its_own_side(side: str, sign: int) -> None:
    """On the back, head up the page, the patient's right is on the viewer's left."""
    scene = scene_of("boost", lines=[{"kind": "drip", "side": side}])
    (track,) = [one for one in scene.tracks if one.what == "line"]
    assert (track.points[0][0] - scene.patient.x) * sign > 0


def test_nobody_pulls_across_the_stretcher() -> None:
    scene = scene_of("stretcher", standing="unable", help={"stretcher": "total"})
    stretcher = scene.box(Thing.STRETCHER)
    assert stretcher is not None
    assert apart((stretcher.x, 0), (0, 0)) > stretcher.across / 2
    well_placed(scene)


@pytest.mark.parametrize("task", [task.value for task in Task])
def test_every_move_is_drawn_with_its_thing(task: str) -> None:
    found = brief(task)
    assert found.scene is not None
    assert found.scene.boxes or found.way is Way.FLAT_LIFT


def test_a_lying_patient_has_left_and_right_as_a_person_on_the_back() -> None:
    scene = scene_of("boost")
    assert scene.patient.posture is Posture.LYING
    assert scene.patient.side_of("right") == 180
    assert scene.patient.side_of("left") == 0


def test_a_box_knows_its_corners_and_its_distance() -> None:
    box = Box(Thing.CHAIR, 0, 0, 20, 40, 0)
    assert set(box.corners()) == {(20.0, 10.0), (-20.0, 10.0), (-20.0, -10.0), (20.0, -10.0)}
    assert box.away((0, 0)) == 0
    assert box.away((23, 14)) == pytest.approx(5)


def test_a_patient_unknown_to_be_stronger_anywhere_goes_to_the_right() -> None:
    assert patient().weight_bearing == {}
    assert scene_of("chair").side == "right"


@pytest.mark.parametrize("task", ["boost", "turn", "chair", "stretcher", "floor"])
def test_who_holds_an_airway_is_drawn_at_the_head(task: str) -> None:
    help_ = {each.value: "total" for each in Task}
    lines = [{"kind": "ventilator"}]
    found = brief(task, lines=lines, standing="unable", stepping="unable", sitting="unable", help=help_)
    assert found.scene is not None
    first = found.scene.helpers[0]
    assert first.leads
    assert first.y < found.scene.patient.y - 90
    assert abs(first.x) < 1
    well_placed(found.scene, found.way)


@pytest.mark.parametrize("task", ["stand", "chair", "walk"])
@pytest.mark.parametrize("leg", ["left_leg", "right_leg"])
def test_a_walker_is_drawn_before_the_patient_clear_of_everybody(task: str, leg: str) -> None:
    """Within an arm's length of the feet, in the way the patient gets up; it goes with the turn."""
    found = brief(task, weight_bearing={leg: "TTWB"}, aids=["front_wheeled_walker", "gait_belt"])
    scene = found.scene
    assert scene is not None
    walker = scene.box(Thing.WALKER)
    assert walker is not None
    assert "Front-wheeled walker in reach." in [line.says for line in found.lines]
    feet = scene.patient.feet
    assert feet is not None
    assert walker.away(feet) <= figure("reach_cm", "across")
    facing = towards(feet, (walker.x, walker.y))
    assert abs((facing - scene.patient.facing + 180) % 360 - 180) < 2
    well_placed(scene, found.way)


@pytest.mark.parametrize("leg", ["left_leg", "right_leg"])
@pytest.mark.parametrize("status", ["NWB", "TTWB"])
def test_no_walker_stands_between_the_belt_and_the_hand_that_holds_it(leg: str, status: str) -> None:
    """As drawn once, its corner did: the hand goes behind the frame."""
    found = brief("chair", weight_bearing={leg: status}, aids=["front_wheeled_walker", "gait_belt"])
    scene = found.scene
    assert scene is not None
    walker, parts = scene.box(Thing.WALKER), [step / 10 for step in range(11)]
    assert walker is not None
    for one in scene.helpers:
        dx, dy = one.hand[0] - one.x, one.hand[1] - one.y
        assert min(walker.away((one.x + part * dx, one.y + part * dy)) for part in parts) > 0, one.name
    assert "then belt" in found.people[1].does
    assert "belt till AB holds, steers walker" in found.people[0].does


def test_half_weight_with_a_walker_is_well_placed_too() -> None:
    """Small steps, so the chair stands at 45 degrees and the frame goes with the turn."""
    aids = ["front_wheeled_walker", "gait_belt"]
    scene = scene_of("chair", weight_bearing={"left_leg": {"status": "PWB", "percent": 50}}, aids=aids)
    assert scene.box(Thing.WALKER) is not None
    assert scene.turn_degrees == 45
    well_placed(scene)


TRUNK_CM = 22.0
"""Half the width of the trunk as it is drawn, with an arm."""


@pytest.mark.parametrize("task", ["boost", "turn", "sit_up", "stretcher"])
@pytest.mark.parametrize("spine", [[], ["spinal"], ["spinal_cervical"]])
def test_nobody_at_the_bedside_reaches_further_than_an_arm(task: str, spine: list[str]) -> None:
    """From where each stands to the near edge of the trunk; over a stretcher the straps are pulled."""
    found = brief(task, precautions=spine, help={each.value: "maximal" for each in Task})
    if found.scene is None or found.way is Way.LIFT:
        return
    stretcher = found.scene.box(Thing.STRETCHER)
    for one in found.scene.helpers:
        beyond = stretcher is not None and (one.x > 0) == (stretcher.x > 0)
        across = abs(one.x - found.scene.patient.x) - TRUNK_CM
        assert across <= figure("reach_cm", "across") or beyond, one.name
        assert not beyond or abs(one.x - stretcher.x) <= stretcher.across / 2 + 25  # type: ignore[union-attr]
    if stretcher is not None:
        assert "Pull sheet straps, no leaning" in str([line.says for line in found.lines])
