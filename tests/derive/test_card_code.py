"""The code on a page: short, of its content, and its last character tells a slip of the key."""

from __future__ import annotations

import random

import pytest

from mobicard.derive.card_code import ALPHABET, LENGTH, check_character, is_code, short_code

PICK = random.Random(7064)


@pytest.mark.parametrize(
    ("body", "check"),
    [("G123498654321", "H"), ("A", "I")],
)
def test_the_check_character_is_the_published_scheme_s(body: str, check: str) -> None:
    """ISO 7064 MOD 37-2: ISBT 128's G1234 98 654321 is H (from memory); A is 18: 38 - 2 x 10."""
    assert check_character(body) == check


def test_a_code_has_six_unmistakable_letters_and_checks() -> None:
    for number in range(300):
        code = short_code(str(number).encode())
        assert len(code) == LENGTH
        assert set(code) <= set(ALPHABET)
        assert is_code(code)


def test_no_single_slip_and_no_two_letters_changed_about_are_a_code() -> None:
    """Computed over 200 codes: every substitution, every pair of neighbours."""
    for number in range(200):
        code = short_code(str(number).encode())
        at = PICK.randrange(LENGTH)
        for letter in ALPHABET:
            assert letter == code[at] or not is_code(code[:at] + letter + code[at + 1 :])
        for left in range(LENGTH - 1):
            swapped = code[:left] + code[left + 1] + code[left] + code[left + 2 :]
            assert swapped == code or not is_code(swapped)


@pytest.mark.parametrize("text", ["", "ABC", "ABCDE0", "AAAAAAA", "abc def"])
def test_what_is_no_code(text: str) -> None:
    assert not is_code(text)
