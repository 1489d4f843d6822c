"""The answers of an open form: what was recorded last, what was answered since, and every step back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import deepcopy
from typing import Any

from mobicard.facts import Record, read_record
from mobicard.facts.record import THREE_VALUED
from mobicard.terminal.record.form.questions import DECIDING


class Answers:
    """Facts as the record spells them, over the last record. ``seen`` are the paths answered this sitting.

    An answer that the record would refuse is not kept: ``put`` raises RecordRefused with the sentence.
    """

    def __init__(self, last: Record) -> None:
        self.last: dict[str, Any] = last.as_json()
        self.facts: dict[str, Any] = deepcopy(self.last)
        self.seen: frozenset[str] = frozenset()
        self._past: list[tuple[dict[str, Any], frozenset[str], str]] = []

    def get(self, path: str) -> Any:
        """The answer at a path, None where not assessed."""
        return _get(self.facts, path)

    def was(self, path: str) -> Any:
        """What the last record holds at a path."""
        return _get(self.last, path)

    def put(self, path: str, value: Any, *also: tuple[str, Any]) -> None:
        """Give an answer (None takes it away) and any that go with it. Raises RecordRefused."""
        facts = deepcopy(self.facts)
        if path.startswith("vitals.") and not any(seen.startswith("vitals.") for seen in self.seen):
            facts.pop("vitals", None)  # figures of two times must not be read as one measurement
        for where, what in ((path, value), *also):
            _set(facts, where, what)
        read_record(facts)
        self._past.append((self.facts, self.seen, path))
        self.facts, self.seen = facts, self.seen | {path}

    def confirm(self, paths: Iterable[str]) -> bool:
        """Mark answers as seen again and unchanged; False when there was nothing to confirm."""
        fresh = frozenset(path for path in paths if path not in self.seen and self.get(path) is not None)
        if not fresh:
            return False
        self._past.append((self.facts, self.seen, min(fresh)))
        self.seen |= fresh
        return True

    def undo(self) -> str | None:
        """Take back the last step; the path it was about, or None when there is none."""
        if not self._past:
            return None
        self.facts, self.seen, path = self._past.pop()
        return path

    def restore(self, facts: Mapping[str, Any], seen: Iterable[str]) -> None:
        """Take up a kept draft. Raises RecordRefused when the draft cannot be read as a record."""
        read_record(facts)
        self._past.append((self.facts, self.seen, ""))
        self.facts, self.seen = dict(facts), frozenset(seen)

    def take_over(self, name: str, value: Any) -> None:
        """Let a whole fact saved meanwhile stand under every answer, given or still to be taken back."""
        for facts in (self.last, self.facts, *(past for past, _, _ in self._past)):
            _set(facts, name, value)

    @property
    def record(self) -> Record:
        """The facts as a Record."""
        return read_record(self.facts)

    @property
    def touched(self) -> bool:
        """Whether anything was answered or confirmed since the last record."""
        return bool(self.seen) or self.facts != self.last

    @property
    def unconfirmed(self) -> tuple[str, ...]:
        """Deciding facts that still stand as last recorded and were not seen again this sitting."""
        paths = [*DECIDING, *(f"help.{task}" for task in self.facts.get("help", {}))]
        return tuple(path for path in paths if path not in self.seen and self.get(path) is not None)


def _get(facts: Mapping[str, Any], path: str) -> Any:
    here: Any = facts
    for part in path.split("."):
        if not isinstance(here, Mapping) or part not in here:
            return None
        here = here[part]
    return here


def _set(facts: dict[str, Any], path: str, value: Any) -> None:
    head, _, rest = path.partition(".")
    none = value in ([], {}) and head in THREE_VALUED
    if rest:
        inner = dict(facts.get(head) or {})
        _set(inner, rest, value)
        value = inner or ({} if none else None)
        if head == "fall_risk" and set(inner) <= {"instrument"}:
            value = None
    if not none and (value is None or value in ([], {})):
        facts.pop(head, None)
    else:
        facts[head] = value
