"""Two nurses, one bed: what each changed, field by field, and putting them together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from mobicard.facts import Record, read_record
from mobicard.ward.views import FieldChange

_OWN = {"assessed_at", "assessed_by", "bed", "orders", "ended"}
_NESTED = {"help", "helpers_used", "weight_bearing"}


def field_changes(was: Record, mine: Record, theirs: Record) -> tuple[FieldChange, ...]:
    """Every fact that either changed; ``both`` marks those that both changed differently."""
    base, my, their = flat(was.as_json()), flat(mine.as_json()), flat(theirs.as_json())
    found = []
    for name in sorted({*base, *my, *their}):
        before, a, b = base.get(name), my.get(name), their.get(name)
        if a == b or (a == before and b == before):
            continue
        found.append(FieldChange(name, before, a, b, both=before not in (a, b)))
    return tuple(found)


def merge(
    mine: Record, fields: tuple[FieldChange, ...], theirs: Record, take_theirs: frozenset[str]
) -> Record:
    """Mine over theirs: their sole changes stand; where both changed, ``take_theirs`` names those to take."""
    merged = flat(theirs.as_json())
    for change in fields:
        i_changed = change.mine != change.before
        if i_changed and not (change.both and change.field in take_theirs):
            merged[change.field] = change.mine
    merged |= {name: value for name, value in flat(mine.as_json(), own=True).items() if name in _OWN}
    return read_record(_nested({name: value for name, value in merged.items() if value is not None}))


def flat(facts: Mapping[str, Any], *, own: bool = False) -> dict[str, Any]:
    """A record's JSON with one name a fact, like ``help.turn``; who looked and when only with ``own``."""
    found: dict[str, Any] = {}
    for name, value in facts.items():
        if name in _OWN and not own:
            continue
        if name in _NESTED and isinstance(value, Mapping):
            found.update({f"{name}.{key}": inner for key, inner in value.items()})
        else:
            found[name] = value
    return found


def _nested(flat: dict[str, Any]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name, value in flat.items():
        head, _, tail = name.partition(".")
        if tail:
            out.setdefault(head, {})[tail] = value
        else:
            out[head] = value
    return out
