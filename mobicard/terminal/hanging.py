"""Wrapping with a hanging indent, so that a line's own start stands out from what it goes on with."""

from __future__ import annotations

from textual.content import Content

from mobicard.terminal.looks import Part


def hang(parts: list[Part] | tuple[Part, ...], width: int, indent: int = 4) -> Content:
    """The parts wrapped to a width in cells; every line after the first starts ``indent`` cells in."""
    text = Content.assemble(*parts)
    return Content("\n" + " " * indent).join(text.wrap(max(width - indent, 8)))
