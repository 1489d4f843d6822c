"""The label: for whom it is, what goes in, on what it rests, how it was tested, what it does not know."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from mobicard.rules.by_patient.whom import INTENDED_USE
from mobicard.rules.policy import Policy
from mobicard.rules.protocol import WRITTEN_DOWN

NOBODY_NAMED = (
    "whoever answers for moving patients on the unit (the facility writes who that is: tell under [label] "
    "in policy.toml)"
)
LISTED = "The published sources"
_PARTLY = ("memory", "restatement", "inferred", "in part", "copies", "on a copy", "abstract", "first two")
"""Words of a source's note that say it was not read, or not whole."""


@dataclass(frozen=True, slots=True)
class Part:
    """A heading of the label and its paragraphs."""

    title: str
    says: tuple[str, ...]


def label(policy: Policy) -> tuple[Part, ...]:
    """Every part in the order of reading, with this facility's figures and whom it names."""
    text = files("mobicard.paper.leaflet").joinpath("label.toml").read_text(encoding="utf-8")
    told = {
        **_counted(),
        "use": INTENDED_USE,
        "limit": policy.loads.helper_limit_lb,
        "tell": policy.label.tell or NOBODY_NAMED,
    }
    return tuple(
        Part(part["title"], tuple(line.format_map(told) for line in part["says"]))
        for part in tomllib.loads(text)["part"]
    )


def as_markdown(parts: Iterable[Part]) -> str:
    """The label as the README has it: all but the list of sources."""
    told = [f"**{part.title}.** {' '.join(part.says)}" for part in parts if part.title != LISTED]
    return "\n\n".join(told) + "\n"


@cache
def _counted() -> dict[str, Any]:
    """How many rules there are and on what they rest; the sources known only in part among all."""
    text = files("mobicard.rules").joinpath("sources.toml").read_text(encoding="utf-8")
    known = tomllib.loads(text)
    published = {key for key, source in known.items() if not _ours(source["shows"])}
    rests = [set(rule.sources) for rule in WRITTEN_DOWN]
    named = sum(bool(keys & published) for keys in rests)
    house = sum(not keys & published and any(key.startswith("house") for key in keys) for keys in rests)
    return {
        "rules": len(rests),
        "published": named,
        "house": house,
        "common": len(rests) - named - house,
        "sources": len(published),
        "partly": sum(any(word in known[key]["note"] for word in _PARTLY) for key in published),
        "names": "; ".join(_once(known[key]["shows"] for key in known if key in published)),
    }


def _ours(shows: str) -> bool:
    return shows.startswith("house rule") or "no source" in shows


def _once(names: Iterable[str]) -> Iterator[str]:
    """Each name once, the figures of one publication together."""
    seen: dict[str, list[str]] = {}
    for name in names:
        head, found, figure = name.partition(", Fig. ")
        seen.setdefault(head, []).extend([figure] if found else [])
    for head, figures in seen.items():
        yield f"{head}, Fig. {', '.join(figures)}" if figures else head
