"""Who does what: the roles of each way in the order they are filled; the first leads and counts."""

from __future__ import annotations

from collections.abc import Mapping

from mobicard.derive.brief.ways import COUNTED_AT_THE_HEAD, Way

SPARE = "watches the lines, keeps the way clear"
"""Everybody the roles do not name."""

ROLES: Mapping[Way, tuple[str, ...]] = {
    Way.ALONE: ("stays within reach, hands off",),
    Way.ROLL: (
        "leads, counts, hands on far shoulder and hip",
        "rolls from behind with the sheet, sets the pillow",
    ),
    Way.LOG_ROLL: (
        "at the head: holds head and neck, leads, counts",
        "shoulder and waist",
        "hip and thigh",
        "legs, pillow between them",
        "far side: looks at the back",
    ),
    Way.BOOST: ("leads, counts, sheet at shoulder and hip", "same on the other side", "legs, sheet low"),
    Way.IN_LINE: (
        "at the head: holds it, leads, counts",
        "sheet at the shoulder",
        "same on the other side",
        "sheet at the hip",
        "same on the other side",
    ),
    Way.SIT_UP: ("leads, counts, brings the trunk up from the shoulder", "takes the legs down", SPARE),
    Way.LOG_SIT: ("leads, counts, shoulder and hip as one piece", "takes the legs down", SPARE),
    Way.STAND: ("leads, counts, {holds}{a_guards}", "{holds}{b_guards}", SPARE),
    Way.PIVOT: ("leads, counts, {holds}{a_guards}{keeps_off}", "{holds}{b_guards}", SPARE),
    Way.BOARD: ("leads, counts, in front: guides the hips", "holds board and hips from beside", SPARE),
    Way.WALK: ("leads, {weak_or_weaker} side, a little behind, {holds}", "chair close behind", "other side"),
    Way.PUSH_BACK: ("leads, counts, pushes at the knees", "behind: guides the trunk"),
    Way.CHAIR_SHEET: ("leads, counts, one side of the sheet", "other side of the sheet", "behind: the chair"),
    Way.SLIDE: (
        "at the head: holds sheet and pillow, leads, counts",
        "stretcher side, shoulders",
        "far side, chest to hips, palms up",
        "stretcher side, hips",
        "far side, legs",
    ),
    Way.KNEEL: ("leads, says each step, light touch", "other side, light touch", "brings the chair behind"),
    Way.STANDING_AID: ("leads, works the aid", "beside: guides trunk and lines", SPARE),
    Way.LIFT: ("leads, works the lift", "beside: guides trunk and head", "guides the legs"),
    Way.FLAT_LIFT: ("at the head: holds it, leads, counts", "shoulders", "hips", "legs", "legs"),
}
_FEW: Mapping[Way, tuple[str, ...]] = {
    Way.LOG_ROLL: ("shoulder and waist, leads, counts", "hip and thigh, pillow between the legs"),
    Way.SLIDE: ("stretcher side, leads, counts", "far side, palms up"),
    Way.STAND: ("leads, counts, {holds}, guards the {guarded} knee",),
    Way.PIVOT: ("leads, counts, in front, {holds}, guards the {guarded} knee{keeps_off}",),
}
"""Where too few are planned for the usual roles: nobody then stands at the head."""


LINES_ONLY = "only watches the lines"
"""Whoever the plan counts beyond those who move the patient, but for the one at the airway."""

WATCHES = ", watches the lines"
AIRWAY, NECK = "leads, counts, holds tube and head only", "leads, counts, holds head and neck only"


def roles(
    way: Way,
    count: int,
    words: Mapping[str, str],
    *,
    head: str = "",
    watchers: int = 0,
    lines: bool = False,
) -> tuple[str, ...]:
    """What each of so many people does. ``head`` is what one does who holds the head and nothing else.

    ``watchers`` are those who only watch the lines: the last ones. The first of the others stands at the
    weaker side, the second at the chair's: each guards the knee that is there. ``lines``: there are some,
    and the last of several who has nobody to do so watches them.
    """
    movers = count - watchers - (1 if head and not _has_head(way, count - watchers) else 0)
    few = _FEW.get(way, ()) if movers <= len(_FEW.get(way, ())) else ()
    written = few or ROLES.get(way, ())
    found = [role.format(**_filled(words)) for role in written[:movers]]
    found += [SPARE] * (movers - len(found))
    if head:
        rest = found[1:] if _has_head(way, count - watchers) else found
        found = [head, *(role.replace("leads, counts, ", "").replace("leads, ", "") for role in rest)]
    if lines and not watchers and len(found) > 1 and "lines" not in " ".join(found):
        found[-1] += WATCHES
    return (*found, *[LINES_ONLY] * watchers)


def _has_head(way: Way, movers: int) -> bool:
    """Whether the way's own roles begin with somebody at the head."""
    return way in COUNTED_AT_THE_HEAD and movers > len(_FEW.get(way, ()))


def _filled(words: Mapping[str, str]) -> dict[str, str]:
    """The words of the roles."""
    guards = f", guards the {words['guarded']} knee"
    over_there = words["guarded"] == words["strong"]
    return {
        **words,
        "holds": "belt from below" if words["belt"] else "hand at the waist",
        "keeps_off": f", keeps weight off the {words['off']} foot" if words["off"] else "",
        "weak_or_weaker": words["weak"] or "weaker",
        "a_guards": "" if over_there else guards,
        "b_guards": guards if over_there else "",
    }
