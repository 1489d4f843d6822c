"""A round as values: whose beds, in which order, what was done at each; kept on disk so that it can go on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from pydantic import TypeAdapter, ValidationError

from mobicard.derive.as_json import AsJson
from mobicard.derive.over_time.validity import shift_start
from mobicard.facts.moves import EVERY_LOOK
from mobicard.terminal.round.form import all_deciding
from mobicard.ward import BedView, Draft, Due, Ward
from mobicard.ward.carried_forward import why_not_same

PLACE = "round"
SAME, CHANGED, PART, LATER = "same", "changed", "part", "later"
DONE_SAYS = {
    SAME: "same as before",
    CHANGED: "recorded anew",
    PART: "changed, the rest not seen again",
    LATER: "left for later",
}


@dataclass
class RoundState(AsJson):
    """``stays`` in order, ``done`` by stay, ``was`` the level word each bed had when the round began.

    ``by_unit`` keeps the order of the unit; otherwise who must be seen first comes first.
    """

    began: datetime
    whose: str = ""
    stays: list[str] = field(default_factory=list)
    done: dict[str, str] = field(default_factory=dict)
    was: dict[str, str] = field(default_factory=dict)
    at: str = ""
    by_unit: bool = False

    @property
    def left(self) -> list[str]:
        """Stays that nobody has recorded yet in this round; those left for later are among them."""
        return [stay for stay in self.stays if self.done.get(stay) not in (SAME, CHANGED)]

    def after(self, stay: str) -> str | None:
        """The next stay still to be seen, round and round; None when every bed is done."""
        place = self.stays.index(stay) if stay in self.stays else -1
        ring = [*self.stays[place + 1 :], *self.stays[: place + 1]]
        fresh = [one for one in ring if one not in self.done and one != stay]
        again = [one for one in ring if one in self.left and one != stay]
        return next(iter(fresh or again), None)

    def step(self, stay: str, by: int) -> str:
        """The bed before or after in the order of the round, done or not."""
        return self.stays[(self.stays.index(stay) + by) % len(self.stays)]

    def reorder(self, views: Sequence[BedView]) -> None:
        """The beds again in the order asked for; what was done stays done."""
        place = {view.stay: number for number, view in enumerate(in_order(views, by_unit=self.by_unit))}
        self.stays.sort(key=lambda stay: place.get(stay, len(place)))

    def says(self) -> str:
        """How far the round is, in few words."""
        return f"{len(self.stays) - len(self.left)} of {len(self.stays)} done"


_READER = TypeAdapter(RoundState)


def urgency(view: BedView) -> int:
    """How soon a bed must be seen, 0 first: after a fall, overdue, due, an open hazard, then all others."""
    record, plan = view.record, view.plan
    if plan.after_fall is not None or plan.head_observations is not None:
        return 0
    if view.due is not Due.OK:
        return 1 if view.due is Due.OVERDUE else 2
    drop = plan.orthostatic is not None and plan.orthostatic.positive
    return 3 if record.operation is not None or record.pressure_drop is not None or drop else 4


def in_order(views: Sequence[BedView], *, by_unit: bool = False) -> list[BedView]:
    """The beds in the order of a round; equally urgent ones stay in the order of the unit."""
    return list(views) if by_unit else sorted(views, key=urgency)


def of_beds(views: Sequence[BedView], whose: str, began: datetime) -> RoundState:
    """A new round over the beds of one person, or of all (an empty ``whose``)."""
    chosen = [view for view in in_order(views) if not whose or view.assignment == whose]
    state = RoundState(began, whose, [view.stay for view in chosen])
    state.was = {view.stay: view.plan.shown_level.value for view in chosen}
    state.at = state.stays[0] if state.stays else ""
    return state


def fall_says(view: BedView) -> str:
    """Why nothing is asked at this bed: a fall that a look alone does not end; empty otherwise."""
    fall = view.plan.after_fall
    return "" if fall is None or fall.ends_by_a_look else fall.says


def missing(view: BedView) -> tuple[str, ...]:
    """Deciding facts nobody has assessed."""
    return tuple(name for name in view.plan.not_assessed if name in EVERY_LOOK)


def asked_for(view: BedView, now: datetime, ward: Ward) -> tuple[str, ...]:
    """What must be answered: what is missing, or every deciding fact when the last look no longer counts.

    Nothing while a fall is open that no look ends: After a fall goes on with it.
    """
    if fall_says(view):
        return ()
    known = replace(view, plan=replace(view.plan, not_assessed=()))
    if view.assessed and why_not_same(known, now, ward.policy) is None:
        return missing(view)
    return all_deciding(view)


# -- on disk ----------------------------------------------------------------------------------------


def keep(ward: Ward, state: RoundState) -> None:
    """Write the round through to disk. Raises OSError."""
    body = {"bed": "the round", **state.as_json()}
    ward.drafts.keep(Draft(_name(ward), ward.by, 0, ward.now, body, PLACE))


def forget(ward: Ward) -> None:
    """The round is over."""
    ward.drafts.drop(_name(ward), PLACE)


def kept(ward: Ward, views: Sequence[BedView]) -> RoundState | None:
    """This person's round of this shift, if one was begun; beds that have come since stand at its end."""
    draft = ward.drafts.offered(_name(ward), PLACE)
    if draft is None:
        return None
    try:
        state = _READER.validate_python(draft.facts)
    except ValidationError:
        return None
    if shift_start(state.began, ward.policy.shift) != shift_start(ward.now, ward.policy.shift):
        return None
    return _with_todays_beds(state, views)


def _with_todays_beds(state: RoundState, views: Sequence[BedView]) -> RoundState | None:
    fresh = of_beds(views, state.whose, state.began)
    stays = [stay for stay in state.stays if stay in fresh.stays]
    state.stays = stays + [stay for stay in fresh.stays if stay not in stays]
    state.was = {**fresh.was, **state.was}
    state.done = {stay: how for stay, how in state.done.items() if stay in state.stays}
    if state.at not in state.stays:
        state.at = next(iter(state.left or state.stays), "")
    return state if state.stays else None


def _name(ward: Ward) -> str:
    return f"round-{ward.by}"
