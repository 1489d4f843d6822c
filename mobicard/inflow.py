"""What comes in from outside: a file, a pipe or standard input, each read within a limit of time and size."""

from __future__ import annotations

import errno
import io
import os
import select
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

SILENCE_S = 60.0
"""Seconds to wait for the next piece of a pipe: longer than an export takes to its first line."""

MOST_BYTES = 64 * 2**20
"""The largest text taken in whole; a bundle of 24 beds has 0.8 MB, and /dev/zero never ends."""

_PIECE = 2**16

_HOW = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NONBLOCK", "O_CLOEXEC", "O_BINARY"))
"""How a file is opened: each system has its own of these."""
_CAN_WAIT = hasattr(select, "poll") and hasattr(os, "O_NONBLOCK")
"""Windows can do neither, and reads a silent pipe for as long as it is silent; not tried there."""


def read_bytes(path: Path) -> bytes:
    """All of a file, or of standard input for ``-``.

    Raises OSError, its words for a person, when it cannot be read, keeps silent or does not end.
    """
    whole = bytearray()
    for piece in _pieces(path):
        whole += piece
        _refuse_endless(len(whole), path)
    return bytes(whole)


def read_text(path: Path) -> str:
    """All of a UTF-8 text, its lines ending in one sign. Raises OSError, UnicodeDecodeError."""
    return io.TextIOWrapper(io.BytesIO(read_bytes(path)), encoding="utf-8-sig").read()


def lines(path: Path) -> Iterator[bytes]:
    """Each line as soon as it is there, without its end. Raises OSError as ``read_bytes`` does."""
    rest = bytearray()
    for piece in _pieces(path):
        *whole, last = piece.split(b"\n")
        for line in whole:
            yield bytes(rest + line)
            rest.clear()
        rest += last
        _refuse_endless(len(rest), path)
    if rest:
        yield bytes(rest)


def refuse_device(path: Path) -> None:
    """Raise OSError, in words, for a pipe or a device where only a file will do."""
    if path.exists() and not path.is_file() and not path.is_dir():
        raise OSError(errno.EINVAL, "it is a pipe or a device, not a file", str(path))


def _pieces(path: Path) -> Iterator[bytes]:
    handle = _opened(path)
    try:
        begun = False
        while piece := _next(handle, path, begun):
            yield piece
            begun = True
    finally:
        if str(path) != "-":
            os.close(handle)


def _opened(path: Path) -> int:
    """A handle that waits for nobody at its opening."""
    if str(path) == "-":
        if sys.stdin is None:  # a shell's <&-
            raise OSError(errno.EBADF, "it is closed", _name(path))
        return sys.stdin.fileno()
    handle = os.open(path, _HOW)
    if stat.S_ISDIR(os.fstat(handle).st_mode):
        os.close(handle)
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if _CAN_WAIT and os.isatty(handle):
        os.set_blocking(handle, True)
    return handle


def _next(handle: int, path: Path, begun: bool) -> bytes:
    """The next piece; nothing at the end. A person at a keyboard may take as long as she likes."""
    if not _CAN_WAIT:
        return os.read(handle, _PIECE)
    if begun and not os.get_blocking(handle):
        try:
            return os.read(handle, _PIECE)  # a pipe whose writer left before we came never tells its end
        except BlockingIOError:
            pass
    if not os.isatty(handle) and not _ready(handle):
        says = (
            f"nothing came out of it for {SILENCE_S:g} s; see to the program that writes it, or give a file"
        )
        raise TimeoutError(errno.ETIMEDOUT, says, _name(path))
    return os.read(handle, _PIECE)


def _ready(handle: int) -> bool:
    """Whether something came in time. In short waits: a Ctrl+C just before a long one is heard at its end."""
    waiting = select.poll()
    waiting.register(handle, select.POLLIN)
    waits = max(1, round(SILENCE_S))
    return any(waiting.poll(SILENCE_S * 1000 / waits) for _ in range(waits))


def _refuse_endless(count: int, path: Path) -> None:
    if count > MOST_BYTES:
        raise OSError(errno.EFBIG, f"it goes on past {MOST_BYTES // 2**20} MB", _name(path))


def _name(path: Path) -> str:
    return "standard input" if str(path) == "-" else str(path)
