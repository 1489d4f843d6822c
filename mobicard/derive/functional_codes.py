"""Open functional codes: observed help as CMS Section GG and WHO ICF, and their LOINC numbers."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from mobicard.derive.loads import upper_share
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Help, Task

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
"""Short meaning of each code, in our own words. Source: CMS MDS 3.0 v1.17, Section GG, GG0170 mobility."""

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


# -- WHO ICF ----------------------------------------------------------------------------------------------

_ICF_UPPER: Final = ((4.0, 0), (24.0, 1), (49.0, 2), (95.0, 3), (100.0, 4))
_ICF_WORDS: Final = ("none", "mild", "moderate", "severe", "complete")
"""Qualifiers 0 to 4 by upper bounds in percent. Source: WHO ICF; BMC Public Health 2011;11:897, table 2."""


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
LOINC_BODY_HEIGHT: Final = "8302-2"
LOINC_BREATHING: Final = "9279-1"
LOINC_OXYGEN: Final = ("2708-6", "59408-5")
"""Oxygen saturation, and by pulse oximetry beside it."""
LOINC_PRESSURE_PANEL: Final = "85354-9"
LOINC_ANY_PRESSURE: Final = ("8480-6", "8462-4")
"""Systolic and diastolic in any position. Source of these: HL7 FHIR R4, vital signs profiles."""

LOINC_HEART_RATE: Final = MappingProxyType({"lying": "68999-2", "sitting": "69000-8", "standing": "69001-6"})
"""Heart rate supine, sitting, standing. Source: loinc.org."""

LOINC_PRESSURE: Final = MappingProxyType(
    {"lying": ("8461-6", "8455-8"), "sitting": ("8459-0", "8453-3"), "standing": ("8460-8", "8454-1")}
)
"""Systolic and diastolic pressure supine, sitting and standing (from memory; the check digits hold)."""
