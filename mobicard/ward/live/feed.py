"""Messages as they arrive: each applied and on disk before it is answered; what cannot be is put aside."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from mobicard.exchange.census.acknowledge import (
    ACCEPTED,
    ERROR,
    INTERNAL,
    REJECTED,
    SEGMENT_MISSING,
    Answer,
    parsed,
    reply,
    why_rejected,
)
from mobicard.exchange.census.hl7_messages import one_message
from mobicard.exchange.census.rows import CensusRefused
from mobicard.ledger import LedgerBusy, LedgerError, LedgerFull, LedgerUnreachable, NotAllowed
from mobicard.outflow import write_private
from mobicard.ward.beds import Beds
from mobicard.ward.census import census_apply, census_preview
from mobicard.ward.views import WardRefused

LATER = (LedgerUnreachable, LedgerBusy, LedgerFull)
"""Faults that the same message may not meet again: the sender is asked to send it again."""


class Feed:
    """One unit's messages into its ledger. ``held`` is the folder of those that could not be applied.

    ``only`` is the unit that is meant, where the messages are of the whole house; ``sign_in`` signs in again
    where the ledger has ended the sign-in: after a night without a message.
    """

    def __init__(
        self, ward: Beds, held: Path, only: str | None = None, sign_in: Callable[[], object] = lambda: None
    ) -> None:
        self.ward, self.held, self.only, self._sign_in = ward, held, only, sign_in

    def take(self, data: bytes) -> bytes:
        """One message applied, and the answer to send; the answer is true: accepted means on disk.

        The same message twice is answered and changes nothing. Never raises for what stands in it.
        """
        text = one_message(data)
        message = parsed(text)
        if message is None:
            answer = Answer(REJECTED, SEGMENT_MISSING, "this is no HL7 message")
        else:
            answer = why_rejected(message) or self._signed_out() or self._applied(text, data)
        return reply(message, answer, f"{self.ward.now:%Y%m%d%H%M%S}")

    def _applied(self, text: str, data: bytes) -> Answer:
        key = hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:40]
        try:
            if self.ward.ledger.knows(f"m-{key}-0"):
                return Answer(ACCEPTED)
            return self._apply(key, text, data)
        except LATER as away:
            return Answer(ERROR, INTERNAL, f"{away.says} Not saved: send it again")
        except (LedgerError, WardRefused) as refused:
            return self._put_aside(key, data, refused.says)
        except CensusRefused as refused:
            return self._put_aside(key, data, str(refused))
        except Exception as unknown:  # one message never ends the feed
            return self._put_aside(key, data, f"something unexpected went wrong ({type(unknown).__name__})")

    def _signed_out(self) -> Answer | None:
        """Why nothing can be saved by whoever the feed works for, or None."""
        try:
            try:
                self.ward.still_here()
            except NotAllowed:
                self._sign_in()
        except LedgerError as refused:
            return Answer(ERROR, INTERNAL, f"{refused.says} Not saved: send it again")
        return None

    def _apply(self, key: str, text: str, data: bytes) -> Answer:
        seen = census_preview(self.ward, text.encode(), only=self.only)
        if seen.cannot_read:
            return self._put_aside(key, data, "; ".join(one.why for one in seen.cannot_read))
        census_apply(self.ward, seen, message=f"m-{key}")
        return Answer(ACCEPTED)

    def _put_aside(self, key: str, data: bytes, why: str) -> Answer:
        """The message as it came, and beside it the reason; the same one again is the same file."""
        try:
            self.held.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_private(self.held / f"{key[:16]}.hl7", data)
            write_private(self.held / f"{key[:16]}.why.txt", f"{why}\n".encode())
        except OSError as full:
            return Answer(ERROR, INTERNAL, f"not applied, nor put aside ({full.strerror}): {why}")
        return Answer(ERROR, INTERNAL, f"not applied, put aside for a person: {why}")
