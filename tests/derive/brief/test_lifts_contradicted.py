"""What people who teach safe handling contradicted in a brief of a lift; each with what it says since."""

from __future__ import annotations

from mobicard.derive.brief.from_above.scene import Thing
from mobicard.derive.brief.ways import Way
from tests.derive.brief.test_contradicted import drawn
from tests.derive.brief.test_technique import CANNOT, brief, told


def test_a_loaded_lift_is_wheeled_along_the_bed_by_two() -> None:
    """One alone pushed it sideways; who helps had stood on the other side of the bed."""
    found = brief("boost", **{**CANNOT, "weight_kg": 172})
    assert found.way is Way.LIFT
    names = [one.name for one in found.people]
    assert f"{names[0]}, {names[-1]} wheel lift to the head end; lower, loops off." in told(found)
    assert found.scene is not None
    first, last = found.scene.helpers[0], found.scene.helpers[-1]
    assert first.x * last.x > 0


def test_a_lift_before_a_chair_has_its_legs_round_it() -> None:
    """Beyond its legs the load tips it."""
    scene = drawn("up_in_chair", **CANNOT)
    lift, chair = scene.box(Thing.LIFT), scene.box(Thing.CHAIR)
    assert lift is not None
    assert chair is not None
    assert lift.away((chair.x, chair.y)) == 0
    assert lift.away(chair.front()) == 0


def test_whoever_drives_the_lift_does_not_bring_the_lines_too() -> None:
    found = brief(
        "chair", lines=[{"kind": "ventilator"}, {"kind": "arterial line", "side": "left"}], **CANNOT
    )
    assert [one.does for one in found.people] == [
        "leads, counts, holds tube and head, walks along",
        "works the lift",
        "guides patient to chair, brings the lines",
    ]
    assert "Head-support sling of the lift's maker" in told(found)


def test_who_is_breathless_in_a_sling_over_the_bed_has_the_head_raised_there() -> None:
    assert "lower at once onto the bed; breathless: head up; call." in told(
        brief("boost", **{**CANNOT, "weight_kg": 172})
    )


def test_a_sling_is_rolled_under_with_somebody_at_each_side() -> None:
    assert "Both sides manned: sling under by rolling on “move”" in told(brief("chair", **CANNOT))
    fed = brief("chair", lines=[{"kind": "feeding tube"}], **CANNOT)
    assert "Feeding: pump off first." in [line.says for line in fed.lines]


def test_who_wheels_the_lift_along_is_who_was_told_to() -> None:
    """Of five, the last one clears the way and was named."""
    facts = {**CANNOT, "weight_kg": 172, "precautions": ["spinal"], "lines": [{"kind": "ventilator"}]}
    found = brief("boost", **facts)
    helps = next(one.name for one in found.people if "helps wheel" in one.does)
    works = next(one.name for one in found.people if "works the lift" in one.does)
    assert len(found.people) == 5
    assert f"{works}, {helps} wheel lift to the head end" in told(found)
