"""The patient's lines: every language whole, a facility's own file read or refused in words."""

from __future__ import annotations

import unicodedata

import pytest

from mobicard.derive.model import AfterFall
from mobicard.facts.words import Level
from mobicard.paper.phrases import AFTER_FALL, Phrases, PhrasesRefused, packaged, patient_line
from tests.paper.beds import at_level, expired

WHOLE = "\n".join(f'{key} = "x {key}"' for key in (*Level, AFTER_FALL))
HEAD = 'language = "pt"\nname = "Português"\ndirection = "ltr"\n'


def test_spanish_french_and_a_right_to_left_language_come_with_it() -> None:
    assert {"en", "es", "fr", "ar"} <= set(packaged())
    assert packaged()["ar"].direction == "rtl"


@pytest.mark.parametrize("language", sorted(set(packaged()) - {"en"}))
def test_no_translation_that_comes_with_it_claims_to_be_checked(language: str) -> None:
    assert packaged()[language].checked_by is None


@pytest.mark.parametrize("language", sorted(packaged()))
def test_lines_are_short_different_and_in_their_own_script(language: str) -> None:
    lines = [packaged()[language].lines[key] for key in (*Level, AFTER_FALL)]
    assert len(set(lines)) == len(lines)
    assert max(len(line) for line in lines) <= 100
    arabic = {
        "ARABIC" in unicodedata.name(letter, "") for line in lines for letter in line if letter.isalpha()
    }
    assert arabic == {language == "ar"}


def test_one_helper_is_never_promised_where_the_plan_has_two() -> None:
    two = patient_line(at_level(Level.LINK, helpers=2).plan, "en")
    one = patient_line(at_level(Level.LINK, helpers=1).plan, "en")
    assert two is not None
    assert one is not None
    assert "Two or more people" in two.text
    assert "One person" in one.text


def test_an_out_of_date_card_asks_the_patient_to_stay() -> None:
    line = patient_line(expired().plan, "en")
    assert line is not None
    assert "stay in bed" in line.text


@pytest.mark.parametrize("state", ["do_not_move", "may_be_helped_up", "reassess"])
def test_a_patient_after_a_fall_is_asked_to_stay_put_not_to_stay_in_bed(state: str) -> None:
    fall = AfterFall(state, "says", (), ())
    line = patient_line(at_level(Level.REMAIN, after_fall=fall).plan, "en")
    assert line is not None
    assert "stay where you are" in line.text
    assert "bed" not in line.text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (f"{HEAD}[lines]\nSELF = 'x'", "no line for NEARBY"),
        (f"{HEAD.replace('ltr', 'up')}[lines]\n{WHOLE}", "direction"),
        (f"{HEAD}colour = 'red'\n[lines]\n{WHOLE}", "colour"),
        ("language = ", "not TOML"),
        (f"{HEAD}[lines]\n{WHOLE.replace('x SELF', 'x' * 161)}", "SELF"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(text: str, says: str) -> None:
    with pytest.raises(PhrasesRefused, match=says):
        Phrases.from_toml(text)
