"""The brief as plain lines for a terminal of 80: the parts left, the sketch from above right."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from textwrap import wrap

from mobicard.derive.brief import Brief, Phase
from mobicard.paper.brief.sketch import WIDE, legend, sketch
from mobicard.scheme.scheme import Scheme

GAP = 2
HEADS = {
    Phase.WHO: "WHO",
    Phase.READY: "READY",
    Phase.MIND: "MIND",
    Phase.SAY: "SAY",
    Phase.DO: "DO",
    Phase.STOP: "STOP",
    Phase.LEAVE: "LEAVE",
    Phase.ERRORS: "RULE",
}
INDENT = 7


def brief_text(found: Brief, scheme: Scheme, width: int = 80, *, plain: bool = False) -> list[str]:
    """The whole brief in lines of ``width``, the sketch beside its parts."""
    return [*head(found, scheme, width), *body(found, width, plain=plain)]


def head(found: Brief, scheme: Scheme, width: int = 80) -> list[str]:
    """Move, bed, level and people; then what is at odds."""
    look = scheme.looks[found.level]
    people = "" if found.helpers is None else people_say(found.helpers)
    until = f"until {found.valid_until:%H:%M}" if found.valid_until and not found.expired else ""
    move = f"{found.bed}  {found.says}: {look.glyph} {look.word}"
    whole = "  ".join(part for part in (move, people, until) if part)
    lines = [whole] if len(whole) <= width else [*wrap(move, width), f"{people}  {until}".strip()]
    notes = [line for note in found.notes for line in wrap(f"! {note}", width)]
    return [*(line for line in lines if line), *notes]


def people_say(count: int) -> str:
    """``2 people, you included``."""
    return "nobody needed" if count == 0 else f"{count} {'person' if count == 1 else 'people'}, you included"


def body(found: Brief, width: int = 80, *, plain: bool = False) -> list[str]:
    """Each part under its word; lines beside the sketch are narrower, those below it use the width."""
    drawing = [*sketch(found.scene, plain=plain)] if found.scene else []
    if found.scene:
        drawing += wrap(legend(found.scene), WIDE)
    narrow = width - WIDE - GAP if drawing else width
    beside = list(_parts(found, narrow))
    if len(beside) <= len(drawing) or not drawing:
        lines = beside
    else:
        lines = _flowed(found, narrow, width, len(drawing))
    return [
        f"{left:<{narrow}}{' ' * GAP}{right}".rstrip() if right else left
        for left, right in zip_longest(lines, drawing, fillvalue="")
    ]


def _parts(found: Brief, width: int) -> Iterator[str]:
    for phase in Phase:
        says = _joined(found, phase)
        if says:
            yield from _wrapped(HEADS[phase], says, width)


def _flowed(found: Brief, narrow: int, width: int, tall: int) -> list[str]:
    """Parts that begin beside the sketch are narrow; the part that would end below it starts wide there."""
    lines: list[str] = []
    for phase in Phase:
        says = _joined(found, phase)
        if says:
            lines += _wrapped(HEADS[phase], says, narrow if len(lines) < tall else width)
    return lines


def _joined(found: Brief, phase: Phase) -> str:
    return " ".join(line.says for line in found.of(phase))


def _wrapped(word: str, says: str, width: int) -> list[str]:
    lines = wrap(says, width - INDENT)
    return [f"{word if number == 0 else '':<{INDENT}}{line}" for number, line in enumerate(lines)]
