"""Loads: what each helper bears, and what a limb weighs.

35 lb a helper is an adaptation of the revised lifting equation for patient handling (Waters 2007); the
equation itself excludes handling patients. It informs; it certifies no lift as safe.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite
from types import MappingProxyType
from typing import Final

from mobicard.facts.units import both_masses
from mobicard.facts.words import Help
from mobicard.rules.policy import Policy

# -- What each helper bears -------------------------------------------------------------------------------

HELP_UPPER_SHARE: Final = MappingProxyType(
    {
        Help.INDEPENDENT: 0.0,
        Help.SETUP: 0.0,
        Help.STANDBY: 0.0,
        Help.CONTACT_GUARD: 0.0,
        Help.MINIMAL: 0.25,
        Help.MODERATE: 0.50,
        Help.MAXIMAL: 0.75,
        Help.TOTAL: 1.0,
    }
)
"""The most of the effort the helpers take over, as a share of 1.

Source: CMS IRF-PAI v2.00.1 motor levels (patient does >= 75 %, >= 50 %, >= 25 %, < 25 %), turned round.
"""


class Condition(StrEnum):
    """What lowers the load a helper may bear; the factor of each stands in the policy's [loads] table."""

    UNPREDICTABLE = "unpredictable"
    LINES = "lines"


def helper_limit_lb(policy: Policy, conditions: Iterable[Condition | str] = ()) -> float:
    """The most one helper may bear here, in lb: the policy's limit times the factor of each condition.

    35 lb (15.9 kg): Waters, Am J Nurs 2007;107(8):53-58. The factors have no published figure for patients:
    they are the policy's. Raises ValueError for a condition nobody has named.
    """
    limit = policy.loads.helper_limit_lb
    for condition in sorted({_condition(name) for name in conditions}):
        limit *= policy.loads.lowering.factor(condition.value)
    return limit


def _condition(name: Condition | str) -> Condition:
    try:
        return Condition(name)
    except ValueError:
        raise ValueError(f"“{name}” is no condition of a load; write one of {', '.join(Condition)}") from None


# -- What a limb weighs -----------------------------------------------------------------------------------

WINTER_PERCENT: Final = MappingProxyType(
    {
        "leg": 16.1,
        "arm": 5.0,
        "head_neck": 8.1,
        "thigh": 10.0,
        "shank": 4.65,
        "foot": 1.45,
        "upper_arm": 2.8,
        "forearm": 1.6,
        "hand": 0.6,
        "trunk": 49.7,
    }
)
"""Segment mass, percent of body mass, one side. Source: Winter, Biomechanics and Motor Control, 2005."""

ONE_HAND_MAX_KG: Final = 5.03
"""Holding a limb up to 2 minutes with one hand (11.1 lb). Source: Waters et al., AORN J 2011."""

TWO_HANDS_MAX_KG: Final = 10.1
"""Holding a limb up to 2 minutes with two hands (22.2 lb). Source: Waters et al., AORN J 2011."""


def segment_mass(segment: str, body_kg: float) -> float:
    """Kilograms of one body segment (one side). Raises KeyError for one nobody tabulates.

    Raises ValueError for a mass that cannot be.
    """
    if not (isfinite(body_kg) and body_kg > 0):
        raise ValueError(f"a body mass of {body_kg} kg cannot be; write it above 0")
    return body_kg * WINTER_PERCENT[segment] / 100


@dataclass(frozen=True, slots=True)
class LimbHold:
    """Holding one limb up to 2 minutes: ``hands`` in all and ``staff``; both None: only a device may."""

    segment: str
    mass_kg: float
    hands: int | None
    staff: int | None
    says: str
    source: str = "Waters et al., AORN J 2011; AORN Ergonomic Tool 2; segment masses Winter 2005"

    @property
    def device_advised(self) -> bool:
        """Whether a limb support or sling is the better way: one person's two hands are not enough."""
        return self.staff is None or self.staff > 1


def limb_hold(segment: str, body_kg: float) -> LimbHold:
    """What it takes to hold one limb up to 2 minutes: one hand, two hands, two people, or a device only.

    AORN Ergonomic Tool 2: one person with two hands a leg up to 22 lb, above that two people or a device.
    Raises as ``segment_mass`` does.
    """
    mass = segment_mass(segment, body_kg)
    weighs = f"The {segment.replace('_', ' ')} weighs {both_masses(mass)}"
    if mass <= ONE_HAND_MAX_KG:
        return LimbHold(segment, mass, 1, 1, f"{weighs}: one hand may hold it, up to 2 minutes.")
    if mass <= TWO_HANDS_MAX_KG:
        return LimbHold(segment, mass, 2, 1, f"{weighs}: hold it with both hands, up to 2 minutes.")
    if mass <= 2 * TWO_HANDS_MAX_KG:
        return LimbHold(segment, mass, 4, 2, f"{weighs}: use a limb support, else two people.")
    return LimbHold(segment, mass, None, None, f"{weighs}: too heavy for two; use a limb support.")


def limb_holds(body_kg: float | None) -> tuple[LimbHold, ...]:
    """What holding a leg and an arm takes at this weight (dressing, lifting a heel); none without one."""
    return () if body_kg is None else (limb_hold("leg", body_kg), limb_hold("arm", body_kg))
