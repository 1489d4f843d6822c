"""A question after a fall: its words, and each answer with its key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

UNKNOWN = "unknown"
TYPE_IT = "type it"
ME = "me"
Answers = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Ask:
    """One question: each answer has its key, the words shown, the value kept."""

    name: str
    asks: str
    choices: tuple[tuple[str, str, Any], ...]
    note: str = ""

    def says(self, value: Any) -> str:
        """The words of an answer given before."""
        return next((says for _, says, kept in self.choices if kept == value), str(value))
