"""What a handoff says, as values: changed beds, what is due, who needs many hands, each bed in a line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from mobicard.derive.handing_over.direction import Direction, direction_of
from mobicard.derive.handing_over.gravity import Gravity, gravity_of
from mobicard.derive.handing_over.people import people_of
from mobicard.derive.model import Plan, Reason
from mobicard.facts import Record
from mobicard.facts.words import Equipment, Level, Task


@dataclass(frozen=True, slots=True)
class Question:
    """A question somebody left open at a bed: its number in the stay, who asked it, when (ward time)."""

    number: int
    says: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class BedShift:
    """One bed as the handoff needs it: now, as it was at the end of the last shift, and over the stay.

    ``before`` is None for a bed that is new since then; ``history`` is oldest first; ``goals_done`` counts
    the moves ticked this shift; ``turned_at`` is the last turn noted; ``questions`` are those left open.
    """

    bed: str
    stay: str
    record: Record
    plan: Plan
    before: Plan | None = None
    history: tuple[tuple[datetime, Level], ...] = ()
    assignment: str | None = None
    door_ok: bool = True
    goals_done: Mapping[Task, int] = field(default_factory=dict)
    goals_say: Mapping[Task, str] = field(default_factory=dict)
    turned_at: datetime | None = None
    questions: tuple[Question, ...] = ()


@dataclass(frozen=True, slots=True)
class GroupedChange:
    """One difference, with every move it holds for: ``what`` went from ``old`` to ``new``, and why."""

    tasks: tuple[Task, ...]
    what: str
    old: str
    new: str
    says: str
    why: tuple[Reason, ...]
    eases: bool


@dataclass(frozen=True, slots=True)
class ChangedBed:
    """A bed whose plan is not the one of the last shift's end; ``old`` is None for a bed that is new."""

    bed: str
    label: str | None
    old: Level | None
    new: Level
    differences: tuple[GroupedChange, ...]

    @property
    def eases(self) -> bool:
        """Whether the headline level asks for less help than before."""
        return self.old is not None and self.new.rank < self.old.rank


@dataclass(frozen=True, slots=True)
class DueItem:
    """Something to do: for which beds, by when (None: no clock time), and whether it is late."""

    beds: tuple[str, ...]
    kind: str
    says: str
    at: datetime | None
    overdue: bool


@dataclass(frozen=True, slots=True)
class ManyHands:
    """A bed that takes two or more people or a lift: the moves, the people, the equipment."""

    bed: str
    level: Level
    helpers: int
    tasks: tuple[Task, ...]
    equipment: tuple[Equipment, ...]


@dataclass(frozen=True, slots=True)
class GoalLine:
    """A move wanted so many times this shift, and how often it was ticked."""

    task: Task
    wanted: int
    done: int
    says: str = ""

    @property
    def met(self) -> bool:
        return self.done >= self.wanted


@dataclass(frozen=True, slots=True)
class BedLine:
    """Everything the bed's one line shows; ``level`` is the one a page may show (REMAIN once expired)."""

    bed: str
    label: str | None
    assignment: str | None
    level: Level
    helpers: int | None
    plan: Plan
    record: Record
    goals: tuple[GoalLine, ...]
    history: tuple[tuple[datetime, Level], ...]
    door_ok: bool
    before: Plan | None = None
    turned_at: datetime | None = None
    questions: tuple[Question, ...] = ()

    @property
    def direction(self) -> Direction:
        """Whether the bed asks for more or less help than before."""
        return direction_of(self.before, self.plan)

    @property
    def gravity(self) -> Gravity:
        """The group it stands in on the first line."""
        return gravity_of(self.plan)


@dataclass(frozen=True, slots=True)
class Handoff:
    """One handoff page set. ``scope`` is an assignment, or None for the whole unit.

    ``since`` is what *changed* compares with; ``holds_until`` the earliest time a line on it stops holding,
    None when none holds now.
    ``unassigned`` names the beds no assignment covers, so that a handoff by assignment loses none.
    """

    scope: str | None
    at: datetime
    since: datetime
    holds_until: datetime | None
    changed: tuple[ChangedBed, ...]
    due: tuple[DueItem, ...]
    demands: tuple[ManyHands, ...]
    beds: tuple[BedLine, ...]
    unassigned: tuple[str, ...]

    @property
    def unchanged(self) -> int:
        """How many beds have the plan they had at the time compared with, and it holds."""
        return self._others(ended=False)

    @property
    def ended(self) -> int:
        """How many of the others have a plan that has ended: nobody knows whether they are as they were."""
        return self._others(ended=True)

    def _others(self, *, ended: bool) -> int:
        changed = {bed.bed for bed in self.changed}
        return sum(line.bed not in changed and line.plan.expired is ended for line in self.beds)

    def as_json(self) -> dict[str, Any]:
        """The handoff as plain data, times as ISO."""
        return {
            "scope": self.scope,
            "at": _iso(self.at),
            "since": _iso(self.since),
            "holds_until": _iso(self.holds_until),
            "changed": [_changed_json(bed) for bed in self.changed],
            "due": [
                {"beds": list(d.beds), "kind": d.kind, "says": d.says, "at": _iso(d.at), "overdue": d.overdue}
                for d in self.due
            ],
            "two_or_lift": [
                {
                    "bed": d.bed,
                    "level": d.level.value,
                    "helpers": d.helpers,
                    "tasks": [task.value for task in d.tasks],
                    "equipment": [item.value for item in d.equipment],
                }
                for d in self.demands
            ],
            "beds": [_bed_json(line) for line in self.beds],
            "unassigned": list(self.unassigned),
        }


def _iso(at: datetime | None) -> str | None:
    return at.isoformat(timespec="minutes") if at else None


def _changed_json(bed: ChangedBed) -> dict[str, Any]:
    return {
        "bed": bed.bed,
        "old": bed.old.value if bed.old else None,
        "new": bed.new.value,
        "eases": bed.eases,
        "differences": [
            {
                "tasks": [task.value for task in change.tasks],
                "what": change.what,
                "old": change.old,
                "new": change.new,
                "says": change.says,
                "eases": change.eases,
                "why": [reason.as_json() for reason in change.why],
            }
            for change in bed.differences
        ],
    }


def _bed_json(line: BedLine) -> dict[str, Any]:
    return {
        "bed": line.bed,
        "label": line.label,
        "assignment": line.assignment,
        "level": line.level.value,
        "helpers": line.helpers,
        "out_of_bed": people_of(line.plan).out_of_bed,
        "in_bed": people_of(line.plan).in_bed,
        "gravity": line.gravity.name.lower(),
        "help": line.direction.value,
        "questions": [
            {"number": asked.number, "says": asked.says, "by": asked.by, "at": _iso(asked.at)}
            for asked in line.questions
        ],
        "goals": [{"task": goal.task.value, "wanted": goal.wanted, "done": goal.done} for goal in line.goals],
        "history": [[_iso(at), level.value] for at, level in line.history],
        "door_ok": line.door_ok,
        "valid_until": _iso(line.plan.valid_until),
        "expired": line.plan.expired,
        "last_known": line.plan.last_known.as_json() if line.plan.last_known else None,
    }
