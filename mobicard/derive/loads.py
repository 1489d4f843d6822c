"""Loads: what each helper bears, what a limb weighs, and the revised lifting equation in full."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite
from types import MappingProxyType
from typing import Final

from mobicard.facts.units import KG_PER_LB, both_masses, lb_from_kg
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

LIMIT_NOTE: Final = (
    "35 lb a helper is an adaptation of the revised lifting equation for patient handling (Waters 2007); "
    "the equation itself excludes handling patients. It informs; it certifies no lift as safe."
)
"""Shown wherever the helper limit or the lifting equation is shown."""


class Condition(StrEnum):
    """What lowers the load a helper may bear; the factor of each stands in the policy's [loads] table."""

    UNPREDICTABLE = "unpredictable"
    LINES = "lines"


def upper_share(help_: Help | None) -> float:
    """The most of the effort helpers may have to take, 0 to 1; not seen done counts as all of it."""
    return 1.0 if help_ is None else HELP_UPPER_SHARE.get(help_, 1.0)


def share_kg(body_kg: float, help: Help | None, body_share: float, helpers: int) -> float:
    """Kilograms each helper bears: body mass x share of it the move lifts x help's upper bound / helpers.

    ``body_share`` is 0 to 1. Raises ValueError for a mass, share or count that cannot be.
    """
    _body_mass(body_kg)
    _need(0 <= body_share <= 1, f"the share of the body lifted is 0 to 1, not {body_share}")
    _need(helpers >= 1, f"{helpers} helpers cannot share a load; at least 1")
    return body_kg * body_share * upper_share(help) / helpers


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

AORN_PERCENT: Final = MappingProxyType({"leg": 15.7, "arm": 5.1, "head_neck": 8.4})
"""Same, as AORN and NIOSH use them (leg: seen; arm and head with neck: from memory)."""

_SOURCES: Final = {"winter": WINTER_PERCENT, "aorn": AORN_PERCENT}
_SAME_SEGMENT: Final = {"head": "head_neck", "head_and_neck": "head_neck", "lower_leg": "shank"}

ONE_HAND_MAX_KG: Final = 5.03
"""Holding a limb up to 2 minutes with one hand (11.1 lb). Source: Waters et al., AORN J 2011."""

TWO_HANDS_MAX_KG: Final = 10.1
"""Holding a limb up to 2 minutes with two hands (22.2 lb). Source: Waters et al., AORN J 2011."""


def segment_mass(segment: str, body_kg: float, source: str = "winter") -> float:
    """Kilograms of one body segment (one side). ``source``: ``winter`` (default, heavier leg) or ``aorn``.

    Raises ValueError for a segment or source nobody tabulates, or a mass that cannot be.
    """
    _body_mass(body_kg)
    _need(source in _SOURCES, f"“{source}” has no segment table here; write winter or aorn")
    table = _SOURCES[source]
    name = segment.strip().lower().replace(" ", "_").removeprefix("left_").removeprefix("right_")
    name = _SAME_SEGMENT.get(name, name)
    _need(name in table, f"“{segment}” is no segment of the {source} table; write one of {', '.join(table)}")
    return body_kg * table[name] / 100


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
    def mass_lb(self) -> float:
        return lb_from_kg(self.mass_kg)

    @property
    def device_advised(self) -> bool:
        """Whether a limb support or sling is the better way: one person's two hands are not enough."""
        return self.staff is None or self.staff > 1


def limb_hold(segment: str, body_kg: float, source: str = "winter") -> LimbHold:
    """What it takes to hold one limb up to 2 minutes: one hand, two hands, two people, or a device only.

    AORN Ergonomic Tool 2: one person with two hands a leg up to 22 lb, above that two people or a device.
    Raises ValueError as ``segment_mass`` does.
    """
    mass = segment_mass(segment, body_kg, source)
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


PUSH_PULL_FILTER_KG: Final = MappingProxyType(
    {("start", "men"): 20, ("start", "women"): 15, ("keep", "men"): 10, ("keep", "women"): 7}
)
"""Push and pull filters in kgf, to start and to keep a load moving. Source: UK HSE, hse.gov.uk."""


# -- The revised lifting equation -------------------------------------------------------------------------

APPLIES_NOT: Final = (
    "handling patients",
    "one-handed lifting",
    "more than 8 hours",
    "sitting or kneeling",
    "restricted space",
    "an unstable load",
    "carrying, pushing or pulling",
)
"""Published limits of use of the equation; shown where a figure of it is shown."""

# fmt: off
_LIFTS: Final = (0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0)

# Columns of NIOSH 94-110, table 5: longest duration in hours, then the multipliers below and at or above
# 75 cm (30 in), each down the rows of _LIFTS.
_FREQUENCY: Final = (
    (1.0,
     (1.0, .97, .94, .91, .88, .84, .80, .75, .70, .60, .52, .45, .41, .37, .00, .00, .00),
     (1.0, .97, .94, .91, .88, .84, .80, .75, .70, .60, .52, .45, .41, .37, .34, .31, .28)),
    (2.0,
     (.95, .92, .88, .84, .79, .72, .60, .50, .42, .35, .30, .26, .00, .00, .00, .00, .00),
     (.95, .92, .88, .84, .79, .72, .60, .50, .42, .35, .30, .26, .23, .21, .00, .00, .00)),
    (8.0,
     (.85, .81, .75, .65, .55, .45, .35, .27, .22, .18, .00, .00, .00, .00, .00, .00, .00),
     (.85, .81, .75, .65, .55, .45, .35, .27, .22, .18, .15, .13, .00, .00, .00, .00, .00)),
)
# fmt: on

_COUPLING: Final = {"good": (1.00, 1.00), "fair": (0.95, 1.00), "poor": (0.90, 0.90)}


@dataclass(frozen=True, slots=True)
class _Units:
    """The constants of the equation in one system of units; metric and US are not exact conversions."""

    name: str
    lc: float
    h_near: float
    h_far: float
    v_mid: float
    v_slope: float
    v_top: float
    d_slope: float
    d_near: float
    d_far: float


_METRIC: Final = _Units("kg", 23, 25, 63, 75, 0.003, 175, 4.5, 25, 175)
_US: Final = _Units("lb", 51, 10, 25, 30, 0.0075, 70, 1.8, 10, 70)


@dataclass(frozen=True, slots=True)
class _Lift:
    """One lifting task, distances in the units of the equation asked."""

    h: float
    v: float
    d: float
    a: float
    per_min: float
    hours: float
    coupling: str

    def check(self) -> None:
        _not_below_zero("horizontal distance", self.h)
        _not_below_zero("height of the hands", self.v)
        _not_below_zero("vertical travel", self.d)
        _not_below_zero("twist", self.a)
        _need(self.a <= 180, f"a twist of {self.a} degrees cannot be; it is 0 (straight ahead) to 180")
        _not_below_zero("number of lifts a minute", self.per_min)
        _need(isfinite(self.hours) and self.hours > 0, f"{self.hours} hours of lifting cannot be")
        _need(self.hours <= 8, f"the lifting equation does not cover {self.hours} hours; it ends at 8")
        _need(self.coupling in _COUPLING, f"“{self.coupling}” is no grip here; write good, fair or poor")


@dataclass(frozen=True, slots=True)
class LiftingLimit:
    """Load constant and six multipliers; ``rwl_kg`` and ``rwl_lb`` are their product, the recommended limit.

    ``lc`` is in the unit the limit was asked in (``unit``: kg or lb); the other unit is converted from it.
    """

    lc: float
    hm: float
    vm: float
    dm: float
    am: float
    fm: float
    cm: float
    unit: str = "kg"
    note: str = LIMIT_NOTE

    @property
    def rwl(self) -> float:
        """Recommended weight limit in ``unit``."""
        return self.lc * self.hm * self.vm * self.dm * self.am * self.fm * self.cm

    @property
    def rwl_kg(self) -> float:
        return self.rwl if self.unit == "kg" else self.rwl * KG_PER_LB

    @property
    def rwl_lb(self) -> float:
        return self.rwl if self.unit == "lb" else lb_from_kg(self.rwl)

    def lifting_index(self, load_kg: float) -> float:
        """Load over limit, LI = L / RWL; infinite where nothing may be lifted."""
        _need(isfinite(load_kg) and load_kg >= 0, f"a load of {load_kg} kg cannot be")
        return load_kg / self.rwl_kg if self.rwl_kg > 0 else float("inf")


def lifting_limit(
    h_cm: float,
    v_cm: float,
    d_cm: float,
    a_deg: float = 0.0,
    lifts_per_min: float = 0.2,
    duration_h: float = 1.0,
    coupling: str = "good",
) -> LiftingLimit:
    """The recommended weight limit of the revised NIOSH lifting equation, in kg.

    RWL = LC x HM x VM x DM x AM x FM x CM, with horizontal distance ``h_cm`` of the hands from the ankles,
    their height ``v_cm`` above the floor, vertical travel ``d_cm``, twist ``a_deg`` away from straight ahead,
    lifts per minute, hours of such work (up to 8), and ``coupling`` good, fair or poor.

    Limits of use as published: not for one-handed lifting, work over 8 hours, sitting or kneeling, restricted
    space, an unstable load, carrying, pushing or pulling. It had excluded handling patients: the 35 lb a
    helper used for plans is its adaptation (Waters 2007), never a certificate that a lift is safe.

    Raises ValueError in words for a value that cannot be, or a duration the equation does not cover.
    Source: NIOSH publication 94-110 (1994, rev. 2021); Waters et al., Ergonomics 1993;36:749-776.
    """
    return _limit(_METRIC, _Lift(h_cm, v_cm, d_cm, a_deg, lifts_per_min, duration_h, coupling))


def lifting_limit_us(
    h_in: float,
    v_in: float,
    d_in: float,
    a_deg: float = 0.0,
    lifts_per_min: float = 0.2,
    duration_h: float = 1.0,
    coupling: str = "good",
) -> LiftingLimit:
    """``lifting_limit`` with distances in inches and the limit in lb; its constants are the US ones.

    The two systems are not exact conversions of each other. Errors, limits of use and source as above.
    """
    return _limit(_US, _Lift(h_in, v_in, d_in, a_deg, lifts_per_min, duration_h, coupling))


def window_frequency(lifts_per_min: float, minutes_lifting: float, window_min: float = 15.0) -> float:
    """Lifts per minute averaged over the window, for lifting that does not go on through all of it.

    Source: NIOSH 94-110, special frequency adjustment: 10 a minute for 8 minutes in 15 count as 5.33.
    Raises ValueError when the minutes do not fit the window.
    """
    _not_below_zero("lifts per minute", lifts_per_min)
    _need(0 < window_min <= 15, f"the window is up to 15 minutes, not {window_min}")
    _need(0 <= minutes_lifting <= window_min, f"{minutes_lifting} minutes of lifting do not fit {window_min}")
    return lifts_per_min * minutes_lifting / window_min


def _limit(units: _Units, lift: _Lift) -> LiftingLimit:
    lift.check()
    low = lift.v < units.v_mid
    return LiftingLimit(
        lc=units.lc,
        hm=0.0 if lift.h > units.h_far else units.h_near / max(lift.h, units.h_near),
        vm=0.0 if lift.v > units.v_top else 1 - units.v_slope * abs(lift.v - units.v_mid),
        dm=_distance_multiplier(units, lift.d),
        am=0.0 if lift.a > 135 else 1 - 0.0032 * lift.a,
        fm=_frequency_multiplier(lift.per_min, lift.hours, low=low),
        cm=_COUPLING[lift.coupling][0 if low else 1],
        unit=units.name,
    )


def _distance_multiplier(units: _Units, d: float) -> float:
    if d > units.d_far:
        return 0.0
    return 1.0 if d <= units.d_near else 0.82 + units.d_slope / d


def _frequency_multiplier(lifts: float, hours: float, *, low: bool) -> float:
    column = next(low_v if low else high_v for longest, low_v, high_v in _FREQUENCY if hours <= longest)
    if lifts <= _LIFTS[0]:
        return column[0]
    if lifts > _LIFTS[-1]:
        return 0.0
    above = next(row for row, rate in enumerate(_LIFTS) if lifts <= rate)
    span = _LIFTS[above] - _LIFTS[above - 1]
    part = (lifts - _LIFTS[above - 1]) / span
    return column[above - 1] + part * (column[above] - column[above - 1])


def _body_mass(body_kg: float) -> None:
    _need(isfinite(body_kg) and body_kg > 0, f"a body mass of {body_kg} kg cannot be; write it above 0")


def _not_below_zero(what: str, value: float) -> None:
    _need(isfinite(value) and value >= 0, f"a {what} of {value} cannot be; write 0 or more")


def _need(holds: bool, says: str) -> None:
    if not holds:
        raise ValueError(says)
