"""Facts: what was observed. No I/O, no clock, no judgement."""

from mobicard.facts.fall_event import FallEvent
from mobicard.facts.hazards import Operation, Order, OrderEnded, PressureDrop, ReadingsCleared
from mobicard.facts.head_watch import HeadWatch
from mobicard.facts.limits import LimbOrder
from mobicard.facts.lines import Line
from mobicard.facts.record import (
    Appointment,
    Communication,
    FallRiskAnswers,
    Goal,
    Override,
    Record,
)
from mobicard.facts.refusal import Problem, RecordRefused, problems_of, read_record
from mobicard.facts.vitals import Pressure, Vitals

__all__ = [
    "Appointment",
    "Communication",
    "FallEvent",
    "FallRiskAnswers",
    "Goal",
    "HeadWatch",
    "LimbOrder",
    "Line",
    "Operation",
    "Order",
    "OrderEnded",
    "Override",
    "Pressure",
    "PressureDrop",
    "Problem",
    "ReadingsCleared",
    "Record",
    "RecordRefused",
    "Vitals",
    "problems_of",
    "read_record",
]
