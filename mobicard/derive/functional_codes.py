"""Open functional codes: observed help as CMS Section GG and WHO ICF, both ways where that is honest."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from mobicard.derive.loads import upper_share
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Help, Task

SOURCE_GG: Final = "CMS MDS 3.0 v1.17, Section GG, GG0170 mobility"
SOURCE_ICF: Final = "WHO ICF qualifiers; BMC Public Health 2011;11:897, table 2"
LOINC_NOTICE: Final = (
    "This material contains content from LOINC (http://loinc.org). "
    "LOINC is copyright Regenstrief Institute, Inc. and is available at no cost under the license at http://loinc.org/license."
)
"""The notice LOINC asks for beside its codes."""

# -- Section GG -------------------------------------------------------------------------------------------

GG_SAYS: Final = MappingProxyType(
    {
        "06": "does it alone, no helper",
        "05": "helper only sets up or clears up",
        "04": "helper cues, touches, steadies or guards",
        "03": "helper lifts or holds, less than half the effort",
        "02": "helper lifts or holds, more than half the effort",
        "01": "helper does all of it, or two or more helpers",
        "07": "refused",
        "09": "not done, and not done before this illness",
        "10": "not attempted: environment",
        "88": "not attempted: medical condition or safety",
    }
)
"""Short meaning of each code, in our own words."""

_GG_OF: Final = {
    Help.INDEPENDENT: "06",
    Help.SETUP: "05",
    Help.STANDBY: "04",
    Help.CONTACT_GUARD: "04",
    Help.MINIMAL: "03",
    Help.MODERATE: "03",
    Help.MAXIMAL: "02",
    Help.TOTAL: "01",
    Help.REFUSED: "07",
    Help.NOT_APPLICABLE: "09",
    Help.NOT_ATTEMPTED_ENVIRONMENT: "10",
    Help.NOT_ATTEMPTED_SAFETY: "88",
}

_HELPS_OF: Final = MappingProxyType(
    {
        "06": (Help.INDEPENDENT,),
        "05": (Help.SETUP,),
        "04": (Help.STANDBY, Help.CONTACT_GUARD),
        "03": (Help.MINIMAL, Help.MODERATE),
        "02": (Help.MAXIMAL, Help.TOTAL),
        "01": (
            Help.SETUP,
            Help.STANDBY,
            Help.CONTACT_GUARD,
            Help.MINIMAL,
            Help.MODERATE,
            Help.MAXIMAL,
            Help.TOTAL,
        ),
        "07": (Help.REFUSED,),
        "09": (Help.NOT_APPLICABLE,),
        "10": (Help.NOT_ATTEMPTED_ENVIRONMENT,),
        "88": (Help.NOT_ATTEMPTED_SAFETY,),
    }
)


@dataclass(frozen=True, slots=True)
class GGCode:
    """A Section GG code; ``helpers`` beside it, as 01 does not say how many. ``note`` is its doubt."""

    code: str
    says: str
    helpers: int | None
    note: str = ""


def gg_code(help: Help, helpers_used: int | None = None) -> GGCode:
    """The Section GG code of an observed help, never a lighter one than was seen.

    Two or more helpers are 01 whatever each did. Total help by one is 01 though a patient who did a little
    would be 02. Moderate help is 03, and exactly half is not defined by the text. Source: CMS, GG0170.
    """
    several = helpers_used is not None and helpers_used >= 2 and help.was_done
    code = "01" if several else _GG_OF[help]
    return GGCode(code, GG_SAYS[code], helpers_used if help.was_done else None, _doubt(help, several=several))


def _doubt(help_: Help, *, several: bool) -> str:
    if several:
        return "01 because two or more helped; it does not say how many, nor how much"
    if help_ is Help.MODERATE:
        return "up to and with half the effort; the code's text does not define exactly half"
    if help_ is Help.TOTAL:
        return "over three quarters of the effort; 02 if the patient did any of it"
    return ""


def possible_helps(code: str) -> tuple[Help, ...]:
    """Every observed help a Section GG code may stand for, least help first.

    Raises ValueError for what is no code. A code never says which of them: ask, or take ``cautious_help``.
    """
    try:
        return _HELPS_OF[code]
    except KeyError:
        raise ValueError(f"“{code}” is no Section GG code; write one of {', '.join(GG_SAYS)}") from None


def cautious_help(code: str) -> Help:
    """The most help a Section GG code may stand for: never understated. Raises ValueError as above."""
    return possible_helps(code)[-1]


# -- WHO ICF ----------------------------------------------------------------------------------------------

_ICF_UPPER: Final = ((4.0, 0), (24.0, 1), (49.0, 2), (95.0, 3), (100.0, 4))
_ICF_WORDS: Final = ("none", "mild", "moderate", "severe", "complete")


@dataclass(frozen=True, slots=True)
class IcfQualifier:
    """An ICF code with its qualifier: that of the upper bound; ``lowest`` is that of the lower bound."""

    code: str
    qualifier: int
    lowest: int
    says: str

    @property
    def full(self) -> str:
        """Code and qualifier as written, such as ``d420.2``."""
        return f"{self.code}.{self.qualifier}"


def qualifier_of(percent: float) -> int:
    """The ICF qualifier of a share of difficulty, 0 to 100 %: 0-4, 5-24, 25-49, 50-95, 96-100.

    Shares between two printed rows go to the higher one. Raises ValueError outside 0 to 100.
    """
    if not 0 <= percent <= 100:
        raise ValueError(f"a share of difficulty is 0 to 100 %, not {percent}")
    return next(qualifier for most, qualifier in _ICF_UPPER if percent <= most)


_ICF_LOWER: Final = {Help.MINIMAL: 0.0, Help.MODERATE: 25.0, Help.MAXIMAL: 50.0, Help.TOTAL: 75.0}


def icf_qualifier(task: Task, help: Help) -> IcfQualifier | None:
    """ICF code and qualifier of an observed help, by the helper's share of the effort; None where not done.

    Help that takes no effort over (set-up, standby, contact) counts as mild, not as none: a helper is needed.
    The ICF leaves the mapping from helper effort open; this one is ours, at the upper bound of the help.
    """
    if not help.was_done:
        return None
    if help.rank <= Help.CONTACT_GUARD.rank:
        highest = lowest = 0 if help is Help.INDEPENDENT else 1
    else:
        highest = qualifier_of(upper_share(help) * 100)
        lowest = max(1, qualifier_of(_ICF_LOWER[help]))
    span = _ICF_WORDS[highest] if lowest == highest else f"{_ICF_WORDS[lowest]} to {_ICF_WORDS[highest]}"
    return IcfQualifier(MOVES[task].icf, highest, lowest, f"difficulty by the helper's effort: {span}")


# -- LOINC ------------------------------------------------------------------------------------------------

LOINC_PERFORMANCE: Final = MappingProxyType(
    {
        "A": "83218-8",
        "B": "83216-2",
        "C": "83214-7",
        "D": "83212-1",
        "E": "83210-5",
        "F": "83208-9",
        "I": "83204-8",
        "J": "83202-2",
        "K": "83200-6",
    }
)
"""GG0170 items, 3-day performance set. Source: loinc.org; HL7 PACIO functional-status material."""

LOINC_USUAL: Final = MappingProxyType(
    {
        "A": "95011-3",
        "B": "95010-5",
        "C": "95009-7",
        "D": "95008-9",
        "E": "95007-1",
        "F": "95006-3",
        "I": "95004-8",
        "J": "95003-0",
        "K": "95002-2",
    }
)
"""GG0170 items, usual-ability set. Source: loinc.org."""

LOINC_ANSWER: Final = MappingProxyType(
    {
        "06": "LA9983-3",
        "05": "LA10073-7",
        "04": "LA28225-3",
        "03": "LA10055-4",
        "02": "LA11759-0",
        "01": "LA27665-1",
        "07": "LA10058-8",
        "09": "LA28226-1",
        "10": "LA28227-9",
        "88": "LA26735-3",
    }
)
"""GG answers, patient wording, list LL4681-4. Source: loinc.org."""

LOINC_BODY_WEIGHT: Final = "29463-7"
"""From memory."""

LOINC_HEART_RATE: Final = MappingProxyType({"lying": "68999-2", "sitting": "69000-8", "standing": "69001-6"})
"""Heart rate supine, sitting, standing. Source: loinc.org."""

LOINC_PRESSURE: Final = MappingProxyType({"lying": ("8461-6", "8455-8"), "standing": ("8460-8", "8454-1")})
"""Systolic and diastolic pressure supine and standing (from memory)."""


def loinc_checks(code: str) -> bool:
    """Whether a LOINC number's last digit is the Luhn check of the digits before the hyphen.

    Answer codes (LA...) and lists (LL...) are not LOINC numbers: their check takes the letters in.
    """
    body, _, check = code.partition("-")
    if not (body.isascii() and body.isdigit() and check.isascii() and check.isdigit() and len(check) == 1):
        return False
    total = 0
    for place, digit in enumerate(reversed(body)):
        value = int(digit) * (2 if place % 2 == 0 else 1)
        total += value - 9 if value > 9 else value
    return (total + int(check)) % 10 == 0
