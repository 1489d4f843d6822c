"""Records of every shape for the round-trip tests: any fact may be absent, free text may be odd."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Injury,
    Level,
    Limb,
    Precaution,
    Side,
    Stepping,
    Task,
    Word,
    YesNoUnknown,
)

NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cf", "Zl", "Zp"]), min_size=1, max_size=12
).filter(lambda text: text.strip() != "")
TIMES = (
    st.datetimes()
    .filter(lambda at: 2000 <= at.year <= 2099)
    .map(lambda at: at.replace(microsecond=0).isoformat())
)
BEDS = st.from_regex(r"\A[0-9]{1,2}[A-Z]-[0-9]{1,3}[A-D]?\Z")


def word(words: type[Word]) -> st.SearchStrategy[str]:
    """Any answer of a list."""
    return st.sampled_from([one.value for one in words])


def _some(strategy: st.SearchStrategy[Any], most: int) -> st.SearchStrategy[list[Any]]:
    return st.lists(strategy, max_size=most, unique_by=str)


PRESSURES = st.fixed_dictionaries(
    {"sbp": st.integers(101, 200), "dbp": st.integers(40, 100)}, optional={"hr": st.integers(40, 150)}
)
ORDERS = st.one_of(
    st.fixed_dictionaries({"status": st.sampled_from(["FWB", "WBAT", "NWB", "absent_limb", "TTWB"])}),
    st.fixed_dictionaries({"status": st.just("PWB"), "percent": st.floats(0, 100)}),
    st.fixed_dictionaries(
        {"status": st.just("PWB"), "kg": st.floats(0, 250)}, optional={"ordered_at": TIMES}
    ),
)
MORSE = st.fixed_dictionaries(
    {},
    optional={
        "history": st.booleans(),
        "secondary_diagnosis": st.booleans(),
        "aid": st.sampled_from(
            ["none", "bed_rest", "nurse_assist", "crutches", "cane", "walker", "furniture"]
        ),
        "iv": st.booleans(),
        "gait": st.sampled_from(["normal", "bed_rest", "wheelchair", "weak", "impaired"]),
        "mental": st.sampled_from(["oriented", "forgets_limits"]),
    },
)
ODD_ANSWERS = st.dictionaries(
    st.text(max_size=6), st.one_of(st.booleans(), st.integers(), st.text(max_size=6)), max_size=3
)
FALL_RISKS = st.one_of(
    st.fixed_dictionaries({"instrument": st.just("morse"), "answers": MORSE}),
    st.fixed_dictionaries({"instrument": NAMES, "answers": ODD_ANSWERS}),
)

FACTS: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {"bed": BEDS},
    optional={
        "label": st.text("ABCDEFGHØÉ 'ß-=", min_size=1, max_size=12).filter(lambda text: text.strip() != ""),
        "weight_kg": st.floats(0.3, 500),
        "height_cm": st.floats(20, 260),
        "assessed_at": TIMES,
        "assessed_by": NAMES,
        "alertness": word(Alertness),
        "directions": word(Directions),
        "behavior": word(Behavior),
        "sitting": word(Balance),
        "standing": word(Balance),
        "stepping": word(Stepping),
        "arms": word(Arms),
        "help": st.dictionaries(word(Task), word(Help)),
        "helpers_used": st.dictionaries(word(Task), st.integers(0, 12)),
        "weight_bearing": st.dictionaries(word(Limb), ORDERS),
        "precautions": _some(word(Precaution), 5),
        "lines": st.lists(
            st.fixed_dictionaries({"kind": NAMES}, optional={"side": word(Side), "note": NAMES}), max_size=3
        ),
        "on_before_up": st.lists(NAMES, max_size=3),
        "aids": _some(word(Aid), 5),
        "communication": st.fixed_dictionaries(
            {},
            optional={
                "language": st.sampled_from(["es", "de-CH", "fil"]),
                "interpreter": st.booleans(),
                "hearing": NAMES,
                "vision": NAMES,
                "note": NAMES,
            },
        ),
        "vitals": st.fixed_dictionaries(
            {},
            optional={
                "at": TIMES,
                "lying": PRESSURES,
                "sitting": PRESSURES,
                "standing_1min": PRESSURES,
                "standing_3min": PRESSURES,
                "dizzy": st.booleans(),
                "spo2": st.integers(40, 100),
                "resp_rate": st.integers(0, 80),
            },
        ),
        "fall_risk": FALL_RISKS,
        "fall_event": st.fixed_dictionaries(
            {"at": TIMES},
            optional={"witnessed": st.booleans(), "head_strike": word(YesNoUnknown), "injury": word(Injury)},
        ),
        "turn_every_h": st.floats(0.5, 24),
        "toilet_every_h": st.floats(0.5, 24),
        "goals": st.lists(
            st.fixed_dictionaries({"task": word(Task), "times_per_shift": st.integers(1, 24)}), max_size=2
        ),
        "appointments": st.lists(st.fixed_dictionaries({"task": word(Task), "at": TIMES}), max_size=2),
        "override": st.fixed_dictionaries(
            {"level": word(Level), "reason": st.just("seen by physio"), "by": NAMES, "at": TIMES}
        ),
    },
)
