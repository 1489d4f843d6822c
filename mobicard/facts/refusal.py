"""A refused record in a nurse's words: which field, what stood there, what to write instead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from mobicard.facts.record import Record


@dataclass(frozen=True, slots=True)
class Problem:
    """One refused fact: its path, the value that stood there, and the sentence that helps."""

    field: str
    value: object
    says: str

    def __str__(self) -> str:
        return f"{self.field}: {self.says}"


class RecordRefused(ValueError):  # noqa: N818 - said to people as a refusal, not as an error
    """A record that cannot be taken as it stands; ``problems`` has each reason."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))


def read_record(data: Mapping[str, Any]) -> Record:
    """A Record from a plain mapping (JSON or TOML already parsed).

    Raises RecordRefused, which names every field, its value and what to write instead.
    """
    if not isinstance(data, Mapping):
        raise RecordRefused([Problem("record", data, "a record is a set of named facts, starting with the bed")])
    try:
        return Record.model_validate(data)
    except ValidationError as refused:
        raise RecordRefused(problems_of(refused)) from None


def problems_of(refused: ValidationError) -> list[Problem]:
    """Every refused fact of a pydantic error, each once, in ward words."""
    problems: dict[str, Problem] = {}
    for detail in refused.errors(include_url=False):
        field = _path(detail)
        problems.setdefault(field, Problem(field, detail.get("input"), _sentence(detail)))
    return list(problems.values())


def _path(detail: ErrorDetails) -> str:
    skip = {"[key]", "bool", "int", "str", "float", "function-before[_mass(), float]"}
    parts = [str(part) for part in detail["loc"] if str(part) not in skip and not str(part).startswith("literal")]
    return ".".join(parts) or "record"


def _shown(value: object) -> str:
    text = str(value)
    return text if len(text) <= 40 else text[:39] + "…"


def _sentence(detail: ErrorDetails) -> str:
    kind, value = detail["type"], detail.get("input")
    context = detail.get("ctx") or {}
    if kind == "value_error":
        return str(context.get("error", detail["msg"]))
    if kind == "missing":
        return "is missing; it is the one fact every record must have" if detail["loc"] == ("bed",) else "is missing"
    if kind == "extra_forbidden":
        return _unknown_key(str(detail["loc"][-1]), top=len(detail["loc"]) == 1)
    if kind == "enum":
        words = str(context.get("expected", "")).replace(" or ", ", ").replace("'", "").split(", ")
        near = get_close_matches(str(value), words, n=1)
        hint = f" (did you mean {near[0]}?)" if near else ""
        return f"“{_shown(value)}” is not one of the answers{hint}; write {', '.join(words[:-1])} or {words[-1]}"
    return _bounds(kind, value, context) or f"“{_shown(value)}” cannot be read here: {detail['msg'].lower()}"


def _unknown_key(key: str, *, top: bool) -> str:
    near = get_close_matches(key, list(Record.model_fields), n=1) if top else []
    return f"“{key}” is not a fact mobicard knows" + (f"; did you mean {near[0]}?" if near else "; remove it")


def _bounds(kind: str, value: object, context: Mapping[str, Any]) -> str | None:
    match kind:
        case "greater_than_equal" | "greater_than":
            return f"{_shown(value)} is too small to be true; the least is {context.get('ge', context.get('gt'))}"
        case "less_than_equal" | "less_than":
            return f"{_shown(value)} is too large to be true; the most is {context.get('le', context.get('lt'))}"
        case "finite_number":
            return "is not a number; write the figure or leave it out"
        case "float_parsing" | "int_parsing" | "float_type" | "int_type" | "int_from_float":
            return f"“{_shown(value)}” is not a figure; write a number, or leave it out"
        case "string_too_long":
            return f"is too long ({len(str(value))} characters); at most {context['max_length']}"
        case "string_too_short":
            return "is empty; write it, or leave the fact out"
        case "bool_parsing" | "bool_type":
            return f"“{_shown(value)}” is not yes or no; write true or false"
        case "datetime_from_date_parsing" | "datetime_parsing" | "datetime_type" | "datetime_from_date_type":
            return f"“{_shown(value)}” is not a time; write it like 2026-03-02T07:10"
        case "too_long":
            return f"has too many entries; at most {context.get('max_length')}"
    return None
