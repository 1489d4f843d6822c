"""The Plan: what follows from a Record, every statement with its reasons. Values only, no logic of care."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from mobicard.derive.as_json import AsJson
from mobicard.facts.words import Equipment, Level, Limb, Task, WeightBearing


@dataclass(frozen=True, slots=True)
class Reason(AsJson):
    """Why a line stands: the rule, its sentence, the facts that fired it, its source."""

    rule: str
    says: str
    because: Mapping[str, Any]
    source: str


class Levelled(AsJson):
    """What has a level; JSON tells its rank beside it."""

    __slots__ = ()
    level: Level

    @property
    def level_rank(self) -> int:
        return self.level.rank

    @classmethod
    def json_keys(cls) -> tuple[str, ...]:
        keys = super().json_keys()
        after = keys.index("level") + 1
        return (*keys[:after], "level_rank", *keys[after:])


@dataclass(frozen=True, slots=True)
class TaskPlan(Levelled):
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

    KEYS = (
        "level",
        "helpers",
        "method",
        "equipment",
        "share_kg",
        "share_lb",
        "limit_lb",
        "cautions",
        "reasons",
    )


@dataclass(frozen=True, slots=True)
class Gear(AsJson):
    """The unit's own piece of a class that a plan asks for: its name, rating (kg) and where it stands.

    ``cleared``: it bears this patient, or bears nobody's weight. Without a recorded weight nothing is cleared
    that bears one; with ``name`` empty the unit has none.
    """

    name: str
    safe_load_kg: float | None
    where: str
    cleared: bool


@dataclass(frozen=True, slots=True)
class LimbLimit(AsJson):
    """The most one limb may bear, kg and lb; None where the order sets no figure (or no weight is known)."""

    limb: Limb
    status: WeightBearing
    limit_kg: float | None
    limit_lb: float | None
    says: str


@dataclass(frozen=True, slots=True)
class FallRisk(AsJson):
    """A score as a range: ``lowest`` to ``score`` (the highest possible); ``band`` is that of the highest."""

    instrument: str
    score: int
    lowest: int
    band: str
    unanswered: tuple[str, ...]
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Orthostatic(AsJson):
    """Fall of pressure on standing, mmHg; ``positive`` is None when it was not measured."""

    drop_sbp: int | None
    drop_dbp: int | None
    positive: bool | None
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class Conflict(AsJson):
    """Facts or demands that cannot all hold: what, and which fields to look at again."""

    says: str
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OverrideShown(AsJson):
    """An override in force: shown with its name and reason wherever the level is shown."""

    level: Level
    reason: str
    by: str
    at: datetime
    lowers: bool
    lapses_at: datetime


@dataclass(frozen=True, slots=True)
class AfterFall(AsJson):
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

    KEYS = ("state", "says", "told", "steps", "reasons")

    @property
    def in_full(self) -> str:
        """Where the patient stands, and what is known of the fall."""
        return f"{self.says}. {self.told}" if self.told else self.says


@dataclass(frozen=True, slots=True)
class LastKnown(AsJson):
    """History: the level an assessment gave that holds no longer, when it was made and by whom."""

    level: Level
    at: datetime
    by: str | None

    @property
    def says(self) -> str:
        """The history in words; no level to move by."""
        who = f" by {self.by}" if self.by else ""
        return f"last known {self.level.value}, {self.at:%d %b %H:%M}{who}"


@dataclass(frozen=True, slots=True)
class HeadObservations(AsJson):
    """What is due of the head observations, ward time; ``times`` are the next ones, ``due`` the first.

    ``missed`` were due before now and none is entered for them, ``gap`` says so in words; ``rest`` names the
    ones to come, and what ends them; ``hour`` is ``due`` as read now, with its day where that is not today.
    """

    since: datetime
    due: datetime
    late: bool
    times: tuple[datetime, ...]
    rest: str
    noted_at: datetime | None
    source: str
    missed: int
    gap: str
    hour: str

    KEYS = ("since", "due", "late", "missed", "times", "says", "noted_at", "source")

    @property
    def says(self) -> str:
        """All of it in one sentence."""
        return f"Head observations {self.gap or self.hour}, {self.rest}"

    @property
    def brief(self) -> str:
        """The next one in few words."""
        return f"head observation {'LATE since' if self.late else 'due'} {self.hour}"


@dataclass(frozen=True, slots=True)
class Plan(Levelled):
    """The handling plan of one record at one time. Level and people: the most of chair, toilet, standing up.

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
    headline_task: Task = Task.CHAIR
    gear: Mapping[Equipment, Gear] = field(default_factory=dict)

    @property
    def headline(self) -> TaskPlan:
        """The move out of bed that asks for most: chair, toilet or standing up; its level is the card's."""
        return self.tasks[self.headline_task]

    @property
    def shown_level(self) -> Level:
        """The level a card may show: nobody stands behind an expired one, so it shows REMAIN."""
        return Level.REMAIN if self.expired else self.level
