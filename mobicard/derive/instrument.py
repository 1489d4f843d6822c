"""A scoring instrument as data: its items, answers, points, bands, source and licence, read from TOML."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cached_property
from math import prod
from typing import Annotated, Any, Final, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from mobicard.facts.refusal import problems_of
from mobicard.facts.toml_text import read_toml

MOST_COMPLETIONS: Final = 10_000
"""Items scored together are enumerated; more combinations than this are refused when the file is read."""


class InstrumentRefused(ValueError):  # noqa: N818 - said to people as a refusal, not as an error
    """An instrument file that cannot be used; the message says where and why."""


class _Data(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)


class Answer(_Data):
    """One answer to an item: the value a record carries, its points, and the words a form shows."""

    value: bool | int | str
    points: Annotated[int, Field(ge=0, le=1000)]
    says: str = ""

    @property
    def spelled(self) -> str:
        """The value as JSON and TOML spell it."""
        return str(self.value).lower() if isinstance(self.value, bool) else str(self.value)

    @property
    def label(self) -> str:
        """What a form shows for it."""
        return self.says or {"true": "yes", "false": "no"}.get(self.spelled, self.spelled.replace("_", " "))


class ScoreItem(_Data):
    """One question: its key in a record, the short question a form shows, its answers in the form's order.

    ``after_fall`` is the answer that a fall recorded on this stay gives, whatever was answered before it.
    """

    key: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
    asks: str
    answers: Annotated[tuple[Answer, ...], Field(min_length=2)]
    loinc: str | None = None
    after_fall: bool | int | str | None = None

    def answer(self, value: object) -> Answer | None:
        """The answer with this value, or None; yes/no, numbers and words are never taken for each other."""
        return self._by_value.get((type(value), value)) if isinstance(value, bool | int | str) else None

    @cached_property
    def _by_value(self) -> Mapping[tuple[type, object], Answer]:
        return {(type(answer.value), answer.value): answer for answer in self.answers}

    @cached_property
    def span(self) -> tuple[int, int]:
        """Least and most points of any answer."""
        points = [answer.points for answer in self.answers]
        return min(points), max(points)

    @model_validator(mode="after")
    def _distinct(self) -> Self:
        if len({answer.spelled for answer in self.answers}) != len(self.answers):
            raise ValueError(f"item “{self.key}” lists one answer twice")
        if self.after_fall is not None and self.answer(self.after_fall) is None:
            raise ValueError(f"item “{self.key}”: after_fall is none of its answers")
        return self


class Combined(_Data):
    """Points for a sum: when the answer values of these items add up to one of ``sums``."""

    items: Annotated[tuple[str, ...], Field(min_length=2)]
    sums: Annotated[tuple[int, ...], Field(min_length=1)]
    points: Annotated[int, Field(ge=0, le=1000)]


class Band(_Data):
    """A band from its least score up to the next band's."""

    name: str
    least: int
    loinc: str | None = None


class Loinc(_Data):
    """LOINC numbers of the whole: panel, total and level, where there are any."""

    panel: str | None = None
    total: str | None = None
    level: str | None = None


class Instrument(_Data):
    """A fall-risk instrument. ``note`` is shown where it is chosen; ``licence`` says its terms."""

    id: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
    name: str
    source: str
    licence: str
    note: str = ""
    when: str = ""
    loinc: Loinc = Loinc()
    bands: Annotated[tuple[Band, ...], Field(min_length=1)]
    item: Annotated[tuple[ScoreItem, ...], Field(min_length=1)]
    combined: tuple[Combined, ...] = ()

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """An instrument from its file. Raises InstrumentRefused in words."""
        try:
            return cls.from_table(read_toml(text))
        except tomllib.TOMLDecodeError as bad:
            raise InstrumentRefused(f"the instrument is not readable as TOML: {bad}") from None

    @classmethod
    def from_table(cls, table: Mapping[str, Any]) -> Self:
        """An instrument from an already parsed table. Raises InstrumentRefused in words."""
        try:
            return cls.model_validate(dict(table))
        except ValidationError as bad:
            raise InstrumentRefused("; ".join(str(problem) for problem in problems_of(bad))) from None

    @cached_property
    def items(self) -> Mapping[str, ScoreItem]:
        """The items by key, in the form's order."""
        return {item.key: item for item in self.item}

    @cached_property
    def groups(self) -> tuple[tuple[str, ...], ...]:
        """Items that must be scored together: those of one combined rule, else each alone."""
        together = [rule.items for rule in self.combined]
        joined = {key for rule in together for key in rule}
        return (*((key,) for key in self.items if key not in joined), *together)

    def combined_points(self, chosen: Mapping[str, Answer]) -> int:
        """Points for the sums of these answers, over the combined rules whose items are all among them."""
        return sum(
            rule.points
            for rule in self.combined
            if all(key in chosen for key in rule.items)
            and sum(int(chosen[key].value) for key in rule.items) in rule.sums
        )

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        keys = [item.key for item in self.item]
        if len(set(keys)) != len(keys):
            raise ValueError("an item key is used twice")
        used = [key for rule in self.combined for key in rule.items]
        if len(set(used)) != len(used) or not set(used) <= set(keys):
            raise ValueError("a combined rule names items of this instrument, each in one rule only")
        for key in used:
            if not all(type(answer.value) is int for answer in self.items[key].answers):
                raise ValueError(f"item “{key}” is added up, so its answers are whole numbers")
        for rule in self.combined:
            if prod(len(self.items[key].answers) for key in rule.items) > MOST_COMPLETIONS:
                raise ValueError("a combined rule has too many ways to be answered")
        if len({band.name for band in self.bands}) != len(self.bands):
            raise ValueError("a band is named twice")
        return self
