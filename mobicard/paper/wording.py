"""How the bedside card and the handoff word precautions, missing facts and short times."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from mobicard.facts.words import Aid, Equipment, Precaution
from mobicard.paper import says

PRECAUTION_SAYS: dict[Precaution, str] = {
    Precaution.SPINAL: "Spine: no bend, no lift, no twist; log roll",
    Precaution.SPINAL_CERVICAL: "Neck and spine not cleared: log roll, one person for the head",
    Precaution.SPINAL_CLEARED: "Spine cleared, with care: log roll, no bend, no twist",
    Precaution.STERNAL: "Breastbone: no push, pull or lift with the arms",
    Precaution.HIP_POSTERIOR_LEFT: "Left hip, back approach: no bend past 90, no crossing, no toes in",
    Precaution.HIP_POSTERIOR_RIGHT: "Right hip, back approach: no bend past 90, no crossing, no toes in",
    Precaution.HIP_ANTERIOR_LEFT: "Left hip, front approach: no leg back, no toes out",
    Precaution.HIP_ANTERIOR_RIGHT: "Right hip, front approach: no leg back, no toes out",
    Precaution.GROIN_LEFT: "Left groin site: keep that leg straight",
    Precaution.GROIN_RIGHT: "Right groin site: keep that leg straight",
    Precaution.FEMORAL_SHEATH: "Femoral sheath in place: leg straight, stay in bed",
    Precaution.ABDOMINAL: "Belly wound: roll to the side first, pillow held to it",
    Precaution.BED_REST: "Bed rest",
    Precaution.HEAD_UP_30: "Head of the bed up 30 degrees",
    Precaution.HEAD_FLAT: "Head of the bed flat",
    Precaution.NO_GAIT_BELT: "No gait belt",
}
"""Source of the hip and spine wording: usual published precautions; common practice, no source."""

WORN = (Aid.GLASSES, Aid.HEARING_AIDS, Aid.DENTURES, Aid.PROSTHESIS)
"""Aids the patient wears: they go on before getting up."""


def short_when(at: datetime) -> str:
    """A time in a list, day and month always with it: ``Mon 2 Mar 19:30``."""
    return f"{says.day(at).rsplit(' ', 1)[0]} {says.clock(at)}"


def plain(word: str) -> str:
    """``hearing_aids`` as ``hearing aids``."""
    return word.replace("_", " ")


def equipment(items: Iterable[Equipment]) -> str:
    """Equipment classes in words, joined by commas."""
    return ", ".join(says.EQUIPMENT_SAYS[item] for item in items)


def kit_besides(method: str, items: Iterable[Equipment]) -> str:
    """The equipment the method does not already name."""
    said = method.lower()
    return equipment(item for item in items if says.EQUIPMENT_SAYS[item].split(" (")[0].lower() not in said)


def unassessed(facts: Iterable[str]) -> str:
    """Missing facts as a person names them; the moves nobody has seen are gathered in one bracket."""
    moves, names = [], []
    for fact in facts:
        group, _, rest = fact.partition(".")
        if group == "help" and rest:
            moves.append(plain(rest))
        else:
            names.append(plain(fact.replace(".", " ").removesuffix("_kg").removesuffix("_cm")))
    return ", ".join([*names, *([f"help seen with: {', '.join(moves)}"] if moves else [])])
