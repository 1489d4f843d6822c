"""What the shift asks for: each bed's turns, toilet rounds, chair and walk goals, booked moves, as Moves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from zlib import crc32

from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.facts.moves import BED, MOVES
from mobicard.facts.words import Level, Task
from mobicard.hands.schedule import BACK, Move
from mobicard.hands.supply import Span
from mobicard.rules.policy_hands import HandsPolicy


@dataclass(frozen=True, slots=True)
class BedNeed:
    """One bed as the day plan sees it. ``plan`` None: nothing is known of how to move this patient.

    ``last_turn`` and ``last_toilet`` are the last ones before the shift; a later one is left out of account,
    so that the shift's rounds keep their times and names from one plan to the next.
    """

    record: Record
    plan: Plan | None
    last_turn: datetime | None = None
    last_toilet: datetime | None = None


@dataclass(slots=True)
class MovesAsked:
    """The moves of a shift; in words: what is not asked for and why, who moves alone, what does not fit."""

    moves: list[Move] = field(default_factory=list)
    not_asked: list[str] = field(default_factory=list)
    on_their_own: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    beds: set[str] = field(default_factory=set)


def moves_asked(beds: Iterable[BedNeed], policy: HandsPolicy, shift: Span) -> MovesAsked:
    """Every move the shift asks for, bed by bed; pure. Ids stay the same from one call to the next.

    A bed without a plan, with an expired one, or told not to move asks for nothing and is named.
    """
    out = MovesAsked()
    for need in sorted(beds, key=lambda need: need.record.bed):
        bed = need.record.bed
        if bed in out.beds:
            out.problems.append(f"{bed}: listed twice; planned once")
            continue
        out.beds.add(bed)
        reason = _no_move(need)
        if reason:
            out.not_asked.append(f"{bed}: {reason}; no move is planned")
        elif need.plan:
            _Bed(need, need.plan, policy, shift, out).ask()
    return out


def _no_move(need: BedNeed) -> str | None:
    plan = need.plan
    if plan is None:
        return "no plan yet, ask the nurse before moving"
    if plan.expired:
        return "the plan has expired, assess again"
    if plan.after_fall and plan.after_fall.state == "do_not_move":
        return f"after a fall: {plan.after_fall.says}"
    if all(task.helpers is None for task in plan.tasks.values()):
        return "not cleared to move, or not assessed"
    return None


@dataclass(frozen=True, slots=True)
class _Sitting:
    """One time up in the chair: the move ``up`` from ``up_from`` to ``up_by``, back in bed by ``back_by``."""

    up: str
    up_from: datetime
    up_by: datetime
    back_from: datetime
    back_by: datetime


class _Bed:
    """One bed's demand in the making: sessions in the chair first, the rest around them."""

    def __init__(self, need: BedNeed, plan: Plan, policy: HandsPolicy, shift: Span, out: MovesAsked) -> None:
        self.need, self.plan, self.policy, self.shift, self.out = need, plan, policy, shift, out
        self.bed = need.record.bed
        self.open = Span(min(shift.start + _min(policy.handoff_min), shift.end), shift.end)
        self.up: list[_Sitting] = []
        self.refused: set[Task] = set()

    def ask(self) -> None:
        """Chair goals, walks, turns, toilet rounds and booked moves, in that order."""
        wanted = self._goals()
        if Task.CHAIR in wanted:
            self._chair(wanted.pop(Task.CHAIR))
        for task, times in wanted.items():
            self._spread(task, times)
        if self.need.record.turn_every_h:
            self._turns(self.need.record.turn_every_h)
        if self.need.record.toilet_every_h:
            self._toilet(self.need.record.toilet_every_h)
        for n, booked in enumerate(self.need.record.appointments, 1):
            if self.shift.start <= booked.at <= self.shift.end:
                note = f", {booked.note}" if booked.note else ""
                start = max(booked.at - _min(self.policy.appointment_early_min), self.shift.start)
                self._add(
                    booked.task, f"booked {n}", Span(start, booked.at), f"booked {booked.at:%H:%M}{note}"
                )

    def _goals(self) -> dict[Task, int]:
        """Times wanted by task; a goal listed twice is counted together."""
        wanted: dict[Task, int] = {}
        for goal in self.need.record.goals:
            wanted[goal.task] = wanted.get(goal.task, 0) + goal.times_per_shift
        return wanted

    def _chair(self, times: int) -> None:
        """Up before a meal, back after it; which meals, where not all, differs from bed to bed."""
        meals = self._meals()
        if not meals:
            self._cannot(
                Task.CHAIR, f"{times} x chair wanted, but no meal falls in this shift's waking hours"
            )
            return
        if times > len(meals):
            more = times - len(meals)
            self._cannot(Task.CHAIR, f"{more} more x chair wanted than the {len(meals)} meals of the shift")
        for n, meal in enumerate(self._some(meals, times), 1):
            up = Span(max(meal - _min(self.policy.up_before_meal_min), self.open.start), meal)
            back = self._back(meal)
            says = f"chair for the meal at {meal:%H:%M}"
            first = self._add(Task.CHAIR, f"{n}", up, says, rests=True)
            if first:
                self._add(Task.CHAIR, f"{n} back", back, says, part=BACK, with_move=first.id)
                self.up.append(_Sitting(first.id, up.start, up.end, back.start, back.end))

    def _back(self, meal: datetime) -> Span:
        """The window for going back to bed; it closes early enough for the next turn to come in time."""
        start = meal + _min(self.policy.back_after_meal_min)
        end = min(meal + _min(self.policy.back_by_meal_min), self.shift.end)
        if self.need.record.turn_every_h:
            step = timedelta(hours=self.need.record.turn_every_h)
            room = max(step - _early(step, self.policy.turn_early_min), _min(self._minutes(Task.CHAIR) + 15))
            end = min(end, start + room)
        return Span(start, end)

    def _meals(self) -> list[datetime]:
        """Meals with room before and after them inside the shift."""
        lead = _min(self.policy.back_after_meal_min + self.policy.grid_min)
        return [
            meal for meal in self._all_meals() if self.open.start < meal and meal + lead <= self.shift.end
        ]

    def _some(self, meals: list[datetime], times: int) -> list[datetime]:
        """``times`` of the meals, begun at a place that depends on the bed, so not all sit up at noon."""
        first = crc32(self.bed.encode()) % len(meals)
        turned = meals[first:] + meals[:first]
        return sorted(turned[:times])

    def _spread(self, task: Task, times: int) -> None:
        """A goal's moves in equal shares of the waking shift, kept clear of meals."""
        pieces, says = self._waking(task), MOVES[task].says_short
        total = sum((piece.end - piece.start for piece in pieces), timedelta())
        if total < _min(self._minutes(task) * times):
            self._cannot(task, f"{times} x {says} wanted, but no waking time for it in this shift")
            return
        for n in range(times):
            share = _share(pieces, total * n / times, total * (n + 1) / times)
            widest = max(share, key=lambda piece: (piece.end - piece.start, -piece.start.timestamp()))
            self._add(task, f"{n + 1}", widest, f"goal: {says} {n + 1} of {times}", rests=task not in BED)

    def _waking(self, task: Task) -> list[Span]:
        """The shift without handoff, meals and quiet hours; for a move in bed also without the chair."""
        pieces: tuple[Span, ...] = (self.open,)
        holes = [Span(meal, meal + _min(self.policy.meal_min)) for meal in self._all_meals()]
        if task in BED:
            holes += [Span(sitting.up_from, sitting.back_by) for sitting in self.up]
        for hole in (*holes, *self._quiet()):
            pieces = tuple(part for piece in pieces for part in piece.without(hole))
        return list(pieces)

    def _all_meals(self) -> list[datetime]:
        days = [self.shift.start.date() + timedelta(days=n) for n in (0, 1)]
        return [datetime.combine(day, at) for day in days for at in self.policy.meals]

    def _quiet(self) -> list[Span]:
        start, end = self.policy.quiet
        spans = []
        for n in (-1, 0, 1):
            first = datetime.combine(self.shift.start.date() + timedelta(days=n), start)
            last = datetime.combine(first.date(), end)
            spans.append(Span(first, last if last > first else last + timedelta(days=1)))
        return spans

    def _turns(self, every_h: float) -> None:
        """Never later than the interval after the last; none while up in the chair."""
        step, n = timedelta(hours=every_h), 1
        due = self._first_due(self.need.last_turn, step)
        ahead = sorted(self.up, key=lambda sitting: sitting.up_from)
        while due <= self.shift.end:
            sitting = next((s for s in ahead if s.up_from < due), None)
            window = self._round(due, step, self.policy.turn_early_min)
            if sitting:
                ahead.remove(sitting)
                first = self._before_sitting(sitting, due, window)
                due = sitting.back_from + step
                if first is None:
                    continue
                window = first
            else:
                due = window.end + step
            if self._add(Task.TURN, f"round {n}", window, f"turn every {every_h:g} h") is None:
                return
            n += 1

    def _before_sitting(self, sitting: _Sitting, due: datetime, window: Span) -> Span | None:
        """Getting up is a change of position: by ``due`` where that leaves room, else a turn comes first."""
        if due >= sitting.up_by:
            return None
        if due - sitting.up_from >= _min(self._minutes(Task.CHAIR) + 15):
            moves = self.out.moves
            n = next(n for n, move in enumerate(moves) if move.id == sitting.up)
            moves[n] = replace(moves[n], latest=due)
            return None
        length = window.end - window.start
        return Span(max(sitting.up_from - length, self.open.start), sitting.up_from)

    def _toilet(self, every_h: float) -> None:
        step, n = timedelta(hours=every_h), 1
        due = self._first_due(self.need.last_toilet, step)
        while due <= self.shift.end:
            window = self._round(due, step, self.policy.toilet_early_min)
            if self._add(Task.TOILET, f"round {n}", window, f"toilet round every {every_h:g} h") is None:
                return
            n, due = n + 1, window.end + step

    def _first_due(self, last: datetime | None, step: timedelta) -> datetime:
        """The first round: an interval after the last; soon after the handoff where the last is not known."""
        if last and last <= self.shift.start:
            return last + step
        soon = self.open.start + _min(self.policy.unknown_round_by_min)
        return min(self.shift.start + step, soon)

    def _round(self, due: datetime, step: timedelta, early_min: int) -> Span:
        """A round's window, moved out of the handoff as a whole: one due there comes right after."""
        early = _early(step, early_min)
        start = max(due - early, self.open.start)
        return Span(start, max(due, self.open.start + early))

    def _minutes(self, task: Task) -> int:
        return self.policy.minutes_of(task, self.plan.tasks[task].level)

    def _cannot(self, task: Task, says: str) -> None:
        if task not in self.refused:
            self.out.problems.append(f"{self.bed}: {says}")

    def _add(
        self,
        task: Task,
        name: str,
        window: Span,
        why: str,
        *,
        part: str = "",
        rests: bool = False,
        with_move: str | None = None,
    ) -> Move | None:
        """One move, unless the plan says nobody moves the patient this way, or nobody is needed."""
        how, says = self.plan.tasks[task], MOVES[task].says_short
        if how.helpers is None or how.level is Level.REMAIN:
            self._say_once(task, self.out.not_asked, f"{says} not planned: {how.method}")
            return None
        if how.helpers == 0:
            self._say_once(task, self.out.on_their_own, f"{says}: moves without help ({why})")
            return None
        by = self.plan.valid_until
        move = Move(
            id=f"{self.bed} {task.value} {name}",
            bed=self.bed,
            task=task,
            level=how.level,
            helpers=how.helpers,
            equipment=how.equipment,
            minutes=self._minutes(task),
            earliest=window.start,
            latest=window.end,
            why=why,
            part=part,
            weight_kg=self.need.record.counted_kg,
            rests=rests,
            with_move=with_move,
            waits_last=self.policy.waits_last[task],
            reassess_by=by if by and by < window.end else None,
        )
        self.out.moves.append(move)
        return move

    def _say_once(self, task: Task, where: list[str], says: str) -> None:
        if task not in self.refused:
            self.refused.add(task)
            where.append(f"{self.bed}: {says}")


def _early(step: timedelta, most_min: int) -> timedelta:
    """How early a round may come: the policy's minutes, at most half its interval."""
    return min(_min(most_min), step / 2)


def _share(pieces: Sequence[Span], start: timedelta, end: timedelta) -> list[Span]:
    """The part of the pieces between ``start`` and ``end``, counted along them as if they were joined."""
    out, past = [], timedelta()
    for piece in pieces:
        length = piece.end - piece.start
        low, high = max(start - past, timedelta()), min(end - past, length)
        if low < high:
            out.append(Span(piece.start + low, piece.start + high))
        past += length
    return out


def _min(minutes: int) -> timedelta:
    return timedelta(minutes=minutes)
