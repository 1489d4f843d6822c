"""How a level looks in this terminal: colour where it can, glyph, word and rail always."""

from __future__ import annotations

import re
from enum import StrEnum

from textual.color import Color
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


_BLACK, _WHITE = "#000000", "#FFFFFF"
_OF_ITS_COLOUR = (0.16, 0.24, 0.40, 1.0, 0.35, 0.25, 0.05)
"""How much of a level's colour its ground on dark has, by rank; up to LINK the rest is black, then white."""
_TABLE_ON_DARK = ((235, 230), (238, 231), (240, 231), (247, 16), (110, 16), (187, 16), (231, 17))
"""Ground and ink in the 256 colours on a dark screen, by rank: the more help, the lighter."""
_ALARM = {
    Depth.FULL: ("#FFFFFF", "#7A1533"),
    Depth.DARK: ("#15171D", "#F5B5C4"),
    Depth.TABLE: (xterm(231), xterm(88)),
    Depth.DARK_TABLE: (xterm(16), xterm(217)),
}


def alarm_style(depth: Depth) -> str:
    """The one alarm, for do not move, overdue and old card; reversed where there are too few colours."""
    return "bold {} on {}".format(*_ALARM[depth]) if depth in _ALARM else "bold reverse"


def _on_dark(look: LevelLook) -> str:
    """A level on a dark screen: its own hue, the lighter the more help, and REMAIN is never background."""
    rank = look.level.rank
    other = Color.parse(_BLACK if rank <= Level.LINK.rank else _WHITE)
    ground = other.blend(Color.parse(look.colour), _OF_ITS_COLOUR[rank])
    return f"bold {_WHITE if rank <= Level.LINK.rank else _BLACK} on {ground.hex}"


def level_style(look: LevelLook, depth: Depth) -> str:
    """The style of a level's ground and ink; the terminal's own colours in bold where it has too few."""
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
    return "bold"


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


def hang(parts: list[Part] | tuple[Part, ...], width: int, indent: int = 4) -> Content:
    """The parts wrapped to a width in cells; every line after the first starts ``indent`` cells in."""
    text = Content.assemble(*parts)
    return Content("\n" + " " * indent).join(text.wrap(max(width - indent, 8)))
