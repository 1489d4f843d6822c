"""Lines, drains and tubes: someone watches them."""

from __future__ import annotations

from mobicard.facts.moves import ALL
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import has_lines, many_lines

RULES = (
    Rule(
        "lines.clear",
        ALL,
        "Has lines, drains or tubes: clear them before the move and watch them during it.",
        when=has_lines,
        demand=Demand(cautions=("Clear the lines first; watch them all the way",)),
        source="common",
    ),
    Rule(
        "lines.watcher",
        ALL,
        "More lines than those moving can watch: one more person, for the lines only.",
        when=many_lines,
        demand=Demand(watchers=1, cautions=("One person watches the lines and does nothing else",)),
        source="common",
    ),
)
