"""Which of the rules' words lines, a weak side, tested legs, skin and pregnancy make true."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from mobicard.facts import Record
from mobicard.facts.body import SkinRisk
from mobicard.facts.lines import Line, LineKind
from mobicard.facts.words import Limb, Side
from mobicard.rules import words as w
from mobicard.rules.policy import Policy

Sentence = tuple[w.When, bool]

LEGS: Final = {"left": Limb.LEFT_LEG, "right": Limb.RIGHT_LEG}
TILT_FROM_WEEKS: Final = 20
"""Transl Perioper Pain Med 2014;1(2):22; JRCALC 2019."""


def of_the_lines(record: Record, policy: Policy) -> Iterator[Sentence]:
    """What lines there are, where a fistula is, and whether a numbed leg was tested."""
    yield w.has_lines, bool(record.lines)
    yield w.many_lines, bool(record.lines) and len(record.lines) >= policy.handling.many_lines
    yield from ((w.LINE[line.known], True) for line in record.lines if line.known in w.LINE)
    fistulas = [line for line in record.lines if line.known is LineKind.FISTULA]
    yield from ((w.FISTULA[side], True) for line in fistulas for side in _arms(line))
    numbed = {side for line in record.lines for side in _numbed(line)}
    yield w.block_running, bool(numbed)
    yield w.block_untested, not all(_passed(record, LEGS[side]) for side in numbed)


def _arms(line: Line) -> tuple[str, ...]:
    if line.side is Side.BOTH:
        return ("left", "right")
    return (line.side.value,) if line.side in (Side.LEFT, Side.RIGHT) else ("",)


def _numbed(line: Line) -> tuple[str, ...]:
    """The legs a block may numb: both by an epidural, one by a nerve block whose side is known."""
    if line.known is LineKind.NERVE_BLOCK and line.side in (Side.LEFT, Side.RIGHT):
        return (line.side.value,)
    return tuple(LEGS) if line.known in (LineKind.EPIDURAL, LineKind.NERVE_BLOCK) else ()


def _passed(record: Record, leg: Limb) -> bool:
    test = record.legs.get(leg)
    return test is not None and test.passes


def failed_legs(record: Record) -> frozenset[Limb]:
    """The legs that failed a test of strength or of a block."""
    return frozenset(leg for leg, test in record.legs.items() if test.fails)


def of_the_body(record: Record) -> Iterator[Sentence]:
    """The weak side, what goes unattended, failed legs, skin, pregnancy."""
    for side, leg in LEGS.items():
        yield w.WEAK[side], record.weak_side is not None and side in record.weak_side.sides
        yield w.NEGLECTS[side], record.neglect is not None and side in record.neglect.sides
        yield w.LEG_FAILS[side], leg in failed_legs(record)
    yield from ((w.SORE[site], True) for site in record.sore_sites)
    yield w.skin_at_risk, record.skin_risk in (SkinRisk.AT_RISK, SkinRisk.HIGH)
    yield w.skin_high, record.skin_risk is SkinRisk.HIGH
    yield w.pregnant_from_20, (record.pregnancy_weeks or 0) >= TILT_FROM_WEEKS
