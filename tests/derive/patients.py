"""Invented patients for the property tests, and every way to make one worse by one step."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from hypothesis import strategies as st

from mobicard.derive import Policy
from mobicard.facts.lines import LineKind
from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Level,
    Limb,
    Precaution,
    Stepping,
    Task,
    WeightBearing,
    Word,
)

NOW = datetime(2026, 3, 2, 8, 0)

LADDERS: dict[str, type[Word]] = {
    "alertness": Alertness,
    "directions": Directions,
    "behavior": Behavior,
    "sitting": Balance,
    "standing": Balance,
    "stepping": Stepping,
    "arms": Arms,
}
SEEN_HELP = [answer for answer in Help if answer.was_done]


def answers(words: type[Word]) -> st.SearchStrategy[str]:
    """An answer, the well one most often: otherwise hardly anyone would leave the bed."""
    values = [word.value for word in words]
    return st.sampled_from([*[values[0]] * 2 * len(values), *values])


HELPS = st.sampled_from([*[answer.value for answer in SEEN_HELP] * 2, Help.REFUSED.value])


@st.composite
def order(draw: st.DrawFn) -> dict[str, Any]:
    status = draw(st.sampled_from(list(WeightBearing)))
    figure = {"percent": draw(st.sampled_from([20, 50, 80]))} if status is WeightBearing.PWB else {}
    return {"status": status.value, **figure}


_FALLS = st.fixed_dictionaries(
    {"at": st.sampled_from(["2026-03-02T07:40", "2026-03-01T22:00"])},
    optional={
        "witnessed": st.booleans(),
        "head_strike": st.sampled_from(["no", "no", "yes", "unknown"]),
        "neck_pain": st.sampled_from(["no", "no", "yes", "unknown"]),
        "anticoagulated": st.sampled_from(["no", "yes", "unknown"]),
        "injury": st.sampled_from(["none", "none", "minor", "major"]),
        "up_at": st.just("2026-03-02T07:50"),
    },
)
_FOUND = st.sampled_from(["clear", "clear", "suspected", "cannot_say"])
_EXAMINED = st.fixed_dictionaries(
    {"cleared_by": st.just("MD"), "cleared_at": st.just("2026-03-02T07:45"), "neck_pain": st.just("no")},
    optional={
        "head": _FOUND,
        "spine": _FOUND,
        "bones": _FOUND,
        "lift_as": st.sampled_from(["guided", "sling", "flat"]),
    },
)
FALLS = st.one_of(_FALLS, st.builds(lambda fall, found: {**fall, **found}, _FALLS, _EXAMINED))
"""Falls not examined, and examined ones; the neck hurts only in the first: cleared with that is no order."""
KINDS = st.sampled_from([kind.value for kind in LineKind])
TESTS = st.sampled_from([{"straight_leg_raise": True}, {"straight_leg_raise": False}])
VITALS = st.fixed_dictionaries(
    {"lying": st.just({"sbp": 130, "dbp": 80})},
    optional={
        "standing_1min": st.sampled_from([{"sbp": 128, "dbp": 78}, {"sbp": 104, "dbp": 70}]),
        "dizzy": st.booleans(),
        "spo2": st.sampled_from([84, 96]),
    },
)
MORSE = st.fixed_dictionaries(
    {"instrument": st.just("morse")},
    optional={"answers": st.fixed_dictionaries({}, optional={"history": st.booleans(), "iv": st.booleans()})},
)
OVERRIDES = st.fixed_dictionaries(
    {
        "level": st.sampled_from([level.value for level in Level]),
        "reason": st.just("own judgement"),
        "by": st.just("JN"),
        "at": st.sampled_from(["2026-03-02T07:20", "2026-03-01T18:00"]),
    }
)


@st.composite
def patients(draw: st.DrawFn, *, overrides: bool = True) -> dict[str, Any]:
    """Any record at all, absent facts included, as JSON spells it."""
    facts: dict[str, Any] = {"bed": "4W-12A"}
    for name, words in LADDERS.items():
        missing = draw(st.integers(0, 24)) == 0
        facts[name] = None if missing else draw(answers(words))
    facts["help"] = {task.value: draw(HELPS) for task in Task if draw(st.integers(0, 9)) > 0}
    facts["weight_kg"] = draw(st.one_of(st.none(), st.floats(20, 260).map(lambda kg: round(kg, 1))))
    facts["height_cm"] = draw(st.sampled_from([None, 160, 175]))
    facts["weight_bearing"] = draw(
        st.dictionaries(st.sampled_from([x.value for x in Limb]), order(), max_size=4)
    )
    facts["precautions"] = draw(
        st.lists(st.sampled_from([p.value for p in Precaution]), max_size=2, unique=True)
    )
    facts["lines"] = [{"kind": draw(KINDS)} for _ in range(draw(st.sampled_from([0, 0, 1, 4])))]
    facts["weak_side"] = draw(st.sampled_from([None, "none", "left", "both"]))
    facts["neglect"] = draw(st.sampled_from([None, None, "right"]))
    facts["legs"] = draw(st.dictionaries(st.sampled_from(["left_leg", "right_leg"]), TESTS))
    facts["sore_sites"] = draw(st.lists(st.sampled_from(["sacrum", "left_heel"]), max_size=1))
    facts["aids"] = draw(st.lists(st.sampled_from([aid.value for aid in Aid]), max_size=3, unique=True))
    facts["helpers_used"] = draw(st.sampled_from([{}, {}, {"chair": 2}, {"walk": 3}]))
    facts["vitals"] = draw(st.one_of(st.none(), st.none(), VITALS))
    facts["fall_risk"] = draw(st.one_of(st.none(), MORSE))
    facts["fall_event"] = draw(st.one_of(st.none(), st.none(), st.none(), FALLS))
    facts["override"] = draw(st.one_of(st.none(), OVERRIDES)) if overrides else None
    facts["assessed_at"] = draw(
        st.sampled_from(["2026-03-02T07:10", "2026-03-02T07:55", "2026-02-28T07:10", None])
    )
    return {name: value for name, value in facts.items() if value not in (None, [], {})}


def worse(facts: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """Every record one step worse: a fact one answer on or taken away, one order tighter, one thing more."""
    found: list[tuple[str, dict[str, Any]]] = []
    for name, words in LADDERS.items():
        if name in facts:
            found += [(f"{name} {a}", {**facts, name: a}) for a in _next(words, facts[name])]
            found.append((f"{name} away", {k: v for k, v in facts.items() if k != name}))
    for task, seen in facts.get("help", {}).items():
        rest = {k: v for k, v in facts["help"].items() if k != task}
        found.append((f"help.{task} away", {**facts, "help": rest}))
        found += [(f"help.{task} {a}", {**facts, "help": {**rest, task: a}}) for a in _next(Help, seen)]
    found += _tighter_orders(facts)
    for item in Precaution:
        if item.value not in facts.get("precautions", []):
            found.append((item.value, {**facts, "precautions": [*facts.get("precautions", []), item.value]}))
    found += [
        (f"{kind} more", {**facts, "lines": [*facts.get("lines", []), {"kind": kind.value}]})
        for kind in LineKind
    ]
    found += [("weak side", {**facts, "weak_side": side}) for side in _worse_side(facts.get("weak_side"))]
    found += _worse_legs(facts)
    if facts.get("weight_kg", 0) >= Policy().handling.adult_kg:
        found.append(("heavier", {**facts, "weight_kg": facts["weight_kg"] * 1.15}))
    used = facts.get("helpers_used", {})
    found.append(
        ("more helpers used", {**facts, "helpers_used": {**used, "chair": used.get("chair", 0) + 1}})
    )
    return found + _worse_fall(facts) + _worse_findings(facts)


def _worse_side(side: str | None) -> list[str]:
    return {None: ["left", "both"], "none": ["left", "right"], "left": ["both"]}.get(side, [])


def _worse_legs(facts: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """A leg that fails its test; under a block also one nobody tested."""
    legs = facts.get("legs", {})
    fails = {"straight_leg_raise": False}
    found = [(f"{leg} fails", {**facts, "legs": {**legs, leg: fails}}) for leg in ("left_leg", "right_leg")]
    if any(line["kind"] == "epidural" for line in facts.get("lines", [])):
        passed = {leg: test for leg, test in legs.items() if test != fails}
        rest = [{k: v for k, v in legs.items() if k != leg} for leg in passed]
        found += [("a leg not tested", {**facts, "legs": left}) for left in rest]
    return found


def _next(words: type[Word], answer: str) -> list[str]:
    rank = words(answer).rank
    return [word.value for word in words if word.rank == rank + 1]


def _tighter_orders(facts: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    orders = facts.get("weight_bearing", {})
    found = []
    for limb in Limb:
        status = WeightBearing(orders[limb.value]["status"]) if limb.value in orders else WeightBearing.FWB
        for tighter in _next(WeightBearing, status.value):
            figure = {"percent": 50} if tighter == "PWB" else {}
            new = {**orders, limb.value: {"status": tighter, **figure}}
            found.append((f"{limb.value} {tighter}", {**facts, "weight_bearing": new}))
    return found


def _worse_fall(facts: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    fall = facts.get("fall_event")
    if fall is None:
        return []
    steps: dict[str, list[Any]] = {
        "head_strike": ["no", "yes", "unknown", None],
        "neck_pain": ["no", "yes", "unknown", None],
        "anticoagulated": ["no", "yes", "unknown", None],
        "injury": ["none", "minor", "major", None],
        "witnessed": [True, False, None],
    }
    if "cleared_by" in fall:
        seen: list[Any] = ["clear", "suspected", "cannot_say", None]
        steps |= {"head": seen, "spine": seen, "bones": seen, "lift_as": ["guided", "sling", "flat", None]}
        del steps["neck_pain"]
    found = []
    for name, ladder in steps.items():
        place = ladder.index(fall.get(name))
        for value in ladder[place + 1 : place + 2]:
            new = {k: v for k, v in {**fall, name: value}.items() if v is not None}
            found.append((f"fall {name} {value}", {**facts, "fall_event": new}))
    return found


def _worse_findings(facts: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    found = []
    if facts.get("vitals"):
        found.append(("dizzy", {**facts, "vitals": {**facts["vitals"], "dizzy": True}}))
    if facts.get("fall_risk"):
        given = facts["fall_risk"].get("answers", {})
        found += [
            (f"risk {key}", {**facts, "fall_risk": {"instrument": "morse", "answers": {**given, key: True}}})
            for key in given
        ]
        found += [
            (
                f"risk {key} away",
                {
                    **facts,
                    "fall_risk": {
                        "instrument": "morse",
                        "answers": {k: v for k, v in given.items() if k != key},
                    },
                },
            )
            for key in given
        ]
    return found
