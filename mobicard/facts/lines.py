"""Lines, drains and tubes: what each is, as the trade names it; what is not in the list stays in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from pydantic import BaseModel, ConfigDict

from mobicard.facts.text import Name, Note
from mobicard.facts.words import Side, Word


class LineKind(Word):
    """What a line is, for the rules that know it (not an order of help)."""

    AIRWAY = "airway tube"
    TRACHEOSTOMY = "tracheostomy"
    VENTRICULAR_DRAIN = "external ventricular drain"
    LUMBAR_DRAIN = "lumbar drain"
    LUMBAR_DRAIN_CLAMPED = "lumbar drain, clamped"
    CHEST_DRAIN = "chest drain"
    FEMORAL_SHEATH = "femoral sheath"
    FEMORAL_PUMP = "femoral balloon pump or ECMO"
    FEMORAL_CATHETER = "femoral catheter"
    FISTULA = "dialysis fistula or graft"
    CENTRAL = "central line"
    ARTERIAL = "arterial line"
    PACING_WIRE = "pacing wire"
    EPIDURAL = "epidural"
    NERVE_BLOCK = "leg nerve block"
    URINARY = "urinary catheter"
    FEEDING = "feeding tube"
    OXYGEN = "oxygen tubing"
    WOUND_DRAIN = "wound drain"
    IV = "IV line"
    MONITOR = "monitor leads"
    OTHER = "other"


ALSO: Final[Mapping[LineKind, tuple[str, ...]]] = {
    LineKind.AIRWAY: ("airway", "endotracheal tube", "ett", "et tube", "ventilator", "breathing tube"),
    LineKind.TRACHEOSTOMY: ("trach", "tracheostomy tube", "tracheotomy"),
    LineKind.VENTRICULAR_DRAIN: ("evd", "ventricular drain", "ventriculostomy"),
    LineKind.LUMBAR_DRAIN: ("open lumbar drain", "external lumbar drain", "lumbar drain open"),
    LineKind.LUMBAR_DRAIN_CLAMPED: ("clamped lumbar drain", "lumbar drain clamped"),
    LineKind.CHEST_DRAIN: ("chest tube", "pleural drain", "intercostal drain"),
    LineKind.FEMORAL_SHEATH: ("femoral arterial sheath", "arterial sheath", "sheath"),
    LineKind.FEMORAL_PUMP: ("balloon pump", "iabp", "ecmo", "femoral balloon pump"),
    LineKind.FEMORAL_CATHETER: (
        *("femoral dialysis catheter", "femoral dialysis", "femoral line", "femoral venous catheter"),
        "femoral arterial catheter",
    ),
    LineKind.FISTULA: ("fistula", "av fistula", "fistula arm", "dialysis fistula", "av graft", "graft arm"),
    LineKind.CENTRAL: ("picc", "picc line", "central venous catheter", "cvc", "dialysis catheter", "port"),
    LineKind.ARTERIAL: ("art line", "arterial", "radial arterial line"),
    LineKind.PACING_WIRE: ("pacing wires", "temporary pacing wire", "pacemaker wire"),
    LineKind.EPIDURAL: ("epidural catheter",),
    LineKind.NERVE_BLOCK: ("nerve block", "femoral nerve block", "nerve catheter"),
    LineKind.URINARY: ("foley", "urine catheter", "bladder catheter", "suprapubic catheter"),
    LineKind.FEEDING: ("nasogastric tube", "ng tube", "peg", "gastrostomy"),
    LineKind.OXYGEN: ("oxygen", "nasal cannula"),
    LineKind.WOUND_DRAIN: ("drain", "surgical drain"),
    LineKind.IV: ("iv", "drip", "peripheral iv", "cannula"),
    LineKind.MONITOR: ("monitor", "telemetry", "ecg leads"),
}
"""Other words the ward has for them."""

SPELLED: Final[Mapping[str, LineKind]] = {
    **{word: kind for kind, words in ALSO.items() for word in words},
    **{kind.value.casefold(): kind for kind in LineKind},
}


class Line(BaseModel):
    """A line, drain or tube in the ward's words, with the side it is on."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    kind: Name
    side: Side | None = None
    note: Note | None = None

    @property
    def known(self) -> LineKind:
        """What the rules take it for; ``other`` where its words are none they know."""
        return SPELLED.get(" ".join(self.kind.casefold().replace("_", " ").split()), LineKind.OTHER)
