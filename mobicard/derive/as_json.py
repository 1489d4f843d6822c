"""Derived values as JSON prints them, from the values themselves: each field, or the keys a class names."""

from __future__ import annotations

from datetime import datetime
from enum import Enum
from functools import cache
from typing import Any, ClassVar

_AS_IT_IS = frozenset({str, int, float, bool, type(None)})


class AsJson:
    """A dataclass that JSON can tell. ``KEYS`` names fields and properties where it is not every field."""

    __slots__ = ()
    __dataclass_fields__: ClassVar[dict[str, Any]]
    KEYS: ClassVar[tuple[str, ...]] = ()

    @classmethod
    def json_keys(cls) -> tuple[str, ...]:
        """The keys, in the order printed."""
        return cls.KEYS or tuple(cls.__dataclass_fields__)

    def as_json(self) -> dict[str, Any]:
        """The value as JSON prints it: words by their value, times to the minute."""
        kind: Any = type(self)
        return {key: plain(getattr(self, key)) for key in _keys(kind)}


@cache
def _keys(kind: Any) -> tuple[str, ...]:
    found: tuple[str, ...] = kind.json_keys()
    return found


def plain(value: Any) -> Any:
    """Any part of such a value as JSON has it."""
    if type(value) in _AS_IT_IS:
        return value
    if isinstance(value, tuple | list):
        return [plain(part) for part in value]
    if isinstance(value, AsJson):
        return value.as_json()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    return {plain(key): plain(part) for key, part in value.items()}
