"""Facts: what was observed. No I/O, no clock, no judgement."""

from typing import TYPE_CHECKING

from mobicard.lazy import lazily

if TYPE_CHECKING:
    from mobicard.facts.fall_event import FallEvent as FallEvent
    from mobicard.facts.hazards import Operation as Operation
    from mobicard.facts.hazards import Order as Order
    from mobicard.facts.hazards import OrderEnded as OrderEnded
    from mobicard.facts.hazards import PressureDrop as PressureDrop
    from mobicard.facts.hazards import ReadingsCleared as ReadingsCleared
    from mobicard.facts.head_watch import HeadWatch as HeadWatch
    from mobicard.facts.limits import LimbOrder as LimbOrder
    from mobicard.facts.lines import Line as Line
    from mobicard.facts.record import Appointment as Appointment
    from mobicard.facts.record import Communication as Communication
    from mobicard.facts.record import FallRiskAnswers as FallRiskAnswers
    from mobicard.facts.record import Goal as Goal
    from mobicard.facts.record import Override as Override
    from mobicard.facts.record import Record as Record
    from mobicard.facts.refusal import Problem as Problem
    from mobicard.facts.refusal import RecordRefused as RecordRefused
    from mobicard.facts.refusal import problems_of as problems_of
    from mobicard.facts.refusal import read_from_outside as read_from_outside
    from mobicard.facts.refusal import read_record as read_record
    from mobicard.facts.vitals import Pressure as Pressure
    from mobicard.facts.vitals import Vitals as Vitals

__getattr__ = lazily(
    __name__,
    {
        "fall_event": "FallEvent",
        "hazards": "Operation Order OrderEnded PressureDrop ReadingsCleared",
        "head_watch": "HeadWatch",
        "limits": "LimbOrder",
        "lines": "Line",
        "record": "Appointment Communication FallRiskAnswers Goal Override Record",
        "refusal": "Problem RecordRefused problems_of read_from_outside read_record",
        "vitals": "Pressure Vitals",
    },
)
