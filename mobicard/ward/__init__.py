"""Ward: the use cases both front ends call. The only place that joins ledger, derive and the clock."""

from mobicard.ward.merging import merge
from mobicard.ward.station.bed_order import bed_order
from mobicard.ward.station.clock import Clock
from mobicard.ward.station.drafts import Draft, Drafts
from mobicard.ward.station.settings import Settings
from mobicard.ward.views import (
    BedView,
    Door,
    DoorJob,
    Due,
    FieldChange,
    SaveRefused,
    WardRefused,
)
from mobicard.ward.ward import Ward

__all__ = [
    "BedView",
    "Clock",
    "Door",
    "DoorJob",
    "Draft",
    "Drafts",
    "Due",
    "FieldChange",
    "SaveRefused",
    "Settings",
    "Ward",
    "WardRefused",
    "bed_order",
    "merge",
]
