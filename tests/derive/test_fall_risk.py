"""Fall-risk instruments against their published items, totals and bands."""

from datetime import datetime
from importlib.resources import files
from itertools import product
from typing import Any

import pytest

from mobicard.derive import fall_risk, plan_for
from mobicard.derive.fall_risk import (
    Instrument,
    InstrumentRefused,
    assess,
    instruments,
    score,
)
from mobicard.facts import Record, read_record
from mobicard.facts.words import Task
from mobicard.rules.policy import Policy
from tests.derive.loinc import loinc_checks
from tests.records import assessed

MORSE_ITEMS: list[tuple[str, Any, int]] = [
    ("history", False, 0),
    ("history", True, 25),
    ("secondary_diagnosis", False, 0),
    ("secondary_diagnosis", True, 15),
    ("aid", "none", 0),
    ("aid", "bed_rest", 0),
    ("aid", "nurse_assist", 0),
    ("aid", "crutches", 15),
    ("aid", "cane", 15),
    ("aid", "walker", 15),
    ("aid", "furniture", 30),
    ("iv", False, 0),
    ("iv", True, 20),
    ("gait", "normal", 0),
    ("gait", "bed_rest", 0),
    ("gait", "wheelchair", 0),
    ("gait", "weak", 10),
    ("gait", "impaired", 20),
    ("mental", "oriented", 0),
    ("mental", "forgets_limits", 15),
]
MORSE_LEAST: dict[str, Any] = {
    "history": False,
    "secondary_diagnosis": False,
    "aid": "none",
    "iv": False,
    "gait": "normal",
    "mental": "oriented",
}
STRATIFY_LEAST: dict[str, Any] = {
    "fall": False,
    "agitated": False,
    "vision": False,
    "toileting": False,
    "transfer": 0,
    "mobility": 0,
}
SCHMID_LEAST: dict[str, Any] = {
    "mobility": "no_disturbance",
    "mentation": "oriented",
    "elimination": "independent",
    "prior_fall": "none",
    "medication": False,
}


def morse(**answers: Any) -> int:
    return score("morse", {**MORSE_LEAST, **answers}).score


def stratify(**answers: Any) -> int:
    return score("stratify", {**STRATIFY_LEAST, **answers}).score


def record_with(instrument: str, answers: dict[str, Any]) -> Record:
    return read_record({"bed": "1", "fall_risk": {"instrument": instrument, "answers": answers}})


# -- Morse: Soc Sci Med 1989;28(1):81-86, tabulated in AHRQ Tool 3H ---------------------------------------


@pytest.mark.parametrize(("item", "answer", "points"), MORSE_ITEMS)
def test_each_morse_answer_has_its_points(item: str, answer: Any, points: int) -> None:
    """AHRQ Tool 3H."""
    assert morse(**{item: answer}) == points


def test_morse_asks_these_items_and_takes_these_answers_only() -> None:
    """AHRQ Tool 3H."""
    known = {(item.key, answer.value) for item in instruments()["morse"].item for answer in item.answers}
    assert known == {(item, answer) for item, answer, _ in MORSE_ITEMS}


def test_the_worked_answers_add_up() -> None:
    """Computed from AHRQ Tool 3H: 25 + 15 + 15 + 20 + 10 + 0."""
    answers = {
        "history": True,
        "secondary_diagnosis": True,
        "aid": "walker",
        "iv": True,
        "gait": "weak",
        "mental": "oriented",
    }
    found = score("morse", answers)
    assert (found.score, found.lowest, found.band, found.unanswered) == (85, 85, "high", ())


def test_every_morse_total() -> None:
    """Computed by enumeration: 144 scored sets, 0 to 125 by fives, 5 and 120 impossible."""
    points: dict[str, set[int]] = {}
    for item, _, worth in MORSE_ITEMS:
        points.setdefault(item, set()).add(worth)
    assert len(list(product(*points.values()))) == 144
    by_item = [[(item, answer) for item, answer, _ in MORSE_ITEMS if item == key] for key in points]
    totals = {morse(**dict(chosen)) for chosen in product(*by_item)}
    assert totals == set(range(0, 126, 5)) - {5, 120}


@pytest.mark.parametrize(
    ("answers", "total", "band"),
    [
        ({"iv": True}, 20, "low"),
        ({"history": True}, 25, "moderate"),
        ({"history": True, "iv": True}, 45, "moderate"),
        ({"history": True, "secondary_diagnosis": True, "gait": "weak"}, 50, "high"),
        ({}, 0, "low"),
    ],
)
def test_both_sides_of_each_morse_band(answers: dict[str, Any], total: int, band: str) -> None:
    """AHRQ Tool 3H: below 25 low, 25 to 45 moderate, above 45 high; LOINC 59461-4: high from 50."""
    found = score("morse", {**MORSE_LEAST, **answers})
    assert (found.score, found.band) == (total, band)


def test_morse_loinc_numbers() -> None:
    """loinc.org: panel, items, total and level."""
    found = instruments()["morse"]
    assert [item.loinc for item in found.item] == [
        "59454-9",
        "59455-6",
        "59456-4",
        "59457-2",
        "59458-0",
        "59459-8",
    ]
    assert (found.loinc.panel, found.loinc.total, found.loinc.level) == ("59453-1", "59460-6", "59461-4")
    assert [band.loinc for band in found.bands] == ["LA13038-7", "LA13039-5", "LA13040-3"]


# -- STRATIFY: BMJ 1997;315:1049-1053 ---------------------------------------------------------------------


@pytest.mark.parametrize("item", ["fall", "agitated", "vision", "toileting"])
def test_each_stratify_yes_is_a_point(item: str) -> None:
    assert stratify(**{item: True}) == 1


@pytest.mark.parametrize(("transfer", "mobility"), list(product(range(4), range(4))))
def test_transfer_and_mobility_score_by_their_sum(transfer: int, mobility: int) -> None:
    """BMJ 1997;315:1049: a sum of 3 or 4 is a point; (0, 0), (3, 3) and (2, 3) are none."""
    assert stratify(transfer=transfer, mobility=mobility) == (1 if transfer + mobility in (3, 4) else 0)


def stratify_sets() -> dict[tuple[Any, ...], int]:
    keys = list(STRATIFY_LEAST)
    sets = product(*[[False, True]] * 4, range(4), range(4))
    return {chosen: score("stratify", dict(zip(keys, chosen, strict=True))).score for chosen in sets}


def test_204_of_256_stratify_sets_are_high() -> None:
    """Computed by enumeration; 2 and above is high."""
    totals = stratify_sets()
    assert len(totals) == 256
    assert sum(total >= 2 for total in totals.values()) == 204
    assert (min(totals.values()), max(totals.values())) == (0, 5)


def test_both_sides_of_the_stratify_band() -> None:
    assert score("stratify", {**STRATIFY_LEAST, "fall": True}).band == "low"
    assert score("stratify", {**STRATIFY_LEAST, "fall": True, "vision": True}).band == "high"


def test_unanswered_stratify_items_span_every_way_to_answer_them() -> None:
    """Against enumeration of all completions, for every way to leave items out."""
    totals = stratify_sets()
    keys = list(STRATIFY_LEAST)
    for partial in product(*[[None, False, True]] * 4, [None, 0, 3], [None, 0, 2, 3]):
        fits = [
            total
            for chosen, total in totals.items()
            if all(given is None or given == full for given, full in zip(partial, chosen, strict=True))
        ]
        found = score("stratify", dict(zip(keys, partial, strict=True)))
        assert (found.lowest, found.score) == (min(fits), max(fits)), partial


def test_stratify_says_how_little_it_tells() -> None:
    """Billington et al., BMC Fam Pract 2012;13:76; NICE NG249 (2025)."""
    note = instruments()["stratify"].note
    assert "sensitivity 0.67, specificity 0.57" in note
    assert "never clears" in note


# -- Schmid: LOINC panel 101549-4 -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("item", "answer", "points"),
    [
        ("mobility", "no_disturbance", 0),
        ("mobility", "device_or_help", 1),
        ("mobility", "unsteady", 1),
        ("mobility", "unable", 0),
        ("mentation", "oriented", 0),
        ("mentation", "periodic_confusion", 1),
        ("mentation", "always_confused", 1),
        ("mentation", "comatose", 0),
        ("elimination", "independent", 0),
        ("elimination", "frequent", 1),
        ("elimination", "needs_help", 1),
        ("elimination", "incontinent", 1),
        ("prior_fall", "none", 0),
        ("prior_fall", "before_admission", 1),
        ("prior_fall", "this_admission", 2),
        ("prior_fall", "unknown", 0),
        ("medication", False, 0),
        ("medication", True, 1),
    ],
)
def test_each_schmid_answer_has_its_points(item: str, answer: Any, points: int) -> None:
    """LOINC panel 101549-4."""
    assert score("schmid", {**SCHMID_LEAST, item: answer}).score == points


def test_both_sides_of_the_schmid_band_and_its_range() -> None:
    """LOINC panel 101549-4: 0 to 6, at risk from 3."""
    two = {**SCHMID_LEAST, "prior_fall": "this_admission"}
    assert score("schmid", two).band == "not at risk"
    assert score("schmid", {**two, "medication": True}).band == "at risk"
    assert (score("schmid", {}).lowest, score("schmid", {}).score) == (0, 6)


def test_schmid_says_that_its_licence_is_not_stated() -> None:
    assert "not stated" in instruments()["schmid"].licence


# -- What is unanswered -----------------------------------------------------------------------------------


def test_nothing_answered_is_the_whole_range_at_its_worst() -> None:
    found = score("morse", {})
    assert (found.lowest, found.score, found.band) == (0, 125, "high")
    assert set(found.unanswered) == set(MORSE_LEAST)


def test_none_is_unanswered() -> None:
    assert score("morse", {**MORSE_LEAST, "aid": None}) == score(
        "morse", {key: value for key, value in MORSE_LEAST.items() if key != "aid"}
    )


def test_taking_an_answer_away_never_lowers_the_score() -> None:
    for key in MORSE_LEAST:
        rest = {item: value for item, value in MORSE_LEAST.items() if item != key}
        assert score("morse", rest).score > score("morse", MORSE_LEAST).score


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ({"history": 1}, "“history” cannot be “1”; write one of false, true"),
        ({"gait": ["weak"]}, "“gait” cannot be"),
        ({"history": "yes"}, "write one of false, true"),
        ({"gait": "week"}, "write one of normal, bed_rest, wheelchair, weak, impaired"),
        ({"gate": "weak"}, "“gate” is no item of Morse Fall Scale; it asks history"),
    ],
)
def test_what_the_instrument_does_not_know_is_refused_in_words(answers: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        score("morse", answers)


def test_a_yes_is_no_one() -> None:
    with pytest.raises(ValueError, match="write one of 0, 1, 2, 3"):
        score("stratify", {"transfer": True})


def test_an_unknown_instrument_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="write one of morse, stratify, schmid"):
        score("ours", {})


# -- In a record ------------------------------------------------------------------------------------------


def test_an_answer_nobody_knows_counts_as_unanswered_and_is_a_conflict() -> None:
    found, conflicts = assess(record_with("morse", {**MORSE_LEAST, "gait": "week", "extra": True}), Policy())
    assert found is not None
    assert (found.score, found.unanswered) == (20, ("gait",))
    assert {conflict.fields for conflict in conflicts} == {
        ("fall_risk.answers.gait",),
        ("fall_risk.answers.extra",),
    }


def test_an_instrument_nobody_knows_is_a_conflict() -> None:
    found, conflicts = assess(record_with("tarot", {}), Policy())
    assert found is None
    assert [conflict.fields for conflict in conflicts] == [("fall_risk.instrument",)]


def test_no_answers_recorded_is_no_fall_risk() -> None:
    assert assess(read_record({"bed": "1"}), Policy()) == (None, ())


# -- A facility's own -------------------------------------------------------------------------------------

OURS = """
name = "Two questions"
source = "the house"
licence = "ours"
[[bands]]
name = "low"
least = 0
[[bands]]
name = "high"
least = 3
[[item]]
key = "tired"
asks = "Tired"
answers = [{ value = false, points = 0 }, { value = true, points = 2 }]
[[item]]
key = "dizzy"
asks = "Dizzy"
answers = [{ value = "no", points = 0 }, { value = "yes", points = 1 }]
"""


def test_a_facility_cuts_its_own_bands() -> None:
    """Morse, Morse, Tylko, Can J Aging 1989;8:366-377: each institution calibrates."""
    policy = Policy.from_toml("[fall_risk.bands.morse]\nlow = 0\nhigh = 55\n")
    below, _ = assess(
        record_with("morse", {**MORSE_LEAST, "history": True, "aid": "cane", "gait": "weak"}), policy
    )
    at, _ = assess(record_with("morse", {**MORSE_LEAST, "history": True, "aid": "furniture"}), policy)
    assert below is not None
    assert at is not None
    assert (below.score, below.band) == (50, "low")
    assert (at.score, at.band) == (55, "high")


def test_a_facility_adds_an_instrument_without_code() -> None:
    ours = Instrument.from_toml('id = "ours"\n' + OURS)
    assert (score(ours, {"tired": True}).score, score(ours, {"tired": True}).lowest) == (3, 2)
    assert score(ours, {"tired": True}).band == "high"


def test_a_facility_adds_an_instrument_in_its_policy() -> None:
    tables = OURS.replace("[[", "[[fall_risk.instruments.ours.")
    policy = Policy.from_toml("[fall_risk.instruments.ours]" + tables)
    found, conflicts = assess(record_with("ours", {"tired": True, "dizzy": "no"}), policy)
    assert found is not None
    assert (found.score, found.band, conflicts) == (2, "low", ())


def test_a_broken_instrument_in_the_policy_is_a_conflict_not_a_crash() -> None:
    policy = Policy.from_toml('[fall_risk.instruments.ours]\nname = "x"\n')
    found, conflicts = assess(record_with("ours", {}), policy)
    assert found is None
    assert conflicts[0].fields == ("policy.fall_risk",)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("least = 3", "least = 'three'"), "not a figure"),
        (('[[item]]\nkey = "dizzy"', '[[item]]\nkey = "tired"'), "used twice"),
        (("{ value = true, points = 2 }", "{ value = false, points = 2 }"), "one answer twice"),
        (('licence = "ours"', ""), "licence: is missing"),
        (('name = "high"', 'name = "low"'), "band is named twice"),
        (("[[bands]]", "[[bands]"), "not readable as TOML"),
    ],
)
def test_an_instrument_file_that_cannot_be_used_says_why(change: tuple[str, str], says: str) -> None:
    text = 'id = "ours"\n' + OURS.replace(*change, 1)
    with pytest.raises(InstrumentRefused, match=says):
        Instrument.from_toml(text)


@pytest.mark.parametrize("items", ['["tired", "dizzy"]', '["tired", "sleepy"]'])
def test_a_sum_needs_items_with_whole_numbers(items: str) -> None:
    text = f'id = "ours"\n{OURS}\n[[combined]]\nitems = {items}\nsums = [3]\npoints = 1\n'
    with pytest.raises(InstrumentRefused, match=r"whole numbers|names items"):
        Instrument.from_toml(text)


def test_a_sum_too_large_to_enumerate_is_refused() -> None:
    """101 answers twice are 10,201 ways, over the 10,000 allowed; 100 twice are just allowed."""

    def summed(answers: int) -> str:
        listed = ", ".join(f"{{ value = {n}, points = 0 }}" for n in range(answers))
        items = "".join(
            f'[[item]]\nkey = "{key}"\nasks = "{key}"\nanswers = [{listed}]\n' for key in ("up", "down")
        )
        combined = '[[combined]]\nitems = ["up", "down"]\nsums = [3]\npoints = 1\n'
        return 'id = "ours"\n' + OURS.split("[[item]]", maxsplit=1)[0] + items + combined

    assert score(Instrument.from_toml(summed(100)), {}).score == 1
    with pytest.raises(InstrumentRefused, match="too many ways"):
        Instrument.from_toml(summed(101))


def test_an_item_is_summed_in_one_rule_only() -> None:
    text = (files("mobicard.rules") / "instruments" / "stratify.toml").read_text(encoding="utf-8")
    again = '\n[[combined]]\nitems = ["mobility", "transfer"]\nsums = [6]\npoints = 1\n'
    with pytest.raises(InstrumentRefused, match="each in one rule only"):
        Instrument.from_toml(text + again)


@pytest.mark.parametrize("instrument", instruments().values(), ids=list(instruments()))
def test_every_packaged_instrument_is_fit_to_show(instrument: Instrument) -> None:
    assert instrument.source
    assert instrument.licence
    assert "never clears" in instrument.note
    numbers = [item.loinc for item in instrument.item] + list(instrument.loinc.model_dump().values())
    assert all(loinc_checks(number) for number in numbers if number)
    for item in instrument.item:
        labels = [answer.label for answer in item.answers]
        assert len(set(labels)) == len(labels)
        assert len(item.asks) <= 60


@pytest.mark.parametrize(
    ("instrument", "answers", "before", "after"),
    [
        # Morse 1989: a fall this admission is 25; AHRQ bands: 25 to 45 moderate
        (
            "morse",
            {
                "history": False,
                "secondary_diagnosis": False,
                "aid": "none",
                "iv": False,
                "gait": "normal",
                "mental": "oriented",
            },
            (0, "low"),
            (25, "moderate"),
        ),
        # STRATIFY, BMJ 1997;315:1049: a fall on the ward is 1; 2 or more is high
        (
            "stratify",
            {
                "fall": False,
                "agitated": False,
                "vision": True,
                "toileting": False,
                "transfer": 3,
                "mobility": 3,
            },
            (1, "low"),
            (2, "high"),
        ),
    ],
)
def test_a_fall_counts_though_the_score_is_from_before_it(
    instrument: str, answers: dict[str, object], before: tuple[int, str], after: tuple[int, str]
) -> None:
    """No card says “low” of who has just fallen because the score was taken before."""
    facts = {"bed": "1", "fall_risk": {"instrument": instrument, "answers": answers}}
    risk, _ = fall_risk.assess(read_record(facts), Policy())
    assert risk is not None
    assert (risk.score, risk.band) == before
    fallen = {**facts, "fall_event": {"at": "2026-03-02T07:40"}}
    risk, _ = fall_risk.assess(read_record(fallen), Policy())
    assert risk is not None
    assert (risk.score, risk.band) == after
    assert "score again" in risk.note


@pytest.mark.parametrize(("points", "near"), [(1, False), (2, True)])
def test_from_the_least_of_the_highest_band_somebody_stays_near(points: int, near: bool) -> None:
    """STRATIFY: 2 or more is high (Oliver et al., BMJ 1997;315:1049); both sides."""
    answers = {**STRATIFY_LEAST, **dict.fromkeys(("fall", "agitated")[:points], True)}
    record = assessed("1", weight_kg=70, fall_risk={"instrument": "stratify", "answers": answers})
    plan = plan_for(record, Policy(), datetime(2026, 3, 2, 8, 0))
    assert plan.fall_risk is not None
    assert plan.fall_risk.score == points
    assert bool(plan.tasks[Task.WALK].helpers) is near
