"""The answers a question offers, each with its one key and the words it shows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from mobicard.facts.body import OneSided, SkinRisk, SoreSite
from mobicard.facts.moves import ROWS
from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Precaution,
    Stepping,
    WeightBearing,
    WeightByEye,
)


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer: the key that gives it, the value the record keeps, the words shown."""

    key: str
    value: Any
    says: str


def _c(*rows: tuple[str, Any, str]) -> tuple[Choice, ...]:
    return tuple(Choice(key, getattr(value, "value", value), says) for key, value, says in rows)


def with_keys(rows: Sequence[tuple[Any, str]]) -> tuple[Choice, ...]:
    """Choices with a key found for each: a letter of its own words, none twice."""
    taken: set[str] = set()
    made = []
    for value, says in rows:
        plain = says.lower()
        starts = [word[0] for word in plain.split() if word]
        letters = [c for c in [*starts, *plain, *"abcdefghijklmnopqrstuvwxyz"] if c.isascii() and c.isalpha()]
        key = next(letter for letter in letters if letter not in taken)
        taken.add(key)
        made.append(Choice(key, value, says))
    return tuple(made)


ALERTNESS = _c(
    ("a", Alertness.ALERT, "alert"),
    ("c", Alertness.NEW_CONFUSION, "new confusion"),
    ("v", Alertness.VOICE, "to voice"),
    ("p", Alertness.PAIN, "to pain"),
    ("u", Alertness.UNRESPONSIVE, "unresponsive"),
)
DIRECTIONS = _c(
    ("r", Directions.RELIABLE, "reliably"),
    ("c", Directions.WITH_CUES, "with cues"),
    ("u", Directions.UNABLE, "unable"),
)
BEHAVIOR = _c(
    ("c", Behavior.CALM, "calm"),
    ("f", Behavior.FEARFUL, "fearful"),
    ("u", Behavior.UNPREDICTABLE, "unpredictable"),
    ("k", Behavior.COMBATIVE, "kicks or strikes"),
)
BALANCE = _c(
    ("s", Balance.STEADY, "steady"),
    ("h", Balance.SUPPORTED, "only held"),
    ("u", Balance.UNABLE, "unable"),
)
STEPPING = _c(
    ("w", Stepping.WALKS, "walks"),
    ("p", Stepping.PIVOTS, "pivots only"),
    ("u", Stepping.UNABLE, "unable"),
)
WEIGHT_BY_EYE = _c(
    ("a", WeightByEye.TO_50_KG, "to 50 kg, 110 lb"),
    ("b", WeightByEye.TO_70_KG, "to 70 kg, 154 lb"),
    ("c", WeightByEye.TO_90_KG, "to 90 kg, 198 lb"),
    ("d", WeightByEye.TO_110_KG, "to 110 kg, 242 lb"),
    ("e", WeightByEye.TO_135_KG, "to 135 kg, 297 lb"),
    ("f", WeightByEye.TO_180_KG, "to 180 kg, 396 lb"),
    ("g", WeightByEye.OVER_180_KG, "more"),
)
ARMS = _c(("b", Arms.BOTH, "both"), ("o", Arms.ONE, "one"), ("n", Arms.NEITHER, "neither"))
HELP = _c(
    ("i", Help.INDEPENDENT, "independent"),
    ("s", Help.SETUP, "setup only"),
    ("b", Help.STANDBY, "standing by"),
    ("c", Help.CONTACT_GUARD, "contact guard"),
    ("m", Help.MINIMAL, "minimal, to 25 %"),
    ("d", Help.MODERATE, "moderate, to 50 %"),
    ("x", Help.MAXIMAL, "maximal, to 75 %"),
    ("t", Help.TOTAL, "total"),
    ("r", Help.REFUSED, "refused"),
    ("n", Help.NOT_APPLICABLE, "not applicable"),
    ("e", Help.NOT_ATTEMPTED_ENVIRONMENT, "not tried: room or gear"),
    ("u", Help.NOT_ATTEMPTED_SAFETY, "not tried: unsafe"),
)
LIMB = _c(
    ("f", WeightBearing.FWB, "full"),
    ("w", WeightBearing.WBAT, "as tolerated"),
    ("p", WeightBearing.PWB, "partial + figure"),
    ("t", WeightBearing.TTWB, "toe touch"),
    ("n", WeightBearing.NWB, "no weight"),
    ("a", WeightBearing.ABSENT_LIMB, "limb absent"),
)
PRECAUTIONS = _c(
    ("s", Precaution.SPINAL, "spinal"),
    ("c", Precaution.SPINAL_CERVICAL, "spinal, neck"),
    ("x", Precaution.SPINAL_CLEARED, "spine cleared"),
    ("t", Precaution.STERNAL, "sternal"),
    ("h", Precaution.HIP_POSTERIOR_LEFT, "hip posterior L"),
    ("j", Precaution.HIP_POSTERIOR_RIGHT, "hip posterior R"),
    ("k", Precaution.HIP_ANTERIOR_LEFT, "hip anterior L"),
    ("l", Precaution.HIP_ANTERIOR_RIGHT, "hip anterior R"),
    ("g", Precaution.GROIN_LEFT, "groin L"),
    ("r", Precaution.GROIN_RIGHT, "groin R"),
    ("f", Precaution.FEMORAL_SHEATH, "femoral sheath"),
    ("a", Precaution.ABDOMINAL, "abdominal"),
    ("b", Precaution.BED_REST, "bed rest"),
    ("u", Precaution.HEAD_UP_30, "head up 30"),
    ("d", Precaution.HEAD_FLAT, "head flat"),
    ("n", Precaution.NO_GAIT_BELT, "no gait belt"),
)
AIDS = _c(
    ("b", Aid.GAIT_BELT, "gait belt"),
    ("f", Aid.FRONT_WHEELED_WALKER, "front-wheeled walker"),
    ("p", Aid.PLATFORM_WALKER, "platform walker"),
    ("r", Aid.FOUR_WHEELED_WALKER, "four-wheeled walker"),
    ("k", Aid.CRUTCHES, "crutches"),
    ("c", Aid.CANE, "cane"),
    ("w", Aid.WHEELCHAIR, "wheelchair"),
    ("s", Aid.PROSTHESIS, "prosthesis"),
    ("g", Aid.GLASSES, "glasses"),
    ("h", Aid.HEARING_AIDS, "hearing aids"),
    ("d", Aid.DENTURES, "dentures"),
)
MASTERED = tuple(choice for choice in AIDS if choice.key in "fpkcs")
LINES = _c(
    ("i", "IV line", "IV line"),
    ("p", "central line", "central line (PICC or other)"),
    ("a", "arterial line", "arterial line"),
    ("o", "oxygen tubing", "oxygen tubing"),
    ("u", "urinary catheter", "urinary catheter"),
    ("w", "monitor leads", "monitor leads"),
    ("c", "chest tube", "chest tube"),
    ("d", "wound drain", "wound drain"),
    ("g", "feeding tube", "feeding tube (nose or belly)"),
    ("e", "epidural", "epidural"),
    ("n", "leg nerve block", "leg nerve block"),
    ("t", "tracheostomy", "tracheostomy"),
    ("y", "airway tube", "airway tube, ventilator"),
    ("v", "external ventricular drain", "ventricular drain"),
    ("l", "lumbar drain", "lumbar drain, open"),
    ("k", "lumbar drain, clamped", "lumbar drain, clamped"),
    ("f", "femoral catheter", "femoral catheter"),
    ("h", "femoral sheath", "femoral sheath"),
    ("b", "femoral balloon pump or ECMO", "balloon pump or ECMO"),
    ("s", "dialysis fistula or graft", "dialysis fistula or graft"),
    ("r", "pacing wire", "pacing wire"),
    ("x", None, "another…"),
)
SIDES = _c(("l", "left", "left"), ("r", "right", "right"), ("m", "midline", "midline"), ("b", "both", "both"))
ON_BEFORE_UP = _c(
    ("c", "cervical collar", "cervical collar"),
    ("b", "back brace", "back brace"),
    ("s", "arm sling", "arm sling"),
    ("k", "knee brace", "knee brace"),
    ("w", "walking boot", "walking boot"),
    ("a", "abdominal binder", "abdominal binder"),
    ("p", "prosthesis", "prosthesis"),
    ("f", "non-slip footwear", "non-slip footwear"),
    ("h", "helmet", "helmet"),
    ("x", None, "another…"),
)
WEAK_SIDE = _c(
    ("n", OneSided.NONE, "none"),
    ("l", OneSided.LEFT, "left"),
    ("r", OneSided.RIGHT, "right"),
    ("b", OneSided.BOTH, "both"),
)
NEGLECT = WEAK_SIDE[:3]
BLOCK = (
    *(
        Choice(str(n), {"scale": "modified_bromage", "number": n}, f"modified Bromage {n}{says}")
        for n, says in enumerate((", moves freely", "", "", ", not at all"))
    ),
    *(
        Choice(key, {"scale": "bromage", "number": n}, f"Bromage {roman}")
        for n, (key, roman) in enumerate(zip("abcd", ("I", "II", "III", "IV"), strict=True), 1)
    ),
)
SKIN_RISK = _c(("l", SkinRisk.LOW, "low"), ("r", SkinRisk.AT_RISK, "at risk"), ("h", SkinRisk.HIGH, "high"))
SORE_SITES = _c(
    ("s", SoreSite.SACRUM, "sacrum"),
    ("t", SoreSite.SEAT, "seat bones"),
    ("h", SoreSite.LEFT_HEEL, "left heel"),
    ("j", SoreSite.RIGHT_HEEL, "right heel"),
    ("l", SoreSite.LEFT_HIP, "left hip"),
    ("r", SoreSite.RIGHT_HIP, "right hip"),
    ("o", SoreSite.BACK_OF_HEAD, "back of head"),
    ("b", SoreSite.SHOULDER_BLADES, "shoulder blades"),
)
YES_NO = _c(("y", True, "yes"), ("n", False, "no"))
LANGUAGES = _c(
    ("e", "en", "English"),
    ("s", "es", "Spanish"),
    ("c", "zh", "Chinese"),
    ("v", "vi", "Vietnamese"),
    ("t", "tl", "Tagalog"),
    ("k", "ko", "Korean"),
    ("r", "ru", "Russian"),
    ("a", "ar", "Arabic"),
    ("f", "fr", "French"),
    ("x", None, "another code…"),
)
HEARING = _c(
    ("g", "good", "good"),
    ("l", "better on the left ear", "better on the left ear"),
    ("r", "better on the right ear", "better on the right ear"),
    ("d", "deaf", "deaf"),
    ("x", None, "in words…"),
)
VISION = _c(
    ("g", "good", "good"),
    ("p", "poor", "poor"),
    ("b", "blind", "blind"),
    ("x", None, "in words…"),
)
HOURS = _c(("1", 1, "1 h"), ("2", 2, "2 h"), ("3", 3, "3 h"), ("4", 4, "4 h"), ("6", 6, "6 h"))
GOAL_TASKS = _c(
    *((row.goal_key, row.task, row.task.value.replace("_", " ")) for row in ROWS if row.goal_key),
)


def language_says(code: str) -> str:
    """The refusal of something that is no language code, or nothing. Source: BCP 47, RFC 5646 section 2.1."""
    good = re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", code)
    return "" if good or not code else "write the language's code of two or three letters, like pt, pl or hmn"
