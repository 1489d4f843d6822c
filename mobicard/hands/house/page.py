"""The house on one page, and the same as lines: the short units first, then the lifts, the free first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.as_json import AsJson
from mobicard.hands.house.unit import FREE, IN_USE, OUT, UNKNOWN, Lift, UnitShift
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text
from mobicard.paper.clinical_words import short_when
from mobicard.paper.sheet_sizes import paper_size

_STATES = ("short", UNKNOWN, "enough")
_LIFTS = (FREE, UNKNOWN, IN_USE, OUT)

BY_PLAN = "By each unit's own day plan: ask the unit before you take a lift or a person"


@dataclass(frozen=True, slots=True)
class House(AsJson):
    """Every unit and its lifts at a time. ``unnamed``: beds whose names begin with no unit's."""

    at: datetime
    holds_until: datetime
    units: tuple[UnitShift, ...]
    lifts: tuple[Lift, ...]
    unnamed: int = 0
    notes: tuple[str, ...] = ()

    @property
    def by_need(self) -> list[UnitShift]:
        """The short ones first, then those of which nobody knows."""
        return sorted(self.units, key=lambda one: _STATES.index(one.state))

    @property
    def by_use(self) -> list[Lift]:
        """The free ones first."""
        return sorted(self.lifts, key=lambda one: _LIFTS.index(one.state))

    @property
    def counts(self) -> str:
        """How many units are short, and how many lifts are free."""
        states = [one.state for one in self.units]
        free = sum(lift.state == FREE for lift in self.lifts)
        units = f"{len(states)} {'unit' if len(states) == 1 else 'units'}"
        return (
            f"{units}: {states.count('short')} short, {states.count(UNKNOWN)} not known; "
            f"{free} of {len(self.lifts)} lifts free"
        )

    @property
    def remarks(self) -> list[str]:
        """What is not in the two lists."""
        unnamed = f"{self.unnamed} occupied beds have names that begin with no unit: not looked at here"
        return [*([unnamed] if self.unnamed else []), *self.notes]


def house_lines(house: House) -> Iterator[str]:
    """The house for a terminal or a pipe."""
    yield f"{house.at:%d %b %H:%M}  {house.counts}"
    for one in house.by_need:
        people = f"{one.people} of {one.there}" if one.people is not None else "-"
        yield f"{one.state.upper():<10}{one.unit:<9}{one.beds:>3} beds  people {people:<8}  {one.says}"
        yield from (f"{'':<19}{more}" for more in one.also)
    for lift in house.by_use:
        name = f"{lift.name}, {lift.carries}" + (f", {lift.place}" if lift.place else "")
        yield f"{lift.state:<10}{lift.unit:<9}{name}{lift.says.removeprefix(lift.state)}"
    yield from (f"note      {line}" for line in house.remarks)
    yield f"{BY_PLAN}. Holds until {house.holds_until:%H:%M}. Decision support only."


def house_html(house: House, *, paper: str = "a4") -> str:
    """The house as one self-contained page, upright. ``paper``: a4 or letter. Raises SheetRefused."""
    width, height = paper_size(paper, "the house's page")
    holds = f"Holds until {house.holds_until:%H:%M}"
    return templates.render(
        "house.html",
        title=f"The house, {short_when(house.at)}",
        made=short_when(house.at),
        holds=holds,
        holds_css=css_text(holds),
        support=css_text(in_words.SUPPORT),
        head=css_text(f"The house, {short_when(house.at)}"),
        counts=house.counts,
        units=house.by_need,
        lifts=house.by_use,
        remarks=house.remarks,
        by_plan=BY_PLAN,
        page_width=f"{width:g}",
        page_height=f"{height:g}",
    )
