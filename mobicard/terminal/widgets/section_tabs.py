"""The sections of the form in one line above it, where there is room: key and name, to be clicked."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import Static

from mobicard.terminal.looks import Part, press
from mobicard.terminal.record.form.questions import Section


class SectionTabs(Static):
    """Shows the sections it is given, the one with the mark reversed."""

    def __init__(self) -> None:
        super().__init__("", id="tabs")

    def show(self, sections: Sequence[Section], here: Section) -> None:
        """The first word of each, its capital the key; where they do not all fit, the capitals alone."""
        words = {section.key: section.title.replace(",", "").split()[0] for section in sections}
        whole = sum(len(word) + 1 for word in words.values()) <= self.app.size.width - 2
        parts: list[Part] = []
        for section in sections:
            mark = "bold reverse" if section == here else "bold"
            rest = words[section.key].removeprefix(section.key) if whole or section == here else ""
            parts += [(section.key, press(section.key, mark)), (rest, press(section.key)), (" ", "")]
        self.update(Content.assemble(*parts))
