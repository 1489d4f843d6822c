"""The answer to one HL7 v2 message: accepted, in error, rejected; with the message's own control id.

After HL7 v2.5.1 chapter 2: MSA-1 by table 0008, ERR-3 by table 0357, ERR-4 by table 0516.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import hl7

from mobicard.exchange.census import cells

ACCEPTED, ERROR, REJECTED = "AA", "AE", "AR"
OURS = ("mobicard", "")


@dataclass(frozen=True, slots=True)
class Answer:
    """``code`` by table 0008, ``error`` by table 0357 (0: none), ``says`` a sentence that names nobody."""

    code: str
    error: int = 0
    says: str = ""


SEGMENT_MISSING, FIELD_MISSING, INTERNAL = 100, 101, 207
_TYPE, _PROCESSING, _VERSION = 200, 202, 203


def why_rejected(message: Any) -> Answer | None:
    """Why a message is none to be looked at, or None: its control id, processing id, version and type."""
    kind, processing, version = (field_of(message, number) for number in (9, 11, 12))
    if not field_of(message, 10):
        return Answer(REJECTED, FIELD_MISSING, "MSH-10, the control id, is empty")
    if processing in ("T", "D"):
        return Answer(REJECTED, _PROCESSING, f"processing id {processing}: no patient is admitted by a test")
    if version and not version.startswith("2."):
        return Answer(REJECTED, _VERSION, "only HL7 version 2 is read here")
    if kind != "ADT":
        return Answer(REJECTED, _TYPE, "only ADT messages are read here")
    return None


def field_of(message: Any, number: int) -> str:
    """The first component of a field of MSH, or nothing where the message stops short."""
    try:
        return cells.text(str(message.segment("MSH")[number][0]).split("^")[0])
    except (IndexError, KeyError, TypeError, ValueError):
        return ""


def reply(message: Any | None, answer: Answer, now: str) -> bytes:
    """The acknowledgement as it goes out; ``message`` is None where nothing could be read of it."""

    def get(number: int) -> str:
        return "" if message is None else _clean(field_of(message, number))

    event = _event(message)
    kind = f"ACK^{event}^ACK" if event else "ACK"
    to, control = f"{get(3)}|{get(4)}", get(10)
    lines = [
        f"MSH|^~\\&|{'|'.join(OURS)}|{to}|{now}||{kind}|A{control}|{get(11) or 'P'}|{get(12) or '2.5.1'}",
        f"MSA|{answer.code}|{control}",
    ]
    if answer.error:
        lines.append(f"ERR|||{answer.error}^^HL70357|E||||{_clean(answer.says)}")
    return ("\r".join(lines) + "\r").encode()


def _event(message: Any | None) -> str:
    try:
        said = str(message.segment("MSH")[9][0]).split("^") if message is not None else []
    except (IndexError, KeyError, TypeError):
        return ""
    return _clean(said[1]) if len(said) > 1 else ""


def _clean(text: str) -> str:
    """A text without the signs that part fields."""
    return re.sub(r"[|^~\\&\r\n]+", " ", text).strip()


def parsed(text: str) -> Any | None:
    """A message, or None where the text is none."""
    try:
        message = hl7.parse(text)
        message.segment("MSH")
    except Exception:  # the parser raises many kinds for malformed text
        return None
    return message
