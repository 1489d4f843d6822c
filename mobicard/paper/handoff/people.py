"""How a handoff says a bed's people and its level: one way everywhere, whoever reads it included."""

from __future__ import annotations

from mobicard.derive.handing_over.people import People, people_of
from mobicard.derive.model import Plan
from mobicard.facts.words import Alertness, Level
from mobicard.paper.door.face import State
from mobicard.paper.door.says import state_of
from mobicard.paper.sub_line import sub_line
from mobicard.scheme.scheme import Scheme


def people_say(people: People) -> str:
    """``out of bed 2 / in bed 3`` (NO: nobody makes that move), or that nobody is needed; else empty."""
    if not people.known:
        return ""
    if people.most == 0:
        return "nobody needed"
    counts = ("NO" if count is None else count for count in (people.out_of_bed, people.in_bed))
    return "out of bed\xa0{} / in\xa0bed\xa0{}".format(*counts)  # a number never stands alone on a line


def plan_people(plan: Plan) -> str:
    """The people of this plan, or why it names none."""
    if plan.expired:
        return "no plan holds: look first"
    return people_say(people_of(plan)) or _none_planned(plan)


def _none_planned(plan: Plan) -> str:
    """A ban only after a fall and for one not awake; everybody else has no plan yet, or stays as ordered."""
    fallen = plan.after_fall is not None and plan.after_fall.state == "do_not_move"
    asleep = (reason.because.get("alertness") for reason in plan.headline.reasons)
    if fallen or Alertness.UNRESPONSIVE.value in asleep:
        return "do not move"
    return "no plan yet: assess first" if state_of(plan) is State.UNSEEN else "no move planned"


def level_word(plan: Plan, scheme: Scheme) -> str:
    """The level's word as on the door: who was not looked at has a word of its own."""
    unseen = state_of(plan) is State.UNSEEN
    return scheme.remain.unseen if unseen else scheme.looks[plan.shown_level].word


def stays_because(plan: Plan, scheme: Scheme) -> str:
    """Which of its reasons keeps a patient in bed: an order, a reading, nobody has looked; else empty."""
    fallen = plan.after_fall is not None and plan.after_fall.state == "do_not_move"
    kept = plan.shown_level is Level.REMAIN and not plan.expired and not fallen
    return sub_line(plan, scheme) if kept else ""
