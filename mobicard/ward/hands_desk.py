"""The shift's hands: the day plan of this unit, kept in the ledger, ticked off, and made anew from now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from mobicard import inflow
from mobicard.facts.words import Task
from mobicard.hands.day import plan_day, shift_at
from mobicard.hands.moves_asked import BedNeed
from mobicard.hands.replan import nearest_free, replan, taken_by_fall
from mobicard.hands.schedule import DayPlan, Move
from mobicard.hands.supply import Supply, Taken, read_staff, supply_of, units_of
from mobicard.hands.ticks import HowFar, Tick, ticks_of
from mobicard.ledger.entry import OFFICE
from mobicard.ward.recording import Recording
from mobicard.ward.views import BedView, WardRefused

A_DAY = timedelta(days=1)
"""How long before a shift begins its plan can have been made."""


class HandsDesk:
    """Who helps whom, when, with which lift; everything is an entry, so other stations see the same plan."""

    def __init__(self, ward: Recording) -> None:
        self._ward = ward

    def plan(self) -> DayPlan:
        """This shift's plan as last made; made now if none is. Raises WardRefused, LedgerError."""
        kept = self.kept()
        return kept if kept is not None else self.make()

    def kept(self) -> DayPlan | None:
        """This shift's plan as last made at any station, or None."""
        shift = shift_at(self._ward.now, self._ward.policy.shift)
        since = self._ward.clock.utc_of(shift.start) - A_DAY
        for entry in self._ward.ledger.newest_first("day_plan", since):
            if _named(entry.body.get("unit")) == _named(self._ward.unit):
                plan = DayPlan.from_json(entry.body["plan"])
                if plan.start == shift.start:
                    return plan
        return None

    def make(self, *, solver: bool = True, limit_s: float | None = None, keep: bool = True) -> DayPlan:
        """A fresh plan of the shift from now, kept in the ledger unless told otherwise."""
        ward = self._ward
        shift = shift_at(ward.now, ward.policy.shift)
        plan = plan_day(
            self._needs(), self.supply(), ward.policy.hands, shift, ward.now, solver=solver, limit_s=limit_s
        )
        return self._keep(plan) if keep and ward.knows_who else plan

    def replan(
        self,
        *,
        gone: Sequence[str] = (),
        fall_takes: int = 0,
        solver: bool = True,
        limit_s: float | None = None,
    ) -> DayPlan:
        """A new plan from now over the kept one: what has begun stays, what can stays.

        ``gone``: initials of people who left; ``fall_takes``: how many a fall keeps, the nearest free ones.
        """
        ward = self._ward
        before = self.kept()
        if before is None:
            return self.make(solver=solver, limit_s=limit_s)
        supply = self.supply()
        away = {name.upper() for name in gone} | {
            one.initials for one in before.taken if one.span.start <= ward.now < one.span.end
        }
        there = replace(supply, staff=tuple(one for one in supply.staff if one.initials not in away))
        names = nearest_free(before, there, ward.now, fall_takes) if fall_takes else ()
        left = [Taken(name.upper(), ward.now, before.end, "has left") for name in gone]
        taken = [*taken_by_fall(names, ward.now, ward.policy.hands), *left]
        plan = replan(
            before,
            self._needs(),
            supply,
            ward.policy.hands,
            ward.now,
            ticks=self.ticks(),
            taken=taken,
            solver=solver,
            limit_s=limit_s,
        )
        return self._keep(plan)

    def supply(self) -> Supply:
        """People from staff.toml of the facility's folder, lifts from the inventory. Raises WardRefused."""
        ward = self._ward
        path = ward.settings.staff_path
        if path is None:
            raise WardRefused(
                f"who is on duty is not known: write {ward.settings.config_dir / 'staff.toml'} "
                "(examples/hands/staff.toml shows how), or name one with --staff"
            )
        try:
            text = inflow.read_text(path)
        except OSError as gone:
            raise WardRefused(f"{path}: cannot be read ({gone.strerror}); check the path") from None
        except UnicodeDecodeError:
            raise WardRefused(f"{path}: is not UTF-8 text; save it as UTF-8") from None
        shift = shift_at(ward.now, ward.policy.shift)
        units, problems = units_of(ward.settings.inventory)
        try:
            return supply_of(read_staff(text, shift), units, problems)
        except ValueError as refused:
            raise WardRefused(f"{path}: {refused}") from None

    def ticks(self) -> list[Tick]:
        """The moves ticked this shift, by any station."""
        start = shift_at(self._ward.now, self._ward.policy.shift).start
        found = (tick for view in self._ward.board() for tick in ticks_of(view.ticks))
        return [tick for tick in found if tick.ward_at >= start]

    def tick(self, move: Move, outcome: HowFar, why: str = "") -> None:
        """Record a move as reached, partly, or not and why. Raises WardRefused, LedgerError."""
        view = self._ward.find(move.bed)
        if view is None:
            raise WardRefused(f"{move.bed} is no longer occupied; the move cannot be ticked")
        try:
            tick = Tick.of(move, outcome, self._ward.now, why)
        except ValueError as refused:
            raise WardRefused(str(refused)) from None
        self._ward.tick(view.stay, tick.as_json())

    def _needs(self) -> list[BedNeed]:
        start = shift_at(self._ward.now, self._ward.policy.shift).start
        return [
            BedNeed(view.record, view.plan, _last(view, Task.TURN, start), _last(view, Task.TOILET, start))
            for view in self._ward.board()
        ]

    def _keep(self, plan: DayPlan) -> DayPlan:
        unit = {"unit": self._ward.unit} if self._ward.unit else {}
        body = {"plan": plan.as_json(), **unit}
        self._ward.append(self._ward.entry(OFFICE, "day_plan", body))
        return plan


def _named(unit: object) -> str:
    """A unit's name however it was written; nothing for none."""
    return unit.strip().casefold() if isinstance(unit, str) else ""


def _last(view: BedView, task: Task, before: datetime) -> datetime | None:
    """When a move of this kind was last ticked as done before the shift."""
    done = (one for one in ticks_of(view.ticks) if one.task is task and one.outcome is not HowFar.NOT)
    return max((one.ward_at for one in done if one.ward_at <= before), default=None)
