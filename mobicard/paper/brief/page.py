"""The brief as one A5 page, lying: what is said on the left, the move from above on the right."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from markupsafe import Markup

from mobicard.derive.brief import Brief, Phase
from mobicard.paper import templates
from mobicard.paper.brief.picture import picture_svg, seat_at_last
from mobicard.paper.brief.text import people_say
from mobicard.paper.chips import css_text, level_colours
from mobicard.paper.clinical_words import short_when
from mobicard.paper.text_fit import lines_needed
from mobicard.scheme.scheme import Scheme

WIDTH, HEIGHT, EDGE = 210.0, 148.0, 8.0
TEXT_MM, TEXT_ALONE_MM = 118.0, 194.0
"""Width of the text beside the picture, and without one."""

SIZES_MM = (4.3, 4.1, 3.9, 3.7, 3.5, 3.3, 3.175)
"""Letter sizes tried, the largest first; 9 pt is the least."""

SUPPORT = (
    "Decision support only: judgement, orders and facility policy come first. "
    "Stop and ask if the patient looks different."
)
ROOM_MM = 118.0
HEAD_MM, GAP_MM, LEADING = 4.6, 1.6, 1.22
"""Height of a part's heading and the gap above it; line height in letters."""

_SINGLY = (Phase.WHO, Phase.DO)
"""Parts whose lines stand each on their own."""


def brief_html(found: Brief, scheme: Scheme, now: datetime, *, ink: str = "colour") -> str:
    """The brief as one self-contained page. ``ink``: colour, grey or saver."""
    side = side_of(found, scheme, now, "scene")
    return templates.render(
        "brief.html",
        title=f"{found.says}, bed {found.bed}",
        page=side,
        levels=level_colours(scheme, ink),
        support=css_text(side["support_says"]),
        again=css_text(f"{found.says}, {found.bed}, continued"),
        width=WIDTH,
        height=HEIGHT,
        edge=EDGE,
    )


def side_of(found: Brief, scheme: Scheme, now: datetime, key: str, room: float = ROOM_MM) -> dict[str, Any]:
    """What one side sets. ``key`` makes the picture's ids unique in its document; ``room`` is in mm."""
    picture = Markup(picture_svg(found.scene, key)) if found.scene else ""  # escapes its own text
    parts = [(phase, [line.says for line in found.of(phase)]) for phase in Phase]
    until = found.valid_until
    return {
        "heading": found.says,
        "bed": found.bed,
        "level": scheme.looks[found.level],
        "people": "" if found.helpers is None else people_say(found.helpers),
        "until": f"not valid after {short_when(until)}" if until and not found.expired else "holds no longer",
        "parts": [_part(phase, says) for phase, says in parts if says],
        "picture": picture,
        "seated": found.scene is not None and seat_at_last(found.scene) is not None,
        "rail": found.scene is not None and bool(found.scene.rail_up),
        "size_mm": letter_size(found, room),
        "text_mm": TEXT_MM if picture else TEXT_ALONE_MM,
        "notes": found.notes,
        "support_says": f"{SUPPORT} Printed {short_when(now)}.",
    }


def letter_size(found: Brief, room: float = ROOM_MM) -> float:
    """The largest letters at which the text stays on the side, mm; the least where none does."""
    box = TEXT_MM if found.scene else TEXT_ALONE_MM
    return next((size for size in SIZES_MM if text_height(found, size, box) <= room), SIZES_MM[-1])


def text_height(found: Brief, size: float, box: float) -> float:
    """How tall the text gets at a letter size, mm."""
    tall = sum(GAP_MM + size * LEADING for _ in found.notes)
    for phase in Phase:
        says = [line.says for line in found.of(phase)]
        if says:
            parts = says if phase in _SINGLY else [" ".join(says)]
            lines = sum(lines_needed(part, size, box - 6) for part in parts)
            tall += HEAD_MM + GAP_MM + lines * size * LEADING
    return tall


def _part(phase: Phase, says: list[str]) -> dict[str, object]:
    single = phase in _SINGLY
    return {
        "name": phase.value,
        "loud": phase is Phase.STOP,
        "numbered": phase is Phase.DO,
        "lines": says if single else [" ".join(says)],
    }
