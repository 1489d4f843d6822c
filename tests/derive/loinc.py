"""The check digit of a LOINC number, to hold every number the product carries to it."""

from __future__ import annotations


def loinc_checks(code: str) -> bool:
    """Whether a LOINC number's last digit is the Luhn check of the digits before the hyphen.

    Answer codes (LA...) and lists (LL...) are not LOINC numbers: their check takes the letters in.
    """
    body, _, check = code.partition("-")
    if not (body.isascii() and body.isdigit() and check.isascii() and check.isdigit() and len(check) == 1):
        return False
    total = 0
    for place, digit in enumerate(reversed(body)):
        value = int(digit) * (2 if place % 2 == 0 else 1)
        total += value - 9 if value > 9 else value
    return (total + int(check)) % 10 == 0
