"""What is said to the patient in the patient's language; nobody's translation is used unmarked."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints, ValidationError, model_validator

from mobicard.derive.brief import Brief, Phase
from mobicard.derive.brief.values import BriefLine
from mobicard.derive.model import Plan
from mobicard.facts.toml_text import read_toml
from mobicard.facts.words import Level

AFTER_FALL = "after_fall"
_KEYS = (*(level.value for level in Level), AFTER_FALL)

Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=160)]


Spoken = Literal["stand", "move", "tell"]
SPOKEN: Mapping[str, Spoken] = {"say.count_stand": "stand", "say.count_move": "move", "say.tell": "tell"}
"""The lines of a brief that are said to the patient word for word, by rule."""


class PhrasesRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A facility's own phrase file that cannot be used, with what is wrong in it."""


class Phrases(BaseModel):
    """The patient's lines in one language. ``checked_by`` names who checked the translation; None: nobody."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    language: Annotated[str, StringConstraints(pattern=r"^[a-z]{2,3}$")]
    name: Annotated[str, StringConstraints(min_length=1, max_length=40)]
    direction: Literal["ltr", "rtl"]
    checked_by: Annotated[str, StringConstraints(min_length=1, max_length=60)] | None = None
    lines: Mapping[str, Line]
    spoken: Mapping[Spoken, Line] = {}

    @model_validator(mode="after")
    def _every_line(self) -> Phrases:
        missing = [key for key in _KEYS if key not in self.lines]
        if missing:
            raise ValueError(f"no line for {', '.join(missing)}")
        return self

    @classmethod
    def from_toml(cls, text: str) -> Phrases:
        """A facility's own lines. Raises PhrasesRefused with what is wrong."""
        try:
            return cls.model_validate(read_toml(text))
        except tomllib.TOMLDecodeError as broken:
            raise PhrasesRefused(f"the phrase file is not TOML: {broken}") from None
        except ValidationError as refused:
            first = refused.errors(include_url=False)[0]
            where = ".".join(str(part) for part in first["loc"])
            raise PhrasesRefused(f"the phrase file, {where or 'as a whole'}: {first['msg']}") from None


@dataclass(frozen=True, slots=True)
class PatientLine:
    """The line as a page sets it; ``note`` says in English who answers for the translation."""

    text: str
    language: str
    direction: str
    note: str


def patient_line(
    plan: Plan, language: str | None, own: Mapping[str, Phrases] | None = None
) -> PatientLine | None:
    """The patient's line for the level the card shows; None when there is none in that language.

    ``own`` are a facility's own phrases by language, which go before the packaged ones.
    """
    phrases = _phrases(language, own)
    if phrases is None:
        return None
    return PatientLine(phrases.lines[_key(plan)], phrases.language, phrases.direction, _note(phrases))


def in_their_language(found: Brief, language: str | None, own: Mapping[str, Phrases] | None = None) -> Brief:
    """The brief with each count also in the patient's language, and the word it ends on where helpers move on
    it; unchanged where its words are not known."""
    phrases = _phrases(language, own)
    if phrases is None or phrases.language == "en" or not phrases.spoken:
        return found
    counted = any(line.rule == "say.count_move" and line.shown for line in found.lines)
    count = phrases.spoken.get("move", "") if counted else ""
    last = _COMMA.split(count.rstrip("."))[-1].strip()
    lines = tuple(replace(line, says=_both_ways(line, last, phrases)) for line in found.lines)
    return replace(found, lines=lines)


def _both_ways(line: BriefLine, last: str, phrases: Phrases) -> str:
    """A line with its words in their language; ``last`` is the word they move on."""
    if said := phrases.spoken.get(SPOKEN[line.rule], "") if line.rule in SPOKEN else "":
        return f"{line.says} {_aside(said, phrases)}"
    moves = last and line.phase is Phase.DO
    return line.says.replace("“move”", f"“move” ({last})", 1) if moves else line.says


_COMMA = re.compile("[,\N{ARABIC COMMA}]")


def _aside(said: str, phrases: Phrases) -> str:
    words = said.rstrip(".")  # a full stop of letters from right to left would stand on the wrong side
    return f"({words})" if phrases.checked_by else f"({words}, unchecked)"


def _phrases(language: str | None, own: Mapping[str, Phrases] | None) -> Phrases | None:
    base = (language or "").split("-")[0].lower()
    return (own or {}).get(base) or packaged().get(base)


def _key(plan: Plan) -> str:
    level = plan.shown_level
    if plan.after_fall is not None and level is Level.REMAIN:
        return AFTER_FALL  # on the floor, or wherever the patient sits now: not “in bed”
    if level.rank < Level.TEAM.rank and (plan.helpers or 0) > 1:
        return Level.TEAM.value
    return level.value


def _note(phrases: Phrases) -> str:
    if phrases.checked_by is None:
        return "translation to be checked by the facility before use"
    return "" if phrases.language == "en" else f"translation checked: {phrases.checked_by}"


@cache
def packaged() -> Mapping[str, Phrases]:
    """The lines that come with mobicard, by language."""
    found = (item for item in files(__package__).iterdir() if item.name.endswith(".toml"))
    read = [
        Phrases.from_toml(item.read_text(encoding="utf-8")) for item in sorted(found, key=lambda f: f.name)
    ]
    return {phrases.language: phrases for phrases in read}
