"""The scheme as values: each level's word, colour, ink, shape and glyph, read from scheme.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from mobicard.facts.toml_text import read_toml
from mobicard.facts.words import Level

RAIL_CELLS = 7
RAIL_FIRST_GROUP = 4
WIDEST_WORD = 4.8
"""What a card has room for beside the shape, in capital heights of the word."""

Hex = Annotated[str, StringConstraints(pattern=r"^#[0-9A-Fa-f]{6}$", to_upper=True)]
Words = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=48, pattern=r"^[^\x00-\x1f\x7f]+$")
]
Colours = Annotated[Mapping[str, tuple[Hex, ...]], Field(min_length=1)]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, arbitrary_types_allowed=True)


class LevelLook(_Part):
    """How one level looks on paper and screen; ``shape_path`` is an SVG path on a 100 x 100 box, even-odd."""

    level: Level
    rank: Annotated[int, Field(ge=0, le=6)]
    word: Annotated[str, StringConstraints(pattern=r"^[A-Z]+$", min_length=1, max_length=24)]
    sub_line: Words
    colour: Hex
    ink: Hex
    shape_path: Annotated[
        str, Field(alias="shape", pattern=r"^[MmLlHhVvCcSsQqTtAaZz0-9 ,.\-]+$", max_length=2000)
    ]
    glyph: Annotated[str, Field(min_length=1, max_length=1)]
    ascii_glyph: Annotated[str, Field(alias="ascii", pattern=r"^[!-~]$")]
    bg256: Annotated[int, Field(ge=16, le=255)]
    fg256: Annotated[int, Field(ge=16, le=255)]


class RemainLines(_Part):
    """What REMAIN says in place of its own sub-line, when that is why; the door's word for unseen."""

    not_assessed: Words
    unseen: Annotated[str, StringConstraints(pattern=r"^[A-Z]+$", min_length=1, max_length=6)]
    after_fall: Words


class Scheme(_Part):
    """Seven looks, and the colours they must stay away from.

    ``seated`` stands in place of TEAM's line where neither leg may bear weight.
    """

    looks: Mapping[Level, LevelLook]
    seated: Words
    remain: RemainLines
    wristbands: Colours
    signals: Colours


@dataclass(frozen=True, slots=True)
class Figure:
    """One computed figure of a scheme beside its threshold; ``ok`` is None where it could not be computed."""

    id: str
    what: str
    value: float | str
    threshold: str
    ok: bool | None

    def __str__(self) -> str:
        value = f"{self.value:.2f}" if isinstance(self.value, float) else self.value
        return f"{self.id} {self.what}: {value} (wanted {self.threshold})"


class SchemeRefused(ValueError):  # noqa: N818 - said to people as a refusal, not as an error
    """A scheme that cannot be used; ``figures`` has what fell short, ``problems`` what could not be read."""

    def __init__(self, figures: Sequence[Figure] = (), problems: Sequence[str] = ()) -> None:
        self.figures = tuple(figures)
        self.problems = tuple(problems)
        lines = [*self.problems, *(str(figure) for figure in self.figures)]
        super().__init__(
            "this scheme cannot be used:\n  " + "\n  ".join(lines) + "\nThe scheme in force stays as it was."
        )


def read(text: str) -> Scheme:
    """A scheme from TOML over the house scheme, thresholds not yet checked. Raises SchemeRefused."""
    try:
        return _built(_over(_house_toml(), read_toml(text)))
    except tomllib.TOMLDecodeError as broken:
        raise SchemeRefused(problems=[f"the file is not TOML: {broken}"]) from None
    except ValidationError as refused:
        raise SchemeRefused(problems=_problems(refused)) from None


def rail(rank: int) -> str:
    """The rail in plain letters: ``rank + 1`` of seven cells filled, grouped four and three."""
    cells = "=" * (rank + 1) + "-" * (RAIL_CELLS - rank - 1)
    return f"[{cells[:RAIL_FIRST_GROUP]} {cells[RAIL_FIRST_GROUP:]}]"


def grey_value(colour: str) -> float:
    """Grey of 0.30 R + 0.59 G + 0.11 B, 0 to 255, gamma encoded. Source: PDF Reference 1.7, 6.2.1."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return 0.30 * red + 0.59 * green + 0.11 * blue


def grey(colour: str) -> str:
    """The grey a plain printer makes of a colour."""
    return "#" + f"{round(grey_value(colour)):02X}" * 3


@cache
def xterm(index: int) -> str:
    """The colour of an xterm 256-colour index from 16 on. Source: xterm's 256colres.pl."""
    if index >= 232:
        return "#" + f"{8 + 10 * (index - 232):02X}" * 3
    steps = (0, 95, 135, 175, 215, 255)
    return "#" + "".join(f"{steps[(index - 16) // place % 6]:02X}" for place in (36, 6, 1))


@cache
def house() -> Scheme:
    return _built(_house_toml())


def _house_toml() -> dict[str, Any]:
    return tomllib.loads(files("mobicard.scheme").joinpath("scheme.toml").read_text(encoding="utf-8"))


def _built(data: Mapping[str, Any]) -> Scheme:
    known = {level.value for level in Level}
    given = data.get("levels")
    if not isinstance(given, Mapping) or (unknown := sorted(set(given) - known)):
        names = f"unknown: {', '.join(unknown)}" if isinstance(given, Mapping) else "it is not a table"
        raise SchemeRefused(problems=[f"levels: the seven are {', '.join(Level)}; {names}"])
    looks = {
        level: {"level": level, "rank": level.rank, **_table(given[level.value], level.value)}
        for level in Level
    }
    rest = {key: value for key, value in data.items() if key != "levels"}
    return Scheme.model_validate({"looks": looks, **rest})


def _table(value: object, name: str) -> Mapping[str, Any]:
    if isinstance(value, Mapping):
        return value
    raise SchemeRefused(problems=[f'levels.{name}: write a table with what differs, like colour = "#A6DDFE"'])


def _over(base: Mapping[str, Any], top: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in top.items():
        both = isinstance(value, Mapping) and isinstance(base.get(key), Mapping)
        merged[key] = _over(base[key], value) if both else value
    return merged


def _problems(refused: ValidationError) -> list[str]:
    says = []
    for detail in refused.errors(include_url=False):
        path = ".".join(str(part) for part in detail["loc"]).replace("looks.", "levels.")
        says.append(f"{path}: “{str(detail.get('input'))[:40]}” cannot stand here; {detail['msg'].lower()}")
    return says
