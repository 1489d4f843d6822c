"""The ward's words: every answer a nurse can give, each list from least to most help."""

from __future__ import annotations

from enum import StrEnum
from typing import Self


class Word(StrEnum):
    """An answer with a place in its list; a later answer never asks for less help.

    ``rank`` is that place, 0 for the least help; kept on each word because plans compare ranks all the time.
    """

    rank: int

    def __new__(cls, value: str) -> Self:
        word = str.__new__(cls, value)
        word._value_ = value
        word.rank = len(cls.__members__)
        return word


class Alertness(Word):
    """ACVPU, worst last. Source: RCP, National Early Warning Score (NEWS) 2, 2017."""

    ALERT = "alert"
    NEW_CONFUSION = "new_confusion"
    VOICE = "voice"
    PAIN = "pain"
    UNRESPONSIVE = "unresponsive"


class Directions(Word):
    """Whether the patient follows directions."""

    RELIABLE = "reliable"
    WITH_CUES = "with_cues"
    UNABLE = "unable"


class Behavior(Word):
    """How the patient takes being moved."""

    CALM = "calm"
    FEARFUL = "fearful"
    UNPREDICTABLE = "unpredictable"
    COMBATIVE = "combative"


class Balance(Word):
    """Sitting at the edge of the bed, or standing, as tried this shift."""

    STEADY = "steady"
    SUPPORTED = "supported"
    UNABLE = "unable"


class Stepping(Word):
    """What the feet do once up."""

    WALKS = "walks"
    PIVOTS = "pivots"
    UNABLE = "unable"


class Arms(Word):
    """How many arms the patient can push or pull with."""

    BOTH = "both"
    ONE = "one"
    NEITHER = "neither"


class WeightByEye(Word):
    """A weight judged by eye where nobody could weigh: a band in kg, of which the upper end counts."""

    TO_50_KG = "to_50_kg"
    TO_70_KG = "to_70_kg"
    TO_90_KG = "to_90_kg"
    TO_110_KG = "to_110_kg"
    TO_135_KG = "to_135_kg"
    TO_180_KG = "to_180_kg"
    OVER_180_KG = "over_180_kg"

    @property
    def at_most_kg(self) -> float | None:
        """The upper end in kg; None where there is none."""
        return None if self is WeightByEye.OVER_180_KG else float(self.value.split("_")[1])


class Help(Word):
    """Observed help for one task; the last four say why it was not done.

    Source of the effort shares: CMS IRF-PAI v2.00.1 motor levels; of the reasons: CMS MDS 3.0 Section GG.
    """

    INDEPENDENT = "independent"
    SETUP = "setup"
    STANDBY = "standby"
    CONTACT_GUARD = "contact_guard"
    MINIMAL = "minimal"
    MODERATE = "moderate"
    MAXIMAL = "maximal"
    TOTAL = "total"
    REFUSED = "refused"
    NOT_APPLICABLE = "not_applicable"
    NOT_ATTEMPTED_ENVIRONMENT = "not_attempted_environment"
    NOT_ATTEMPTED_SAFETY = "not_attempted_safety"

    @property
    def was_done(self) -> bool:
        """Whether the task was seen at all."""
        return self.rank <= Help.TOTAL.rank


class Task(Word):
    """The moves, in the order of a day (not an order of help)."""

    BOOST = "boost"
    TURN = "turn"
    SIT_UP = "sit_up"
    STAND = "stand"
    CHAIR = "chair"
    UP_IN_CHAIR = "up_in_chair"
    TOILET = "toilet"
    WALK = "walk"
    STRETCHER = "stretcher"
    FLOOR = "floor"


class Level(Word):
    """The seven house levels, least to most help; a facility's scheme may show other words for them."""

    SELF = "SELF"
    NEARBY = "NEARBY"
    LINK = "LINK"
    TEAM = "TEAM"
    POWER = "POWER"
    HOIST = "HOIST"
    REMAIN = "REMAIN"


class Limb(Word):
    """The four limbs an order can name (not an order of help)."""

    LEFT_LEG = "left_leg"
    RIGHT_LEG = "right_leg"
    LEFT_ARM = "left_arm"
    RIGHT_ARM = "right_arm"

    @property
    def is_leg(self) -> bool:
        return self.value.endswith("leg")

    @property
    def side(self) -> str:
        return self.value.split("_")[0]


class WeightBearing(Word):
    """Weight-bearing status of one limb, least to most restricted.

    The term alone is no order (Thompson 2018, BMJ Open SEM 4:e000326): limb and figure are kept with it.
    """

    FWB = "FWB"
    WBAT = "WBAT"
    PWB = "PWB"
    TTWB = "TTWB"
    NWB = "NWB"
    ABSENT_LIMB = "absent_limb"


class Precaution(Word):
    """Standing precautions a move must respect (not an order of help)."""

    SPINAL = "spinal"
    SPINAL_CERVICAL = "spinal_cervical"
    SPINAL_CLEARED = "spinal_cleared"
    STERNAL = "sternal"
    HIP_POSTERIOR_LEFT = "hip_posterior_left"
    HIP_POSTERIOR_RIGHT = "hip_posterior_right"
    HIP_ANTERIOR_LEFT = "hip_anterior_left"
    HIP_ANTERIOR_RIGHT = "hip_anterior_right"
    GROIN_LEFT = "groin_left"
    GROIN_RIGHT = "groin_right"
    FEMORAL_SHEATH = "femoral_sheath"
    ABDOMINAL = "abdominal"
    BED_REST = "bed_rest"
    HEAD_UP_30 = "head_up_30"
    HEAD_FLAT = "head_flat"
    NO_GAIT_BELT = "no_gait_belt"


class Aid(Word):
    """What the patient uses or what is at the bed (not an order of help)."""

    GAIT_BELT = "gait_belt"
    FRONT_WHEELED_WALKER = "front_wheeled_walker"
    PLATFORM_WALKER = "platform_walker"
    FOUR_WHEELED_WALKER = "four_wheeled_walker"
    CRUTCHES = "crutches"
    CANE = "cane"
    WHEELCHAIR = "wheelchair"
    PROSTHESIS = "prosthesis"
    GLASSES = "glasses"
    HEARING_AIDS = "hearing_aids"
    DENTURES = "dentures"


class Equipment(Word):
    """Generic equipment classes for a move (not an order of help)."""

    GAIT_BELT = "gait_belt"
    SEATED_TRANSFER_AID = "seated_transfer_aid"
    LATERAL_TRANSFER_AID = "lateral_transfer_aid"
    FRICTION_REDUCING_SHEET = "friction_reducing_sheet"
    POWERED_STANDING_AID = "powered_standing_aid"
    FULL_BODY_LIFT = "full_body_lift"
    AIR_ASSISTED_LATERAL_DEVICE = "air_assisted_lateral_device"
    REPOSITIONING_SLING = "repositioning_sling"
    SUPINE_SLING = "supine_sling"
    FLAT_LIFT = "flat_lift"
    FRONT_WHEELED_WALKER = "front_wheeled_walker"
    PLATFORM_WALKER = "platform_walker"
    FOUR_WHEELED_WALKER = "four_wheeled_walker"
    CRUTCHES = "crutches"
    CANE = "cane"
    WHEELCHAIR = "wheelchair"


class Side(Word):
    """Which side of the patient."""

    LEFT = "left"
    RIGHT = "right"
    MIDLINE = "midline"
    BOTH = "both"


class YesNoUnknown(Word):
    """For what may not be known: unknown is the worst answer."""

    NO = "no"
    YES = "yes"
    UNKNOWN = "unknown"


class Injury(Word):
    """Injury after a fall. Source: CMS MDS 3.0 item J1900 classes."""

    NONE = "none"
    MINOR = "minor"
    MAJOR = "major"


class Found(Word):
    """What an examination found of a part of the body; ``ordered``: hurt, and its orders are recorded."""

    CLEAR = "clear"
    SUSPECTED = "suspected"
    CANNOT_SAY = "cannot_say"
    ORDERED = "ordered"


class HeadSeen(Word):
    """One head observation: coma scale 15 and nothing worse, below 15, or worse than before in any way."""

    FIFTEEN = "fifteen"
    BELOW = "below"
    WORSE = "worse"


class LiftAs(Word):
    """How the one who examined lets the patient be brought up from the floor."""

    GUIDED = "guided"
    SLING = "sling"
    FLAT = "flat"


SPOKEN = {
    "ar": "Arabic",
    "en": "English",
    "es": "Spanish",
    "fr": "French",
    "hi": "Hindi",
    "pt": "Portuguese",
    "ru": "Russian",
    "vi": "Vietnamese",
    "zh": "Chinese",
}
"""Languages as a ward names them, by the first part of their tag (BCP 47)."""


def spoken_name(code: str) -> str:
    """A language by its English name, where it is one of those known; else its code as recorded."""
    return SPOKEN.get(code.split("-", maxsplit=1)[0].lower(), code)
