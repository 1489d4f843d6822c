"""What people who teach safe handling contradicted in a brief, each with what it says or draws since."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from mobicard.derive.brief import Phase
from mobicard.derive.brief.from_above.scene import BODY_CM, Scene, Thing
from mobicard.derive.brief.ways import Way
from mobicard.paper.brief.picture import picture_svg
from mobicard.paper.phrases import Phrases, in_their_language, packaged
from tests.derive.brief.test_seen_from_above import well_placed
from tests.derive.brief.test_technique import CANNOT, SOME_HELP, brief, told

FRAME = ["front_wheeled_walker", "gait_belt"]


def drawn(task: str, **facts: Any) -> Scene:
    scene = brief(task, **facts).scene
    assert scene is not None
    return scene


@pytest.mark.parametrize("task", ["boost", "turn", "stretcher"])
def test_who_is_breathless_has_the_head_raised_unless_it_must_stay_flat(task: str) -> None:
    """They were told to lay the patient back."""
    first = {"boost": "stop", "stretcher": "likewise", "turn": "back"}[task] + ", head up"
    assert f"Breathless: {first}." in told(brief(task))
    for order in ("head_flat", "spinal"):
        assert "tilt whole bed head up, no backrest." in told(brief(task, precautions=[order]))


def test_who_is_on_the_way_to_the_stretcher_is_first_on_one_surface() -> None:
    """Nobody sits up across the gap between bed and stretcher, and a tube that pulls is first given slack."""
    says = told(brief("stretcher", precautions=["spinal"]))
    assert "Pain: onto nearer surface. Breathless: likewise, tilt whole bed" in says


def test_on_one_leg_nobody_stands_before_the_patient_and_the_frame_does() -> None:
    """Both stood in front, one of them where the patient turns."""
    for side in ("left", "right"):
        scene = drawn("chair", weight_bearing={f"{side}_leg": "NWB"}, aids=FRAME)
        leader, body = scene.helpers[0], scene.patient
        assert body.feet is not None
        assert abs(leader.x - body.feet[0]) < BODY_CM, "beside, at the side away from the chair"
        frame = scene.box(Thing.WALKER)
        assert frame is not None
        assert all(frame.away((one.x, one.y)) >= BODY_CM for one in scene.helpers)
        assert all(apart_from_way(scene, one.x, one.y) >= BODY_CM for one in scene.helpers)


def apart_from_way(scene: Scene, x: float, y: float) -> float:
    """How near somebody stands to the patient's own way, cm."""
    way = next(track.points for track in scene.tracks if track.what == "move")
    return min(((x - px) ** 2 + (y - py) ** 2) ** 0.5 for px, py in way)


def test_a_foot_that_only_touches_is_watched_not_held_off() -> None:
    people = " ".join(one.does for one in brief("chair", weight_bearing={"left_leg": "TTWB"}).people)
    assert "watches left foot" in people
    assert "off" not in people


@pytest.mark.parametrize("task", ["chair", "toilet"])
def test_the_way_to_the_seat_crosses_no_leg_of_the_standing_aid(task: str) -> None:
    scene = drawn(task, help={**SOME_HELP, task: "moderate"})
    aid = scene.box(Thing.AID)
    assert aid is not None
    way = next(track.points for track in scene.tracks if track.what == "move")
    assert all(aid.away(point) > 0 for pair in pairwise(way) for point in pair)


def test_a_machine_is_lowered_onto_what_is_named() -> None:
    """“Lower at once”: onto what?"""
    aid = brief("chair", help={**SOME_HELP, "chair": "moderate"})
    assert aid.way is Way.STANDING_AID
    assert "lower at once onto bed or braked chair; call." in told(aid)
    lift = told(brief("chair", **CANNOT))
    assert "lower at once, nearest: bed, braked chair, floor; call." in lift
    assert "lower at once onto the seat, hips back; call." in told(brief("up_in_chair", **CANNOT))
    assert "lower at once, floor or bed; call." in told(brief("floor", **CANNOT))


def test_from_the_floor_there_is_room_between_patient_and_bed() -> None:
    scene = drawn("floor", **CANNOT)
    bed = scene.box(Thing.BED)
    assert bed is not None
    assert bed.away((scene.patient.x, scene.patient.y)) >= 22 + 2 * BODY_CM - 4


def test_knees_that_are_asked_to_bend_are_drawn_bent() -> None:
    found = brief("boost")
    bent = found.scene.patient.bent if found.scene else ()
    assert set(bent) == {"left", "right"}
    assert "“Bend both knees and push.”" in told(found)
    one = brief("boost", weight_bearing={"left_leg": "NWB"})
    assert one.scene is not None
    assert len(one.scene.patient.bent) == 1
    assert picture_svg(one.scene, "a") != picture_svg(drawn("boost"), "a")


@pytest.mark.parametrize("language", ["es", "fr", "ar"])
def test_the_count_is_said_in_the_patient_s_language_too_and_marked(language: str) -> None:
    found = in_their_language(brief("chair"), f"{language}-XX")
    spoken = packaged()[language].spoken
    assert f"“Ready, steady, stand.” ({spoken['stand'].rstrip('.')}, unchecked)" in told(found)
    assert spoken["tell"].rstrip(".") in told(found)
    assert in_their_language(brief("chair"), "vi") == brief("chair")


def test_what_may_not_be_asked_is_said_in_no_language() -> None:
    found = in_their_language(brief("boost", directions="unable"), "es")
    assert packaged()["es"].spoken["move"].rstrip(".") not in told(found)


def test_a_checked_translation_carries_no_mark() -> None:
    own = packaged()["es"].model_dump() | {"checked_by": "house translators"}
    found = in_their_language(brief("chair"), "es", {"es": Phrases.model_validate(own)})
    said = " ".join(line.says for line in found.of(Phase.SAY))
    assert own["spoken"]["stand"].rstrip(".") in said
    assert "unchecked" not in said


def test_a_foot_that_pushes_stands_on_no_slippery_sheet_and_a_leg_that_does_not_drags_on_no_bed() -> None:
    assert "Slide sheet under head to hips." in told(brief("boost"))
    one = told(brief("boost", weight_bearing={"left_leg": "NWB"}))
    assert "Slide sheet under head to hips, left leg too." in one
    assert "Slide sheet under head to heels." in told(brief("boost", directions="unable"))


def test_a_slide_sheet_comes_out_before_anybody_sits_up() -> None:
    for task in ("boost", "turn"):
        assert "Sheet out." in told(brief(task, **CANNOT))


def test_the_aid_bridges_bed_and_stretcher_and_lies_under_before_it_comes() -> None:
    """Placed after, it would be reached for across the stretcher."""
    found = brief("stretcher")
    assert "; then stretcher." in told(found)
    slider, bed = (drawn("stretcher").box(thing) for thing in (Thing.BOARD, Thing.BED))
    assert slider is not None
    assert bed is not None
    xs = [x for x, _ in slider.corners()]
    assert min(xs) < bed.across / 2 < max(xs)


def test_the_board_bridges_hip_and_seat_where_the_arm_is_off() -> None:
    """Once the chair stood alongside, and the way went over its front; nobody held belt or board."""
    for side in ("left", "right"):
        facts = {"weight_bearing": {f"{side}_leg": "absent_limb"}, "standing": "unable", "stepping": "unable"}
        found = brief("chair", **facts)
        assert found.way is Way.BOARD
        scene = drawn("chair", **facts)
        board, chair, bed = (scene.box(thing) for thing in (Thing.BOARD, Thing.CHAIR, Thing.BED))
        assert board is not None
        assert chair is not None
        assert bed is not None
        middles = [board.front(), (2 * board.x - board.front()[0], 2 * board.y - board.front()[1])]
        assert any(chair.away(end) == 0 for end in middles)
        assert any(bed.away(end) == 0 for end in middles)
        arm = {"right": chair.corners()[:2], "left": chair.corners()[2:]}[chair.bare]
        other = {"right": chair.corners()[2:], "left": chair.corners()[:2]}[chair.bare]
        assert board.away(mean(arm)) < board.away(mean(other))
        assert "steadies board, guards knees" in told(found)
        assert "near arm, leg rests off." in told(found)
        assert "Slipping: block knees, hips back." in told(found)


def mean(corners: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    return (sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners))


def test_who_waits_on_the_other_side_of_a_log_roll_has_no_hand_on_the_patient() -> None:
    scene = drawn("turn", **{**CANNOT, "precautions": ["spinal_cervical"]})
    waiting = [one for one in scene.helpers if one.hand == (one.x, one.y)]
    assert [one.facing for one in waiting] == [180.0]
    assert "Headboard off." in told(brief("turn", **{**CANNOT, "precautions": ["spinal_cervical"]}))
    assert "Headboard off." not in told(brief("turn"))


def test_helpers_move_on_the_word_the_patient_hears() -> None:
    assert "“move” (ya)" in told(in_their_language(brief("boost"), "es"))
    assert "“move” (" not in told(in_their_language(brief("boost", directions="unable"), "es"))


def test_the_seat_says_how_one_faces_in_the_end() -> None:
    """Hips go to the left where the body turns right: the head in the seat shows it."""
    for task in ("chair", "toilet"):
        assert 'stroke-dasharray="3 2"' in picture_svg(drawn(task), "a")
        assert 'stroke-dasharray="3 2"' in picture_svg(drawn(task, help={**SOME_HELP, task: "moderate"}), "a")
    assert 'stroke-dasharray="3 2"' not in picture_svg(drawn("walk"), "a")


def test_the_foot_that_only_touches_leads_the_turn_and_a_limited_hip_stays_open_in_sitting() -> None:
    """A foot left behind rolls its hip inward."""
    hip = {"weight_bearing": {"right_leg": "TTWB"}, "precautions": ["hip_posterior_right"]}
    assert "Turn RIGHT 90°, right toes lead: legs feel chair; right forward, sit slowly." in told(
        brief("chair", **hip)
    )
    off = told(brief("chair", weight_bearing={"right_leg": "NWB"}))
    assert "Turn RIGHT 90°, left heel-toe: legs feel chair; sit slowly." in off


def test_beside_a_head_held_by_one_somebody_stands_at_the_open_side_of_the_bed() -> None:
    """Both pulled once, with the rails down and nobody where the patient is rolled to."""
    found = brief("stretcher", lines=[{"kind": "ventilator"}], **CANNOT)
    head, pulls, pushes = found.people
    assert "tube and head only" in head.does
    assert pulls.does.startswith("stretcher side, pulls at shoulder and hip")
    assert pushes.does.startswith("bed side, pushes chest to hips")
    scene = drawn("stretcher", lines=[{"kind": "ventilator"}], **CANNOT)
    assert scene.helpers[1].x * scene.helpers[2].x < 0
    pole = next(track.points[-1] for track in scene.tracks if track.what == "line")
    stretcher = scene.box(Thing.STRETCHER)
    assert stretcher is not None
    assert abs(pole[0]) > max(abs(x) for x, _ in stretcher.corners())


def test_a_tube_that_pulls_stops_a_lift_on_its_way() -> None:
    for task in ("chair", "toilet"):
        assert "Tube pulls: stop, slack." in told(brief(task, lines=[{"kind": "drip"}], **CANNOT))
    assert "Tube pulls" not in told(brief("chair", **CANNOT))


def test_a_turn_ends_in_the_middle_of_the_bed() -> None:
    """Rolled where one lies, one ends at the edge; first to the other side, where two are there to do it."""
    found = brief("turn")
    assert found.scene is not None
    assert found.scene.before[-1][0] * found.scene.arrow[-1][0] < 0
    says = told(found)
    assert says.index("First “move”: AB pulls sheet to patient's left.") < says.index(
        "roll to patient's right"
    )


def test_the_rail_is_up_only_where_nobody_works_or_gets_out() -> None:
    """It was drawn up where one sat up, and between who turned and the patient."""
    assert drawn("sit_up").rail_up == ("right",)
    assert drawn("sit_up", weak_side="right").rail_up == ("left",)
    for task in ("turn", "chair"):
        assert drawn(task).rail_up == ()


@pytest.mark.parametrize("weak", ["left", "right"])
def test_sitting_up_says_the_side_that_is_drawn(weak: str) -> None:
    """The patient lies with the head at the top of the page: whose left is the page's right."""
    found = brief("sit_up", weak_side=weak)
    assert found.scene is not None
    side = "left" if found.scene.arrow[-1][0] > 0 else "right"
    assert f"Roll to patient's {side}." in told(found)


@pytest.mark.parametrize("order", ["hip_posterior_right", "hip_anterior_left"])
def test_nobody_is_rolled_onto_a_hip_with_an_order_to_sit_up(order: str) -> None:
    """Up on the elbows and round on the seat (common practice, no source)."""
    says = told(brief("sit_up", precautions=[order]))
    assert "No roll: onto elbows, leaning back; on “move” turn on bottom to patient's " in says
    leg = "right" if order.endswith("right") else "left"
    assert f"supports {leg} leg over the edge" in says
    assert "Roll to" not in says


def test_what_is_kept_up_is_never_said_to_be_laid_flat_or_to_come_up_again() -> None:
    """“Keep the head up” beside “before laying flat” was read as leave to lay flat."""
    says = told(brief("turn", precautions=["head_up_30"], lines=[{"kind": "feeding tube"}]))
    assert "Feeding: stop the pump first." in says
    assert "flat" not in says
    assert "Feed on again." in says
    assert "30 degrees again" not in says
    assert "Feeding: stop the pump before laying flat." in told(
        brief("turn", lines=[{"kind": "feeding tube"}])
    )


@pytest.mark.parametrize("task", ["boost", "turn"])
def test_whoever_holds_the_tube_reaches_the_head(task: str) -> None:
    says = told(brief(task, lines=[{"kind": "ventilator"}]))
    assert "Headboard off." in says
    assert "against the headboard" not in says


def test_whoever_helps_one_to_sit_up_holds_the_trunk_or_the_leg_that_is_said() -> None:
    """A hand was drawn on the shoulder and the words said the leg."""
    for facts, low, high in (({}, 50, 110), ({"precautions": ["hip_posterior_right"]}, 120, 180)):
        scene = drawn("sit_up", **facts)
        (one,) = scene.helpers
        assert one.other_hand is not None
        for _, y in (one.hand, one.other_hand):
            assert low < y < high
        well_placed(scene)


def test_who_slips_has_the_knee_blocked_that_may_bear() -> None:
    limb = brief("sit_up", weight_bearing={"right_leg": "NWB"}, precautions=["hip_posterior_right"])
    assert "Slipping: block left knee, hips back, trunk leaning back." in told(limb)
    assert "Slipping: block knees, hips back." in told(brief("sit_up"))


def test_the_lines_of_one_who_walks_go_with_the_chair_that_follows() -> None:
    """They were drawn at a pole ahead where nobody was."""
    scene = drawn("walk", lines=[{"kind": "drip", "side": "left"}])
    (track,) = [one for one in scene.tracks if one.what == "line"]
    chair = scene.box(Thing.CHAIR)
    assert chair is not None
    assert chair.away(track.points[-1]) == 0


def test_who_moves_alone_is_told_what_this_move_needs() -> None:
    """Shoes were asked for to turn in bed, and somebody near where nobody is needed."""
    bed = told(brief("turn", help={**SOME_HELP, "turn": "setup"}))
    assert "Needs a hand: stop, fetch help." in bed
    assert "shoes" not in bed
    assert "stays near" not in bed
    assert "One stays near." in told(brief("turn", help={**SOME_HELP, "turn": "standby"}))
    walk = brief("walk", help={**SOME_HELP, "walk": "standby"}, standing="steady")
    assert walk.way is Way.ALONE
    assert "Way clear, shoes on; one stays near." in told(walk)
    assert "Needs a hand: stop, sit, fetch help." in told(walk)


def test_a_leg_that_only_touches_takes_no_push_in_sitting_up() -> None:
    assert "Right leg takes no push." in told(brief("sit_up", weight_bearing={"right_leg": "TTWB"}))
    assert "takes no push" not in told(brief("sit_up"))
    assert "takes no push" not in told(brief("sit_up", weight_bearing={"left_leg": "absent_limb"}))


def test_a_belt_lies_clear_of_a_drain() -> None:
    belt = {"aids": ["gait_belt"]}
    assert "Belt snug, clear of drain." in told(brief("chair", lines=[{"kind": "chest tube"}], **belt))
    assert "Belt snug." in told(brief("chair", lines=[{"kind": "drip"}], **belt))


def test_a_leg_that_is_not_there_is_laid_over_nothing() -> None:
    both = brief("turn", weight_bearing={"left_leg": "absent_limb", "right_leg": "absent_limb"})
    assert "left hip over" in told(both)
    assert "left hip over" in told(brief("turn", weight_bearing={"left_leg": "absent_limb"}))


@pytest.mark.parametrize("order", ["hip_posterior_right", "hip_anterior_left"])
def test_the_plans_own_words_for_sitting_up_do_not_say_to_roll_where_the_brief_says_not_to(
    order: str,
) -> None:
    """The bedside card said to roll to the side, its second side not to."""
    found = brief("sit_up", precautions=[order])
    assert found.method == "no roll: onto the elbows, leaning back, round on the seat, legs down"
    assert found.way is Way.SIT_UP
    assert brief("sit_up").method == "roll to the side, legs down as the trunk comes up"
