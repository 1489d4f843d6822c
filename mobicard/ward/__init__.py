"""Ward: the use cases both front ends call. The only place that joins ledger, derive and the clock."""

from mobicard.ward.merging import field_changes, merge
from mobicard.ward.station.bed_order import bed_order
from mobicard.ward.station.clock import Clock
from mobicard.ward.station.drafts import Draft, Drafts
from mobicard.ward.station.settings import Settings, SettingsRefused
from mobicard.ward.views import (
    BedView,
    CodeAnswer,
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
    "CodeAnswer",
    "Door",
    "DoorJob",
    "Draft",
    "Drafts",
    "Due",
    "FieldChange",
    "SaveRefused",
    "Settings",
    "SettingsRefused",
    "Ward",
    "WardRefused",
    "bed_order",
    "field_changes",
    "merge",
]
