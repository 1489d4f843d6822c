"""Ward: the use cases both front ends call. The only place that joins ledger, derive and the clock."""

from typing import TYPE_CHECKING

from mobicard.lazy import lazily

if TYPE_CHECKING:
    from mobicard.ward.merging import merge as merge
    from mobicard.ward.station.bed_order import bed_order as bed_order
    from mobicard.ward.station.clock import Clock as Clock
    from mobicard.ward.station.drafts import Draft as Draft
    from mobicard.ward.station.drafts import Drafts as Drafts
    from mobicard.ward.station.settings import Settings as Settings
    from mobicard.ward.views import BedView as BedView
    from mobicard.ward.views import Door as Door
    from mobicard.ward.views import DoorJob as DoorJob
    from mobicard.ward.views import Due as Due
    from mobicard.ward.views import FieldChange as FieldChange
    from mobicard.ward.views import SaveRefused as SaveRefused
    from mobicard.ward.views import WardRefused as WardRefused
    from mobicard.ward.ward import Ward as Ward

__getattr__ = lazily(
    __name__,
    {
        "merging": "merge",
        "station.bed_order": "bed_order",
        "station.clock": "Clock",
        "station.drafts": "Draft Drafts",
        "station.settings": "Settings",
        "views": "BedView Door DoorJob Due FieldChange SaveRefused WardRefused",
        "ward": "Ward",
    },
)
