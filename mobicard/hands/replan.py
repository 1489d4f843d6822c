"""The rest of the shift planned again from now: what has begun stays, the rest keeps what it can."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from mobicard.hands.day import planned, unknown_beds
from mobicard.hands.moves_asked import BedNeed, MovesAsked, moves_asked
from mobicard.hands.schedule import BACK, DayPlan, Move, Placed
from mobicard.hands.supply import Span, Supply, Taken
from mobicard.hands.ticks import HowFar, Tick, last_ticks
from mobicard.rules.policy_hands import HandsPolicy


def taken_by_fall(initials: Sequence[str], at: datetime, policy: HandsPolicy) -> tuple[Taken, ...]:
    """The people a fall keeps, for as long as the policy says."""
    end = at + timedelta(minutes=policy.fall_min)
    return tuple(Taken(name, at, end, "with a patient who fell") for name in initials)


def nearest_free(plan: DayPlan, supply: Supply, at: datetime, people: int) -> tuple[str, ...]:
    """Who would go to a fall: those on duty, first those not at a move at this moment."""
    busy = {name for item in plan.by_time() if item.start <= at < item.end for name in item.people}
    there = [p.initials for p in supply.staff if p.is_there(Span(at, at + timedelta(minutes=1)))]
    return tuple(sorted(there, key=lambda name: (name in busy, name))[:people])


def replan(
    before: DayPlan,
    beds: Iterable[BedNeed],
    supply: Supply,
    policy: HandsPolicy,
    now: datetime,
    *,
    ticks: Iterable[Tick] = (),
    taken: Sequence[Taken] = (),
    solver: bool = True,
    limit_s: float | None = None,
) -> DayPlan:
    """A new plan from ``now``.

    Moves begun or ticked stay as they were; one ticked "not" is asked for again while its window is open, and
    waits, with its reason, once it has closed. Times and people of the others are kept where they can.
    A move whose time has passed unticked is named: it is not taken as done.
    Who was ``taken`` in an earlier re-plan stays away as long as was said then.
    """
    shift = Span(before.start, before.end)
    told = last_ticks(ticks)
    fixed = _fixed(before, told, now)
    wanted = moves_asked(beds, policy, shift)
    wanted.problems += unknown_beds(supply, wanted)
    wanted.problems += _unticked(fixed, told, now)
    _settle_chairs(wanted, before, fixed, told, policy)
    known = {move.id for move in wanted.moves}
    wanted.moves += [item.move for item in fixed.values() if item.move.id not in known]
    taken = tuple(dict.fromkeys((*(one for one in before.taken if one.end > now), *taken)))
    wanted.problems += [one.says for one in taken]
    keep = {item.move.id: item for item in before.placed if item.move.id not in fixed}
    own = _without(supply, taken)
    plan = planned(wanted, own, policy, shift, now, fixed=fixed, keep=keep, solver=solver, limit_s=limit_s)
    return replace(_with_reasons(plan, told), taken=taken)


def _fixed(before: DayPlan, told: Mapping[str, Tick], now: datetime) -> dict[str, Placed]:
    """What has begun by now or is ticked, as it was; what is ticked "not" is open again."""
    out = {}
    for item in before.by_time():
        tick = told.get(item.move.id)
        done = tick is not None and tick.outcome is not HowFar.NOT
        begun = tick is None and item.start <= now
        if done or begun or (item.fixed and tick is None):
            out[item.move.id] = replace(item, fixed=True)
    return out


def _unticked(fixed: Mapping[str, Placed], told: Mapping[str, Tick], now: datetime) -> list[str]:
    return [
        f"{item.move.bed} {item.move.says} at {item.start:%H:%M}: not ticked; ask whether it was done"
        for item in sorted(fixed.values(), key=lambda item: (item.start, item.move.id))
        if item.end <= now and item.move.id not in told
    ]


def _settle_chairs(
    wanted: MovesAsked,
    before: DayPlan,
    fixed: Mapping[str, Placed],
    told: Mapping[str, Tick],
    policy: HandsPolicy,
) -> None:
    """Who is up must get back, whatever became of the goal; who was not got up needs no way back."""
    every = (*before.moves, *wanted.moves)
    backs = {move.with_move: move for move in every if move.part == BACK and move.with_move}
    for up, back in backs.items():
        asked = next((move for move in wanted.moves if move.id == back.id), None)
        if up in fixed and back.id not in fixed:
            most = fixed[up].start + timedelta(minutes=policy.sit_most_min)
            if asked is None:
                wanted.problems.append(
                    f"{back.bed}: up in the chair since {fixed[up].end:%H:%M}, but the plan no longer says "
                    "how to move this patient; ask the nurse how to get back to bed"
                )
            else:
                latest = min(asked.latest, most)
                earliest = min(asked.earliest, _open(latest, asked))
                own = replace(asked, with_move=None, earliest=earliest, latest=latest)
                wanted.moves[wanted.moves.index(asked)] = own
        elif asked and up in told and told[up].outcome is HowFar.NOT and not _still(wanted, up):
            wanted.moves.remove(asked)


def _open(latest: datetime, move: Move) -> datetime:
    """The latest begin of a window that still has room for the move."""
    return latest - timedelta(minutes=move.minutes + 10)


def _still(wanted: MovesAsked, move_id: str | None) -> bool:
    return any(move.id == move_id for move in wanted.moves)


def _without(supply: Supply, taken: Sequence[Taken]) -> Supply:
    staff = []
    for person in supply.staff:
        for one in taken:
            if one.initials == person.initials:
                person = person.away(one.span)  # noqa: PLW2901 - each stretch taken out in turn
        staff.append(person)
    return replace(supply, staff=tuple(staff))


def _with_reasons(plan: DayPlan, told: Mapping[str, Tick]) -> DayPlan:
    """A waiting move that was tried says what its tick said."""
    waiting = tuple(
        replace(item, says=f"not done: {told[item.move.id].why}") if item.move.id in told else item
        for item in plan.waiting
    )
    return replace(plan, waiting=waiting)
