"""A refused record in a nurse's words: which field, what stood there, what to write instead."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from mobicard.facts.hazards import Order
from mobicard.facts.record import Record
from mobicard.facts.words import Limb


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
        raise RecordRefused(
            [Problem("record", data, "a record is a set of named facts, starting with the bed")]
        )
    if unknown := why_not_read(data):
        name, why = unknown
        raise RecordRefused([Problem(name, data[name], why)])
    try:
        return Record.model_validate(without_spelling(data))
    except ValidationError as refused:
        raise RecordRefused(problems_of(refused)) from None


def read_from_outside(data: Mapping[str, Any]) -> Record:
    """A Record as ``read_record`` reads it, from a file or another system.

    Raises RecordRefused also where an order stands that its precautions or limbs know nothing of: the plan
    follows from those, and would ask for too little.
    """
    record = read_record(data)
    known = {*record.precautions, *record.weight_bearing, *(end.what for end in record.ended)}
    unknown = [order for order in record.orders if order.what not in known]
    if unknown:
        raise RecordRefused([_untold(order) for order in unknown])
    return record


def _untold(order: Order) -> Problem:
    field = "weight_bearing" if order.what in set(Limb) else "precautions"
    return Problem(
        "orders",
        order.what,
        f"“{order.what}” stands since {order.at:%Y-%m-%d %H:%M}, but {field} does not have it; "
        f"write it there too, or write in “ended” who ended it",
    )


def problems_of(refused: ValidationError) -> list[Problem]:
    """Every refused fact of a pydantic error, each once, in ward words."""
    problems: dict[str, Problem] = {}
    for detail in refused.errors(include_url=False):
        field = _path(detail)
        problems.setdefault(field, Problem(field, detail.get("input"), _sentence(detail)))
    return list(problems.values())


def _path(detail: ErrorDetails) -> str:
    skip = {"[key]", "bool", "int", "str", "float", "function-before[_mass(), float]"}
    parts = [
        str(part) for part in detail["loc"] if str(part) not in skip and not str(part).startswith("literal")
    ]
    named = re.match(r"“(\w+)”", str((detail.get("ctx") or {}).get("error", "")))
    return ".".join(parts) or (named[1] if named else "record")


def _shown(value: object) -> str:
    text = str(value)
    return text if len(text) <= 40 else text[:39] + "…"


def _sentence(detail: ErrorDetails) -> str:
    kind, value = detail["type"], detail.get("input")
    context = detail.get("ctx") or {}
    if kind == "value_error":
        return str(context.get("error", detail["msg"]))
    if kind == "missing":
        return (
            "is missing; it is the one fact every record must have"
            if detail["loc"] == ("bed",)
            else "is missing"
        )
    if kind == "extra_forbidden":
        return _unknown_key(str(detail["loc"][-1]), top=len(detail["loc"]) == 1)
    if kind == "enum":
        words = str(context.get("expected", "")).replace(" or ", ", ").replace("'", "").split(", ")
        folded = {word.lower(): word for word in words}
        near = get_close_matches(str(value).lower(), folded, n=1)
        hint = f" (did you mean {folded[near[0]]}?)" if near else ""
        return (
            f"“{_shown(value)}” is not one of the answers{hint}; write {', '.join(words[:-1])} or {words[-1]}"
        )
    return _bounds(kind, value, context) or f"“{_shown(value)}” cannot be read here: {detail['msg'].lower()}"


def _unknown_key(key: str, *, top: bool) -> str:
    near = get_close_matches(key, list(Record.model_fields), n=1) if top else []
    return f"“{key}” is not a fact mobicard knows" + (f"; did you mean {near[0]}?" if near else "; remove it")


_NO_FIGURE = "“{shown}” is not a figure; write a number, or leave it out"
_NO_TIME = "“{shown}” is not a time; write it like 2026-03-02T07:10"
_ONE_WORD = "“{shown}” is one word where named facts belong; write it as a group, key by key"

_SENTENCES = {
    "greater_than_equal": "{shown} is too small to be true; the least is {ge}",
    "greater_than": "{shown} is too small to be true; it must be more than {gt}",
    "less_than_equal": "{shown} is too large to be true; the most is {le}",
    "less_than": "{shown} is too large to be true; it must be less than {lt}",
    "finite_number": "is not a number; write the figure or leave it out",
    "bool_parsing": "“{shown}” is not yes or no; write true or false",
    "bool_type": "“{shown}” is not yes or no; write true or false",
    "string_too_long": "is too long ({length} characters); at most {max_length}",
    "string_too_short": "is too short; at least {min_length} characters",
    "string_type": "“{shown}” is not text; write it in quotes",
    "string_pattern_mismatch": "“{shown}” holds signs or a form that cannot stand here",
    "too_long": "has too many entries; at most {max_length}",
    **dict.fromkeys(
        ("float_parsing", "int_parsing", "float_type", "int_type", "int_from_float", "int_parsing_size"),
        _NO_FIGURE,
    ),
    **dict.fromkeys(
        ("datetime_from_date_parsing", "datetime_parsing", "datetime_type", "datetime_from_date_type"),
        _NO_TIME,
    ),
    **dict.fromkeys(("model_type", "dict_type", "model_attributes_type", "mapping_type"), _ONE_WORD),
    **dict.fromkeys(
        ("tuple_type", "list_type"), "“{shown}” is not a list; write it in square brackets, even one entry"
    ),
}


def _bounds(kind: str, value: object, context: Mapping[str, Any]) -> str | None:
    if kind == "string_too_short" and not value:
        return "is empty; write it, or leave it out"
    sentence = _SENTENCES.get(kind)
    return sentence and sentence.format_map({**context, "shown": _shown(value), "length": len(str(value))})


# -- the spelling a document says it is in -----------------------------------------------------------------

SCHEMAS: Final = "https://w3id.org/mobicard/schema"
RECORD_VERSION: Final = 1
PLAN_VERSION: Final = 1
RECORD_ID: Final = f"{SCHEMAS}/record/{RECORD_VERSION}"
PLAN_ID: Final = f"{SCHEMAS}/plan/{PLAN_VERSION}"
"""What a document says in ``$id``: the address of its schema, whose last part is the version.

A version is raised when a reader of the one before could be wrong: a key with another meaning, or one that
must not be missed.
"""

_NAMES: Final = ("$id", "$schema")
"""Where a document may name its schema; editors look for the second."""


def named(id_: str, document: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the spelling it is in."""
    return {"$id": id_, **document}


def without_spelling(document: Mapping[Any, Any]) -> dict[Any, Any]:
    """The facts of a record document, without where it says its spelling."""
    return {key: value for key, value in document.items() if key not in _NAMES}


def why_not_read(document: Mapping[Any, Any]) -> tuple[str, str] | None:
    """Where a document names a spelling that cannot be read here, and why, or None."""
    for name in _NAMES:
        if name in document and (why := _why_unknown(document[name])):
            return name, why
    return None


def _why_unknown(id_: object) -> str | None:
    found = re.fullmatch(re.escape(SCHEMAS) + r"/record/([1-9][0-9]{0,8})", str(id_), re.ASCII)
    if found is None:
        return f"is not the address of a record's schema; that is {RECORD_ID}"
    if int(found[1]) > RECORD_VERSION:
        return (
            f"is version {found[1]} of a record, of a newer mobicard; this one knows {RECORD_VERSION} and "
            "could misread it: update this one"
        )
    return None
