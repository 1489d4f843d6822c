"""JSON Schema (2020-12) of a Record and of a Plan, generated from the types; ``python -m`` writes the files.

``record_schema()`` and ``plan_schema()`` generate; the files go out in the wheel. The record's schema says
what a program may send; that a diastolic is below its systolic only the model can say.
"""

from __future__ import annotations

import json
import types
from collections.abc import Mapping
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import Any, Union, get_args, get_origin, get_type_hints

from mobicard.derive import model
from mobicard.derive.as_json import AsJson
from mobicard.facts import Record
from mobicard.facts.refusal import PLAN_ID, RECORD_ID
from mobicard.facts.words import Level, Task

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_FOLDER = "schemas"
_MASS = {
    "type": "string",
    "pattern": r"^\s*\d+([.,]\d+)?\s*([Kk][Gg][Ss]?|[Kk]ilos?|[Ll][Bb][Ss]?|[Pp]ounds?)\.?\s*$",
}
_TEXT = {"type": "string"}
_RANK = {"type": "integer", "minimum": 0, "maximum": len(Level) - 1}
_TIME = r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?$"


def record_schema() -> dict[str, Any]:
    """What ``facts.read_record`` takes: the Record's own schema with the spellings accepted at the edges."""
    schema = Record.model_json_schema(mode="validation")
    top = schema["properties"]
    for inside, edge in (("weight_kg", "weight"), ("height_cm", "height")):
        top[inside]["anyOf"].insert(1, dict(_MASS) if edge == "weight" else dict(_TEXT))
        top[edge] = {
            "anyOf": [dict(_MASS) if edge == "weight" else dict(_TEXT), {"type": "null"}],
            "description": f"with its unit, instead of {inside}",
        }
    limb = schema["$defs"]["LimbOrder"]
    limb["properties"]["load"] = {**_MASS, "description": "with its unit, instead of kg"}
    limb["properties"]["kg"]["anyOf"].insert(1, dict(_MASS))
    schema["$defs"]["LimbOrder"] = {
        "anyOf": [limb, {"$ref": "#/$defs/WeightBearing"}],
        "description": limb.pop("description", ""),
    }
    _accept_null_and_nested(top)
    _settle(schema)
    for name in ("$id", "$schema"):
        top[name] = {"const": RECORD_ID, "description": "the spelling this record is in"}
    return {"$schema": _DRAFT, "$id": RECORD_ID, **schema}


_BOUNDS = {"ge": "minimum", "le": "maximum", "gt": "exclusiveMinimum", "lt": "exclusiveMaximum"}
"""Bounds that stand behind a reading function keep pydantic's own names; a schema knows them by these."""


def _settle(part: Any) -> None:
    """Bounds by their schema names, times as wall clock without an offset, yes and no also as booleans."""
    if isinstance(part, dict):
        for ours, theirs in _BOUNDS.items():
            if ours in part and "type" in part:
                part[theirs] = part.pop(ours)
        if part.get("format") == "date-time":
            del part["format"]
            part["pattern"] = _TIME
        choices = part.get("anyOf", [])
        if {"$ref": "#/$defs/YesNoUnknown"} in choices and {"type": "boolean"} not in choices:
            choices.append({"type": "boolean"})
        part = list(part.values())
    if isinstance(part, list):
        for each in part:
            _settle(each)


def _accept_null_and_nested(top: dict[str, Any]) -> None:
    """Absent may be spelled null; ``helpers_used`` may stand inside ``help``."""
    for key in ("precautions", "lines", "on_before_up", "aids", "goals", "appointments", "helpers_used"):
        top[key] = _or_null(top[key])
    for key in ("help", "helpers_used", "weight_bearing"):
        table = top[key]["anyOf"][0] if "anyOf" in top[key] else top[key]
        table["additionalProperties"] = _or_null(table["additionalProperties"])
    table = top["help"]
    answers = table["additionalProperties"]
    names = table.pop("propertyNames", None)
    table["properties"] = {"helpers_used": top["helpers_used"]}
    if names is not None:
        table["propertyNames"] = {"anyOf": [names, {"const": "helpers_used"}]}
    table["additionalProperties"] = answers
    top["help"] = _or_null(table)
    top["weight_bearing"] = _or_null(top["weight_bearing"])


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return schema if "anyOf" in schema else {"anyOf": [schema, {"type": "null"}]}


def plan_schema() -> dict[str, Any]:
    """What ``Plan.as_json()`` gives, from the types of the plan model."""
    defs: dict[str, Any] = {}
    top = _object(model.Plan, defs)
    defs.pop("Plan", None)
    top["properties"]["$id"] = {"const": PLAN_ID, "description": "the spelling this plan is in"}
    return {
        "$schema": _DRAFT,
        "$id": PLAN_ID,
        "title": "Plan",
        **top,
        "$defs": dict(sorted(defs.items())),
    }


def _object(kind: type[AsJson], defs: dict[str, Any]) -> dict[str, Any]:
    """The schema of one value of the plan: its JSON's own keys, each with the type of what it comes from."""
    hints = get_type_hints(kind)
    keys = list(kind.json_keys())
    properties: dict[str, Any] = {}
    for key in keys:
        hint = hints.get(key) or get_type_hints(getattr(kind, key).fget)["return"]
        properties[key] = dict(_RANK) if key == "level_rank" else _type(hint, defs)
    return {
        "type": "object",
        "description": (kind.__doc__ or "").strip().split("\n")[0],
        "properties": properties,
        "required": keys,
        "additionalProperties": False,
    }


_PLAIN: Mapping[Any, dict[str, Any]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
    datetime: {"type": "string", "pattern": _TIME},
    Any: {},
}


def _type(hint: Any, defs: dict[str, Any]) -> dict[str, Any]:
    if hint in _PLAIN:
        return dict(_PLAIN[hint])
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return {"anyOf": [{"type": "null"} if part is type(None) else _type(part, defs) for part in args]}
    if origin is tuple:
        return {"type": "array", "items": _type(args[0], defs)}
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _table(args[0], args[1], defs)
    if isinstance(hint, type) and issubclass(hint, Enum):
        defs[hint.__name__] = {"type": "string", "enum": [each.value for each in hint]}
    elif isinstance(hint, type) and issubclass(hint, AsJson) and hint.__name__ not in defs:
        defs[hint.__name__] = {}  # holds the place, should a type contain itself
        defs[hint.__name__] = _object(hint, defs)
    return {"$ref": f"#/$defs/{hint.__name__}"}


def _table(key: Any, value: Any, defs: dict[str, Any]) -> dict[str, Any]:
    inner = _type(value, defs)
    if isinstance(key, type) and issubclass(key, Enum):
        names = [each.value for each in key]
        every = {"required": names} if key is Task else {}  # a plan has every move; of gear, what it asks for
        properties = dict.fromkeys(names, inner)
        return {"type": "object", "properties": properties, **every, "additionalProperties": False}
    return {"type": "object", "additionalProperties": inner}


def as_text(schema: Mapping[str, Any]) -> str:
    """A schema as the packaged file spells it."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def write_packaged(folder: Path | None = None) -> None:
    """Write both schema files anew, after a change of the types."""
    folder = folder or Path(__file__).parent / _FOLDER
    for name, schema in (("record", record_schema()), ("plan", plan_schema())):
        (folder / f"{name}.schema.json").write_text(as_text(schema), encoding="utf-8")


if __name__ == "__main__":
    write_packaged()
