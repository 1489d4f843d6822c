"""How a level looks in this terminal: colour where it can, glyph, word and rail always."""

from __future__ import annotations

import re
from enum import StrEnum

from textual.color import Color, Lab, lab_to_rgb, rgb_to_lab
from textual.content import Content

from mobicard.derive.model import Plan
from mobicard.facts.text import without_controls
from mobicard.facts.words import Alertness, Level
from mobicard.scheme import LevelLook, rail
from mobicard.scheme.scheme import xterm

Part = tuple[str, str]
"""A piece of text and its style, as Rich and Textual both read it."""


class Depth(StrEnum):
    """How many colours the terminal has, and whether its ground is dark."""

    FULL = "full"
    TABLE = "256"
    DARK = "full on dark"
    DARK_TABLE = "256 on dark"
    PLAIN = "plain"


def depth_of(color_system: str | None, no_color: bool) -> Depth:
    """The depth of a Rich colour system; sixteen colours cannot show seven backgrounds, so they show none."""
    if no_color or color_system in (None, "standard", "windows"):
        return Depth.PLAIN
    return Depth.TABLE if color_system == "256" else Depth.FULL


def on_ground(depth: Depth, *, dark: bool) -> Depth:
    """The same depth on a dark or a light ground."""
    match depth:
        case Depth.FULL | Depth.DARK:
            return Depth.DARK if dark else Depth.FULL
        case Depth.TABLE | Depth.DARK_TABLE:
            return Depth.DARK_TABLE if dark else Depth.TABLE
    return depth


_BLACK = "#000000"
_LEAST_INK = 7.0
"""Contrast of ink and ground. Source: WCAG 2.2 SC 1.4.6."""
_LETTERS = (0.095, 0.14, 0.20)
"""On dark, up to LINK: letters in the level's own colour; how much of it their ground has, the rest black."""
_BLOCKS = {Level.POWER: 72, Level.HOIST: 86, Level.REMAIN: 96}
"""On dark, above TEAM: a block of the level's own hue; its CIE L*. TEAM has the door's block itself."""
_TABLE_ON_DARK = ((233, 230), (234, 117), (235, 180), (247, 16), (111, 16), (181, 52), (189, 17))
"""Ground and ink in the 256 colours on a dark screen, by rank."""
_WITHOUT_COLOUR = ("", "", "bold", "bold", "bold underline", "bold underline", "bold underline")
"""The more help, the more; never reversed, as the mark and the alarm are. REMAIN has its brackets too."""
_ALARM = {
    Depth.FULL: ("#FFFFFF", "#7A1533"),
    Depth.DARK: (_BLACK, "#FF7DA6"),
    Depth.TABLE: (xterm(231), xterm(88)),
    Depth.DARK_TABLE: (xterm(16), xterm(211)),
}


def alarm_style(depth: Depth) -> str:
    """The one alarm, for do not move, overdue and old card; reversed where there are too few colours."""
    return "bold {} on {}".format(*_ALARM[depth]) if depth in _ALARM else "bold reverse"


def _on_dark(look: LevelLook) -> str:
    """A level on a dark screen, in the door's hue: coloured letters, then blocks that grow lighter."""
    own, rank = Color.parse(look.colour), look.level.rank
    if rank < len(_LETTERS):
        ground = Color.parse(_BLACK).blend(own, _LETTERS[rank])
    elif look.level in _BLOCKS:
        hue = rgb_to_lab(own)
        ground = lab_to_rgb(Lab(_BLOCKS[look.level], hue.a, hue.b))
    else:
        ground = own
    ink = own if _contrast(own, ground) >= _LEAST_INK else ground.get_contrast_text(1.0)
    return f"bold {ink.hex6} on {ground.hex6}"


def _contrast(one: Color, other: Color) -> float:
    """Contrast ratio of two colours. Source: WCAG 2.2, definition of contrast ratio."""
    dark, light = sorted(map(_luminance, (one, other)))
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: Color) -> float:
    """Relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour.normalized]
    return sum(part * share for part, share in zip(linear, (0.2126, 0.7152, 0.0722), strict=True))


def level_style(look: LevelLook, depth: Depth) -> str:
    """The style of a level's ground and ink; letters alone where there are too few colours."""
    match depth:
        case Depth.FULL:
            return f"bold {look.ink} on {look.colour}"
        case Depth.TABLE:
            return f"bold {xterm(look.fg256)} on {xterm(look.bg256)}"
        case Depth.DARK:
            return _on_dark(look)
        case Depth.DARK_TABLE:
            ground, ink = _TABLE_ON_DARK[look.level.rank]
            return f"bold {xterm(ink)} on {xterm(ground)}"
    return _WITHOUT_COLOUR[look.level.rank]


def badge(look: LevelLook, depth: Depth, *, ascii_only: bool = False, width: int = 0) -> Part:
    """Glyph and word of a level; the highest stands in brackets, so that it shows on a dark screen too."""
    glyph = look.ascii_glyph if ascii_only else look.glyph
    ends = "[]" if look.level is Level.REMAIN else "  "
    return f"{ends[0]}{glyph} {look.word:<{width}}{ends[1]}", level_style(look, depth)


def rail_of(level: Level) -> str:
    """The seven-cell rail of a level."""
    return rail(level.rank)


def helpers_say(helpers: int | None, plan: Plan | None = None) -> str:
    """The head count as words. None, where nobody is planned, is a ban only as ``plan`` says so."""
    if helpers is None:
        return "do not move" if plan is not None and banned(plan) else "not now"
    return "1 helper" if helpers == 1 else f"{helpers} helpers" if helpers else "no helper"


def in_people(text: str) -> str:
    """A change's words, safe to show, with nobody counted as everywhere else: no helper, never 0 helpers."""
    return re.sub(r"\b0 helpers\b", "no helper", safe(text))


def people_say(plan: Plan) -> str:
    """The head count of the card's own move; none for a plan that holds no longer."""
    return "look again before moving" if plan.expired else helpers_say(plan.helpers, plan)


def banned(plan: Plan) -> bool:
    """Whether the patient is not to be moved at all: after a fall, or unresponsive."""
    fallen = plan.after_fall is not None and plan.after_fall.state == "do_not_move"
    asleep = (reason.because.get("alertness") for reason in plan.headline.reasons)
    return fallen or Alertness.UNRESPONSIVE.value in asleep


CAPS_LOCK = "Caps Lock seems to be on."


def press(key: str, style: str = "") -> str:
    """A style whose text can be clicked: it does what the key does."""
    return f"{style} @click=app.press('{key}')".strip()


def as_printed(depth: Depth) -> Depth:
    """The depth that shows a card as it hangs, whatever the ground of the screen."""
    return {Depth.DARK: Depth.FULL, Depth.DARK_TABLE: Depth.TABLE}.get(depth, depth)


_INVISIBLE = re.compile(r"[\u200b-\u200f\u061c\ufeff]")


def safe(text: str) -> str:
    """A text safe to show: control and direction-changing characters gone."""
    return _INVISIBLE.sub("", without_controls(text))


def named(bed: str, label: str | None) -> str:
    """A bed with its patient's label, safe to show."""
    return f"{bed} {safe(label)}" if label else bed


def shortened(text: str, width: int) -> str:
    """A text cut to a width in cells with an ellipsis; the whole of it is shown where the bed is opened."""
    from rich.cells import cell_len, set_cell_size

    return text if cell_len(text) <= width else set_cell_size(text, width - 1) + "…"


INDENT = 4
"""Cells by which what follows a wrapped line's first stands in; the first ends that much earlier too."""


def hang(parts: list[Part] | tuple[Part, ...], width: int, indent: int = INDENT) -> Content:
    """The parts wrapped to a width in cells; every line after the first starts ``indent`` cells in."""
    text = Content.assemble(*parts)
    return Content("\n" + " " * indent).join(text.wrap(max(width - indent, 8)))
