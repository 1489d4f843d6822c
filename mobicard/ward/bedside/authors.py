"""Who a record says looked and judged: whoever is signed in, or somebody who had said so before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from mobicard.facts import Record
from mobicard.ledger import Entry


@dataclass(frozen=True, slots=True)
class Author:
    """By whom something was said, and at what time of the ward."""

    what: str
    by: str | None
    at: str


def authors(said: Record | Mapping[str, object]) -> Iterator[Author]:
    """Who looked, and who judged, as a record has it."""
    facts = said.as_json() if isinstance(said, Record) else said
    yield Author("look", _name(facts.get("assessed_by")), str(facts.get("assessed_at")))
    over = facts.get("override")
    if isinstance(over, Mapping):
        yield Author(str(over.get("level")), _name(over.get("by")), str(over.get("at")))


def records_told(entry: Entry) -> Iterator[Mapping[str, object]]:
    """What an entry carries of records: the one that stands after it, and an older look told late."""
    for name in ("record", "late"):
        if isinstance(facts := entry.body.get(name), Mapping):
            yield facts


def _name(said: object) -> str | None:
    return said if isinstance(said, str) else None
