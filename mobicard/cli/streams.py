"""Standard output and error that are there and take every sign, whatever shell and locale made of them."""

from __future__ import annotations

import codecs
import io
import os
import sys

_ANY = "mobicard.any-sign"


def make_ready() -> None:
    """Put nothing in the place of what a shell closed (``>&-``), and let no sign be refused."""
    codecs.register_error(_ANY, _any_sign)
    if sys.stdout is None or sys.stderr is None:
        _take_the_low_numbers()
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 - open to the end
        elif isinstance(stream, io.TextIOWrapper):
            _take_every_sign(stream)


def _take_every_sign(stream: io.TextIOWrapper) -> None:
    """A terminal of another alphabet shows “?”, one column wide; a file or a program gets UTF-8."""
    if "utf" in stream.encoding.casefold():
        stream.reconfigure(errors=_ANY)
    elif stream.isatty():
        stream.reconfigure(errors="replace")
    else:
        stream.reconfigure(encoding="utf-8", errors=_ANY)


def _any_sign(error: UnicodeError) -> tuple[str | bytes, int]:
    """A file's name goes out byte for byte as it came in; half a sign is written as JSON writes it."""
    try:
        return codecs.lookup_error("surrogateescape")(error)
    except UnicodeError:
        return codecs.lookup_error("backslashreplace")(error)


def _take_the_low_numbers() -> None:
    """Lest a ledger or a page be opened under the number that libraries write their complaints to."""
    while os.open(os.devnull, os.O_RDWR) < 2:
        pass
