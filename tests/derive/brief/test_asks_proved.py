"""The law of asks over all combinations: a worse or unknown fact takes asks away and adds none, ever."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from types import SimpleNamespace
from typing import Any, cast

import pytest

from mobicard.derive.brief.asked import CAN, Asked, may_be_asked
from mobicard.facts import LimbOrder, Record
from mobicard.facts.lines import Line
from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Limb,
    Precaution,
    Stepping,
    Task,
    WeightBearing,
)

TASK = Task.CHAIR
NAMES = ("alertness", "directions", "behavior", "help", "sitting", "standing", "stepping", "arms")
ALL: tuple[tuple[Any, ...], ...] = (
    (*Alertness, None),
    (*Directions, None),
    (*Behavior, None),
    (*Help, None),
    (*Balance, None),
    (*Balance, None),
    (*Stepping, None),
    (*Arms, None),
)
"""Every answer of every fact an ask stands on, worst and then unknown last: 399,360 patients."""

BOTH_SIDES: tuple[tuple[Any, ...], ...] = (
    (Alertness.ALERT, Alertness.NEW_CONFUSION, Alertness.VOICE, None),
    (Directions.WITH_CUES, Directions.UNABLE, None),
    (Behavior.FEARFUL, Behavior.UNPREDICTABLE, None),
    (Help.INDEPENDENT, Help.MAXIMAL, Help.TOTAL, Help.REFUSED, None),
    *ALL[4:],
)
"""Both sides of every threshold: 46,080 patients."""

GOOD: dict[str, Any] = {
    "weight_bearing": {},
    "asked": lambda fact: True,
    "weak_side": None,
    "legs": {},
    "precautions": frozenset(),
    "lines": (),
}
WORSE_ORDERS: tuple[dict[str, Any], ...] = (
    *({"precautions": frozenset({one})} for one in Precaution),
    *(
        {"weight_bearing": {limb: LimbOrder(status=status)}}
        for limb in Limb
        for status in (WeightBearing.TTWB, WeightBearing.NWB)
    ),
    {"lines": (Line(kind="fistula"),)},
    {"weak_side": SimpleNamespace(sides=("left",))},
    {"weak_side": SimpleNamespace(sides=("left", "right"))},
)


def asks(values: Sequence[Any], **orders: Any) -> frozenset[Asked]:
    """What may be asked of a patient with these answers; a stand-in, because a record costs too much."""
    facts = dict(zip(NAMES, values, strict=True))
    facts["help"] = {} if facts["help"] is None else {TASK: facts["help"]}
    return may_be_asked(cast("Record", SimpleNamespace(**{**GOOD, **facts, **orders})), TASK)


def worse_than(place: Sequence[int], axes: Sequence[Sequence[Any]]) -> Iterator[tuple[int, ...]]:
    """Each fact one step worse by itself."""
    for axis, at in enumerate(place):
        if at + 1 < len(axes[axis]):
            yield (*place[:axis], at + 1, *place[axis + 1 :])


def prove(axes: Sequence[Sequence[Any]]) -> int:
    """Hold every combination against each of its worse neighbours; gives how many there are."""
    places = list(product(*(range(len(axis)) for axis in axes)))
    found = {place: asks([axis[at] for axis, at in zip(axes, place, strict=True)]) for place in places}
    for place, asked in found.items():
        assert all(found[then] <= asked for then in worse_than(place, axes)), place
        unknown = {name for name, axis, at in zip(NAMES, axes, place, strict=True) if axis[at] is None}
        assert not [one for one in asked if unknown & set(CAN[one][1])], place
    assert frozenset(Asked) in found.values()
    return len(places)


def test_over_both_sides_of_every_threshold() -> None:
    assert prove(BOTH_SIDES) == 46_080


@pytest.mark.long
def test_over_every_answer() -> None:
    assert prove(ALL) == 399_360


@pytest.mark.parametrize("worse", WORSE_ORDERS, ids=str)
def test_an_order_a_line_or_a_weak_side_adds_no_ask(worse: dict[str, Any]) -> None:
    """Over the answers of those who can be asked anything at all."""
    axes = [axis[:2] for axis in ALL]
    for values in product(*axes):
        assert asks(values, **worse) <= asks(values)
