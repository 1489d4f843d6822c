"""The Plan: what follows from a Record, every statement with its reasons. Values only, no logic of care."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from mobicard.facts.words import Equipment, Level, Limb, Task, WeightBearing


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a line stands: the rule, its sentence, the facts that fired it, its source."""

    rule: str
    says: str
    because: Mapping[str, Any]
    source: str

    def as_json(self) -> dict[str, Any]:
        return {"rule": self.rule, "says": self.says, "because": dict(self.because), "source": self.source}


@dataclass(frozen=True, slots=True)
class TaskPlan:
    """How to do one move. ``helpers`` is None where the level says do not move. Masses in kg and lb."""

    task: Task
    level: Level
    helpers: int | None
    method: str
    equipment: tuple[Equipment, ...] = ()
    share_kg: float | None = None
    share_lb: float | None = None
    limit_lb: float | None = None
    cautions: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()

    @property
    def level_rank(self) -> int:
        return self.level.rank

    def as_json(self) -> dict[str, Any]:
        return {
            "level": self.level.value,
            "level_rank": self.level.rank,
            "helpers": self.helpers,
            "method": self.method,
            "equipment": [item.value for item in self.equipment],
            "share_kg": self.share_kg,
            "share_lb": self.share_lb,
            "limit_lb": self.limit_lb,
            "cautions": list(self.cautions),
            "reasons": [reason.as_json() for reason in self.reasons],
        }


@dataclass(frozen=True, slots=True)
class LimbLimit:
    """The most one limb may bear, kg and lb; None where the order sets no figure (or no weight is known)."""

    limb: Limb
    status: WeightBearing
    limit_kg: float | None
    limit_lb: float | None
    says: str

    def as_json(self) -> dict[str, Any]:
        return {
            "limb": self.limb.value,
            "status": self.status.value,
            "limit_kg": self.limit_kg,
            "limit_lb": self.limit_lb,
            "says": self.says,
        }


@dataclass(frozen=True, slots=True)
class FallRisk:
    """A score as a range: ``low`` to ``score`` (the highest possible); ``band`` is that of the highest."""

    instrument: str
    score: int
    low: int
    band: str
    unanswered: tuple[str, ...]
    source: str
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        return {
            "instrument": self.instrument,
            "score": self.score,
            "lowest": self.low,
            "band": self.band,
            "unanswered": list(self.unanswered),
            "source": self.source,
            "note": self.note,
        }


@dataclass(frozen=True, slots=True)
class Orthostatic:
    """Fall of pressure on standing, mmHg; ``positive`` is None when it was not measured."""

    drop_sbp: int | None
    drop_dbp: int | None
    positive: bool | None
    says: str
    source: str

    def as_json(self) -> dict[str, Any]:
        return {
            "drop_sbp": self.drop_sbp,
            "drop_dbp": self.drop_dbp,
            "positive": self.positive,
            "says": self.says,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class Conflict:
    """Facts or demands that cannot all hold: what, and which fields to look at again."""

    says: str
    fields: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"says": self.says, "fields": list(self.fields)}


@dataclass(frozen=True, slots=True)
class OverrideShown:
    """An override in force: shown with its name and reason wherever the level is shown."""

    level: Level
    reason: str
    by: str
    at: datetime
    lowers: bool
    lapses_at: datetime

    def as_json(self) -> dict[str, Any]:
        return {
            "level": self.level.value,
            "reason": self.reason,
            "by": self.by,
            "at": self.at.isoformat(timespec="minutes"),
            "lowers": self.lowers,
            "lapses_at": self.lapses_at.isoformat(timespec="minutes"),
        }


@dataclass(frozen=True, slots=True)
class AfterFall:
    """Where the patient stands after a fall. ``state``: do_not_move, may_be_helped_up or reassess.

    ``ends_by_a_look``: nothing else is open, the next assessment ends it. ``told``: when it was, who examined
    the patient, and what was found.
    """

    state: str
    says: str
    steps: tuple[str, ...]
    reasons: tuple[Reason, ...]
    ends_by_a_look: bool = False
    told: str = ""

    @property
    def in_full(self) -> str:
        """Where the patient stands, and what is known of the fall."""
        return f"{self.says}. {self.told}" if self.told else self.says

    def as_json(self) -> dict[str, Any]:
        return {
            "state": self.state,
            "says": self.says,
            "told": self.told,
            "steps": list(self.steps),
            "reasons": [reason.as_json() for reason in self.reasons],
        }


@dataclass(frozen=True, slots=True)
class LastKnown:
    """History: the level an assessment gave that holds no longer, when it was made and by whom."""

    level: Level
    at: datetime
    by: str | None

    @property
    def says(self) -> str:
        """The history in words; no level to move by."""
        who = f" by {self.by}" if self.by else ""
        return f"last known {self.level.value}, {self.at:%d %b %H:%M}{who}"

    def as_json(self) -> dict[str, Any]:
        return {"level": self.level.value, "at": self.at.isoformat(timespec="minutes"), "by": self.by}


@dataclass(frozen=True, slots=True)
class HeadObservations:
    """What is due of the head observations, ward time; ``times`` are the next ones, ``due`` the first.

    ``rest`` names the ones after it, and what ends them.
    """

    since: datetime
    due: datetime
    late: bool
    times: tuple[datetime, ...]
    rest: str
    noted_at: datetime | None
    source: str

    @property
    def says(self) -> str:
        """All of it in one sentence."""
        return f"Head observations {self.due:%H:%M}{', late' if self.late else ''}, {self.rest}"

    @property
    def brief(self) -> str:
        """The next one in few words."""
        return f"head observation {'LATE since' if self.late else 'due'} {self.due:%H:%M}"

    def as_json(self) -> dict[str, Any]:
        return {
            "since": self.since.isoformat(timespec="minutes"),
            "due": self.due.isoformat(timespec="minutes"),
            "late": self.late,
            "times": [at.isoformat(timespec="minutes") for at in self.times],
            "says": self.says,
            "noted_at": self.noted_at.isoformat(timespec="minutes") if self.noted_at else None,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class Plan:
    """The handling plan of one record at one time. Headline: bed to chair.

    Once its assessment has ended no move has a level to move by: each is REMAIN, with ``last_known`` as
    history. A record without a time cannot end; its plan is whole, and ``expired`` since nobody can say when.
    """

    bed: str
    level: Level
    derived_level: Level
    helpers: int | None
    tasks: Mapping[Task, TaskPlan]
    weight_bearing: tuple[LimbLimit, ...]
    fall_risk: FallRisk | None
    orthostatic: Orthostatic | None
    conflicts: tuple[Conflict, ...]
    not_assessed: tuple[str, ...]
    valid_until: datetime | None
    expired: bool
    code: str
    assessed_at: datetime | None = None
    assessed_by: str | None = None
    override: OverrideShown | None = None
    after_fall: AfterFall | None = None
    head_observations: HeadObservations | None = None
    general: tuple[Reason, ...] = field(default=())
    last_known: LastKnown | None = None

    @property
    def level_rank(self) -> int:
        return self.level.rank

    @property
    def headline(self) -> TaskPlan:
        """The bed-to-chair move, whose level is the card's level."""
        return self.tasks[Task.CHAIR]

    @property
    def shown_level(self) -> Level:
        """The level a card may show: nobody stands behind an expired one, so it shows REMAIN."""
        return Level.REMAIN if self.expired else self.level

    def as_json(self) -> dict[str, Any]:
        """The plan as JSON prints it, level first."""
        return {
            "bed": self.bed,
            "level": self.level.value,
            "level_rank": self.level.rank,
            "derived_level": self.derived_level.value,
            "helpers": self.helpers,
            "tasks": {task.value: plan.as_json() for task, plan in self.tasks.items()},
            "weight_bearing": [limit.as_json() for limit in self.weight_bearing],
            "fall_risk": self.fall_risk.as_json() if self.fall_risk else None,
            "orthostatic": self.orthostatic.as_json() if self.orthostatic else None,
            "conflicts": [conflict.as_json() for conflict in self.conflicts],
            "not_assessed": list(self.not_assessed),
            "valid_until": self.valid_until.isoformat(timespec="minutes") if self.valid_until else None,
            "expired": self.expired,
            "code": self.code,
            "assessed_at": self.assessed_at.isoformat(timespec="minutes") if self.assessed_at else None,
            "assessed_by": self.assessed_by,
            "override": self.override.as_json() if self.override else None,
            "after_fall": self.after_fall.as_json() if self.after_fall else None,
            "head_observations": self.head_observations.as_json() if self.head_observations else None,
            "general": [reason.as_json() for reason in self.general],
            "last_known": self.last_known.as_json() if self.last_known else None,
        }
