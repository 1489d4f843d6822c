"""Who does what: the roles of each way in the order they are filled; the first leads and counts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mobicard.derive.brief.ways import COUNTED_AT_THE_HEAD, Way

SPARE = "clears the way"
"""Everybody the roles do not name."""

ROLES: Mapping[Way, tuple[str, ...]] = {
    Way.ALONE: ("stays within reach, hands off",),
    Way.ROLL: (
        "leads, counts, {roll_hold}",
        "rolls from behind, sets the pillow",
        "guides the legs",
    ),
    Way.LOG_ROLL: (
        "at the head: holds {head_held}, leads, counts",
        "reaches over: far shoulder and hip",
        "reaches over: far hip and knee",
        "reaches over: far legs",
        "opposite: head pillow, checks the back, wedge",
    ),
    Way.BOOST: ("leads, counts, sheet at shoulder and hip", "same, other side", "legs, sheet low"),
    Way.IN_LINE: (
        "at the head: holds {head_held}, leads, counts",
        "sheet at the shoulder",
        "same on the other side",
        "sheet at the hip",
        "same on the other side",
    ),
    Way.SIT_UP: ("leads, counts, {trunk_up}", "takes the legs down", SPARE),
    Way.LOG_SIT: ("leads, counts, shoulder and hip as one piece", "takes the legs down", SPARE),
    Way.STAND: ("leads, counts, {holds}{a_guards}", "{holds}{b_guards}", SPARE),
    Way.PIVOT: (
        "leads, counts, {holds_up}{a_guards}{keeps_off}",
        "beside seat, {holds_too}",
        SPARE,
    ),
    Way.BOARD: ("leads, counts, in front: steadies board, guards knees", "beside: {holds}, follows", SPARE),
    Way.WALK: (
        "leads, {weak_or_weaker} side, a little behind, {holds}",
        "chair close behind{bags_too}",
        "other side",
    ),
    Way.PUSH_BACK: ("leads, counts, pushes at the knees", "behind: guides the trunk"),
    Way.CHAIR_SHEET: ("leads, counts, one side of the sheet", "other side of the sheet", "behind: the chair"),
    Way.SLIDE: (
        "at the head: holds {head_held}, leads, counts",
        "stretcher side, pulls at shoulders",
        "stretcher side, pulls at hips and legs",
        "bed side, chest to hips, pushes till arms straight",
        "bed side, legs",
        "stretcher side, legs",
    ),
    Way.KNEEL: ("leads, says each step, light touch", "other side, light touch", "brings the chair behind"),
    Way.STANDING_AID: (
        "leads, counts, works the standing aid",
        "{at_the_seat}: guides the patient, feet and knees",
        SPARE,
    ),
    Way.LIFT: ("leads, counts, works the lift", "{lift_guide}", "{lift_third}"),
    Way.FLAT_LIFT: (
        "at the head: holds {head_held}, leads, counts",
        "at the trunk",
        "other side, trunk",
        "at the legs",
        "other side, legs",
    ),
}
_FEW: Mapping[Way, tuple[tuple[str, ...], ...]] = {
    Way.LOG_ROLL: (
        ("reaches over: far shoulder and hip, leads, counts",),
        ("reaches over: far shoulder and hip, leads, counts", "far hip and knee, pillow between the legs"),
    ),
    Way.SLIDE: (
        ("leads, counts, stretcher side, stands by",),
        ("leads, counts, stretcher side, {slide_pull}", "bed side, {slide_push}"),
        (
            "leads, counts, stretcher side, pulls at head and shoulders",
            "stretcher side, pulls at hips and legs",
            "bed side, chest to hips, pushes till arms straight",
        ),
    ),
    Way.SIT_UP: (("leads, counts, {trunk_up_alone}",),),
    Way.STAND: (("leads, counts, {holds}, guards the {guarded} knee",),),
    Way.PIVOT: (("leads, counts, in front, {holds}, guards the {guarded} knee{keeps_off}",),),
    Way.BOARD: (("leads, counts, in front: {holds}, guards knees",),),
    Way.LIFT: (("leads, works the lift, guides the patient",),),
    Way.STANDING_AID: (("leads, counts, works the standing aid, guides the patient",),),
}
"""Where too few are planned for the usual roles, by how many: nobody then stands at the head."""


LINES_ONLY = "only watches the lines"
"""Whoever the plan counts beyond those who move the patient, but for the one at the airway."""

WATCHES, BRINGS = ", watches the lines", ", brings the lines"
AIRWAY, NECK = "leads, counts, holds tube and head only", "leads, counts, holds head and neck only"
ALONG = "leads, counts, holds tube and head, walks along"
"""Of whoever holds the tube of somebody in a sling on the way to a seat."""


def roles(
    way: Way, count: int, words: Mapping[str, str], *, head: str = "", watchers: int = 0
) -> tuple[str, ...]:
    """What each of so many people does. ``head`` is what one does who holds the head and nothing else.

    ``watchers`` are those who only watch the lines: the last ones. The first of the others stands at the
    weaker side, the second at the chair's: each guards the knee that is there.
    """
    movers = count - watchers
    few = _FEW.get(way, ())
    if head:
        movers -= 1
        usual = ROLES.get(way, ())[1 if way in COUNTED_AT_THE_HEAD else 0 :]
        written = few[1] if way is Way.SLIDE and movers == 2 else usual
    else:
        written = few[movers - 1] if 0 < movers <= len(few) else ROLES.get(way, ())
    filled = _filled(words)
    found = [role.format(**filled) for role in written[:movers]]
    found += [SPARE] * (movers - len(found))
    if head:
        found = [head, *(role.replace("leads, counts, ", "").replace("leads, ", "") for role in found)]
    return (*found, *[LINES_ONLY] * watchers)


def spare(does: Sequence[str]) -> tuple[int, ...]:
    """Who does nothing but keep the way clear, by number."""
    return tuple(number for number, what in enumerate(does) if what == SPARE)


def with_watcher(does: Sequence[str], watcher: int | None, watches: str = WATCHES) -> tuple[str, ...]:
    """The same with one of them also watching the lines; nobody where somebody does only that."""
    if watcher is None or LINES_ONLY in does or len(does) < 2:
        return tuple(does)
    return tuple(what + watches if number == watcher else what for number, what in enumerate(does))


def _filled(words: Mapping[str, str]) -> dict[str, str]:
    """The words of the roles."""
    guards = f", guards {words['guarded']} knee"
    over_there = words["guarded"] == words["strong"]
    belt = "belt" if words["belt"] else "hand at the waist"
    holds = "belt from below" if words["belt"] else belt
    return {
        **words,
        "roll_hold": f"then {'pulls the sheet' if words['sheet'] else 'hands'} at far shoulder and hip",
        "holds": holds,
        "holds_up": _held_up(words, belt, holds),
        "holds_too": f"guards {words['guarded']} knee, then {belt}" if over_there else f"{belt} once up",
        "keeps_off": words["off"],
        "weak_or_weaker": words["weak"] or "weaker",
        "a_guards": "" if over_there else guards,
        "b_guards": guards if over_there else "",
    }


def _held_up(words: Mapping[str, str], belt: str, holds: str) -> str:
    """The hold of whoever leads a pivot: a frame comes round to that side, so it is let go for it.

    From the seat a belt is not reached before the patient stands.
    """
    if words["hold_on"] == "walker":
        return f"{belt} till {words['second']} holds, steers walker"
    return f"{holds}, steps back with turn" if words["hold_on"] else holds
