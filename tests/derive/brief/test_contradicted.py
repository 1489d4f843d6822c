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
from tests.derive.brief.test_technique import CANNOT, SOME_HELP, brief, told

FRAME = ["front_wheeled_walker", "gait_belt"]


def drawn(task: str, **facts: Any) -> Scene:
    scene = brief(task, **facts).scene
    assert scene is not None
    return scene


@pytest.mark.parametrize("task", ["boost", "turn", "stretcher"])
def test_who_is_breathless_has_the_head_raised_unless_it_must_stay_flat(task: str) -> None:
    """They were told to lay the patient back."""
    first = {"boost": "hold, head up", "stretcher": "likewise, head up"}.get(task, "head up")
    assert f"Breathless: {first}. Call." in told(brief(task))
    for order in ("head_flat", "spinal"):
        assert "tilt whole bed, not the backrest." in told(brief(task, precautions=[order]))


def test_who_is_on_the_way_to_the_stretcher_is_first_on_one_surface() -> None:
    """Nobody sits up across the gap between bed and stretcher, and a tube that pulls is first given slack."""
    says = told(brief("stretcher", precautions=["spinal"]))
    assert "Pain: onto one surface. Tube pulls: stop, slack. Breathless: likewise, tilt whole bed" in says


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
    assert "lower at once onto bed or chair (under, braked); call." in told(aid)
    assert "lower at once onto bed or chair (under, braked); call." in told(brief("chair", **CANNOT))
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
    assert "Slide sheet under shoulders to hips." in told(brief("boost"))
    one = told(brief("boost", weight_bearing={"left_leg": "NWB"}))
    assert "Slide sheet under shoulders to hips, left leg too." in one
    assert "Slide sheet under shoulders to heels." in told(brief("boost", directions="unable"))
