"""What the page has room for: the lines that always stand, then the rest by harm until the words are used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mobicard.derive.brief.values import BriefLine

AIM_WORDS = 120
"""What can be read in thirty seconds, standing: about 240 words a minute. Ours."""

ALWAYS = 0
"""Lines of this harm or worse stand however many words there are."""


def shortened(lines: Sequence[BriefLine], aim: int = AIM_WORDS) -> list[BriefLine]:
    """The same lines in the same order, those without room marked as not shown. Nothing is dropped."""
    used = sum(_words(line) for line in lines if line.harm <= ALWAYS)
    kept = {id(line) for line in lines if line.harm <= ALWAYS}
    for line in sorted((one for one in lines if one.harm > ALWAYS), key=lambda one: one.harm):
        if used + _words(line) <= aim:
            used += _words(line)
            kept.add(id(line))
    return [replace(line, shown=id(line) in kept) for line in lines]


def _words(line: BriefLine) -> int:
    return len(line.says.split())
