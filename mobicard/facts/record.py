"""The Record: everything known about one stay at one moment; absent means not assessed, never fine."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    field_validator,
    model_validator,
)

from mobicard.facts.body import LegTest, OneSided, SkinRisk, SoreSite
from mobicard.facts.fall_event import FallEvent
from mobicard.facts.hazards import Operation, Order, OrderEnded, PressureDrop, ReadingsCleared
from mobicard.facts.head_watch import HeadWatch
from mobicard.facts.limits import LimbOrder
from mobicard.facts.lines import Line, LineKind
from mobicard.facts.text import Count, Figure, Name, Note, OwnWord, WallTime, not_yes_no, without_controls
from mobicard.facts.units import read_length, read_mass
from mobicard.facts.vitals import Vitals
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
    WeightByEye,
    Word,
)

_LISTS = ("proficient_with", "goals", "appointments", "orders", "ended", "legs")

THREE_VALUED = (
    "precautions", "lines", "weight_bearing", "on_before_up", "aids", "communication", "sore_sites",
)  # fmt: skip
"""Facts of which ``[]`` or ``{}`` is an answer, asked and none, and absent is none: nobody asked."""


def _mass(value: object) -> object:
    return read_mass(value) if isinstance(value, str) else not_yes_no(value)


def _length(value: object) -> object:
    return read_length(value) if isinstance(value, str) else not_yes_no(value)


Kg = Annotated[float, BeforeValidator(_mass), Field(ge=0.3, le=500)]
Cm = Annotated[float, BeforeValidator(_length), Field(ge=20, le=260)]
Bed = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=16, pattern=r"^[^\x00-\x1f\x7f<>]+$"),
    AfterValidator(without_controls),
]
Label = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=12), AfterValidator(without_controls)
]
Reason = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=3, max_length=200),
    AfterValidator(without_controls),
]


class Fact(BaseModel):
    """A frozen group of facts that refuses unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_enum_values=False)


class Communication(Fact):
    """How to reach the patient with words."""

    language: Annotated[str, StringConstraints(pattern=r"^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$")] | None = None
    interpreter: bool | None = None
    hearing: Name | None = None
    vision: Name | None = None
    note: Note | None = None


class FallRiskAnswers(Fact):
    """Answers to one instrument; the instrument's own file says which answers it knows."""

    instrument: Name
    answers: Mapping[OwnWord, bool | int | OwnWord | None] = Field(default_factory=dict)


class Goal(Fact):
    """A move wanted so many times a shift."""

    task: Task
    times_per_shift: Annotated[Count, Field(ge=1, le=24)]


class Appointment(Fact):
    """A known transport or move at a known time."""

    task: Task
    at: WallTime
    note: Note | None = None


class Override(Fact):
    """A named person's own judgement of the level, with the reason."""

    level: Level
    reason: Reason
    by: Name
    at: WallTime


def _units(data: Mapping[Any, Any]) -> dict[Any, Any]:
    """The facts with ``weight`` and ``height``, which carry their unit, under their own names."""
    out = dict(data)
    for edge, inside in (("weight", "weight_kg"), ("height", "height_cm")):
        if edge in out:
            if out.get(inside) is not None:
                raise ValueError(f"“{edge}” and “{inside}” are both given; keep one")
            value = out.pop(edge)
            if value is not None and not isinstance(value, str):
                raise ValueError(f"“{edge}” needs its unit, like “{value} kg”; or use “{inside}”")
            out[inside] = value
    return out


def _asked(facts: dict[Any, Any]) -> dict[Any, Any]:
    """The facts without those nobody asked for; ``"none"`` is an empty list."""
    for key in THREE_VALUED:
        if facts.get(key) == "none":
            facts[key] = {} if key in ("weight_bearing", "communication") else []
    absent = [key for key in (*_LISTS, *THREE_VALUED, "help", "helpers_used") if facts.get(key, 0) is None]
    return {key: value for key, value in facts.items() if key not in absent}


class Record(Fact):
    """One stay's facts. Masses in kg, lengths in cm, pressures in mmHg, times as the ward's wall clock.

    Raises pydantic.ValidationError on anything it does not know; ``facts.read_record`` says it in words.
    """

    bed: Bed
    label: Label | None = None
    weight_kg: Kg | None = None
    weight_by_eye: WeightByEye | None = None
    child: bool | None = None
    height_cm: Cm | None = None
    assessed_at: WallTime | None = None
    assessed_by: Name | None = None

    alertness: Alertness | None = None
    directions: Directions | None = None
    behavior: Behavior | None = None
    sitting: Balance | None = None
    standing: Balance | None = None
    stepping: Stepping | None = None
    arms: Arms | None = None

    weak_side: OneSided | None = None
    neglect: OneSided | None = None
    legs: Mapping[Limb, LegTest] = Field(default_factory=dict)

    help: Mapping[Task, Help] = Field(default_factory=dict)
    helpers_used: Mapping[Task, Annotated[Count, Field(ge=0, le=12)]] = Field(default_factory=dict)

    weight_bearing: Mapping[Limb, LimbOrder] = Field(default_factory=dict)
    precautions: tuple[Precaution, ...] = ()
    lines: Annotated[tuple[Line, ...], Field(max_length=20)] = ()
    on_before_up: Annotated[tuple[Name, ...], Field(max_length=12)] = ()
    aids: tuple[Aid, ...] = ()
    proficient_with: tuple[Aid, ...] = ()
    communication: Communication | None = None
    vitals: Vitals | None = None
    fall_risk: FallRiskAnswers | None = None
    fall_event: FallEvent | None = None
    head_watch: HeadWatch | None = None
    pressure_drop: PressureDrop | None = None
    operation: Operation | None = None
    readings_cleared: ReadingsCleared | None = None
    orders: Annotated[tuple[Order, ...], Field(max_length=20)] = ()
    ended: Annotated[tuple[OrderEnded, ...], Field(max_length=20)] = ()
    skin_risk: SkinRisk | None = None
    sore_sites: tuple[SoreSite, ...] = ()
    pregnancy_weeks: Annotated[Count, Field(ge=0, le=44)] | None = None
    turn_every_h: Annotated[Figure, Field(gt=0, le=24)] | None = None
    toilet_every_h: Annotated[Figure, Field(gt=0, le=24)] | None = None
    goals: tuple[Goal, ...] = ()
    appointments: tuple[Appointment, ...] = ()
    override: Override | None = None

    @model_validator(mode="before")
    @classmethod
    def _edge_spellings(cls, data: Any) -> Any:
        """Accept ``weight: "181 lb"``, ``height: "69 in"`` and ``helpers_used`` inside ``help``."""
        if not isinstance(data, Mapping):
            return data
        out = _asked(_units(data))
        inner = out.get("help")
        if isinstance(inner, Mapping) and "helpers_used" in inner:
            inner = dict(inner)
            used = inner.pop("helpers_used")
            out["help"] = inner
            out.setdefault("helpers_used", used)
        for key in ("help", "helpers_used", "weight_bearing", "legs"):
            if isinstance(out.get(key), Mapping):
                out[key] = {k: v for k, v in out[key].items() if v is not None}
        return out

    @field_validator("precautions", "aids", "proficient_with", "sore_sites")
    @classmethod
    def _no_doubles(cls, listed: tuple[Word, ...]) -> tuple[Word, ...]:
        twice = [word.value for word in listed if listed.count(word) > 1]
        if twice:
            raise ValueError(f"“{twice[0]}” is listed twice; list each once")
        return listed

    @field_validator("legs")
    @classmethod
    def _legs_only(cls, legs: Mapping[Limb, LegTest]) -> Mapping[Limb, LegTest]:
        arms = [limb.value for limb in legs if not limb.is_leg]
        if arms:
            raise ValueError(f"“{arms[0]}” is no leg; only left_leg and right_leg are tested here")
        return legs

    def asked(self, fact: str) -> bool:
        """Whether somebody asked for this fact; of a list, an empty one is an answer: there is none."""
        return getattr(self, fact) is not None and (fact not in THREE_VALUED or fact in self.model_fields_set)

    def has_line(self, kind: LineKind) -> bool:
        """Whether a line of this kind is recorded."""
        return any(line.known is kind for line in self.lines)

    def __eq__(self, other: object) -> bool:
        """Equal facts; one that nobody asked for is not equal to none."""
        if not isinstance(other, Record) or not super().__eq__(other):
            return False
        return all(self.asked(fact) is other.asked(fact) for fact in THREE_VALUED)

    __hash__ = None  # type: ignore[assignment]  # facts hold mappings: no record was ever hashable

    @property
    def counted_kg(self) -> float | None:
        """The weight that counts, kg: measured, else the upper end of the band seen; None: the heaviest."""
        if self.weight_kg is not None:
            return self.weight_kg
        return self.weight_by_eye.at_most_kg if self.weight_by_eye else None

    def changed(self, **facts: Any) -> Record:
        """A new Record with these facts replaced, checked like any other."""
        return Record.model_validate({**self._given(self.model_dump(exclude_none=True)), **facts})

    def as_json(self) -> dict[str, Any]:
        """The Record as it is spelled in JSON and TOML, absent facts left out."""
        return self._given(self.model_dump(mode="json", exclude_none=True))

    def _given(self, dumped: dict[str, Any]) -> dict[str, Any]:
        """The facts that say something; an empty list says something only where somebody asked."""
        empty: tuple[object, ...] = ({}, [], ())
        return {key: value for key, value in dumped.items() if value not in empty or self._none(key)}

    def _none(self, fact: str) -> bool:
        return fact in THREE_VALUED and self.asked(fact)
