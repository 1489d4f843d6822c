"""How often the position changes at a risk of pressure injury, against what is ordered."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from mobicard.derive.model import Reason
from mobicard.facts import Record
from mobicard.facts.body import SkinRisk
from mobicard.rules.policy import Policy

SOURCE: Final = "NICE QS89, statement 5"


def turn_interval(record: Record, policy: Policy) -> Iterator[Reason]:
    """What the risk asks for, hours, where no interval is recorded or a longer one."""
    hours = {
        SkinRisk.AT_RISK: policy.handling.turn_at_risk_h,
        SkinRisk.HIGH: policy.handling.turn_high_risk_h,
    }
    if record.skin_risk not in hours:
        return
    most, set_to = hours[record.skin_risk], record.turn_every_h
    if set_to is not None and set_to <= most:
        return
    risk = "high risk" if record.skin_risk is SkinRisk.HIGH else "risk"
    found = f"{set_to:g} h recorded" if set_to else "no interval recorded"
    because = {"skin_risk": record.skin_risk.value, "turn_every_h": set_to}
    says = f"Turn at least every {most:g} h at {risk} of pressure injury: {found}."
    yield Reason("skin.turn_interval", says, because, SOURCE)
