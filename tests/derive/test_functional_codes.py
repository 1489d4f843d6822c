"""Section GG, ICF and LOINC: against their published codes."""

import pytest

from mobicard.derive.functional_codes import (
    GG_SAYS,
    LOINC_ANSWER,
    LOINC_ANY_PRESSURE,
    LOINC_BODY_HEIGHT,
    LOINC_BODY_WEIGHT,
    LOINC_BREATHING,
    LOINC_HEART_RATE,
    LOINC_OXYGEN,
    LOINC_PRESSURE,
    LOINC_PRESSURE_PANEL,
    gg_code,
    icf_qualifier,
    qualifier_of,
)
from mobicard.facts.moves import MOVES, ROWS
from mobicard.facts.words import Help, Task
from tests.derive.loinc import loinc_checks

NUMBERS = [
    *(*LOINC_OXYGEN, *LOINC_ANY_PRESSURE, LOINC_PRESSURE_PANEL, LOINC_BREATHING, LOINC_BODY_HEIGHT),
    *LOINC_HEART_RATE.values(),
    *(code for pair in LOINC_PRESSURE.values() for code in pair),
    LOINC_BODY_WEIGHT,
]


# -- Section GG -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("help_", "code"),
    [
        (Help.INDEPENDENT, "06"),
        (Help.SETUP, "05"),
        (Help.STANDBY, "04"),
        (Help.CONTACT_GUARD, "04"),
        (Help.MINIMAL, "03"),
        (Help.MODERATE, "03"),
        (Help.MAXIMAL, "02"),
        (Help.TOTAL, "01"),
        (Help.REFUSED, "07"),
        (Help.NOT_APPLICABLE, "09"),
        (Help.NOT_ATTEMPTED_ENVIRONMENT, "10"),
        (Help.NOT_ATTEMPTED_SAFETY, "88"),
    ],
)
def test_each_observed_help_has_its_code(help_: Help, code: str) -> None:
    """CMS MDS 3.0 v1.17, GG0170; effort words from CMS IRF-PAI v2.00.1."""
    assert gg_code(help_).code == code
    assert gg_code(help_, 1).code == code


@pytest.mark.parametrize("help_", [help_ for help_ in Help if help_.was_done])
def test_two_or_more_helpers_are_01_and_the_number_is_kept(help_: Help) -> None:
    """CMS, GG0170: 01 also where two or more helpers are needed; it does not say how many."""
    assert gg_code(help_, 2).code == "01"
    found = gg_code(help_, 3)
    assert (found.code, found.helpers) == ("01", 3)
    assert "does not say how many" in found.note


@pytest.mark.parametrize("help_", [help_ for help_ in Help if not help_.was_done])
def test_what_was_not_done_keeps_its_reason_whoever_stood_by(help_: Help) -> None:
    assert gg_code(help_, 2) == gg_code(help_)


def test_the_leg_lifted_by_the_nurse_is_03() -> None:
    """RAI manual through trade press: the patient does over half of sitting to lying: B 03."""
    assert {gg_code(Help.MINIMAL, 1).code, gg_code(Help.MODERATE, 1).code} == {"03"}


def test_each_foot_started_by_the_therapist_is_02() -> None:
    """RAI manual through trade press: 10 feet, therapist moves the walker and starts each foot: I 02."""
    assert gg_code(Help.MAXIMAL, 1).code == "02"
    assert MOVES[Task.WALK].gg_item == "I"


def test_doubts_are_said_where_the_text_leaves_them() -> None:
    """CMS, GG0170: exactly half is not defined."""
    assert "exactly half" in gg_code(Help.MODERATE).note
    assert "02 if the patient did any of it" in gg_code(Help.TOTAL).note
    assert gg_code(Help.MINIMAL).note == ""


def test_the_items_of_the_moves() -> None:
    """CMS, GG0170: A roll, C to sitting, D sit to stand, E chair, F toilet, I walk 10 ft."""
    assert {row.task.value: row.gg_item for row in ROWS if row.gg_item} == {
        "turn": "A",
        "sit_up": "C",
        "stand": "D",
        "chair": "E",
        "toilet": "F",
        "walk": "I",
    }


# -- ICF --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("percent", "qualifier"),
    [(0, 0), (4, 0), (5, 1), (24, 1), (25, 2), (49, 2), (50, 3), (95, 3), (96, 4), (100, 4)],
)
def test_both_sides_of_each_icf_qualifier(percent: float, qualifier: int) -> None:
    """WHO ICF; BMC Public Health 2011;11:897, table 2."""
    assert qualifier_of(percent) == qualifier


@pytest.mark.parametrize(("between", "qualifier"), [(4.5, 1), (24.5, 2), (49.5, 3), (95.5, 4)])
def test_between_two_rows_the_higher_qualifier_counts(between: float, qualifier: int) -> None:
    assert qualifier_of(between) == qualifier


@pytest.mark.parametrize("percent", [-1, 101, float("nan")])
def test_a_share_outside_0_to_100_is_refused(percent: float) -> None:
    with pytest.raises(ValueError, match="0 to 100"):
        qualifier_of(percent)


@pytest.mark.parametrize(
    ("help_", "full", "lowest"),
    [
        (Help.INDEPENDENT, "d420.0", 0),
        (Help.SETUP, "d420.1", 1),
        (Help.CONTACT_GUARD, "d420.1", 1),
        (Help.MINIMAL, "d420.2", 1),
        (Help.MODERATE, "d420.3", 2),
        (Help.MAXIMAL, "d420.3", 3),
        (Help.TOTAL, "d420.4", 3),
    ],
)
def test_the_qualifier_of_a_help_is_that_of_its_upper_bound(help_: Help, full: str, lowest: int) -> None:
    """Computed from the upper bounds 25, 50, 75, 100 % and the rows of the ICF; the mapping is ours."""
    found = icf_qualifier(Task.CHAIR, help_)
    assert found is not None
    assert (found.full, found.lowest) == (full, lowest)


def test_a_span_of_qualifiers_is_said_as_one() -> None:
    said = [
        found.says for help_ in (Help.MINIMAL, Help.MAXIMAL) if (found := icf_qualifier(Task.WALK, help_))
    ]
    assert [says.rpartition(": ")[2] for says in said] == ["mild to moderate", "severe"]


def test_what_was_not_done_has_no_qualifier() -> None:
    assert icf_qualifier(Task.CHAIR, Help.REFUSED) is None


def test_every_move_has_an_icf_code() -> None:
    """WHO ICF: d410 change position, d4106 shift centre of gravity, d420 transfer, d450 walking."""
    assert {row.icf for row in ROWS} == {"d410", "d4106", "d420", "d450"}


# -- LOINC ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", NUMBERS)
def test_every_number_carried_passes_its_own_check_digit(number: str) -> None:
    """LOINC: the last digit is the Luhn check of the digits before the hyphen."""
    assert loinc_checks(number)


@pytest.mark.parametrize(
    "wrong", ["83218-7", "83281-8", "8321-8", "83218", "-8", "83218-88", "LA9983-3", "８3218-8"]
)
def test_a_slip_of_the_pen_does_not_pass(wrong: str) -> None:
    assert not loinc_checks(wrong)


def test_answer_codes_all_hang_together() -> None:
    """Computed: the letters LA add the same to the check of every five-digit answer code."""

    def left_over(code: str) -> int:
        body, check = code.removeprefix("LA").split("-")
        return next(digit for digit in range(10) if loinc_checks(f"{body}-{(digit + int(check)) % 10}"))

    five = [code for code in LOINC_ANSWER.values() if len(code) == len("LA10073-7")]
    five += ["LA13038-7", "LA13039-5", "LA13040-3"]  # Morse levels, loinc.org
    assert len({left_over(code) for code in five}) == 1
    assert len(five) == 12


def test_every_code_has_its_answer() -> None:
    """loinc.org, list LL4681-4."""
    assert set(LOINC_ANSWER) == set(GG_SAYS)
    assert LOINC_ANSWER["01"] == "LA27665-1"
